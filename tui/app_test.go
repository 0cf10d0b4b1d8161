package tui

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/exp/golden"
	"github.com/charmbracelet/x/exp/teatest"
	"pgregory.net/rapid"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/demobook"
	"example.org/headpond/model/demo"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/water"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui/uitest"
)

// bench is the program on the demo's book, with a clock that stands still.
type bench struct {
	tb   testing.TB
	book *logbook.Book
	now  time.Time
	app  App
	quit bool
}

func newBench(tb testing.TB, look uitest.Look, w, h int) *bench {
	tb.Helper()
	p, err := demo.Plant()
	if err != nil {
		tb.Fatal(err)
	}
	b := &bench{tb: tb, now: time.Date(2026, 11, 25, 10, 5, 0, 0, p.Location)}
	story, err := demo.History(demo.Seed, b.now, p.Location)
	if err != nil {
		tb.Fatal(err)
	}
	o := logbook.Options{Clock: func() time.Time { return b.now }, Location: p.Location, Writer: [16]byte{2}}
	if b.book, err = demobook.Write(context.Background(), filepath.Join(tb.TempDir(), "demo.book"), story, o); err != nil {
		tb.Fatal(err)
	}
	b.start(look, w, h)
	return b
}

// start makes the program anew, as a new start does. The forecast is worked out for few members, which the test does not rest on.
func (b *bench) start(look uitest.Look, w, h int) {
	b.tb.Helper()
	b.startWith(look, w, h, water.Options{Members: 50, Horizon: 30 * 24 * time.Hour})
}

// startWith is start with a forecast of one's own.
func (b *bench) startWith(look uitest.Look, w, h int, forecast water.Options) {
	b.tb.Helper()
	c := uitest.Common(look, w, h, b.now)
	c.Now = func() time.Time { return b.now }
	d := desk.Desk{Book: b.book, Now: c.Now, Location: b.now.Location(), Forecast: forecast}
	o := Options{Desk: d, Common: c, Title: "demo"}
	b.app = New(context.Background(), o).Loaded(d.Load(context.Background(), 1))
	b.run(b.app.first)
}

// give hands a message to the program and then every message that its commands bring, except those that only wait.
func (b *bench) give(msg tea.Msg) {
	b.tb.Helper()
	m, cmd := b.app.Update(msg)
	b.app = m.(App)
	b.run(cmd)
}

func (b *bench) run(cmd tea.Cmd) {
	b.tb.Helper()
	if cmd == nil {
		return
	}
	switch m := cmd().(type) {
	case nil:
	case tea.BatchMsg:
		for _, c := range m {
			b.run(c)
		}
	case tea.QuitMsg:
		b.quit = true
	default:
		if cmds, ok := sequence(m); ok {
			for _, c := range cmds {
				b.run(c)
			}
			return
		}
		b.give(m)
	}
}

func (b *bench) press(names ...string) {
	b.tb.Helper()
	for _, n := range names {
		b.give(uitest.Key(b.tb, n))
	}
}

func (b *bench) typed(s string) {
	b.tb.Helper()
	for _, r := range s {
		b.press(string(r))
	}
}

func (b *bench) sees(parts ...string) {
	b.tb.Helper()
	view := b.app.View()
	for _, p := range parts {
		if !strings.Contains(view, p) {
			b.tb.Errorf("%q is not on the screen:\n%s", p, view)
		}
	}
}

// look lets the program look at the book, as it does twice a second.
func (b *bench) look() {
	b.tb.Helper()
	stamp, err := b.book.Stamp()
	if err != nil {
		b.tb.Fatal(err)
	}
	mark, err := b.book.Mark(context.Background())
	if err != nil {
		b.tb.Fatal(err)
	}
	m, cmd := b.app.polled(polled{stamp: stamp, mark: mark})
	b.app = m.(App)
	b.runQuick(cmd)
}

// runQuick is run without the commands that wait for the next look.
func (b *bench) runQuick(cmd tea.Cmd) {
	b.tb.Helper()
	if cmd == nil {
		return
	}
	done := make(chan tea.Msg, 1)
	go func() { done <- cmd() }()
	switch m := (<-done).(type) {
	case tea.BatchMsg:
		for _, c := range m[:len(m)-1] { // the last one waits for the next look
			b.run(c)
		}
	case nil, polled:
	default:
		b.give(m)
	}
}

