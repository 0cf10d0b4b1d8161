package demobook

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"example.org/headpond/logbook"
	"example.org/headpond/model/demo"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

func story(t testing.TB, end time.Time) *demo.Story {
	t.Helper()
	loc, err := time.LoadLocation("America/Halifax")
	if err != nil {
		t.Fatal(err)
	}
	s, err := demo.History(demo.Seed, end, loc)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// autumn ends over the clock change of 2 November 2025.
func autumn() time.Time { return time.Date(2025, 11, 18, 23, 40, 0, 0, time.UTC) }

func options(s *demo.Story) logbook.Options {
	return logbook.Options{Clock: func() time.Time { return s.End }, Location: s.End.Location(), Writer: [16]byte{1}}
}

func written(t testing.TB, s *demo.Story) *logbook.Book {
	t.Helper()
	b, err := Write(t.Context(), filepath.Join(t.TempDir(), "demo.book"), s, options(s))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func checked(t testing.TB, b *logbook.Book) *logbook.CheckReport {
	t.Helper()
	r, err := b.Check(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	if !r.ChainOK || len(r.Damaged) > 0 {
		t.Errorf("the book does not check: chain %v, damaged %v", r.ChainOK, r.Damaged)
	}
	return r
}

func TestTheBookHoldsTheStory(t *testing.T) {
	s := story(t, autumn())
	b := written(t, s)
	r := checked(t, b)
	if want := 1 + len(s.Rounds) + len(s.Events) + len(s.Done) + len(s.Amendments); r.Entries != want {
		t.Errorf("%d entries, want %d", r.Entries, want)
	}
	h, err := b.History(t.Context(), logbook.HistoryOptions{At: s.End, All: true})
	if err != nil {
		t.Fatal(err)
	}
	if len(h.Cautions) > 0 {
		t.Errorf("cautions: %q", h.Cautions)
	}
	same := cmp.Options{
		cmpopts.IgnoreFields(record.Round{}, "ID", "Changes"), cmpopts.IgnoreFields(record.Event{}, "ID"), cmpopts.IgnoreFields(record.Done{}, "ID"),
		cmpopts.EquateEmpty(),
	}
	amended := map[int]demo.Amendment{}
	for _, a := range s.Amendments {
		amended[a.Round] = a
	}
	for i, want := range s.Rounds {
		got := h.Rounds[i]
		if a, ok := amended[i]; ok {
			sameAmended(t, want, got, a)
			continue
		}
		if diff := cmp.Diff(want, got, same); diff != "" {
			t.Errorf("round %d:\n%s", i, diff)
		}
	}
	if diff := cmp.Diff(s.Events, h.Events, same); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff(s.Done, h.Done, same); diff != "" {
		t.Error(diff)
	}
	if len(h.Revisions) != 1 || h.Revisions[0].Text != demo.PlantText() || !h.Revisions[0].From.Equal(s.Revision.From) {
		t.Errorf("%d plant revisions", len(h.Revisions))
	}
}

// sameAmended checks that a correction was applied and that the old value, the reason, the person and the time are kept.
func sameAmended(t *testing.T, was, got record.Round, a demo.Amendment) {
	t.Helper()
	if len(got.Changes) != len(a.Changes) {
		t.Fatalf("%d changes of the round of %v", len(got.Changes), got.Time)
	}
	for _, c := range got.Changes {
		text := a.Changes[c.Key]
		if text == logbook.Withdrawn {
			text = ""
		}
		if c.New != text || got.Text(c.Key) != text || c.Old != quantity.Text(was.Values[quantity.Key(c.Key)]) || c.Why != a.Why || c.By != a.By || !c.At.Equal(a.At) {
			t.Errorf("%+v, now %q, amended by %+v", c, got.Text(c.Key), a)
		}
	}
}

func TestTheSameStoryGivesTheSameEntries(t *testing.T) {
	one, two := entriesOf(t, written(t, story(t, autumn()))), entriesOf(t, written(t, story(t, autumn())))
	if diff := cmp.Diff(one, two, cmpopts.IgnoreUnexported(logbook.Entry{})); diff != "" {
		t.Error(diff)
	}
	seen := map[string]bool{}
	for _, e := range one {
		if seen[e.ID] {
			t.Errorf("id %s stands twice", e.ID)
		}
		seen[e.ID] = true
	}
}

func entriesOf(t testing.TB, b *logbook.Book) []logbook.Entry {
	t.Helper()
	var list []logbook.Entry
	if err := b.Entries(t.Context(), func(e logbook.Entry) error { list = append(list, e); return nil }); err != nil {
		t.Fatal(err)
	}
	return list
}

// The demo's book is an ordinary book: it can be written to.
func TestTheBookGoesOn(t *testing.T) {
	s := story(t, autumn())
	b := written(t, s)
	r := record.Round{Time: s.End, By: "Ro", Values: map[quantity.Key]float64{quantity.Key(quantity.Volts): 240}}
	saved, err := b.AddRound(t.Context(), r, "")
	if err != nil || len(saved.Cautions) > 0 {
		t.Fatalf("%v, %v", err, saved.Cautions)
	}
	if _, err := b.Amend(t.Context(), entriesOf(t, b)[5].ID, map[string]string{"by": "Tam"}, "a test", "Ro", ""); err != nil {
		t.Fatal(err)
	}
	checked(t, b)
}

func TestNothingIsOverwritten(t *testing.T) {
	s := story(t, autumn())
	path := filepath.Join(t.TempDir(), "mine")
	if err := os.WriteFile(path, []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Write(t.Context(), path, s, options(s)); !errors.Is(err, logbook.ErrExists) {
		t.Errorf("got %v, want ErrExists", err)
	}
	if got, err := os.ReadFile(path); err != nil || string(got) != "mine" {
		t.Errorf("the file now holds %q, %v", got, err)
	}
}

func TestAGivenUpBookIsNotThere(t *testing.T) {
	s := story(t, autumn())
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	dir := t.TempDir()
	if _, err := Write(ctx, filepath.Join(dir, "demo.book"), s, options(s)); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v, want the context's end", err)
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

// A correction that comes before its round would be lost on reading; it is refused.
func TestACorrectionFollowsItsRound(t *testing.T) {
	s := story(t, autumn())
	s.Amendments[0].At = s.Rounds[0].Time.Add(-time.Hour)
	if _, err := Entries(s); err == nil {
		t.Error("took a correction from before its round")
	}
}

// What `headpond demo` does before its first frame.
func BenchmarkDemo(b *testing.B) {
	dir := b.TempDir()
	for i := 0; b.Loop(); i++ {
		s := story(b, autumn())
		book, err := Write(b.Context(), filepath.Join(dir, time.Duration(i).String()), s, options(s))
		if err != nil {
			b.Fatal(err)
		}
		if _, err := book.History(b.Context(), logbook.HistoryOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkWrite(b *testing.B) {
	dir, s := b.TempDir(), story(b, autumn())
	for i := 0; b.Loop(); i++ {
		if _, err := Write(b.Context(), filepath.Join(dir, time.Duration(i).String()), s, options(s)); err != nil {
			b.Fatal(err)
		}
	}
}
