package record

import (
	"slices"
	"sort"
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
	}
	return "unknown"
}

// Segment is a stretch of time in which nothing changed.
type Segment struct {
	From, To time.Time
	State    map[string]Running
}

// Timeline is which units ran when, as rounds and events tell it. Looking up a time costs the logarithm of its length.
type Timeline struct {
	units []string
	steps []step // by time; at equal times events before the round
}

type step struct {
	at    time.Time
	round bool
	set   map[string]Running
	after []Running // the state of every unit once this step was taken, in the order of units
}

// NewTimeline reads the running state from rounds and events in any order.
//
// A round's Running sets every unit, an unread one sets none. A start, stop or trip with units sets those alone; a stop or
// trip without sets all off; a start without units sets none. At equal times events come before the round.
func NewTimeline(units []string, rounds []Round, events []Event) *Timeline {
	t := &Timeline{units: append([]string(nil), units...)}
	for _, e := range events {
		if set := eventSets(e, units); len(set) > 0 {
			t.steps = append(t.steps, step{at: e.Time, set: set})
		}
	}
	for _, r := range rounds {
		if r.Running != nil {
			t.steps = append(t.steps, step{at: r.Time, round: true, set: roundSets(r, units)})
		}
	}
	sort.SliceStable(t.steps, func(i, j int) bool {
		a, b := t.steps[i], t.steps[j]
		if !a.at.Equal(b.at) {
			return a.at.Before(b.at)
		}
		return !a.round && b.round
	})
	t.accumulate()
	return t
}

// accumulate works out the state after each step.
func (t *Timeline) accumulate() {
	before := make([]Running, len(t.units))
	for i := range t.steps {
		after := append([]Running(nil), before...)
		for j, u := range t.units {
			if r, ok := t.steps[i].set[u]; ok {
				after[j] = r
			}
		}
		t.steps[i].after, before = after, after
	}
}

func roundSets(r Round, units []string) map[string]Running {
	set := make(map[string]Running, len(units))
	for _, u := range units {
		set[u] = Off
	}
	for _, u := range *r.Running {
		set[u] = On
	}
	return set
}

func eventSets(e Event, units []string) map[string]Running {
	state := Off
	switch e.Kind {
	case Start:
		state = On
	case Stop, Trip:
	case ElementOut, ElementIn, Alarm, Repair, NoteEvent:
		return nil
	default:
		return nil
	}
	named := e.Units
	if len(named) == 0 {
		if state == On {
			return nil
		}
		named = units
	}
	set := make(map[string]Running, len(named))
	for _, u := range named {
		set[u] = state
	}
	return set
}

// first returns the number of steps taken up to a time, those at that very instant included.
func (t *Timeline) first(at time.Time) int {
	return sort.Search(len(t.steps), func(i int) bool { return t.steps[i].at.After(at) })
}

// state is the state after n steps; the slice must not be changed.
func (t *Timeline) state(n int) []Running {
	if n == 0 {
		return make([]Running, len(t.units))
	}
	return t.steps[n-1].after
}

// At returns the state of every unit in force at a time, changes at that very instant included.
func (t *Timeline) At(at time.Time) map[string]Running {
	return t.byID(t.state(t.first(at)))
}

func (t *Timeline) byID(state []Running) map[string]Running {
	m := make(map[string]Running, len(t.units))
	for i, u := range t.units {
		m[u] = state[i]
	}
	return m
}

// RunningAt returns the ids of the units that run at a time, in the plant's order, and false while any unit is unknown.
func (t *Timeline) RunningAt(at time.Time) ([]string, bool) {
	ids := []string{}
	for i, r := range t.state(t.first(at)) {
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
	n := t.first(from)
	state := t.state(n)
	segs := []Segment{{From: from, State: t.byID(state)}}
	for _, s := range t.steps[n:] {
		if !s.at.Before(to) {
			break
		}
		if slices.Equal(s.after, state) {
			continue
		}
		state = s.after
		segs[len(segs)-1].To = s.at
		segs = append(segs, Segment{From: s.at, State: t.byID(state)})
	}
	segs[len(segs)-1].To = to
	return mend(segs)
}

// mend joins what several steps at one instant cut into segments of no length.
func mend(segs []Segment) []Segment {
	out := segs[:0]
	for _, s := range segs {
		if s.To.After(s.From) {
			out = append(out, s)
		}
	}
	return out
}

// Since returns when the unit's state at a time began, or false when it is unknown.
func (t *Timeline) Since(unit string, at time.Time) (time.Time, bool) {
	state, since := Unknown, time.Time{}
	for _, s := range t.steps {
		if s.at.After(at) {
			break
		}
		if r, ok := s.set[unit]; ok && r != state {
			state, since = r, s.at
		}
	}
	return since, state != Unknown
}

// Timeline reads the running state of the whole history under the plant in force.
func (h *History) Timeline() *Timeline {
	if h.Plant == nil {
		return NewTimeline(nil, h.Rounds, h.Events)
	}
	return NewTimeline(h.Plant.UnitIDs(), h.Rounds, h.Events)
}

// ElementsWorking returns which ballast elements work at a time: the plant file's word at commissioning, then the
// element-out and element-back events up to that time.
func (h *History) ElementsWorking(at time.Time) map[string]bool {
	working := map[string]bool{}
	p := h.PlantAt(at)
	if p == nil {
		return working
	}
	for _, e := range p.Ballast.Elements {
		working[e.Name] = e.Working
	}
	for _, e := range h.Events {
		if e.Time.After(at) {
			break
		}
		if _, known := working[e.Element]; !known {
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
