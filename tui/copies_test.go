package tui

import (
	"os"
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
