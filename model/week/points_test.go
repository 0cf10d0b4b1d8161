package week

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/upkeep"
	"example.org/headpond/model/water"
)

func TestPointsAreTheRoundsOfThePeriod(t *testing.T) {
	n := write(t, tern(t), "2026-02-10 00:00").
		round("2026-02-02 23:00", "running=A load_kw=2 dump_kw=2"). // before the week
		round("2026-02-03 08:00", "running=A load_kw=2 dump_kw=3 volts=256").
		round("2026-02-03 20:00", "load_kw=2 dump_kw=3 screen_cleared=yes"). // 12 h on, nothing between
		event("2026-02-04 02:00", "trip").
		event("2026-02-04 03:00", "start unit=A").
		round("2026-02-04 08:00", "load_kw=2 dump_kw=3").  // a trip between
		round("2026-02-05 21:00", "load_kw=2 dump_kw=3").  // 37 h
		round("2026-02-06 08:00", "running=none volts=0"). // seen standing
		round("2026-02-06 20:00", "running=none volts=0")
	r := n.report(Week)
	want := []struct {
		id      string
		broken  bool
		gen     float64
		cleared bool
	}{
		{"R0203T1200", true, 5, false}, {"R0204T0000", false, 5, true}, {"R0204T1200", true, 5, false}, {"R0206T0100", true, 5, false},
		{"R0206T1200", false, 0, false}, {"R0207T0000", false, 0, false},
	}
	if len(r.Points) != len(want) {
		t.Fatalf("%d points, want %d", len(r.Points), len(want))
	}
	for i, w := range want {
		p := r.Points[i]
		if p.ID != w.id || p.BrokenBefore != w.broken || p.GeneratedKW == nil || *p.GeneratedKW != w.gen || p.Cleared != w.cleared {
			t.Errorf("point %d: %+v, want %+v", i, p, w)
		}
	}
	if s := r.Points[0].States[quantity.Key(quantity.Volts)]; s != "out" {
		t.Errorf("256 V is %q", s)
	}
	if y := n.report(Year); y.Points != nil {
		t.Errorf("a year has %d points", len(y.Points))
	}
	if len(r.Marks) != 2 || r.Marks[0].Kind != record.Trip || r.Marks[0].Text != "trip" || r.Marks[1].Text != "start of A" {
		t.Errorf("marks %+v", r.Marks)
	}
}

// A trip of 26 minutes is a hole of 26 minutes, however far the rounds are: what was read before holds up to it, and what is read
// after it back to the start. Where only another set was started, the hole has no length.
func TestAShortStopIsAShortHole(t *testing.T) {
	n := write(t, tern(t), "2026-02-10 00:00").
		round("2026-02-02 08:00", "running=A load_kw=2 dump_kw=3"). // before the week, and before a trip: nothing is drawn up to the first
		event("2026-02-02 12:00", "trip").
		event("2026-02-02 13:00", "start unit=A").
		round("2026-02-03 08:00", "running=A load_kw=2 dump_kw=3").
		event("2026-02-03 14:00", "trip").
		event("2026-02-03 14:26", "start unit=A").
		round("2026-02-03 22:00", "load_kw=2 dump_kw=3").
		round("2026-02-04 08:00", "load_kw=2 dump_kw=3").
		event("2026-02-04 12:00", "start unit=B").
		round("2026-02-04 20:00", "load_kw=4 dump_kw=3").
		round("2026-02-06 20:00", "load_kw=4 dump_kw=3") // 48 h: too long for any of the two to tell
	r := n.report(Week)
	want := []string{"", "14:00 14:26", "", "12:00 12:00", "20:00 20:00"}
	for i, p := range r.Points {
		got := ""
		if p.Hole != nil {
			got = p.Hole.From.Format("15:04") + " " + p.Hole.To.Format("15:04")
		}
		if i >= len(want) || got != want[i] {
			t.Errorf("before point %d: %q, want %q", i, got, want[min(i, len(want)-1)])
		}
	}
}

