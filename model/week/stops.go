package week

import (
	"slices"
	"sort"

	"example.org/headpond/model/record"
)

// stopEdge is an instant at which units of the stretch stopped or began to run.
type stopEdge struct {
	at  int64
	off []string // that ran before, or of which nothing was known, and now stand
	on  []string
	all bool // no common-bus unit runs now
	row StopRow
}

// seenStanding is the kind of a stop that a round found and no event tells of.
const seenStanding = "seen"

// buildStops finds every change of the units and the event, or the round, that tells of it.
func (l *Ledger) buildStops() {
	ids := l.unitIDs()
	segs := l.timeline.Segments(at(l.spanStart), at(l.end))
	for i := 1; i < len(segs); i++ {
		when := segs[i].From.UnixMilli()
		if when < l.start {
			continue
		}
		e := stopEdge{at: when}
		for _, id := range ids {
			was, is := segs[i-1].State[id], segs[i].State[id]
			switch {
			case was == record.On && is == record.Off:
				e.off = append(e.off, id)
			case was != record.On && is == record.On:
				e.on = append(e.on, id)
			}
		}
		s := l.setAt(scopeCommon, when)
		e.all = s.stood
		if len(e.off) > 0 {
			e.row = l.teller(when, e.off)
			e.row.All = e.all
		}
		if len(e.off)+len(e.on) > 0 {
			l.stops = append(l.stops, e)
		}
	}
}

// teller is the event that stopped units at an instant, a trip before a stop; else the round that saw them standing.
func (l *Ledger) teller(when int64, units []string) StopRow {
	row := StopRow{At: when, Kind: seenStanding, Units: units}
	i := sort.Search(len(l.h.Events), func(i int) bool { return l.h.Events[i].Time.UnixMilli() >= when })
	for ; i < len(l.h.Events) && l.h.Events[i].Time.UnixMilli() == when; i++ {
		e := &l.h.Events[i]
		if e.Kind != record.Stop && e.Kind != record.Trip || row.Kind == string(record.Trip) {
			continue
		}
		if len(e.Units) > 0 && !slices.ContainsFunc(e.Units, func(id string) bool { return slices.Contains(units, id) }) {
			continue
		}
		row.ID, row.Kind, row.Cause, row.By, row.Note = e.ID, string(e.Kind), e.Cause, e.By, e.Note
	}
	if row.Kind != seenStanding {
		return row
	}
	for i := range l.rounds {
		if r := &l.rounds[i]; r.at == when && r.r.Running != nil {
			row.ID, row.By, row.Note = r.r.ID, r.r.By, r.r.Note
		}
	}
	return row
}

// stopsIn fills in the stops and starts of a day, and those that were open at its beginning.
func (l *Ledger) stopsIn(d *Day) {
	d.Open = l.openAt(d.From)
	for _, e := range l.stops {
		if e.at < d.From || e.at >= d.To {
			continue
		}
		if len(e.on) > 0 {
			d.Ons = append(d.Ons, OnRow{At: e.at, Units: e.on})
			for _, id := range e.on {
				u := d.Units[id]
				u.Starts++
				d.Units[id] = u
			}
		}
		if len(e.off) > 0 {
			d.Stops = append(d.Stops, e.row)
		}
	}
}

// openAt is the stops that had begun before a time and had not ended by then. A change at that very time counts as later.
func (l *Ledger) openAt(ms int64) []StopRow {
	open := slices.Clone(l.carry.Open)
	for _, e := range l.stops {
		if e.at >= ms {
			break
		}
		open = stillOpen(open, e.on)
		if len(e.off) > 0 {
			open = append(open, e.row)
		}
	}
	return open
}

// stillOpen is what is left of open stops when units begin to run: a stop has ended when any of its units runs again.
func stillOpen(open []StopRow, on []string) []StopRow {
	return slices.DeleteFunc(slices.Clone(open), func(s StopRow) bool { return ends(s, on) })
}

func ends(s StopRow, on []string) bool {
	return slices.ContainsFunc(on, func(id string) bool { return slices.Contains(s.Units, id) })
}

// standing fills in how long the units ran and the common bus stood.
func (l *Ledger) standing(d *Day) {
	for _, id := range l.unitIDs() {
		u := d.Units[id]
		l.eachSpan(id, d.From, d.To, func(s span, h float64) {
			switch s.set {
			case record.On.String():
				u.On += h
			case record.Unknown.String():
				u.Unknown += h
			}
		})
		d.Units[id] = u
	}
	l.eachSpan(scopeCommon, d.From, d.To, func(s span, h float64) {
		if s.set != unknownSet {
			d.Known += h
		}
		if s.stood {
			d.Stood += h
		}
	})
	d.Tripped = l.trippedHours(d.From, d.To)
}

func (l *Ledger) eachSpan(scope string, a, b int64, fn func(span, float64)) {
	list := l.spans[scope]
	i := sort.Search(len(list), func(i int) bool { return list[i].to > a })
	for ; i < len(list) && list[i].from < b; i++ {
		fn(list[i], hoursOf(max(a, list[i].from), min(b, list[i].to)))
	}
}

// trippedHours is how long the whole common bus stood after a trip.
func (l *Ledger) trippedHours(a, b int64) float64 {
	var h float64
	tripped := func(open []StopRow) bool {
		return slices.ContainsFunc(open, func(s StopRow) bool { return s.All && s.Kind == string(record.Trip) })
	}
	open, from := l.openAt(a), a
	count := func(to int64) {
		if tripped(open) {
			h += hoursOf(from, to)
		}
		from = to
	}
	for _, e := range l.stops {
		if e.at < a || e.at >= b {
			continue
		}
		count(e.at)
		open = stillOpen(open, e.on)
		if len(e.off) > 0 {
			open = append(open, e.row)
		}
	}
	count(b)
	return h
}

// wordsOf says an event: "trip of A (frost)".
func wordsOf(e record.Event) string {
	text := e.What()
	if e.Cause != "" {
		text += " (" + e.Cause + ")"
	}
	return text
}