func TestFrames(t *testing.T) {
	for name, look := range uitest.Looks() {
		for _, size := range []struct{ w, h int }{{80, 24}, {120, 40}} {
			t.Run(fmt.Sprintf("now-%s-%dx%d", name, size.w, size.h), func(t *testing.T) {
				golden.RequireEqual(t, []byte(newBench(t, look, size.w, size.h).app.View()))
			})
		}
	}
	t.Run("keys-nocolor-80x24", func(t *testing.T) {
		b := newBench(t, uitest.Look{}, 80, 24)
		b.press("?")
		golden.RequireEqual(t, []byte(b.app.View()))
	})
}

func TestDigitsChooseScreensAndAreTextInTheRound(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.press("4")
	b.sees(">4 Ballast")
	b.press("2", "4")
	b.sees(">2 Round", "4_")
	b.press("esc")
	b.sees(">1 Now", "Draft kept")
	b.press("tab")
	b.sees(">2 Round")
}

func TestTheHelpPageFindsAndDoesActions(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.press("?")
	b.typed("ballast")
	b.sees("Show the Ballast screen")
	b.press("enter")
	b.sees(">4 Ballast")
}

// What another process writes shows without a key, and a draft that is kept elsewhere does not make the program load again.
func TestARoundFromAnotherProcessShows(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	other, err := logbook.Open(b.book.Path(), logbook.Options{Clock: func() time.Time { return b.now }, Location: b.now.Location(), Writer: [16]byte{9}})
	if err != nil {
		t.Fatal(err)
	}
	if err := other.SaveDraft(context.Background(), "event", []byte("x")); err != nil {
		t.Fatal(err)
	}
	before := b.app.version
	b.look()
	if b.app.version != before {
		t.Error("a draft of another form made the program load the book again")
	}
	r := record.Round{Time: b.now.Add(-time.Minute), By: "Tam", Values: map[quantity.Key]float64{"hertz": 56.2}}
	if _, err := other.AddRound(context.Background(), r, ""); err != nil {
		t.Fatal(err)
	}
	b.look()
	b.sees("Last round 1 min ago", "by Tam", "Frequency 56.2 Hz is out of band")
}

func TestARoundIsSavedByKeysAlone(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.press("r")
	b.typed("-0.4")
	b.press("=")
	b.sees("Save this round")
	b.press("enter")
	b.sees(">1 Now", "Saved: round of 10:05", "Last round 0 min ago")
	h, err := b.book.History(context.Background(), logbook.HistoryOptions{})
	if err != nil {
		t.Fatal(err)
	}
	last, _ := h.Last()
	if last.Values["pond_level_m"] != -0.4 || !last.Time.Equal(b.now) {
		t.Errorf("saved %+v", last)
	}
}

func TestQuittingKeepsTheDraft(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.press("2")
	b.typed("-0.4")
	b.press("ctrl+c")
	if !b.quit {
		t.Fatal("Ctrl-C does not quit")
	}
	b.start(uitest.Look{}, 80, 24)
	b.sees("draft (round) that was not saved is kept")
	b.press("2")
	b.sees("-0.4")
}

func TestABookThatCannotBeReadIsSaid(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.give(desk.Loaded{Version: 9, Err: errors.New("the file is damaged at byte 4096")})
	b.sees("damaged at byte 4096")
	b.press("4", "5", "2", "1")
	b.sees("damaged at byte 4096")
}

func TestOldAnswersAreDropped(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.give(desk.Water{Version: b.app.version - 1, Err: errors.New("an answer to an older question")})
	if strings.Contains(b.app.View(), "older question") {
		t.Error("an old forecast is shown")
	}
	h := &record.History{At: b.now, Plant: nil}
	b.give(desk.Loaded{Version: 0, History: h})
	b.sees("Tern Hollow")
}

