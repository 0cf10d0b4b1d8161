package pond

import (
	"context"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// The drawdowns here have closed forms, worked from the differential equation beside each; none comes from this package.

// down runs a balance from one level to another and returns the hours.
func down(t *testing.T, b *Balance, from, to float64, horizon time.Duration) float64 {
	t.Helper()
	got, err := Drawdown(context.Background(), b, from, Limits{StopM: to, Horizon: horizon})
	if err != nil {
		t.Fatal(err)
	}
	if !got.Reached {
		t.Fatalf("%g m was not reached in %v: at %g m", to, horizon, got.EndM)
	}
	return got.Hours
}

const year = 365 * 24 * time.Hour

// A dh/dt = −c √h: t = 2A (√h0 − √h1) / c (Torricelli).
func TestAnOrificeEmptiesABoxInTorricellisTime(t *testing.T) {
	box := stageOf(t, [2]float64{0, 5000}, [2]float64{4, 5000})
	for _, c := range []struct{ c, from, to float64 }{{0.02, 3, 1}, {0.02, 3, 0.01}, {0.5, 4, 2}, {0.001, 1, 0.9}} {
		b := &Balance{Stage: box, Draw: func(_, h float64) (float64, float64) { return c.c * math.Sqrt(math.Max(0, h)), 1 }}
		want := 2 * 5000 * (math.Sqrt(c.from) - math.Sqrt(c.to)) / c.c / 3600
		near(t, "Torricelli", down(t, b, c.from, c.to, 5*year), want, 1e-6*want)
	}
}

// With no more than 1e-9 of the volume a step, A dh/dt = −C L h^1.5 gives h = (h0^−½ + C L t / 2A)^−2.
func TestAWeirDrainsABoxByItsOwnLaw(t *testing.T) {
	box := stageOf(t, [2]float64{0, 20000}, [2]float64{4, 20000})
	b := &Balance{Stage: box, Weir: &Weir{CrestM: 1, LengthM: 3, Coefficient: 1.705}}
	for _, h := range []float64{0.5, 0.2, 0.05, 0.01} {
		want := (1/math.Sqrt(h) - 1/math.Sqrt(0.8)) * 2 * 20000 / (1.705 * 3) / 3600
		near(t, "weir", down(t, b, 1.8, 1+h, year), want, 1e-6*want)
	}
}

// A = k h: V = k h²/2, so that a constant draw takes t = k (h0² − h1²) / 2q.
func TestAConeLikeBowlEmptiesBySquares(t *testing.T) {
	bowl := stageOf(t, [2]float64{0, 0}, [2]float64{3, 9000})
	b := &Balance{Stage: bowl, Draw: constant(0.03)}
	for _, c := range [][2]float64{{3, 0}, {3, 1}, {2, 0.5}, {0.2, 0.1}} {
		want := 3000 * (c[0]*c[0] - c[1]*c[1]) / (2 * 0.03) / 3600
		near(t, "hours", down(t, b, c[0], c[1], year), want, 1e-6*want)
	}
}

// A machine at constant power draws q = P / (ρ g η h): A h dh = −c dt, so that t = A (h0² − h1²) / 2c. The flow rises as the
// head falls.
func TestConstantPowerDrawsMoreFromALowPond(t *testing.T) {
	box := stageOf(t, [2]float64{0, 8000}, [2]float64{10, 8000})
	const c = 3000 / (1000 * 9.80665 * 0.7) // 3 kW at 70 %
	b := &Balance{Stage: box, Draw: func(_, h float64) (float64, float64) { return c / h, 3 }}
	want := 8000 * (100 - 4) / (2 * c) / 3600
	got, err := Drawdown(context.Background(), b, 10, Limits{StopM: 2, Horizon: 5 * year})
	if err != nil || !got.Reached {
		t.Fatalf("%+v, %v", got, err)
	}
	near(t, "hours", got.Hours, want, 1e-6*want)
	near(t, "energy at 3 kW", got.Totals.EnergyKWh, 3*want, 1e-5*want)
}

// q = q0 e^(−t/τ): the pond falls by D t − q0 τ (1 − e^(−t/τ)).
func TestARecedingInflowIsCountedExactly(t *testing.T) {
	box := stageOf(t, [2]float64{0, 50000}, [2]float64{2, 50000})
	const q0, tau, draw = 0.06, 12 * 86400.0, 0.08
	b := &Balance{Stage: box, Draw: constant(draw), InflowM3s: func(s float64) float64 { return q0 * math.Exp(-s/tau) }}
	got, err := Drawdown(context.Background(), b, 2, Limits{StopM: 0, Horizon: 10 * 24 * time.Hour})
	if err != nil {
		t.Fatal(err)
	}
	const end = 10 * 86400.0
	in := q0 * tau * (1 - math.Exp(-end/tau))
	near(t, "inflow", got.Totals.InflowM3, in, 1e-6*in)
	near(t, "level", got.EndM, 2-(draw*end-in)/50000, 1e-8)
}

// Evaporation takes e·A whatever the area is, so that the level falls at e: dV = A dh = −e A dt.
func TestEvaporationLowersEveryPondAtItsOwnRate(t *testing.T) {
	for name, rows := range map[string][][2]float64{
		"box": {{0, 5000}, {3, 5000}}, "bowl": {{0, 0}, {3, 9000}}, "bends": {{0, 100}, {1, 4000}, {1.1, 9000}, {3, 9100}},
	} {
		b := &Balance{Stage: stageOf(t, rows...), Start: time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC), EvaporationMMDay: &[12]float64{5, 5, 5, 5, 5, 5, 5, 5, 5, 5, 5, 5}}
		near(t, name, down(t, b, 2.5, 1.7, year), 0.8/0.005*24, 1e-5)
	}
}

