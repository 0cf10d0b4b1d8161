package weekview

import (
	"math"
	"strings"
	"testing"

	"example.org/headpond/model/week"
	"example.org/headpond/tui/ui/uitest"
)

func TestANumberHasTheDigitsThatItsRangeDeserves(t *testing.T) {
	for _, c := range []struct {
		r    week.Range
		want string
	}{
		{week.Range{Value: 693.4, Low: 670, High: 715}, "690 kWh (670 to 720)"},
		{week.Range{Value: 693.4, Low: 692.1, High: 694.7}, "693 kWh (692 to 695)"},
		{week.Range{Value: 693.42, Low: 693.42, High: 693.42}, "693.4 kWh"}, // a meter's
		{week.Range{Value: 31234, Low: 30900, High: 31600}, "31200 kWh (30900 to 31600)"},
		{week.Range{Value: 4.26, Low: 4.1, High: 4.5}, "4.3 kWh (4.1 to 4.5)"},
		{week.Range{Value: 0, Low: 0, High: 0}, "0.0 kWh"},
		{week.Range{Value: -0.01, Low: -0.02, High: 0}, "0.0 kWh"},
		{week.Range{Value: math.NaN(), Low: 1, High: 2}, "not known"},
		{week.Range{Value: math.Inf(1), Low: 1, High: 2}, "not known"},
	} {
		if got := strings.ReplaceAll(estimate(c.r, "kWh"), "\u00a0", " "); got != c.want {
			t.Errorf("%v: %q, want %q", c.r, got, c.want)
		}
	}
}

func TestSharesAreNeverQuiteAllOrNothing(t *testing.T) {
	for v, want := range map[float64]string{0: "0 %", 1: "100 %", 0.0009: "< 1 %", 0.9996: "> 99 %", 0.5: "50 %", 0.011: "1 %", 0.99: "99 %"} {
		if got := strings.ReplaceAll(percent(v), "\u00a0", " "); got != want {
			t.Errorf("%v: %q, want %q", v, got, want)
		}
	}
	if got := percent(math.NaN()); got != "" {
		t.Errorf("a share that is not known is %q", got)
	}
}

func TestHours(t *testing.T) {
	for v, want := range map[float64]string{0: "0 h", 11.5: "11.5 h", 24: "24 h", 153.6: "154 h", 2.04: "2 h"} {
		if got := strings.ReplaceAll(hours(v), "\u00a0", " "); got != want {
			t.Errorf("%v: %q, want %q", v, got, want)
		}
	}
}

// A review of a log that says hardly anything says so in each part, and names nothing that it has not.
func TestABareReviewSaysWhatIsNotKnown(t *testing.T) {
	r := &week.Review{Plant: "Tern Hollow", Span: week.Week, Verdict: "no round was written in this week", Well: true,
		Decisions: []week.Decision{{Urgency: week.None, Text: "Nothing is to be decided"}}}
	r.From, r.To, r.Hours = at(18, 10, 5), clock, 168
	got := strings.ReplaceAll(Text(Report{Review: r}, uitest.Common(uitest.Look{}, 80, 24, clock), 80), "\u00a0", " ")
	for _, want := range []string{"no round, 0 of 168 h known", "ok      Nothing is to be decided", "no week before in the log", "generated    not known",
		"No reading with a band was written down.", "None.", "no clearing", "No pond level was read.", "Nothing was done and nothing is due."} {
		if !strings.Contains(got, want) {
			t.Errorf("lacks %q:\n%s", want, got)
		}
	}
	for _, not := range []string{"Permit", "Saved", "Sets", "NaN", "Lowest and highest", "null", "<nil>"} {
		if strings.Contains(got, not) {
			t.Errorf("has %q:\n%s", not, got)
		}
	}
}
