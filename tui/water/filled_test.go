package waterview

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/exp/golden"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/demo"
	"example.org/headpond/model/record"
	"example.org/headpond/model/water"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
	"example.org/headpond/tui/ui/uitest"
)

func hoursOf(p10, p50, p90 float64) *water.Hours {
	return &water.Hours{P10: &p10, P50: &p50, P90: &p90}
}

// rainy are the made-up facts of a pond that rain often fills before it runs out.
func rainy() *water.Facts {
	f := facts()
	a, b, both := &f.Ways[1], &f.Ways[2], &f.Ways[3]
	a.FilledFirst, a.HoursAnyOutcome, a.Hours = new(0.17), hoursOf(190, 240, 1500), hoursOf(185, 232, 460)
	b.Outcome, b.RunsOutShare, b.FilledFirst, b.HoursAnyOutcome, b.Hours = water.RunsOut, 0.64, new(0.47), &water.Hours{P10: new(430.0), P50: new(1200.0)}, hoursOf(380, 560, 1040)
	both.FilledFirst, both.Hours = new(0.03), hoursOf(60, 111, 140)
	f.Ways[0].FilledFirst = new(0.99)
	until := clock.Add(200 * time.Hour)
	a.HoldsUntil = &until
	f.Cautions = append(f.Cautions, "Of 100 outcomes, so many see the pond filled before it runs out: 17 with A, 47 with B. Do not count on it.")
	return f
}

func TestBothRangesAreToldWhereRainMayFillThePond(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20, history(t), rainy())
	b.has("Running A, as now: 8 to 19 days to the stop level, most likely about 10 days, unless rain fills the pond first, as in 17 of 100 outcomes.",
		"Refills counted, as in the chart: 8 to over 30 days.", "refills counted",
		"Stop level reached 22 Aug to 2 Sep unless filled first; as likely before as after 24 Aug.",
		"Can be planned with until Sat 22 Aug 16:00, as it holds that long in 80 of 100 outcomes.")
	b.press("down")
	b.has("Running B: 16 to over 30 days to the stop level, most likely about 23 days, unless rain fills the pond first, as in 47 of 100 outcomes.",
		"Refills counted, as in the chart: 18 days or more.", "Stop level reached 30 Aug or later unless filled first", "kWh to the stop level, refills counted")
	if strings.Contains(b.flat(), "or later; as likely") {
		t.Error("a date is named beyond thirty days, where rain decides")
	}
	b.press("down")
	if head := flat(strings.Join(b.screen().page().head(), " ")); strings.Contains(head, "nless rain") || strings.Contains(head, "efills") {
		t.Errorf("three of a hundred outcomes are worth no words: %s", head)
	}
}

func TestRainyGolden(t *testing.T) {
	for _, size := range [][2]int{{80, 20}, {120, 36}} {
		for name, look := range uitest.Looks() {
			t.Run(fmt.Sprintf("%dx%d/%s", size[0], size[1], name), func(t *testing.T) {
				b := newBench(t, look, size[0], size[1], history(t), rainy())
				golden.RequireEqual(t, []byte(ui.Clamp(uitest.Theme(look), b.s.View(), size[0], size[1])))
			})
		}
	}
}

// A way that most likely fills, but not in all outcomes, tells both, and never a bare time beside "spills".
func TestASpillTellsHowLongItLastsWithoutRain(t *testing.T) {
	f := rainy()
	f.Ways[1].Outcome, f.Ways[1].FilledFirst, f.Ways[1].RunsOutShare = water.Spills, new(0.62), 0.38
	f.Ways[2].Outcome, f.Ways[2].RunsOutShare = water.Lasts, 0.45
	got := flat(Text(Report{Facts: f, Running: []string{"A"}}, uitest.Common(uitest.Look{}, 80, 24, clock), 80))
	for _, want := range []string{"Running A, as now: it fills and spills first, as in 62 of 100 outcomes; without rain 8 to 19 days to the stop level.",
		"spills; dry 8 to 19 days", "lasts; dry 16 to over 30 days", "within the forecast, refills counted"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is not said:\n%s", want, got)
		}
	}
}

