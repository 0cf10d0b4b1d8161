// Package now is the plant at a glance: what wants attention, what is left, how the water's power goes from pond to plug,
// and every reading beside its band.
package now

import (
	"slices"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/quantity"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// Name is the name by which other screens ask for this one.
const Name = "now"

// Screen is the Now screen.
type Screen struct {
	ui.Common
	facts    *assess.Now
	err      error
	waterErr error
	drafts   []string
	uncopied string // that the copies of the book are old
	all      bool   // everything that wants attention is listed
	scroll   ui.Scroll
	w, h     int
}

// New makes the screen; it fills when a desk.Loaded comes.
func New(c ui.Common, _ desk.Desk) ui.Screen { return Screen{Common: c} }

// Init does nothing: the App loads the book.
func (s Screen) Init() tea.Cmd { return nil }

// Title names the screen.
func (s Screen) Title() string { return "Now" }

// Capturing is false: nothing is typed here.
func (s Screen) Capturing() bool { return false }

// SetSize sets the screen's room.
func (s Screen) SetSize(w, h int) ui.Screen { s.w, s.h = w, h; return s }

// Bindings lists the keys.
func (s Screen) Bindings() []ui.Binding {
	return []ui.Binding{
		{Action: "now.round", Keys: []string{"r"}, Short: "new round", Long: "Walk a round"},
		{Action: "now.all", Keys: []string{"a"}, Short: "all that wants attention", Long: "Show everything that wants attention, or the first few", Off: s.few()},
		{Action: "now.scroll", Keys: []string{"down", "up", "pgdown", "pgup", "home", "end"}, Short: "scroll", Long: "See what is further down", Hidden: len(s.lines()) <= s.h},
	}
}

// Update takes new facts, and scrolls.
func (s Screen) Update(msg tea.Msg) (ui.Screen, tea.Cmd) {
	switch msg := msg.(type) {
	case desk.Loaded:
		return s.loaded(msg), nil
	case desk.Water:
		s.waterErr = msg.Err
		if s.facts != nil && msg.Facts != nil {
			s.facts = s.facts.WithWater(msg.Facts)
		}
		return s, nil
	case desk.DraftKept: // one that was thrown away is no longer kept, and one that is begun is
		if msg.Err == nil {
			s.drafts = slices.DeleteFunc(slices.Clone(s.drafts), func(form string) bool { return form == msg.Form })
			if msg.Data != nil {
				s.drafts = append(s.drafts, msg.Form)
			}
			slices.Sort(s.drafts)
		}
		return s, nil
	case desk.Copied:
		s.uncopied = msg.Caution()
		return s, nil
	}
	action, cmd := ui.Act(msg, s.Bindings(), false)
	switch action {
	case "now.round":
		return s, desk.Go("round", "")
	case "now.all":
		s.all = !s.all
		s.scroll = ui.Scroll{}
	case "now.scroll":
		if key, ok := msg.(tea.KeyMsg); ok {
			s.scroll, _ = s.scroll.Key(key, len(s.lines()), s.h)
		}
	}
	return s, cmd
}

// few says why there is nothing more to list, "" where there is.
func (s Screen) few() string {
	const whole = "everything is listed already"
	if s.facts == nil {
		return whole
	}
	all, few := s.page(), s.page()
	all.all, few.all = true, false
	if slices.Equal(all.lines(s.w), few.lines(s.w)) {
		return whole
	}
	return ""
}

// page lays the facts out for the window.
func (s Screen) page() page {
	return page{facts: s.told(), common: s.Common, waterErr: s.waterErr, drafts: s.drafts, all: s.all, h: s.h}
}

// told is the facts, and that the copies of the book are old where they are.
func (s Screen) told() *assess.Now {
	return s.facts.WithNotice(assess.UrgentDue, "plant", s.uncopied)
}

func (s Screen) loaded(l desk.Loaded) Screen {
	s.err, s.waterErr = l.Err, nil
	if l.Err != nil {
		return s
	}
	water := s.facts
	s.facts = l.Facts
	if p := l.History.Plant; p != nil {
		s.Units, s.Location = quantity.System(p.Site.Units), p.Location
	}
	if water != nil && water.Water != nil { // the old forecast stands until the new one comes
		s.facts = s.facts.WithWater(water.Water)
	}
	s.drafts = s.drafts[:0:0]
	for form := range l.Drafts {
		s.drafts = append(s.drafts, form)
	}
	slices.Sort(s.drafts)
	return s
}

// View draws what fits and scrolls over the rest.
func (s Screen) View() string {
	return s.scroll.View(s.Theme, s.lines(), s.w, s.h)
}

func (s Screen) lines() []string {
	switch {
	case s.err != nil:
		var out []string
		for _, l := range text.ShowLines("The book could not be read: " + s.err.Error()) {
			out = append(out, text.Wrap(l, max(1, s.w))...)
		}
		return out
	case s.facts == nil:
		return []string{"Reading the book"}
	}
	return s.page().lines(s.w)
}

// Text is the same page for a command's output, w cells wide.
func Text(facts *assess.Now, c ui.Common, waterErr error, w int) string {
	p := page{facts: facts, common: c, waterErr: waterErr, all: true, printed: true}
	return strings.Join(p.lines(w), "\n") + "\n"
}
