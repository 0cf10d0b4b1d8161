package week

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
)

// variance is Var(mean of the stretch less Σ w·X(end)) for the covariance exp(-|t-s|/τ), by Gauss-Legendre quadrature (gonum's
// integrate/quad): the definition, in place of the closed form.
func variance(hours, atStart, atEnd float64) float64 {
	cov := func(t, s float64) float64 { return math.Exp(-math.Abs(t-s) / memoryHours) }
	mean := func(t float64) float64 { // of the covariance with one instant; cut where the absolute value bends
		f := func(s float64) float64 { return cov(t, s) }
		return (quad.Fixed(f, 0, t, 60, nil, 0) + quad.Fixed(f, t, hours, 60, nil, 0)) / hours
	}
	v := quad.Fixed(mean, 0, hours, 60, nil, 0) / hours
	v += atStart*atStart + atEnd*atEnd + 2*atStart*atEnd*cov(0, hours)
	return v - 2*(atStart*mean(0)+atEnd*mean(hours))
}

func TestWhatReadingsLeaveOpenByItsDefinition(t *testing.T) {
	for _, h := range []float64{0.01, 0.25, 1, 3, 8, 12, 14, 24, 36} {
		closeTo(t, "trapezoid", trapezoidShare(h), variance(h, 0.5, 0.5), 1e-9)
		closeTo(t, "one end", oneEndShare(h), variance(h, 1, 0), 1e-9)
		closeTo(t, "the other end", oneEndShare(h), variance(h, 0, 1), 1e-9)
	}
}

// The limits are those of a Brownian bridge, whose integral over a time has the variance T³/12 of one of unit rate (a known
// result; here the rate is 2σ²/τ), and of independent readings.
func TestWhatReadingsLeaveOpenAtItsLimits(t *testing.T) {
	for _, h := range []float64{1e-6, 1e-4, 2.9e-3, 3.1e-3} {
		closeTo(t, "short, bridge", trapezoidShare(h), 2/memoryHours*h/12, 1e-6*h)
		closeTo(t, "short, one end", oneEndShare(h), 2/memoryHours*h/3, 1e-3*h)
	}
	closeTo(t, "long, trapezoid", trapezoidShare(1e6), 0.5, 1e-5)
	closeTo(t, "long, one end", oneEndShare(1e6), 1, 1e-5)
	last := 0.0
	for h := 0.0; h < 60; h += 0.1 {
		v := trapezoidShare(h)
		if v < last-1e-12 || v < 0 || v > 0.5+1e-9 {
			t.Fatalf("trapezoidShare(%g) = %g after %g: it should rise from 0 to a half", h, v, last)
		}
		last = v
	}
}

// An Ornstein–Uhlenbeck process drawn step by step: the share of the trapezoid's errors agrees with the formula.
func TestWhatReadingsLeaveOpenByDrawing(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	const steps, draws = 240, 6000
	for _, h := range []float64{2, 12} {
		decay := math.Exp(-h / steps / memoryHours)
		var square float64
		for range draws {
			x := r.NormFloat64()
			first, sum := x, x/2
			for i := 1; i <= steps; i++ {
				x = decay*x + math.Sqrt(1-decay*decay)*r.NormFloat64()
				sum += x
			}
			e := (sum-x/2)/steps - (first+x)/2
			square += e * e
		}
		closeTo(t, "drawn", square/draws, trapezoidShare(h), 0.05*trapezoidShare(h))
	}
}

func TestSpreadTakesInReadings(t *testing.T) {
	var s Spread
	s = s.with(4, "A")
	near(t, "before there are others, a quarter of the first", s.kw(), 1)
	for range 400 {
		s = s.with(4, "A")
	}
	if s.kw() > 0.01 {
		t.Errorf("400 readings alike leave %g kW", s.kw())
	}
	r := rand.New(rand.NewPCG(3, 4))
	for range 400 {
		s = s.with(3+0.7*r.NormFloat64(), "A")
	}
	closeTo(t, "of normal readings of 0.7 kW", s.kw(), 0.7, 0.2)
	was := s.kw()
	s = s.with(9, "A+B")
	if s.Mean != 9 || s.kw() != was {
		t.Errorf("another set: mean %g, spread %g; want it to begin anew at 9 with %g", s.Mean, s.kw(), was)
	}
	s = s.with(9.1, "A+B")
	if s.kw() > was {
		t.Errorf("a reading near the new mean widens the spread to %g", s.kw())
	}
}

// What readings tell of a stretch by linear regression: the weight w that leaves the least variance, the vertex of a parabola
// through three values of the definition. The shared part is what the trapezoid's half differs from it.
func TestSharedPartIsTheRegressionsByItsDefinition(t *testing.T) {
	vertex := func(v func(w float64) float64) (w, least float64) {
		a, b, c := v(0), v(0.5), v(1)
		curve, slope := 2*(a+c-2*b), 4*b-3*a-c
		w = -slope / (2 * curve)
		return w, a + slope*w + curve*w*w
	}
	for _, h := range []float64{0.05, 0.5, 2, 8, 14, 30} {
		best, least := vertex(func(w float64) float64 { return variance(h, w, w) })
		ends := math.Sqrt(2 * (1 + math.Exp(-h/memoryHours))) // of the sum of two readings so far apart
		closeTo(t, "trapezoid", trapezoidShared(h), (0.5-best)*ends, 1e-7)
		closeTo(t, "what is left is the regression's error", trapezoidShare(h)-math.Pow(trapezoidShared(h), 2), least, 1e-7)
		best, least = vertex(func(w float64) float64 { return variance(h, w, 0) })
		closeTo(t, "one end", oneEndShared(h), 1-best, 1e-7)
		closeTo(t, "what is left", oneEndShare(h)-math.Pow(oneEndShared(h), 2), least, 1e-7)
	}
}
