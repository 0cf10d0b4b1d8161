package week

import (
	"maps"
	"slices"
	"sort"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// Carry is all that later days need to know of the time before At: with it and the entries from At on, they are worked out
// to the bit as with the whole log.
type Carry struct {
	At    int64 `cbor:"1,keyasint"` // ms; everything before it has been taken in
	Begin int64 `cbor:"2,keyasint"` // beginning of the log's first day

	Units    map[string]UnitState    `cbor:"3,keyasint,omitempty"` // of every unit of any revision
	WaterC   *Seen                   `cbor:"5,keyasint,omitempty"` // last water temperature
	Elements map[string]ElementState `cbor:"6,keyasint,omitempty"` // by the last event of each
	Tracks   map[string]TrackState   `cbor:"7,keyasint,omitempty"`
	States   map[string]Seen         `cbor:"8,keyasint,omitempty"`  // last judged reading of each quantity
	Open     []StopRow               `cbor:"9,keyasint,omitempty"`  // stops that last, oldest first
	Sums     map[string]Sum          `cbor:"10,keyasint,omitempty"` // of all whole days before At
	// Levels are the last pond levels, oldest first, back to one that is believed: against them a later one is held to be possible or
	// a slip of the pen. The state of one that is believed is levelBelieved.
	Levels []Seen `cbor:"11,keyasint,omitempty"`
	// Common is what ran on the common bus just before At, and since when nothing had changed there. The units' own states do not tell
	// it where a revision had moved a unit to another bus meanwhile.
	Common CommonState `cbor:"12,keyasint"`
}

// CommonState is what ran on the common bus and since when.
type CommonState struct {
	Set   string `cbor:"1,keyasint,omitempty"`
	Stood bool   `cbor:"2,keyasint,omitempty"`
	Since int64  `cbor:"3,keyasint,omitempty"` // ms; 0 where no change of it is known
}

// UnitState is a unit's running state and since when.
type UnitState struct {
	On    bool  `cbor:"1,keyasint,omitempty"` // else off; an unknown one has no entry
	Since int64 `cbor:"2,keyasint"`
}

// ElementState is what the last event of a ballast element said.
type ElementState struct {
	Working bool  `cbor:"1,keyasint,omitempty"`
	At      int64 `cbor:"2,keyasint"`
}

// TrackState is the last reading of a power and of its meters.
type TrackState struct {
	Last   *PowerAt `cbor:"1,keyasint,omitempty"`
	Spread Spread   `cbor:"2,keyasint"`
	Meter  *MeterAt `cbor:"3,keyasint,omitempty"`
}

// PowerAt is a power at a time.
type PowerAt struct {
	At     int64   `cbor:"1,keyasint"`
	KW     float64 `cbor:"2,keyasint,omitempty"`
	Err    float64 `cbor:"3,keyasint,omitempty"`
	spread Spread  // after this reading
}

// MeterAt is one reading of the meters of a track, together.
type MeterAt struct {
	At   int64     `cbor:"1,keyasint"`
	Keys []string  `cbor:"2,keyasint"`
	V    []float64 `cbor:"3,keyasint"`
	Err  float64   `cbor:"4,keyasint,omitempty"`
	// Spread is how much the track's power differed among its readings up to this one, kW.
	Spread float64 `cbor:"5,keyasint,omitempty"`
	// Ran is how long the units were not known to stand from this reading to the carry's At, ms.
	Ran int64 `cbor:"6,keyasint,omitempty"`
}

// CarryAt is what later days need to know of all before the end of days that were worked out by this ledger, oldest first and
// beginning where the ledger does.
func (l *Ledger) CarryAt(days []Day) Carry {
	if n := len(days); n > 0 {
		return l.carries(days)[n-1].carry
	}
	return l.carryAt(l.start, l.carry.Sums)
}

func (l *Ledger) carryAt(ms int64, sums map[string]Sum) Carry {
	c := Carry{At: ms, Begin: l.carry.Begin, WaterC: l.carry.WaterC, States: map[string]Seen{}, Tracks: map[string]TrackState{},
		Units: map[string]UnitState{}, Elements: maps.Clone(l.carry.Elements), Open: l.openAt(ms), Sums: maps.Clone(sums)}
	l.carryUnits(&c, ms)
	l.carryReadings(&c, ms)
	l.carryLevels(&c, ms)
	return c
}

// carryUnits carries what runs and which ballast elements work just before a time.
func (l *Ledger) carryUnits(c *Carry, ms int64) {
	before := at(ms - 1)
	states := l.timeline.At(before)
	for _, id := range l.unitIDs() {
		since, ok := l.timeline.Since(id, before)
		if ok {
			c.Units[id] = UnitState{On: states[id] == record.On, Since: since.UnixMilli()}
		}
	}
	s := l.setAt(scopeCommon, ms-1)
	c.Common = CommonState{Set: s.set, Stood: s.stood}
	if s.from > l.spanStart {
		c.Common.Since = s.from
	}
	for _, e := range l.h.Events { // in order of time, the last word last
		when := e.Time.UnixMilli()
		if e.Element == "" || when >= ms {
			continue
		}
		switch e.Kind {
		case record.ElementOut, record.ElementIn:
			put(&c.Elements, e.Element, ElementState{Working: e.Kind == record.ElementIn, At: when})
		case record.Start, record.Stop, record.Trip, record.Alarm, record.Repair, record.NoteEvent:
		}
	}
}

const (
	levelBelieved = "in"
	// levelsCarried is how many levels are carried at least: more than assess asks for the possibility of a later one.
	levelsCarried = 8
)

// carryLevels carries the last pond levels before a time; what was carried here already is carried on as it was judged then.
func (l *Ledger) carryLevels(c *Carry, ms int64) {
	k := quantity.Key(quantity.PondLevelM)
	believed := false
	add := func(s Seen) {
		c.Levels = append(c.Levels, s)
		believed = believed || s.State == levelBelieved
	}
	enough := func() bool { return believed && len(c.Levels) >= levelsCarried }
	end := sort.Search(len(l.rounds), func(i int) bool { return l.rounds[i].at >= ms })
	for i := end - 1; i >= 0 && !enough(); i-- {
		n := &l.rounds[i]
		v, ok := n.raw.Value(k)
		if !ok {
			continue
		}
		s := Seen{V: v, At: n.at, ID: n.r.ID}
		if !slices.Contains(n.slips, k) {
			s.State = levelBelieved
		}
		add(s)
	}
	for i := len(l.carry.Levels) - 1; i >= 0 && !enough(); i-- {
		add(l.carry.Levels[i])
	}
	slices.Reverse(c.Levels)
}

// carryReadings carries the last readings of everything.
func (l *Ledger) carryReadings(c *Carry, ms int64) {
	for i := range l.rounds {
		n := &l.rounds[i]
		if n.at >= ms {
			break
		}
		if v, ok := n.raw.Value(quantity.Key(quantity.WaterC)); ok {
			c.WaterC = &Seen{V: v, At: n.at}
		}
	}
	for _, t := range l.tracks {
		s := TrackState{Spread: t.spread}
		if i := t.lastBefore(ms); i >= 0 {
			p := t.points[i]
			s.Last, s.Spread = &PowerAt{At: p.At, KW: p.KW, Err: p.Err}, p.spread
			s.Spread.Set = t.sets[i]
		}
		if m := sort.Search(len(t.meters), func(i int) bool { return t.meters[i].At >= ms }); m > 0 {
			last := t.meters[m-1]
			last.Ran = l.ran(t, last, ms)
			s.Meter = &last
		}
		if s.Last != nil || s.Meter != nil {
			c.Tracks[t.name] = s
		}
	}
	for _, k := range sortedKeys(l.judged) {
		t := l.judged[k]
		if m := sort.Search(len(t.seen), func(i int) bool { return t.seen[i].At >= ms }); m > 0 {
			c.States[k] = t.seen[m-1]
		}
	}
}
