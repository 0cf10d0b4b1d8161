package water

import (
	"errors"
	"fmt"
	"math"
)

// How rain on the catchment reaches the pond. Between a tenth and six tenths of an event's rain run off from small wooded
// catchments, less after dry weather (range from memory, taken as evenly likely); what runs off comes with the rain's own
// day and then recedes by half in about a day and a half (our own choice).
const (
	runoffLeast = 0.1
	runoffMost  = 0.6
	rainEnds    = 1.0 // days
	quickDays   = 2.0 // e-folding
)

// ErrNoCatchment tells that rain was asked about without the catchment's area.
var ErrNoCatchment = errors.New("rain can be counted only with the catchment's area; give [pond] catchment_km2 in the plant file")

// rained is a stream with rain on top of it: what falls on the pond within a day, and what runs off the catchment.
type rained struct {
	stream
	pondM3, catchmentM3 float64 // of water that falls
	members             int
	next                *int // the member whose path is asked for next
}

// withRain puts a what-if's rain on top of a stream. The runoff's share is spread evenly over the members, in an order that
// costs no random number, so that with and without rain the rest of each member's future is the same.
func (m *Model) withRain(s stream, w WhatIf, members int, areaM2 float64) (stream, error) {
	switch km2 := m.b.plant.Pond.CatchmentKM2; {
	case w.RainMM == 0:
		return s, nil
	case !(w.RainMM > 0 && w.RainMM <= mostRainMM):
		return nil, fmt.Errorf("%g mm of rain cannot be; expected 0 to %d mm", w.RainMM, mostRainMM)
	case km2 == nil:
		return nil, ErrNoCatchment
	default:
		depth := w.RainMM / 1000
		return rained{stream: s, pondM3: depth * areaM2, catchmentM3: depth * math.Max(0, *km2*1e6-areaM2), members: members, next: new(int)}, nil
	}
}

// begin adds to the stream's own flow what runs off, highest at the end of the rain's day and receding from there, and what
// falls on the pond. The stream writes to a flow of its own, since it may go on from what it wrote.
func (r rained) begin(c *chances, state vec, days, flow []float64) current {
	const golden = 0.6180339887498949 // its multiples' fractions fill 0 to 1 evenly
	_, spread := math.Modf(float64(*r.next) * golden)
	*r.next = (*r.next + 1) % max(1, r.members)
	share := runoffLeast + (runoffMost-runoffLeast)*spread
	w := &wetted{dry: make([]float64, len(days)), flow: flow, more: make([]float64, len(days))}
	addVolume(days, w.more, share*r.catchmentM3, runoffShape)
	addVolume(days, w.more, r.pondM3, pondShape)
	w.stream = r.stream.begin(c, state, days, w.dry)
	return w
}

// wetted is a rained future under way.
type wetted struct {
	stream          current
	dry, more, flow []float64
	next            int // the first index that does not stand
}

func (w *wetted) reach(to int) {
	w.stream.reach(to)
	for ; w.next <= to; w.next++ {
		w.flow[w.next] = w.dry[w.next] + w.more[w.next]
	}
}

func runoffShape(day float64) float64 {
	if day <= rainEnds {
		return day / rainEnds
	}
	return math.Exp(-(day - rainEnds) / quickDays)
}

func pondShape(day float64) float64 { return math.Max(0, 1-math.Abs(day-rainEnds/2)/rainEnds) }

// addVolume puts a volume, m3, on a path in the shape of a curve over days, scaled so that the path, which is straight
// between the grid's days, holds the whole volume, less what comes after the grid's end.
func addVolume(days, flow []float64, m3 float64, shape func(day float64) float64) {
	sum := 0.0
	piece := func(from, to float64) { sum += (to - from) * secondsPerDay * (shape(from) + shape(to)) / 2 }
	for i := 1; i < len(days); i++ {
		piece(days[i-1], days[i])
	}
	for end, k := days[len(days)-1], 0.0; k < 20; k++ {
		piece(end+k, end+k+1)
	}
	for i, d := range days {
		flow[i] += m3 * shape(d) / sum
	}
}

// sayRain says what a what-if's rain was taken to do.
func sayRain(w WhatIf) []string {
	if w.RainMM <= 0 {
		return nil
	}
	return []string{fmt.Sprintf("Of the supposed rain %.0f to %.0f %% is taken to run off the catchment, most of it within four days (from memory); dry ground takes more.", 100*runoffLeast, 100*runoffMost)}
}
