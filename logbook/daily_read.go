package logbook

import (
	"bytes"
	"context"
	"sort"
	"time"

	"example.org/headpond/model/localtime"
	"example.org/headpond/model/record"
	"example.org/headpond/model/week"
)

// Week gives what the review of a week, month or year up to a time is worked out from, with the roll-ups in place of the days
// that they stand for; hand it to week.Report. A zero time is now. Days whose roll-ups are missing or stale are worked out from
// the entries, and kept where the book may be written just then; where it may not, nothing is said, since nothing is lost.
//
// Entries that cannot be read are left out with a caution. The error is week.ErrNoPlant where the book has no plant.
func (b *Book) Week(ctx context.Context, span week.Span, at time.Time) (week.Input, error) {
	const doing = "reading the logbook"
	if at.IsZero() {
		at = b.o.Clock().In(b.o.Location)
	}
	q := weekQuery{b: b, ctx: ctx, span: span, at: at, end: at.UnixMilli() + 1}
	err := b.view(ctx, doing, func(t *txn) error {
		q.reset(t)
		return q.read()
	})
	if err != nil {
		return week.Input{}, err
	}
	in, err := q.input()
	if err != nil {
		return week.Input{}, err
	}
	if len(q.fresh) > 0 {
		b.keepRows(ctx, q.basis, q.mark, q.sequence, q.fresh)
	}
	return in, nil
}

// weekQuery is one question on its way. In the transaction it reads; the computing comes after.
type weekQuery struct {
	b    *Book
	ctx  context.Context
	span week.Span
	at   time.Time
	end  int64 // exclusive end of the entries that count, ms

	r            reader
	revisions    []record.Revision
	history      *record.History // plant, revisions, cautions; events and upkeep of both periods
	loc          *time.Location
	from, before time.Time
	basis        [dailyBasisLen]byte
	mark         dailyMark
	usable       bool // the mark stands for the entries and the basis
	sequence     uint64
	last         int64 // time of the last entry, ms

	stretches []week.Stretch     // the days and parts of days of both periods
	rows      map[int64]week.Day // whole days that roll-ups give, by their beginning
	base      *week.Carry        // where the entries that are read begin; nil: at the beginning of the log
	newest    *week.Carry        // behind the last roll-up that may be used; nil: none
	tail      *record.History    // entries from base on
	middle    map[int64]stretch  // parts of days in the region of the roll-ups, by their beginning
	fresh     []week.Row         // worked out anew, to be kept
}

// stretch is what a part of a day is worked out from.
type stretch struct {
	carry *week.Carry
	h     *record.History
}

func (q *weekQuery) reset(t *txn) {
	*q = weekQuery{b: q.b, ctx: q.ctx, span: q.span, at: q.at, end: q.end, r: reader{t: t, ctx: q.ctx}, rows: map[int64]week.Day{}, middle: map[int64]stretch{}}
	q.r.rows = t.rows()
	q.sequence = t.entries.Sequence()
}

// read collects everything from the book that the answer needs.
func (q *weekQuery) read() error {
	q.revisions = q.r.revisions(maxMS) // those of the future too, for the roll-ups rest on all
	if err := q.b.parse(q.revisions); err != nil {
		return err
	}
	h := &record.History{At: q.at, Revisions: q.revisions}
	if h.Plant = h.PlantAt(q.at); h.Plant == nil {
		return week.ErrNoPlant
	}
	q.history, q.loc = h, h.Plant.Location
	q.at, h.At = q.at.In(q.loc), q.at.In(q.loc)
	var err error
	if q.from, q.before, err = week.Bounds(q.span, q.at, q.loc); err != nil {
		return err
	}
	q.stretches = append(week.CutDays(q.before, q.from, q.loc), week.CutDays(q.from, q.at, q.loc)...)
	q.trust()
	q.readRows()
	if err := q.readEntries(); err != nil {
		return err
	}
	h.Events = q.r.eventsIn(q.before.UnixMilli(), q.end)
	h.Done = q.r.doneIn(q.before.UnixMilli(), q.end)
	h.Cautions = q.r.cautions(h, HistoryOptions{At: q.at}, q.end)
	return q.ctx.Err()
}

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
	if q.span == week.Year {
		return localtime.Day(q.at, q.loc)
	}
	return localtime.Day(q.from, q.loc)
}

// readRows takes the days that roll-ups stand for, and finds where the working out must begin: of the newest days behind the
// last row that depends on nothing after the time that is asked about, and of the period's rounds behind the row before them.
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
		day, ok := readDay(key, q.r.t.daily.Get(key))
		if !ok || day.To != s.To.UnixMilli() {
			q.spoilt()
			return
		}
		q.rows[day.From] = day
	}
	q.readMiddle()
}

// carryUpTo is the carry of the last row that ends at or before a time and depends on nothing after the time that is asked
// about; nil where there is none.
func (q *weekQuery) carryUpTo(limit int64) *week.Carry {
	c := q.r.t.daily.Cursor()
	k, v := c.Seek(dailyKey(limit))
	if k == nil {
		k, v = c.Last()
	} else {
		k, v = c.Prev()
	}
	for ; k != nil; k, v = c.Prev() {
		needs, ok := dailyNeeds(k, v)
		if !ok {
			break
		}
		if needs >= q.end {
			continue
		}
		if carry, ok := carryOf(k, v); ok {
			return carry
		}
		break
	}
	if k != nil {
		q.spoilt()
	}
	return nil
}

// spoilt gives the roll-ups up: everything is worked out from the entries.
func (q *weekQuery) spoilt() {
	q.usable, q.base, q.newest, q.middle, q.rows = false, nil, nil, map[int64]stretch{}, map[int64]week.Day{}
}

