package water

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"
	"time"
)

// keysOf lists every key of a JSON object with its path; lists are entered at their first element.
func keysOf(prefix string, v any, keys map[string]bool) {
	switch v := v.(type) {
	case map[string]any:
		for k, inner := range v {
			keys[prefix+k] = true
			keysOf(prefix+k+".", inner, keys)
		}
	case []any:
		for _, inner := range v {
			keysOf(prefix, inner, keys)
		}
	}
}

// The keys are the contract's; ours stand beside them. No key may be missing where the facts are known.
func TestTheKeysAreTheContracts(t *testing.T) {
	p := twoUnits()
	low, high := 0.05, 0.9
	p.Pond.PermitLowM, p.Pond.PermitHighM = &low, &high
	h := dryLog(t, p, 0.045, 0.7, 9, "A")
	f := report(t, h, Options{Members: 200, Horizon: 200 * 24 * time.Hour, Until: h.At.AddDate(0, 0, 12), Fan: true})
	raw, err := json.Marshal(f)
	if err != nil {
		t.Fatal(err)
	}
	var read any
	if err := json.Unmarshal(raw, &read); err != nil {
		t.Fatal(err)
	}
	got := map[string]bool{}
	keysOf("", read, got)
	for _, k := range strings.Fields(`at level_m stop_level_m usable_m3 inflow_lps inflow_lps.p10 inflow_lps.p50 inflow_lps.p90 ways ways.run ways.draw_lps
		ways.kw ways.outcome ways.hours ways.hours.p10 ways.hours.p50 ways.energy_kwh ways.energy_kwh.p10 ways.energy_kwh.p50 ways.energy_kwh.p90
		until until.date until.run until.holds until.energy_kwh rests_on rests_on.levels rests_on.from rests_on.to cautions
		last_level last_level.time last_level.value stop_level_from permit permit.low_hours permit.low_m permit.high_m`) {
		if !got[k] {
			t.Errorf("the contract's key %s is missing", k)
		}
		delete(got, k)
	}
	ours := strings.Fields(`ways.hours.p90 ways.permit ways.permit.low_m ways.permit.low_hours ways.permit.low_hours.p10 ways.permit.low_hours.p50 ways.permit.low_hours.p90
		ways.permit.high_m ways.permit.high_hours ways.permit.high_hours.p10 ways.permit.high_hours.p50 ways.permit.high_hours.p90 ways.filled_first ways.hours_any_outcome ways.hours_any_outcome.p10
		ways.hours_any_outcome.p50 ways.hours_any_outcome.p90 ways.holds_until until.plan until.plan.unit until.plan.from until.plan.to
		permit.low_hours.p10 permit.low_hours.p50 permit.low_hours.p90 permit.high_hours permit.high_hours.p10 permit.high_hours.p50 permit.high_hours.p90`)
	for k := range got {
		if !slices.Contains(ours, k) {
			t.Errorf("%s is no key of the contract and none of ours that stands in Facts", k)
		}
	}
	if strings.Contains(string(raw), "null") {
		t.Errorf("a missing value is null: %s", raw)
	}
}

// Permit limits are separate from the stop level: a low limit above it is reached before, one below it later or not at all, and
// a high one only where the pond rises.
func TestPermitLimitsAreSeparate(t *testing.T) {
	p := twoUnits()
	low, high := 0.2, 0.85
	p.Pond.PermitLowM, p.Pond.PermitHighM = &low, &high
	f := report(t, dryLog(t, p, 0.045, 0.7, 9, "A"), Options{Members: 200})
	for _, w := range f.Ways[1:] {
		if *w.Permit.LowHours.P10 >= *w.HoursAnyOutcome.P10 || *w.Permit.LowHours.P50 >= *w.HoursAnyOutcome.P50 {
			t.Errorf("%v: 0.2 m after %g h, the stop at 0 m after %g h", w.Run, *w.Permit.LowHours.P50, *w.HoursAnyOutcome.P50)
		}
	}
	if f.Permit == nil || *f.Permit.LowHours.P50 != *f.Ways[1].Permit.LowHours.P50 {
		t.Error("the plant's permit is not that of A, which runs")
	}
	full := report(t, dryLog(t, p, 0.25, 0.6, 4, "A"), Options{Members: 100, Horizon: 30 * 24 * time.Hour})
	if h := full.Ways[0].Permit.HighHours; h.P50 == nil {
		t.Errorf("250 L/s do not bring a pond with nothing running to 0.85 m: %+v", h)
	}
	passed := 0.75
	p.Pond.PermitHighM, p.Pond.PermitLowM = &passed, nil
	now := report(t, dryLog(t, p, 0.25, 0.78, 4, "A"), Options{Members: 100, Horizon: 30 * 24 * time.Hour})
	if h := now.Ways[0].Permit; h.LowM != nil || h.HighHours.P10 == nil || *h.HighHours.P10 > 24 {
		t.Errorf("a level that is passed already: %+v", h)
	}
	p.Pond.PermitHighM = nil
	if f := report(t, dryLog(t, p, 0.045, 0.7, 9, "A"), Options{Members: 50}); f.Permit != nil || f.Ways[1].Permit != nil {
		t.Error("a plant without limits has a permit")
	}
}

