package pond

import (
	"context"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

const (
	ft  = 0.3048
	cfs = ft * ft * ft
)

// Chow, Maidment and Mays, Applied Hydrology, example 8.2.2: a detention pond of one acre with upright sides. Inputs verified,
// outputs recomputed and from memory, as references.md 7.1 says; tolerance as there 0.2 cfs, 0.02 ft.
func TestRoutingAgreesWithAppliedHydrology(t *testing.T) {
	outlet := []float64{0, 3, 8, 17, 30, 43, 60, 78, 97, 117, 137, 156, 173, 190, 205, 218, 231, 242, 253, 264, 275}
	var heads []float64
	for i := range outlet {
		heads = append(heads, float64(i)/2)
	}
	const acre = 43560.0
	r, err := NewRouting(600, 0, acre*10*cfs, func(v float64) float64 { return interpolate(heads, outlet, v/cfs/acre) * cfs })
	if err != nil {
		t.Fatal(err)
	}
	inflow := []float64{0, 60, 120, 180, 240, 300, 360, 320, 280, 240, 200, 160, 120, 80, 40, 0, 0, 0, 0, 0, 0}
	want := []float64{0, 2.4, 17.1, 61.1, 123.2, 182.2, 230.3, 259.3, 270.0, 267.4, 254.9, 235.2, 206.9, 168.5, 124.1, 79.8, 48.6, 32.7, 22.8, 16.2, 12.6}
	v, q, highest := 0.0, 0.0, 0.0
	for i := 1; i < len(inflow); i++ {
		v, q = r.Next(v, q, inflow[i-1]*cfs, inflow[i]*cfs)
		near(t, "outflow, cfs", q/cfs, want[i], 0.2)
		highest = math.Max(highest, v/cfs/acre)
	}
	near(t, "greatest depth, ft", highest, 9.77, 0.02)
}

func TestRoutingKeepsToTheExactDrawdown(t *testing.T) {
	for _, c := range readCases(t) {
		if c.Turbine.Kind == "steps" || c.Inflow.Kind == "steps" || c.Inflow.Kind == "linear" || c.Answer.Hours == nil {
			continue
		}
		b := c.balance(t)
		out := func(v float64) float64 {
			f := b.FlowsAt(0, b.Stage.LevelM(v))
			return f.InflowM3s - f.NetM3s()
		}
		const dt = 6 * 3600
		r, err := NewRouting(dt, b.Stage.VolumeM3(c.StopM-0.3), b.Stage.VolumeM3(c.StartM+0.5), out)
		if err != nil {
			t.Fatal(err)
		}
		stop := b.Stage.VolumeM3(c.StopM)
		v, q, s := b.Stage.VolumeM3(c.StartM), out(b.Stage.VolumeM3(c.StartM)), 0.0
		for {
			before := v
			v, q = r.Next(v, q, b.InflowM3s(s), b.InflowM3s(s+dt))
			if v <= stop {
				s += dt * (before - stop) / (before - v)
				break
			}
			s += dt
		}
		near(t, c.ID+" hours in steps of six", s/3600, *c.Answer.Hours, 0.003**c.Answer.Hours)
	}
}

func TestRoutingStaysInBoundsHoweverLongTheStep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawBowl(t)
		w := Weir{CrestM: s.HighM(), LengthM: rapid.Float64Range(0.5, 20).Draw(t, "length"), Coefficient: 1.7}
		in := rapid.Float64Range(0, 3).Draw(t, "inflow")
		low, high := s.VolumeM3(s.LowM()), s.VolumeM3(s.HighM()+4)
		out := func(v float64) float64 { return 0.05 + w.SpillM3s(s.LevelM(v)) }
		r, err := NewRouting(86400, low, high, out)
		if err != nil {
			t.Fatal(err)
		}
		v := low + rapid.Float64Range(0, 1).Draw(t, "start")*(high-low)
		q := out(v)
		for i := 0; i < 50; i++ {
			before, was := v, q
			v, q = r.Next(v, q, in, in)
			if v < low || math.IsNaN(v) {
				t.Fatalf("volume %g below the table's %g", v, low)
			}
			if v > low && math.Abs((v-before)-86400*(in-(was+q)/2)) > 1e-6*(math.Abs(v)+1e6) {
				t.Fatalf("step %d makes or loses water", i)
			}
		}
	})
}

func TestRoutingSaysWhatItCannotTable(t *testing.T) {
	for name, f := range map[string]func() error{
		"no step":      func() error { _, err := NewRouting(0, 0, 1, func(float64) float64 { return 0 }); return err },
		"no room":      func() error { _, err := NewRouting(1, 1, 1, func(float64) float64 { return 0 }); return err },
		"not a number": func() error { _, err := NewRouting(1, 0, 1, func(float64) float64 { return math.NaN() }); return err },
		"falls too fast": func() error {
			_, err := NewRouting(1e6, 0, 1e3, func(v float64) float64 { return 1 - v/1e3 })
			return err
		},
	} {
		if f() == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

func BenchmarkRoutingStep(b *testing.B) {
	r, err := NewRouting(86400, 0, 1e5, func(v float64) float64 { return 0.05 + v/1e7 })
	if err != nil {
		b.Fatal(err)
	}
	v, q := 5e4, 0.055
	for b.Loop() {
		v, q = r.Next(v, q, 0.06, 0.05)
	}
}

func BenchmarkDrawdown(b *testing.B) {
	s, err := NewStage(tableOf([][2]float64{{0, 30000}, {1, 80000}, {2, 105000}, {3, 118000}}))
	if err != nil {
		b.Fatal(err)
	}
	bal := &Balance{Stage: s, Start: time.Date(2026, 7, 1, 0, 0, 0, 0, time.UTC), Draw: constant(0.1), EvaporationMMDay: &[12]float64{6: 4, 7: 3}}
	for b.Loop() {
		if _, err := Drawdown(context.Background(), bal, 2.5, Limits{StopM: 1, Horizon: 3000 * time.Hour}); err != nil {
			b.Fatal(err)
		}
	}
}

// A volume beyond any number must not end the program.
func TestARoutingTakesWhatIsNoNumber(t *testing.T) {
	r, err := NewRouting(3600, 0, 1000, func(float64) float64 { return 0.01 })
	if err != nil {
		t.Fatal(err)
	}
	if v := r.VolumeAt(math.NaN()); v != 0 {
		t.Errorf("not a number gives %g m3, want the low end", v)
	}
	if v := r.VolumeAt(math.Inf(1)); !math.IsInf(v, 1) {
		t.Errorf("endless gives %g m3", v)
	}
	if v := r.VolumeAt(math.Inf(-1)); v != 0 {
		t.Errorf("endless below gives %g m3", v)
	}
}
