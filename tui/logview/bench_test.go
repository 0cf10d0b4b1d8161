package logview

import (
	"context"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/logbook"
	"example.org/headpond/model/demo"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

var halifax = time.FixedZone("ADT", -3*3600)

// morning is when the tests look at the log.
var morning = time.Date(2026, 6, 4, 8, 0, 0, 0, halifax)

// bench is a book, and the screen on it with everything that its commands bring carried out at once.
type bench struct {
	t    testing.TB
	book *logbook.Book
	now  time.Time
	s    ui.Screen
	w, h int
	look uitest.Look
	ro   bool
	said []string    // notices, and what was saved or failed
	went []desk.GoTo // screens asked for
	held []tea.Cmd   // commands that were not carried out, while hold is set
	hold bool
	load int
}

// emptyBench is a book with the demo's plant and nothing else.
func emptyBench(t testing.TB, look uitest.Look, w, h int) *bench {
	t.Helper()
	b := &bench{t: t, now: morning, look: look, w: w, h: h}
	o := logbook.Options{Clock: func() time.Time { return b.now }, Location: halifax, Writer: [16]byte{1}, Rand: rand.NewChaCha8([32]byte{7})}
	var err error
	if b.book, err = logbook.Create(context.Background(), filepath.Join(t.TempDir(), "test.book"), o); err != nil {
		t.Fatal(err)
	}
	b.now = morning.AddDate(0, 0, -30)
	b.must(b.book.AddPlant(context.Background(), demo.PlantText(), b.now, "Imke"))
	b.now = morning
	return b
}

// newBench also has five rounds, one corrected and one written late, a trip and its start, and upkeep done.
func newBench(t testing.TB, look uitest.Look, w, h int) *bench {
	t.Helper()
	b := emptyBench(t, look, w, h)
	ctx := context.Background()
	for i, change := range []func(*record.Round){
		func(r *record.Round) { r.Note = "leaves on the screen,\nraked by hand" },
		func(r *record.Round) { r.By, r.Values["volts"], r.Confirmed = "Imke", 2411, true },
		func(r *record.Round) { r.Values["hertz"] = 57.5 },
		func(r *record.Round) { r.Values["volts"], r.Words["screen"] = 257, "partly" },
		func(r *record.Round) {
			r.Values["pressure_kpa"], r.Typed = 131.00038857, map[quantity.Key]string{"pressure_kpa": "19 psi"}
		},
	} {
		r := round(morning.Add(time.Duration(i-5) * 12 * time.Hour))
		change(&r)
		b.now = r.Time.Add(4 * time.Minute)
		if i == 0 {
			b.now = r.Time.Add(50 * time.Hour)
		}
		id := b.add(r)
		if i == 1 {
			b.now = r.Time.Add(9 * time.Hour)
			b.must(b.book.Amend(ctx, id, map[string]string{"volts": "241"}, "the 1 key twice", "Ro", ""))
		}
	}
	b.now = morning
	for _, e := range []record.Event{
		{Time: morning.Add(-31 * time.Hour), Kind: record.Trip, Units: []string{"A"}, Cause: "overspeed", By: "Ro", Note: "saw switched off"},
		{Time: morning.Add(-30 * time.Hour), Kind: record.Start, Units: []string{"A"}, By: "Tam"},
	} {
		b.must(b.book.AddEvent(ctx, e, ""))
	}
	b.must(b.book.AddDone(ctx, record.Done{Time: morning.Add(-20 * time.Hour), Task: "walk the penstock and look for leaks", By: "Tam"}, ""))
	b.start()
	return b
}

// round is an ordinary one.
func round(at time.Time) record.Round {
	return record.Round{Time: at, By: "Ro", Running: &[]string{"A"},
		Values: map[quantity.Key]float64{"pond_level_m": -0.3, "pressure_kpa": 131, "volts": 241, "hertz": 60.1, "load_kw": 3.1, "dump_share_pct": 43, "bearing_c": 44, "A.hours": 1200},
		Words:  map[quantity.Key]string{"screen": "clear"}}
}

func (b *bench) add(r record.Round) string {
	b.t.Helper()
	kept, err := b.book.AddRound(context.Background(), r, "")
	if err != nil {
		b.t.Fatal(err)
	}
	return kept.Entry.ID
}

// must takes any answer of the book.
func (b *bench) must(_ any, err error) {
	b.t.Helper()
	if err != nil {
		b.t.Fatal(err)
	}
}

// start makes the screen anew, as a new start of the program does.
func (b *bench) start() {
	b.t.Helper()
	c := uitest.Common(b.look, b.w, b.h, b.now)
	c.Now = func() time.Time { return b.now }
	s := New(c, desk.Desk{Book: b.book, Now: c.Now, Location: halifax, ReadOnly: b.ro}).(Screen)
	s.older.tick = func(int) tea.Cmd { return nil } // no test waits for a clock
	b.s = s.SetSize(b.w, b.h)
	b.reload()
}

// reload gives the screen what the book says now, as the App does after a change.
func (b *bench) reload() {
	b.t.Helper()
	b.load++
	l := desk.Desk{Book: b.book}.Load(context.Background(), b.load)
	if l.Err != nil {
		b.t.Fatal(l.Err)
	}
	b.give(l)
}

// give hands a message to the screen and then every message that its commands bring.
func (b *bench) give(msg tea.Msg) {
	b.t.Helper()
	var cmd tea.Cmd
	b.s, cmd = b.s.Update(msg)
	b.run(cmd)
}

func (b *bench) run(cmd tea.Cmd) {
	b.t.Helper()
	if cmd == nil {
		return
	}
	if b.hold {
		b.held = append(b.held, cmd)
		return
	}
	switch m := cmd().(type) {
	case nil:
	case tea.BatchMsg:
		for _, c := range m {
			b.run(c)
		}
	case ui.Notice:
		b.said = append(b.said, m.Text)
	case desk.GoTo:
		b.went = append(b.went, m)
	case desk.Failed:
		b.said = append(b.said, m.Doing+" failed: "+m.Err.Error())
		b.give(m)
	case desk.Saved:
		b.said = append(b.said, "Saved: "+m.What+" "+strings.Join(m.Cautions, " "))
		b.reload()
		b.give(m)
	default:
		b.give(m)
	}
}

// release carries out what was held.
func (b *bench) release() {
	b.t.Helper()
	held := b.held
	b.held, b.hold = nil, false
	for _, c := range held {
		b.run(c)
	}
}

func (b *bench) press(names ...string) {
	b.t.Helper()
	for _, n := range names {
		b.give(uitest.Key(b.t, n))
	}
}

func (b *bench) typed(s string) {
	b.t.Helper()
	for _, r := range s {
		b.press(string(r))
	}
}

// screen is the screen under test, with its inside.
func (b *bench) screen() Screen { return b.s.(Screen) }

// flat is a view as one line, with single spaces, so that neither columns nor wrapped lines matter.
func flat(s string) string { return strings.Join(strings.Fields(s), " ") }

// see fails where the screen lacks any of the parts.
func (b *bench) see(parts ...string) {
	b.t.Helper()
	for _, p := range parts {
		if !strings.Contains(flat(b.s.View()), flat(p)) {
			b.t.Errorf("the screen lacks %q:\n%s", p, b.s.View())
		}
	}
}

// hide fails where the screen shows any of the parts.
func (b *bench) hide(parts ...string) {
	b.t.Helper()
	for _, p := range parts {
		if strings.Contains(flat(b.s.View()), flat(p)) {
			b.t.Errorf("the screen shows %q:\n%s", p, b.s.View())
		}
	}
}

func (b *bench) heard(part string) {
	b.t.Helper()
	for _, s := range b.said {
		if strings.Contains(s, part) {
			return
		}
	}
	b.t.Errorf("nothing was said of %q: %q", part, b.said)
}

// focus goes to a field of the open form.
func (b *bench) focus(key string) {
	s := b.screen()
	if s.mode == telling {
		s.event.form = s.event.form.Focus(key)
	} else {
		s.amend.form = s.amend.form.Focus(key)
	}
	b.s = s
}

func (b *bench) history() *record.History {
	b.t.Helper()
	h, err := b.book.History(context.Background(), logbook.HistoryOptions{All: true})
	if err != nil {
		b.t.Fatal(err)
	}
	return h
}

// draft is what is on disk of a form, "" for nothing.
func (b *bench) draft(form string) string {
	b.t.Helper()
	d, ok, err := b.book.Draft(context.Background(), form)
	if err != nil {
		b.t.Fatal(err)
	}
	if !ok {
		return ""
	}
	return string(d.Data)
}
