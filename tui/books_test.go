package tui

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/demobook"
	"example.org/headpond/model/demo"
	"example.org/headpond/model/demo/demotest"
	"example.org/headpond/model/quantity"
	"example.org/headpond/tui/ui/uitest"
)

// kindOfBook is a book that the program must bear, made once and copied for each trial.
type kindOfBook struct {
	name     string
	data     []byte
	readOnly bool
	units    quantity.System
	forms    bool // drafts are kept in it
	spoil    bool // bits of each copy are flipped
}

// theNow is the time on the clock of these trials: the demo's last morning.
func theNow(tb testing.TB) time.Time {
	tb.Helper()
	loc, err := time.LoadLocation("America/Halifax")
	if err != nil {
		tb.Fatal(err)
	}
	return time.Date(2026, 11, 25, 10, 5, 0, 0, loc)
}

// allBooks makes a normal, an empty, a read-only, a damaged and a us-units book, and one whose every free text is hostile.
func allBooks(tb testing.TB) []kindOfBook {
	tb.Helper()
	now := theNow(tb)
	told := func() *demo.Story {
		s, err := demo.History(demo.Seed, now, now.Location())
		if err != nil {
			tb.Fatal(err)
		}
		return s
	}
	normal := bookOf(tb, told())
	empty := told()
	empty.Rounds, empty.Events, empty.Done, empty.Amendments = nil, nil, nil, nil
	us := told()
	us.Revision.Text = strings.Replace(us.Revision.Text, `units = "metric"`, `units = "us"`, 1)
	evil := told()
	if err := demotest.MakeHostile(evil); err != nil {
		tb.Fatal(err)
	}
	return []kindOfBook{
		{name: "normal", data: normal, units: quantity.Metric, forms: true},
		{name: "empty", data: bookOf(tb, empty), units: quantity.Metric, forms: true},
		{name: "read-only", data: normal, readOnly: true, units: quantity.Metric},
		{name: "damaged", data: normal, units: quantity.Metric, spoil: true},
		{name: "us", data: bookOf(tb, us), units: quantity.US, forms: true},
		{name: "hostile", data: bookOf(tb, evil), units: quantity.Metric, forms: true},
	}
}

// books is allBooks once a test program.
var books = sync.OnceValue(func() func(testing.TB) []kindOfBook {
	var once sync.Once
	var list []kindOfBook
	return func(tb testing.TB) []kindOfBook {
		once.Do(func() { list = allBooks(tb) })
		return list
	}
})

// bookOf is the file of a book that tells a story.
func bookOf(tb testing.TB, s *demo.Story) []byte {
	tb.Helper()
	path := filepath.Join(tb.TempDir(), "story.book")
	now := theNow(tb)
	o := logbook.Options{Clock: func() time.Time { return now }, Location: now.Location(), Writer: [16]byte{2}}
	if _, err := demobook.Write(context.Background(), path, s, o); err != nil {
		tb.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		tb.Fatal(err)
	}
	return data
}

// harmless tells whether a frame brings nothing to the terminal but text, ASCII where only that is shown, and the colours of the
// program's own theme: none at all where the look has no colour.
func harmless(view string, look uitest.Look) error {
	if i := strings.IndexFunc(view, func(r rune) bool { return r > '~' }); i >= 0 && look.ASCII {
		return fmt.Errorf("a letter beyond ASCII: %+q", view[max(0, i-40):min(len(view), i+20)])
	}
	return uitest.Harmless(view, look.Color)
}

// copyTo puts a book's file at a new path.
func (k kindOfBook) copyTo(tb testing.TB) string {
	tb.Helper()
	path := filepath.Join(tb.TempDir(), "trial.book")
	if err := os.WriteFile(path, k.data, 0o600); err != nil {
		tb.Fatal(err)
	}
	return path
}

// draftTexts is what the drafts on disk hold, in the order of their names.
func draftTexts(tb testing.TB, b *logbook.Book) string {
	tb.Helper()
	list, err := b.Drafts(context.Background())
	if err != nil {
		tb.Fatal(err)
	}
	out := make([]string, 0, len(list))
	for _, d := range list {
		out = append(out, fmt.Sprintf("%q: %s", d.Form, d.Data))
	}
	slices.Sort(out)
	return strings.Join(out, "\n")
}
