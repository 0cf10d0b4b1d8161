// Package faultview is the Faults screen: the causes that explain the readings, ranked, with the evidence for and against each,
// its size, what tells it from its rivals, and the first safe step.
package faultview

import (
	"context"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/model/faults"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// Name is the name by which other screens ask for this one.
const Name = "faults"

// Screen is the Faults screen.
type Screen struct {
	ui.Common
	version  int
	history  *record.History
	err      error // the book could not be read
	facts    *faults.Facts
	why      error // why there are no facts
	picked   int   // the cause that is told of
	readOnly bool
	scroll   ui.Scroll
	w, h     int
}

// ranked brings the causes for a load of the book. They are worked out outside the drawing loop.
type ranked struct {
	version int
	facts   *faults.Facts
	err     error
}

// New makes the screen; it fills when a desk.Loaded comes.
func New(c ui.Common, d desk.Desk) ui.Screen { return Screen{Common: c, readOnly: d.ReadOnly} }

// Init does nothing: the App loads the book.
func (s Screen) Init() tea.Cmd { return nil }

// Title names the screen.
func (s Screen) Title() string { return "Faults" }

// Capturing is false: nothing is typed here.
func (s Screen) Capturing() bool { return false }

// SetSize sets the screen's room.
func (s Screen) SetSize(w, h int) ui.Screen { s.w, s.h = w, h; return s }

// Bindings lists the keys.
func (s Screen) Bindings() []ui.Binding {
	off, none := "", ""
	if s.readOnly {
		off = "this book is open to be looked at only"
	}
	if s.facts == nil {
		none = "no cause has been worked out yet"
	}
	return []ui.Binding{
		{Action: "faults.pick", Keys: []string{"down", "up"}, Short: "cause", Long: "Pick a cause; the evidence below is about it", Off: none},
		{Action: "faults.round", Keys: []string{"r"}, Short: "new round", Long: "Walk a round: more readings tell more", Off: off},
		{Action: "faults.log", Keys: []string{"l"}, Short: "log", Long: "Show the rounds that this rests on"},
		{Action: "faults.scroll", Keys: []string{"pgdown", "pgup", "home", "end"}, Short: "scroll", Long: "See what is further down", Hidden: len(s.lines()) <= s.body()},
	}
}

// Update takes the book's news, the causes, and keys.
func (s Screen) Update(msg tea.Msg) (ui.Screen, tea.Cmd) {
	switch msg := msg.(type) {
	case desk.Loaded:
		return s.loaded(msg)
	case ranked:
		if msg.version == s.version {
			s.facts, s.why = msg.facts, msg.err
			s.picked = min(s.picked, max(0, len(shown(s.facts))-1))
		}
		return s, nil
	}
	action, cmd := ui.Act(msg, s.Bindings(), false)
	key, isKey := msg.(tea.KeyMsg)
	switch action {
	case "faults.pick":
		if n := len(shown(s.facts)); isKey && n > 0 {
			step := 1
			if key.Type == tea.KeyUp {
				step = -1
			}
			s.picked, s.scroll = max(0, min(n-1, s.picked+step)), ui.Scroll{}
		}
	case "faults.round":
		return s, desk.Go("round", "")
	case "faults.log":
		return s, desk.Go("log", "")
	case "faults.scroll":
		if isKey {
			s.scroll, _ = s.scroll.Key(key, len(s.lines()), s.body())
		}
	}
	return s, cmd
}

// loaded keeps the old causes on show until the new ones come.
func (s Screen) loaded(l desk.Loaded) (ui.Screen, tea.Cmd) {
	if s.err = l.Err; l.Err != nil {
		return s, nil
	}
	s.version, s.history = l.Version, l.History
	if p := l.History.Plant; p != nil {
		s.Units, s.Location = quantity.System(p.Site.Units), p.Location
	}
	version, h := l.Version, l.History
	return s, func() tea.Msg {
		f, err := faults.Report(context.Background(), h, faults.Options{})
		return ranked{version, f, err}
	}
}

// View draws what fits and scrolls over the rest; the caution stands at the bottom of any page.
func (s Screen) View() string {
	view := s.scroll.View(s.Theme, s.lines(), s.w, s.body())
	foot := s.foot()
	if len(foot) == 0 {
		return view
	}
	if missing := s.body() - 1 - strings.Count(view, "\n"); missing > 0 {
		view += strings.Repeat("\n", missing)
	}
	return view + "\n" + strings.Join(foot, "\n")
}

// body is the height above the caution.
func (s Screen) body() int { return s.h - len(s.foot()) }

// foot is the caution that does not scroll away; a small window goes without, and has it at the end of the page.
func (s Screen) foot() []string {
	if s.h < 12 || s.facts == nil {
		return nil
	}
	var out []string
	for _, l := range text.Wrap(footCaution, max(10, s.w)) {
		out = append(out, s.Theme.Cut(s.Theme.Near.Render(l), s.w))
	}
	return out
}

// footCaution is short enough for one line of 80 cells.
const footCaution = "Stop, isolate, lock out and prove dead before opening anything. Voltage kills."

func (s Screen) lines() []string {
	switch {
	case s.err != nil:
		return text.Wrap("The book could not be read: "+text.Show(s.err.Error()), max(10, s.w))
	case s.facts == nil && s.why == nil:
		return []string{" Working out the causes"}
	}
	return page{report: Report{Facts: s.facts, Err: s.why}, common: s.Common, picked: s.picked}.lines(s.w)
}

// Report is what the page is drawn from.
type Report struct {
	Facts *faults.Facts // nil where Err says why
	Err   error
}

// Text is the same page for a command's output, w cells wide, with the evidence of every cause that is in the running.
func Text(r Report, c ui.Common, w int) string {
	return strings.Join(page{report: r, common: c, picked: -1}.lines(w), "\n") + "\n"
}
