package steady

import "math"

// rootSteps bounds a search: bisection alone needs about 60 halvings to reach rounding from any bracket, and the guard
// below halves at least every fourth step.
const rootSteps = 250

// root returns x in [lo, hi] with f(x) = 0 for a continuous, falling f with f(lo) ≥ 0 ≥ f(hi). It stops where |f| ≤ fTol or
// where the bracket is as narrow as rounding allows. It is the method of Anderson and Björck (BIT 13 (1973) 253–264): the
// straight line through the bracket's ends, with the value at an end that stays put twice scaled down, and a halving whenever
// three steps have not halved the bracket. It always ends, for the bracket only shrinks.
func root(f func(float64) float64, lo, flo, hi, fhi, fTol float64) float64 {
	if !(flo > 0) {
		return lo
	}
	if !(fhi < 0) {
		return hi
	}
	width, since, side := hi-lo, 0, 0
	for range rootSteps {
		if hi-lo <= 4e-16*(math.Abs(lo)+math.Abs(hi)) {
			break
		}
		x := hi - fhi*(hi-lo)/(fhi-flo)
		if since >= 3 || !(x > lo && x < hi) {
			x = lo + (hi-lo)/2
			width, since = (hi-lo)/2, 0
		}
		fx := f(x)
		switch {
		case math.Abs(fx) <= fTol:
			return x
		case fx > 0:
			if side > 0 {
				fhi *= shrink(fx, flo)
			}
			lo, flo, side = x, fx, 1
		default:
			if side < 0 {
				flo *= shrink(fx, fhi)
			}
			hi, fhi, side = x, fx, -1
		}
		if since++; hi-lo <= width/2 {
			width, since = hi-lo, 0
		}
	}
	return lo + (hi-lo)/2
}

// shrink returns the factor for the value at the end that stays, after the other end's value went from old to now.
func shrink(now, old float64) float64 {
	if g := 1 - now/old; g > 0 {
		return g
	}
	return 0.5
}
