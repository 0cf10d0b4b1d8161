package tui

import (
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"reflect"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/logbook"
	"example.org/headpond/model/demo/demotest"
	"example.org/headpond/model/record"
	"example.org/headpond/model/water"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui/uitest"
)

// The suite's events, and the variables for a long run and for one trial again.
const (
	monkeyEvents  = 2400
	monkeyEnv     = "HEADPOND_MONKEY"      // how many events
	monkeySeedEnv = "HEADPOND_MONKEY_SEED" // where to begin
	hangs         = 10 * time.Minute       // no event takes a second; a trial that takes this long hangs
)

// monkey hits keys at random. Commands are carried out at once, or, where it lags, later and in any order, as a busy machine does.
type monkey struct {
	tb      testing.TB
	seed    uint64
	rng     *rand.Rand
	kind    kindOfBook
	look    uitest.Look
	path    string
	book    *logbook.Book
	now     time.Time
	app     App
	lag     bool
	pending []tea.Cmd
	quit    bool
	events  int
	done    []string // for the report of a failure
}

// monkeyForms are all that can be typed into and is kept as a draft.
var monkeyForms = []string{"round", "event", "done", "walk", "amend"}

// Any keys, pastes, sizes, and news in any order, on every kind of book: no panic, no hang, no frame beyond the window, nothing
// in it that acts on a terminal, and whatever way the program ends, what stands in a form is on disk and comes back.
func TestMonkey(t *testing.T) {
	want, seed := monkeyEvents, uint64(1)
	if n, err := strconv.Atoi(os.Getenv(monkeyEnv)); err == nil {
		want = n
	}
	if n, err := strconv.ParseUint(os.Getenv(monkeySeedEnv), 10, 64); err == nil {
		seed = n
	}
	kinds := books()(t)
	longer := 1
	if want > monkeyEvents {
		longer = 5 // a long run spends its time on keys, not on beginnings
	}
	events, trials, found := 0, 0, map[string]int{}
	for ; events < want; seed++ {
		k := kinds[seed%uint64(len(kinds))]
		t.Run(fmt.Sprintf("%s-%d", k.name, seed), func(t *testing.T) {
			m := newMonkey(t, k, seed)
			defer m.watch()()
			m.trial(longer*(40+m.rng.IntN(160)), found)
			events += m.events
		})
		if t.Failed() {
			t.Fatalf("after %d events: %s=%d %s=%d goes through the last trial again", events, monkeyEnv, min(want, monkeyEvents+1), monkeySeedEnv, seed)
		}
		trials++
	}
	t.Logf("%d events in %d trials; drafts looked for on disk and found: %v", events, trials, found)
	for _, form := range monkeyForms {
		if trials >= 8 && found[form] == 0 {
			t.Errorf("no draft of the form %s was ever looked for", form)
		}
	}
}

func newMonkey(tb testing.TB, k kindOfBook, seed uint64) *monkey {
	tb.Helper()
	m := &monkey{tb: tb, seed: seed, rng: rand.New(rand.NewPCG(seed, 7)), kind: k, path: k.copyTo(tb), now: theNow(tb)}
	if k.spoil {
		m.spoil()
	}
	m.look = []uitest.Look{{}, {Color: true}, {ASCII: true}}[m.rng.IntN(3)]
	m.start(80, 24)
	return m
}

// spoil flips some bits of the book, its two heads apart: with both of these gone there is no book.
func (m *monkey) spoil() {
	data := bytes.Clone(m.kind.data)
	for range 1 + m.rng.IntN(20) {
		data[2*os.Getpagesize()+m.rng.IntN(len(data)-2*os.Getpagesize())] ^= 1 << m.rng.IntN(8)
	}
	if err := os.WriteFile(m.path, data, 0o600); err != nil {
		m.tb.Fatal(err)
	}
}

// watch ends the whole program where a trial hangs; a test cannot end itself.
func (m *monkey) watch() (stop func()) {
	timer := time.AfterFunc(hangs, func() { panic(fmt.Sprintf("the trial of seed %d on the %s book hangs", m.seed, m.kind.name)) })
	return func() { timer.Stop() }
}

