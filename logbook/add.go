package logbook

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"reflect"
	"time"

	"example.org/headpond/model/record"
)

// Saved is what was kept, and what the person should know about it.
type Saved[T any] struct {
	// Entry is the value with its ID and WrittenAt, its times rounded down to the second.
	Entry T
	// Already is true when the book held the very same entry and nothing was added.
	Already bool
	// Cautions are sentences for people, such as that the clock has fallen back. The entry is kept all the same.
	Cautions []string
}

// AddRound keeps a round. One without an ID gets one; one with an ID keeps it, and when the book holds an entry of that ID
// with the same content, Saved.Already is true, with other content the error is ErrExists. The draft of the form dropDraft, if
// not "", goes in the same transaction: after a power cut there is either the draft or the round. Where own is given, the states of
// the draft that the round stands for, a draft that is none of them is left: another window wrote it.
func (b *Book) AddRound(ctx context.Context, r record.Round, dropDraft string, own ...[]byte) (Saved[record.Round], error) {
	kept, err := roundBody(r)
	if err != nil {
		return Saved[record.Round]{}, explain("saving a round", b.path, err)
	}
	return addOne(ctx, b, addition{b: kept, id: r.ID}, dropDraft, own, "saving a round", (*body).round)
}

// AddEvent keeps an event, like AddRound.
func (b *Book) AddEvent(ctx context.Context, e record.Event, dropDraft string, own ...[]byte) (Saved[record.Event], error) {
	kept, err := eventBody(e)
	if err != nil {
		return Saved[record.Event]{}, explain("saving an event", b.path, err)
	}
	return addOne(ctx, b, addition{b: kept, id: e.ID}, dropDraft, own, "saving an event", (*body).event)
}

// AddDone keeps an upkeep task done, like AddRound.
func (b *Book) AddDone(ctx context.Context, d record.Done, dropDraft string, own ...[]byte) (Saved[record.Done], error) {
	kept, err := doneBody(d)
	if err != nil {
		return Saved[record.Done]{}, explain("saving upkeep", b.path, err)
	}
	return addOne(ctx, b, addition{b: kept, id: d.ID}, dropDraft, own, "saving upkeep", (*body).done)
}

// AddPlant keeps a plant description as a new revision that holds from a time on. The caller has parsed it.
func (b *Book) AddPlant(ctx context.Context, text string, from time.Time, by string) (Saved[record.Revision], error) {
	const doing = "loading a plant"
	kept, err := plantBody(record.Revision{Text: text, From: from, By: by})
	if err != nil {
		return Saved[record.Revision]{}, explain(doing, b.path, err)
	}
	return addOne(ctx, b, addition{b: kept}, "", nil, doing, (*body).revision)
}

// AddRounds keeps all rounds in one transaction, or none of them. Rounds that the book holds already, by ID and content, are
// counted and passed over.
func (b *Book) AddRounds(ctx context.Context, rounds []record.Round) (added, already int, err error) {
	const doing = "saving rounds"
	list := make([]addition, len(rounds))
	for i, r := range rounds {
		kept, err := roundBody(r)
		if err != nil {
			return 0, 0, explain(fmt.Sprintf("%s (number %d)", doing, i+1), b.path, err)
		}
		list[i] = addition{b: kept, id: r.ID}
	}
	err = b.update(ctx, doing, func(t *txn) error {
		added, already = 0, 0
		w, err := b.writer(t)
		if err != nil {
			return err
		}
		for i, a := range list {
			if i%1024 == 0 && ctx.Err() != nil {
				return ctx.Err()
			}
			_, old, err := w.add(a)
			if err != nil {
				return err
			}
			if old {
				already++
			} else {
				added++
			}
		}
		return w.finish()
	})
	if err = unlessNothing(err); err != nil {
		return 0, 0, err
	}
	return added, already, nil
}

// addition is one entry to be written: its content, and its id where that is settled already.
type addition struct {
	b     *body
	id    string
	floor id // the new id must come after this one
}

