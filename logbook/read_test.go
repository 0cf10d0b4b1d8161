package logbook_test

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"

	"example.org/headpond/logbook"
	"example.org/headpond/model/record"
)

// alter opens a book's file with the store alone and changes it, as an older or newer version would have left it.
func alter(t testing.TB, path string, fn func(tx *bolt.Tx) error) {
	t.Helper()
	db, err := bolt.Open(path, 0o600, nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := db.Update(fn); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}

// readAll does everything that reads and returns what it says, for comparison.
func readAll(t testing.TB, b *logbook.Book) string {
	t.Helper()
	var s strings.Builder
	ctx := t.Context()
	for _, o := range []logbook.HistoryOptions{{}, {All: true}, {Days: 1}, {At: noon.AddDate(0, 0, -3)}} {
		h := must(b.History(ctx, o))(t)
		fmt.Fprintln(&s, len(h.Rounds), len(h.Events), len(h.Done), len(h.Revisions), h.Complete, h.Cautions)
		for _, r := range h.Rounds {
			fmt.Fprintln(&s, r.ID, r.Time, r.Values, r.Changes)
		}
	}
	drafts := must(b.Drafts(ctx))(t)
	n := 0
	err := errors.Join(
		b.Rounds(ctx, time.Time{}, time.Time{}, func(record.Round) error { n++; return nil }),
		b.Events(ctx, time.Time{}, time.Time{}, func(record.Event) error { n++; return nil }),
		b.Entries(ctx, func(e logbook.Entry) error { n++; return nil }),
		second(b.Revisions(ctx)), second(b.Mark(ctx)), second(b.Stamp()), second(b.Check(ctx, nil)),
	)
	_, ok, derr := b.Draft(ctx, "round")
	fmt.Fprintln(&s, len(drafts), n, ok, err, derr)
	return s.String()
}

func lastingBook(t testing.TB) *testBook {
	t.Helper()
	path := filepath.Join(t.TempDir(), "used.book")
	if err := os.WriteFile(path, usedBook(t), 0o600); err != nil {
		t.Fatal(err)
	}
	clock := &testClock{noon}
	b := must(logbook.Open(path, options(t, clock, "alder")))(t)
	t.Cleanup(func() { checkSound(t, b) })
	return &testBook{b, clock}
}

func TestReadingLeavesTheFileAsItIs(t *testing.T) {
	b := lastingBook(t)
	before := bytesOf(t, b.Path())
	info := must(os.Stat(b.Path()))(t)
	readAll(t, b.Book)
	must(b.Backup(t.Context(), filepath.Join(t.TempDir(), "copy"), false))(t)
	unchanged(t, "reading", before, b.Path())
	if now := must(os.Stat(b.Path()))(t); !now.ModTime().Equal(info.ModTime()) {
		t.Error("reading altered the file's date")
	}
}

func TestStaleOrMissingIndexIsDoneWithoutAndMadeAgain(t *testing.T) {
	for name, spoil := range map[string]func(tx *bolt.Tx) error{
		"stale mark":        func(tx *bolt.Tx) error { return tx.Bucket([]byte("headpond")).Delete([]byte("index")) },
		"older index":       func(tx *bolt.Tx) error { return tx.Bucket([]byte("headpond")).Put([]byte("index"), make([]byte, 9)) },
		"no index":          func(tx *bolt.Tx) error { return tx.DeleteBucket([]byte("index")) },
		"no corrections":    func(tx *bolt.Tx) error { return tx.DeleteBucket([]byte("amends")) },
		"no other versions": func(tx *bolt.Tx) error { return tx.DeleteBucket([]byte("twins")) },
		"an entry put in without the index": func(tx *bolt.Tx) error {
			e := tx.Bucket([]byte("entries"))
			return e.SetSequence(e.Sequence())
		},
	} {
		t.Run(name, func(t *testing.T) {
			b := lastingBook(t)
			want := readAll(t, b.Book)
			alter(t, b.Path(), spoil)
			before := bytesOf(t, b.Path())
			if got := readAll(t, b.Book); got != want {
				t.Errorf("read without an index:\n%s\nwant:\n%s", got, want)
			}
			unchanged(t, "reading", before, b.Path())
			if err := b.SaveDraft(t.Context(), "round", []byte("x")); err != nil {
				t.Fatal(err)
			}
			if got := readAll(t, b.Book); got != want {
				t.Errorf("read after the next writing:\n%s\nwant:\n%s", got, want)
			}
		})
	}
}

func TestWrongIndexIsFoundAndMadeAgain(t *testing.T) {
	b := lastingBook(t)
	want := readAll(t, b.Book)
	alter(t, b.Path(), func(tx *bolt.Tx) error {
		c := tx.Bucket([]byte("index")).Cursor()
		c.First()
		return c.Delete()
	})
	report := must(b.Check(t.Context(), nil))(t)
	if report.Sound() || !strings.Contains(report.Damaged[0].What, "no entry is lost") {
		t.Errorf("report = %+v", report)
	}
	if err := b.Reindex(t.Context()); err != nil {
		t.Fatal(err)
	}
	if got := readAll(t, b.Book); got != want {
		t.Errorf("after Reindex:\n%s\nwant:\n%s", got, want)
	}
}

func TestCheckFindsWhatWasRemovedOrAltered(t *testing.T) {
	firstEntry := func(tx *bolt.Tx, n int) (k, v []byte) {
		c := tx.Bucket([]byte("entries")).Cursor()
		for k, v = c.First(); n > 0; n-- {
			k, v = c.Next()
		}
		return append([]byte(nil), k...), append([]byte(nil), v...)
	}
	for name, c := range map[string]struct {
		spoil   func(tx *bolt.Tx) error
		says    string
		chainOK bool
	}{
		"removed in the middle": {func(tx *bolt.Tx) error {
			k, _ := firstEntry(tx, 5)
			return tx.Bucket([]byte("entries")).Delete(k)
		}, "is missing or was altered", false},
		"tail removed": {func(tx *bolt.Tx) error {
			_, tip := tx.Bucket([]byte("heads")).Cursor().First()
			return tx.Bucket([]byte("entries")).Delete(tip[8:])
		}, "the last entry of writer", false},
		"tail and its mention removed": {func(tx *bolt.Tx) error {
			c := tx.Bucket([]byte("heads")).Cursor()
			_, tip := c.First()
			if err := tx.Bucket([]byte("entries")).Delete(tip[8:]); err != nil {
				return err
			}
			return c.Delete()
		}, "entries were put in", false},
		"altered byte": {func(tx *bolt.Tx) error {
			k, v := firstEntry(tx, 5)
			v[len(v)/2] ^= 1
			return tx.Bucket([]byte("entries")).Put(k, v)
		}, "checksum", false},
		"under another id": {func(tx *bolt.Tx) error {
			k, v := firstEntry(tx, 5)
			k[15]++
			return tx.Bucket([]byte("entries")).Put(k, v)
		}, "checksum", false},
		"spoilt draft": {func(tx *bolt.Tx) error {
			return tx.Bucket([]byte("drafts")).Put([]byte("round"), []byte("volts=24"))
		}, "the draft of round", true},
		"odd key": {func(tx *bolt.Tx) error {
			return tx.Bucket([]byte("entries")).Put([]byte("key"), []byte("x"))
		}, "expected 16 bytes", false},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "altered.book")
			if err := os.WriteFile(path, usedBook(t), 0o600); err != nil {
				t.Fatal(err)
			}
			alter(t, path, c.spoil)
			b := must(logbook.Open(path, options(t, &testClock{noon}, "alder")))(t)
			report := must(b.Check(t.Context(), nil))(t)
			if report.ChainOK != c.chainOK || !strings.Contains(fmt.Sprint(report.Damaged), c.says) {
				t.Errorf("report = %+v", report)
			}
			// What is whole is still read, with a caution where something was left out.
			h := must(b.History(t.Context(), logbook.HistoryOptions{All: true}))(t)
			if len(h.Rounds) < 60 {
				t.Errorf("%d rounds are read, cautions %q", len(h.Rounds), h.Cautions)
			}
		})
	}
}

