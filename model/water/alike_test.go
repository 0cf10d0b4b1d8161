package water

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// lifted is a plant and its log with the gauge's zero so many metres lower: every level reads so much more.
func lifted(h *record.History, by float64) *record.History {
	p := *h.Plant
	p.Pond.Stage = append([]plant.StageRow(nil), p.Pond.Stage...)
	for i := range p.Pond.Stage {
		p.Pond.Stage[i].LevelM += by
	}
	stop, crest := *p.Pond.StopLevelM+by, *p.Pond.CrestM+by
	p.Pond.StopLevelM, p.Pond.CrestM = &stop, &crest
	return readAs(h, &p, func(level float64) float64 { return level + by })
}

// readAs is a log with every level changed, of another plant.
func readAs(h *record.History, p *plant.Plant, change func(float64) float64) *record.History {
	out := *h
	out.Plant, out.Rounds = p, nil
	for _, r := range h.Rounds {
		values := map[quantity.Key]float64{}
		for k, v := range r.Values {
			values[k] = v
		}
		values["pond_level_m"] = change(values["pond_level_m"])
		r.Values = values
		out.Rounds = append(out.Rounds, r)
	}
	return &out
}

// sameHours compares two forecasts within a share.
func sameHours(t *testing.T, what string, a, b *Facts, within float64) {
	t.Helper()
	close := func(part string, x, y *float64) {
		switch {
		case (x == nil) != (y == nil):
			t.Errorf("%s: %s stands in one alone", what, part)
		case x != nil && math.Abs(*x-*y) > within*math.Abs(*x)+1:
			t.Errorf("%s: %s %g h and %g h", what, part, *x, *y)
		}
	}
	for i := range a.Ways {
		x, y := a.Ways[i], b.Ways[i]
		close(name(x)+" p10", x.Hours.P10, y.Hours.P10)
		close(name(x)+" p50", x.Hours.P50, y.Hours.P50)
		close(name(x)+" p50 of any outcome", x.HoursAnyOutcome.P50, y.HoursAnyOutcome.P50)
		if x.Outcome != y.Outcome {
			t.Errorf("%s: %s %s and %s", what, name(x), x.Outcome, y.Outcome)
		}
	}
}

// Where the gauge's zero lies means nothing.
func TestTheDatumMeansNothing(t *testing.T) {
	h := dryLog(t, twoUnits(), 0.045, 0.7, 9, "A")
	opt := Options{Members: 300, Seed: 2, Horizon: 90 * 24 * time.Hour}
	base := report(t, h, opt)
	for _, by := range []float64{10, -3, 850} {
		f := report(t, lifted(h, by), opt)
		sameHours(t, "another zero", base, f, 0.01)
		near(t, "level", f.LevelM-by, base.LevelM, 1e-4)
		near(t, "usable", f.UsableM3, base.UsableM3, 10)
	}
}

// A pond with twice the area, twice the flows and twice the machines lasts as long.
func TestAPondTwiceAsLargeWithTwiceTheFlowsLastsAsLong(t *testing.T) {
	p := twoUnits()
	double := twoUnits()
	for i := range double.Pond.Stage {
		double.Pond.Stage[i].AreaM2 *= 2
	}
	double.Pond.CrestLengthM *= 2
	double.Pond.BypassLps *= 2
	h := dryLog(t, p, 0.045, 0.7, 9, "A")
	opt := Options{Members: 300, Seed: 2, Horizon: 90 * 24 * time.Hour}
	twice := Always(func(level float64, running []string) (float64, float64) {
		q, kw := twoDraws(level, running)
		return 2 * q, 2 * kw
	})
	f, err := Report(t.Context(), readAs(h, double, func(l float64) float64 { return l }), twice, opt)
	if err != nil {
		t.Fatal(err)
	}
	base := report(t, h, opt)
	sameHours(t, "twice as large", base, f, 0.02)
	near(t, "inflow", f.InflowLps.P50, 2*base.InflowLps.P50, 0.02*base.InflowLps.P50)
	near(t, "energy", f.Ways[1].EnergyKWh.P10, 2*base.Ways[1].EnergyKWh.P10, 0.04*base.Ways[1].EnergyKWh.P10)
}

