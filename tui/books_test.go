package tui

import (
	"context"
	"fmt"
	"maps"
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
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
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
	makeHostile(tb, evil)
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

// evils are what a free text must not bring to a terminal: ESC sequences that colour, clear, move, retitle, write the clipboard
// and ask for answers, C0, C1 as one byte and as UTF-8, DEL, reordering, invisible and line-separating characters, and bytes
// that are no UTF-8 (the book keeps those as U+FFFD). After them comes what is lawful and hard to fit: wide, joined and very long.
var evils = []string{
	"\x1b[31m\x1b[2J\x1b[10;10H", "\x1b]0;t\x07\x1b]52;c;aGk=\x1b\\", "\x1bP+q\x1b\\\x1b[6n\x1b[c", "\x00\x01\x05\x07\x08\x0b\x0c\x0e\x0f\x1a\r\n\t\x7f",
	"\u0080\u0085\u009b31m\u009d0;x\u009c", "\x9b2J\x90\xff\xc0\xaf\xed\xa0\x80", "\u202e\u202d\u2066\u2067\u2069\u200e\u200f\u061c",
	"\u200b\u2060\ufeff\u00ad\u2028\u2029\U000e0041", "\u0301\u0301\u0301\u20dd", "漢字かな👩\u200d👩\u200d👧🏽ﾞ", strings.Repeat("w", 300), strings.Repeat("語", 90), strings.Repeat("e\u0301\u0302", 60),
}

// evil is a text of a name of one's own, by which it is known again, with one of the evils in it or all of them.
func evil(name string, n int) string {
	if n%5 == 4 {
		return name + strings.Join(evils, name)
	}
	return name + evils[n%len(evils)] + "z"
}

// makeHostile puts hostile text wherever the book takes free text. The plant file takes no control characters, but reordering,
// invisible and wide ones.
func makeHostile(tb testing.TB, s *demo.Story) {
	tb.Helper()
	s.Revision.Text = hostilePlant(tb, s.Revision.Text)
	for i := range s.Rounds {
		r := &s.Rounds[i]
		r.By, r.Note = evil("RB", i), evil("RN", i)
		r.Words, r.Extra, r.Typed = maps.Clone(r.Words), map[string]string{evil("XK", i): evil("XV", i)}, map[quantity.Key]string{"volts": evil("TY", i)}
		if i%3 == 0 && r.Words != nil {
			for k := range r.Words {
				r.Words[k] = evil("WD", i)
			}
		}
		if i%7 == 0 {
			r.Running = &[]string{evil("RU", i)}
		}
	}
	for i := range s.Events {
		e := &s.Events[i]
		e.By, e.Note, e.Cause = evil("EB", i), evil("EN", i), evil("EC", i)
		if i%4 == 0 {
			e.Kind, e.Units, e.Element = record.EventKind(evil("EK", i)), []string{evil("EU", i)}, evil("EE", i)
		}
	}
	for i := range s.Done {
		d := &s.Done[i]
		d.By, d.Note = evil("DB", i), evil("DN", i)
		if i%2 == 0 {
			d.Task = evil("DT", i)
			d.Walk = &record.Walk{For: evil("WF", i), Units: []string{evil("WU", i)}, Begun: d.Time, Ticks: []record.Tick{
				{Step: evil("WS", i), State: record.TickDone, At: d.Time}, {Step: evil("WT", i), State: record.TickNotOK, Note: evil("WN", i), At: d.Time}}}
		}
	}
	last := s.Rounds[len(s.Rounds)-1]
	for i := range s.Amendments {
		a := &s.Amendments[i]
		a.Why, a.By = evil("AW", i), evil("AB", i)
		a.Changes = maps.Clone(a.Changes)
		a.Changes["note"] = evil("AN", i)
	}
	s.Amendments = append(s.Amendments, demo.Amendment{Round: len(s.Rounds) - 1, At: last.WrittenAt.Add(time.Minute), Why: evil("AW", 4), By: evil("AB", 4),
		Changes: map[string]string{"note": evil("AN", 4), "by": evil("AB", 3)}})
}

// hostilePlant is the plant file with every name as bad as the file may hold it.
func hostilePlant(tb testing.TB, text string) string {
	tb.Helper()
	const bad = "\u202e\u2066\u200b\u2028\ufeff\u0301漢字👩\u200d👧"
	for _, name := range []string{"Tern Hollow", "large set", "small set", "freezer", "kitchen range", "workshop saw", "propane", "diesel", "the bearing maker's sheet", "move the main valve", "CAD"} {
		if !strings.Contains(text, `"`+name) {
			tb.Fatalf("the demo's plant has no %q", name)
		}
		text = strings.ReplaceAll(text, `"`+name, `"`+name[:2]+bad+name[2:])
	}
	text = strings.Replace(text, `unit = "L"`, `unit = "L`+bad+`"`, 1)
	text = strings.ReplaceAll(text, `"E4"`, `"E4`+bad+`"`)
	text = strings.ReplaceAll(text, `"main"`, `"ma`+bad+`in"`)
	text += fmt.Sprintf("\n[[checklist]]\nname = \"CL%s\"\ncaution = [\"CC%s\"]\nstep = [\"CS%s\", \"CT%s\"]\n", bad, bad, bad, strings.Repeat("語", 100))
	if _, err := plant.Parse("hostile.toml", []byte(text)); err != nil {
		tb.Fatalf("the hostile plant is no plant: %v", err)
	}
	return text
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