// start begins the program anew on the book.
func (m *monkey) start(w, h int) {
	m.tb.Helper()
	clock := func() time.Time { return m.now }
	var err error
	if m.book, err = logbook.Open(m.path, logbook.Options{Clock: clock, Location: m.now.Location(), Writer: [16]byte{2}, ReadOnly: m.kind.readOnly}); err != nil {
		m.fail("the book does not open: %v", err)
	}
	c := uitest.Common(m.look, w, h, m.now)
	c.Now, c.Units = clock, m.kind.units
	d := desk.Desk{Book: m.book, Now: clock, Location: m.now.Location(), ReadOnly: m.kind.readOnly, Forecast: water.Options{Members: 10, Horizon: 3 * 24 * time.Hour}}
	if m.rng.IntN(2) == 0 {
		d.WritePage = func(context.Context, desk.Review, string) (string, error) { return demotest.Evil("page", 4), nil }
	}
	m.app, m.quit, m.pending = New(context.Background(), Options{Desk: d, Common: c, Title: m.kind.name}).Loaded(d.Load(context.Background(), 1)), false, nil
	m.take(m.app.first)
}

func (m *monkey) fail(format string, args ...any) {
	m.tb.Helper()
	m.tb.Fatalf("%s\nlast events: %s", fmt.Sprintf(format, args...), strings.Join(m.done[max(0, len(m.done)-60):], " "))
}

// give hands over a message and looks at the frame.
func (m *monkey) give(name string, msg tea.Msg) {
	m.tb.Helper()
	m.events++
	m.done = append(m.done, name)
	defer func() {
		if v := recover(); v != nil {
			stack := make([]byte, 8<<10)
			m.fail("panic: %v\n%s", v, stack[:runtime.Stack(stack, false)])
		}
	}()
	m.update(msg)
	view := m.app.View()
	if err := uitest.Fits(view, m.app.common.Width, m.app.common.Height); err != nil {
		m.fail("%s: %v", m.app.tabs[m.app.at].name, err)
	}
	if err := harmless(view, m.look); err != nil {
		m.fail("%s: %v", m.app.tabs[m.app.at].name, err)
	}
}

func (m *monkey) update(msg tea.Msg) {
	next, cmd := m.app.Update(msg)
	m.app = next.(App)
	m.take(cmd)
}

// take carries a command out, now or later.
func (m *monkey) take(cmd tea.Cmd) {
	if cmd == nil || waits(cmd) {
		return
	}
	if m.lag {
		m.pending = append(m.pending, cmd)
		return
	}
	m.carry(cmd)
}

// carry carries a command out and hands over what it brings.
func (m *monkey) carry(cmd tea.Cmd) {
	switch msg := cmd().(type) {
	case nil:
	case tea.QuitMsg:
		m.quit = true
	case tea.BatchMsg:
		for _, c := range msg {
			m.take(c)
		}
	default:
		list, ok := sequence(msg)
		if !ok {
			m.update(msg)
			return
		}
		for _, c := range list {
			m.carry(c)
		}
	}
}

// waits reports whether a command only lets time go by.
func waits(cmd tea.Cmd) bool {
	name := runtime.FuncForPC(reflect.ValueOf(cmd).Pointer()).Name()
	return strings.Contains(name, "bubbletea.Tick") || strings.Contains(name, "bubbletea.Every")
}

// settle carries out what is under way, in any order.
func (m *monkey) settle() {
	for len(m.pending) > 0 {
		m.oneLater()
	}
}

func (m *monkey) oneLater() {
	i := m.rng.IntN(len(m.pending))
	cmd := m.pending[i]
	m.pending = append(m.pending[:i:i], m.pending[i+1:]...)
	m.carry(cmd)
}

// trial is one life of the program of so many events, its end, and its next life.
func (m *monkey) trial(length int, found map[string]int) {
	m.lag = m.rng.IntN(3) == 0
	for range length {
		m.event()
		if len(m.pending) > 0 && m.rng.IntN(2) == 0 {
			m.oneLater()
		}
		if m.quit {
			m.restart()
		}
	}
	m.restart()
	if m.kind.readOnly {
		if now, err := os.ReadFile(m.path); err != nil || !bytes.Equal(now, m.kind.data) {
			m.fail("a book that is only looked at was changed (%v)", err)
		}
	}
	if m.kind.forms {
		for i := range 3 {
			m.typeAndEnd(monkeyForms[(3*m.seed+uint64(i))%uint64(len(monkeyForms))], found)
		}
	}
}

