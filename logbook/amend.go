package logbook

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"example.org/headpond/model/record"
)

// Amend corrects an entry. The id may be a beginning of at least six characters that only one round, event or upkeep entry
// has. Changes are columns of that entry with their new text in the CSV's form (a number in the column's own unit, a word,
// unit ids joined by +, a time as RFC 3339); Withdrawn takes a reading back. The old values stay in the book, and every
// reader sees them in Changes.
//
// Columns that already say so are passed over; when all do, the error is ErrNoChange. Amend returns what was altered.
//
// The draft of the form dropDraft, if not "", goes in the same transaction: after a power cut there is either the draft or the
// correction. It goes with ErrNoChange too, since the entry says then what the draft was to make it say; any other error
// leaves it. Of own holds what it does in AddRound.
func (b *Book) Amend(ctx context.Context, entry string, changes map[string]string, why, by, dropDraft string, own ...[]byte) (Saved[[]record.Change], error) {
	const doing = "correcting an entry"
	var s Saved[[]record.Change]
	var same error // the entry says so already
	if strings.TrimSpace(why) == "" {
		return s, explain(doing, b.path, invalid("a correction without a reason", "why it is made"))
	}
	err := b.update(ctx, doing, func(t *txn) error {
		same = nil
		target, old, err := t.amendable(entry)
		if err != nil {
			return err
		}
		if err := t.dropDraft(dropDraft, own); err != nil {
			return err
		}
		before := t.amendments(target)
		a, err := newAmendment(old, target, before, changes)
		if errors.Is(err, ErrNoChange) && dropDraft != "" {
			same = err
			return nil // the draft still has to go
		}
		if err != nil {
			return err
		}
		w, err := b.writer(t)
		if err != nil {
			return err
		}
		a.Why, a.By = why, by
		kept, err := amendmentBody(a)
		if err != nil {
			return err
		}
		kept.Time = w.now
		key, _, err := w.add(addition{b: kept, floor: lastID(before)})
		if err != nil {
			return err
		}
		a.ID, a.WrittenAt = key.String(), w.now.clockTime(t.loc)
		s.Cautions, s.Entry = w.cautions, onlyOf(correct(old, target, append(before, a)), a.ID)
		return w.finish()
	})
	if err == nil && same != nil {
		err = explain(doing, b.path, same)
	}
	if err != nil {
		return Saved[[]record.Change]{}, err
	}
	return s, nil
}

// amendable finds the entry that a correction names.
func (t *txn) amendable(entry string) (id, *body, error) {
	key, b, err := t.find(entry, func(k Kind) bool { return k == KindRound || k == KindEvent || k == KindDone })
	if err != nil {
		return id{}, nil, err
	}
	switch b.Kind {
	case KindRound, KindEvent, KindDone:
		return key, b, nil
	case KindAmendment:
		return id{}, nil, invalid("entry "+key.String()+" is itself a correction", "the entry that it corrects, "+id(b.Target).String())
	case KindPlant:
		return id{}, nil, invalid("entry "+key.String()+" is a plant revision", "a new revision, with headpond plant load")
	}
	return id{}, nil, invalid("entry "+key.String()+" is of "+b.Kind.String(), "a newer version of this program")
}

// newAmendment keeps of the changes those that alter the entry as it now reads, and refuses those that cannot be applied.
func newAmendment(old *body, target id, before []Amendment, changes map[string]string) (Amendment, error) {
	c := columnsOf(old, target)
	if c == nil {
		return Amendment{}, invalid("this entry", "a round, an event or upkeep done")
	}
	apply(c, before)
	a := Amendment{Target: target.String(), Changes: map[string]string{}}
	for key, text := range changes {
		text = clean(text)
		was := c.text(key)
		if err := checkColumn(old, key); err != nil {
			return Amendment{}, err
		}
		if err := c.set(key, text); err != nil {
			return Amendment{}, err
		}
		if c.text(key) != was {
			a.Changes[key] = text
		}
	}
	if len(a.Changes) == 0 {
		return Amendment{}, &Error{Kind: ErrNoChange, Where: "entry " + target.String() + " says so already", Hint: hintUnchanged}
	}
	return a, nil
}