// Another bypass is another future, not another past: the inflow stays, a larger one shortens every way, none lengthens it.
func TestAnotherBypassChangesTheFutureAlone(t *testing.T) {
	m, err := Prepare(t.Context(), dryLog(t, twoUnits(), 0.050, 0.7, 9, "A"), Always(twoDraws))
	if err != nil {
		t.Fatal(err)
	}
	ask := func(lps *float64) *Facts {
		f, err := m.Forecast(t.Context(), Options{Members: 300, Seed: 4, WhatIf: WhatIf{BypassLps: lps}})
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	asItIs, more, none := ask(nil), ask(new(30.0)), ask(new(0.0))
	if *asItIs.InflowLps != *more.InflowLps || asItIs.LevelM != more.LevelM {
		t.Error("the bypass of the future changed what is believed of the past")
	}
	for i, w := range asItIs.Ways[1:] {
		if *more.Ways[i+1].HoursAnyOutcome.P50 >= *w.HoursAnyOutcome.P50 || *none.Ways[i+1].HoursAnyOutcome.P10 < *w.HoursAnyOutcome.P10 {
			t.Errorf("%v: %g h with 30 L/s, %g h as it is, %g h without", w.Run, *more.Ways[i+1].HoursAnyOutcome.P50, *w.HoursAnyOutcome.P50, *none.Ways[i+1].HoursAnyOutcome.P10)
		}
	}
}

// More energy a day never comes with less water: each way's energy is its power for as long as it runs.
func TestEnergyIsPowerForTheHours(t *testing.T) {
	f := report(t, dryLog(t, twoUnits(), 0.030, 0.75, 5, "A"), Options{Members: 400})
	for _, w := range f.Ways[1:] {
		if w.HoursAnyOutcome.P50 == nil || *w.HoursAnyOutcome.P50 < 24 {
			t.Fatalf("%v: no hours to speak of: %+v", w.Run, w.HoursAnyOutcome)
		}
		near(t, "middle energy", w.EnergyKWh.P50, w.KW**w.HoursAnyOutcome.P50, 0.02*w.EnergyKWh.P50)
		near(t, "least energy", w.EnergyKWh.P10, w.KW**w.HoursAnyOutcome.P10, 0.02*w.EnergyKWh.P10)
	}
}

// A plan in the middle of a day runs for its share: 8 h of 24 h draw a third of the water and give a third of the energy a
// day.
func TestAPlanGivesItsShare(t *testing.T) {
	h := dryLog(t, twoUnits(), 0.030, 0.75, 5, "A")
	plan := &Plan{Unit: "A", From: "08:00", To: "16:00"}
	f := report(t, h, Options{Members: 200, Horizon: 3 * 24 * time.Hour, Ways: []Choice{{Run: []string{"A"}}, {Plan: plan}, {Run: []string{"B"}, Plan: plan}}})
	near(t, "a third of 8 kW for 72 h", f.Ways[1].EnergyKWh.P50, 8*24, 1)
	near(t, "and 3 kW of B all day", f.Ways[2].EnergyKWh.P50, 8*24+3*72, 1)
	near(t, "draw while it runs", f.Ways[1].DrawLps, 95, 1e-9)
	near(t, "draw of both", f.Ways[2].DrawLps, 135, 1e-9)
	if f.Ways[1].Plan == plan || *f.Ways[1].Plan != *plan || len(f.Ways[1].Run) != 0 {
		t.Errorf("the plan is told as %+v of %v", f.Ways[1].Plan, f.Ways[1].Run)
	}
}

// A supposition that cannot be is refused in words.
func TestSuppositionsThatCannotBeAreRefused(t *testing.T) {
	p := twoUnits()
	p.Pond.CatchmentKM2 = new(2.0)
	m, err := Prepare(t.Context(), dryLog(t, p, 0.050, 0.7, 9, "A"), Always(twoDraws))
	if err != nil {
		t.Fatal(err)
	}
	for want, w := range map[string]WhatIf{
		"a bypass of -3 L/s cannot be":    {BypassLps: new(-3.0)},
		"a bypass of 1e+09 L/s cannot be": {BypassLps: new(1e9)},
		"a bypass of NaN L/s cannot be":   {BypassLps: new(math.NaN())},
		"-1 mm of rain cannot be":         {RainMM: -1},
		"1e+15 mm of rain cannot be":      {RainMM: 1e15},
	} {
		if _, err := m.Forecast(t.Context(), Options{Members: 10, WhatIf: w}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%+v: %v, want %q", w, err, want)
		}
	}
	if _, err := m.Forecast(t.Context(), Options{Members: 10, WhatIf: WhatIf{BypassLps: new(0.0), RainMM: 200}}); err != nil {
		t.Error(err)
	}
}