// restart ends the program and begins it anew. All that its forms hold must be on disk by then, and be there still after the
// new program read it, was looked through and was ended too.
func (m *monkey) restart() {
	m.tb.Helper()
	m.end()
	before := m.drafts()
	m.lag = false
	m.start(120, 40)
	for _, t := range m.app.tabs {
		m.give(t.digit, key(t.digit))
		m.give("esc", key("esc"))
		m.give("esc", key("esc"))
	}
	if after := m.drafts(); before != after {
		m.fail("the drafts were\n%q\nand after a restart\n%q", before, after)
	}
	m.give("ctrl+c", key("ctrl+c"))
	if after := m.drafts(); before != after {
		m.fail("the drafts were\n%q\nand after a restart that changed nothing and its end\n%q", before, after)
	}
	m.start(80, 24)
}

// end is one of the ways in which a program ends: it is told to, a signal comes, before or after what is under way, or, where nothing
// is, its power fails.
func (m *monkey) end() {
	m.tb.Helper()
	switch m.rng.IntN(3) {
	case 0:
		m.give("ctrl+c", key("ctrl+c"))
		m.settle()
		if !m.quit {
			m.fail("ctrl+c does not end the program")
		}
	case 1:
		m.settle()
		behind := m.drafts()
		if err := m.app.Flush(); err != nil && m.kind.forms {
			m.fail("flush: %v", err)
		}
		if now := m.drafts(); now != behind {
			m.fail("the power failed, and the drafts on disk were behind:\n%q\nagainst\n%q", behind, now)
		}
	default:
		if err := m.app.Flush(); err != nil && m.kind.forms {
			m.fail("flush: %v", err)
		}
		behind := m.drafts()
		m.lag = true
		for _, cmd := range m.pending { // they come late, and nobody is there to hear
			m.carry(cmd)
		}
		m.pending = nil
		if now := m.drafts(); now != behind {
			m.fail("what was under way when the program ended turned the drafts from\n%q\ninto\n%q", behind, now)
		}
	}
	m.done = append(m.done, "END")
}

// drafts is what the drafts on disk hold, nothing where the book keeps none.
func (m *monkey) drafts() string {
	m.tb.Helper()
	if !m.kind.forms {
		return ""
	}
	return draftTexts(m.tb, m.book)
}

// event is anything that can come to the program.
func (m *monkey) event() {
	m.tb.Helper()
	switch n := m.rng.IntN(100); {
	case n < 6:
		w, h := m.rng.IntN(160), m.rng.IntN(60)
		m.give(fmt.Sprintf("%dx%d", w, h), tea.WindowSizeMsg{Width: w, Height: h})
	case n < 12:
		s := m.text()
		m.give("paste", uitest.Paste(s))
	case n < 14:
		m.now = m.now.Add(time.Duration(m.rng.IntN(7200)-600) * time.Second)
		m.give("tick", tickMsg(m.now))
	case n < 16:
		m.news()
	case n < 17:
		m.give("failed", desk.Failed{Doing: "saving " + m.text(), Err: fmt.Errorf("%s", m.text())})
	case n < 40:
		m.typed([]string{"241", "-0.4", "60 Hz", "19 psi", "Ro", "abc", "-2h", "06:40", "2026-11-01 01:30", "A+B", "=", "=="}[m.rng.IntN(12)])
	case n < 45:
		r := []rune(m.text())
		if len(r) > 0 {
			r = r[m.rng.IntN(len(r)):][:1]
			m.give(strconv.QuoteToASCII(string(r)), tea.KeyMsg{Type: tea.KeyRunes, Runes: r})
		}
	case n < 47:
		k := tea.KeyMsg{Type: tea.KeyType(m.rng.IntN(200) - 80), Alt: m.rng.IntN(4) == 0}
		m.give(k.String(), k)
	default:
		name := monkeyKeys[m.rng.IntN(len(monkeyKeys))]
		m.give(name, key(name))
	}
}

// monkeyKeys are hit most; what goes deep into a screen stands here more than once.
var monkeyKeys = strings.Fields("1 2 3 4 5 6 7 8 9 2 3 6 8 ? esc enter enter enter enter tab shift+tab up down down down down left right pgup pgdown home end backspace delete " +
	"f2 f2 f8 = - . 7 a b c c d e e f g h i j k l m n n o p r s s t u v w x y y z / ctrl+w ctrl+u ctrl+k ctrl+o ctrl+r ctrl+a ctrl+e q")

