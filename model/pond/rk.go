package pond

import "math"

// The pair of J. R. Dormand and P. J. Prince, J. Comput. Appl. Math. 6 (1980) 19-26, orders 5 and 4, with the continuous
// extension of order 4 of E. Hairer, S. Nørsett and G. Wanner, Solving Ordinary Differential Equations I, II.6
// (coefficients from memory; the tests check the orders).
const (
	c2, c3, c4, c5 = 1.0 / 5, 3.0 / 10, 4.0 / 5, 8.0 / 9

	a21                     = 1.0 / 5
	a31, a32                = 3.0 / 40, 9.0 / 40
	a41, a42, a43           = 44.0 / 45, -56.0 / 15, 32.0 / 9
	a51, a52, a53, a54      = 19372.0 / 6561, -25360.0 / 2187, 64448.0 / 6561, -212.0 / 729
	a61, a62, a63, a64, a65 = 9017.0 / 3168, -355.0 / 33, 46732.0 / 5247, 49.0 / 176, -5103.0 / 18656
	b1, b3, b4, b5, b6      = 35.0 / 384, 500.0 / 1113, 125.0 / 192, -2187.0 / 6784, 11.0 / 84

	e1, e3, e4, e5, e6, e7 = 71.0 / 57600, -71.0 / 16695, 71.0 / 1920, -17253.0 / 339200, 22.0 / 525, -1.0 / 40

	d1, d3, d4 = -12715105075.0 / 11282082432, 87487479700.0 / 32700410799, -10690763975.0 / 1880347072
	d5, d6, d7 = 701980252875.0 / 199316789632, -1453857185.0 / 822651844, 69997945.0 / 29380423
)

// width is the number of quantities that are integrated together: the volume, which steers the step, and the totals that
// follow it.
const width = 9

type vector [width]float64

// derivative returns how fast each quantity changes, s seconds after the start.
type derivative func(s float64, y vector) vector

// step is one accepted step with its dense output.
type step struct {
	s, h             float64
	y, end           vector
	slope            vector // derivative at the end, first stage of the next step
	r3, r4, r5, diff vector
}

// at returns the solution at a share of the step, 0 to 1.
func (t *step) at(share float64) vector {
	var y vector
	for i := range y {
		y[i] = t.volumeLike(i, share)
	}
	return y
}

func (t *step) volumeLike(i int, x float64) float64 {
	return t.y[i] + x*(t.diff[i]+(1-x)*(t.r3[i]+x*(t.r4[i]+(1-x)*t.r5[i])))
}

// try makes one step from y with slope k1 and returns it with the error estimate of the first quantity.
func try(f derivative, s, h float64, y, k1 vector) (step, float64) {
	var y2, y3, y4, y5, y6, end vector
	for i := range y {
		y2[i] = y[i] + h*a21*k1[i]
	}
	k2 := f(s+c2*h, y2)
	for i := range y {
		y3[i] = y[i] + h*(a31*k1[i]+a32*k2[i])
	}
	k3 := f(s+c3*h, y3)
	for i := range y {
		y4[i] = y[i] + h*(a41*k1[i]+a42*k2[i]+a43*k3[i])
	}
	k4 := f(s+c4*h, y4)
	for i := range y {
		y5[i] = y[i] + h*(a51*k1[i]+a52*k2[i]+a53*k3[i]+a54*k4[i])
	}
	k5 := f(s+c5*h, y5)
	for i := range y {
		y6[i] = y[i] + h*(a61*k1[i]+a62*k2[i]+a63*k3[i]+a64*k4[i]+a65*k5[i])
	}
	k6 := f(s+h, y6)
	for i := range y {
		end[i] = y[i] + h*(b1*k1[i]+b3*k3[i]+b4*k4[i]+b5*k5[i]+b6*k6[i])
	}
	k7 := f(s+h, end)
	t := step{s: s, h: h, y: y, end: end, slope: k7}
	for i := range y {
		t.diff[i] = end[i] - y[i]
		t.r3[i] = h*k1[i] - t.diff[i]
		t.r4[i] = t.diff[i] - h*k7[i] - t.r3[i]
		t.r5[i] = h * (d1*k1[i] + d3*k3[i] + d4*k4[i] + d5*k5[i] + d6*k6[i] + d7*k7[i])
	}
	return t, math.Abs(h * (e1*k1[0] + e3*k3[0] + e4*k4[0] + e5*k5[0] + e6*k6[0] + e7*k7[0]))
}

// nextStep is the length that should meet the tolerance, from the error that this one made (a fifth-order pair).
func nextStep(h, err, tol float64) float64 {
	if err == 0 {
		return 5 * h
	}
	return h * math.Min(5, math.Max(0.2, 0.9*math.Pow(tol/err, 0.2)))
}

// root finds where g passes zero between 0 and 1, given values of different sign (or zero) at the ends, by bisection
// with regula falsi of Illinois type. The result is within 1e-13.
func root(g func(x float64) float64, g0, g1 float64) float64 {
	lo, hi := 0.0, 1.0
	if g0 == 0 {
		return 0
	}
	for i := 0; i < 200 && hi-lo > 1e-13; i++ {
		x := (lo*g1 - hi*g0) / (g1 - g0)
		if !(x > lo && x < hi) || i%8 == 7 {
			x = lo + (hi-lo)/2
		}
		v := g(x)
		switch {
		case v == 0:
			return x
		case math.Signbit(v) == math.Signbit(g0):
			lo, g0, g1 = x, v, g1/2
		default:
			hi, g1, g0 = x, v, g0/2
		}
	}
	return hi
}