// With a constant inflow the pond settles where the weir passes it: h = (q / C L)^⅔.
func TestAFullPondSettlesWhereTheWeirPassesTheInflow(t *testing.T) {
	box := stageOf(t, [2]float64{0, 2000}, [2]float64{4, 2000})
	for _, q := range []float64{0.01, 0.1, 1} {
		b := &Balance{Stage: box, InflowM3s: func(float64) float64 { return q }, Weir: &Weir{CrestM: 2, LengthM: 4, Coefficient: 1.7}}
		got, err := Drawdown(context.Background(), b, 1.9, Limits{StopM: 0, Horizon: 60 * 24 * time.Hour})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "level", got.EndM, 2+math.Pow(q/(4*1.7), 2.0/3), 1e-6)
	}
}

// Twice every flow takes half the time; the same pond a hundred metres higher takes the same.
func TestTimesScaleWithTheFlowsAndNotWithTheDatum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a0, a1 := rapid.Float64Range(500, 20000).Draw(t, "area"), rapid.Float64Range(500, 20000).Draw(t, "area above")
		q, in := rapid.Float64Range(0.02, 0.3).Draw(t, "draw"), rapid.Float64Range(0, 0.015).Draw(t, "inflow")
		hours := func(by, lift float64) float64 {
			s, err := NewStage(tableOf([][2]float64{{lift, a0}, {lift + 3, a1}}))
			if err != nil {
				t.Fatal(err)
			}
			b := &Balance{Stage: s, Draw: constant(q * by), InflowM3s: func(float64) float64 { return in * by }}
			got, err := Drawdown(context.Background(), b, lift+2.7, Limits{StopM: lift + 0.3, Horizon: 5 * year})
			if err != nil || !got.Reached {
				t.Fatalf("%+v, %v", got, err)
			}
			return got.Hours
		}
		one := hours(1, 0)
		if two := hours(2, 0); math.Abs(2*two-one) > 1e-6*one {
			t.Fatalf("twice the flows: %g h, once: %g h", two, one)
		}
		if high := hours(1, 100); math.Abs(high-one) > 1e-6*one {
			t.Fatalf("a hundred metres higher: %g h, at nothing: %g h", high, one)
		}
	})
}

