package upkeep

import (
	"cmp"
	"slices"
	"strings"
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
	timeline *record.Timeline
	readings map[quantity.Key][]reading // of hour meters, oldest first
	kept     *record.Counted            // of what is older than all that is here; nil where nothing is
}

// reading is what an hour meter showed.
type reading struct {
	at time.Time
	id string
	v  float64
}

func newCounter(h *record.History) *counter {
	c := &counter{at: h.At, readings: map[quantity.Key][]reading{}}
	if h.Plant != nil {
		c.units = h.Plant.UnitIDs()
	}
	rounds, events := h.Rounds, h.Events
	if e := h.Earlier; e != nil {
		rounds = append(append(make([]record.Round, 0, len(e.Rounds)+len(h.Rounds)), e.Rounds...), h.Rounds...)
		events = append(append(make([]record.Event, 0, len(e.Events)+len(h.Events)), e.Events...), h.Events...)
		if c.kept = e.Counted; c.kept != nil {
			events = append(events, c.kept.Events()...)
		}
	}
	c.timeline = record.NewTimeline(c.units, rounds, events)
	for _, unit := range append([]string{""}, c.units...) {
		k := quantity.NewKey(unit, quantity.Hours)
		for _, r := range rounds {
			if v, ok := r.Value(k); ok && !r.Time.After(h.At) {
				c.readings[k] = append(c.readings[k], reading{r.Time, r.ID, v})
			}
		}
		slices.SortStableFunc(c.readings[k], func(a, b reading) int {
			return cmp.Or(a.at.Compare(b.at), strings.Compare(a.id, b.id))
		})
	}
	return c
}

// ran counts one unit's hours of a stretch of time, or for no unit those that stand for the whole plant.
func (c *counter) ran(unit string, from, to time.Time) Ran {
	if unit != "" {
		t := c.begin(countingOf(unit, []string{unit}, from))
		if len(c.units) == 1 && t.readings() == 0 {
			t = c.begin(countingOf("", []string{unit}, from)) // the one meter of a plant with one set
		}
		return c.end(t, to)
	}
	if t := c.begin(countingOf("", c.units, from)); t.readings() >= 2 {
		return c.end(t, to)
	}
	most := Ran{Known: true}
	for _, u := range c.units {
		r := c.ran(u, from, to)
		most.Hours = max(most.Hours, r.Hours)
		most.Known, most.Jumped = most.Known && r.Known, most.Jumped || r.Jumped
	}
	return most
}

// gain is what a meter counted between two readings. A fall is a replaced meter, and no meter counts faster than the clock:
// what is more than an hour and a fiftieth too much is a slip of the pen. Our own bound, from meters that are read to the hour.
func gain(a, b reading) (hours float64, ok bool) {
	hours = b.v - a.v
	clock := b.at.Sub(a.at).Hours()
	return hours, hours >= 0 && hours <= clock*1.02+1
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