func TestBookOfANewerVersionIsLeftAlone(t *testing.T) {
	b := lastingBook(t)
	alter(t, b.Path(), func(tx *bolt.Tx) error { return tx.Bucket([]byte("headpond")).Put([]byte("format"), []byte{2}) })
	before := bytesOf(t, b.Path())
	for doing, err := range map[string]error{
		"reading": second(b.History(t.Context(), logbook.HistoryOptions{})),
		"writing": second(b.AddRound(t.Context(), level(noon, 1), "")),
		"draft":   b.SaveDraft(t.Context(), "round", nil),
	} {
		if !errors.Is(err, logbook.ErrNewer) || !strings.Contains(err.Error(), "use the newer version") {
			t.Errorf("%s: %v", doing, err)
		}
	}
	unchanged(t, "an older version", before, b.Path())
	alter(t, b.Path(), func(tx *bolt.Tx) error { return tx.Bucket([]byte("headpond")).Put([]byte("format"), []byte{1}) })
}

func TestStampTellsOfEachChangeAndMarkOfEntries(t *testing.T) {
	b := newBook(t)
	ctx := t.Context()
	stamp, mark := must(b.Stamp())(t), must(b.Mark(ctx))(t)
	same := func(what string, wantStamp, wantMark bool) {
		t.Helper()
		s, m := must(b.Stamp())(t), must(b.Mark(ctx))(t)
		if (s == stamp) != wantStamp || (m == mark) != wantMark {
			t.Errorf("after %s: stamp %v → %v, mark %d → %d", what, stamp, s, mark, m)
		}
		stamp, mark = s, m
	}
	history(t, b, logbook.HistoryOptions{})
	same("reading", true, true)
	addRounds(t, b, level(noon, 1))
	same("a round", false, false)
	if err := b.SaveDraft(ctx, "round", []byte("x")); err != nil {
		t.Fatal(err)
	}
	same("a draft", false, true)
}

