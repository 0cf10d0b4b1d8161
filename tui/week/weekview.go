// Package weekview is the Week screen: the owner's review of a week, a month or a year, with the period before beside it, what
// must be decided first, and charts along which a cursor walks from round to round.
package weekview

import (
	"context"
	"errors"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/water"
	"example.org/headpond/model/week"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/chart"
	"example.org/headpond/tui/ui/form"
	"example.org/headpond/tui/ui/text"
)

// Name is the name by which other screens ask for this one.
const Name = "week"

// Screen is the Week screen.
type Screen struct {
	ui.Common
	desk    desk.Desk
	version int
	history *record.History
	now     *assess.Now
	water   *water.Facts // the forecast as things are; nil until it comes
	dry     bool         // it cannot be made
	err     error        // the book could not be read

	span   week.Span
	end    time.Time // of the period; zero is now
	shown  bool      // it has been looked at, so that its reviews are worth working out
	report Report
	of     desk.ReviewOf      // what the review is about
	charts [kinds]figure      // of the review, made once
	job    *job               // what is being worked out
	tick   func(*job) tea.Cmd // when to look again

	kind    kind
	walking bool // the cursor has the keys; in a narrow window the chart has the room
	cursor  chart.Cursor
	scroll  ui.Scroll

	typing bool // where to write the page is being typed
	field  form.Field
	w, h   int
}

// New makes the screen; it fills when a desk.Loaded comes.
func New(c ui.Common, d desk.Desk) ui.Screen {
	return Screen{Common: c, desk: d, span: week.Week, tick: tick}
}

// Init does nothing: the App loads the book.
func (s Screen) Init() tea.Cmd { return nil }

// Title names the screen.
func (s Screen) Title() string { return "Week" }

// Capturing reports whether letters go into the field.
func (s Screen) Capturing() bool { return s.typing }

// Takes reports whether a key is text for the field.
func (s Screen) Takes(key tea.KeyMsg) bool { return s.typing && s.field.Takes(key) }

// SetSize sets the screen's room.
func (s Screen) SetSize(w, h int) ui.Screen { s.w, s.h = w, h; return s }

// Arrive asks for the review when the screen is first looked at.
func (s Screen) Arrive(string) (ui.Screen, tea.Cmd) {
	if s.shown {
		return s, nil
	}
	s.shown = true
	return s.ask(s.water != nil)
}

// Update takes the book's news, the reviews, and keys.
func (s Screen) Update(msg tea.Msg) (ui.Screen, tea.Cmd) {
	switch msg := msg.(type) {
	case desk.Loaded:
		return s.loaded(msg)
	case desk.Water:
		return s.foreseen(msg)
	case desk.Review:
		return s.reviewed(msg)
	case ticked:
		return s.ticked(msg)
	case tea.KeyMsg:
		if s.Takes(msg) || s.typing && !ui.Found(msg, s.Bindings(), false) {
			s.field, _ = s.field.Update(msg)
			return s, nil
		}
	}
	action, cmd := ui.Act(msg, s.Bindings(), false)
	if action == "" {
		return s, cmd
	}
	key, _ := msg.(tea.KeyMsg)
	return s.act(action, key)
}

// loaded asks for the review anew; the old one stays on show until it comes.
func (s Screen) loaded(l desk.Loaded) (ui.Screen, tea.Cmd) {
	if s.err = l.Err; l.Err != nil {
		return s, nil
	}
	s.version, s.history, s.now, s.water, s.dry = l.Version, l.History, l.Facts, nil, false
	if p := l.History.Plant; p != nil {
		s.Units, s.Location = quantity.System(p.Site.Units), p.Location
	}
	return s.ask(false)
}

// foreseen takes the forecast as things are, which comes later, into a review that ends now.
func (s Screen) foreseen(w desk.Water) (ui.Screen, tea.Cmd) {
	if w.Version != s.version {
		return s, nil
	}
	if s.dry = w.Err != nil; s.dry {
		s.report.Pending = s.report.Pending && !s.end.IsZero()
		return s, nil
	}
	s.water = w.Facts
	if !s.end.IsZero() {
		return s, nil
	}
	return s.ask(true)
}

// ask asks for the review of the period. The forecasts take longer, so it is asked for without them first.
func (s Screen) ask(full bool) (ui.Screen, tea.Cmd) {
	if s.history == nil || !s.shown {
		return s, nil
	}
	if s.job != nil {
		s.job.end() // of what was asked before, nobody waits for the answer any more
	}
	var ctx context.Context
	ctx, s.job = newJob()
	return s, tea.Batch(s.job.of(s.desk.ReviewCmd(ctx, desk.ReviewOf{Version: s.version, Span: s.span, End: s.end, Full: full, Loaded: s.history, Now: s.now, Water: s.water})), s.tick(s.job))
}

// reviewed takes a review, unless something else was asked for since, and asks for the forecasts that it lacks.
func (s Screen) reviewed(r desk.Review) (ui.Screen, tea.Cmd) {
	if r.Of.Version != s.version || r.Of.Span != s.span || !r.Of.End.Equal(s.end) || s.fuller(r.Of) || errors.Is(r.Err, context.Canceled) {
		return s, nil
	}
	s.of, s.report = r.Of, Report{Review: r.Review, Plant: r.Plant, Err: r.Err}
	s.report.Pending = !r.Of.Full && !(s.dry && s.end.IsZero())
	if r.Review == nil {
		s.walking = false
		return s, nil
	}
	s = s.drawn()
	s.cursor = s.cursor.Nearest(s.figure().times())
	if !r.Of.Full && (!s.end.IsZero() || s.water != nil) {
		return s.ask(true)
	}
	return s, nil
}

// fuller reports whether what stands on the screen is the same review with the forecasts already.
func (s Screen) fuller(q desk.ReviewOf) bool {
	return s.of.Full && !q.Full && s.of.Version == q.Version && s.of.Span == q.Span && s.of.End.Equal(q.End)
}

// page is what is drawn from.
func (s Screen) page() page { return page{report: s.report, common: s.Common} }

// drawn makes the charts of the review.
func (s Screen) drawn() Screen {
	for k := range kinds {
		s.charts[k] = s.page().figure(k)
	}
	return s
}

// figure is the chart that is picked.
func (s Screen) figure() figure {
	f := s.charts[s.kind]
	f.chart.Cursor = s.cursor.At
	return f
}

// stop is what the cursor stands on.
func (s Screen) stop() (stop, bool) {
	if s.report.Review == nil || s.cursor.At.IsZero() {
		return stop{}, false
	}
	return s.figure().at(s.cursor.At)
}

func (s Screen) lines(w int) []string {
	if s.err != nil {
		return text.Wrap("The book could not be read: "+text.Show(s.err.Error()), max(10, w))
	}
	far := s.job.far()
	if s.report.Review == nil && s.report.Err == nil && far != "" {
		return s.page().sentence("Working out the review: "+far+". Esc stops.", ui.Unjudged, w)
	}
	lines := s.page().lines(w)
	switch another := s.of.Span != s.span || !s.of.End.Equal(s.end); {
	case s.report.Review == nil:
	case another && far != "":
		lines[0] = s.Theme.Cut(" Working out the "+string(s.span)+": "+far+"; here stands the last. Esc stops.", w)
	case another:
		lines[0] = s.Theme.Cut(" Working out the "+string(s.span)+"; what stands here is the last.", w)
	}
	return lines
}
