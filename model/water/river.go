package water

import (
	"math"
	"math/rand/v2"
)

// stream makes one possible future of the inflow. It starts from a state drawn from the filter's belief and fills flow
// with the inflow, m3/s, at the days of the grid (days[0] = 0).
type stream interface {
	path(rng *rand.Rand, state vec, days, flow []float64)
}

// receding is the filter's own model carried on: the inflow recedes at a rate that returns to the usual one, wanders, and
// now and then rises.
type receding struct {
	n nature
}

func (r receding) path(rng *rand.Rand, state vec, days, flow []float64) {
	x, rate := state[iInflow], state[iRate]
	least := math.Log(r.n.leastInflowM3s)
	flow[0] = math.Exp(x)
	for i := 1; i < len(days); i++ {
		dt := days[i] - days[i-1]
		keep := math.Exp(-dt / r.n.rateDays)
		x -= (rate-r.n.rate)*r.n.rateDays*(1-keep) + r.n.rate*dt
		x += r.n.wander * math.Sqrt(dt) * rng.NormFloat64()
		rate = r.n.rate + (rate-r.n.rate)*keep + r.n.rateSD*math.Sqrt(1-keep*keep)*rng.NormFloat64()
		if rng.Float64() < 1-math.Exp(-dt/r.n.riseEvery) {
			x += math.Max(0, r.n.rise+r.n.riseSD*rng.NormFloat64())
			rate += r.n.quicker
		}
		x = math.Max(x, least)
		flow[i] = math.Exp(x)
	}
}

// sampler draws states from a belief by its Cholesky factor.
type sampler struct {
	mean vec
	root mat
}

func newSampler(b belief) sampler {
	s := sampler{mean: b.mean}
	for i := 0; i < stateSize; i++ {
		for j := 0; j <= i; j++ {
			v := b.cov[i][j]
			for k := 0; k < j; k++ {
				v -= s.root[i][k] * s.root[j][k]
			}
			switch {
			case i == j:
				s.root[i][i] = math.Sqrt(math.Max(v, 0))
			case s.root[j][j] > 0:
				s.root[i][j] = v / s.root[j][j]
			}
		}
	}
	return s
}

func (s sampler) draw(rng *rand.Rand) vec {
	var z vec
	for i := range z {
		z[i] = rng.NormFloat64()
	}
	out := s.mean
	for i := range out {
		for j := 0; j <= i; j++ {
			out[i] += s.root[i][j] * z[j]
		}
	}
	return out
}
