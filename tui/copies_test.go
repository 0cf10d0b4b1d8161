package tui

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.org/headpond/logbook/copies"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui/uitest"
)

// The screens make the copies that are due at the start and after a save, tell of a failure once, and Now says when they are old.
func TestCopiesAreKeptWhileTheScreensAreOpen(t *testing.T) {
	b := newBench(t, uitest.Look{}, 120, 40)
	k := &copies.Keeper{Book: b.book, Writer: [16]byte{2}, Now: func() time.Time { return b.now }}
	b.app.desk.Copies = k
	for i, tab := range screens(b.app.common, b.app.desk) { // the screens know of it too
		b.app.tabs[i].screen = tab.screen
	}
	b.app = b.app.sized(120, 40)
	b.give(b.app.desk.Load(t.Context(), b.app.version+1))
	b.run(b.app.desk.CopyDue(t.Context()))
	b.press("9")
	b.sees("Copies of the book", "Last copy 0 min ago", "(1 kept)")
	b.press("b")
	b.sees("A copy of the book was made", "(2 kept)")

	if err := os.RemoveAll(k.Beside()); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(k.Beside(), nil, 0o600); err != nil { // a file where the folder was
		t.Fatal(err)
	}
	b.press("b")
	b.sees("No copy of the book was kept: ")
	b.run(b.app.desk.CopyDue(t.Context()))
	if b.app.uncopied == "" {
		t.Error("the failure is forgotten")
	}
}

// A stick that is not there is said at the start, once; again only after it has been back, and not over what a person asked for.
func TestAMissingStickIsSaidOnce(t *testing.T) {
	b := newBench(t, uitest.Look{}, 120, 40)
	k := copies.Keeper{Book: b.book, Writer: [16]byte{2}, Now: func() time.Time { return b.now }}
	stick := filepath.Join(t.TempDir(), "stick")
	if _, err := k.Use(t.Context(), stick); err != nil {
		t.Fatal(err)
	}
	away := stick + " away"
	move := func(from, to string) {
		t.Helper()
		if err := os.Rename(from, to); err != nil {
			t.Fatal(err)
		}
	}
	b.app.desk.Copies = &k
	b.run(b.app.desk.CopyDue(t.Context()))
	if got := b.status(); got != "" {
		t.Errorf("the stick is there, and yet it says %q", got)
	}
	move(stick, away)
	said := func(when string, want bool) {
		t.Helper()
		b.press("down") // clears what was said
		b.run(b.app.desk.CopyDue(t.Context()))
		if got := b.status(); strings.Contains(got, "The stick or folder for copies is not there: ") != want {
			t.Errorf("%s: %q", when, got)
		}
	}
	said("at the start", true)
	said("a second time", false)
	move(away, stick)
	said("while it is back", false)
	move(stick, away)
	said("after it has been back", true)
	if err := os.RemoveAll(k.Beside()); err != nil {
		t.Fatal(err)
	}
	b.press("down")
	b.run(b.app.desk.CopyNow(t.Context()))
	if got := b.status(); !strings.Contains(got, "A copy of the book was made, but none in "+stick) {
		t.Errorf("asked for while it is away: %q", got)
	}
	move(away, stick)
	b.press("down")
	b.run(b.app.desk.CopyNow(t.Context()))
	if got := b.status(); !strings.Contains(got, "A copy of the book was made") || strings.Contains(got, "none in") {
		t.Errorf("asked for while it is there: %q", got)
	}
}

func TestNowSaysThatTheCopiesAreOld(t *testing.T) {
	b := newBench(t, uitest.Look{}, 120, 40)
	k := copies.Keeper{Book: b.book, Writer: [16]byte{2}, Now: func() time.Time { return b.now }}
	stick := t.TempDir()
	if _, err := k.Use(t.Context(), stick); err != nil {
		t.Fatal(err)
	}
	if err := os.RemoveAll(stick); err != nil {
		t.Fatal(err)
	}
	b.app.desk.Copies = &k
	b.now = b.now.AddDate(0, 0, 10)
	if _, err := b.book.AddRound(t.Context(), record.Round{Time: b.now}, ""); err != nil {
		t.Fatal(err)
	}
	b.run(b.app.desk.CopyDue(t.Context()))
	b.press("1", "a")
	b.sees("The last copy of the book in", "headpond backup --keep")
}
