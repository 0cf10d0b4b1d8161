package logview

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/model/assess"
	"example.org/headpond/model/localtime"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui/text"
)

// kind is what an item of the log is.
type kind int

// The kinds, in the order in which the filter offers them.
const (
	aRound kind = iota
	anEvent
	aChange
	aDone
	aRevision
)

// item is one line of the log. A correction is a line of its own, at the time when it was written; it leads to the entry that
// it corrects.
type item struct {
	kind     kind
	at       time.Time
	by       string
	id       string // of the entry; for a correction, of the one that it corrects
	round    *record.Round
	event    *record.Event
	done     *record.Done
	revision *record.Revision
	changes  []record.Change // what one correction altered
}

// key tells items apart: an entry and its corrections share the id.
func (it item) key() string {
	if it.kind == aChange {
		return it.changes[0].Amendment
	}
	return it.id
}

// entry is the item itself, or for a correction the entry that it corrects.
func (it item) entry() item {
	if it.kind != aChange {
		return it
	}
	switch {
	case it.round != nil:
		return ofRound(it.round)
	case it.event != nil:
		return ofEvent(it.event)
	}
	return ofDone(it.done)
}

// writtenAt is when the entry was written down.
func (it item) writtenAt() time.Time {
	switch it.kind {
	case aRound:
		return it.round.WrittenAt
	case anEvent:
		return it.event.WrittenAt
	case aDone:
		return it.done.WrittenAt
	case aRevision:
		return it.revision.WrittenAt
	case aChange:
	}
	return it.at
}

// corrections are all changes that were made to an entry, oldest first.
func (it item) corrections() []record.Change {
	switch it.kind {
	case aRound:
		return it.round.Changes
	case anEvent:
		return it.event.Changes
	case aDone:
		return it.done.Changes
	case aChange, aRevision:
	}
	return nil
}

func ofRound(r *record.Round) item {
	return item{kind: aRound, at: r.Time, by: r.By, id: r.ID, round: r}
}

func ofEvent(e *record.Event) item {
	return item{kind: anEvent, at: e.Time, by: e.By, id: e.ID, event: e}
}

func ofDone(d *record.Done) item {
	return item{kind: aDone, at: d.Time, by: d.By, id: d.ID, done: d}
}

// ledger is what one history holds, as the log shows it. It is made outside the drawing loop where it is large, and only its
// memory of judgements grows afterwards.
type ledger struct {
	h         *record.History
	items     []item    // newest first
	from      time.Time // what is older was left in the book; zero: nothing was
	persons   []string
	otherYear bool // it holds entries of another year than the present
	twice     bool // it holds entries whose clock time happens twice
	assessor  *assess.Assessor
	judged    map[string]judgement
	texts     []string // what is searched in each item, lower case; "" where it was not asked for yet
}

// newLedger lays a history out. It looks at each entry once and judges none.
func newLedger(h *record.History) *ledger {
	l := &ledger{h: h, from: beginning(h), assessor: assess.Of(h), judged: map[string]judgement{}}
	for i := range h.Rounds {
		l.add(ofRound(&h.Rounds[i]))
	}
	for i := range h.Events {
		l.add(ofEvent(&h.Events[i]))
	}
	for i := range h.Done {
		l.add(ofDone(&h.Done[i]))
	}
	for i := range h.Revisions {
		r := &h.Revisions[i]
		l.add(item{kind: aRevision, at: r.From, by: r.By, id: r.ID, revision: r})
	}
	l.addLater(h.Later)
	slices.SortStableFunc(l.items, newestFirst)
	l.texts = make([]string, len(l.items))
	slices.Sort(l.persons)
	l.persons = slices.Compact(l.persons)
	if n := len(l.items); n > 0 {
		l.otherYear = l.items[n-1].at.Year() != h.At.Year()
	}
	if h.Plant != nil && h.Plant.Location != nil {
		l.twice = slices.ContainsFunc(l.items, func(it item) bool { return localtime.Twice(it.at, h.Plant.Location) })
	}
	return l
}

// beginning is from where on the history is whole: it also holds older entries that tell the state at its beginning, which
// would stand in the log with nothing between.
func beginning(h *record.History) time.Time {
	if h.Complete {
		return time.Time{}
	}
	last := h.At
	if r, ok := h.Last(); ok {
		last = r.Time
	}
	return last.AddDate(0, 0, -logbook.DefaultDays)
}

// addLater takes what is dated in the future, which stands above all else until its time is corrected or comes.
func (l *ledger) addLater(later *record.Later) {
	if later == nil {
		return
	}
	for i := range later.Rounds {
		l.add(ofRound(&later.Rounds[i]))
	}
	for i := range later.Events {
		l.add(ofEvent(&later.Events[i]))
	}
	for i := range later.Done {
		l.add(ofDone(&later.Done[i]))
	}
}

// notYet reports whether an entry is dated in the future, so that it has no part in any answer.
func (l *ledger) notYet(it item) bool {
	return (it.kind == aRound || it.kind == anEvent || it.kind == aDone) && it.at.After(l.h.At)
}

// add takes an entry, and each of its corrections as an item of its own.
func (l *ledger) add(it item) {
	l.put(it)
	all := it.corrections()
	for i := 0; i < len(all); {
		n := i + 1
		for n < len(all) && all[n].Amendment == all[i].Amendment {
			n++
		}
		c := it
		c.kind, c.at, c.by, c.changes = aChange, all[i].At, all[i].By, all[i:n]
		l.put(c)
		i = n
	}
}

func (l *ledger) put(it item) {
	if it.at.Before(l.from) {
		return
	}
	l.items = append(l.items, it)
	if it.by != "" && (len(l.persons) == 0 || l.persons[len(l.persons)-1] != it.by) {
		l.persons = append(l.persons, it.by)
	}
}

// newestFirst is the order of the log. At equal times events come before the round, so after it in this order.
func newestFirst(a, b item) int {
	rank := func(it item) int {
		return [...]int{aRound: 3, anEvent: 4, aChange: 0, aDone: 2, aRevision: 1}[it.kind]
	}
	return cmp.Or(b.at.Compare(a.at), cmp.Compare(rank(a), rank(b)), cmp.Compare(b.id, a.id))
}

// find returns the entry of an id.
func (l *ledger) find(id string) (item, bool) {
	for _, it := range l.items {
		if it.id == id {
			return it.entry(), true
		}
	}
	return item{}, false
}

// warm does in advance what the first judgement would wait for.
func (l *ledger) warm() *ledger {
	for _, r := range l.h.Revisions {
		l.assessor.Timeline(r.Plant)
	}
	return l
}

// searched is the text of an item in which the filter looks.
func (l *ledger) searched(i int) string {
	if l.texts[i] == "" {
		it := l.items[i]
		typed := ""
		if it.kind == anEvent {
			typed = string(it.event.Kind) // "element-out", as the commands have it
		}
		l.texts[i] = strings.ToLower(" " + strings.Join([]string{it.word(), typed, it.sentence(words{}), it.by, it.id}, " "))
	}
	return l.texts[i]
}

// nameWidth is the room for names.
func (l *ledger) nameWidth() int {
	const least, most = 2, 10
	w := least
	for _, p := range l.persons {
		w = max(w, text.Width(text.Show(p)))
	}
	return min(w, most)
}
