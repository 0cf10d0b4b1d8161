package water

import (
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// saysOnce checks that a caution stands there once, and that others do not.
func saysOnce(t *testing.T, what string, f *Facts, part string, nots ...string) {
	t.Helper()
	n := 0
	for _, c := range f.Cautions {
		if strings.Contains(c, part) {
			n++
		}
		for _, not := range nots {
			if strings.Contains(c, not) {
				t.Errorf("%s: %q stands beside %q", what, c, part)
			}
		}
	}
	if n != 1 {
		t.Errorf("%s: %q stands %d times in %q", what, part, n, f.Cautions)
	}
}

// An inflow above every draw, in each of its ways: filling, spilling, and soon no longer. Never does it say "lasts" beside a
// way that runs out.
func TestAnInflowAboveEveryDrawIsSaidInOneWay(t *testing.T) {
	ten := Options{Horizon: 10 * 24 * time.Hour, Members: 300}
	saysOnce(t, "filling", report(t, dryLog(t, twoUnits(), 0.250, 0.2, 3, "A"), ten), "the water lasts; it is filling", "spilling", "fall below")
	saysOnce(t, "full", report(t, dryLog(t, twoUnits(), 0.250, 0.79, 5, "A"), ten), "full and spilling", "lasts", "fall below")
	saysOnce(t, "for now", report(t, dryLog(t, twoUnits(), 0.160, 0.2, 3, "A"), Options{Members: 300}), "expected to fall below the draw", "lasts;", "spilling")
	if f := report(t, dryLog(t, twoUnits(), 0.060, 0.5, 5, "A"), ten); says(f, "above every draw") {
		t.Errorf("60 L/s are not above 95: %q", f.Cautions)
	}
}

func TestNoContradictionWhateverTheInflow(t *testing.T) {
	for inflow := 0.02; inflow < 0.3; inflow += 0.03 {
		for _, days := range []int{10, 60, 365} {
			f := report(t, dryLog(t, twoUnits(), inflow, 0.3, 4, "A"), Options{Members: 120, Horizon: time.Duration(days) * 24 * time.Hour})
			runsOut := false
			for _, w := range f.Ways {
				runsOut = runsOut || w.DrawLps > 0 && w.Outcome == RunsOut
			}
			if runsOut && says(f, "the water lasts") {
				t.Errorf("%.0f L/s, %d days: %q though a way runs out", 1000*inflow, days, f.Cautions)
			}
		}
	}
}

func TestAStaleLevelIsSaid(t *testing.T) {
	h := dryLog(t, twoUnits(), 0.060, 0.7, 9, "A")
	if f := report(t, h, Options{Members: 50}); says(f, "old") {
		t.Errorf("a level of today is called old: %q", f.Cautions)
	}
	h.At = h.At.Add(5 * 24 * time.Hour)
	f := report(t, h, Options{Members: 50})
	saysOnce(t, "five days later", f, "The last level is 5 days old")
	if len(f.History) != 10 || f.LevelM > f.LastLevel.Value {
		t.Errorf("the pond was not carried on: %g m now, %g m then", f.LevelM, f.LastLevel.Value)
	}
}

func TestAThinLogIsSaid(t *testing.T) {
	h := dryLog(t, twoUnits(), 0.060, 0.7, 12, "A")
	thin := *h
	thin.Rounds = []record.Round{h.Rounds[0], h.Rounds[6], h.Rounds[12]}
	saysOnce(t, "three levels", report(t, &thin, Options{Members: 50}), "Only 3 levels in the last 14 days")
	if says(report(t, h, Options{Members: 50}), "Only") {
		t.Error("thirteen levels are called few")
	}
}

func TestLevelsOutsideTheRowsAreSaid(t *testing.T) {
	p := twoUnits()
	stop := -0.6
	p.Pond.StopLevelM = &stop
	saysOnce(t, "stop below the rows", report(t, dryLog(t, p, 0.060, 0.7, 5, "A"), Options{Members: 50}), "outside the stage rows (-0.40 to 1.40 m)")
}

func TestAStopLevelByRuleIsSaid(t *testing.T) {
	p := twoUnits()
	centre, d := -0.9, 0.30
	p.Pond.StopLevelM, p.Intake.CentrelineM, p.Intake.DiameterM = nil, &centre, &d
	f := report(t, dryLog(t, p, 0.060, 0.7, 5, "A"), Options{Members: 50})
	saysOnce(t, "by submergence", f, "rule of thumb")
	if f.StopLevelFrom != "submergence" {
		t.Errorf("stop level from %q", f.StopLevelFrom)
	}
}

func TestSeveralMistypedLevelsAreCounted(t *testing.T) {
	h := dryLog(t, twoUnits(), 0.060, 0.7, 14, "A")
	for _, i := range []int{4, 9} {
		h.Rounds[i].Values = map[quantity.Key]float64{"pond_level_m": 1.6}
	}
	f := report(t, h, Options{Members: 50})
	saysOnce(t, "two", f, "2 levels cannot be and were set aside, the last 1.600 m of 2026-07-10")
	if f.RestsOn.Levels != 13 {
		t.Errorf("rests on %d levels, want 13 of 15", f.RestsOn.Levels)
	}
}

// After three sights in a row that cannot be, the gauge is believed again: it has been moved, or the pond has.
func TestAGaugeThatStaysElsewhereIsBelievedAgain(t *testing.T) {
	h := dryLog(t, twoUnits(), 0.060, 0.3, 16, "A")
	for i := 10; i < len(h.Rounds); i++ {
		h.Rounds[i].Values = map[quantity.Key]float64{"pond_level_m": h.Rounds[i].Values["pond_level_m"] + 1}
	}
	f := report(t, h, Options{Members: 50})
	near(t, "level", f.LevelM, f.LastLevel.Value, 0.05)
	if !f.LastLevel.Time.Equal(h.Rounds[16].Time) {
		t.Errorf("the last level that is believed is of %v", f.LastLevel.Time)
	}
}

func TestABypassBelowWhatMustPassIsSaid(t *testing.T) {
	h := dryLog(t, twoUnits(), 0.060, 0.7, 5, "A")
	h.Rounds[4].Values["bypass_lps"] = 7.5
	saysOnce(t, "7.5 of 10", report(t, h, Options{Members: 50}), "last read as 7.5 L/s, less than the 10.0 L/s that must pass")
	h.Rounds[5].Values["bypass_lps"] = 10
	if says(report(t, h, Options{Members: 50}), "must pass") {
		t.Error("10 L/s are called too little")
	}
}

func TestALongForecastSaysWhatItIsWorth(t *testing.T) {
	p := twoUnits()
	for i := range p.Pond.Stage {
		p.Pond.Stage[i].AreaM2 *= 10
	}
	f := report(t, dryLog(t, p, 0.040, 0.7, 9, "A"), Options{Members: 100, Ways: []Choice{{Run: []string{"B"}}}})
	saysOnce(t, "a large pond", f, "Beyond 30 days no forecast is worth much")
	if says(report(t, dryLog(t, twoUnits(), 0.02, 0.4, 5, "A"), Options{Members: 100}), "Beyond 30 days") {
		t.Error("what runs out within days is called long because of the way in which nothing runs")
	}
}

// A pond whose inflow often fills it says how often, for each way, in one sentence.
func TestHowOftenItIsFilledFirstIsSaidOnce(t *testing.T) {
	f := report(t, dryLog(t, twoUnits(), 0.075, 0.6, 9, "A"), Options{Members: 400})
	saysOnce(t, "filled", f, "see the pond filled before it runs out")
	for _, w := range f.Ways[1:] {
		if w.Outcome == RunsOut && w.LeavesOut() && !says(f, "with "+name(w)) {
			t.Errorf("%v is filled first in %.2f, and it is not said: %q", w.Run, *w.FilledFirst, f.Cautions)
		}
	}
}

func TestAScatteringGaugeIsSaid(t *testing.T) {
	h := dryLog(t, twoUnits(), 0.060, 0.7, 40, "A")
	rng := chance(4)
	for i := range h.Rounds {
		h.Rounds[i].Values["pond_level_m"] += 0.05 * rng.NormFloat64()
	}
	saysOnce(t, "waves", report(t, h, Options{Members: 50}), "more than a staff gauge should")
	if says(report(t, dryLog(t, twoUnits(), 0.060, 0.7, 40, "A"), Options{Members: 50}), "scatter") {
		t.Error("a steady gauge is said to scatter")
	}
}

func TestNamesOfWays(t *testing.T) {
	for want, w := range map[string]Way{"no machine": {}, "A": {Run: []string{"A"}}, "A+B": {Run: []string{"A", "B"}},
		"A 06:00–22:00": {Plan: &Plan{Unit: "A", From: "06:00", To: "22:00"}}, "B and A 06:00–22:00": {Run: []string{"B"}, Plan: &Plan{Unit: "A", From: "06:00", To: "22:00"}}} {
		if got := name(w); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// A hundred days without a level: the pond is carried on, but the machines are not taken to run where they stand, and the
// contract's hours are 0 in every member although some of them think that there is water left.
func TestALongSilenceEndsAtTheStopLevel(t *testing.T) {
	h := dryLog(t, twoUnits(), 0.040, 0.5, 8, "A")
	h.At = h.At.AddDate(0, 0, 100)
	f := report(t, h, Options{Members: 200, Fan: true})
	saysOnce(t, "silence", f, "The last level is 100 days old")
	if f.LevelM > f.StopLevelM || f.LevelM < f.StopLevelM-1 {
		t.Fatalf("carried on to %g m", f.LevelM)
	}
	for _, w := range f.Ways {
		if w.Outcome != RunsOut || *w.Hours.P10 != 0 || *w.Hours.P50 != 0 || *w.Hours.P90 != 0 || w.EnergyKWh.P90 != 0 || *w.FilledFirst != 0 {
			t.Errorf("%v: %s, %v h, %+v kWh", w.Run, w.Outcome, *w.Hours.P90, w.EnergyKWh)
		}
	}
	// 10 L/s beside the plant and 5 mm of evaporation a day from 40 L/s leave the pond about full with nothing running; with A
	// drawing on it would have lost 65 L/s for a hundred days, 560 000 m³.
	if v := f.StopLevelM - f.LevelM; v > 0.4 {
		t.Errorf("%.2f m below the stop level: the machines ran on where they stand", v)
	}
}
