package clearing

import (
	"math"
	"time"

	"example.org/headpond/model/record"
)

// How a reading is weighed.
const (
	shape   = 0.07  // what the law of the loss and the grid's step may be off, over the loss
	slips   = 0.003 // likelihood that is left to a reading far from everything
	offSide = 1.7320508075688772
)

// node is one value of the gauge's remaining error with the filter that goes by it: three of them, at nothing and at √3
// standard deviations to each side, stand for all (Gauss and Hermite's rule). The readings themselves tell which fits.
type node struct {
	sigmas float64
	weight float64
	grid   *grid
}

// belief is what is thought of the screen at a time.
type belief struct {
	nodes []node
	at    time.Time
}

// newBelief begins at a time. Where the gauge's error is small beside that of its readings, alone is true: one node does, and
// the error is counted with the readings'.
func newBelief(cells int, at time.Time, alone bool) *belief {
	b := &belief{at: at, nodes: []node{{0, 1, newGrid(cells)}}}
	if !alone {
		b.nodes[0].weight = 2. / 3
		b.nodes = append(b.nodes, node{-offSide, 1. / 6, newGrid(cells)}, node{offSide, 1. / 6, newGrid(cells)})
	}
	return b
}

// smallTilt is what the gauge's error may be over that of a reading to be counted with it.
const smallTilt = 0.4

// allSmall looks at the rounds after one: those before the last clearing tell only of the growth.
func allSmall(sights []sight, after int) bool {
	for i := range sights {
		if sights[i].round > after && sights[i].tiltM > smallTilt*sights[i].sdM {
			return false
		}
	}
	return true
}

// pass lets the water of a stretch of time pass.
func (b *belief) pass(to time.Time, days float64) {
	for i := range b.nodes {
		b.nodes[i].grid.pass(days)
	}
	b.at = to
}

// clear is a clearing.
func (b *belief) clear() {
	for i := range b.nodes {
		b.nodes[i].grid.clear()
	}
}

// weigh takes a reading in.
func (b *belief) weigh(s *sight) {
	total := 0.0
	for i := range b.nodes {
		n := &b.nodes[i]
		n.weight *= n.grid.weigh(likelihood(n.grid.n, s, n.sigmas, len(b.nodes) == 1))
		total += n.weight
	}
	for i := range b.nodes {
		b.nodes[i].weight /= total
	}
}

// likelihood is how well each y explains a reading, for an error of the gauge's offset of so many standard deviations. The
// reading's error has the tails of Student's t; where alone is true the offset's error is counted with it.
func likelihood(cells int, s *sight, sigmas float64, alone bool) []float64 {
	out := make([]float64, cells)
	read := s.LossM + sigmas*s.tiltM
	least := math.Hypot(s.sdM, leastLossM)
	if alone {
		least = math.Hypot(least, s.tiltM)
	}
	for i := range out {
		loss := s.cleanM * math.Exp(float64(i)*stepY)
		sd := math.Hypot(least, shape*loss)
		z := (read - loss) / sd
		t := 1 + z*z/tails
		out[i] = least/(sd*t*t*math.Sqrt(t)) + slips // t to the power −(tails+1)/2
	}
	return out
}

// mixed is one grid for all nodes, for the forecast.
func (b *belief) mixed() *grid {
	first := b.nodes[0].grid
	if len(b.nodes) == 1 {
		return first
	}
	g := empty(first.n)
	for _, n := range b.nodes {
		for i, p := range n.grid.p {
			g.p[i] += n.weight * p
		}
	}
	return g
}

// follow runs the filter through the rounds from first on and up to the history's end, and returns what is then thought of the
// screen. What was last read is kept among it, as unread says.
func (w *work) follow(first int, sights []sight) *grid {
	start := w.h.Rounds[first].Time
	b := newBelief(w.cells, start, allSmall(sights, w.sinceClearing(first)))
	next := 0
	for i := first; i < len(w.h.Rounds); i++ {
		r := &w.h.Rounds[i]
		cleared := Cleared(*r)
		if next >= len(sights) && !cleared {
			continue
		}
		if here := next < len(sights) && sights[next].round == i; !here && !cleared {
			continue
		}
		b.pass(r.Time, w.water(b.at, r.Time))
		for ; next < len(sights) && sights[next].round == i; next++ {
			b.weigh(&sights[next])
		}
		if cleared {
			b.clear()
		}
	}
	return w.unread(b)
}

// stallRate is how often, for a day's water, the litter stops coming unseen, or the screen is cleared a little without a word:
// the loss is then still about what was last read. Our own choice, that of a sudden rise (common practice has none): after a day
// one outcome in seventeen, after five days one in four.
const stallRate = jumpRate

// unread lets the water pass that has passed since the last reading or clearing. What was read is then no longer carried
// forward alone: the law of growth is a law for litter that goes on coming, and at the end of its course it would be sure of a
// screen that nobody has looked at. The older the reading, the more of the belief stays at what was read, so that the range
// reaches from there to what the growth foresees.
func (w *work) unread(b *belief) *grid {
	days := w.water(b.at, w.h.At)
	read := b.mixed().copied()
	b.pass(w.h.At, days)
	g := b.mixed()
	stalled := 1 - math.Exp(-stallRate*days)
	for i := range g.p {
		g.p[i] += stalled * (read.p[i] - g.p[i])
	}
	return g
}

// water is how much water passed the screen between two times, in days of the present flow. While it is not known which units
// ran the present ones are taken.
func (w *work) water(from, to time.Time) float64 {
	days := 0.0
	for _, s := range w.in.Timeline.Segments(from, to) {
		span := s.To.Sub(s.From).Hours() / 24
		running, known := runningOf(w.present.Model.Plant().UnitIDs(), s.State)
		if !known {
			days += span
			continue
		}
		days += span * w.flowRatio(running)
	}
	return days
}

func runningOf(ids []string, state map[string]record.Running) (running []string, known bool) {
	for _, id := range ids {
		switch state[id] {
		case record.On:
			running = append(running, id)
		case record.Unknown:
			return nil, false
		case record.Off:
		}
	}
	return running, true
}

// flowRatio is what a way of running draws, over what the present one does, with a clean screen at the present level.
func (w *work) flowRatio(running []string) float64 {
	key := record.FormatRunning(running)
	ratio, ok := w.ratios[key]
	if !ok {
		if flow, _ := w.present.Model.Draw(w.present.Case.PondLevelM, running); flow > 0 {
			ratio = flow / w.flow
		}
		w.ratios[key] = ratio
	}
	return ratio
}
