package pond

import (
	"context"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// The implicit trapezoidal rule on a linear reservoir, dV/dt = i − k V, has its own closed form:
// V2 = (V1 (1 − kΔt/2) + iΔt) / (1 + kΔt/2).
func TestRoutingALinearReservoirIsTheTrapezoidalRule(t *testing.T) {
	for _, kdt := range []float64{0.01, 0.1, 0.5, 2} {
		const dt = 3600.0
		k := kdt / dt
		r, err := NewRouting(dt, 0, 1e5, func(v float64) float64 { return k * v })
		if err != nil {
			t.Fatal(err)
		}
		v, q := 40000.0, k*40000.0
		want := v
		for range 20 {
			v, q = r.Next(v, q, 1.5, 1.5)
			want = (want*(1-kdt/2) + 1.5*dt) / (1 + kdt/2)
			near(t, "volume", v, want, 1e-6*want)
			near(t, "outflow", q, k*want, 1e-6*k*want)
		}
		// Where the step is short beside the reservoir's time, 20 steps come to the exponential too.
		if kdt <= 0.01 {
			exact := 1.5/k + (40000-1.5/k)*math.Exp(-20*kdt)
			near(t, "exponential", v, exact, 1e-5*exact)
		}
	}
}

// Whatever the outflow, what a step gains is what flowed in less what flowed out, each the mean of its ends.
func TestRoutingConservesWater(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, p := rapid.Float64Range(0.001, 2).Draw(t, "outflow"), rapid.Float64Range(0.3, 2).Draw(t, "power")
		dt := rapid.Float64Range(60, 2*86400).Draw(t, "step")
		r, err := NewRouting(dt, 0, 50000, func(v float64) float64 { return a * math.Pow(math.Max(v, 0)/50000, p) })
		if err != nil {
			t.Fatal(err)
		}
		if r.StepSeconds() != dt {
			t.Fatalf("a step of %g s, want %g", r.StepSeconds(), dt)
		}
		v := rapid.Float64Range(1000, 49000).Draw(t, "volume")
		q := a * math.Pow(v/50000, p)
		for range 10 {
			i1, i2 := rapid.Float64Range(0, 0.5).Draw(t, "inflow"), rapid.Float64Range(0, 0.5).Draw(t, "inflow after")
			v2, q2 := r.Next(v, q, i1, i2)
			if v2 <= 0 {
				return // at the low end the table stops: no more is lost than gained
			}
			if got, want := v2-v, dt*((i1+i2)/2-(q+q2)/2); math.Abs(got-want) > 1e-6*(1+math.Abs(v)) {
				t.Fatalf("gained %g m³, flows make %g m³", got, want)
			}
			v, q = v2, q2
		}
	})
}

// More inflow never leaves less water, and more water at first never less at the end.
func TestRoutingKeepsOrder(t *testing.T) {
	r, err := NewRouting(86400, -1000, 60000, func(v float64) float64 { return 0.05 + 0.3*math.Max(0, v-40000)/20000 })
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(0, 59000).Draw(t, "volume")
		more := v + rapid.Float64Range(0, 60000-v).Draw(t, "more")
		i := rapid.Float64Range(0, 1).Draw(t, "inflow")
		extra := i + rapid.Float64Range(0, 1).Draw(t, "extra")
		out := func(v float64) float64 { return 0.05 + 0.3*math.Max(0, v-40000)/20000 }
		end := func(v, i float64) float64 { e, _ := r.Next(v, out(v), i, i); return e }
		if end(v, extra) < end(v, i)-1e-9 {
			t.Fatalf("more inflow leaves less: %g, %g", end(v, extra), end(v, i))
		}
		// The trapezoidal rule keeps this order as long as 2V/Δt − Q rises with V, as here.
		if end(more, i) < end(v, i)-1e-6 {
			t.Fatalf("more water leaves less: %g, %g", end(more, i), end(v, i))
		}
	})
}

// Halving the step brings a routed drawdown nearer to the exact one by about four (order 2), where the outflow is smooth.
func TestRoutingIsOfSecondOrder(t *testing.T) {
	s := stageOf(t, [2]float64{0, 4000}, [2]float64{2, 9000})
	outflow := func(v float64) float64 { return 0.02 * math.Sqrt(math.Max(0, s.LevelM(v))+0.1) }
	inflow := func(sec float64) float64 { return 0.01 * math.Exp(-sec/4e5) }
	b := &Balance{Stage: s, Draw: func(_, h float64) (float64, float64) { return 0.02 * math.Sqrt(math.Max(0, h)+0.1), 0 }, InflowM3s: inflow}
	exact, err := Drawdown(context.Background(), b, 1.5, Limits{StopM: -9, Horizon: 5 * 24 * time.Hour})
	if err != nil {
		t.Fatal(err)
	}
	miss := func(dt float64) float64 {
		r, err := NewRouting(dt, 0, s.VolumeM3(2), outflow)
		if err != nil {
			t.Fatal(err)
		}
		v := s.VolumeM3(1.5)
		q := outflow(v)
		for sec := 0.0; sec < 5*86400-1; sec += dt {
			v, q = r.Next(v, q, inflow(sec), inflow(sec+dt))
		}
		return math.Abs(v - s.VolumeM3(exact.EndM))
	}
	coarse, fine := miss(5*86400.0), miss(2.5*86400.0)
	if order := math.Log2(coarse / fine); order < 1.6 || order > 3 {
		t.Errorf("misses %g and %g m³: order %.2f, want about 2", coarse, fine, order)
	}
	if day := miss(86400); day > 0.002*s.VolumeM3(1.5) {
		t.Errorf("with steps of a day the volume misses by %g m³", day)
	}
}
