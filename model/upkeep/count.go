package upkeep

import (
	"slices"
	"sort"
	"time"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// CountVersion is raised whenever counts that were kept would come out otherwise now, so that they are made again.
const CountVersion = 1

// meterDays is how old a reading of an hour meter may be to tell, with the next one, what was gained from a time between the
// two. An older one says too little of it.
const meterDays = 7

// countingOf is the counting of a meter, a unit's or "" for the plant's own, from a time on.
func countingOf(meter string, units []string, from time.Time) record.Counting {
	return record.Counting{Meter: quantity.NewKey(meter, quantity.Hours), Units: units, From: from, Look: from.AddDate(0, 0, -meterDays)}
}

// tally is a counting on its way: between two readings of its meter what that gained, before the first and after the last what
// rounds and events say of the units. It can stop at any instant, be kept, and go on from there.
type tally struct {
	record.Count
	at   time.Time // up to where rounds and events are counted as open
	rest []reading // those still to come
}

// readings is how many readings the counting has, those still to come included.
func (t *tally) readings() int { return t.Readings + len(t.rest) }

// begin takes a counting up: where it was kept, from there.
func (c *counter) begin(g record.Counting) *tally {
	list := c.readings[g.Meter]
	from := func(at time.Time) int {
		return sort.Search(len(list), func(i int) bool { return !list[i].at.Before(at) })
	}
	if c.kept != nil {
		if n, ok := c.kept.Find(g); ok {
			return &tally{Count: n, at: c.kept.Until, rest: list[from(c.kept.Until):]}
		}
	}
	i := from(g.From)
	if i > 0 && !list[i-1].at.Before(g.Look) {
		i-- // the last one before, if it is not too old
	}
	t := &tally{Count: record.Count{Counting: g, Known: true, OpenKnown: true, BeforeKnown: true}, at: g.From, rest: list[i:]}
	if c.kept != nil && g.Look.Before(c.kept.Until) {
		t.Known = false // neither counted nor brought
	}
	return t
}

// end is what a counting comes to at a time.
func (c *counter) end(t *tally, to time.Time) Ran {
	if !to.After(t.From) {
		return Ran{Known: true}
	}
	for _, r := range t.rest {
		c.take(t, r, to)
	}
	c.settle(t, to)
	return Ran{Hours: t.Hours, Known: t.Known, Jumped: t.Jumped}
}

// pause counts up to an instant, from which the counting can go on: what happened at the instant itself belongs to that.
func (c *counter) pause(t *tally, at time.Time) {
	for len(t.rest) > 0 && t.rest[0].at.Before(at) {
		c.take(t, t.rest[0], at)
		t.rest = t.rest[1:]
	}
	c.open(t, at)
}

// take goes on to the next reading of the meter, and counts no further than to.
func (c *counter) take(t *tally, b reading, to time.Time) {
	a := reading{at: t.Last, v: t.LastHours}
	switch {
	case t.Readings == 0:
		c.settle(t, earlier(b.at, to))
	case b.at.After(t.From) && a.at.Before(to):
		lo, hi := later(a.at, t.From), earlier(b.at, to)
		gained, ok := gain(a, b)
		switch {
		case !ok:
			t.Jumped = true
			c.settle(t, hi)
		case lo.Equal(a.at) && hi.Equal(b.at):
			t.Hours += gained
		default: // a part of the stretch between two readings
			hours, known := c.part(t, gained, b.at, hi)
			t.Hours, t.Known = t.Hours+hours, t.Known && known
		}
		t.Open, t.OpenKnown, t.at = 0, true, hi
	}
	t.Readings++
	t.Last, t.LastHours = b.at, b.v
	t.Before, t.BeforeKnown = c.on(t.Units, b.at, t.From) // nothing where it does not stand before
}

// part gives its part of what the meter gained since the last reading to the time up to hi and, where that reading stands before
// the counting's beginning, from there on: what rounds and events say of the rest is taken off. Where they do not say, it is the
// part that the time has.
func (c *counter) part(t *tally, gained float64, b, hi time.Time) (hours float64, known bool) {
	whole, span := b.Sub(t.Last).Hours(), hi.Sub(later(t.Last, t.From)).Hours()
	after, knownAfter := c.on(t.Units, hi, b)
	if !t.BeforeKnown || !knownAfter {
		return gained * span / whole, true
	}
	return min(span, max(0, gained-t.Before-after)), true
}

// open counts up to a time what rounds and events say.
func (c *counter) open(t *tally, to time.Time) {
	if to.After(t.at) {
		hours, known := c.on(t.Units, t.at, to)
		t.Open, t.OpenKnown, t.at = t.Open+hours, t.OpenKnown && known, to
	}
}

// settle counts up to a time what rounds and events say, for good.
func (c *counter) settle(t *tally, to time.Time) {
	c.open(t, to)
	t.Hours, t.Known = t.Hours+t.Open, t.Known && t.OpenKnown
	t.Open, t.OpenKnown = 0, true
}

// stretch is what a task's running hours are counted over, up to the history's end.
type stretch struct {
	unit string
	from time.Time
}

// stretches are those of the plant's tasks by hours.
func stretches(h *record.History) []stretch {
	if h.Plant == nil {
		return nil
	}
	var list []stretch
	for _, t := range h.Plant.Upkeep {
		if t.EveryHours != nil {
			list = append(list, stretch{t.Unit, since(h, t)})
		}
	}
	return list
}

// since is from when a task counts: when it was last done, else when the log or the task began.
func since(h *record.History, t plant.Task) time.Time {
	if d, ok := lastDone(h, t); ok {
		return d.Time
	}
	return begin(h, t)
}

// countings are all that a stretch's hours may be counted by.
func (s stretch) countings(units []string) []record.Counting {
	if s.unit != "" {
		list := []record.Counting{countingOf(s.unit, []string{s.unit}, s.from)}
		if len(units) == 1 {
			list = append(list, countingOf("", []string{s.unit}, s.from))
		}
		return list
	}
	list := []record.Counting{countingOf("", units, s.from)}
	for _, u := range units {
		list = append(list, stretch{u, s.from}.countings(units)...)
	}
	return list
}

// Countings are what the running hours of the tasks, and their pace, are counted by. Of what is older than a counting's Look it
// needs nothing.
func Countings(h *record.History) []record.Counting {
	var all []record.Counting
	for _, s := range stretches(h) {
		for _, s := range []stretch{s, {s.unit, h.At.AddDate(0, 0, -paceDays)}} {
			all = add(all, s.countings(h.Plant.UnitIDs()))
		}
	}
	return all
}

func add(to, list []record.Counting) []record.Counting {
	for _, g := range list {
		if !slices.ContainsFunc(to, g.Same) {
			to = append(to, g)
		}
	}
	return to
}

// CountUp gives what a history's tasks have run up to each of some instants, oldest first, to be kept: with it in
// History.Earlier nothing that is older need be there. The history must hold all that the tasks need (History.Earlier). Instants
// at which no task had begun to count, and those not after what was kept already, are left out. The pace is not in it, for it is
// counted from another time each day.
func CountUp(h *record.History, cuts []time.Time) []record.Counted {
	var all []record.Counting
	for _, s := range stretches(h) {
		all = add(all, s.countings(h.Plant.UnitIDs()))
	}
	if len(all) == 0 {
		return nil
	}
	c := newCounter(h)
	tallies := make([]*tally, len(all))
	for i, g := range all {
		tallies[i] = c.begin(g)
	}
	var list []record.Counted
	for _, at := range cuts {
		if c.kept != nil && !at.After(c.kept.Until) {
			continue
		}
		n := record.Counted{Until: at, Running: c.timeline.At(at.Add(-1))}
		for _, t := range tallies {
			if at.After(t.From) {
				c.pause(t, at)
				n.Counts = append(n.Counts, t.Count)
			}
		}
		if len(n.Counts) > 0 {
			list = append(list, n)
		}
	}
	return list
}

// Brings reports whether what was kept tells all that some countings need of the time before it.
func Brings(n *record.Counted, countings []record.Counting) bool {
	for _, g := range countings {
		for _, u := range g.Units {
			if _, ok := n.Running[u]; !ok {
				return false
			}
		}
		if _, ok := n.Find(g); !ok && g.Look.Before(n.Until) {
			return false
		}
	}
	return true
}
