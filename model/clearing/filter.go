package clearing

import (
	"math"
	"sync"
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
	sigmas    float64
	logWeight float64
	grid      *grid
}

// belief is what is thought of the screen at a time.
type belief struct {
	nodes []node
	at    time.Time
}

// newBelief begins at a time. Where the gauge's error is small beside that of its readings, alone is true: one node does, and
// the error is counted with the readings'.
func newBelief(cells int, at time.Time, alone bool) *belief {
	b := &belief{at: at, nodes: []node{{grid: newGrid(cells)}}}
	if !alone {
		b.nodes[0].logWeight = math.Log(2. / 3)
		for _, sigmas := range []float64{-offSide, offSide} {
			b.nodes = append(b.nodes, node{sigmas, math.Log(1. / 6), b.nodes[0].grid.copied()})
		}
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

// act is one thing that befalls the screen: water passes, then it is read, or cleared.
type act struct {
	days    float64
	sight   *sight // nil: it was not read
	cleared bool
}

// follow takes a course of acts in. No node asks what becomes of the others, so that they go side by side.
func (b *belief) follow(course []act) {
	alone := len(b.nodes) == 1
	var going sync.WaitGroup
	for i := range b.nodes {
		going.Go(func() { b.nodes[i].follow(course, alone) })
	}
	going.Wait()
}

func (n *node) follow(course []act, alone bool) {
	for i := range course {
		a := &course[i]
		n.grid.pass(a.days)
		if a.sight != nil {
			n.logWeight += math.Log(n.grid.weigh(likelihood(n.grid.n, a.sight, n.sigmas, alone)))
		}
		if a.cleared {
			n.grid.clear()
		}
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
	most, total := math.Inf(-1), 0.0
	for _, n := range b.nodes {
		most = max(most, n.logWeight)
	}
	for _, n := range b.nodes {
		total += math.Exp(n.logWeight - most)
	}
	g := empty(first.n)
	for _, n := range b.nodes {
		weight := math.Exp(n.logWeight-most) / total
		for i, p := range n.grid.p {
			g.p[i] += weight * p
		}
	}
	return g
}

// follow runs the filter through the rounds from first on and up to the history's end, and returns what is then thought of the
// screen. What was last read is kept among it, as unread says.
func (w *work) follow(first int, sights []sight) *grid {
	b := newBelief(w.cells, w.h.Rounds[first].Time, allSmall(sights, w.sinceClearing(first)))
	b.follow(w.course(b, first, sights))
	return w.unread(b)
}

// course lists what befell the screen from round first on, and moves the belief's time to the last of it.
func (w *work) course(b *belief, first int, sights []sight) []act {
	var list []act
	for i := first; i < len(w.h.Rounds); i++ {
		r := &w.h.Rounds[i]
		var here []sight
		for len(sights) > 0 && sights[0].round == i {
			here, sights = append(here, sights[0]), sights[1:]
		}
		cleared := Cleared(*r)
		if len(here) == 0 && !cleared {
			continue
		}
		list = append(list, act{days: w.water(b.at, r.Time)})
		b.at = r.Time
		for j := range here {
			list = append(list, act{sight: &here[j]})
		}
		if cleared {
			list = append(list, act{cleared: true})
		}
	}
	return list
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
	b.follow([]act{{days: days}})
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
