package pond

import (
	"fmt"
	"math"
)

// Routing is the level-pool step of fixed length, the storage-indication method (V. T. Chow, D. R. Maidment and L. W.
// Mays, Applied Hydrology, 1988, section 8.2):
//
//	(I1 + I2) + (2 V1/Δt − Q1) = 2 V2/Δt + Q2
//
// It is the implicit trapezoidal rule, so that it stays stable however long the step is beside the pond's own time, and
// costs one look-up. A Routing does not change after it is made and may be shared.
type Routing struct {
	dt       float64
	lo, step float64   // first entry of the indication 2V/Δt + Q, and the spacing
	volume   []float64 // at equally spaced indications
	lowV     float64
	lowQ     float64

	perStep, perDt float64 // 1/step and 2/Δt: members are followed through millions of steps, and dividing is slow
}

// routingKnots is how many equal steps of volume the outflow is sampled at; between them it is taken as linear.
const routingKnots = 512

// NewRouting tables a step of dt seconds for a pond between two volumes, m3, whose outflow depends on the volume alone,
// m3/s. Outside the volumes the table goes on in a straight line upward and stops at the low end. The outflow may fall
// with the volume (a machine at constant power), but not faster than 2 V/Δt rises.
func NewRouting(dt, lowV, highV float64, outflow func(volumeM3 float64) float64) (*Routing, error) {
	if !(dt > 0) || !(highV > lowV) {
		return nil, fmt.Errorf("cannot route a pond from %g to %g m3 with a step of %g s", lowV, highV, dt)
	}
	const n = routingKnots
	v, x := make([]float64, n+1), make([]float64, n+1)
	for i := range v {
		v[i] = lowV + (highV-lowV)*float64(i)/n
		q := outflow(v[i])
		x[i] = 2*v[i]/dt + q
		if !finite(x[i]) {
			return nil, fmt.Errorf("the outflow at %g m3 is not a number", v[i])
		}
		if i == 0 {
			continue
		}
		if x[i] <= x[i-1] {
			return nil, fmt.Errorf("the outflow falls too fast with the volume near %g m3 for a step of %g s", v[i], dt)
		}
	}
	r := &Routing{dt: dt, lo: x[0], step: (x[n] - x[0]) / (2 * n), volume: make([]float64, 2*n+1), lowV: lowV, lowQ: x[0] - 2*lowV/dt, perDt: 2 / dt}
	r.perStep = 1 / r.step
	for i, j := 0, 0; i < len(r.volume); i++ {
		want := r.lo + float64(i)*r.step
		for j < n-1 && x[j+1] < want {
			j++
		}
		r.volume[i] = v[j] + (want-x[j])*(v[j+1]-v[j])/(x[j+1]-x[j])
	}
	return r, nil
}

// VolumeAt is the volume with a given indication 2V/Δt + Q; what is not a number counts as the low end.
func (r *Routing) VolumeAt(indication float64) float64 {
	u := (indication - r.lo) * r.perStep
	if !(u > 0) {
		return r.lowV
	}
	i := len(r.volume) - 2
	if u < float64(i) {
		i = int(u)
	}
	return r.volume[i] + (u-float64(i))*(r.volume[i+1]-r.volume[i])
}

// Next moves a pond on by one step. It takes the volume, the outflow at it and the inflow at both ends of the step, and
// returns the volume and outflow at the end. A pond at the low end of the table loses no more than it gains.
func (r *Routing) Next(volumeM3, outflowM3s, inflow1M3s, inflow2M3s float64) (float64, float64) {
	x := inflow1M3s + inflow2M3s + volumeM3*r.perDt - outflowM3s
	if x <= r.lo {
		return r.lowV, math.Min(r.lowQ, inflow2M3s)
	}
	v := r.VolumeAt(x)
	return v, x - v*r.perDt
}

// StepSeconds is the length of the step, s.
func (r *Routing) StepSeconds() float64 { return r.dt }
