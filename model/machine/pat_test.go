package machine

import (
	"math"
	"testing"

	"example.org/headpond/model/hydraulics"
	"example.org/headpond/model/plant"

	"pgregory.net/rapid"
)

// pump is unit A of the design's example plant.
func pump(t interface {
	Helper()
	Fatal(...any)
}) *Machine {
	t.Helper()
	m, err := New(plant.Unit{ID: "A", BestFlowLps: 76, BestHeadM: 13.1, BestEfficiency: 0.68, GeneratorEfficiency: 0.86})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

const rho = 999.702 // water at 10 °C

// By hand: at best head and rated speed the flow is the best flow, and P = ρ g Q H η = 999.702·9.80665·0.076·13.1·0.68
// = 6637.20 W at the shaft.
func TestBestPointByHand(t *testing.T) {
	p := pump(t).At(13.1, 1, rho)
	near(t, "flow", p.FlowM3s, 0.076, 1e-12)
	near(t, "shaft power", p.ShaftW, 6637.20, 0.01)
	near(t, "relative flow", p.Relative, 1, 1e-12)
	if p.Flags != 0 || p.Speed != 1 {
		t.Errorf("flags %b at speed %g; expected none at 1", p.Flags, p.Speed)
	}
}

// Ratios to the best point that references.md item 4 gives (computed from the published polynomials, there not divided by their
// value at 1): q 0.6 → 0.5735/1.0129 and 0.2195/0.9967.
func TestPartLoadPointOfReferences(t *testing.T) {
	p := pump(t).At(13.1*0.5735/1.0129, 1, rho)
	near(t, "q", p.Relative, 0.6, 0.0002)
	near(t, "power share", p.ShaftW/6637.20, 0.2195/0.9967, 0.0003)
}

// model.md: runaway at best head is n = 1.47; at n/q of the foot the power is nothing, and the flow 0.378 n of the best.
func TestSlowsDownAtTheFootOfItsCurve(t *testing.T) {
	m := pump(t)
	near(t, "runaway at best head", m.Runaway(13.1), 1.47, 0.005)
	head := 13.1 * 0.4 // below 0.4656 of best head rated speed cannot be held
	p := m.At(head, 1, rho)
	n := math.Sqrt(0.4 * 1.0129 / 0.4716372) // √(H h(1) / (Hb h(0.378))), h(0.378) = 0.4716372 by hand
	near(t, "speed", p.Speed, n, 1e-6)
	near(t, "flow", p.FlowM3s, 0.378*n*0.076, 1e-8)
	if p.ShaftW != 0 || p.Flags&TooSlow == 0 {
		t.Errorf("gives %g W with flags %b; expected nothing, too slow", p.ShaftW, p.Flags)
	}
}

func TestFlowIsContinuousAtTheFoot(t *testing.T) {
	m := pump(t)
	foot := 13.1 * HeadRatio(FootQ)
	below, above := m.At(foot*(1-1e-9), 1, rho), m.At(foot*(1+1e-9), 1, rho)
	near(t, "flow", above.FlowM3s, below.FlowM3s, 1e-9)
	near(t, "power", above.ShaftW, below.ShaftW, 1e-4) // though p(0.378) is 0.0002 of the best power, 1.4 W
	near(t, "power at the edge of the trusted range", PowerRatio(LowQ-1e-12), PowerRatio(LowQ), 1e-9)
}

func TestNoHeadNoFlow(t *testing.T) {
	m := pump(t)
	for _, h := range []float64{0, -3, math.NaN()} {
		if p := m.At(h, 1, rho); p.FlowM3s != 0 || p.ShaftW != 0 || p.Flags&TooSlow == 0 {
			t.Errorf("head %g: %+v", h, p)
		}
		if q := m.FlowAt(h, 1); q != 0 {
			t.Errorf("head %g: flow %g", h, q)
		}
	}
}

func TestAffinityLaws(t *testing.T) {
	m := pump(t)
	rapid.Check(t, func(t *rapid.T) {
		head := rapid.Float64Range(7, 30).Draw(t, "head")
		n := rapid.Float64Range(0.3, 2).Draw(t, "speed")
		a, b := m.At(head, 1, rho), m.At(head*n*n, n, rho)
		q, _, p := Affinity(a.FlowM3s, head, a.ShaftW, n)
		if math.Abs(b.FlowM3s-q) > 1e-9*q || math.Abs(b.ShaftW-p) > 1e-9*p {
			t.Fatalf("flow %g, expected %g; power %g, expected %g", b.FlowM3s, q, b.ShaftW, p)
		}
	})
}

// No machine gives more than the water brings, and the best point is the best.
func TestEfficiencyIsNeverAboveTheBest(t *testing.T) {
	m := pump(t)
	rapid.Check(t, func(t *rapid.T) {
		head := math.Exp(rapid.Float64Range(math.Log(0.01), math.Log(2000)).Draw(t, "ln head"))
		n := rapid.Float64Range(0.05, 3).Draw(t, "speed")
		p := m.At(head, n, rho)
		water := rho * hydraulics.Gravity * p.FlowM3s * head
		if p.ShaftW < 0 || p.ShaftW > 0.6801*water {
			t.Fatalf("at %g m, speed %g: %g W of the water's %g W", head, n, p.ShaftW, water)
		}
	})
}

func TestFlowAndPowerRiseWithHead(t *testing.T) {
	m := pump(t)
	rapid.Check(t, func(t *rapid.T) {
		h := rapid.Float64Range(0, 300).Draw(t, "head")
		n := rapid.Float64Range(0.2, 2).Draw(t, "speed")
		step := rapid.Float64Range(1e-3, 50).Draw(t, "step")
		a, b := m.At(h, n, rho), m.At(h+step, n, rho)
		if !(b.FlowM3s > a.FlowM3s) || b.ShaftW < a.ShaftW {
			t.Fatalf("%g m: %+v; %g m: %+v", h, a, h+step, b)
		}
		if got := m.FlowAt(h, n); math.Abs(got-a.FlowM3s) > 1e-15 {
			t.Fatalf("FlowAt gives %g, At %g", got, a.FlowM3s)
		}
	})
}

func TestFlowRatioIsTheInverseOfHeadRatio(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := rapid.Float64Range(FootQ, 10).Draw(t, "q")
		back, holds := FlowRatio(HeadRatio(q))
		if math.Abs(back-q) > 1e-7 || (!holds && q > FootQ+1e-9) {
			t.Fatalf("q %g comes back as %g (%v)", q, back, holds)
		}
	})
}

