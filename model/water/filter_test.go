package water

import (
	"math"
	"testing"
	"time"

	"example.org/headpond/model/record"
)

// A made-up month whose true inflow is known: how far the filter's inflow lies from it, in its own standard deviations.
func TestTheFiltersErrorIsWhatItSays(t *testing.T) {
	var squares, n float64
	for seed := range uint64(30) {
		life := site{size: 1, gaugeM: 0.005, errorM: 0.004, everyDays: 1}.live(recedingFlow(45, 0.11, 35), make([]float64, 45), seed)
		h := logOf(life.rounds[len(life.rounds)-1].Time, backtestPlant(), nil)
		h.Rounds = life.rounds
		m, err := Prepare(t.Context(), h, Always(backtestDraw))
		if err != nil {
			t.Fatal(err)
		}
		for _, tr := range m.filter.track[12:] {
			truth := math.Log(0.11 * math.Exp(-dayOf(tr.at)/35))
			z := (tr.filtered.mean[iInflow] - truth) / math.Sqrt(tr.filtered.cov[iInflow][iInflow])
			squares, n = squares+z*z, n+1
		}
	}
	// A filter that takes rises for possible is wider than a stream without any needs; a narrower one would be dishonest.
	if rms := math.Sqrt(squares / n); rms > 1.3 || rms < 0.3 {
		t.Errorf("the inflow's error is %.2f of what the filter says", rms)
	}
}

// A rise of the inflow is found within days, and from a coarser gauge later, not never.
func TestARiseIsFound(t *testing.T) {
	for gauge, days := range map[float64]int{0.005: 4, 0.02: 8} {
		flow := make([]float64, 40)
		for i := range flow {
			flow[i] = 0.030
			if i >= 22 {
				flow[i] = 0.110
			}
		}
		life := site{size: 1, gaugeM: gauge, errorM: gauge / 2, everyDays: 1}.live(flow, make([]float64, 40), 3)
		h := logOf(life.rounds[0].Time.AddDate(0, 0, 22+days), backtestPlant(), nil)
		for _, r := range life.rounds {
			if !r.Time.After(h.At) {
				h.Rounds = append(h.Rounds, r)
			}
		}
		m, err := Prepare(t.Context(), h, Always(backtestDraw))
		if err != nil {
			t.Fatal(err)
		}
		if r := inflowRange(&m.filter.last); r.P90 < 85 || r.P50 < 60 {
			t.Errorf("gauge to %g m: %d days after a rise from 30 to 110 L/s the inflow is told as %+v", gauge, days, r)
		}
	}
}

// Rain that was written down opens the filter at once: the inflow is less sure than without it.
func TestWrittenRainMakesTheInflowLessSure(t *testing.T) {
	dry := dryLog(t, twoUnits(), 0.060, 0.7, 12, "A")
	wet := *dry
	wet.Rounds = append([]record.Round(nil), dry.Rounds...)
	last := &wet.Rounds[len(wet.Rounds)-1]
	values := map[string]float64{}
	for k, v := range last.Values {
		values[string(k)] = v
	}
	values["rain_mm"] = 20
	rained := logOf(wet.At, wet.Plant, []entry{{at: last.Time, level: values["pond_level_m"], running: "A", more: map[string]float64{"rain_mm": 20}}})
	wet.Rounds[len(wet.Rounds)-1] = rained.Rounds[0]
	wet.At = wet.At.Add(24 * time.Hour)
	later := *dry
	later.At = wet.At
	sd := func(h *record.History) float64 {
		m, err := Prepare(t.Context(), h, Always(twoDraws))
		if err != nil {
			t.Fatal(err)
		}
		return math.Sqrt(m.filter.last.cov[iInflow][iInflow])
	}
	if a, b := sd(&later), sd(&wet); b < 1.1*a {
		t.Errorf("log inflow ± %.3f without rain, ± %.3f after 20 mm", a, b)
	}
}

