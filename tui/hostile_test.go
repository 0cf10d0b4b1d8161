package tui

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/logbook"
	"example.org/headpond/model/demo/demotest"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/firstuse"
	"example.org/headpond/tui/ui/uitest"
)

// No control character from data reaches the terminal, on any screen, in any look, at any of these sizes: every free text of the
// book, the plant's file, the drafts, a page's file name and an error is hostile. That the texts are on the screens at all is
// looked for by the marks in them.
func TestNoScreenLetsHostileTextThrough(t *testing.T) {
	kinds := books()(t)
	evilBook := kinds[slices.IndexFunc(kinds, func(k kindOfBook) bool { return k.name == "hostile" })]
	seen := map[string]bool{}
	for _, c := range []struct {
		look string
		w, h int
	}{{"nocolor", 120, 50}, {"dark", 80, 24}, {"ascii", 43, 13}} {
		t.Run(fmt.Sprintf("%s-%dx%d", c.look, c.w, c.h), func(t *testing.T) {
			m := newMonkey(t, evilBook, 1)
			m.look = uitest.Looks()[c.look]
			hostileDrafts(m)
			m.start(c.w, c.h)
			everyScreen(m, seen)
		})
	}
	// RB by, RN note, XK and XV extra column, TY as typed, WD word, RU unit said to run, of a round; E… of an event; D… of upkeep, W… of
	// a checklist (what it is for and its units, WF and WU, stand on no screen); A… of a correction; C… of the plant's own checklist; DR
	// of a draft; ER of an error; PG of a file's name.
	for _, mark := range strings.Fields("RB RN XK XV TY WD RU EB EN EC EK EU EE DB DN DT WS WT WN AW AB AN CL CC CS CT Te la fr ER DR PG") {
		if !seen[mark] {
			t.Errorf("no text with the mark %s was on any screen: the test above shows nothing about it", mark)
		}
	}
}

// hostileDrafts puts drafts into the book as a broken program might.
func hostileDrafts(m *monkey) {
	m.tb.Helper()
	b, err := logbook.Open(m.path, logbook.Options{Clock: m.app.common.Now, Location: m.now.Location(), Writer: [16]byte{2}})
	if err != nil {
		m.tb.Fatal(err)
	}
	h, err := b.History(context.Background(), logbook.HistoryOptions{})
	if err != nil {
		m.tb.Fatal(err)
	}
	id := h.Rounds[len(h.Rounds)-1].ID
	for _, form := range []string{"round", "event", "amend", demotest.Evil("DR", 0), demotest.Evil("DR", 4)} {
		data, err := json.Marshal(map[string]any{"entry": id, "what": demotest.Evil("DR", 4), "begun": m.now, "focus": demotest.Evil("DR", 1), "units": "metric", "values": map[string]string{
			"note": demotest.Evil("DR", 4), "by": demotest.Evil("DR", 0), "kind": demotest.Evil("DR", 2), "volts": demotest.Evil("DR", 3), "cause": demotest.Evil("DR", 6), "why": demotest.Evil("DR", 4), "value": demotest.Evil("DR", 5), demotest.Evil("DR", 0): demotest.Evil("DR", 1)}})
		if err != nil {
			m.tb.Fatal(err)
		}
		if err := b.SaveDraft(context.Background(), form, data); err != nil {
			m.tb.Fatal(err)
		}
	}
}

// everyScreen looks at every screen from top to bottom, opens what can be opened there, and is told of failures.
func everyScreen(m *monkey, seen map[string]bool) {
	m.tb.Helper()
	look := func(names ...string) {
		for _, n := range names {
			m.give(n, key(n))
			note(m.app.View(), seen)
		}
	}
	for _, t := range m.app.tabs {
		look(t.digit, "?")
		look("esc", "esc", t.digit)
		for range 8 {
			look("down")
		}
		look("pgdown", "pgdown", "pgdown", "end", "home")
	}
	look("3") // the log: each of its entries in full
	for range 30 {
		look("enter", "pgdown", "end", "esc", "down")
	}
	for _, keys := range []string{"p p p x", "k k k k k k", "e", "c", "d", "/"} {
		look(append(append([]string{"3"}, strings.Fields(keys)...), "esc", "esc", "3")...)
	}
	look("esc", "6", "m", "c", "c", "left", "left", "pgdown", "y", "end", "w")
	look("8")
	for range 14 {
		look("down", "enter", "pgdown", "enter", "n", "esc", "esc", "8")
	}
	for n := range 5 {
		m.give("failed", desk.Failed{Doing: demotest.Evil("ER", n), Err: errors.New(demotest.Evil("ER", n+1))})
		note(m.app.View(), seen)
	}
	m.give("page", desk.Copied{Err: errors.New(demotest.Evil("PG", 4))})
	note(m.app.View(), seen)
	m.give("water", desk.Water{Version: m.app.version, Err: errors.New(demotest.Evil("ER", 0))})
	look("5", "1")
	m.give("loaded", desk.Loaded{Version: m.app.version + 1, Err: errors.New(demotest.Evil("ER", 4))})
	for _, t := range m.app.tabs {
		look(t.digit)
	}
}

// note takes down which marks are on the screen.
func note(view string, seen map[string]bool) {
	for _, mark := range strings.Fields("RB RN XK XV TY WD RU EB EN EC EK EU EE DB DN DT WF WU WS WT WN AW AB AN CL CC CS CT Te la fr ER DR PG") {
		seen[mark] = seen[mark] || strings.Contains(view, mark)
	}
}

// What is typed or pasted at the first use, where there is no book yet, is made harmless too.
func TestFirstUseLetsNothingThrough(t *testing.T) {
	now := theNow(t)
	for _, color := range []bool{false, true} {
		look := uitest.Look{Color: color}
		file := []byte("[site]\nname = \"" + demotest.Evil("F", 6) + "\"\n" + demotest.Evil("F", 0) + " = 1\n")
		o := firstuse.Options{Common: uitest.Common(look, 80, 24, now), Book: demotest.Evil("F", 4),
			ReadFile: func(name string) ([]byte, error) {
				if strings.Contains(name, "w") {
					return file, nil
				}
				return nil, errors.New(demotest.Evil("F", 4))
			},
			WriteNew: func(string, []byte) error { return errors.New(demotest.Evil("F", 9)) }}
		var s tea.Model = firstuse.New(o, func(firstuse.Result) {})
		for n := range 26 {
			for _, k := range []tea.KeyMsg{key([]string{"1", "2"}[n%2]), uitest.Paste(demotest.Evil("F", n)), key("enter"), key("down"), key("enter"), key("y"), key("pgdown"), key("esc")} {
				s = drive(s, k)
				if err := harmless(s.View(), look); err != nil {
					t.Fatal(err)
				}
				if err := uitest.Fits(s.View(), 80, 24); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
}

// drive hands over a message and what its commands bring.
func drive(s tea.Model, msg tea.Msg) tea.Model {
	s, cmd := s.Update(msg)
	if cmd == nil || waits(cmd) {
		return s
	}
	switch m := cmd().(type) {
	case nil, tea.QuitMsg, tea.BatchMsg:
		return s
	default:
		return drive(s, m)
	}
}