// What the second machine is called, or that there is a third that never ran, changes nothing for the first.
func TestAMachineThatNeverRanChangesNothing(t *testing.T) {
	h := dryLog(t, twoUnits(), 0.045, 0.7, 9, "A")
	opt := Options{Members: 300, Seed: 2, Horizon: 90 * 24 * time.Hour, Ways: []Choice{{Run: []string{"A"}}, {Run: []string{"B"}}}}
	more := twoUnits()
	more.Units = append(more.Units, plant.Unit{ID: "C", BestFlowLps: 30})
	sameHours(t, "with a third machine", report(t, h, opt), report(t, readAs(h, more, func(l float64) float64 { return l }), opt), 0.05)
}

// The same log in another time zone is the same log: instants count, but for plans and months.
func TestTheZoneOfTheTimesMeansNothing(t *testing.T) {
	h := dryLog(t, twoUnits(), 0.045, 0.7, 9, "A")
	there := readAs(h, h.Plant, func(l float64) float64 { return l })
	zone := time.FixedZone("far", -9*3600)
	there.At = there.At.In(zone)
	for i := range there.Rounds {
		there.Rounds[i].Time = there.Rounds[i].Time.In(zone)
	}
	opt := Options{Members: 200, Seed: 2, Horizon: 60 * 24 * time.Hour}
	a, b := report(t, h, opt), report(t, there, opt)
	sameHours(t, "another zone", a, b, 0.01)
	if !a.At.Equal(b.At) {
		t.Errorf("%v and %v", a.At, b.At)
	}
}

// A finer gauge never makes the inflow less sure.
func TestAFinerGaugeKnowsMore(t *testing.T) {
	before := math.Inf(1)
	for _, division := range []float64{0.05, 0.02, 0.01, 0.005, 0.001} {
		p := twoUnits()
		p.Gauge["pond_level_m"] = division
		h := dryLog(t, p, 0.060, 0.7, 12, "A")
		r := report(t, h, Options{Members: 30}).InflowLps
		if w := r.P90 / r.P10; w > before*1.02 {
			t.Errorf("gauge to %g m: the inflow's range is a factor of %.2f, wider than a coarser one's %.2f", division, w, before)
		} else {
			before = w
		}
	}
}

// FuzzReport reads a log from bytes: whatever it says, there is an answer that JSON can hold, or an error in words.
func FuzzReport(f *testing.F) {
	f.Add([]byte{10, 100, 1, 24, 99, 1, 24, 98, 1, 24, 97, 0}, 0.0)
	f.Add([]byte{1, 255, 3, 1, 0, 2, 200, 128, 0}, 12.0)
	f.Add([]byte{}, -5.0)
	f.Add([]byte{0, 50, 1, 0, 50, 1, 0, 60, 2}, 1e300)
	f.Fuzz(func(t *testing.T, raw []byte, rain float64) {
		if len(raw) > 150 {
			return
		}
		h := &record.History{Plant: twoUnits(), At: july(1, 7)}
		at := h.At.Add(-400 * 24 * time.Hour)
		for i := 0; i+2 < len(raw); i += 3 {
			at = at.Add(time.Duration(raw[i]) * time.Hour)
			run := [][]string{{}, {"A"}, {"B"}, {"A", "B"}}[raw[i+2]%4]
			r := record.Round{Time: at, Values: map[quantity.Key]float64{"pond_level_m": float64(raw[i+1])/80 - 1.2, "rain_mm": rain}}
			if raw[i+2] < 128 {
				r.Running = &run
			}
			h.Rounds = append(h.Rounds, r)
		}
		facts, err := Report(t.Context(), h, Always(twoDraws), Options{Members: 20, Fan: true, Horizon: 40 * 24 * time.Hour, Until: h.At.AddDate(0, 0, 9)})
		if err != nil {
			return
		}
		if _, err := json.Marshal(facts); err != nil {
			t.Fatal(err)
		}
		for _, w := range facts.Ways {
			if w.Hours != nil && (w.Hours.P10 != nil && *w.Hours.P10 < 0 || w.EnergyKWh.P10 < 0) {
				t.Fatalf("%v: %v h, %+v kWh", w.Run, *w.Hours.P10, w.EnergyKWh)
			}
			if h := w.Hours; h != nil && (orInf(h.P10) > orInf(h.P50) || orInf(h.P50) > orInf(h.P90) || facts.LevelM <= facts.StopLevelM && orInf(h.P90) != 0) {
				t.Fatalf("%v at %g m: %+v h", w.Run, facts.LevelM, h)
			}
		}
	})
}
