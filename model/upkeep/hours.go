package upkeep

import (
	"sort"
	"time"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// Ran is how long a unit ran.
type Ran struct {
	Hours  float64
	Known  bool // false where the log does not tell all of that time: it may be more
	Jumped bool // an hour meter fell or rose faster than the clock; that stretch is counted from rounds and events
}

// RunningHours is how long a unit ran from a time to the history's end: by its hour meter between the readings of it, else by
// what rounds and events say. Without a unit it is the plant's own meter, where that is read, else the longest of any unit.
// What History.Earlier brings counts too.
func RunningHours(h *record.History, unit string, since time.Time) Ran {
	return newCounter(h).ran(unit, since, h.At)
}

// counter counts running hours over a history and over what it brings from before its own rounds.
type counter struct {
	at       time.Time
	units    []string
	rounds   []record.Round // oldest first
	timeline *record.Timeline
	readings map[quantity.Key][]reading // of hour meters, oldest first
}

// reading is what an hour meter showed.
type reading struct {
	at time.Time
	v  float64
}

func newCounter(h *record.History) *counter {
	c := &counter{at: h.At, rounds: h.Rounds, readings: map[quantity.Key][]reading{}}
	if h.Plant != nil {
		c.units = h.Plant.UnitIDs()
	}
	events := h.Events
	if e := h.Earlier; e != nil {
		c.rounds = append(append(make([]record.Round, 0, len(e.Rounds)+len(h.Rounds)), e.Rounds...), h.Rounds...)
		events = append(append(make([]record.Event, 0, len(e.Events)+len(h.Events)), e.Events...), h.Events...)
	}
	c.timeline = record.NewTimeline(c.units, c.rounds, events)
	for _, unit := range append([]string{""}, c.units...) {
		k := quantity.NewKey(unit, quantity.Hours)
		for _, r := range c.rounds {
			if v, ok := r.Value(k); ok && !r.Time.After(h.At) {
				c.readings[k] = append(c.readings[k], reading{r.Time, v})
			}
		}
		sort.SliceStable(c.readings[k], func(i, j int) bool { return c.readings[k][i].at.Before(c.readings[k][j].at) })
	}
	return c
}

// ran counts one unit's hours of a stretch of time, or for no unit those that stand for the whole plant.
func (c *counter) ran(unit string, from, to time.Time) Ran {
	plant := quantity.NewKey("", quantity.Hours)
	if unit != "" {
		k := quantity.NewKey(unit, quantity.Hours)
		if len(c.since(k, from)) == 0 && len(c.units) == 1 {
			k = plant // the one meter of a plant with one set
		}
		return c.metered(c.since(k, from), []string{unit}, from, to)
	}
	if list := c.since(plant, from); len(list) >= 2 {
		return c.metered(list, c.units, from, to)
	}
	most := Ran{Known: true}
	for _, u := range c.units {
		r := c.ran(u, from, to)
		most.Hours = max(most.Hours, r.Hours)
		most.Known, most.Jumped = most.Known && r.Known, most.Jumped || r.Jumped
	}
	return most
}

// meterDays is how old a reading of an hour meter may be to tell, with the next one, what was gained from a time between the
// two. An older one says too little of it.
const meterDays = 7

// since are the readings of a meter from a time on, with the last one before it if that is not too old.
func (c *counter) since(k quantity.Key, from time.Time) []reading {
	list := c.readings[k]
	i := sort.Search(len(list), func(i int) bool { return !list[i].at.Before(from) })
	if i > 0 && !list[i-1].at.Before(from.AddDate(0, 0, -meterDays)) {
		i--
	}
	return list[i:]
}

// metered adds up a stretch: between two readings what the meter gained, before the first and after the last what rounds and
// events say of the units.
func (c *counter) metered(list []reading, units []string, from, to time.Time) Ran {
	sum := Ran{Known: true}
	if !to.After(from) {
		return sum
	}
	add := func(hours float64, known bool) { sum.Hours, sum.Known = sum.Hours+hours, sum.Known && known }
	at := from
	for i := 1; i < len(list); i++ {
		a, b := list[i-1], list[i]
		if !b.at.After(from) || !a.at.Before(to) {
			continue
		}
		if a.at.After(at) {
			add(c.on(units, at, a.at))
		}
		lo, hi := later(a.at, from), earlier(b.at, to)
		gained, ok := gain(a, b)
		switch {
		case !ok:
			sum.Jumped = true
			add(c.on(units, lo, hi))
		case lo.Equal(a.at) && hi.Equal(b.at):
			add(gained, true)
		default: // a part of the stretch between two readings
			add(c.part(gained, a.at, b.at, lo, hi, units))
		}
		at = hi
	}
	if to.After(at) {
		add(c.on(units, at, to))
	}
	return sum
}

// gain is what a meter counted between two readings. A fall is a replaced meter, and no meter counts faster than the clock:
// what is more than an hour and a fiftieth too much is a slip of the pen. Our own bound, from meters that are read to the hour.
func gain(a, b reading) (hours float64, ok bool) {
	hours = b.v - a.v
	clock := b.at.Sub(a.at).Hours()
	return hours, hours >= 0 && hours <= clock*1.02+1
}

// part gives lo to hi its part of what the meter gained from a to b: what rounds and events say of the rest is taken off. Where
// they do not say, it is the part that the time has.
func (c *counter) part(gained float64, a, b, lo, hi time.Time, units []string) (hours float64, known bool) {
	whole, span := b.Sub(a).Hours(), hi.Sub(lo).Hours()
	before, knownBefore := c.on(units, a, lo)
	after, knownAfter := c.on(units, hi, b)
	if !knownBefore || !knownAfter {
		return gained * span / whole, true
	}
	return min(span, max(0, gained-before-after)), true
}

// on adds up the time for which any of the units was known to run; known is false where part of the stretch is unknown.
func (c *counter) on(units []string, from, to time.Time) (hours float64, known bool) {
	known = true
	for _, s := range c.timeline.Segments(from, to) {
		state := record.Off
		for _, u := range units {
			switch s.State[u] {
			case record.On:
				state = record.On
			case record.Unknown:
				if state == record.Off {
					state = record.Unknown
				}
			case record.Off:
			}
		}
		switch state {
		case record.On:
			hours += s.To.Sub(s.From).Hours()
		case record.Unknown:
			known = false
		case record.Off:
		}
	}
	return hours, known
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