// addOne writes one entry and drops its draft in one transaction.
func addOne[T any](ctx context.Context, b *Book, a addition, dropDraft string, own [][]byte, doing string, value func(*body, id, *time.Location) T) (Saved[T], error) {
	var s Saved[T]
	err := b.update(ctx, doing, func(t *txn) error {
		w, err := b.writer(t)
		if err != nil {
			return err
		}
		key, already, err := w.add(a)
		if err != nil {
			return err
		}
		if err := t.dropDraft(dropDraft, own); err != nil {
			return err
		}
		s.Already, s.Cautions = already, w.cautions
		kept := a.b
		if already {
			if kept, err = open(key, t.get(key)); err != nil {
				return err
			}
		}
		s.Entry = value(kept, key, t.loc)
		if already && dropDraft != "" {
			return nil // the draft still has to go
		}
		return w.finish()
	})
	if err = unlessNothing(err); err != nil {
		return Saved[T]{}, err
	}
	return s, nil
}

// writer adds entries to a chain within one transaction.
type writer struct {
	b        *Book
	t        *txn
	now      stamp
	tip      tip
	hadTip   bool
	changed  bool
	added    map[uint64]id // the latest id of each millisecond that this transaction added
	cautions []string
}

// lastOf returns the greatest id of a millisecond: of those that were there when the transaction began, and those added since.
func (w *writer) lastOf(ms uint64) (id, bool) {
	last, found := w.t.lastOf(ms)
	if own, ok := w.added[ms]; ok {
		return later(last, own), true
	}
	return last, found
}

func later(a, b id) id {
	if a.Compare(b) > 0 {
		return a
	}
	return b
}

// writer finds the end of this writer's chain and looks at the clock.
func (b *Book) writer(t *txn) (*writer, error) {
	now, err := b.now()
	if err != nil {
		return nil, err
	}
	w := &writer{b: b, t: t, now: now, added: map[uint64]id{}}
	w.tip, w.hadTip = t.tipOf(b.o.Writer)
	if latest := t.latestWriting(); latest.MS > now.MS {
		w.cautions = append(w.cautions, clockCaution(now.clockTime(t.loc), latest.clockTime(t.loc))+"; the entry is kept")
	}
	return w, nil
}

// clockCaution is said where an entry was written later than now. Which of the two clocks was wrong nobody can tell: the entry
// may have come from another computer, or this one's clock may have been put right since.
func clockCaution(now, latest time.Time) string {
	return fmt.Sprintf("the clock of this computer says %s, but an entry of the book was written at %s: this clock is behind, or the one that it was written by was ahead; check this one; if it is right, say so with headpond check --clock-right",
		now.Format(sentenceTime), latest.Format(sentenceTime))
}

// sentenceTime is how a caution writes a time.
const sentenceTime = "2006-01-02 15:04 -0700"

// add seals one entry onto the chain. It returns the entry's id and whether the book held it already.
func (w *writer) add(a addition) (key id, already bool, err error) {
	if a.id != "" {
		if key, err = parseID(a.id); err != nil {
			return id{}, false, err
		}
		if old := w.t.get(key); old != nil {
			return key, true, w.sameContent(key, old, a.b)
		}
	} else if key, err = newID(uint64(a.b.Time.MS), a.floor, w.b.o.Rand, w.lastOf); err != nil {
		return id{}, false, err
	}
	a.b.Written, a.b.Writer = w.now, w.b.o.Writer[:]
	a.b.Seq, a.b.Prev = w.tip.seq+1, w.tip.hash[:]
	value, err := seal(key, a.b)
	if err != nil {
		return id{}, false, err
	}
	if err := w.insert(key, value, a); err != nil {
		return id{}, false, err
	}
	if w.hadTip {
		if err := w.t.dropTip(w.b.o.Writer, w.tip.hash); err != nil {
			return id{}, false, err
		}
	}
	w.added[key.Time()] = later(w.added[key.Time()], key)
	w.tip, w.hadTip, w.changed = tip{id: key, seq: a.b.Seq, hash: hashOf(key, value)}, true, true
	return key, false, w.t.putTip(w.b.o.Writer, w.tip)
}

// finish marks the index as up to date with the entries. Where nothing was added it ends the transaction with errNothing, so
// that nothing is written.
func (w *writer) finish() error {
	if !w.changed {
		return errNothing
	}
	return w.t.markIndex()
}

// errNothing ends a write transaction that has nothing to write. It never leaves the package.
var errNothing = errors.New("nothing to write")

