package upkeepview

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
	"example.org/headpond/model/record"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

var (
	halifax = time.FixedZone("ADT", -3*3600)
	morning = time.Date(2026, 6, 4, 8, 0, 0, 0, halifax)
)

// bench is a book, and the screen on it with everything that its commands bring carried out at once.
type bench struct {
	t    testing.TB
	book *logbook.Book
	now  time.Time
	s    ui.Screen
	w, h int
	look uitest.Look
	ro   bool
	said []string
	went []desk.GoTo
	load int
}

// newBench is the demo's plant, of which A has run since the book began 150 days ago; its bearing was greased 40 days ago (960 h
// of 500), the penstock was walked 13 days ago (of 14), the vents were cleaned yesterday.
func newBench(t testing.TB, look uitest.Look, w, h int) *bench { return benchWith(t, look, w, h, "") }

// benchWith adds to the plant's file.
func benchWith(t testing.TB, look uitest.Look, w, h int, more string) *bench {
	t.Helper()
	b := &bench{t: t, now: morning, look: look, w: w, h: h}
	o := logbook.Options{Clock: func() time.Time { return b.now }, Location: halifax, Writer: [16]byte{1}, Rand: rand.NewChaCha8([32]byte{7})}
	var err error
	if b.book, err = logbook.Create(t.Context(), filepath.Join(t.TempDir(), "test.book"), o); err != nil {
		t.Fatal(err)
	}
	ctx, ago := t.Context(), func(days int) time.Time { return morning.AddDate(0, 0, -days) }
	b.now = ago(150)
	b.must(b.book.AddPlant(ctx, demo.PlantText()+more, b.now, "Imke"))
	b.now = morning
	for _, days := range []int{150, 90, 1} {
		b.must(b.book.AddRound(ctx, record.Round{Time: ago(days), By: "Ro", Running: &[]string{"A"}}, ""))
	}
	for _, d := range []record.Done{
		{Time: ago(70), Task: "grease drive-end bearing, unit A", By: "Ro"},
		{Time: ago(40), Task: "grease drive-end bearing, unit A", By: "Imke", Note: "two strokes\nand wiped"},
		{Time: ago(20), Task: "move the main valve and the bypass gate through their travel", By: "Ro"},
		{Time: ago(13), Task: "walk the penstock and look for leaks", By: "Tam"},
		{Time: ago(1), Task: "clean the vents of the ballast housing"},
	} {
		b.must(b.book.AddDone(ctx, d, ""))
	}
	b.start()
	return b
}

func (b *bench) must(_ any, err error) {
	b.t.Helper()
	if err != nil {
		b.t.Fatal(err)
	}
}

// start makes the screen anew, as a new start of the program after a power cut does.
func (b *bench) start() {
	b.t.Helper()
	c := uitest.Common(b.look, b.w, b.h, b.now)
	c.Now = func() time.Time { return b.now }
	b.s = New(c, desk.Desk{Book: b.book, Now: c.Now, Location: halifax, ReadOnly: b.ro}).SetSize(b.w, b.h)
	b.load = 1
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
	l.History.Plant.Location = halifax
	b.give(l)
}

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

// pick picks a row by its name.
func (b *bench) pick(name string) {
	b.t.Helper()
	s, _ := b.screen().Arrive(name)
	b.s = s
	if r, ok := b.screen().selected(); !ok || r.name() != name {
		b.t.Fatalf("there is no %q to pick in\n%s", name, b.s.View())
	}
}

// walk begins a list, past its cautions.
func (b *bench) walk(name string) {
	b.t.Helper()
	b.pick(name)
	b.press("enter", "enter")
}

// later lets the clock go on.
func (b *bench) later(d time.Duration) { b.now = b.now.Add(d) }

func (b *bench) screen() Screen { return b.s.(Screen) }

// flat is a view as one line, with single spaces, so that neither columns nor wrapped lines matter.
func flat(s string) string { return strings.Join(strings.Fields(s), " ") }

func (b *bench) see(parts ...string) {
	b.t.Helper()
	for _, p := range parts {
		if !strings.Contains(flat(b.s.View()), flat(p)) {
			b.t.Errorf("the screen lacks %q:\n%s", p, b.s.View())
		}
	}
}

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

func (b *bench) history() *record.History {
	b.t.Helper()
	h, err := b.book.History(context.Background(), logbook.HistoryOptions{All: true})
	if err != nil {
		b.t.Fatal(err)
	}
	return h
}

// last is the newest entry of upkeep done.
func (b *bench) last() record.Done {
	b.t.Helper()
	list := b.history().Done
	return list[len(list)-1]
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
