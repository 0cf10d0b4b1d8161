// Package ballast shows what the ballast can swallow: its capacity now, element by element, what it takes and what is left,
// how much load may still be switched on, and where frequency and voltage settle if the consumers drop off.
package ballast

import (
	"errors"
	"strings"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/electrical"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// Name is the name by which other screens ask for this one.
const Name = "ballast"

// Report is what the page is drawn from.
type Report struct {
	Facts *electrical.Facts // nil where Err says why
	Round time.Time         // of the readings that the facts rest on; zero: not known
	At    time.Time         // now, for the readings' age
	Plant *plant.Plant      // for the trip settings; may be nil
	Err   error
}

// ReportOf works the report out.
func ReportOf(a *assess.Assessor) Report {
	h := a.History()
	r := Report{Plant: h.Plant, At: h.At}
	if h.Plant == nil {
		r.Err = errNoPlant
		return r
	}
	r.Facts, r.Err = a.Ballast()
	if t, ok := a.PowerTime(); ok {
		r.Round = t
	}
	return r
}

// errNoPlant tells what is missing in words that fit the screen and the command.
var errNoPlant = errors.New("the book has no plant description; load one with: headpond plant load FILE")

// Screen is the Ballast screen.
type Screen struct {
	ui.Common
	report   Report
	have     bool
	err      error // the book could not be read
	round    string
	readOnly bool
	scroll   ui.Scroll
	plan     plan
	w, h     int
}

// New makes the screen; it fills when a desk.Loaded comes.
func New(c ui.Common, d desk.Desk) ui.Screen { return Screen{Common: c, readOnly: d.ReadOnly} }

// Init does nothing: the App loads the book.
func (s Screen) Init() tea.Cmd { return nil }

// Title names the screen.
func (s Screen) Title() string { return "Ballast" }

// Capturing is false: nothing is typed here.
func (s Screen) Capturing() bool { return false }

// SetSize sets the screen's room.
func (s Screen) SetSize(w, h int) ui.Screen { s.w, s.h = w, h; return s }

// Bindings lists the keys.
func (s Screen) Bindings() []ui.Binding {
	if s.plan.on {
		return s.planBindings()
	}
	noRound, off, noLoads := "", "", ""
	if s.loads() == 0 {
		noLoads = "no load can be judged yet"
	}
	if s.round == "" {
		noRound = "no round with a reading of power has been written yet"
	}
	if s.readOnly {
		off = "this book is open to be looked at only"
	}
	return []ui.Binding{
		{Action: "ballast.round", Keys: []string{"r"}, Short: "new round", Long: "Walk a round, to bring these numbers up to date", Off: off},
		{Action: "ballast.log", Keys: []string{"l", "enter"}, Short: "its round", Long: "Show the round that these numbers rest on", Off: noRound},
		{Action: "ballast.plan", Keys: []string{"t"}, Short: "tick loads", Long: "Tick several loads and see whether they fit together, and in which order to switch them on", Off: noLoads},
		{Action: "ballast.scroll", Keys: []string{"down", "up", "pgdown", "pgup", "home", "end"}, Short: "scroll", Long: "See what is further down", Hidden: len(s.lines()) <= s.body()},
	}
}

// Arrive begins at the top, where what matters stands, wherever the page was left.
func (s Screen) Arrive(string) (ui.Screen, tea.Cmd) {
	s.scroll = ui.Scroll{}
	return s, nil
}

// Update takes new facts, and scrolls.
func (s Screen) Update(msg tea.Msg) (ui.Screen, tea.Cmd) {
	if l, ok := msg.(desk.Loaded); ok {
		return s.loaded(l), nil
	}
	action, cmd := ui.Act(msg, s.Bindings(), false)
	if s.plan.on && action != "" {
		return s.planKey(msg, action), cmd
	}
	switch action {
	case "ballast.plan":
		s.plan.on, s.scroll = true, ui.Scroll{}
	case "ballast.round":
		return s, desk.Go("round", "")
	case "ballast.log":
		return s, desk.Go("log", s.round)
	case "ballast.scroll":
		if key, ok := msg.(tea.KeyMsg); ok {
			s.scroll, _ = s.scroll.Key(key, len(s.lines()), s.body())
		}
	}
	return s, cmd
}

// loaded takes the facts over where Now has them already, so that they are not worked out twice before the first frame.
func (s Screen) loaded(l desk.Loaded) Screen {
	if s.err = l.Err; l.Err != nil {
		return s
	}
	s.have, s.round = true, ""
	if p := l.History.Plant; p != nil {
		s.Units, s.Location = quantity.System(p.Site.Units), p.Location
	}
	if l.Facts != nil && l.Facts.Ballast != nil && l.Facts.Power != nil {
		s.report = Report{Facts: l.Facts.Ballast, Round: l.Facts.Power.Time, At: l.Facts.At, Plant: l.History.Plant}
	} else {
		s.report = ReportOf(assess.Of(l.History))
	}
	s.round = roundAt(l.History, s.report.Round)
	if n := s.loads(); n == 0 || s.plan.at >= n {
		s.plan = plan{} // another plant's loads
	}
	return s
}

// roundAt returns the id of the round of a time, "" for none.
func roundAt(h *record.History, t time.Time) string {
	for i := len(h.Rounds) - 1; i >= 0; i-- {
		if h.Rounds[i].Time.Equal(t) {
			return h.Rounds[i].ID
		}
	}
	return ""
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
	if s.h < 12 || s.report.Facts == nil {
		return nil
	}
	return wrapped(s.Theme, footCaution, s.w)
}

// footCaution is short enough for one line of 80 cells.
const footCaution = "Heaters and housing burn; line voltage kills. Relays protect, not these numbers."

func wrapped(t ui.Theme, sentence string, w int) []string {
	var out []string
	for _, l := range text.Wrap(sentence, max(10, w)) {
		out = append(out, t.Cut(t.Near.Render(l), w))
	}
	return out
}

func (s Screen) lines() []string {
	switch {
	case s.err != nil:
		return text.Wrap("The book could not be read: "+text.Show(s.err.Error()), max(10, s.w))
	case !s.have:
		return []string{" Reading the book"}
	}
	r := s.report
	r.At = s.Now()
	if s.plan.on {
		return page{report: r, common: s.Common}.planned(s.plan, s.w)
	}
	return page{report: r, common: s.Common}.lines(s.w)
}

// Text is the same page for a command's output, w cells wide.
func Text(r Report, c ui.Common, w int) string {
	return strings.Join(page{report: r, common: c}.lines(w), "\n") + "\n"
}
