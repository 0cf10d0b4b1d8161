package record

import (
	"slices"
	"sort"
	"strings"
	"time"
)

// Running is what is known of one unit.
type Running int8

// The three states of a unit. Unknown is not off: the forecast and the energy sums must not treat it so.
const (
	Unknown Running = iota
	Off
	On
)

// String returns "unknown", "off" or "on".
func (r Running) String() string {
	switch r {
	case On:
		return "on"
	case Off:
		return "off"
	case Unknown:
	}
	return "unknown"
}

// Segment is a stretch of time, From inclusive and To exclusive, in which nothing changed. It is never empty.
type Segment struct {
	From, To time.Time
	State    map[string]Running
}

// Timeline is which units ran when, as rounds and events tell it. It speaks of the units that it was made for; the ids of
// others, such as a set that an earlier revision of the plant had, are left out.
type Timeline struct {
	units []string
	steps []step // by time, one an instant
}

// step is the state of every unit from an instant on, in the order of the units.
type step struct {
	at    time.Time
	state []Running
}

// change is what one round or event says of some units.
type change struct {
	at, written time.Time
	id          string
	round       bool
	all         Running // for the units not in named; Unknown: they stay as they are
	named       []string
	to          Running // for the units in named
}

// NewTimeline reads the running state from rounds and events in any order.
//
// A round's Running sets every unit, an unread one sets none. A start, stop or trip with units sets those alone; a stop or
// trip without sets all off; a start without units sets none. At equal times events come before the round, and among
// events, or rounds, the one written down later is the last word.
func NewTimeline(units []string, rounds []Round, events []Event) *Timeline {
	changes := make([]change, 0, len(rounds)+len(events))
	for _, e := range events {
		if c, ok := eventChange(e); ok {
			changes = append(changes, c)
		}
	}
	for _, r := range rounds {
		if r.Running != nil {
			changes = append(changes, change{at: r.Time, written: r.WrittenAt, id: r.ID, round: true, all: Off, named: *r.Running, to: On})
		}
	}
	if !slices.IsSortedFunc(changes, inOrder) {
		slices.SortStableFunc(changes, inOrder)
	}
	t := &Timeline{units: slices.Clone(units)}
	state := make([]Running, len(units))
	for _, c := range changes {
		for i, u := range units {
			if slices.Contains(c.named, u) {
				state[i] = c.to
			} else if c.all != Unknown {
				state[i] = c.all
			}
		}
		t.put(c.at, state)
	}
	return t
}

// put keeps the state from an instant on. A second one at the same instant replaces the first, which held for no time.
func (t *Timeline) put(at time.Time, state []Running) {
	n := len(t.steps)
	if n > 0 && t.steps[n-1].at.Equal(at) {
		copy(t.steps[n-1].state, state)
		return
	}
	if n > 0 && slices.Equal(t.steps[n-1].state, state) {
		return // most rounds say nothing new
	}
	t.steps = append(t.steps, step{at: at, state: slices.Clone(state)})
}

func inOrder(a, b change) int {
	if c := a.at.Compare(b.at); c != 0 {
		return c
	}
	if a.round != b.round {
		if b.round {
			return -1
		}
		return 1
	}
	if c := a.written.Compare(b.written); c != 0 {
		return c
	}
	return strings.Compare(a.id, b.id)
}

func eventChange(e Event) (change, bool) {
	c := change{at: e.Time, written: e.WrittenAt, id: e.ID, named: e.Units}
	switch e.Kind {
	case Start:
		c.to = On
		return c, len(e.Units) > 0
	case Stop, Trip:
		c.to = Off
		if len(e.Units) == 0 {
			c.all = Off
		}
		return c, true
	case ElementOut, ElementIn, Alarm, Repair, NoteEvent:
	}
	return change{}, false
}

// before returns how many steps are at or before a time.
func (t *Timeline) before(at time.Time) int {
	return sort.Search(len(t.steps), func(i int) bool { return t.steps[i].at.After(at) })
}

// stateAt returns the states in the order of the units; the slice is the timeline's own.
func (t *Timeline) stateAt(at time.Time) []Running {
	if n := t.before(at); n > 0 {
		return t.steps[n-1].state
	}
	return make([]Running, len(t.units))
}

// At returns the state of every unit in force at a time, changes at that very instant included.
func (t *Timeline) At(at time.Time) map[string]Running { return t.byUnit(t.stateAt(at)) }

func (t *Timeline) byUnit(state []Running) map[string]Running {
	m := make(map[string]Running, len(t.units))
	for i, u := range t.units {
		m[u] = state[i]
	}
	return m
}

// RunningAt returns the ids of the units that run at a time, in the plant's order, and false while any unit is unknown.
func (t *Timeline) RunningAt(at time.Time) ([]string, bool) {
	ids := []string{}
	for i, r := range t.stateAt(at) {
		switch r {
		case On:
			ids = append(ids, t.units[i])
		case Unknown:
			return nil, false
		case Off:
		}
	}
	return ids, true
}

// Segments cuts [from, to) at every change of state. It is empty when to is not after from.
func (t *Timeline) Segments(from, to time.Time) []Segment {
	if !to.After(from) {
		return nil
	}
	state := t.stateAt(from)
	segs := []Segment{{From: from, To: to, State: t.byUnit(state)}}
	for _, s := range t.steps[t.before(from):] {
		if !s.at.Before(to) {
			break
		}
		if slices.Equal(s.state, state) {
			continue
		}
		state = s.state
		segs[len(segs)-1].To = s.at
		segs = append(segs, Segment{From: s.at, To: to, State: t.byUnit(state)})
	}
	return segs
}

// Since returns when the unit's state at a time began, as far as the timeline tells, or false when it is unknown.
func (t *Timeline) Since(unit string, at time.Time) (time.Time, bool) {
	u, n := slices.Index(t.units, unit), t.before(at)
	if u < 0 || n == 0 || t.steps[n-1].state[u] == Unknown {
		return time.Time{}, false
	}
	i := n - 1
	for i > 0 && t.steps[i-1].state[u] == t.steps[i].state[u] {
		i--
	}
	return t.steps[i].at, true
}

// Timeline reads the running state of the whole history, for the units of the plant in force.
func (h *History) Timeline() *Timeline {
	if h.Plant == nil {
		return NewTimeline(nil, h.Rounds, h.Events)
	}
	return NewTimeline(h.Plant.UnitIDs(), h.Rounds, h.Events)
}

// ElementsWorking returns which ballast elements work at a time: the word of the plant file in force then, as at
// commissioning, and the element-out and element-back events up to that time.
func (h *History) ElementsWorking(at time.Time) map[string]bool {
	working := map[string]bool{}
	p := h.PlantAt(at)
	if p == nil {
		return working
	}
	for _, e := range p.Ballast.Elements {
		working[e.Name] = e.Working
	}
	events := slices.Clone(h.Events)
	slices.SortStableFunc(events, func(a, b Event) int {
		return inOrder(change{at: a.Time, written: a.WrittenAt, id: a.ID}, change{at: b.Time, written: b.WrittenAt, id: b.ID})
	})
	for _, e := range events {
		if _, known := working[e.Element]; !known || e.Time.After(at) {
			continue
		}
		switch e.Kind {
		case ElementOut:
			working[e.Element] = false
		case ElementIn:
			working[e.Element] = true
		case Start, Stop, Trip, Alarm, Repair, NoteEvent:
		}
	}
	return working
}
