package waterview

import (
	"context"
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/water"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

func pageOf(f *water.Facts) page {
	return page{report: Report{Facts: f, Running: []string{"A"}}, common: uitest.Common(uitest.Look{}, 80, 24, clock), w: 80, h: 24}
}

func TestThePondIsToldWithItsAgeAndWhatIsLeft(t *testing.T) {
	f := facts()
	p := pageOf(f)
	if got := p.pond(); got != "Pond -0.33\u00a0m (read 2 h 17 min ago), 27500\u00a0m³ above the stop at -0.85\u00a0m." {
		t.Errorf("%q", got)
	}
	f.LastLevel.Value, f.StopLevelFrom = -0.29, "submergence"
	if got := p.pond(); !strings.Contains(got, "(read -0.290 2 h 17 min ago)") && !strings.Contains(got, "(read -0.29 2 h 17 min ago)") || !strings.Contains(got, "(rule of thumb)") {
		t.Errorf("a level that lies apart from the estimate: %q", got)
	}
	f.UsableM3, f.LastLevel = 0, nil
	if got := p.pond(); got != "Pond -0.33\u00a0m, at or below the stop at -0.85\u00a0m (rule of thumb)." {
		t.Errorf("nothing left: %q", got)
	}
}

// A pond that is only supposed to be at its stop level is told so in every line, and none says how much is left above it.
func TestAnOldLevelIsNeverToldAsTheStopLevel(t *testing.T) {
	f := facts()
	f.LastLevel.Time = clock.AddDate(0, 0, -16)
	f.Ways[1].Standing, f.Ways[1].Hours = water.PerhapsAtStop, &water.Hours{P10: new(0.0), P50: new(0.0), P90: new(90.0)}
	f.Ways[1].HoursAnyOutcome, f.Ways[1].FilledFirst = f.Ways[1].Hours, new(0.2)
	f.Ways[1].Permit.LowHours = &water.Hours{P10: new(0.0), P50: new(12.0)}
	p := pageOf(f)
	if got := p.pond(); got != "Pond -0.33\u00a0m as reckoned (read -0.33 16 days ago), perhaps at or below the stop at -0.85\u00a0m by now; read the gauge." {
		t.Errorf("%q", got)
	}
	page := flat(Text(p.report, p.common, 80))
	for _, part := range []string{"Running A, as now: by now perhaps at the stop level.", "low level -0.90 m is perhaps passed by now; read the gauge."} {
		if !strings.Contains(page, part) {
			t.Errorf("%q is missing in\n%s", part, page)
		}
	}
	for _, part := range []string{"above the stop", "level now", "Stop level reached", "passed now", "0 min", "!!"} {
		if strings.Contains(page, part) {
			t.Errorf("%q stands in\n%s", part, page)
		}
	}
	if p.urgency(f.Ways[1]) != ui.Near {
		t.Error("what is only reckoned is as urgent as what was read")
	}
	f.LastLevel = &water.Reading{Time: clock.Add(-time.Hour), Value: -0.91}
	f.Ways[1].Standing = water.ReadAtStop
	page = flat(Text(p.report, p.common, 80))
	for _, part := range []string{"at or below the stop level now", "at or below the stop at -0.85 m.", "is passed now"} {
		if !strings.Contains(page, part) {
			t.Errorf("read at the stop: %q is missing in\n%s", part, page)
		}
	}
}

func TestTheInflowIsToldWithItsRange(t *testing.T) {
	f := facts()
	p := pageOf(f)
	if got := p.flows(); got != "Inflow 49 to 67\u00a0L/s, middle 57; A draws 77\u00a0L/s for 6.0\u00a0kW." {
		t.Errorf("%q", got)
	}
	f.InflowLps = &water.Range{P10: 57.1, P50: 57.2, P90: 57.4}
	if got := p.flows(); !strings.HasPrefix(got, "Inflow about 57\u00a0L/s;") {
		t.Errorf("a range that reads alike: %q", got)
	}
	f.InflowLps = nil
	if got := p.flows(); !strings.HasPrefix(got, "Inflow not known yet;") {
		t.Errorf("%q", got)
	}
}

// By hand, NIST SP 811: 6.5 L/s is 103.03 gpm, 12 L/s 190.2 gpm; 25 mm are 0.98 in, shown to a tenth.
func TestSuppositionsAreToldInThePlantsUnits(t *testing.T) {
	r := Report{Facts: facts(), WhatIf: water.WhatIf{BypassLps: new(12.0), RainMM: 25}}
	c := uitest.Common(uitest.Look{}, 80, 24, clock)
	c.Units = quantity.US
	got := flat(Text(r, c, 80))
	if !strings.Contains(got, "the bypass is 190") || !strings.Contains(got, "gpm and 1.0 in of rain fall within a day") {
		t.Errorf("%s", got)
	}
}

func TestTheWindowShowsWhatIsAskedAbout(t *testing.T) {
	f := facts()
	p := pageOf(f)
	from, to := p.window()
	if d := to.Sub(clock); d != aheadMost {
		t.Errorf("where a way has no end within the forecast the window goes %v ahead", d)
	}
	if back := clock.Sub(from); back != aheadMost*2/3 {
		t.Errorf("and %v back", back)
	}
	p.want.until = clock.AddDate(0, 0, 70)
	if _, to = p.window(); to.Before(p.want.until) {
		t.Errorf("the wanted date %v lies beyond the window's end %v", p.want.until, to)
	}
	p.want.until = clock.AddDate(0, 0, 300)
	if _, to = p.window(); to.Sub(clock) > aheadMost && to.Sub(clock) != aheadFar {
		t.Errorf("a date in 300 days makes a window of %v", to.Sub(clock))
	}
}

func TestAMissingPlanIsToldAsUnknown(t *testing.T) {
	f := facts()
	for i := range f.Ways {
		f.Ways[i].Hours, f.Ways[i].Outcome, f.Ways[i].EnergyKWh = nil, "", nil
	}
	got := Text(Report{Facts: f}, uitest.Common(uitest.Look{}, 80, 24, clock), 80)
	if n := strings.Count(got, "not known yet"); n < 5 {
		t.Errorf("of four ways and the head %d are told as unknown:\n%s", n, got)
	}
}

// A date typed letter by letter is asked about as soon as it can be read, on the real model, and answered with a plan that
// holds; a different date replaces it, and Esc puts the first question back.
func TestAQuestionOnTheRealModel(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24, history(t), facts())
	b.press("d")
	b.typed("10")
	b.settle()
	u := b.screen().page().facts().Until
	if u == nil || u.Holds < 0.8 || u.EnergyKWh <= 0 {
		t.Fatalf("answer %+v", u)
	}
	b.has("Until Mon 24 Aug run ", "kWh, holds in ")
	b.press("enter", "b")
	b.typed("2")
	b.settle()
	b.has("What if the bypass is 2.0 L/s: all numbers here suppose it.", "as it is")
	b.press("esc")
	b.settle()
	if strings.Contains(b.flat(), "What if the bypass is") {
		t.Error("Esc did not put the question back")
	}
	b.has("Until Mon 24 Aug run ")
}

// Cancelling ends the working out between two members, not at its end.
func TestAStoppedForecastGivesNoFacts(t *testing.T) {
	ctx, stop := context.WithCancel(t.Context())
	stop()
	got := forecast(ctx, 1, history(t), nil, question{until: clock.Add(240 * time.Hour)})
	if got.facts != nil || got.err == nil {
		t.Errorf("a forecast that was stopped before it began: %+v", got)
	}
}
