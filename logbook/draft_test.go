package logbook_test

import (
	"bytes"
	"errors"
	"strconv"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"

	"example.org/headpond/logbook"
	"example.org/headpond/model/record"
)

func TestDraftsAreKeptByForm(t *testing.T) {
	b := newBook(t)
	ctx := t.Context()
	if _, ok, err := b.Draft(ctx, "round"); ok || err != nil {
		t.Errorf("no draft yet: %v, %v", ok, err)
	}
	for _, text := range []string{"v", "vo", "volts=24"} {
		b.clock.advance(time.Second)
		if err := b.SaveDraft(ctx, "round", []byte(text)); err != nil {
			t.Fatal(err)
		}
	}
	if err := b.SaveDraft(ctx, "event", nil); err != nil {
		t.Fatal(err)
	}
	want := []logbook.Draft{{Form: "event", SavedAt: noon.Add(3 * time.Second)}, {Form: "round", Data: []byte("volts=24"), SavedAt: noon.Add(3 * time.Second)}}
	equal(t, "drafts", must(b.Drafts(ctx))(t), want)
	for _, form := range []string{"event", "event", "never kept"} {
		if err := b.DropDraft(ctx, form); err != nil {
			t.Errorf("dropping %s: %v", form, err)
		}
	}
	equal(t, "drafts", must(b.Drafts(ctx))(t), want[1:])
}

func TestSavingDropsItsOwnDraftAlone(t *testing.T) {
	b := newBook(t)
	ctx := t.Context()
	forms := []string{"round", "event", "upkeep", "correction"}
	for _, f := range forms {
		if err := b.SaveDraft(ctx, f, []byte(f)); err != nil {
			t.Fatal(err)
		}
	}
	r := sample(noon)
	r.ID = logbook.DeriveID(r)
	for i, save := range []func() error{
		func() error { return second(b.AddRound(ctx, r, "round")) },
		func() error { return second(b.AddEvent(ctx, record.Event{Time: noon, Kind: record.Alarm}, "event")) },
		func() error { return second(b.AddDone(ctx, record.Done{Time: noon, Task: "grease"}, "upkeep")) },
	} {
		if err := save(); err != nil {
			t.Fatal(err)
		}
		if left := must(b.Drafts(ctx))(t); len(left) != len(forms)-i-1 {
			t.Errorf("after saving %s: %d drafts", forms[i], len(left))
		}
	}
	// A round that was kept already drops its draft all the same.
	if err := b.SaveDraft(ctx, "round", []byte("x")); err != nil {
		t.Fatal(err)
	}
	if s := must(b.AddRound(ctx, r, "round"))(t); !s.Already {
		t.Error("it was added twice")
	}
	if _, ok, _ := b.Draft(ctx, "round"); ok {
		t.Error("the draft is still there")
	}
	// What is refused keeps its draft.
	if err := b.SaveDraft(ctx, "round", []byte("y")); err != nil {
		t.Fatal(err)
	}
	r.Values["volts"] = 1
	if _, err := b.AddRound(ctx, r, "round"); !errors.Is(err, logbook.ErrExists) {
		t.Error(err)
	}
	if d, ok, _ := b.Draft(ctx, "round"); !ok || string(d.Data) != "y" {
		t.Error("the draft of a refused round is gone")
	}
}

// Saving and throwing away take the draft that is the form's own; another window's stays. A spoilt one is of no use to anybody.
func TestAnotherWindowsDraftIsLeft(t *testing.T) {
	b := newBook(t)
	ctx := t.Context()
	round := must(b.AddRound(ctx, sample(noon), ""))(t).Entry.ID
	volts := 0
	for name, drop := range map[string]func(own ...[]byte) error{
		"a round": func(own ...[]byte) error { return second(b.AddRound(ctx, sample(noon), "form", own...)) },
		"an event": func(own ...[]byte) error {
			return second(b.AddEvent(ctx, record.Event{Time: noon, Kind: record.Alarm}, "form", own...))
		},
		"upkeep": func(own ...[]byte) error {
			return second(b.AddDone(ctx, record.Done{Time: noon, Task: "grease"}, "form", own...))
		},
		"throwing it away": func(own ...[]byte) error { return b.DropDraft(ctx, "form", own...) },
		"a correction": func(own ...[]byte) error {
			volts++
			return second(b.Amend(ctx, round, map[string]string{"volts": strconv.Itoa(200 + volts)}, "misread", "Ro", "form", own...))
		},
	} {
		for _, c := range []struct {
			own  [][]byte
			left string
		}{
			{nil, ""},
			{[][]byte{[]byte("mine")}, ""},
			{[][]byte{[]byte("older"), nil, []byte("mine")}, ""},
			{[][]byte{[]byte("older"), []byte("min")}, "mine"},
			{[][]byte{nil}, "mine"},
		} {
			if err := b.SaveDraft(ctx, "form", []byte("mine")); err != nil {
				t.Fatal(err)
			}
			if err := drop(c.own...); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if d, _, err := b.Draft(ctx, "form"); err != nil || string(d.Data) != c.left {
				t.Errorf("%s with %q leaves %q, want %q (%v)", name, c.own, d.Data, c.left, err)
			}
		}
	}
	if err := b.SaveDraft(ctx, "form", []byte("mine")); err != nil {
		t.Fatal(err)
	}
	alter(t, b.Path(), func(tx *bolt.Tx) error { return tx.Bucket([]byte("drafts")).Put([]byte("form"), []byte("spoilt")) })
	if err := b.DropDraft(ctx, "form", []byte("mine")); err != nil {
		t.Fatal(err)
	}
	if _, ok, err := b.Draft(ctx, "form"); ok || err != nil {
		t.Errorf("a spoilt draft stays: %v", err)
	}
}

