package faults

import (
	"fmt"
	"math"
	"testing"
	"time"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// slopePlant is a single set whose efficiency, flow and losses can be scaled.
func slopePlant(tb testing.TB, efficiency, flow, loss float64, share string) *plant.Plant {
	tb.Helper()
	text := fmt.Sprintf(`[site]
name = "slopes"
timezone = "America/Halifax"
units = "metric"
[supply]
volts = 240
hertz = 60
[intake]
screen_m2 = 1.4
open_share = 0.4
[[penstock]]
name = "main"
length_m = %g
diameter_m = 0.30
roughness_mm = 0.01
minor_k = %g
[[unit]]
id = "A"
name = "set"
penstock = "main"
axis_m = -14.6
rated_kw = 6
rated_kva = 8
best_flow_lps = %g
best_head_m = 13.1
best_efficiency = %g
generator_efficiency = 0.86
[ballast]
controller_kw = 9
share_of = %q
[[ballast.element]]
name = "E1"
rated_kw = 9
rated_volts = 240
`, 210*loss, 2.1*loss, 76*flow, 0.68*efficiency/flow, share)
	p, err := plant.Parse("slopes.toml", []byte(text))
	if err != nil {
		tb.Fatal(err)
	}
	return p
}

func slopeWork(tb testing.TB, p *plant.Plant) *work {
	tb.Helper()
	running := []string{"A"}
	r := record.Round{Time: time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC), Running: &running, Values: map[quantity.Key]float64{
		"pond_level_m": -0.1, "pressure_kpa": 130, "A.kw": 5.4, "load_kw": 2, "dump_share_pct": 60, "dump_kw": 3.4, "flow_lps": 76, "volts": 240, "hertz": 60}}
	w, err := newWork(&record.History{At: r.Time, Plant: p, Rounds: []record.Round{r}})
	if err != nil {
		tb.Fatal(err)
	}
	return w
}

// The columns of J against the same plant with its file changed: the model is solved anew instead of differentiated.
func TestTheInfluenceOfTheNamePlates(t *testing.T) {
	for _, share := range []string{"generation", "ballast"} {
		base := slopeWork(t, slopePlant(t, 1, 1, 1, share))
		r, p := base.wet.ready[0], len(base.wet.sd)
		for _, c := range []struct {
			name             string
			column           int
			eff, flow, loss  float64
			share, tolerance float64
		}{
			{"efficiency", 0, 1.02, 1, 1, 0.02, 0.02},
			{"flow", 1, 1, 1.02, 1, 0.02, 0.30}, // the slope takes the machine's head as it is
			{"loss", 2, 1, 1, 1.03, 0.03, 0.05},
		} {
			other := slopeWork(t, slopePlant(t, c.eff, c.flow, c.loss, share))
			for i, ch := range r.chans {
				got := r.jRaw[i*p+c.column] * c.share
				want := other.wet.ready[0].f[i] - r.f[i]
				if math.Abs(got-want) > c.tolerance*math.Abs(want)+0.004*ch.sd+0.004*c.share*math.Abs(r.f[i]) {
					t.Errorf("%s, share of %s: %s moves by %g, want %g", c.name, share, ch.key, got, want)
				}
			}
		}
	}
}

// By hand, with a generation of G and a load of 2 kW: a share of the generation falls by 100/G per kW of load, one of a ballast
// of 9 kW by 100/9, the dumped power by 1.
func TestTheInfluenceOfTheLoad(t *testing.T) {
	for _, share := range []string{"generation", "ballast"} {
		w := slopeWork(t, slopePlant(t, 1, 1, 1, share))
		r, p := w.wet.ready[0], len(w.wet.sd)
		g := w.commonKW[0]
		want := map[kind]float64{kShare: -100 / g * 2, kDuty: -100. / 9 * 2, kDump: -2}
		seen := 0
		for i, c := range r.chans {
			if v, ok := want[c.kind]; ok {
				seen++
				if got := r.jRaw[i*p+4]; math.Abs(got-v) > 1e-9 {
					t.Errorf("%s: the load's scale moves it by %g, want %g", c.key, got, v)
				}
			}
		}
		if seen != 2 {
			t.Errorf("share of %s: %d readings of the dump", share, seen)
		}
	}
}

// Balances by hand at 240 V: 5.4 kW metered, 2 kW used, a ballast of 9 kW.
func TestRegimes(t *testing.T) {
	p := slopePlant(t, 1, 1, 1, "ballast")
	p.Ballast.ControllerKW = nil
	running := []string{"A"}
	for _, c := range []struct {
		name       string
		load, kw   float64
		share, hz  float64
		dead       float64
		want       regime
		elementsKW float64
	}{
		{"held", 2, 5.4, 38, 60.1, 0, held, 9},
		{"full ballast", 0.2, 5.0, 100, 62.9, 0, full, 4.8},
		{"full with a dead element", 0.4, 5.2, 100, 62.0, 4.2, full, 9},
		{"not full, yet fast", 2, 5.4, 38, 65, 0, misread, 9},
		{"overload", 5.4, 5.4, 0, 57.6, 0, over, 9},
		{"not empty, yet slow", 2, 5.4, 38, 56, 0, misread, 9},
	} {
		p.Ballast.Elements[0].RatedKW = c.elementsKW
		r := record.Round{Time: time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC), Running: &running, Values: map[quantity.Key]float64{
			"pond_level_m": -0.1, "A.kw": c.kw, "load_kw": c.load, "dump_share_pct": c.share, "volts": 240, "hertz": c.hz}}
		w, err := newWork(&record.History{At: r.Time, Plant: p, Rounds: []record.Round{r}})
		if err != nil {
			t.Fatal(err)
		}
		if kinds, _ := w.regimes(c.dead, held); kinds[0] != c.want {
			t.Errorf("%s: regime %d, want %d (%+v)", c.name, kinds[0], c.want, w.chancesOf(0, c.dead, held))
		}
	}
}