// Far beyond the measured range torque stays in proportion to head: the join must not show, and stallQ must be where the torque
// for its head is greatest.
func TestTorqueBeyondTheMeasuredRange(t *testing.T) {
	near(t, "join", PowerRatio(stallQ*(1+1e-12)), PowerRatio(stallQ), 1e-9)
	torque := func(q float64) float64 { return powerPoly(q) / headPoly(q) }
	if !(torque(stallQ) > torque(stallQ-1e-3) && torque(stallQ) > torque(stallQ+1e-3)) {
		t.Errorf("torque for its head is not greatest at %g", stallQ)
	}
	if !(PowerRatio(100) > PowerRatio(50)) {
		t.Error("power falls as the head rises")
	}
}

// At the runaway speed of a head there is no power, and just below it there is.
func TestRunawayIsWherePowerEnds(t *testing.T) {
	m := pump(t)
	rapid.Check(t, func(t *rapid.T) {
		head := rapid.Float64Range(1, 100).Draw(t, "head")
		n := m.Runaway(head)
		if p := m.At(head, n*(1+1e-9), rho); p.ShaftW != 0 {
			t.Fatalf("%g W above runaway", p.ShaftW)
		}
		if p := m.At(head, n*0.99, rho); !(p.ShaftW > 0) {
			t.Fatalf("%g W just below runaway", p.ShaftW)
		}
	})
	near(t, "no head", m.Runaway(0), 0, 0)
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.9g, expected %.9g ± %g", what, got, want, tolerance)
	}
}