// A power cut between two writes would leave the correction and its draft: both must be one write, or none.
func TestACorrectionAndItsDraftAreOneWrite(t *testing.T) {
	b := newBook(t)
	ctx := t.Context()
	id := must(b.AddRound(ctx, sample(noon), ""))(t).Entry.ID
	keep := func() {
		t.Helper()
		for _, form := range []string{"correction", "round"} {
			if err := b.SaveDraft(ctx, form, []byte("volts=240")); err != nil {
				t.Fatal(err)
			}
		}
	}
	for _, c := range []struct {
		name    string
		changes map[string]string
		why     string
		drop    string
		err     error
		left    int // drafts
		added   uint64
	}{
		{"without a reason", map[string]string{"volts": "240"}, " ", "correction", logbook.ErrInvalid, 2, 0},
		{"no such column", map[string]string{"vlots": "240"}, "misread", "correction", logbook.ErrInvalid, 2, 0},
		{"no form", map[string]string{"volts": "240"}, "misread", "", nil, 2, 1},
		{"says so already, no form", map[string]string{"volts": "240"}, "misread", "", logbook.ErrNoChange, 2, 0},
		{"says so already", map[string]string{"volts": "240"}, "misread", "correction", logbook.ErrNoChange, 1, 0},
		{"its own draft alone", map[string]string{"volts": "239"}, "misread", "correction", nil, 1, 1},
		{"a draft that is not there", map[string]string{"volts": "238"}, "misread", "never kept", nil, 2, 1},
	} {
		keep()
		before := must(b.Mark(ctx))(t)
		_, err := b.Amend(ctx, id, c.changes, c.why, "Ro", c.drop)
		if !errors.Is(err, c.err) || (c.err == nil) != (err == nil) {
			t.Errorf("%s: %v", c.name, err)
		}
		if left := must(b.Drafts(ctx))(t); len(left) != c.left {
			t.Errorf("%s: %d drafts are left, want %d", c.name, len(left), c.left)
		}
		if after := must(b.Mark(ctx))(t); after-before != c.added {
			t.Errorf("%s: %d entries were added, want %d", c.name, after-before, c.added)
		}
	}
	if r := must(b.Check(ctx, nil))(t); !r.ChainOK {
		t.Errorf("the chain: %+v", r)
	}
}

func TestManyKeystrokesDoNotMakeTheFileGrow(t *testing.T) {
	b := newBook(t)
	text := []byte{}
	for range 300 {
		text = append(text, 'x')
		if err := b.SaveDraft(t.Context(), "round", text); err != nil {
			t.Fatal(err)
		}
	}
	if size := len(bytesOf(t, b.Path())); size > 128<<10 {
		t.Errorf("%d bytes", size)
	}
}

func TestSpoiltDraftIsSaidAndDoesNotHideTheOthers(t *testing.T) {
	b := newBook(t)
	ctx := t.Context()
	for _, f := range []string{"round", "event"} {
		if err := b.SaveDraft(ctx, f, []byte("volts=24")); err != nil {
			t.Fatal(err)
		}
	}
	alter(t, b.Path(), func(tx *bolt.Tx) error {
		d := tx.Bucket([]byte("drafts"))
		return d.Put([]byte("round"), bytes.Replace(d.Get([]byte("round")), []byte("24"), []byte("42"), 1))
	})
	if d, ok, err := b.Draft(ctx, "round"); ok || !errors.Is(err, logbook.ErrDamaged) {
		t.Errorf("%q, %v, %v", d.Data, ok, err)
	}
	if left := must(b.Drafts(ctx))(t); len(left) != 1 || left[0].Form != "event" {
		t.Errorf("drafts = %+v", left)
	}
	if err := b.SaveDraft(ctx, "round", []byte("volts=241")); err != nil {
		t.Errorf("it cannot be written anew: %v", err)
	}
}
