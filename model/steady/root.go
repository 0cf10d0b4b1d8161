package steady

import "math"

// rootSteps bounds a search. Halving alone, which the method falls back on, needs about 60 steps from any bracket to reach
// rounding.
const rootSteps = 200

// root returns x in [lo, hi] with f(x) = 0 for a continuous, falling f with f(lo) ≥ 0 ≥ f(hi). It stops where |f| ≤ fTol or
// where the bracket is as narrow as rounding allows, and always ends, for the bracket only shrinks.
//
// The method is T. R. Chandrupatla's (Advances in Engineering Software 28 (1997) 145–149): inverse quadratic interpolation
// through the last three points where they allow it, and otherwise a halving.
func root(f func(float64) float64, lo, flo, hi, fhi, fTol float64) float64 {
	if !(flo > 0) {
		return lo
	}
	if !(fhi < 0) {
		return hi
	}
	// a is the newest end of the bracket, b its other end, c the point that a replaced.
	a, fa, b, fb := hi, fhi, lo, flo
	t := fa / (fa - fb) // the first point is the straight line's
	for range rootSteps {
		x := a + t*(b-a)
		fx := f(x)
		if math.Abs(fx) <= fTol {
			return x
		}
		c, fc := a, fa
		if (fx > 0) != (fa > 0) {
			c, fc, b, fb = b, fb, a, fa
		}
		a, fa = x, fx
		rounding := 2e-16 * (math.Abs(a) + math.Abs(b))
		if math.Abs(b-a) <= 2*rounding {
			break
		}
		t = step(a, fa, b, fb, c, fc)
		edge := rounding / math.Abs(b-a)
		t = min(max(t, edge), 1-edge)
	}
	if math.Abs(fa) < math.Abs(fb) {
		return a
	}
	return b
}

// step returns where to look next, as a share of the way from a to b: by inverse quadratic interpolation where the three points
// are shaped so that it can be trusted, else half way.
func step(a, fa, b, fb, c, fc float64) float64 {
	xi, phi := (a-b)/(c-b), (fa-fb)/(fc-fb)
	if phi*phi < xi && (1-phi)*(1-phi) < 1-xi {
		return fa/(fb-fa)*fc/(fb-fc) + (c-a)/(b-a)*fa/(fc-fa)*fb/(fc-fb)
	}
	return 0.5
}