// The column of the second range goes before a way's name is cut.
func TestALongNameIsNotCut(t *testing.T) {
	f := rainy()
	f.Ways = f.Ways[1:2]
	f.Ways[0].Run, f.Ways[0].Plan = []string{}, &water.Plan{Unit: "A", From: "06:00", To: "22:00"}
	got := Text(Report{Facts: f}, uitest.Common(uitest.Look{}, 80, 24, clock), 80)
	if !strings.Contains(got, "A 06:00-22:00  8 to 19 days") {
		t.Errorf("the way's name is cut:\n%s", got)
	}
}

func TestDatesOfARange(t *testing.T) {
	p := page{report: Report{Facts: facts()}, common: uitest.Common(uitest.Look{}, 80, 24, clock)}
	for _, c := range []struct {
		h    *water.Hours
		want string
	}{
		{nil, ""}, {&water.Hours{}, ""},
		{hoursOf(5, 9, 30), "Fri 13:00 to Sat 14:00"}, // from Friday 14 August, 08:00
		{hoursOf(24*7, 24*9, 24*17), "21 Aug to 31 Aug"},
		{hoursOf(24*7, 24*7, 24*7), "21 Aug"},
		{hoursOf(24*7, 24*9, 24*31), "21 Aug or later"},
		{&water.Hours{P10: new(24.0 * 7)}, "21 Aug or later"},
		{hoursOf(24*200, 24*210, 24*220), "2 Mar 2027 or later"},
	} {
		if got := p.dates(c.h); got != c.want {
			t.Errorf("%+v: %q, want %q", c.h, got, c.want)
		}
	}
}

func TestAPermitsLevelIsToldByHowLikelyItIs(t *testing.T) {
	p := page{report: Report{Facts: facts()}, common: uitest.Common(uitest.Look{}, 80, 24, clock)}
	for _, c := range []struct {
		h     *water.Hours
		words string
		state ui.State
	}{
		{nil, "is not likely to be reached", ui.Unjudged}, {&water.Hours{}, "is not likely to be reached", ui.Unjudged},
		{hoursOf(0, 0, 0), "is passed now", ui.Out},
		{&water.Hours{P10: new(24.0 * 20)}, "is reached in fewer than half of the outcomes, the first ten of 100 in 20 days", ui.Unjudged},
		{hoursOf(24*5, 24*6, 24*8), "is reached in 5 to 8 days, 19 Aug to 22 Aug", ui.Near},
		{hoursOf(24*20, 24*22, 24*25), "is reached in 20 to 25 days, 3 Sep to 8 Sep", ui.Unjudged},
	} {
		words, state := p.reached(c.h, true)
		if words != c.words || state != c.state {
			t.Errorf("%+v: %q, %v; want %q, %v", c.h, words, state, c.words, c.state)
		}
	}
}

// A tenth of the outcomes, or all of them from a level of long ago, is no level that was read.
func TestAPermitsLevelIsPassedWhereItWasRead(t *testing.T) {
	p := page{report: Report{Facts: facts()}, common: uitest.Common(uitest.Look{}, 80, 24, clock)}
	if words, state := p.reached(hoursOf(0, 0, 0), false); words != "is perhaps passed by now; read the gauge" || state != ui.Near {
		t.Errorf("%q, %v", words, state)
	}
	for _, c := range []struct {
		which string
		level float64
		hours time.Duration
		want  bool
	}{{"low", -0.33, 36, true}, {"low", -0.33, 37, false}, {"low", -0.34, 1, false}, {"high", -0.33, 1, true}, {"high", -0.32, 1, false}} {
		p.report.Facts.LastLevel.Time = clock.Add(-c.hours * time.Hour)
		if got := p.readPast(c.which, c.level); got != c.want {
			t.Errorf("%+v: %v", c, got)
		}
	}
}

