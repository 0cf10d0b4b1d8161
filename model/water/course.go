package water

import (
	"fmt"
	"math"
	"time"

	"example.org/headpond/model/pond"
)

// way is a way of running: units that run all day and, perhaps, one more for part of each day.
type way struct {
	run  []string
	plan *Plan
	part pond.PartDay
}

// always is the draw of the units that run all day, during that of all that run in the plan's stretch.
func (w *way) always(b *basin) *drawTable { return b.draws.table(w.run) }

func (w *way) during(b *basin) *drawTable {
	if w.plan == nil {
		return w.always(b)
	}
	return b.draws.table(inOrder(b.plant, append(append([]string{}, w.run...), w.plan.Unit)))
}

// leap is one step of a course.
type leap struct {
	from, dt float64 // s after now
	hours    float64 // dt in hours
	running  *wet
	standing *wet
	k0, k1   int // the inflow at both ends lies between these days of the grid and the next
	a0, a1   float64
}

// wet is the pond with certain machines running in a certain month, for a certain step.
type wet struct {
	routing *pond.Routing
	draw    *drawTable
	outflow func(volume float64) float64

	gives       bool // any power at all
	lowV, perM3 float64
	kw          [powerKnots]float64 // power at equally spaced volumes, so that a step need not ask for the level
}

const powerKnots = 65

// kwAt is the power with a volume in the pond, kW.
func (w *wet) kwAt(volume float64) float64 {
	u := (volume - w.lowV) * w.perM3
	switch { // spelt out: the ensemble comes here a million times
	case u < 0:
		u = 0
	case u > powerKnots-1:
		u = powerKnots - 1
	}
	i := min(int(u), powerKnots-2)
	return w.kw[i] + (u-float64(i))*(w.kw[i+1]-w.kw[i])
}

// course is a way of running made ready: its steps to the horizon.
type course struct {
	way   way
	leaps []leap
}

// channel makes and keeps the routings that courses need.
type channel struct {
	b        *basin
	at       time.Time
	bypass   float64
	iced     bool
	lowV     float64
	highV    float64
	routings map[channelKey]*wet
}

type channelKey struct {
	draw    *drawTable
	seconds float64
	month   time.Month
	iced    bool
}

func newChannel(b *basin, at time.Time, bypass float64, iced bool, levelM float64) *channel {
	low, high := math.Min(b.stage.LowM(), b.stopM)-1, math.Max(b.stage.HighM(), levelM)
	if p := b.plant.Pond.PermitLowM; p != nil {
		low = math.Min(low, *p-1)
	}
	if b.weir != nil {
		high = math.Max(high, b.weir.CrestM)
	}
	c := &channel{b: b, at: at, bypass: bypass, iced: iced, lowV: b.stage.VolumeM3(low), highV: b.stage.VolumeM3(high + 1.5),
		routings: map[channelKey]*wet{}}
	return c
}

// iceLasts is how long an ice cover that was read is taken to stay, at most.
const iceLasts = 60 * 24 * time.Hour

// wet returns the pond with certain machines for a step.
func (c *channel) wet(draw *drawTable, mid time.Time, seconds float64) (*wet, error) {
	key := channelKey{draw, seconds, mid.In(c.b.loc).Month(), c.iced && mid.Sub(c.at) < iceLasts}
	if w, ok := c.routings[key]; ok {
		return w, nil
	}
	apart := (c.highV - c.lowV) / (powerKnots - 1)
	w := &wet{draw: draw, lowV: c.lowV, perM3: 1 / apart}
	for i := range w.kw {
		_, w.kw[i] = draw.at(c.b.stage.LevelM(c.lowV + float64(i)*apart))
		w.gives = w.gives || w.kw[i] != 0
	}
	w.outflow = func(v float64) float64 {
		level := c.b.stage.LevelM(v)
		q, _ := c.b.losses(level, c.b.stage.AreaM2(level), c.bypass, key.month, key.iced)
		return q + draw.meanAt(level)
	}
	var err error
	if w.routing, err = pond.NewRouting(seconds, c.lowV, c.highV, w.outflow); err != nil {
		return nil, fmt.Errorf("the pond cannot be followed in steps of %.0f s: %w", seconds, err)
	}
	c.routings[key] = w
	return w, nil
}

// course makes a way ready on a grid of days.
func (c *channel) course(w way, days []float64) (*course, error) {
	out := &course{way: w}
	always, during, none := w.always(c.b), w.during(c.b), c.b.draws.table(nil)
	edges := c.edges(w, days)
	for i := 1; i < len(edges); i++ {
		from, dt := edges[i-1], edges[i]-edges[i-1]
		mid := c.at.Add(time.Duration((from + dt/2) * float64(time.Second)))
		draw := always
		if w.plan != nil && w.part.Holds(mid.In(c.b.loc)) {
			draw = during
		}
		l := leap{from: from, dt: dt, hours: dt / 3600}
		var err error
		if l.running, err = c.wet(draw, mid, dt); err != nil {
			return nil, err
		}
		if l.standing, err = c.wet(none, mid, dt); err != nil {
			return nil, err
		}
		l.k0, l.a0 = place(days, from/secondsPerDay)
		l.k1, l.a1 = place(days, edges[i]/secondsPerDay)
		out.leaps = append(out.leaps, l)
	}
	return out, nil
}

// edges are the ends of a course's steps, s: those of the grid, or for part of the day, the changes, cut where a stretch
// is longer than the grid's step.
func (c *channel) edges(w way, days []float64) []float64 {
	if w.plan == nil {
		edges := make([]float64, len(days))
		for i, d := range days {
			edges[i] = math.Round(d * secondsPerDay)
		}
		return edges
	}
	end := days[len(days)-1] * secondsPerDay
	edges := []float64{0}
	until := c.at.Add(time.Duration(end * float64(time.Second)))
	add := func(to float64) {
		from := edges[len(edges)-1]
		k, _ := place(days, from/secondsPerDay)
		longest := (days[k+1] - days[k]) * secondsPerDay
		n := math.Ceil((to-from)/longest - 1e-9)
		for i := 1.0; i <= n; i++ {
			edges = append(edges, math.Round(from+(to-from)*i/n))
		}
	}
	for _, t := range w.part.Changes(c.at.In(c.b.loc), until) {
		add(t.Sub(c.at).Seconds())
	}
	if end > edges[len(edges)-1] {
		add(end)
	}
	return edges
}

// place finds where a day lies in the grid: between k and k+1, a share a of the way.
func place(days []float64, day float64) (k int, a float64) {
	lo, hi := 0, len(days)-2
	for lo < hi {
		mid := (lo + hi + 1) / 2
		if days[mid] <= day {
			lo = mid
		} else {
			hi = mid - 1
		}
	}
	return lo, math.Min(1, math.Max(0, (day-days[lo])/(days[lo+1]-days[lo])))
}