func TestEventsInWords(t *testing.T) {
	for want, e := range map[string]record.Event{
		"trip":                    {Kind: record.Trip},
		"trip of A+B (frost)":     {Kind: record.Trip, Units: []string{"A", "B"}, Cause: "frost"},
		"element out: E2":         {Kind: record.ElementOut, Element: "E2"},
		"element out: E2 (burnt)": {Kind: record.ElementOut, Element: "E2", Cause: "burnt"},
	} {
		if got := wordsOf(e); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func TestDaysOfAPeriod(t *testing.T) {
	n := write(t, tern(t), "2026-02-10 14:00").
		round("2026-02-04 08:00", "running=A load_kw=2 dump_kw=3 volts=240").
		event("2026-02-04 10:00", "trip").event("2026-02-04 11:00", "start unit=A").
		round("2026-02-04 20:00", "load_kw=2 dump_kw=3 volts=260 screen_cleared=yes")
	r := n.report(Week)
	if len(r.Days) != 8 || !r.Days[0].From.Equal(r.From) || !r.Days[7].To.Equal(r.To) {
		t.Fatalf("%d days, %v to %v", len(r.Days), r.Days[0].From, r.Days[7].To)
	}
	d := r.Days[1]
	if d.Rounds != 2 || d.Clearings != 1 || d.Stops != 1 || d.Trips != 1 {
		t.Errorf("%+v", d)
	}
	near(t, "covered", d.HoursCovered, 12)
	near(t, "stood", d.HoursStood, 1)
	near(t, "used", d.EnergyKWh.Used.Value, 22)
	near(t, "out of band", d.HoursOut, 9)
	total := 0.0
	for _, d := range r.Days {
		if d.EnergyKWh.Used != nil {
			total += d.EnergyKWh.Used.Value
		}
	}
	near(t, "the days add to the week", total, r.EnergyKWh.Used.Value)
}

// The period before stands beside where the log reaches back so far, and is the week's own review of a week earlier.
func TestThePeriodBefore(t *testing.T) {
	h := story(t, 3)
	in, err := From(h, Week, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	r, err := Report(t.Context(), in)
	if err != nil || r.Before == nil {
		t.Fatal(err)
	}
	if !r.Before.To.Equal(r.From) || r.Before.EnergyKWh.Generated == nil {
		t.Errorf("before: %+v", r.Before)
	}
	var days float64
	for _, d := range r.Before.Days {
		if d.EnergyKWh.Generated != nil {
			days += d.EnergyKWh.Generated.Value
		}
	}
	closeTo(t, "its days", days, r.Before.EnergyKWh.Generated.Value, 1e-6)
	short := write(t, tern(t), "2026-02-10 00:00").round("2026-02-05 08:00", "running=A load_kw=2").report(Week)
	if short.Before != nil {
		t.Errorf("a log of five days has a week before: %+v", short.Before)
	}
}

// Used and dumped add to generated, and no range is below nothing or, for what is used, above what may have been generated.
func TestRangesOfTheStory(t *testing.T) {
	for seed := uint64(1); seed < 5; seed++ {
		h := story(t, seed)
		for _, span := range []Span{Week, Month, Year} {
			in, err := From(h, span, time.Time{})
			if err != nil {
				t.Fatal(err)
			}
			r, err := Report(t.Context(), in)
			if err != nil {
				t.Fatal(err)
			}
			e := r.EnergyKWh
			for what, x := range map[string]*Range{"generated": e.Generated, "used": e.Used, "dumped": e.Dumped} {
				if !(0 <= x.Low && x.Low <= x.Value && x.Value <= x.High) {
					t.Errorf("seed %d, %s: %s %+v", seed, span, what, *x)
				}
			}
			closeTo(t, "balance", e.Used.Value+e.Dumped.Value, e.Generated.Value, 0.02*e.Generated.Value)
			if r.HoursCovered > r.Hours+1e-9 || r.HoursStood > r.HoursCovered+1e-9 {
				t.Errorf("seed %d, %s: covered %g of %g h, stood %g", seed, span, r.HoursCovered, r.Hours, r.HoursStood)
			}
			for _, q := range r.States {
				if q.Hours > r.Hours+1e-9 {
					t.Errorf("%s is known for %g of %g h", q.Quantity, q.Hours, r.Hours)
				}
			}
		}
	}
}

// The forecasts are those of what ran then and runs now; a plan and another way of running are not.
func TestForecastsThenAndNow(t *testing.T) {
	h := func(v float64) *water.Hours { return &water.Hours{P50: &v} }
	n := good(t)
	in, err := From(n.h, Week, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	ways := []water.Way{{Run: []string{}, Outcome: water.Spills}, {Run: []string{"A"}, Outcome: water.RunsOut, Hours: h(240)},
		{Run: []string{"A"}, Plan: &water.Plan{Unit: "A"}, Outcome: water.Lasts}}
	in.Water = &water.Facts{At: n.h.At, LevelM: -0.2, Ways: ways}
	in.WaterThen = &water.Facts{At: n.h.At.AddDate(0, 0, -7), LevelM: -0.1, Ways: ways}
	in.RunThen = []string{}
	in.Now = &assess.Now{At: n.h.At, Running: []string{"A"}, Upkeep: []upkeep.Task{{Task: "grease", State: upkeep.Due}}}
	r, err := Report(t.Context(), in)
	if err != nil {
		t.Fatal(err)
	}
	f := r.Forecast
	if f.Now.Outcome != water.RunsOut || *f.Now.Hours.P50 != 240 || f.Then.Outcome != water.Spills || f.Then.LevelM != -0.1 || f.Facts != in.Water {
		t.Errorf("%+v, %+v", f.Now, f.Then)
	}
	if len(r.UpkeepDue) != 1 || r.UpkeepDue[0].Task != "grease" {
		t.Errorf("upkeep due %+v", r.UpkeepDue)
	}
	in.Now, in.Water, in.WaterThen = nil, nil, nil
	if r, err = Report(t.Context(), in); err != nil || r.Forecast != nil {
		t.Errorf("without a forecast: %+v, %v", r.Forecast, err)
	}
}

func TestUpkeepDoneInThePeriod(t *testing.T) {
	n := good(t)
	n.h.Done = []record.Done{
		{ID: "D1", Time: n.when("2026-02-08 23:59"), Task: "before"},
		{ID: "D2", Time: n.when("2026-02-09 00:00"), Task: "grease", By: "Tam", Note: "two strokes"},
	}
	r := n.report(Week)
	if len(r.UpkeepDone) != 1 || r.UpkeepDone[0].ID != "D2" || r.UpkeepDone[0].By != "Tam" || r.UpkeepDone[0].Note != "two strokes" {
		t.Errorf("%+v", r.UpkeepDone)
	}
	if len(r.Before.UpkeepDone) != 1 || r.Before.UpkeepDone[0].Task != "before" {
		t.Errorf("before: %+v", r.Before.UpkeepDone)
	}
}

// What the review calls done is what upkeep counts as done, to the entry; a checklist that was ended early stands apart, with what
// came of its steps.
func TestUpkeepDoneIsWhatUpkeepCounts(t *testing.T) {
	n := good(t)
	states := []record.TickState{record.TickDone, record.TickSkipped, record.TickNotOK, record.TickOpen}
	rapid.Check(t, func(rt *rapid.T) {
		n.h.Done = nil
		for i := range rapid.IntRange(0, 6).Draw(rt, "done") {
			d := record.Done{ID: fmt.Sprint("D", i), Time: n.h.At.Add(-time.Duration(rapid.IntRange(1, 24*13).Draw(rt, "hours ago")) * time.Hour),
				Task: rapid.SampledFrom([]string{"", "Starting", "Stopping"}).Draw(rt, "task")}
			if rapid.Bool().Draw(rt, "a checklist") {
				d.Walk = &record.Walk{}
				for range rapid.IntRange(1, 4).Draw(rt, "steps") {
					d.Walk.Ticks = append(d.Walk.Ticks, record.Tick{Step: "x", State: rapid.SampledFrom(states).Draw(rt, "state")})
				}
			}
			n.h.Done = append(n.h.Done, d)
		}
		slices.SortStableFunc(n.h.Done, func(a, b record.Done) int { return a.Time.Compare(b.Time) })
		counted := map[string]bool{}
		for _, task := range []string{"Starting", "Stopping"} {
			for _, d := range upkeep.Done(n.h, task) {
				counted[d.ID] = true
			}
		}
		r := n.report(Week)
		told := 0
		for _, p := range []*Period{&r.Period, r.Before} {
			for _, d := range p.UpkeepDone {
				if told++; !counted[d.ID] {
					rt.Fatalf("%+v is told to be done", d)
				}
			}
			for _, d := range p.EndedEarly {
				if counted[d.ID] || !strings.Contains(d.Steps, "not come to") {
					rt.Fatalf("%+v is told to be ended early", d)
				}
			}
		}
		if told != len(counted) {
			rt.Fatalf("%d are told, %d count", told, len(counted))
		}
	})
}
