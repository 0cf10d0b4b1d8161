package week

import (
	"slices"
	"sort"
	"strings"
	"time"

	"example.org/headpond/model/record"
)

// span is a stretch in which nothing changed that breaks an interval between readings.
type span struct {
	from, to int64 // ms
	set      string
	stood    bool // known to stand: no power
}

// unknownSet is the set of a time of which it is not known what ran, forgottenSet that of one that no carry tells of any more.
const (
	unknownSet   = "?"
	forgottenSet = "-"
)

// scopes of spans: the common bus, no breaks at all, or a unit's id.
const (
	scopeCommon = ""
	scopeAll    = "*"
)

// buildSpans cuts the ledger's time at every change of what runs, for the common bus and for each unit.
func (l *Ledger) buildSpans() {
	l.spans = map[string][]span{scopeAll: {{from: l.spanStart, to: l.end, set: scopeAll}}}
	ids := l.unitIDs()
	segs := l.timeline.Segments(at(l.spanStart), at(l.end))
	l.carriedSpans()
	for _, s := range segs {
		for _, part := range l.byRevision(s) {
			l.putCommon(part)
			for _, id := range ids {
				state := part.State[id]
				l.put(id, span{from: part.From.UnixMilli(), to: part.To.UnixMilli(), set: state.String(), stood: state == record.Off})
			}
		}
	}
}

// carriedSpans are those of the common bus before the ledger's beginning, as the carry has them.
func (l *Ledger) carriedSpans() {
	c := l.carry.Common
	if c.Set == "" && !c.Stood {
		return // no carry brings any
	}
	if c.Since != 0 {
		l.put(scopeCommon, span{from: l.spanStart, to: c.Since, set: forgottenSet})
	}
	l.put(scopeCommon, span{from: max(l.spanStart, c.Since), to: l.start, set: c.Set, stood: c.Stood})
}

// putCommon appends what ran on the common bus in a segment, as far as no carry told it.
func (l *Ledger) putCommon(part record.Segment) {
	s := l.commonSpan(part)
	if list := l.spans[scopeCommon]; len(list) > 0 {
		s.from = max(s.from, list[len(list)-1].to)
	}
	if s.from < s.to {
		l.put(scopeCommon, s)
	}
}

// byRevision cuts a segment where a plant revision comes into force, for which units feed the common bus may differ.
func (l *Ledger) byRevision(s record.Segment) []record.Segment {
	var out []record.Segment
	for _, r := range l.h.Revisions {
		if r.From.After(s.From) && r.From.Before(s.To) {
			out = append(out, record.Segment{From: s.From, To: r.From, State: s.State})
			s.From = r.From
		}
	}
	return append(out, s)
}

func (l *Ledger) commonSpan(s record.Segment) span {
	sp := span{from: s.From.UnixMilli(), to: s.To.UnixMilli(), set: unknownSet}
	p := l.h.PlantAt(s.From)
	if p == nil {
		return sp
	}
	var on []string
	for _, u := range p.Units {
		switch {
		case !u.Common():
		case s.State[u.ID] == record.Unknown:
			return sp
		case s.State[u.ID] == record.On:
			on = append(on, u.ID)
		}
	}
	sp.set, sp.stood = strings.Join(on, "+"), len(on) == 0
	return sp
}

// put appends a span, joined with the one before where nothing changed.
func (l *Ledger) put(scope string, s span) {
	list := l.spans[scope]
	if n := len(list); n > 0 && list[n-1].set == s.set && list[n-1].to == s.from {
		list[n-1].to = s.to
		return
	}
	l.spans[scope] = append(list, s)
}

// unitIDs are the units of all revisions.
func (l *Ledger) unitIDs() []string {
	var ids []string
	add := func(more []string) {
		for _, id := range more {
			if !slices.Contains(ids, id) {
				ids = append(ids, id)
			}
		}
	}
	for _, r := range l.h.Revisions {
		add(r.Plant.UnitIDs())
	}
	if l.h.Plant != nil {
		add(l.h.Plant.UnitIDs())
	}
	return ids
}

// setAt is what runs at a time; what changes at that very instant has changed.
func (l *Ledger) setAt(scope string, ms int64) span {
	list := l.spans[scope]
	i := sort.Search(len(list), func(i int) bool { return list[i].to > ms })
	if i == len(list) {
		if i == 0 || ms > list[i-1].to {
			return span{set: unknownSet}
		}
		return list[i-1]
	}
	return list[i]
}

// How a piece of time between two readings is known.
type hold uint8

const (
	unknown hold = iota // too long, or something changed on both sides
	stood               // known to stand
	between             // from one reading to the next with nothing in between
	left                // after the earlier reading, until something changed
	right               // before the later reading, since something changed
)

// piece is a part of the time between two readings.
type piece struct {
	from, to int64 // the whole piece
	how      hold
}

// mark is where a reading stands on a scope's time.
type mark struct {
	at  int64
	set string // what ran, changes at that very instant included
}

// pieces cuts the time between two readings of a scope, either of which may be missing, at the changes of what runs, and says
// how each piece is known. Only those that overlap [a, b) are given.
//
// A reading holds to the next one while nothing changes, and up to a start, stop or trip; a later one holds back to such a
// change. Between two changes nothing was read: what runs there as at one of the two readings is taken to give as much, where
// that one is no farther than GapLimit. A piece longer than GapLimit is not known, unless all stood.
func (l *Ledger) pieces(scope string, p, q *mark, a, b int64, fn func(piece)) {
	from, to := l.spanStart, l.end
	if p != nil {
		from = max(from, p.at)
	}
	if q != nil {
		to = min(to, q.at)
	}
	list := l.spans[scope]
	i := sort.Search(len(list), func(i int) bool { return list[i].to > max(from, a) })
	for ; i < len(list) && list[i].from < min(to, b); i++ {
		s := list[i]
		c := piece{from: max(s.from, from), to: min(s.to, to)}
		c.how = l.howKnown(s, c, p, q)
		fn(c)
	}
}

func (l *Ledger) howKnown(s span, c piece, p, q *mark) hold {
	first, last := p != nil && c.from == p.at, q != nil && c.to == q.at
	begins := c.from == s.from && s.from > l.spanStart // at a change
	ends := c.to == s.to && s.to < l.end
	switch {
	case s.stood:
		return stood
	case c.to-c.from > GapLimit.Milliseconds():
		return unknown
	case first && last:
		return between
	case first && ends:
		return left
	case last && begins:
		return right
	case !begins || !ends || s.set == unknownSet:
		return unknown
	case p != nil && s.set == p.set && c.to-p.at <= GapLimit.Milliseconds():
		return left
	case q != nil && s.set == q.set && q.at-c.from <= GapLimit.Milliseconds():
		return right
	}
	return unknown
}

// GapLimit is the longest time between two readings over which power is interpolated. A day's round may be early one day and
// late the next, which is less than a day and a half; beyond that a whole night and day went unseen, and nothing is said.
const GapLimit = 36 * time.Hour

// MeterLimit is the longest time over which a meter's difference is spread: a meter that is read once a month. Our own choice.
const MeterLimit = 35 * 24 * time.Hour
