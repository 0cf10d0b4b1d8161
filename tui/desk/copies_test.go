package desk

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/copies"
	"example.org/headpond/model/record"
)

// copied is a desk whose book holds a round and is copied.
func copied(t *testing.T) (Desk, *time.Time) {
	t.Helper()
	at := time.Date(2026, 2, 3, 12, 0, 0, 0, time.UTC)
	now := func() time.Time { return at }
	b, err := logbook.Create(t.Context(), filepath.Join(t.TempDir(), "plant.book"), logbook.Options{Clock: now})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := b.AddRound(t.Context(), record.Round{Time: at}, ""); err != nil {
		t.Fatal(err)
	}
	return Desk{Book: b, Now: now, Copies: &copies.Keeper{Book: b, Now: now}}, &at
}

func TestCopiesAreMadeOutsideTheDrawingLoop(t *testing.T) {
	d, at := copied(t)
	c := d.CopyDue(t.Context())().(Copied)
	if c.Err != nil || c.Asked || c.Status.Places[0].Kept != 1 || c.Caution() != "" {
		t.Errorf("%+v", c)
	}
	if c = d.CopyDue(t.Context())().(Copied); c.Err != nil || c.Status.Places[0].Kept != 1 {
		t.Errorf("nothing is due: %+v", c)
	}
	if c = d.CopyNow(t.Context())().(Copied); c.Err != nil || !c.Asked || c.Status.Places[0].Kept != 2 {
		t.Errorf("asked for: %+v", c)
	}
	*at = at.AddDate(0, 0, 9)
	if _, err := d.Book.AddRound(t.Context(), record.Round{Time: *at}, ""); err != nil {
		t.Fatal(err)
	}
	if err := os.RemoveAll(d.Copies.Beside()); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(d.Copies.Beside(), nil, 0o600); err != nil { // a file where the folder was
		t.Fatal(err)
	}
	if c = d.CopyDue(t.Context())().(Copied); c.Err == nil || !strings.Contains(c.Err.Error(), d.Copies.Beside()) {
		t.Errorf("what fails is not said: %+v", c)
	}
}

func TestNoCopiesWhereNoneAreWanted(t *testing.T) {
	d, _ := copied(t)
	given, stop := context.WithCancel(t.Context())
	stop()
	if msg := d.CopyDue(given)(); msg != nil {
		t.Errorf("given up at the program's end: %v", msg)
	}
	d.ReadOnly = true
	if d.CopyDue(t.Context()) != nil || d.CopyNow(t.Context()) != nil {
		t.Error("a package that is only looked at is copied")
	}
	if (Desk{}).CopyDue(t.Context()) != nil || (Copied{}).Caution() != "" {
		t.Error("a desk without a keeper makes copies")
	}
}