func unlessNothing(err error) error {
	if errors.Is(err, errNothing) {
		return nil
	}
	return err
}

// insert puts a sealed entry into the book. An id that was just made can have neither another version nor corrections.
func (w *writer) insert(key id, value []byte, a addition) error {
	if a.id != "" || a.b.Kind == KindAmendment {
		return w.t.insert(key, value, a.b)
	}
	if err := w.t.entries.Put(key[:], value); err != nil {
		return err
	}
	if err := w.t.count(a.b); err != nil {
		return err
	}
	if r, ok := rowFor(key, a.b, nil); ok {
		return w.t.keepRow(r)
	}
	return nil
}

// insert puts a sealed entry and its rows into the book, in place of another version of the same id where there is one.
func (t *txn) insert(key id, value []byte, b *body) error {
	touched := map[id]bool{key: true}
	if b.Kind == KindAmendment {
		touched[id(b.Target)] = true
	}
	old, err := t.stale(key, touched)
	if err != nil {
		return err
	}
	if old != nil {
		if err := t.amends.Delete(old); err != nil {
			return err
		}
	}
	if b.Kind == KindAmendment {
		if err := t.amends.Put(append(append([]byte(nil), b.Target...), key[:]...), []byte{}); err != nil {
			return err
		}
	}
	if err := t.entries.Put(key[:], value); err != nil {
		return err
	}
	if err := t.count(b); err != nil {
		return err
	}
	delete(touched, key)
	if r, ok := rowFor(key, b.copyMaps(), t.amendments(key)); ok {
		if err := t.keepRow(r); err != nil {
			return err
		}
	}
	return t.reindex(touched)
}

// count notes that one more value is in the book.
func (t *txn) count(b *body) error {
	if err := t.entries.NextSequence(); err != nil {
		return err
	}
	return t.noteWriting(b.Written)
}

// stale takes away the rows that a new version of an entry makes wrong. It returns the link of the correction that stood
// there before, if one did, and adds what that one corrected to touched.
func (t *txn) stale(key id, touched map[id]bool) (link []byte, err error) {
	if v := t.get(key); v != nil {
		if old, err := open(key, v); err == nil && old.Kind == KindAmendment {
			touched[id(old.Target)] = true
			link = append(append([]byte(nil), old.Target...), key[:]...)
		}
	}
	return link, t.unindex(touched)
}

// sameContent returns nil when an entry in the book says the same as the new one, as written or as corrected since.
func (w *writer) sameContent(key id, value []byte, b *body) error {
	old, err := open(key, value)
	if err != nil {
		return err
	}
	if old.sameContent(b) {
		return nil
	}
	if changes := w.t.amendments(key); old.Kind == KindRound && len(changes) > 0 {
		r := old.round(key, nil)
		applyRound(&r, changes)
		if now, err := roundBody(r); err == nil && now.sameContent(b) {
			return nil
		}
	}
	return &Error{Kind: ErrExists, Where: "entry " + key.String() + " says something else", Hint: "correct it with headpond amend; nothing was changed", Err: errOtherContent}
}

var errOtherContent = errors.New("same id, other content")

// sameContent compares everything but who wrote an entry down and when.
func (b *body) sameContent(o *body) bool {
	x, y := *b, *o
	for _, c := range []*body{&x, &y} {
		c.Written, c.Writer, c.Seq, c.Prev, c.unknown = stamp{}, nil, 0, nil, nil
		c.Time.OffsetS = 0
		if len(c.Units) == 0 {
			c.Units = nil
		}
	}
	return reflect.DeepEqual(x, y)
}

// DeriveID gives a round without an id one that follows from its time and content alone, so that importing the same rows
// again, here or into another book, adds nothing. When and by whom it was written down do not count.
func DeriveID(r record.Round) string {
	b, err := roundBody(r)
	if err != nil {
		return "" // AddRound will say why it cannot be kept
	}
	b.Time.OffsetS, b.Writer, b.Prev = 0, []byte{}, []byte{}
	content, err := encoder.Marshal(b)
	if err != nil {
		return ""
	}
	var key id
	if err := key.SetTime(uint64(b.Time.MS)); err != nil {
		return ""
	}
	sum := sha256.Sum256(content)
	copy(key[6:], sum[:])
	return key.String()
}
