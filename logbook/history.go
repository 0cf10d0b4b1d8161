package logbook

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"example.org/headpond/model/record"
)

// DefaultDays is how far before the last round a history reaches when nothing else is asked.
const DefaultDays = 120

// HistoryOptions choose what of the book a history holds.
type HistoryOptions struct {
	// At is "now" for all that is computed from the history. Zero is the clock's now; rounds dated later are then left out
	// with a caution, otherwise silently.
	At time.Time
	// From is the earliest round that is wanted; zero lets Days decide.
	From time.Time
	// Days is how many days before the last round are wanted; zero is DefaultDays. From and All overrule it.
	Days int
	// All wants everything.
	All bool
	// Upkeep wants History.Earlier as far back as the running hours of upkeep tasks are counted.
	Upkeep bool
	// Counted wants History.Earlier only where these hours were counted before, so that little is to be read; nil tells that they
	// were not.
	Counted bool
	// Later wants History.Later, what is dated after At.
	Later bool
	// Progress is told now and then how many entries were read, for a long read that a person waits for; nil tells nobody.
	Progress func(read int)
}

// History returns what the book says up to a moment, with corrections applied whenever they were written.
//
// Beyond the wanted days it holds what is needed to know the state at their beginning: the last earlier round that says
// which units ran and the events since, all events of ballast elements, and when each upkeep task was last done. Entries that
// cannot be read are left out with a caution.
func (b *Book) History(ctx context.Context, o HistoryOptions) (*record.History, error) {
	const doing = "reading the logbook"
	at := o.At
	if at.IsZero() {
		at = b.o.Clock().In(b.o.Location)
	}
	var h *record.History
	err := b.view(ctx, doing, func(t *txn) error {
		h = &record.History{At: at}
		r := reader{t: t, ctx: ctx, progress: o.Progress}
		return r.history(h, o)
	})
	if err != nil {
		return nil, err
	}
	if err := b.parse(h.Revisions); err != nil {
		return nil, explain(doing, b.path, err)
	}
	h.Plant = h.PlantAt(h.At)
	if o.Upkeep || o.Counted {
		if err := b.readEarlier(ctx, h, o); err != nil {
			return nil, err
		}
	}
	return h, nil
}

// reader reads effective entries within one transaction and counts those that it could not read.
type reader struct {
	t     *txn
	ctx   context.Context
	rows  scan
	reads int
	bad   []string // ids
	newer int      // entries with parts that only a newer version knows

	progress func(read int)
}

// history fills h. The end is exclusive in the index, so one millisecond is added to hold what happened at h.At itself.
func (r *reader) history(h *record.History, o HistoryOptions) error {
	r.rows = r.t.rows()
	end := h.At.UnixMilli() + 1
	from := r.start(end, o)
	lookBack := r.lookBack(from)
	h.Complete = r.nothingBefore(from)
	h.Begun = r.begun(end)

	if lookBack.round != nil {
		h.Rounds = append(h.Rounds, *lookBack.round)
	}
	h.Rounds = append(h.Rounds, r.rounds(from, end)...)
	h.Events = r.events(lookBack.since, from, end)
	h.Done = r.upkeep(from, end)
	h.Revisions = r.revisions(end)
	if o.Later {
		h.Later = r.later(end)
	}
	if r.ctx.Err() != nil {
		return r.ctx.Err()
	}
	h.Ahead = r.ahead(end)
	h.Cautions = r.cautions(h, o, end)
	return nil
}

// start is the earliest millisecond of a round that is wanted.
func (r *reader) start(end int64, o HistoryOptions) int64 {
	switch {
	case o.All:
		return math.MinInt64
	case !o.From.IsZero():
		return o.From.UnixMilli()
	}
	days := o.Days
	if days <= 0 {
		days = DefaultDays
	}
	last := end
	r.rows.descend(KindRound, end, func(w row) bool {
		last = w.ms()
		return false
	})
	return last - int64(days)*24*time.Hour.Milliseconds()
}

