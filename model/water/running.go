package water

import (
	"sort"
	"time"

	"example.org/headpond/model/record"
)

// window is a change of running that a round found but nobody noted: it happened some time within.
type window struct {
	from, to      time.Time
	before, after map[string]record.Running
}

// runningPieces turns the running record from a time to now into pieces, oldest first, without a gap.
func runningPieces(h *record.History, b *basin, from time.Time) []piece {
	segments := record.NewTimeline(b.units(), h.Rounds, h.Events).Segments(from, h.At)
	var list []piece
	for i, seg := range segments {
		from := seg.From
		if n := len(list); n > 0 && list[n-1].to.After(from) {
			from = list[n-1].to
		}
		to := seg.To
		var w *window
		if i+1 < len(segments) {
			if w = unnoted(h, seg, segments[i+1]); w != nil {
				to = w.from
			}
		}
		b.byEra(from, to, func(e *era, from, to time.Time) { list = append(list, e.mixed(seg.State, from, to)) })
		if w != nil {
			start := w.from
			if start.Before(from) {
				start = from
			}
			list = append(list, b.changing(*w, start))
		}
	}
	return list
}

// unnoted returns the window of a change that stands in a round without an event at that time, or nil.
func unnoted(h *record.History, seg, next record.Segment) *window {
	for _, r := range seg.State {
		if r == record.Unknown {
			return nil
		}
	}
	from, noted := lastChange(h, seg.From, next.From)
	if noted {
		return nil
	}
	n := sort.Search(len(h.Rounds), func(i int) bool { return !h.Rounds[i].Time.Before(next.From) })
	for i := n - 1; i >= 0 && h.Rounds[i].Time.After(from); i-- {
		if h.Rounds[i].Running != nil {
			from = h.Rounds[i].Time
			break
		}
	}
	return &window{from: from, to: next.From, before: seg.State, after: next.State}
}

// lastChange is the time of the last start, stop or trip after from and up to to, or from; noted where it is to itself.
func lastChange(h *record.History, from, to time.Time) (at time.Time, noted bool) {
	n := sort.Search(len(h.Events), func(i int) bool { return h.Events[i].Time.After(to) })
	for i := n - 1; i >= 0 && h.Events[i].Time.After(from); i-- {
		switch e := h.Events[i]; e.Kind {
		case record.Start, record.Stop, record.Trip:
			return e.Time, e.Time.Equal(to)
		case record.ElementOut, record.ElementIn, record.Alarm, record.Repair, record.NoteEvent:
		}
	}
	return from, false
}

// mixed is a piece with a known state, or one between the least and the most that an unknown state may draw.
func (e *era) mixed(state map[string]record.Running, from, to time.Time) piece {
	var least, most []string
	for _, u := range e.units {
		switch state[u] {
		case record.On:
			least, most = append(least, u), append(most, u)
		case record.Unknown:
			most = append(most, u)
		case record.Off:
		}
	}
	p := piece{from: from, to: to, a: e.draws.table(least), b: e.draws.table(least), most: e.all()}
	if len(most) > len(least) {
		p.b, p.share, p.spread = e.draws.table(most), 0.5, 0.5
	}
	return p
}

// changing is a piece within which the state changed at a time that is not known: any time is as likely as another. The
// machines are those of its end.
func (b *basin) changing(w window, from time.Time) piece {
	e := &b.eras[b.eraAt(w.to)]
	p := piece{from: from, to: w.to, share: 0.5, spread: 0.2887, most: e.all()} // 1/√12
	p.a, p.b = e.draws.table(e.on(w.before)), e.draws.table(e.on(w.after))
	return p
}

func (e *era) on(state map[string]record.Running) []string {
	var ids []string
	for _, u := range e.units {
		if state[u] == record.On {
			ids = append(ids, u)
		}
	}
	return ids
}