var updateSample = flag.Bool("logbook.sample", false, "write testdata/format1.book anew; never do so once it was released")

// TestReleasedFormatOpensForEver reads the sample of format 1. It was made by the code below and must not be made again when
// the code changes.
func TestReleasedFormatOpensForEver(t *testing.T) {
	const sampleFile = "testdata/format1.book"
	if *updateSample {
		if err := os.WriteFile(sampleFile, usedBook(t), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	path := filepath.Join(t.TempDir(), "format1.book")
	if err := os.WriteFile(path, bytesOf(t, sampleFile), 0o600); err != nil {
		t.Fatal(err)
	}
	b := must(logbook.Open(path, options(t, &testClock{noon}, "alder")))(t)
	checkSound(t, b)
	h := must(b.History(context.Background(), logbook.HistoryOptions{All: true}))(t)
	if len(h.Rounds) != 61 || len(h.Events) != 3 || len(h.Revisions) != 1 || len(h.Done) != 1 || h.Plant == nil || !h.Complete || len(h.Cautions) > 0 {
		t.Fatalf("%d rounds, %d events, %d revisions, complete %v, cautions %q", len(h.Rounds), len(h.Events), len(h.Revisions), h.Complete, h.Cautions)
	}
	want := sample(noon.Add(-200 * time.Hour))
	want.ID, want.WrittenAt, want.Changes = h.Rounds[0].ID, noon, h.Rounds[0].Changes
	want.Values["pond_level_m"], want.Values["volts"] = 0, 239
	equal(t, "first round", h.Rounds[0], want)
	c := h.Rounds[0].Changes[0]
	if c.Old != "241.2" || c.New != "239" || c.By != "Ro" || c.Why != "misread" || !c.At.Equal(noon) {
		t.Errorf("change = %+v", c)
	}
	if h.Events[0].Kind != record.Trip || h.Events[0].Cause != "frequency" {
		t.Errorf("event = %+v", h.Events[0])
	}
	if d, ok, err := b.Draft(t.Context(), "round"); !ok || err != nil || string(d.Data) != "volts=24" {
		t.Errorf("draft = %q, %v, %v", d.Data, ok, err)
	}
	if _, err := b.AddRound(t.Context(), level(noon, 1), "round"); err != nil {
		t.Errorf("it cannot be gone on with: %v", err)
	}
	checkSound(t, b)
}