func readDay(k, v []byte) (week.Day, bool) {
	var d week.Day
	part, _, ok := dailyParts(k, v)
	if !ok || lenient.Unmarshal(part, &d) != nil {
		return week.Day{}, false
	}
	return d, true
}

func carryOf(k, v []byte) (*week.Carry, bool) {
	_, part, ok := dailyParts(k, v)
	if !ok {
		return nil, false
	}
	c := new(week.Carry)
	if lenient.Unmarshal(part, c) != nil {
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
				if m.carry, ok = carryOf(k, v); !ok || m.carry.At != begin.UnixMilli() {
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
	q.tail = q.part(from, q.end)
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

// input works the days out that no roll-up gives. It is outside the transaction.
func (q *weekQuery) input() (week.Input, error) {
	in := week.Input{Span: q.span, At: q.at, History: q.history}
	rows, err := week.Rows(q.tail, q.newest, localtime.Day(q.at, q.loc))
	if err != nil {
		return in, err
	}
	q.keepable(rows)
	for _, r := range rows {
		q.rows[r.Day.From] = r.Day
	}
	// The last ledger works out the parts of days at the end, and for a week or month it brings the period's rounds.
	l, err := week.NewLedger(q.tail, q.carryBefore(rows, q.tailBegin()))
	if err != nil {
		return in, err
	}
	in.Begin = l.Begin()
	in.UsedSoFar = l.Total(week.Used, q.at)
	for _, s := range q.stretches {
		day, err := q.day(l, rows, s)
		if err != nil {
			return in, err
		}
		if s.From.Before(q.from) {
			in.BeforeDays = append(in.BeforeDays, day)
		} else {
			in.Days = append(in.Days, day)
		}
	}
	if q.span != week.Year {
		in.Points = l.Points(q.from, q.at)
	}
	return in, nil
}

// carryBefore is the latest carry that does not reach beyond a time; nil is the log's beginning.
func (q *weekQuery) carryBefore(rows []week.Row, t time.Time) *week.Carry {
	i := sort.Search(len(rows), func(i int) bool { return rows[i].Carry.At > t.UnixMilli() })
	if i == 0 {
		return q.base
	}
	return &rows[i-1].Carry
}

// day is a day or a part of one: by its roll-up, by the entries around it, or by the last ledger.
func (q *weekQuery) day(l *week.Ledger, rows []week.Row, s week.Stretch) (week.Day, error) {
	if d, ok := q.rows[s.From.UnixMilli()]; ok && s.Whole {
		return d, nil
	}
	h, carry, begin := q.tail, (*week.Carry)(nil), localtime.Day(s.From, q.loc)
	if m, ok := q.middle[s.From.UnixMilli()]; ok {
		h, carry = m.h, m.carry
	} else if !begin.Before(l.Start()) || !s.To.After(l.Begin()) {
		return l.Day(s.From, s.To), nil
	} else {
		carry = q.carryBefore(rows, begin)
		h = week.Part(h, begin, s.To)
	}
	around, err := week.NewLedger(h, carry)
	if err != nil {
		return week.Day{}, err
	}
	return around.Day(s.From, s.To), nil
}

// keepable chooses the new rows that no entry dated up to the last one can change without the frontier moving, so that days
// whose next reading has not come yet are not written again and again.
func (q *weekQuery) keepable(rows []week.Row) {
	if len(q.r.bad) > 0 || len(q.r.t.g.faults) > 0 {
		return
	}
	for _, r := range rows {
		if r.Needs > q.last || r.Needs >= q.end {
			break
		}
		if q.usable && r.Day.To <= q.mark.frontier {
			continue
		}
		q.fresh = append(q.fresh, r)
	}
}

// keepRows writes new rows, where no entry came meanwhile and nobody else holds the book. What cannot be kept is worked out
// again the next time.
func (b *Book) keepRows(ctx context.Context, basis [dailyBasisLen]byte, mark dailyMark, sequence uint64, rows []week.Row) {
	ctx, cancel := context.WithTimeout(ctx, rollUpWait)
	defer cancel()
	_ = b.update(ctx, "keeping roll-ups", func(t *txn) error {
		if t.entries.Sequence() != sequence {
			return errNothing
		}
		if t.daily.missing() {
			if _, err := t.tx.CreateBucketIfNotExists([]byte(bucketDaily)); err != nil {
				return err
			}
			t.locate()
		}
		if err := t.dropBefore(rows[0]); err != nil {
			return err
		}
		for _, r := range rows {
			key := dailyKey(r.Day.From)
			v, err := sealDaily(key, r)
			if err != nil {
				return err
			}
			if err := t.daily.Put(key, v); err != nil {
				return err
			}
		}
		last := rows[len(rows)-1]
		m := dailyMark{entries: sequence, frontier: last.Day.To, needs: last.Needs, basis: basis}
		return t.book.Put([]byte(keyDaily), m.bytes())
	})
}

// dropBefore takes away rows from before the log's beginning, which may since have moved: rows stand without a gap from there.
func (t *txn) dropBefore(first week.Row) error {
	if first.Day.From != first.Carry.Begin {
		return nil
	}
	var old [][]byte
	c := t.daily.Cursor()
	for k, _ := c.First(); k != nil && bytes.Compare(k, dailyKey(first.Day.From)) < 0; k, _ = c.Next() {
		old = append(old, bytes.Clone(k))
	}
	for _, k := range old {
		if err := t.daily.Delete(k); err != nil {
			return err
		}
	}
	return nil
}

// rollUpWait is how long the keeping of roll-ups waits for another process.
const rollUpWait = 50 * time.Millisecond