// Any keys, pastes and sizes, in any order: no panic, never larger than the window, and what was typed is on disk.
func TestAnyKeysAtAnySize(t *testing.T) {
	names := []string{"1", "2", "4", "5", "?", "esc", "enter", "tab", "shift+tab", "up", "down", "left", "right", "pgup", "pgdown", "home", "end", "backspace", "delete",
		"f2", "f8", "=", "-", ".", "7", "a", "n", "r", "b", "d", "x", "y", "/", " ", "ctrl+w", "ctrl+u"}
	b := newBench(t, uitest.Look{}, 80, 24)
	fresh := b.app
	rapid.Check(t, func(t *rapid.T) {
		b.app, b.quit = fresh, false
		for range rapid.IntRange(1, 25).Draw(t, "events") {
			switch rapid.IntRange(0, 9).Draw(t, "event") {
			case 0:
				b.give(tea.WindowSizeMsg{Width: rapid.IntRange(0, 150).Draw(t, "w"), Height: rapid.IntRange(0, 60).Draw(t, "h")})
			case 1:
				b.give(uitest.Paste(rapid.String().Draw(t, "paste")))
			default:
				b.press(rapid.SampledFrom(names).Draw(t, "key"))
			}
			if err := uitest.Fits(b.app.View(), b.app.common.Width, b.app.common.Height); err != nil {
				t.Fatal(err)
			}
		}
	})
}

// The whole loop of the library, by keys: the round's draft is on disk when the program was told to quit.
func TestTheProgramRunsByKeys(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	tm := teatest.NewTestModel(t, b.app, teatest.WithInitialTermSize(80, 24))
	tm.Send(uitest.Key(t, "2"))
	tm.Type("-0.5")
	teatest.WaitFor(t, tm.Output(), func(out []byte) bool { return bytes.Contains(out, []byte("-0.5")) }, teatest.WithDuration(20*time.Second))
	tm.Send(uitest.Key(t, "ctrl+c"))
	tm.WaitFinished(t, teatest.WithFinalTimeout(20*time.Second))
	d, ok, err := b.book.Draft(context.Background(), "round")
	if err != nil || !ok || !strings.Contains(string(d.Data), "-0.5") {
		t.Errorf("draft %s, %v, %v", d.Data, ok, err)
	}
}

func BenchmarkKeyToFrame(b *testing.B) {
	bench := newBench(b, uitest.Look{Color: true}, 120, 40)
	bench.press("2")
	key := uitest.Key(b, "1")
	back := uitest.Key(b, "backspace")
	for b.Loop() {
		m, _ := bench.app.Update(key)
		bench.app = m.(App)
		_ = bench.app.View()
		m, _ = bench.app.Update(back)
		bench.app = m.(App)
		_ = bench.app.View()
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(2*b.N)/1000, "ms/key")
}

func BenchmarkFrame(b *testing.B) {
	bench := newBench(b, uitest.Look{Color: true}, 120, 40)
	for _, screen := range []string{"1", "2", "4", "5"} {
		bench.press("esc", screen)
		b.Run(bench.app.tabs[bench.app.at].name, func(b *testing.B) {
			for b.Loop() {
				_ = bench.app.View()
			}
		})
	}
}

// An entry that is dated a little ahead comes into force by itself once its time has passed.
func TestAnEntryOfTheFutureComesIntoForce(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	r := record.Round{Time: b.now.Add(time.Minute), By: "Tam", Values: map[quantity.Key]float64{"hertz": 56.2}}
	if _, err := b.book.AddRound(context.Background(), r, ""); err != nil {
		t.Fatal(err)
	}
	b.look()
	tick := func() App { // its commands wait for the real clock, and are not run
		m, _ := b.app.Update(tickMsg(b.now))
		return m.(App)
	}
	if tick().loading {
		t.Error("the book is read anew before the time has come")
	}
	b.now = b.now.Add(2 * time.Minute)
	b.app = tick()
	if !b.app.loading {
		t.Fatal("the book is not read anew when the time has come")
	}
	b.app.loading = false
	if tick().loading {
		t.Error("the book is read anew at every tick")
	}
}

// Keys that a slow link brings together do what they do one by one; what is pasted stays one.
func TestKeysThatArriveTogether(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	together := func(s string) { b.give(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(s)}) }
	together("2-0.33")
	b.sees("-0.33", "Kept as a draft")
	b.press("esc")
	together("37")
	if name := b.app.tabs[b.app.at].name; name != b.app.tabs[6].name {
		t.Errorf("37 shows %s", name)
	}
	together("2")
	b.press("down")
	together("==")
	b.sees("more taken as last time")
}

// A draft that is thrown away is no longer named on Now, and one that is left is, without a new start.
func TestNowKnowsTheDraftsOfThisSession(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.press("2")
	b.typed("-0.33")
	b.press("esc")
	b.sees("A draft (round) that was not saved is kept: press 2")
	b.press("2", "f8", "y", "esc")
	if strings.Contains(b.app.View(), "A draft (round)") {
		t.Errorf("it is still named:\n%s", b.app.View())
	}
}
