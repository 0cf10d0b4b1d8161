package water

import (
	"math"
	"math/rand/v2"
	"sort"
)

// recalled is a future told by the past: the course that the inflow took after earlier moments that were like now, scaled
// to today's inflow. Where the past is short, part of the members follow the filter's own model instead.
type recalled struct {
	m     *memory
	marks []mark
	sum   []float64 // running sum of the marks' weights
	share float64   // of members that follow the past
	model receding
}

// likeness says how alike two moments must be: one standard deviation of a Gaussian kernel.
type likeness struct {
	seasonDays, log, rate float64
}

// recall picks the moments that are like now and at least so many days in the past.
func recall(m *memory, now mark, model receding, like likeness, enough, ahead float64) *recalled {
	r := &recalled{m: m, model: model}
	end := float64(len(m.flow) - 1)
	for wide := 1.0; wide < 2.5; wide *= 1.3 {
		r.marks, r.sum = r.marks[:0], r.sum[:0]
		total, squares := 0.0, 0.0
		for _, k := range m.marks {
			if k.day+ahead > end {
				break
			}
			a := apart(k.season, now.season) / (like.seasonDays * wide)
			b := (k.log - now.log) / (like.log * wide)
			c := (k.rate - now.rate) / (like.rate * wide)
			d := a*a + b*b + c*c
			if d > 9 {
				continue
			}
			w := math.Exp(-d / 2)
			total += w
			squares += w * w
			r.marks, r.sum = append(r.marks, k), append(r.sum, total)
		}
		if total*total > enough*squares {
			break
		}
	}
	r.share = r.weightOfPast()
	return r
}

// weightOfPast weighs the past by how many separate years speak, against a prior worth two.
func (r *recalled) weightOfPast() float64 {
	const prior = 2.0
	years := map[int]float64{}
	before, total := 0.0, 0.0
	for i, k := range r.marks {
		w := r.sum[i] - before
		before = r.sum[i]
		years[int(k.day/daysPerYear)] += w
		total += w
	}
	squares := 0.0
	for _, w := range years {
		squares += w * w
	}
	if squares == 0 {
		return 0
	}
	n := total * total / squares
	return n / (n + prior)
}

func (r *recalled) path(rng *rand.Rand, state vec, days, flow []float64) {
	if rng.Float64() >= r.share {
		r.model.path(rng, state, days, flow)
		return
	}
	k := r.marks[min(sort.SearchFloat64s(r.sum, rng.Float64()*r.sum[len(r.sum)-1]), len(r.marks)-1)]
	scale := math.Exp(state[iInflow] - k.log)
	for i, d := range days {
		flow[i] = scale * r.m.at(k.day+d)
	}
}

// at is the smoothed inflow at a day since the start, m3/s. Beyond the end the last value stands.
func (m *memory) at(day float64) float64 {
	i := int(day)
	if i+1 >= len(m.flow) {
		return m.flow[len(m.flow)-1]
	}
	return m.flow[i] + (day-float64(i))*(m.flow[i+1]-m.flow[i])
}
