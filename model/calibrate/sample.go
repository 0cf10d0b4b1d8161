package calibrate

import (
	"math"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/clearing"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/steady"
)

// Which rounds have a clean screen: the screen was cleared on them or within cleanFor before, or a stick across it showed next
// to nothing. Our own choices: even in leaf-fall a day after a clearing the loss is a few millimetres.
const (
	cleanFor  = 24 * time.Hour
	cleanMM   = 20.0
	fastShare = 0.02 // a frequency so far off the rated one is no steady state of the controller
)

// reading is one number to be met, and how the solver's result gives it.
type reading struct {
	key   quantity.Key // whose reading
	value float64
	sd    float64
	unit  string // of one set; "" for the plant
	gauge quantity.Key
	what  measure
	round int // index into the sample's cases
}

type measure int

const (
	pressure measure = iota
	power
	flow
)

// sample is every reading of the rounds with a clean screen.
type sample struct {
	cases    []steady.Case
	times    []time.Time
	readings []reading
	ran      map[string]bool
	gauges   []quantity.Key
	skipped  int // rounds that were walked with a clean screen but tell nothing
}

// gather picks the rounds from from on and before to.
func gather(a *assess.Assessor, from, to time.Time) *sample {
	h := a.History()
	s := &sample{ran: map[string]bool{}}
	var cleared time.Time
	for i := range h.Rounds {
		r := &h.Rounds[i]
		if clearing.Cleared(*r) {
			cleared = r.Time
		}
		if r.Time.Before(from) || !r.Time.Before(to) || !clean(r, cleared) {
			continue
		}
		if !s.add(a, r) {
			s.skipped++
		}
	}
	return s
}

// clean reports whether a round was walked with a clean screen, the last clearing up to it being known.
func clean(r *record.Round, cleared time.Time) bool {
	if w, ok := r.Word(quantity.Key(quantity.Screen)); ok && !clearing.Cleared(*r) && w != "clear" {
		return false
	}
	mm, read := r.Value(quantity.Key(quantity.ScreenLossMM))
	if read && !clearing.Cleared(*r) {
		return mm <= cleanMM
	}
	return !cleared.IsZero() && r.Time.Sub(cleared) <= cleanFor
}

// add takes a round in and reports whether it tells anything: its own level must be one that the pond can have and its running
// units known, its valve open and its frequency held.
func (s *sample) add(a *assess.Assessor, r *record.Round) bool {
	p := a.History().Plant
	levelKey := quantity.Key(quantity.PondLevelM)
	c, err := a.Case(*r)
	if level, read := r.Value(levelKey); err != nil || !read || level != c.PondLevelM || len(c.Running) == 0 {
		return false
	}
	if w, ok := r.Word(quantity.Key(quantity.Valve)); ok && w != "open" {
		return false
	}
	if hz, ok := r.Value(quantity.Key(quantity.Hertz)); ok && math.Abs(hz/p.Supply.Hertz-1) > fastShare {
		return false
	}
	for _, id := range c.Running {
		if _, ok := p.UnitByID(id); !ok {
			return false // a set of an earlier description
		}
	}
	before := len(s.readings)
	round := len(s.cases)
	const kPaPerM = 9.80665 // of cold water, near enough for an error
	s.pressures(a, r, c, round, kPaPerM*p.ReadingError(levelKey))
	s.powers(a, r, c, round)
	s.flows(a, r, c, round)
	if len(s.readings) == before {
		return false
	}
	s.cases, s.times = append(s.cases, c), append(s.times, r.Time)
	for _, id := range c.Running {
		s.ran[id] = true
	}
	return true
}

// pressures takes the pressure gauges in. On a round on which the screen was cleared the pressure after it counts, and the
// intake pressure itself, which is read later on the walk.
func (s *sample) pressures(a *assess.Assessor, r *record.Round, c steady.Case, round int, levelKPa float64) {
	p := a.History().Plant
	common := quantity.Key(quantity.PressureKPa)
	add := func(k, gauge quantity.Key, unit string) {
		v, ok := r.Value(k)
		if !ok {
			return
		}
		s.readings = append(s.readings, reading{key: k, value: v, sd: math.Hypot(p.ReadingError(k), levelKPa), unit: unit, gauge: gauge, what: pressure, round: round})
		for _, g := range s.gauges {
			if g == gauge {
				return
			}
		}
		s.gauges = append(s.gauges, gauge)
	}
	if same(a, c) {
		add(quantity.Key(quantity.PressureAfter), common, c.Running[0])
		add(common, common, c.Running[0])
	}
	for _, id := range c.Running {
		k := quantity.NewKey(id, quantity.PressureKPa)
		add(k, k, id)
	}
}

// same reports whether all running units would show one pressure.
func same(a *assess.Assessor, c steady.Case) bool {
	p := a.History().Plant
	first, _ := p.UnitByID(c.Running[0])
	for _, id := range c.Running[1:] {
		if u, _ := p.UnitByID(id); u.Penstock != first.Penstock || u.AxisM != first.AxisM {
			return false
		}
	}
	return true
}

// powers takes the sets' own meters in where each was read, else the common bus's generation by its readings.
func (s *sample) powers(a *assess.Assessor, r *record.Round, c steady.Case, round int) {
	p := a.History().Plant
	var own []reading
	common, metered := 0, 0
	for _, id := range c.Running {
		u, _ := p.UnitByID(id)
		k := quantity.NewKey(id, quantity.KW)
		if u.Common() {
			common++
		}
		if v, ok := r.Value(k); ok {
			own = append(own, reading{key: k, value: v, sd: p.ReadingError(k), unit: id, what: power, round: round})
			if u.Common() {
				metered++
			}
		}
	}
	s.readings = append(s.readings, own...)
	if common == 0 || metered == common {
		return
	}
	if pw := a.PowerOf(*r); pw != nil && pw.Suspect == nil && pw.Generation != nil && pw.Generation.From != assess.FromModel {
		s.readings = append(s.readings, reading{key: quantity.Key("generation_kw"), value: pw.Generation.KW, sd: pw.Generation.ErrKW, what: power, round: round})
	}
}

// flows takes the flow meters in.
func (s *sample) flows(a *assess.Assessor, r *record.Round, c steady.Case, round int) {
	p := a.History().Plant
	add := func(k quantity.Key, unit string) {
		if v, ok := r.Value(k); ok {
			s.readings = append(s.readings, reading{key: k, value: v, sd: p.ReadingError(k), unit: unit, what: flow, round: round})
		}
	}
	add(quantity.Key(quantity.FlowLps), "")
	for _, id := range c.Running {
		add(quantity.NewKey(id, quantity.FlowLps), id)
	}
}
