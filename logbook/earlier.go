package logbook

import (
	"cmp"
	"context"
	"math"
	"time"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/upkeep"
)

// begun is the time of the oldest round, zero where there is none.
func (r *reader) begun(end int64) time.Time {
	var first time.Time
	ascend(r.rows, KindRound, math.MinInt64, end, func(w row) bool {
		first = time.UnixMilli(w.ms()).In(r.t.loc)
		return false
	})
	return first
}

// readEarlier fills in what the history needs from before its own rounds for the running hours of the plant's tasks. It is done
// in a transaction of its own, once the plant is known; what is added in between belongs to later answers. Of what was counted
// before, only what came since is read (hours.go); where much was read, it is kept for the next time.
func (b *Book) readEarlier(ctx context.Context, h *record.History, o HistoryOptions) error {
	q, err := b.askHours(ctx, h, o)
	if err == nil && q.keep {
		b.keepHours(ctx, q, h)
	}
	return err
}

func (b *Book) askHours(ctx context.Context, h *record.History, o HistoryOptions) (*hoursQuery, error) {
	q := &hoursQuery{}
	countings := upkeep.Countings(h)
	if len(countings) == 0 || h.Complete {
		return q, nil
	}
	err := b.view(ctx, "reading the running hours", func(t *txn) error {
		h.Earlier = nil
		*q = hoursQuery{reader: reader{t: t, ctx: ctx, rows: t.rows(), progress: o.Progress}, countings: countings, asked: o, end: h.At.UnixMilli() + 1,
			every: cmp.Or(b.o.hoursEvery, hoursStep)}
		q.fill(q.start(q.end, o), h)
		return ctx.Err()
	})
	return q, err
}

// earlier reads the rounds and events of a stretch before the history's own, and what ran when it began.
func (q *hoursQuery) earlier(own int64, h *record.History) *record.Earlier {
	e := &record.Earlier{Counted: q.kept}
	from, since := q.from, q.from
	if q.kept == nil {
		before := q.lookBack(from)
		if since = min(from, before.since); before.round != nil {
			e.Rounds = append(e.Rounds, lean(*before.round))
		}
	}
	ascend(q.rows, KindRound, from, own, func(w row) bool {
		q.pass(w)
		if len(h.Rounds) > 0 && w.id().String() == h.Rounds[0].ID {
			return q.going() // the one that the history holds of this time already
		}
		if b, ok := q.read(w); ok && b.Kind == KindRound && (len(q.amendments(w)) > 0 || b.tellsHours()) {
			if round, ok := q.round(w); ok {
				e.Rounds = append(e.Rounds, lean(round))
			}
		}
		return q.going()
	})
	have := map[string]bool{}
	for _, x := range h.Events {
		have[x.ID] = true
	}
	ascend(q.rows, KindEvent, since, own, func(w row) bool {
		q.pass(w)
		switch w.eventKind() {
		case record.Start, record.Stop, record.Trip:
			if !have[w.id().String()] {
				if x, ok := q.event(w); ok {
					e.Events = append(e.Events, x)
				}
			}
		case record.ElementOut, record.ElementIn, record.Alarm, record.Repair, record.NoteEvent:
		}
		return q.going()
	})
	return e
}

// tellsHours reports whether a round, as it was written, says what ran or what an hour meter showed.
func (b *body) tellsHours() bool {
	if b.Running != nil {
		return true
	}
	for k := range b.Values {
		if k.Name() == quantity.Hours {
			return true
		}
	}
	return false
}

// lean is a round without anything but what ran and the hour meters.
func lean(r record.Round) record.Round {
	out := record.Round{ID: r.ID, Time: r.Time, WrittenAt: r.WrittenAt, Running: r.Running}
	for k, v := range r.Values {
		if k.Name() == quantity.Hours {
			put(&out.Values, k, v)
		}
	}
	return out
}