func TestUrgencyIsThreeDaysAndAFortnight(t *testing.T) {
	p := page{report: Report{Facts: facts()}}
	for _, c := range []struct {
		way  water.Way
		want ui.State
	}{
		{water.Way{Run: []string{"A"}, Outcome: water.RunsOut, Hours: hoursOf(72, 90, 100)}, ui.Out},
		{water.Way{Run: []string{"A"}, Outcome: water.RunsOut, Hours: hoursOf(73, 90, 100)}, ui.Near},
		{water.Way{Run: []string{"A"}, Outcome: water.RunsOut, Hours: hoursOf(24*14, 400, 500)}, ui.Near},
		{water.Way{Run: []string{"A"}, Outcome: water.RunsOut, Hours: hoursOf(24*14+1, 400, 500)}, ui.Unjudged},
		{water.Way{Run: []string{"A"}, Outcome: water.Lasts, Hours: &water.Hours{P10: new(10.0)}}, ui.Unjudged},
		{water.Way{Run: []string{}, Outcome: water.RunsOut, Hours: hoursOf(10, 11, 12)}, ui.Unjudged},
		{water.Way{Run: []string{"A"}, Outcome: water.RunsOut}, ui.Unjudged},
		{water.Way{Plan: &water.Plan{Unit: "A", From: "06:00", To: "22:00"}, Outcome: water.RunsOut, Hours: hoursOf(10, 11, 12)}, ui.Out},
	} {
		if got := p.urgency(c.way); got != c.want {
			t.Errorf("%+v: %v, want %v", c.way, got, c.want)
		}
	}
}

// demoHistory is the demo's log up to a time, as it was first written.
func demoHistory(t *testing.T, story *demo.Story, at time.Time) *record.History {
	t.Helper()
	h := &record.History{At: at, Plant: story.Plant, Complete: true}
	for _, r := range story.Rounds {
		if !r.Time.After(at) {
			h.Rounds = append(h.Rounds, r)
		}
	}
	for _, e := range story.Events {
		if !e.Time.After(at) {
			h.Events = append(h.Events, e)
		}
	}
	return h
}

// Through the demo's 120 days no page says two things that cannot both be, none is wider than the window, none holds what
// plain ASCII cannot show, and nothing on it is not a number.
func TestNoPageContradictsItselfThroughTheDemo(t *testing.T) {
	story, err := demo.History(1, clock, halifax)
	if err != nil {
		t.Fatal(err)
	}
	for days := 118; days >= 0; days -= 13 {
		at := clock.AddDate(0, 0, -days)
		h := demoHistory(t, story, at)
		f, err := assess.Of(h).Water(t.Context(), water.Options{Members: 150, Horizon: 120 * 24 * time.Hour, Fan: true})
		if err != nil {
			t.Fatal(err)
		}
		runsOut := false
		for _, w := range f.Ways {
			runsOut = runsOut || w.DrawLps > 0 && w.Outcome == water.RunsOut
		}
		for _, w := range []int{40, 80, 120} {
			page := Text(Report{Facts: f, Running: []string{"A"}}, uitest.Common(uitest.Look{ASCII: true}, w, 24, at), w)
			if runsOut && strings.Contains(flat(page), "the water lasts;") {
				t.Errorf("%s: the water lasts beside a way that runs out:\n%s", at.Format(time.DateOnly), page)
			}
			for _, bad := range []string{"NaN", "+Inf", "%!", "-0.00 ", "to 0 days"} {
				if strings.Contains(page, bad) {
					t.Errorf("%s, %d wide: %q on the page:\n%s", at.Format(time.DateOnly), w, bad, page)
				}
			}
			for _, l := range strings.Split(page, "\n") {
				if text.Width(l) > w {
					t.Errorf("%s: a line of %d cells in %d: %q", at.Format(time.DateOnly), text.Width(l), w, l)
				}
			}
		}
	}
}
