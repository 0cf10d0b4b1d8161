package steady

import (
	"errors"
	"math"
	"testing"

	"example.org/headpond/model/plant"

	"pgregory.net/rapid"
)

func curveOf(t testing.TB, m *Model, c Case, kw float64) *SpeedCurve {
	t.Helper()
	k, err := m.SpeedCurve(c, kw)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

// From the second implementation (solve_test.go), both units at a full pond, scaled to 8.4 kW: where 8 and 6 kW are taken at any
// speed, 6 kW by the square of it, and where 9 kW by the square of it are asked for.
func TestSettlingAgreesWithASecondImplementation(t *testing.T) {
	k := curveOf(t, modelOf(t, ternHollow()), Case{Running: []string{"A", "B"}}, 8.4)
	held := func(kw float64) func(float64) float64 { return func(float64) float64 { return kw } }
	follows := func(kw float64) func(float64) float64 { return func(n float64) float64 { return kw * n * n } }
	near(t, "rated", k.Power(1), 8.4, 1e-9)
	near(t, "8 kW held", 60*k.SettleAbove(held(8)), 65.802210207, 1e-5)
	near(t, "6 kW held", 60*k.SettleAbove(held(6)), 76.636565833, 1e-5)
	near(t, "6 kW follows", 60*k.SettleAbove(follows(6)), 68.073940446, 1e-5)
	n, ok := k.SettleBelow(follows(9), Slowest)
	near(t, "9 kW follows", 60*n, 58.109132435, 1e-5)
	if !ok {
		t.Error("a load that follows the speed always has a balance")
	}
	alone := curveOf(t, modelOf(t, ternHollow()), Case{Running: []string{"A"}}, 0)
	near(t, "runaway of A", 60*alone.Runaway(), 91.943513274, 2e-3)
	near(t, "nothing takes the power", alone.SettleAbove(held(0)), alone.Runaway(), 1e-6)
}

// model.md: next to no reserve below rated speed, about 1 %. From the second implementation at the stop level: A gives 5.68461 kW at
// 0.942 of rated speed, 5.63539 at rated; both 7.74594 at 0.924 and 7.62835.
func TestReserveBelowRatedSpeedIsSmall(t *testing.T) {
	m := modelOf(t, ternHollow())
	n, kw := curveOf(t, m, Case{PondLevelM: -0.85, Running: []string{"A"}}, 0).Reserve()
	near(t, "A's speed", n, 0.942, 0.002)
	near(t, "A's power", kw, 5.68461, 0.0001)
	n, kw = curveOf(t, m, Case{PondLevelM: -0.85, Running: []string{"A", "B"}}, 0).Reserve()
	near(t, "both's speed", n, 0.924, 0.002)
	near(t, "both's power", kw, 7.74594, 0.0001)
	high := ternHollow()
	high.Units[0].BestHeadM = 9 // far more head than best: power only rises towards rated speed
	if n, kw = curveOf(t, modelOf(t, high), Case{Running: []string{"A"}}, 0).Reserve(); n != 1 {
		t.Errorf("reserve at speed %g (%g kW); expected none below 1", n, kw)
	}
}

func TestCollapseBeyondTheReserve(t *testing.T) {
	k := curveOf(t, modelOf(t, ternHollow()), Case{PondLevelM: -0.85, Running: []string{"A"}}, 0)
	if _, ok := k.SettleBelow(func(float64) float64 { return 5.70 }, Slowest); ok {
		t.Error("5.70 kW is beyond the reserve of 5.685 kW and has no balance")
	}
	n, ok := k.SettleBelow(func(float64) float64 { return 5.66 }, Slowest)
	if !ok || n < 0.942 || n > 1 {
		t.Errorf("5.66 kW is within the reserve: speed %g, %v", n, ok)
	}
	near(t, "balance", k.Power(n), 5.66, 1e-8)
	if n, ok := k.SettleBelow(func(float64) float64 { return 1 }, Slowest); n != 1 || !ok {
		t.Errorf("a load that is met settles at %g", n)
	}
}

// By hand for a table with R = 1.5: P(n) = P1 n (1.5 − n)/0.5. Half the power is met where n (1.5 − n) = 0.25: n = 1.309017. A
// quarter more load that follows the speed, with no reserve below: n² = 1/1.25, n = 0.894427; a held one collapses.
func TestMeasuredTableSettlesByHand(t *testing.T) {
	p := ternHollow()
	p.Units[0].Curve = []plant.CurveRow{{NetHeadM: 12, FlowLps: 72, KWElectric: 4.5}, {NetHeadM: 15, FlowLps: 80, KWElectric: 6}}
	k := curveOf(t, modelOf(t, p), Case{Running: []string{"A"}}, 4)
	near(t, "half rejected", k.SettleAbove(func(float64) float64 { return 2 }), 1.309017, 1e-6)
	n, ok := k.SettleBelow(func(n float64) float64 { return 5 * n * n }, Slowest)
	near(t, "overload that follows", n, 0.894427, 1e-6)
	if !ok {
		t.Error("a load that follows the speed always has a balance")
	}
	if _, ok := k.SettleBelow(func(float64) float64 { return 4.01 }, Slowest); ok {
		t.Error("a measured machine has no reserve below rated speed")
	}
	near(t, "runaway", k.Runaway(), 1.5, 1e-6)
}

func TestNoPowerNoCurve(t *testing.T) {
	m := modelOf(t, ternHollow())
	if _, err := m.SpeedCurve(Case{}, 5); !errors.Is(err, ErrNoPower) {
		t.Errorf("nothing runs: %v", err)
	}
	if _, err := m.SpeedCurve(Case{PondLevelM: math.NaN()}, 5); err == nil {
		t.Error("no number for a level was accepted")
	}
}

// On any plant: where it settles the powers balance, above rated speed for too little demand and below it for too much, and
// less ballast means more speed.
func TestSettledSpeedsBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := randomPlant(t)
		for i := range p.Units {
			p.Units[i].Bus = "common"
		}
		m := mustModel(t, p)
		k, err := m.SpeedCurve(Case{Running: p.UnitIDs()}, rapid.Float64Range(0.5, 20).Draw(t, "kW"))
		if errors.Is(err, ErrNoPower) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		at := k.Power(1)
		takes := at * rapid.Float64Range(0.05, 0.999).Draw(t, "share taken")
		follow := rapid.Bool().Draw(t, "follows the speed")
		demand := func(kw float64) func(float64) float64 {
			return func(n float64) float64 {
				if follow {
					return kw * n * n
				}
				return kw
			}
		}
		n := k.SettleAbove(demand(takes))
		if n < 1 || n > k.most*(1+1e-9) || math.IsNaN(n) {
			t.Fatalf("settles at %g", n)
		}
		if off := k.Power(n) - demand(takes)(n); math.Abs(off) > 1e-6*at {
			t.Fatalf("at speed %g the power is %g kW off its balance", n, off)
		}
		if less := k.SettleAbove(demand(takes / 2)); less < n-1e-9 {
			t.Fatalf("less ballast settles at %g instead of %g", less, n)
		}
		over := at * rapid.Float64Range(1.0001, 3).Draw(t, "overload")
		m2, ok := k.SettleBelow(demand(over), Slowest)
		if follow && !ok {
			t.Fatal("a load that follows the speed has no balance")
		}
		if ok && (m2 > 1 || math.Abs(k.Power(m2)-demand(over)(m2)) > 1e-6*at) {
			t.Fatalf("overload %g kW settles at %g with %g kW", over, m2, k.Power(m2))
		}
	})
}
