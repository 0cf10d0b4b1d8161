package logbook_test

import (
	"errors"
	"path/filepath"
	"testing"

	"example.org/headpond/logbook"
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