// The pond's balance of rain: 10 mm on about 110 000 m² are 1100 m³, which are not taken for inflow.
func TestRainOnThePondIsNotTakenForInflow(t *testing.T) {
	h := dryLog(t, twoUnits(), 0.060, 0.6, 12, "A")
	with := *h
	with.Rounds = append([]record.Round(nil), h.Rounds...)
	stage, err := newBasin(h.Plant, twoDraws)
	if err != nil {
		t.Fatal(err)
	}
	extra := 0.0
	for i := 7; i < len(with.Rounds); i++ {
		level := h.Rounds[i].Values["pond_level_m"]
		v := stage.stage.VolumeM3(level) + extra
		more := map[string]float64{}
		if i == 7 {
			extra = 0.010 * stage.stage.AreaM2(level)
			v += extra
			more["rain_mm"] = 10
		}
		with.Rounds[i] = logOf(with.At, h.Plant, []entry{{at: h.Rounds[i].Time, level: stage.stage.LevelM(v), running: "A", more: more}}).Rounds[0]
	}
	a, b := report(t, h, Options{Members: 60}), report(t, &with, Options{Members: 60})
	near(t, "inflow with rain on the pond, L/s", b.InflowLps.P50, a.InflowLps.P50, 5)
}

// A gauge is judged by its last 300 levels: exact ones leave the prior, waves of 4 cm are found within a factor of two.
func TestTheGaugesScatterIsFound(t *testing.T) {
	for _, c := range []struct{ waves, lo, hi float64 }{{0, 0.005, 0.005}, {0.04, 0.02, 0.08}} {
		h := dryLog(t, twoUnits(), 0.060, 0.75, 60, "A")
		rng := chance(11)
		for i := range h.Rounds {
			h.Rounds[i].Values["pond_level_m"] += c.waves * rng.NormFloat64()
		}
		m, err := Prepare(t.Context(), h, Always(twoDraws))
		if err != nil {
			t.Fatal(err)
		}
		if sd := m.nature.gaugeSD; sd < c.lo || sd > c.hi {
			t.Errorf("waves of %g m: scatter of %g m", c.waves, sd)
		}
	}
}

// The volume step keeps to the exact exponential where the pond spills: far over the crest it comes down like the weir's own
// law, and never below the crest in one step.
func TestTheFilterIsStableOverTheCrest(t *testing.T) {
	b, err := newBasin(twoUnits(), twoDraws)
	if err != nil {
		t.Fatal(err)
	}
	f := &filter{b: b, n: priors(), floor: math.Log(1e-4)}
	now := belief{n: 4, mean: vec{b.stage.VolumeM3(1.3), math.Log(0.05), f.n.rate, 0}}
	for i := range 4 {
		now.cov[i][i] = 1e-6
	}
	none := b.draws.table(nil)
	p := &piece{from: july(1, 7), to: july(3, 7), a: none, b: none, most: none}
	f.carryPiece(&now, p, p.from, 2*86400, 0, nil)
	if level := f.level(&now); level < 0.8 || level > 0.95 {
		t.Errorf("after two days over the crest the pond stands at %g m", level)
	}
	for i := range 4 {
		if !(now.cov[i][i] >= 0) {
			t.Errorf("variance %d is %g", i, now.cov[i][i])
		}
	}
}

// A jump that the next level bears out is kept, one that it does not is set aside; so is a slip in the very last level only
// where it is far out.
func TestASlipAndAFloodAreToldApart(t *testing.T) {
	base := dryLog(t, twoUnits(), 0.060, 0.3, 14, "A")
	shift := func(from, to int, by float64) *record.History {
		h := *base
		h.Rounds = append([]record.Round(nil), base.Rounds...)
		for i := from; i < to; i++ {
			h.Rounds[i] = logOf(h.At, h.Plant, []entry{{at: base.Rounds[i].Time, level: base.Rounds[i].Values["pond_level_m"] + by, running: "A"}}).Rounds[0]
		}
		return &h
	}
	both := func(a, b *record.History) *record.History {
		h := *a
		h.Rounds = append([]record.Round(nil), a.Rounds...)
		h.Rounds[7] = b.Rounds[7]
		return &h
	}
	aside := func(h *record.History) (n int) {
		for _, p := range report(t, h, Options{Members: 30}).History {
			if p.SetAside {
				n++
			}
		}
		return n
	}
	for what, c := range map[string]struct {
		h    *record.History
		want int
	}{
		"nothing":                      {base, 0},
		"one level half a metre high":  {shift(8, 9, 0.5), 1},
		"one level half a metre low":   {shift(8, 9, -0.5), 1},
		"a flood of 0.3 m that stays":  {shift(8, 15, 0.3), 0},
		"the last level 0.4 m low":     {shift(14, 15, -0.4), 1},
		"two slips with one between":   {both(shift(5, 6, 0.45), shift(7, 8, -0.4)), 2},
		"the last level a little high": {shift(14, 15, 0.03), 0},
	} {
		if got := aside(c.h); got != c.want {
			t.Errorf("%s: %d set aside, want %d", what, got, c.want)
		}
	}
}
