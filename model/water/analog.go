package water

import (
	"math"
	"math/rand/v2"
	"sort"
)

// recalled is a future told by the past: the course that the inflow took after earlier moments that were like now, scaled
// to today's inflow. What was believed at those moments, not what was known afterwards, is the base, so that the filter's
// own errors are in the spread. Where the past is short, part of the members follow the filter's own model instead.
type recalled struct {
	m     *memory
	marks []mark
	sum   []float64 // running sum of the marks' weights
	share float64   // of members that follow the past
	model receding
	mean  float64 // believed log inflow now
}

// likeness says how alike two moments must be, as standard deviations of a Gaussian kernel: in season, in log inflow, and
// in how that lies to its mean of the last days (trendDays).
type likeness struct {
	seasonDays, log float64
	trend           [2]float64
}

// usualLikeness is a month, a third, and what the filter can tell. Streams of quite different kinds do equally well with
// half or twice of it.
func usualLikeness() likeness {
	return likeness{seasonDays: 30, log: 0.3, trend: [2]float64{0.1, 0.2}}
}

const (
	enoughMoments = 100.0 // that speak with equal weight; with fewer, likeness is taken more widely
	aheadDays     = 45.0  // of the past's course that must be known after a moment for it to speak
	priorYears    = 2.0   // what the filter's own model weighs beside the years of the past
)

// recall picks the moments that are like now.
func recall(m *memory, now mark, model receding, like likeness) *recalled {
	r := &recalled{m: m, model: model, mean: now.log}
	end := float64(len(m.flow)-1) - aheadDays
	known := sort.Search(len(m.marks), func(i int) bool { return m.marks[i].day > end })
	for wide := 1.0; wide < 2.5; wide *= 1.3 {
		r.marks, r.sum = r.marks[:0], r.sum[:0]
		total, squares := 0.0, 0.0
		for i := range m.marks[:known] {
			k := &m.marks[i]
			d := like.distance(k, &now) / (wide * wide)
			if d > 9 {
				continue
			}
			w := math.Exp(-d / 2)
			total += w
			squares += w * w
			r.marks, r.sum = append(r.marks, *k), append(r.sum, total)
		}
		if total*total > enoughMoments*squares {
			break
		}
	}
	r.share = r.weightOfPast()
	return r
}

// distance is the square of how far two moments lie apart, in standard deviations.
func (l likeness) distance(a, b *mark) float64 {
	s := apart(a.season, b.season) / l.seasonDays
	x := (a.log - b.log) / l.log
	d := s*s + x*x
	for i, sd := range l.trend {
		t := (a.trend[i] - b.trend[i]) / sd
		d += t * t
	}
	return d
}

// weightOfPast weighs the past by how many separate years speak, against the filter's own model.
func (r *recalled) weightOfPast() float64 {
	years := map[int]float64{}
	before := 0.0
	for i, k := range r.marks {
		years[int(k.day/daysPerYear)] += r.sum[i] - before
		before = r.sum[i]
	}
	squares := 0.0
	for _, w := range years {
		squares += w * w
	}
	if squares == 0 {
		return 0
	}
	n := before * before / squares
	return n / (n + priorYears)
}

func (r *recalled) begin(c *chances, state vec, days, flow []float64) current {
	if c.even[evenPast] >= r.share {
		return r.model.begin(c, state, days, flow)
	}
	pick := c.even[evenPast] / r.share * r.sum[len(r.sum)-1]
	k := &r.marks[min(sort.SearchFloat64s(r.sum, pick), len(r.marks)-1)]
	return &recollection{r: r, c: c, days: days, flow: flow, scale: math.Exp(r.mean - k.log), shift: k.day}
}

// recollection is a recalled future under way.
type recollection struct {
	r            *recalled
	c            *chances
	days, flow   []float64
	next         int     // the first index that does not stand
	scale, shift float64 // today's inflow ÷ that of then; the day of then that is today
	model        *recession
}

func (r *recollection) reach(to int) {
	end := float64(len(r.r.m.flow) - 1)
	for ; r.next <= to && r.model == nil; r.next++ {
		i, d := r.next, r.days[r.next]
		if r.shift+d > end { // the past has been told to its end: go on with another year's, at the same season and about the same flow
			next, ok := r.r.m.alike(r.c.Rand, r.shift+d, r.flow[i-1]/r.scale)
			if !ok {
				r.model = r.r.model.from(r.c, math.Log(r.flow[i-1]), r.r.model.n.rate, i-1, r.days, r.flow)
				break
			}
			r.scale, r.shift = r.flow[i-1]/r.r.m.at(next), next-d
		}
		r.flow[i] = r.scale * r.r.m.at(r.shift+d)
	}
	if r.model != nil {
		r.model.reach(to)
	}
}

// alike picks a day of an earlier year at the season of the given day: of a few picked blindly, the one whose flow is
// nearest.
func (m *memory) alike(rng *rand.Rand, day, flow float64) (float64, bool) {
	years := int((float64(len(m.flow)-1) - 60) / daysPerYear)
	if years < 1 {
		return 0, false
	}
	best, found, off := 0.0, false, math.Inf(1)
	for try := 0; try < 6; try++ {
		back := day - daysPerYear*float64(1+rng.IntN(years)) + 20*(rng.Float64()-0.5)
		if back < 0 {
			continue
		}
		if o := math.Abs(math.Log(m.at(back) / flow)); o < off {
			best, off, found = back, o, true
		}
	}
	return best, found
}
