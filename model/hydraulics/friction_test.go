package hydraulics

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestColebrookSolvesItsEquation(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		re := math.Exp(rapid.Float64Range(math.Log(TurbulentRe), math.Log(1e9)).Draw(t, "ln Re"))
		eps := rapid.Float64Range(0, 0.05).Draw(t, "ε/D")
		f := Colebrook(re, eps)
		left := 1 / math.Sqrt(f)
		right := -2 * math.Log10(eps/3.7+2.51/(re*math.Sqrt(f)))
		if math.Abs(left-right) > 1e-11*left {
			t.Fatalf("Re %g, ε/D %g: f %g gives %.15g = %.15g", re, eps, f, left, right)
		}
	})
}

// The published range of the approximation, and its stated accuracy of about 3 %.
func TestSwameeJainIsNearColebrook(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		re := math.Exp(rapid.Float64Range(math.Log(5e3), math.Log(1e8)).Draw(t, "ln Re"))
		eps := math.Exp(rapid.Float64Range(math.Log(1e-6), math.Log(5e-2)).Draw(t, "ln ε/D"))
		a, b := SwameeJain(re, eps), Colebrook(re, eps)
		if math.Abs(a/b-1) > 0.035 {
			t.Fatalf("Re %g, ε/D %g: %g and %g", re, eps, a, b)
		}
	})
}

func TestFrictionIsContinuousAtTheEdgesOfTheTransition(t *testing.T) {
	for _, eps := range []float64{0, 1e-5, 1e-3, 0.05} {
		for _, re := range []float64{LaminarRe, TurbulentRe} {
			below, above := FrictionFactor(re*(1-1e-9), eps), FrictionFactor(re*(1+1e-9), eps)
			if math.Abs(above/below-1) > 1e-6 {
				t.Errorf("ε/D %g: f jumps from %g to %g at Re %g", eps, below, above, re)
			}
		}
	}
}

func TestFrictionFactorKnowsItsRegimes(t *testing.T) {
	near(t, "laminar", FrictionFactor(1000, 0.01), 0.064, 1e-15)
	near(t, "at rest", FrictionFactor(0, 0.01), 0, 0)
	near(t, "not a number", FrictionFactor(math.NaN(), 0.01), 0, 0)
	// Completely rough pipe, where Colebrook turns into von Kármán's 1/√f = −2 log10(ε/3.7D): 0.0379 at ε/D 0.01.
	near(t, "rough", FrictionFactor(1e12, 0.01), 0.0379, 0.00005)
}

func TestLossRisesWithFlow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.Float64Range(0.02, 2).Draw(t, "D")
		eps := rapid.Float64Range(0, 0.04).Draw(t, "ε/D") * d
		nu := rapid.Float64Range(5e-7, 2e-6).Draw(t, "ν")
		// Around the transition, where a careless blend would fall.
		re := math.Exp(rapid.Float64Range(math.Log(100), math.Log(1e7)).Draw(t, "ln Re"))
		q := re * nu * math.Pi * d / 4
		step := 1 + rapid.Float64Range(1e-4, 1).Draw(t, "step")
		a, b := FrictionLoss(q, 100, d, eps, nu), FrictionLoss(q*step, 100, d, eps, nu)
		if !(b > a) {
			t.Fatalf("Re %g: %g m, but %g m at %g times the flow", re, a, b, step)
		}
	})
}

func TestLossIsTheSameBothWays(t *testing.T) {
	near(t, "friction", FrictionLoss(-0.05, 100, 0.2, 1e-4, 1e-6), FrictionLoss(0.05, 100, 0.2, 1e-4, 1e-6), 0)
	near(t, "no flow", FrictionLoss(0, 100, 0.2, 1e-4, 1e-6), 0, 0)
}

// Poiseuille's law for laminar flow, Δh = 128 ν L Q / (π g D⁴): another way to the same number.
func TestLaminarLossIsPoiseuilles(t *testing.T) {
	const q, l, d, nu = 5e-5, 30.0, 0.05, 1.3e-6
	want := 128 * nu * l * q / (math.Pi * Gravity * math.Pow(d, 4))
	near(t, "loss", FrictionLoss(q, l, d, 1e-4, nu), want, 1e-12*want)
}

// By hand: 0.0785398 m³/s in 0.316228 m is 1 m/s, whose velocity head is 1/(2·9.80665) = 0.0509858 m.
func TestMinorLossIsKVelocityHeads(t *testing.T) {
	near(t, "loss", MinorLoss(math.Pi/40, math.Sqrt(0.1), 2.5), 2.5*0.05098581, 1e-7)
}

// From any root nearby, or far, the factor is that of Colebrook's own start to about the last digit: the one is the other's reference.
func TestFrictionNearAFlowIsTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rough := rapid.SampledFrom([]float64{0, 1e-6, 1e-4, 0.01, 0.05}).Draw(t, "rough") * rapid.Float64Range(0.1, 1).Draw(t, "share")
		re := math.Exp(rapid.Float64Range(math.Log(10), math.Log(1e9)).Draw(t, "ln re"))
		want, root := FrictionFactorNear(re, rough, 0)
		if want != FrictionFactor(re, rough) {
			t.Fatalf("without a root: %g, expected %g", want, FrictionFactor(re, rough))
		}
		start := rapid.OneOf(rapid.Just(root), rapid.Float64Range(2, 30), rapid.Just(0.0)).Draw(t, "start")
		got, next := FrictionFactorNear(re, rough, start)
		if math.Abs(got/want-1) > 1e-13 {
			t.Fatalf("Re %g, roughness %g, from %g: %.17g, expected %.17g", re, rough, start, got, want)
		}
		if re > LaminarRe && math.Abs(next/root-1) > 1e-13 || re <= LaminarRe && next != start {
			t.Fatalf("the next root is %g, expected %g", next, root)
		}
	})
}

// A slow reference: Colebrook's equation by halving, which needs no derivative and no start.
func TestColebrookByHalving(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rough := rapid.Float64Range(0, 0.05).Draw(t, "rough")
		re := math.Exp(rapid.Float64Range(math.Log(TurbulentRe), math.Log(1e9)).Draw(t, "ln re"))
		lo, hi := 1.0, 100.0 // of x = 1/√f
		for range 200 {
			x := (lo + hi) / 2
			if x+2*math.Log10(rough/3.7+2.51*x/re) > 0 {
				hi = x
			} else {
				lo = x
			}
		}
		if got, want := Colebrook(re, rough), 1/(lo*lo); math.Abs(got/want-1) > 1e-12 {
			t.Fatalf("Re %g, roughness %g: %.17g, by halving %.17g", re, rough, got, want)
		}
	})
}
