package logbook

import (
	"time"

	"example.org/headpond/model/localtime"
	"example.org/headpond/model/record"
	"example.org/headpond/model/week"
)

// trust finds out whether the roll-ups may be used, and when the last entry was.
func (q *weekQuery) trust() {
	t := q.r.t
	q.basis = dailyBasis(q.loc.String(), q.revisions)
	m, ok := t.dailyMark()
	q.mark, q.usable = m, ok && m.basis == q.basis && t.linked == nil
	q.last = noDays
	for _, k := range []Kind{KindRound, KindEvent} {
		q.r.rows.descend(k, maxMS, func(w row) bool {
			q.last = max(q.last, w.ms())
			return false
		})
	}
}

// maxMS is after every entry.
const maxMS = 1<<62 - 1

// tailBegin is the beginning of the day from which on the period's rounds are wanted.
func (q *weekQuery) tailBegin() time.Time {
	if q.of.Span == week.Year {
		return localtime.Day(q.of.End, q.loc)
	}
	return localtime.Day(q.from, q.loc)
}

// readRows takes the days that roll-ups stand for, and finds where the working out must begin: of the newest days behind the
// last row that depends on nothing after what is known, and of the period's rounds behind the row before them.
func (q *weekQuery) readRows() {
	if !q.usable {
		return
	}
	if q.newest = q.carryUpTo(q.mark.frontier); q.newest == nil {
		return
	}
	if q.base = q.newest; q.tailBegin().UnixMilli() < q.newest.At {
		q.base = q.carryUpTo(q.tailBegin().UnixMilli())
	}
	for _, s := range q.stretches {
		if !q.usable {
			return
		}
		if !s.Whole || s.To.UnixMilli() > q.newest.At || s.To.UnixMilli() <= q.newest.Begin {
			continue
		}
		key := dailyKey(s.From.UnixMilli())
		day, ok := q.pack.day(key, q.r.t.daily.Get(key))
		if !ok || day.To != s.To.UnixMilli() {
			q.spoilt()
			return
		}
		q.rows[day.From] = day
	}
	q.readMiddle()
}

// carryUpTo is the carry of the last row that ends at or before a time and depends on nothing after what is known; nil
// where there is none.
func (q *weekQuery) carryUpTo(limit int64) *week.Carry {
	c := q.r.t.daily.Cursor()
	for k, v := lastBefore(c, dailyKey(limit)); k != nil; k, v = c.Prev() {
		needs, ok := dailyNeeds(k, v)
		if ok && needs >= q.end {
			continue
		}
		if carry, whole := q.pack.carry(k, v); ok && whole {
			return carry
		}
		q.spoilt()
		return nil
	}
	return nil
}

// spoilt gives the roll-ups up: everything is worked out from the entries.
func (q *weekQuery) spoilt() {
	q.usable, q.base, q.newest, q.middle, q.rows = false, nil, nil, map[int64]stretch{}, map[int64]week.Day{}
}

// day reads a row's day.
func (z *packer) day(k, v []byte) (d week.Day, ok bool) {
	pressed, _, ok := dailyParts(k, v)
	if !ok {
		return d, false
	}
	part, err := z.unpack(pressed)
	if err != nil || lenient.Unmarshal(part, &d) != nil {
		return week.Day{}, false
	}
	return d, true
}

// carry reads what a row hands on to later days.
func (z *packer) carry(k, v []byte) (*week.Carry, bool) {
	_, pressed, ok := dailyParts(k, v)
	if !ok {
		return nil, false
	}
	c := new(week.Carry)
	part, err := z.unpack(pressed)
	if err != nil || lenient.Unmarshal(part, c) != nil {
		return nil, false
	}
	return c, true
}

// readMiddle reads the entries for parts of days that lie among the roll-ups.
func (q *weekQuery) readMiddle() {
	if q.base == nil {
		return // the log is short, and all of it is read
	}
	t := q.r.t
	for _, s := range q.stretches {
		if s.Whole || s.To.UnixMilli() > q.base.At {
			continue
		}
		begin := localtime.Day(s.From, q.loc)
		key := dailyKey(begin.UnixMilli())
		needs, ok := dailyNeeds(key, t.daily.Get(key))
		if !ok {
			continue // before the log's beginning
		}
		m := stretch{}
		c := t.daily.Cursor()
		if k, _ := c.Seek(key); k != nil {
			if k, v := c.Prev(); k != nil {
				if m.carry, ok = q.pack.carry(k, v); !ok || m.carry.At != begin.UnixMilli() {
					q.spoilt()
					return
				}
			}
		}
		m.h = q.part(begin.UnixMilli(), min(q.end, needs+1))
		q.middle[s.From.UnixMilli()] = m
	}
}

// readEntries reads the entries from where the working out begins.
func (q *weekQuery) readEntries() error {
	from := int64(noDays)
	if q.base != nil {
		from = q.base.At
	}
	q.tail = q.part(from, min(q.end, q.of.End.Add(week.MeterLimit+week.GapLimit).UnixMilli()+1))
	return q.ctx.Err()
}

// part is a history of the rounds and events of [from, to).
func (q *weekQuery) part(from, to int64) *record.History {
	h := *q.history
	h.At = time.UnixMilli(to - 1).In(q.loc)
	h.Rounds, h.Events = q.r.rounds(from, to), q.r.eventsIn(from, to)
	return &h
}

func (r *reader) eventsIn(from, to int64) []record.Event {
	var list []record.Event
	ascend(r.rows, KindEvent, from, to, func(w row) bool {
		if e, ok := r.event(w); ok {
			list = append(list, e)
		}
		return r.going()
	})
	return list
}

func (r *reader) doneIn(from, to int64) []record.Done {
	var list []record.Done
	ascend(r.rows, KindDone, from, to, func(w row) bool {
		if d, ok := r.done(w); ok {
			list = append(list, d)
		}
		return r.going()
	})
	return list
}