// euler is the slowest way there is: small steps of the balance itself.
func euler(b *Balance, levelM, stopM, horizon, step float64) float64 {
	v, stop := b.Stage.VolumeM3(levelM), b.Stage.VolumeM3(stopM)
	for s := 0.0; s < horizon; s += step {
		next := v + step*b.FlowsAt(s, b.Stage.LevelM(v)).NetM3s()
		if next <= stop {
			return (s + step*(v-stop)/(v-next)) / 3600
		}
		v = next
	}
	return math.Inf(1)
}

func TestDrawdownAgreesWithSmallSteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, err := NewStage(tableOf([][2]float64{{0, rapid.Float64Range(1000, 5000).Draw(t, "a0")}, {1, rapid.Float64Range(1000, 9000).Draw(t, "a1")}, {2, rapid.Float64Range(1000, 9000).Draw(t, "a2")}}))
		if err != nil {
			t.Fatal(err)
		}
		in, out := rapid.Float64Range(0, 0.05).Draw(t, "inflow"), rapid.Float64Range(0.01, 0.1).Draw(t, "draw")
		b := &Balance{Stage: s, Start: time.Date(2026, 5, 20, 0, 0, 0, 0, time.UTC), Draw: func(_, h float64) (float64, float64) { return out * (1 + 0.2*h), 1 },
			InflowM3s:        func(at float64) float64 { return in * math.Exp(-at/5e5) },
			BypassM3s:        func(_, _ float64) float64 { return 0.002 },
			SeepageM3s:       func(h float64) float64 { return 0.001 * math.Max(0, h) },
			EvaporationMMDay: &[12]float64{4: 3, 5: 4, 6: 5}, Weir: &Weir{CrestM: 1.6, LengthM: 1, Coefficient: 1.7}}
		got, err := Drawdown(context.Background(), b, 1.8, Limits{StopM: 0.2, Horizon: 200 * time.Hour})
		if err != nil {
			t.Fatal(err)
		}
		slow := euler(b, 1.8, 0.2, 200*3600, 60)
		if got.Reached != !math.IsInf(slow, 1) && math.Abs(got.EndM-0.2) > 0.01 {
			t.Fatalf("reached %v at %g h, small steps say %g h", got.Reached, got.Hours, slow)
		}
		if got.Reached && !math.IsInf(slow, 1) && math.Abs(got.Hours-slow) > 0.004*slow+0.05 {
			t.Fatalf("%g h, small steps say %g h", got.Hours, slow)
		}
	})
}

