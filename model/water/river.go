package water

import "math"

// stream makes one possible future of the inflow, m3/s at the days of the grid (days[0] = 0), from a state drawn from the
// filter's belief. What begin returns fills flow; nobody else writes there.
type stream interface {
	begin(c *chances, state vec, days, flow []float64) current
}

// current is a future under way: reach draws it on up to and with an index of the grid. It is the same however far each
// reach goes.
type current interface {
	reach(to int)
}

// future is one member's inflow, drawn as far as somebody has looked.
type future struct {
	flow  []float64
	drawn int // flow[:drawn] stand
	more  current
}

func setOut(s stream, c *chances, state vec, days, flow []float64) future {
	return future{flow: flow, more: s.begin(c, state, days, flow)}
}

// lookAhead is how many days are drawn at once: most members are followed for some days more.
const lookAhead = 8

// need draws the future on so that an index of the grid stands.
func (f *future) need(k int) {
	if k >= f.drawn {
		f.draw(k)
	}
}

func (f *future) draw(k int) {
	to := min(k+lookAhead, len(f.flow)-1)
	f.more.reach(to)
	f.drawn = to + 1
}

// receding is the filter's own model carried on: the inflow recedes at a rate that returns to the usual one, wanders, and
// now and then rises.
type receding struct {
	n nature
}

func (r receding) begin(c *chances, state vec, days, flow []float64) current {
	flow[0] = math.Exp(state[iInflow])
	return r.from(c, state[iInflow], state[iRate], 0, days, flow)
}

// from goes on from an index of the grid, whose flow stands.
func (r receding) from(c *chances, x, rate float64, at int, days, flow []float64) *recession {
	return &recession{n: r.n, c: c, days: days, flow: flow, at: at, x: x, rate: rate, least: math.Log(r.n.leastInflowM3s)}
}

// recession is a receding future under way.
type recession struct {
	n          nature
	c          *chances
	days, flow []float64
	at         int // the last index that stands
	x, rate    float64
	least      float64

	dt, keep, wander, rateSD, rises float64 // of a step of dt days
}

func (r *recession) reach(to int) {
	for ; r.at < to; r.at++ {
		dt := r.days[r.at+1] - r.days[r.at]
		if dt != r.dt {
			r.pace(dt)
		}
		r.x -= (r.rate-r.n.rate)*r.n.rateDays*(1-r.keep) + r.n.rate*dt
		r.x += r.wander * r.c.NormFloat64()
		r.rate = r.n.rate + (r.rate-r.n.rate)*r.keep + r.rateSD*r.c.NormFloat64()
		if r.c.Float64() < r.rises {
			r.x += math.Max(0, r.n.rise+r.n.riseSD*r.c.NormFloat64())
			r.rate += r.n.quicker
		}
		r.x = max(r.x, r.least)
		r.flow[r.at+1] = math.Exp(r.x)
	}
}

// pace works out what a step's length does; most steps are a day.
func (r *recession) pace(dt float64) {
	r.dt, r.keep = dt, math.Exp(-dt/r.n.rateDays)
	r.wander = r.n.wander * math.Sqrt(dt)
	r.rateSD = r.n.rateSD * math.Sqrt(1-r.keep*r.keep)
	r.rises = 1 - math.Exp(-dt/r.n.riseEvery)
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

func (s sampler) draw(c *chances) vec {
	z := vec{iVolume: normal(c.even[evenVolume]), iInflow: normal(c.even[evenInflow]), iRate: normal(c.even[evenRate]), iDraw: normal(c.even[evenDraw])}
	out := s.mean
	for i := range out {
		for j := 0; j <= i; j++ {
			out[i] += s.root[i][j] * z[j]
		}
	}
	return out
}