func key(name string) tea.KeyMsg { return monkeyMessages[name] }

// monkeyMessages are the keys' messages, made once.
var monkeyMessages = func() map[string]tea.KeyMsg {
	all := map[string]tea.KeyMsg{}
	for k := tea.KeyF20 - 20; k <= 127; k++ {
		if m := (tea.KeyMsg{Type: k}); k != tea.KeyRunes {
			all[m.String()] = m
		}
	}
	for r := rune('!'); r <= '~'; r++ {
		all[string(r)] = tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{r}}
	}
	all[" "] = tea.KeyMsg{Type: tea.KeySpace, Runes: []rune(" ")}
	return all
}()

// typed hits keys one after the other.
func (m *monkey) typed(s string) {
	m.tb.Helper()
	for _, r := range s {
		m.give(string(r), key(string(r)))
	}
}

// text is something that may be pasted.
func (m *monkey) text() string {
	switch m.rng.IntN(5) {
	case 0:
		return demotest.Evil("P", m.rng.IntN(100))
	case 1:
		return "one\ntwo\tthree\r\n"
	case 2:
		return strings.Repeat("long ", m.rng.IntN(3000))
	case 3:
		return strconv.FormatFloat(m.rng.NormFloat64()*100, 'g', -1, 64)
	}
	r := make([]rune, m.rng.IntN(20))
	for i := range r {
		r[i] = rune(m.rng.IntN(0x11000))
	}
	return string(r)
}

// news comes from another process that writes to the same book.
func (m *monkey) news() {
	m.tb.Helper()
	if m.kind.forms {
		other, err := logbook.Open(m.path, logbook.Options{Clock: func() time.Time { return m.now }, Location: m.now.Location(), Writer: [16]byte{9}})
		if err != nil {
			m.fail("another process cannot open the book: %v", err)
		}
		r := record.Round{Time: m.now.Add(-time.Duration(m.rng.IntN(1e6)) * time.Second), By: "Tam", Note: m.text()}
		if _, err := other.AddRound(context.Background(), r, ""); err != nil {
			m.fail("another process cannot write: %v", err)
		}
	}
	stamp, err := m.book.Stamp()
	if err != nil {
		m.fail("stamp: %v", err)
	}
	mark, err := m.book.Mark(context.Background())
	if err != nil && m.kind.forms {
		m.fail("mark: %v", err)
	}
	m.give("news", polled{stamp: stamp, mark: mark, err: err})
}

// typeAndEnd types something into a form, ends the program at any key, and looks for all of it on disk, which does not ask the
// program what it thinks that it kept.
func (m *monkey) typeAndEnd(form string, found map[string]int) {
	m.tb.Helper()
	m.give("120x40", tea.WindowSizeMsg{Width: 120, Height: 40})
	down := func(n int) {
		for range n {
			m.give("down", key("down"))
		}
	}
	press := func(names ...string) {
		for _, n := range names {
			m.give(n, key(n))
		}
	}
	switch form {
	case "round":
		press("2", "f8", "y", "2")
		down(m.rng.IntN(12))
	case "event":
		press("3", "e", "f8", "y", "3", "e")
		down(1 + m.rng.IntN(3))
	case "done":
		press("8", "enter", "f8", "y", "8", "enter")
		down(m.rng.IntN(3))
	case "walk":
		press("8")
		down(7)
		press("enter", "enter", "s")
	case "amend":
		press("3", "end", "enter", "c", "f8", "y", "enter", "c")
		down(m.rng.IntN(2))
	}
	token := fmt.Sprintf("%d", 1e9+m.rng.Int64N(9e9))
	token = token[:5+m.rng.IntN(len(token)-4)]
	m.lag = m.rng.IntN(2) == 0
	for _, r := range token {
		m.give(string(r), key(string(r)))
		if len(m.pending) > 0 && m.rng.IntN(2) == 0 {
			m.oneLater()
		}
	}
	view := m.app.View()
	m.end()
	if strings.Contains(view, token) { // it went into a field
		if on := m.drafts(); !strings.Contains(on, token) {
			m.fail("%q was typed into the form %s, the program was ended, and the drafts on disk are\n%s\nthe screen was\n%s", token, form, on, view)
		}
		found[form]++
	}
	m.lag = false
	m.start(120, 40)
}