// checkColumn refuses a column that a round has no reading of and the catalogue does not know; a typing mistake would
// otherwise become an extra column.
func checkColumn(old *body, key string) error {
	if old.Kind != KindRound {
		return nil
	}
	switch key {
	case record.ColTime, record.ColBy, record.ColNote, record.ColRunning:
		return nil
	}
	if _, ok := old.Extra[key]; ok || knownReading(old, key) {
		return nil
	}
	return unknownColumn(key, "a round", append([]string{record.ColTime, record.ColBy, record.ColNote, record.ColRunning}, "a reading"))
}

// columnsOf gives a fresh, correctable copy of an entry's content, nil for other kinds.
func columnsOf(b *body, key id) corrected {
	switch b.Kind {
	case KindRound:
		r := b.copyMaps().round(key, nil)
		return (*roundColumns)(&r)
	case KindEvent:
		e := b.event(key, nil)
		return (*eventColumns)(&e)
	case KindDone:
		d := b.done(key, nil)
		return (*doneColumns)(&d)
	case KindAmendment, KindPlant:
	}
	return nil
}

// correct applies corrections to an entry's content and returns what they did.
func correct(b *body, key id, list []Amendment) []record.Change {
	c := columnsOf(b, key)
	if c == nil {
		return nil
	}
	return apply(c, list)
}

func onlyOf(changes []record.Change, amendment string) []record.Change {
	var list []record.Change
	for _, c := range changes {
		if c.Amendment == amendment {
			list = append(list, c)
		}
	}
	return list
}

func lastID(list []Amendment) id {
	if len(list) == 0 {
		return id{}
	}
	last, err := parseID(list[len(list)-1].ID)
	if err != nil {
		return id{}
	}
	return last
}

// amendmentBody turns a correction into what is kept of it. The caller sets its time.
func amendmentBody(a Amendment) (*body, error) {
	target, err := parseID(a.Target)
	if err != nil {
		return nil, err
	}
	return &body{Kind: KindAmendment, Target: target[:], Changes: cleanMap(a.Changes), Why: clean(a.Why), By: clean(a.By)}, nil
}

// find reads an entry by its id or a beginning of it. Where several entries begin so, wanted settles it if that leaves one.
func (t *txn) find(entry string, wanted func(Kind) bool) (id, *body, error) {
	low, high, err := prefixRange(entry)
	if err != nil {
		return id{}, nil, err
	}
	var keys, preferred []id
	c := t.entries.Cursor()
	for k, v := c.Seek(low[:]); len(k) == idLen && id(k).Compare(high) <= 0; k, v = c.Next() {
		keys = append(keys, id(k))
		if b, err := open(id(k), v); err == nil && wanted != nil && wanted(b.Kind) {
			preferred = append(preferred, id(k))
		}
	}
	if len(keys) > 1 && len(preferred) > 0 {
		keys = preferred
	}
	switch len(keys) {
	case 0:
		return id{}, nil, &Error{Kind: ErrNoEntry, Where: fmt.Sprintf("no id begins with %s", strings.TrimSpace(entry)), Hint: "headpond rounds lists the ids; nothing was changed"}
	case 1:
		b, err := open(keys[0], t.get(keys[0]))
		return keys[0], b, err
	}
	return id{}, nil, &Error{Kind: ErrAmbiguous, Where: strings.TrimSpace(entry) + " may be " + listIDs(keys), Hint: "give more of the id; nothing was changed"}
}

// listIDs names up to eight ids.
func listIDs(keys []id) string {
	const most = 8
	var names []string
	for i, k := range keys {
		if i == most {
			names = append(names, fmt.Sprintf("or %d more", len(keys)-most))
			break
		}
		names = append(names, k.String())
	}
	return strings.Join(names, ", ")
}