// earlier is what is needed from before the wanted days.
type earlier struct {
	round *record.Round // the last one that says which units ran
	since int64         // events from here on tell what changed since
}

func (r *reader) lookBack(from int64) earlier {
	e := earlier{since: math.MinInt64}
	if from == math.MinInt64 {
		return e
	}
	until, ever := r.t.ranUntil()
	if !ever {
		return e
	}
	if until < from {
		from = until + 1
	}
	r.rows.descend(KindRound, from, func(w row) bool {
		if round, ok := r.round(w); ok && round.Running != nil {
			e.round, e.since = &round, w.ms()
			return false
		}
		return r.going()
	})
	return e
}

func (r *reader) nothingBefore(from int64) bool {
	empty := true
	for _, k := range []Kind{KindRound, KindEvent} {
		r.rows.descend(k, from, func(row) bool {
			empty = false
			return false
		})
	}
	return empty
}

func (r *reader) rounds(from, to int64) []record.Round {
	var list []record.Round
	ascend(r.rows, KindRound, from, to, func(w row) bool {
		if round, ok := r.round(w); ok {
			list = append(list, round)
		}
		return r.going()
	})
	return list
}

// events reads all events from since on, and before that those of ballast elements, whose state lasts.
func (r *reader) events(since, from, to int64) []record.Event {
	var list []record.Event
	ascend(r.rows, KindEvent, math.MinInt64, to, func(w row) bool {
		kind := w.eventKind()
		if w.ms() < min(since, from) && kind != record.ElementOut && kind != record.ElementIn {
			return r.going()
		}
		if e, ok := r.event(w); ok {
			list = append(list, e)
		}
		return r.going()
	})
	return list
}

// upkeep reads what was done from a time on, and before that the last time of each task.
func (r *reader) upkeep(from, to int64) []record.Done {
	seen := map[string]bool{}
	var list []record.Done
	r.rows.descend(KindDone, to, func(w row) bool {
		if task := string(w.value); w.ms() < from {
			if seen[task] {
				return r.going()
			}
			seen[task] = true
		}
		if d, ok := r.done(w); ok {
			list = append(list, d)
		}
		return r.going()
	})
	slices.Reverse(list)
	return list
}

// later reads what is dated after the history's end; nil where nothing is.
func (r *reader) later(end int64) *record.Later {
	l := &record.Later{Rounds: r.rounds(end, math.MaxInt64)}
	ascend(r.rows, KindEvent, end, math.MaxInt64, func(w row) bool {
		if e, ok := r.event(w); ok {
			l.Events = append(l.Events, e)
		}
		return r.going()
	})
	ascend(r.rows, KindDone, end, math.MaxInt64, func(w row) bool {
		if d, ok := r.done(w); ok {
			l.Done = append(l.Done, d)
		}
		return r.going()
	})
	if len(l.Rounds)+len(l.Events)+len(l.Done) == 0 {
		return nil
	}
	return l
}

func (r *reader) revisions(end int64) []record.Revision {
	if r.rows == nil {
		r.rows = r.t.rows()
	}
	var list []record.Revision
	ascend(r.rows, KindPlant, math.MinInt64, math.MaxInt64, func(w row) bool {
		// The first revision also holds for all earlier times.
		if len(list) > 0 && w.ms() >= end {
			return false
		}
		if b, ok := r.read(w); ok {
			list = append(list, b.revision(w.id(), r.t.loc))
		}
		return true
	})
	return list
}

// going lets a long read be given up.
func (r *reader) going() bool {
	r.reads++
	if r.reads%1024 != 0 {
		return true
	}
	if r.progress != nil {
		r.progress(r.reads)
	}
	return r.ctx == nil || r.ctx.Err() == nil
}

// read opens the entry of a row and notes it when it is spoilt.
func (r *reader) read(w row) (*body, bool) {
	b, err := w.b, error(nil)
	if b == nil {
		b, err = open(w.id(), r.t.get(w.id()))
	}
	if err != nil {
		if name := w.id().String(); !slices.Contains(r.bad, name) {
			r.bad = append(r.bad, name)
		}
		return nil, false
	}
	if len(b.unknown) > 0 {
		r.newer++
	}
	return b, true
}

