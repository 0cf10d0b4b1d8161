package steady

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Roots that are known: x³ = 2, e^x = 3, cos x = x (0.7390851332151607, the Dottie number, OEIS A003957, from memory).
func TestRootFindsKnownRoots(t *testing.T) {
	cases := []struct {
		name   string
		f      func(float64) float64
		lo, hi float64
		want   float64
	}{
		{"cube root of 2", func(x float64) float64 { return 2 - x*x*x }, 0, 2, math.Cbrt(2)},
		{"ln 3", func(x float64) float64 { return 3 - math.Exp(x) }, -10, 10, math.Log(3)},
		{"cos x = x", func(x float64) float64 { return math.Cos(x) - x }, 0, 1, 0.7390851332151607},
		{"a straight line", func(x float64) float64 { return 1 - 4*x }, -3, 100, 0.25},
		{"a very steep one", func(x float64) float64 { return 1e-9 - math.Pow(x, 9) }, 0, 1, 0.1},
	}
	for _, c := range cases {
		got := root(c.f, c.lo, c.f(c.lo), c.hi, c.f(c.hi), 0)
		near(t, c.name, got, c.want, 1e-12*(1+math.Abs(c.want)))
	}
}

func TestRootAtAnEndOfItsBracket(t *testing.T) {
	calls := 0
	f := func(x float64) float64 { calls++; return -x }
	near(t, "at the low end", root(f, 0, 0, 1, -1, 0), 0, 0)
	near(t, "at the high end", root(f, -1, 1, 0, 0, 0), 0, 0)
	if calls != 0 {
		t.Errorf("%d needless evaluations", calls)
	}
}

// Falling functions of all shapes, steps and corners among them: the root is found, within few evaluations.
func TestRootOfAnyFallingFunction(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := rapid.Float64Range(-100, 100).Draw(t, "root")
		power := rapid.Float64Range(0.2, 7).Draw(t, "power")
		below := math.Exp(rapid.Float64Range(-12, 12).Draw(t, "ln slope below"))
		above := math.Exp(rapid.Float64Range(-12, 12).Draw(t, "ln slope above"))
		step := rapid.SampledFrom([]float64{0, 0, 1, 1e6}).Draw(t, "step")
		calls := 0
		f := func(x float64) float64 {
			calls++
			d := x - want
			if d < 0 {
				return below*math.Pow(-d, power) + step
			}
			return -above*math.Pow(d, power) - step
		}
		lo, hi := want-rapid.Float64Range(1e-3, 1e3).Draw(t, "left"), want+rapid.Float64Range(1e-3, 1e3).Draw(t, "right")
		got := root(f, lo, f(lo), hi, f(hi), 0)
		// Where the function is flat at its root, values below rounding end the search early.
		near := 1e-11 * (1 + math.Abs(want))
		if power > 1 {
			near = math.Max(near, math.Pow(1e-300/math.Min(below, above), 1/power))
		}
		if math.Abs(got-want) > near || calls > rootSteps+2 {
			t.Fatalf("root %g found at %g after %d evaluations", want, got, calls)
		}
	})
}

// By hand: fed(q) = 6/(1+q) balances at q = 2.
func TestBalanceFromAnyGuess(t *testing.T) {
	for _, guess := range []float64{1e-6, 0.5, 2, 3, 1e3} {
		near(t, "balance", balance(func(q float64) float64 { return 6 / (1 + q) }, guess), 2, 1e-11)
	}
	near(t, "nothing is fed", balance(func(float64) float64 { return 0 }, 1), 0, 1e-11)
}

// By hand: −(x−0.3)² is greatest at 0.3.
func TestPeak(t *testing.T) {
	near(t, "within", peak(func(x float64) float64 { return -(x - 0.3) * (x - 0.3) }, 0, 1), 0.3, 1e-6)
	near(t, "at the end", peak(func(x float64) float64 { return x }, 0, 1), 1, 1e-6)
}
