// Package plantview is the Plant screen: the plant's own description in sections, its revisions, and the check of it: what is
// worth a second look, and the numbers of safe operation with their formulas and sources.
package plantview

import (
	"context"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/logbook/copies"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/safety"
	"example.org/headpond/model/steady"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// Name is the name by which other screens ask for this one; their argument is the id of a revision.
const Name = "plant"

// Check is what the check of a description says.
type Check struct {
	Advice  []plant.Advisory
	Numbers []safety.Number
	Err     error // why the plant cannot be solved, so that there are no numbers
}

// CheckOf checks a description that was read without an error.
func CheckOf(p *plant.Plant) Check {
	c := Check{Advice: plant.Advice(p)}
	m, err := steady.New(p)
	if err != nil {
		c.Err = err
		return c
	}
	c.Numbers = safety.Numbers(m)
	return c
}

// Beyond counts the numbers that are past their limit.
func (c Check) Beyond() int {
	n := 0
	for _, x := range c.Numbers {
		if x.Past() {
			n++
		}
	}
	return n
}

// Screen is the Plant screen.
type Screen struct {
	ui.Common
	err       error
	loaded    bool
	history   *record.History
	at        int              // the revision on show
	checks    map[string]Check // of the revisions looked at so far, by id
	checking  bool             // the check is on show, not the description
	want      string           // a revision to be shown once the book is here
	following bool             // the revision in force is on show, whichever that is
	desk      desk.Desk
	copied    *copies.Status // how well the book is copied; nil while that is not known
	scroll    ui.Scroll
	w, h      int
}

// New makes the screen; it fills when a desk.Loaded comes.
func New(c ui.Common, d desk.Desk) ui.Screen {
	return Screen{Common: c, desk: d, checks: map[string]Check{}, following: true}
}

// Init does nothing: the App loads the book.
func (s Screen) Init() tea.Cmd { return nil }

// Title names the screen.
func (s Screen) Title() string { return "Plant" }

// Capturing is false: nothing is typed here.
func (s Screen) Capturing() bool { return false }

// SetSize sets the screen's room.
func (s Screen) SetSize(w, h int) ui.Screen { s.w, s.h = w, h; return s }

// Bindings lists the keys.
func (s Screen) Bindings() []ui.Binding {
	check := ui.Binding{Action: "plant.check", Keys: []string{"c", "enter"}, Short: "check", Long: "Show what is worth a second look and the numbers of safe operation, or the description again", Off: s.none()}
	if s.checking {
		check.Short = "description"
	}
	older, newer := s.none(), s.none()
	switch n := len(s.revisions()); {
	case n == 0:
	case n < 2:
		older, newer = "the book holds no other description", "the book holds no other description"
	case s.at == 0:
		older = "this is the oldest description"
	case s.at == n-1:
		newer = "this is the newest description"
	}
	return []ui.Binding{
		check,
		{Action: "plant.older", Keys: []string{"left"}, Short: "older revision", Long: "Show the description before this one", Off: older},
		{Action: "plant.newer", Keys: []string{"right"}, Short: "newer revision", Long: "Show the description after this one", Off: newer},
		{Action: "plant.copy", Keys: []string{"b"}, Short: "copy the book", Long: "Make a copy of the book now, in every folder where copies are kept", Off: s.uncopied()},
		{Action: "plant.scroll", Keys: []string{"down", "up", "pgdown", "pgup", "home", "end"}, Short: "scroll", Long: "See what is further down", Hidden: len(s.lines()) <= s.h},
	}
}

// none says why there is no description, "" where there is one.
func (s Screen) none() string {
	if len(s.revisions()) == 0 {
		return "there is no plant description yet"
	}
	return ""
}

func (s Screen) revisions() []record.Revision {
	if s.history == nil {
		return nil
	}
	return s.history.Revisions
}

// Update takes the book's news, and keys.
func (s Screen) Update(msg tea.Msg) (ui.Screen, tea.Cmd) {
	switch msg := msg.(type) {
	case desk.Loaded:
		return s.take(msg), nil
	case desk.Copied:
		s.copied = msg.Status
		return s, nil
	}
	action, cmd := ui.Act(msg, s.Bindings(), false)
	switch action {
	case "plant.check":
		s.checking, s.scroll = !s.checking, ui.Scroll{}
	case "plant.older":
		return s.revision(s.at - 1), nil
	case "plant.newer":
		return s.revision(s.at + 1), nil
	case "plant.copy":
		return s, s.desk.CopyNow(context.Background())
	case "plant.scroll":
		if key, ok := msg.(tea.KeyMsg); ok {
			s.scroll, _ = s.scroll.Key(key, len(s.lines()), s.h)
		}
	}
	return s, cmd
}

// take takes what the book says. The revision on show stays, unless it is the one in force and another has come.
func (s Screen) take(l desk.Loaded) Screen {
	if s.err = l.Err; l.Err != nil {
		return s
	}
	var id string
	if r := s.revisions(); s.at < len(r) {
		id = r[s.at].ID
	}
	s.loaded, s.history = true, l.History
	if s.want != "" {
		id, s.want, s.following = s.want, "", false
	}
	at := inForce(l.History)
	for i, r := range l.History.Revisions {
		if r.ID == id && !s.following {
			at = i
		}
	}
	s.at = at
	s.following = at == inForce(l.History)
	return s.units()
}

// units are those of the description on show.
func (s Screen) units() Screen {
	if r := s.revisions(); s.at < len(r) && r[s.at].Plant != nil {
		s.Units, s.Location = quantity.System(r[s.at].Plant.Site.Units), r[s.at].Plant.Location
	}
	return s
}

func (s Screen) revision(at int) Screen {
	s.at, s.scroll = max(0, min(at, len(s.revisions())-1)), ui.Scroll{}
	s.following = s.at == inForce(s.history)
	return s.units()
}

// inForce is the place of the revision that holds now.
func inForce(h *record.History) int {
	at := 0
	for i, r := range h.Revisions {
		if !r.From.After(h.At) {
			at = i
		}
	}
	return at
}

// Arrive shows a revision by its id.
func (s Screen) Arrive(arg string) (ui.Screen, tea.Cmd) {
	if arg == "" {
		return s, nil
	}
	for i, r := range s.revisions() {
		if r.ID == arg {
			s.checking = false
			return s.revision(i), nil
		}
	}
	if !s.loaded {
		s.want = arg
		return s, nil
	}
	return s, ui.Say(ui.Near, "The book has no plant description "+text.Show(arg))
}

// View draws what fits and scrolls over the rest.
func (s Screen) View() string { return s.scroll.View(s.Theme, s.lines(), s.w, s.h) }

func (s Screen) lines() []string {
	switch {
	case s.err != nil:
		return text.Wrap("The book could not be read: "+text.Show(s.err.Error()), max(1, s.w))
	case !s.loaded:
		return []string{" Reading the book"}
	case len(s.revisions()) == 0:
		return text.Wrap("The book holds no plant description yet. Write one with: headpond plant new FILE, and put it in with: headpond plant load FILE", max(1, s.w))
	}
	r := s.revisions()[s.at]
	check, ok := s.checks[r.ID]
	if !ok {
		check = CheckOf(r.Plant)
		s.checks[r.ID] = check
	}
	p := page{report: reportOf(s.history, s.at, check), common: s.Common, leads: !s.checking, copied: s.copied}
	if s.checking {
		return append(p.head(s.w), p.check(s.w)...)
	}
	return append(append(p.head(s.w), p.copies(s.w)...), p.description(s.w)...)
}

// Text is the description in force and the check of it, for a command's output, w cells wide.
func Text(h *record.History, c ui.Common, w int) string {
	if len(h.Revisions) == 0 {
		return "The book holds no plant description yet.\n"
	}
	at := inForce(h)
	p := page{report: reportOf(h, at, CheckOf(h.Revisions[at].Plant)), common: c}
	return strings.Join(append(append(p.head(w), p.description(w)...), p.check(w)...), "\n") + "\n"
}

// CheckText is the check of a description for a command's output, w cells wide: what the Plant screen shows of it, and its sum below,
// since what stands first has scrolled away by then.
func CheckText(check Check, c ui.Common, w int) string {
	p := page{report: report{checked: check}, common: c}
	return strings.Join(append(p.check(w), p.summary(w)...), "\n") + "\n"
}