// amendments returns the corrections of a row's entry.
func (r *reader) amendments(w row) []Amendment {
	if w.b != nil {
		return w.changes
	}
	return r.t.amendments(w.id())
}

func (r *reader) round(w row) (record.Round, bool) {
	b, ok := r.read(w)
	if !ok || b.Kind != KindRound {
		return record.Round{}, false
	}
	v := b.round(w.id(), r.t.loc)
	applyRound(&v, r.amendments(w))
	return v, true
}

func (r *reader) event(w row) (record.Event, bool) {
	b, ok := r.read(w)
	if !ok || b.Kind != KindEvent {
		return record.Event{}, false
	}
	v := b.event(w.id(), r.t.loc)
	applyEvent(&v, r.amendments(w))
	return v, true
}

func (r *reader) done(w row) (record.Done, bool) {
	b, ok := r.read(w)
	if !ok || b.Kind != KindDone {
		return record.Done{}, false
	}
	v := b.done(w.id(), r.t.loc)
	applyDone(&v, r.amendments(w))
	return v, true
}

// damage is the error for what could not be read, nil when there is nothing.
func (r *reader) damage() error {
	if len(r.bad) == 0 {
		return r.t.g.damage()
	}
	if len(r.bad) == 1 {
		return damaged("an entry cannot be read, "+r.bad[0], errUnreadable)
	}
	return damaged(fmt.Sprintf("%d entries cannot be read, the first is %s", len(r.bad), r.bad[0]), errUnreadable)
}

var errUnreadable = errors.New("unreadable entries")

// ahead is when the first round from a time on was walked, zero where there is none.
func (r *reader) ahead(from int64) time.Time {
	var first time.Time
	ascend(r.rows, KindRound, from, math.MaxInt64, func(w row) bool {
		first = time.UnixMilli(w.ms()).In(r.t.loc)
		return false
	})
	return first
}

// leftOut says which damaged entries were left out.
func leftOut(ids []string) string {
	if len(ids) == 1 {
		return "a damaged entry was left out, " + ids[0]
	}
	return fmt.Sprintf("%d damaged entries were left out, the first is %s", len(ids), ids[0])
}

func newerParts(n int) string {
	if n == 1 {
		return "an entry holds parts that only a newer version can show"
	}
	return fmt.Sprintf("%d entries hold parts that only a newer version can show", n)
}

// cautions says what a reader of the history should know.
func (r *reader) cautions(h *record.History, o HistoryOptions, end int64) []string {
	var list []string
	if len(r.bad) > 0 {
		list = append(list, leftOut(r.bad)+": run headpond check")
	}
	if len(r.t.g.faults) > 0 {
		list = append(list, fmt.Sprintf("part of the file is damaged (%s), so that entries may be missing: run headpond check", r.t.g.faults[0]))
	}
	h.Damage = len(list)
	if r.newer > 0 {
		list = append(list, newerParts(r.newer))
	}
	if !o.At.IsZero() {
		return list
	}
	var later int
	var first int64
	ascend(r.rows, KindRound, end, math.MaxInt64, func(w row) bool {
		if later == 0 {
			first = w.ms()
		}
		later++
		return true
	})
	if later > 0 {
		at := time.UnixMilli(first).In(r.t.loc).Format(sentenceTime)
		if later == 1 {
			list = append(list, fmt.Sprintf("a round dated in the future, %s, was left out: check the clock of this computer, or correct its time", at))
		} else {
			list = append(list, fmt.Sprintf("%d rounds dated in the future were left out, the first at %s: check the clock of this computer, or correct their time", later, at))
		}
	}
	if latest := r.t.latestWriting(); latest.MS > h.At.UnixMilli() {
		list = append(list, clockCaution(h.At, latest.clockTime(r.t.loc)))
	}
	return list
}
