package logbook

import (
	"context"
	"sort"
	"time"

	"example.org/headpond/model/localtime"
	"example.org/headpond/model/record"
	"example.org/headpond/model/week"
)

// Week gives what the review of a week, month or year is worked out from, with the roll-ups in place of the days that they stand
// for; hand it to week.Report. Days whose roll-ups are missing or stale are worked out from
// the entries, and kept where the book may be written just then; where it may not, nothing is said, since nothing is lost.
//
// Entries that cannot be read are left out with a caution. The error is week.ErrNoPlant where the book has no plant.
func (b *Book) Week(ctx context.Context, of week.Of) (week.Input, error) {
	const doing = "reading the logbook"
	q := weekQuery{b: b, ctx: ctx, of: of.Settled(b.o.Clock().In(b.o.Location)), asked: HistoryOptions{At: of.At}}
	q.end = q.of.At.UnixMilli() + 1
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
	b     *Book
	ctx   context.Context
	of    week.Of        // settled
	asked HistoryOptions // whether a time was asked about, or now
	end   int64          // exclusive end of the entries that are known, ms

	r            reader
	pack         packer
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
	*q = weekQuery{b: q.b, ctx: q.ctx, of: q.of, asked: q.asked, end: q.end, r: reader{t: t, ctx: q.ctx}, rows: map[int64]week.Day{}, middle: map[int64]stretch{}}
	q.r.rows = t.rows()
	q.sequence = t.entries.Sequence()
}

// read collects everything from the book that the answer needs.
func (q *weekQuery) read() error {
	q.revisions = q.r.revisions(maxMS) // those of the future too, for the roll-ups rest on all
	if err := q.b.parse(q.revisions); err != nil {
		return err
	}
	h := &record.History{Revisions: q.revisions}
	if h.Plant = h.PlantAt(q.of.End); h.Plant == nil {
		return week.ErrNoPlant
	}
	q.history, q.loc = h, h.Plant.Location
	q.of.At, q.of.End = q.of.At.In(q.loc), q.of.End.In(q.loc)
	h.At = q.of.At
	var err error
	if q.from, q.before, err = week.Bounds(q.of.Span, q.of.End, q.loc); err != nil {
		return err
	}
	q.stretches = append(week.CutDays(q.before, q.from, q.loc), week.CutDays(q.from, q.of.End, q.loc)...)
	q.trust()
	q.readRows()
	if err := q.readEntries(); err != nil {
		return err
	}
	past := q.of.End.UnixMilli() + 1
	h.Events = q.r.eventsIn(q.before.UnixMilli(), past)
	h.Done = q.r.doneIn(q.before.UnixMilli(), past)
	h.Ahead = q.r.ahead(q.end)
	h.Cautions = q.r.cautions(h, q.asked, q.end)
	return q.ctx.Err()
}

// input works the days out that no roll-up gives. It is outside the transaction.
func (q *weekQuery) input() (week.Input, error) {
	in := week.Input{Of: q.of, History: q.history}
	rows, err := week.Rows(q.ctx, q.tail, q.newest, localtime.Day(q.of.End, q.loc))
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
	in.UsedSoFar = l.Total(week.Used, q.of.End)
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
	if q.of.Span != week.Year {
		in.Points = l.Points(q.from, q.of.End)
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
