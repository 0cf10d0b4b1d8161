package week

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/headpond/model/assess"
)

// urgencies are decisions of so many of each urgency.
func urgencies(out, near, due, note int) []Decision {
	var list []Decision
	for _, w := range []struct {
		u assess.Urgency
		n int
	}{{assess.UrgentOut, out}, {assess.UrgentNear, near}, {assess.UrgentDue, due}, {assess.UrgentNote, note}} {
		for i := range w.n {
			list = append(list, Decision{Urgency: w.u, Text: fmt.Sprintf("%s %d", w.u, i)})
		}
	}
	return list
}

func TestHowThePlantIsInWords(t *testing.T) {
	for _, c := range []struct {
		out, near, due, note int
		want                 string
	}{
		{0, 0, 0, 0, "The plant is well"},
		{0, 0, 0, 4, "The plant is well"}, // a note is nothing to do
		{0, 0, 1, 0, "The plant is well, 1 thing to do"},
		{0, 0, 3, 2, "The plant is well, 3 things to do"},
		{0, 1, 0, 0, "Nearly well: 1 thing to look at"},
		{0, 2, 3, 1, "Nearly well: 2 things to look at, 3 to do"},
		{1, 0, 0, 0, "Not well: 1 thing out of order"},
		{2, 0, 1, 0, "Not well: 2 things out of order, 1 to do"},
		{2, 5, 0, 0, "Not well: 2 things out of order, 5 more to look at"},
		{1, 3, 3, 9, "Not well: 1 thing out of order, 3 more to look at, 3 to do"},
	} {
		r := &Review{Decisions: urgencies(c.out, c.near, c.due, c.note)}
		if got := r.health(); got != c.want {
			t.Errorf("%+v: %q, want %q", c, got, c.want)
		}
	}
}

func TestWhatItGaveInWords(t *testing.T) {
	g, u := &Range{998, 969, 1027}, &Range{341, 299, 383}
	for _, c := range []struct {
		name           string
		generated      *Range
		used           *Range
		covered, hours float64
		want           string
	}{
		{"the whole time", g, u, 168, 168, "It gave 1000 kWh (970 to 1030), of which 340 kWh were used"},
		{"nearly the whole", g, u, 167.5, 168, "It gave 1000 kWh (970 to 1030), of which 340 kWh were used"},
		{"98.96 % are not 99", g, u, 166.25, 168, "It gave 1000 kWh (970 to 1030), of which 340 kWh were used, over the 98 % of the time that is known"},
		{"nobody read the load", g, nil, 168, 168, "It gave 1000 kWh (970 to 1030)"},
		{"by meters", &Range{512.34, 512.34, 512.34}, &Range{200.06, 200.06, 200.06}, 168, 168, "It gave 512.3 kWh, of which 200.1 kWh were used"},
		{"it stood all the time", &Range{}, &Range{}, 168, 168, "It gave 0.0 kWh, of which 0.0 kWh were used"},
		{"nothing was read", nil, nil, 0, 168, "No power was read"},
	} {
		r := &Review{Period: Period{EnergyKWh: Energy{Generated: c.generated, Used: c.used}, HoursCovered: c.covered, Hours: c.hours, Rounds: 3}}
		if got := r.gave(); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
		how := "The plant is well. "
		if c.covered == 0 { // of whom nobody read anything
			how = "It is not known whether the plant is well. "
		}
		if got := r.verdict(); got != how+c.want {
			t.Errorf("%s: the verdict is %q", c.name, got)
		}
	}
	for _, s := range []Span{Week, Month, Year} {
		r := &Review{Span: s}
		if got, want := r.verdict(), "Nothing is known of this "+string(s)+": no round was written"; got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// One round in a week, or power for a fifth of it, does not make a plant well.
func TestTooLittleIsKnownToBeWell(t *testing.T) {
	one := write(t, tern(t), "2026-02-10 12:00").round("2026-02-06 08:00", "volts=240 pond_level_m=-0.2").report(Week)
	if want := "It is not known whether the plant is well"; one.Well || !strings.HasPrefix(one.Verdict, want) {
		t.Errorf("one round: well %v, %q", one.Well, one.Verdict)
	}
	g := &Range{200, 190, 210}
	for share, want := range map[float64]string{0.2: "It is not known whether the plant is well, 1 thing to do", 0.59: "It is not known whether the plant is well, 1 thing to do", 0.6: "The plant is well, 1 thing to do"} {
		r := &Review{Period: Period{EnergyKWh: Energy{Generated: g}, HoursCovered: 168 * share, Hours: 168, Rounds: 3}, Decisions: urgencies(0, 0, 1, 0)}
		if got := r.health(); got != want {
			t.Errorf("%g of the time: %q, want %q", share, got, want)
		}
	}
	// Who reads no power but everything else is told how that is.
	volts := &Review{Period: Period{Hours: 168, Rounds: 14, States: States{{Quantity: "volts", In: 160, Hours: 160, InShare: 1}}}}
	if got := volts.health(); got != "The plant is well" {
		t.Errorf("%q", got)
	}
}

var things = regexp.MustCompile(`\d+`)

// The verdict never says well where Well is false, nor the other way, and its counts are those of the decisions.
func TestTheVerdictAgreesWithTheDecisions(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := eventful(t, rt).report(Week)
		counts := map[assess.Urgency]int{}
		for _, d := range r.Decisions {
			counts[d.Urgency]++
		}
		if r.Rounds == 0 {
			if r.Well || !strings.HasPrefix(r.Verdict, "Nothing is known") {
				rt.Fatalf("without a round: well %v, %q", r.Well, r.Verdict)
			}
			return
		}
		if well := strings.HasPrefix(r.Verdict, "The plant is well"); well != r.Well {
			rt.Fatalf("well is %v: %q, %+v", r.Well, r.Verdict, counts)
		}
		if not := strings.HasPrefix(r.Verdict, "Not well"); not != (counts[assess.UrgentOut] > 0) {
			rt.Fatalf("%+v: %q", counts, r.Verdict)
		}
		said := strings.Join(things.FindAllString(strings.SplitN(r.Verdict, ". ", 2)[0], -1), " ")
		var want []string
		for _, u := range []assess.Urgency{assess.UrgentOut, assess.UrgentNear, assess.UrgentDue} {
			if counts[u] > 0 {
				want = append(want, fmt.Sprint(counts[u]))
			}
		}
		if said != strings.Join(want, " ") {
			rt.Fatalf("the verdict counts %q, the decisions are %+v: %q", said, counts, r.Verdict)
		}
	})
}

// Where nothing is to be decided the reason is given with its numbers.
func TestWhyNothingIsToBeDecided(t *testing.T) {
	for _, c := range []struct {
		r    Review
		want string
	}{
		{Review{}, "nothing was read"},
		{Review{Period: Period{EnergyKWh: Energy{Generated: &Range{998, 969, 1027}}}}, "1000 kWh generated"},
		{Review{Period: Period{States: States{{Quantity: "hertz", InShare: 0.963}}}}, "frequency for 96 %"},
		{Review{Period: Period{States: States{{Quantity: "volts", InShare: 1}, {Quantity: "hertz", InShare: 0.98}}, EnergyKWh: Energy{Generated: &Range{12.3, 12.3, 12.3}}}},
			"voltage in band for 100 % of the time that is known, frequency for 98 %, 12.3 kWh generated"},
	} {
		if got := c.r.calm(); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}
