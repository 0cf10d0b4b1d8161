package logbook

import (
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
// in a transaction of its own, once the plant is known; what is added in between belongs to later answers.
func (b *Book) readEarlier(ctx context.Context, h *record.History, o HistoryOptions) error {
	reach, needed := upkeep.Reach(h)
	if !needed || h.Complete {
		return nil
	}
	return b.view(ctx, "reading the running hours", func(t *txn) error {
		r := reader{t: t, ctx: ctx, rows: t.rows(), progress: o.Progress}
		end := h.At.UnixMilli() + 1
		own := r.start(end, o)
		if reach.UnixMilli() >= own {
			return nil
		}
		h.Earlier = r.earlier(reach.UnixMilli(), own, h)
		return ctx.Err()
	})
}

// earlier reads the rounds and events of a stretch before the history's own, and what ran when it began.
func (r *reader) earlier(from, own int64, h *record.History) *record.Earlier {
	e := &record.Earlier{}
	before := r.lookBack(from)
	if before.round != nil {
		e.Rounds = append(e.Rounds, lean(*before.round))
	}
	ascend(r.rows, KindRound, from, own, func(w row) bool {
		if len(h.Rounds) > 0 && w.id().String() == h.Rounds[0].ID {
			return r.going() // the one that the history holds of this time already
		}
		if b, ok := r.read(w); ok && b.Kind == KindRound && (len(r.amendments(w)) > 0 || b.tellsHours()) {
			if round, ok := r.round(w); ok {
				e.Rounds = append(e.Rounds, lean(round))
			}
		}
		return r.going()
	})
	have := map[string]bool{}
	for _, x := range h.Events {
		have[x.ID] = true
	}
	ascend(r.rows, KindEvent, min(before.since, from), own, func(w row) bool {
		switch w.eventKind() {
		case record.Start, record.Stop, record.Trip:
			if !have[w.id().String()] {
				if x, ok := r.event(w); ok {
					e.Events = append(e.Events, x)
				}
			}
		case record.ElementOut, record.ElementIn, record.Alarm, record.Repair, record.NoteEvent:
		}
		return r.going()
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