// By hand: on 10 000 m² at 1 m, 4 mm/day of evaporation are 40 m³ a day, 0.00046296 m³/s; 8.64 mm/day of rain are 0.001 m³/s;
// 0.25 m over the crest pass 1.7 · 2 · 0.125 = 0.425 m³/s.
func TestThePartsOfTheBalanceByHand(t *testing.T) {
	b := &Balance{Stage: stageOf(t, [2]float64{0, 10000}, [2]float64{2, 10000}), Start: time.Date(2026, 6, 30, 12, 0, 0, 0, time.UTC),
		InflowM3s: func(s float64) float64 { return 0.05 + s }, Draw: func(s, h float64) (float64, float64) { return 0.03 * h, 2.5 },
		BypassM3s: func(_, _ float64) float64 { return 0.006 }, SeepageM3s: func(h float64) float64 { return 0.0015 * h },
		EvaporationMMDay: &[12]float64{5: 4, 6: 8}, RainMMDay: func(float64) float64 { return 8.64 }, Weir: &Weir{CrestM: 0.75, LengthM: 2, Coefficient: 1.7}}
	f := b.FlowsAt(0, 1)
	for what, pair := range map[string][2]float64{
		"inflow": {f.InflowM3s, 0.05}, "draw": {f.DrawM3s, 0.03}, "bypass": {f.BypassM3s, 0.006}, "seepage": {f.SeepageM3s, 0.0015},
		"evaporation": {f.EvaporationM3s, 40.0 / 86400}, "rain": {f.RainM3s, 0.001}, "spill": {f.SpillM3s, 0.425}, "power": {f.KW, 2.5},
		"net": {f.NetM3s(), 0.05 + 0.001 - 0.03 - 0.006 - 0.0015 - 40.0/86400 - 0.425},
	} {
		near(t, what, pair[0], pair[1], 1e-12)
	}
	near(t, "evaporation in July", b.FlowsAt(86400, 1).EvaporationM3s, 80.0/86400, 1e-12)
	near(t, "spill at the crest", b.FlowsAt(0, 0.75).SpillM3s, 0, 0)
	near(t, "spill below it", b.FlowsAt(0, 0.5).SpillM3s, 0, 0)
	b.IceCover = func(float64) bool { return true }
	near(t, "evaporation under ice", b.FlowsAt(0, 1).EvaporationM3s, 0, 0)
	near(t, "rain on ice", b.FlowsAt(0, 1).RainM3s, 0.001, 1e-12)
	if n := (&Balance{Stage: b.Stage}).FlowsAt(0, 1).NetM3s(); n != 0 {
		t.Errorf("a balance without flows gains %g m³/s", n)
	}
}

// A pond that is filled for ten hours and emptied for twenty passes half its rise twice; worked by hand on 3600 m²: 0.1 m³/s
// is 0.1 m an hour.
func TestWatchedLevelsArePassedInTheirOrder(t *testing.T) {
	b := &Balance{Stage: stageOf(t, [2]float64{0, 3600}, [2]float64{9, 3600}), Breaks: []float64{36000},
		InflowM3s: func(s float64) float64 {
			if s < 36000 {
				return 0.1
			}
			return 0
		},
		BypassM3s: func(s, _ float64) float64 {
			if s < 36000 {
				return 0
			}
			return 0.1
		}}
	got, err := Drawdown(context.Background(), b, 1, Limits{StopM: 0.5, Horizon: 30 * time.Hour, Watch: []float64{0.75, 1.5, 1.25, 5}})
	if err != nil {
		t.Fatal(err)
	}
	want := []Crossing{{1.25, 2.5, true}, {1.5, 5, true}, {0.75, 22.5, false}}
	if len(got.Crossings) != len(want) {
		t.Fatalf("crossings %+v, want %+v", got.Crossings, want)
	}
	for i, w := range want {
		g := got.Crossings[i]
		if g.LevelM != w.LevelM || g.Rising != w.Rising || math.Abs(g.Hours-w.Hours) > 1e-6 {
			t.Errorf("crossing %d: %+v, want %+v", i, g, w)
		}
	}
	near(t, "stop", got.Hours, 25, 1e-6)
	near(t, "filled", got.Totals.InflowM3, 3600, 1e-6)
	near(t, "let out", got.Totals.BypassM3, 5400, 1e-6)
}

// The curve has its points where they were asked for, its levels lie on the exact line, and it ends before the stop.
func TestTheCurveLiesOnTheDrawdown(t *testing.T) {
	b := &Balance{Stage: stageOf(t, [2]float64{0, 0}, [2]float64{3, 9000}), Draw: constant(0.03)}
	got, err := Drawdown(context.Background(), b, 3, Limits{StopM: 1, Horizon: year, Every: 7 * time.Hour})
	if err != nil {
		t.Fatal(err)
	}
	if n := int(got.Hours/7) + 1; len(got.Curve) != n {
		t.Fatalf("%d points, want %d", len(got.Curve), n)
	}
	for i, p := range got.Curve {
		near(t, "time", p.Hours, 7*float64(i), 1e-9)
		near(t, "level", p.LevelM, math.Sqrt(9-2*0.03*3600*p.Hours/3000), 1e-7)
	}
}
