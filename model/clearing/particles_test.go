package clearing

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// particle is one screen that might be: how far it is filled up, y, and the place of its growth in the grid's rows.
type particle struct{ y, k float64 }

// flock is a slow second implementation of the filter: many screens, each followed by itself with drawn jumps, falls and wandering
// growths (a particle filter: N. J. Gordon, D. J. Salmond and A. F. M. Smith, IEE Proc. F 140 (1993) 107–113, from memory). It has no
// grid, no cells and no mixing, and shares with the filter only the numbers of the screen's law.
type flock struct {
	rand *rand.Rand
	list []particle
	end  float64 // y at which a screen leaves no head
}

func newFlock(seed uint64, n, cells int) *flock {
	f := &flock{rand: rand.New(rand.NewPCG(seed, 77)), list: make([]particle, n), end: float64(cells-1) * stepY}
	prior := growthPrior()
	for i := range f.list {
		u, k := f.rand.Float64(), 0
		for k < rows-1 && u > prior[k] {
			u -= prior[k]
			k++
		}
		y := 2 * f.rand.ExpFloat64()
		for y > f.end { // the belief knows that some head is left
			y = 2 * f.rand.ExpFloat64()
		}
		f.list[i] = particle{y: y, k: float64(k)}
	}
	return f
}

func (f *flock) within(y float64) float64 { return min(max(y, 0), f.end) }

// pass lets days of water pass in steps of an eighth, at most one jump and one fall a step.
func (f *flock) pass(days float64) {
	const step = 0.125
	for range int(math.Round(days / step)) {
		for i := range f.list {
			p := &f.list[i]
			p.y = f.within(p.y + growth(p.k)*step)
			if f.rand.Float64() < 1-math.Exp(-jumpRate*step) {
				p.y = f.within(p.y + jumpMean*f.rand.ExpFloat64())
			}
			if f.rand.Float64() < 1-math.Exp(-fallRate*step) {
				p.y = f.within(p.y - fallMean*f.rand.ExpFloat64())
			}
			p.k += wander * math.Sqrt(step) * f.rand.NormFloat64()
			if p.k < 0 { // the rows' ends throw back
				p.k = -p.k
			}
			if most := float64(rows - 1); p.k > most {
				p.k = 2*most - p.k
			}
		}
	}
}

// weigh draws the flock anew, each screen by how well it explains a reading.
func (f *flock) weigh(s *sight) {
	weights, total := make([]float64, len(f.list)), 0.0
	for i, p := range f.list {
		loss := s.cleanM * math.Exp(p.y)
		least := math.Hypot(math.Hypot(s.sdM, leastLossM), s.tiltM)
		sd := math.Hypot(least, shape*loss)
		z := (s.LossM - loss) / sd
		weights[i] = least/sd*math.Pow(1+z*z/tails, -(tails+1.0)/2) + slips
		total += weights[i]
	}
	old := slices.Clone(f.list)
	at, below := 0, weights[0]
	start := f.rand.Float64()
	for i := range f.list { // systematic: one draw for all, so that little is lost to chance
		for want := (start + float64(i)) / float64(len(old)) * total; below < want && at < len(old)-1; below += weights[at] {
			at++
		}
		f.list[i] = old[at]
	}
}

func (f *flock) quantile(of func(particle) float64, share float64) float64 {
	values := make([]float64, len(f.list))
	for i, p := range f.list {
		values[i] = of(p)
	}
	slices.Sort(values)
	return values[int(share*float64(len(values)-1))]
}

// compare holds the grid's quantiles against the flock's, to a cell's width and what chance leaves of so many screens.
func compare(t *testing.T, when string, g *grid, f *flock, allowY, allowK float64) {
	t.Helper()
	byY, byK := g.byY(), g.byGrowth()
	for _, share := range []float64{0.1, 0.25, 0.5, 0.75, 0.9} {
		if got, want := place(byY, share)*stepY, f.quantile(func(p particle) float64 { return p.y }, share); math.Abs(got-want) > allowY {
			t.Errorf("%s: %.0f %% of y lie below %.3f, of the flock below %.3f", when, 100*share, got, want)
		}
		if got, want := place(byK, share), f.quantile(func(p particle) float64 { return p.k }, share); math.Abs(got-want) > allowK {
			t.Errorf("%s: %.0f %% of the growths lie below row %.2f, of the flock below %.2f", when, 100*share, got, want)
		}
	}
}

// Without readings the belief spreads as the flock does, over a day, a week and three.
func TestTheBeliefSpreadsAsAFlockOfScreensDoes(t *testing.T) {
	const cells = 60
	g, f := newGrid(cells), newFlock(1, 15000, cells)
	compare(t, "at first", g, f, 2*stepY, 1)
	g.clear()
	for i := range f.list {
		y := leftMean * f.rand.ExpFloat64()
		if f.rand.Float64() < poorShare {
			y = poorMean * f.rand.ExpFloat64()
		}
		f.list[i].y = f.within(y)
	}
	compare(t, "after a clearing", g, f, 1.5*stepY, 1)
	for _, days := range []float64{1, 6, 14} {
		g.pass(days)
		f.pass(days)
		compare(t, "later", g, f, 2.5*stepY, 1)
	}
}

// With readings, both narrow to the same place: a screen that fills up by 0.3 a day, read every half day for a week.
func TestTheBeliefFollowsReadingsAsAFlockDoes(t *testing.T) {
	const cells = 60
	g, f := newGrid(cells), newFlock(2, 30000, cells)
	s := sight{sdM: 0.05, cleanM: 0.002}
	for i := range 14 {
		g.pass(0.5)
		f.pass(0.5)
		s.LossM = s.cleanM*math.Exp(3+0.15*float64(i)) + 0.02*float64(i%3-1)
		g.weigh(likelihood(cells, &s, 0, true))
		f.weigh(&s)
	}
	compare(t, "after a week of readings", g, f, 1.5*stepY, 2.5)
	if got := place(g.byY(), 0.5) * stepY; math.Abs(got-(3+0.15*13)) > 0.3 {
		t.Errorf("the screen is at y %.2f, told as %.2f", 3+0.15*13, got)
	}
}

// The times of coming to a limit are those of a flock: what has once reached it counts from then on.
func TestTheForecastIsThatOfAFlock(t *testing.T) {
	const cells, limit = 60, 4.0
	g, f := newGrid(cells), newFlock(3, 12000, cells)
	g.clear()
	for i := range f.list {
		f.list[i].y = 0.1
	}
	c := foresee(g, limit)
	reached := make([]bool, len(f.list))
	share := func() float64 {
		n := 0
		for i, p := range f.list {
			reached[i] = reached[i] || p.y >= limit
			if reached[i] {
				n++
			}
		}
		return float64(n) / float64(len(f.list))
	}
	for at := 0.125; at <= 20; at += 0.125 {
		f.pass(0.125)
		flocks := share()
		for _, want := range []float64{2, 5, 10, 20} {
			if math.Abs(at-want) > 1e-9 {
				continue
			}
			grids := 0.0
			for i, d := range c.days {
				if d <= at {
					grids = c.share[i]
				}
			}
			if math.Abs(grids-flocks) > 0.05 {
				t.Errorf("after %g days %.3f have come to the limit, of the flock %.3f", at, grids, flocks)
			}
		}
	}
}
