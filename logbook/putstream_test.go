package logbook_test

import (
	"context"
	"errors"
	"path/filepath"
	"testing"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/model/record"
)

var errHandedOut = errors.New("the file ends here")

// A stream that fails leaves the book as it was, to the byte.
func TestPutStreamIsAllOrNothing(t *testing.T) {
	b, err := logbook.Create(t.Context(), filepath.Join(t.TempDir(), "b"), logbook.Options{})
	if err != nil {
		t.Fatal(err)
	}
	list := composed(t)
	before := bytesOf(t, b.Path())
	each := func(yield func(logbook.Entry) error) error {
		for _, e := range list {
			if err := yield(e); err != nil {
				return err
			}
		}
		return errHandedOut
	}
	if added, already, err := b.PutStream(t.Context(), each); !errors.Is(err, errHandedOut) || added != 0 || already != 0 {
		t.Errorf("added %d, already %d, %v", added, already, err)
	}
	unchanged(t, "a stream that failed", before, b.Path())
	whole := func(yield func(logbook.Entry) error) error {
		if err := each(yield); !errors.Is(err, errHandedOut) {
			return err
		}
		return nil
	}
	if added, _, err := b.PutStream(t.Context(), whole); err != nil || added != len(list) {
		t.Errorf("added %d, %v", added, err)
	}
	before = bytesOf(t, b.Path())
	if added, already, err := b.PutStream(t.Context(), whole); err != nil || added != 0 || already != len(list) {
		t.Errorf("again: added %d, already %d, %v", added, already, err)
	}
	unchanged(t, "a stream that brought nothing new", before, b.Path())
	checkSound(t, b)
}

// An entry's bytes say all of it: opened again they give the same content, hash and place.
func TestSealAndOpenEntryAreInverse(t *testing.T) {
	for _, e := range composed(t) {
		back, err := logbook.OpenEntry(e.ID, e.Raw)
		if err != nil {
			t.Fatal(err)
		}
		if back.Hash != e.Hash || back.Seq != e.Seq || back.Writer != e.Writer || back.Prev != e.Prev || back.Kind != e.Kind || back.Event.Note != e.Event.Note {
			t.Errorf("%+v, want %+v", back, e)
		}
		back.Raw = nil
		if err := back.Seal(); err != nil || string(back.Raw) != string(e.Raw) {
			t.Errorf("sealed again: %v", err)
		}
		back.Raw, back.Event.Note = nil, "something else"
		if err := back.Seal(); !errors.Is(err, logbook.ErrDamaged) {
			t.Errorf("other content under the same hash: %v", err)
		}
		if err := back.Place([16]byte{8}, 5, [32]byte{1}); err != nil || back.Seq != 5 || back.Hash == e.Hash {
			t.Errorf("placed elsewhere: %+v, %v", back, err)
		}
		spoilt := append([]byte(nil), e.Raw...)
		spoilt[len(spoilt)/2] ^= 1
		if _, err := logbook.OpenEntry(e.ID, spoilt); !errors.Is(err, logbook.ErrDamaged) {
			t.Errorf("a spoilt byte: %v", err)
		}
	}
	if _, err := logbook.OpenEntry("no id", nil); !errors.Is(err, logbook.ErrNoEntry) {
		t.Errorf("no id: %v", err)
	}
}

// The entries are made in a goroutine of their own and handed over by the batch: none may be lost at a batch's edge, and what
// fails in the middle of one must end both sides.
func TestPutStreamHandsOverByTheBatch(t *testing.T) {
	source := newBook(t)
	const most = 2*logbook.BatchLen + 44
	rounds := make([]record.Round, most)
	for i := range rounds {
		rounds[i] = sample(noon.Add(time.Duration(i) * time.Minute))
		rounds[i].ID = logbook.DeriveID(rounds[i])
	}
	if added, _, err := source.AddRounds(t.Context(), rounds); err != nil || added != most {
		t.Fatal(added, err)
	}
	var list []logbook.Entry
	if err := source.Entries(t.Context(), func(e logbook.Entry) error { list = append(list, e); return nil }); err != nil {
		t.Fatal(err)
	}
	for _, n := range []int{0, 1, logbook.BatchLen - 1, logbook.BatchLen, logbook.BatchLen + 1, 2 * logbook.BatchLen, most} {
		b := newBook(t)
		first := func(yield func(logbook.Entry) error) error {
			for _, e := range list[:n] {
				if err := yield(e); err != nil {
					return err
				}
			}
			return nil
		}
		if added, already, err := b.PutStream(t.Context(), first); err != nil || added != n || already != 0 {
			t.Errorf("%d entries: added %d, already %d, %v", n, added, already, err)
		}
		if n > 0 {
			checkSound(t, b.Book)
		}
	}
	for _, at := range []int{0, 5, logbook.BatchLen, most - 1} {
		b := newBook(t)
		before := bytesOf(t, b.Path())
		handed := 0
		spoilt := func(yield func(logbook.Entry) error) error {
			for i, e := range list {
				if i == at {
					e.Hash[3] ^= 1
				}
				if err := yield(e); err != nil {
					return err
				}
				handed++
			}
			return nil
		}
		if added, _, err := b.PutStream(t.Context(), spoilt); !errors.Is(err, logbook.ErrDamaged) || added != 0 || handed != at {
			t.Errorf("spoilt at %d: added %d, handed out %d, %v", at, added, handed, err)
		}
		unchanged(t, "a stream that was spoilt", before, b.Path())
	}
	// The writing side ends first: the making side must not wait for ever.
	ctx, cancel := context.WithCancel(t.Context())
	endless := func(yield func(logbook.Entry) error) error {
		for {
			for _, e := range list {
				if err := yield(e); err != nil {
					return err
				}
			}
			cancel()
		}
	}
	if _, _, err := newBook(t).PutStream(ctx, endless); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}
