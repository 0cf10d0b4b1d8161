package demo

import (
	"math"
	"slices"
)

// The stream that feeds the pond: two linear reservoirs, one quick and one slow, and springs that never fail. The numbers
// are our own, sized so that a usual year just carries the large set.
const (
	springsM3s = 0.011
	quickShare = 0.35
	quickDays  = 1.2
	slowDays   = 26.0
	startQuick = 0.006 // m3/s at the start
	startSlow  = 0.072
)

// brook is the flow of the stream at any time of the story.
type brook struct {
	edges  []float64 // s, where the rain changes; the first is 0
	quick  []float64 // m3/s at each edge
	slow   []float64
	runoff []float64 // m3/s from each edge to the next
	rain   []float64 // mm/day on the pond from each edge to the next
}

// newBrook runs the falls' runoff from areaM2 of land through the reservoirs, whose outflow q relaxes to what flows in, r:
//
//	dq/dt = (r − q) / k
//
// which is exact between the edges at which the rain changes.
func newBrook(falls []fall, areaM2 float64) *brook {
	b := &brook{edges: []float64{0}, quick: []float64{startQuick}, slow: []float64{startSlow}}
	for _, f := range falls {
		b.edges = append(b.edges, f.from, f.to)
	}
	slices.Sort(b.edges)
	for i, from := range b.edges {
		runoff, rain := 0.0, 0.0
		for _, f := range falls {
			if f.from <= from && from < f.to {
				runoff += f.runoffMM / 1000 * areaM2 / (f.to - f.from)
				rain += f.rainMM * day / (f.to - f.from)
			}
		}
		b.runoff, b.rain = append(b.runoff, runoff), append(b.rain, rain)
		if i+1 < len(b.edges) {
			s := b.edges[i+1] - from
			b.quick = append(b.quick, relax(b.quick[i], quickShare*runoff, s, quickDays))
			b.slow = append(b.slow, relax(b.slow[i], (1-quickShare)*runoff, s, slowDays))
		}
	}
	return b
}

func relax(q, toward, s, kDays float64) float64 {
	return toward + (q-toward)*math.Exp(-s/(kDays*day))
}

// since returns the number of the last edge at or before a time.
func (b *brook) since(s float64) int {
	i, found := slices.BinarySearch(b.edges, s)
	if !found {
		i--
	}
	for i+1 < len(b.edges) && b.edges[i+1] == b.edges[max(i, 0)] {
		i++
	}
	return max(i, 0)
}

// m3s is the flow into the pond, m3/s.
func (b *brook) m3s(s float64) float64 {
	i := b.since(s)
	t := s - b.edges[i]
	return springsM3s + relax(b.quick[i], quickShare*b.runoff[i], t, quickDays) + relax(b.slow[i], (1-quickShare)*b.runoff[i], t, slowDays)
}

// rainMMDay is the rain on the pond, mm/day.
func (b *brook) rainMMDay(s float64) float64 { return b.rain[b.since(s)] }

// rainMM is what fell between two times, mm.
func (b *brook) rainMM(from, to float64) float64 {
	mm := 0.0
	for i, e := range b.edges {
		until := to
		if i+1 < len(b.edges) {
			until = b.edges[i+1]
		}
		if span := math.Min(until, to) - math.Max(e, from); span > 0 {
			mm += b.rain[i] * span / day
		}
	}
	return mm
}
