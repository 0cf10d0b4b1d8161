// Package waterview is the Water screen: the pond and its inflow, how long the water lasts for each way of running, what can
// be run until a wanted date, and what another bypass or rain would change.
package waterview

import (
	"context"
	"errors"
	"strings"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/water"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/form"
	"example.org/headpond/tui/ui/text"
)

// Name is the name by which other screens ask for this one.
const Name = "water"

// The fields that can be typed into, by the form's key.
const (
	keyDate   = "until"
	keyBypass = "bypass_lps"
	keyRain   = "rain_mm"
)

// Screen is the Water screen.
type Screen struct {
	ui.Common
	history *record.History
	running []string // nil while it is not known
	version int
	err     error // the book could not be read

	facts    *water.Facts // as things are
	factsErr error

	want    question // what is asked
	got     question // what answer is about
	answer  *water.Facts
	failed  error // why the newest question has no answer
	typed   map[string]string
	asker   asker
	field   form.Field
	typing  bool
	restore question // what was asked before the field was opened

	picked string // the way that was picked, by its name; "" follows what runs
	scroll ui.Scroll
	w, h   int
}

// errStopped tells that the person stopped the working out of an answer.
var errStopped = errors.New("stopped")

// New makes the screen; it fills when a desk.Loaded and a desk.Water come.
func New(c ui.Common, _ desk.Desk) ui.Screen { return Screen{Common: c, typed: map[string]string{}} }

// Init does nothing: the App loads the book and asks for the first forecast.
func (s Screen) Init() tea.Cmd { return nil }

// Title names the screen.
func (s Screen) Title() string { return "Water" }

// Capturing reports whether letters go into a field.
func (s Screen) Capturing() bool { return s.typing }

// Takes reports whether a key is text for the field.
func (s Screen) Takes(key tea.KeyMsg) bool { return s.typing && s.field.Takes(key) }

// SetSize sets the screen's room.
func (s Screen) SetSize(w, h int) ui.Screen { s.w, s.h = w, h; return s }

// Bindings lists the keys that work now.
func (s Screen) Bindings() []ui.Binding {
	if s.typing {
		return []ui.Binding{
			{Action: "water.take", Keys: []string{"enter"}, Short: "done", Long: "Keep what is typed; an empty field asks nothing"},
			{Action: "water.undo", Keys: []string{"esc"}, Short: "never mind", Long: "Leave the field as it was before"},
		}
	}
	off, rain, nothing := "", s.rainOff(), "nothing is asked"
	if s.history == nil || s.history.Plant == nil || s.facts == nil {
		off = "there is no forecast yet"
	}
	if off != "" {
		rain = off
	}
	if s.want.any() {
		nothing = ""
	}
	list := []ui.Binding{
		{Action: "water.pick", Keys: []string{"down", "up"}, Short: "way", Long: "Pick a way of running; the chart and the words are about it", Off: off},
		{Action: "water.date", Keys: []string{"d"}, Short: "until a date", Long: "Ask what can be run until a date: 28 Aug, or a number of days", Off: off},
		{Action: "water.bypass", Keys: []string{"b"}, Short: "bypass", Long: "Ask what another bypass flow would change", Off: off},
		{Action: "water.rain", Keys: []string{"r"}, Short: "rain", Long: "Ask what so much rain would change", Off: rain},
		{Action: "water.forget", Keys: []string{"x"}, Short: "as it is", Long: "Forget the date, the bypass and the rain that were asked about", Off: nothing},
		{Action: "water.scroll", Keys: []string{"pgdown", "pgup", "home", "end"}, Short: "scroll", Long: "See what is further down", Hidden: len(s.page().lines()) <= s.h},
	}
	if s.waiting() {
		list = append(list, ui.Binding{Action: "water.stop", Keys: []string{"esc"}, Short: "stop", Long: "Stop working out the answer; the last one stays"})
	}
	return list
}

// rainOff says why rain cannot be asked about.
func (s Screen) rainOff() string {
	if s.history == nil || s.history.Plant == nil || s.history.Plant.Pond.CatchmentKM2 == nil {
		return "the plant file gives no catchment area ([pond] catchment_km2)"
	}
	return ""
}

// waiting reports whether the newest question has no answer yet.
func (s Screen) waiting() bool {
	return s.want.any() && s.failed == nil && (s.answer == nil || s.got != s.want)
}

// Update takes the book's news, forecasts, and keys.
func (s Screen) Update(msg tea.Msg) (ui.Screen, tea.Cmd) {
	switch msg := msg.(type) {
	case desk.Loaded:
		return s.loaded(msg)
	case desk.Water:
		return s.forecast(msg), nil
	case answer:
		return s.answered(msg)
	case tea.KeyMsg:
		return s.key(msg)
	case ui.Run:
		return s.act(msg)
	}
	return s, nil
}

func (s Screen) loaded(l desk.Loaded) (ui.Screen, tea.Cmd) {
	if s.err = l.Err; l.Err != nil {
		return s, nil
	}
	s.history, s.version, s.running = l.History, l.Version, nil
	if l.Facts != nil && (l.Facts.Stopped || l.Facts.Running != nil) {
		s.running = append([]string{}, l.Facts.Running...)
	}
	if p := l.History.Plant; p != nil {
		if !s.typing {
			s.Units = quantity.System(p.Site.Units)
		}
		s.Location = p.Location
	}
	s.asker = s.asker.load(l.Version, l.History)
	s.got, s.failed = question{}, nil // the answer that stands there is about an older log
	return s.ask()
}

// forecast takes the forecast as things are. The old one stands until it comes.
func (s Screen) forecast(m desk.Water) Screen {
	if m.Version < s.version {
		return s
	}
	s.facts, s.factsErr = m.Facts, m.Err
	return s
}

// answered takes an answer, and asks again where the question has changed since.
func (s Screen) answered(m answer) (ui.Screen, tea.Cmd) {
	var fits bool
	s.asker, fits = s.asker.answered(m)
	switch {
	case fits && m.err == nil && m.asked == s.want:
		s.answer, s.got, s.failed = m.facts, m.asked, nil
		return s, nil
	case fits && m.err != nil && m.asked == s.want && !errors.Is(m.err, context.Canceled):
		s.failed = m.err
		return s, nil
	case fits && m.err == nil:
		s.answer, s.got = m.facts, m.asked // not the newest, but nearer than what stands there
	}
	if !s.waiting() && s.want.any() {
		return s, nil
	}
	return s.ask()
}

// ask puts the newest question, if there is one that has no answer.
func (s Screen) ask() (Screen, tea.Cmd) {
	if !s.want.any() {
		s.asker.stop()
		s.answer, s.got, s.failed = nil, question{}, nil
		return s, nil
	}
	var cmd tea.Cmd
	s.asker, cmd = s.asker.ask(s.want)
	return s, cmd
}

func (s Screen) key(key tea.KeyMsg) (ui.Screen, tea.Cmd) {
	if !s.typing {
		return s.act(key)
	}
	action, cmd := ui.Act(key, s.Bindings(), s.Takes(key))
	switch {
	case action == "water.take":
		return s.take()
	case action == "water.undo":
		s.typing = false
		return s.set(s.restore)
	case cmd != nil:
		return s, cmd
	}
	var changed bool
	if s.field, changed = s.field.Update(key); !changed {
		return s, nil
	}
	return s.changed()
}

// take leaves the field; what cannot be read is not taken.
func (s Screen) take() (ui.Screen, tea.Cmd) {
	if v := s.field.Verdict(); v.Err != "" && s.field.Value() != "" {
		return s, ui.Say(ui.Near, "Not taken: "+v.Err)
	}
	s.typing = false
	s.typed = with(s.typed, s.field.Key, s.field.Value())
	return s, nil
}

// with is a map with one entry changed, the old map as it was.
func with(m map[string]string, key, value string) map[string]string {
	out := map[string]string{key: value}
	for k, v := range m {
		if k != key {
			out[k] = v
		}
	}
	return out
}

// changed asks anew after a keystroke. While what is typed cannot be read the question stays as it was.
func (s Screen) changed() (ui.Screen, tea.Cmd) {
	q, err := s.read(s.field.Key, s.field.Value())
	if err != nil {
		return s, nil
	}
	return s.set(q)
}

// read returns the question with one part replaced by what is typed.
func (s Screen) read(key, typed string) (question, error) {
	q := s.want
	var err error
	switch key {
	case keyDate:
		q.until = time.Time{}
		if typed != "" {
			q.until, err = parseDate(typed, s.Now(), s.Location)
		}
	case keyBypass:
		q.bypassLps, q.bypass = 0, false
		if typed != "" {
			q.bypassLps, err = parseFlow(typed, s.Units)
			q.bypass = true
		}
	case keyRain:
		q.rainMM = 0
		if typed != "" {
			q.rainMM, err = parseRain(typed, s.Units)
		}
	}
	return q, err
}

func (s Screen) set(q question) (ui.Screen, tea.Cmd) {
	if q == s.want {
		return s, nil
	}
	s.want, s.failed = q, nil
	return s.ask()
}

// act does what a key or a chosen action asks for.
func (s Screen) act(msg tea.Msg) (ui.Screen, tea.Cmd) {
	action, cmd := ui.Act(msg, s.Bindings(), false)
	key, isKey := msg.(tea.KeyMsg)
	switch action {
	case "water.pick":
		by := 1
		if isKey && key.Type == tea.KeyUp {
			by = -1
		}
		return s.pick(by), nil
	case "water.date":
		return s.open(keyDate), nil
	case "water.bypass":
		return s.open(keyBypass), nil
	case "water.rain":
		return s.open(keyRain), nil
	case "water.forget":
		s.typed = map[string]string{}
		return s.set(question{})
	case "water.stop":
		s.asker.stop()
		s.failed = errStopped
	case "water.scroll":
		if isKey {
			s.scroll, _ = s.scroll.Key(key, len(s.page().lines()), s.h)
		}
	}
	return s, cmd
}

// pick moves to another way of running and keeps it in sight.
func (s Screen) pick(by int) Screen {
	p := s.page()
	ways := p.facts().Ways
	if len(ways) == 0 {
		return s
	}
	i := max(0, min(p.picked()+by, len(ways)-1))
	s.picked = wayName(ways[i].Run, ways[i].Plan)
	p = s.page()
	lines, row := p.layout()
	s.scroll = s.scroll.Reveal(row+i, row+i, len(lines), s.h)
	return s
}

// open begins to type a part of the question.
func (s Screen) open(key string) Screen {
	s.restore = s.want
	s.field = form.NewField(s.spec(key)).SetValue(s.typed[key])
	s.typing, s.scroll = true, ui.Scroll{}
	return s
}

// spec describes a field.
func (s Screen) spec(key string) form.Spec {
	flow, _ := quantity.Lookup(quantity.BypassLps)
	rain, _ := quantity.Lookup(quantity.RainMM)
	judge := func(read func(string) (string, error)) func(string) form.Verdict {
		return func(typed string) form.Verdict {
			remark, err := read(typed)
			if err != nil {
				return form.Verdict{Err: err.Error()}
			}
			return form.Verdict{Remark: remark}
		}
	}
	now, loc, units := s.Now(), s.Location, s.Units
	switch key {
	case keyBypass:
		return form.Spec{Key: key, Label: "What if the bypass", Kind: form.Number, Unit: string(flow.ShowUnit(units)), Hint: "a flow; empty: as it is", Limit: 20,
			Judge: judge(func(typed string) (string, error) { _, err := parseFlow(typed, units); return "", err })}
	case keyRain:
		return form.Spec{Key: key, Label: "What if it rains", Kind: form.Number, Unit: string(rain.ShowUnit(units)), Hint: "within a day from now; empty: no more than usual", Limit: 20,
			Judge: judge(func(typed string) (string, error) { _, err := parseRain(typed, units); return "", err })}
	}
	return form.Spec{Key: keyDate, Label: "Must last until", Kind: form.Number, Hint: "28 Aug, 2026-08-28 or 14 (days)", Limit: 30,
		Judge: judge(func(typed string) (string, error) {
			t, err := parseDate(typed, now, loc)
			return dayWords(t.In(loc), now.In(loc)), err
		})}
}

// page is what is drawn now.
func (s Screen) page() page {
	r := Report{Facts: s.facts, Running: s.running, Err: s.factsErr}
	p := page{report: r, common: s.Common, w: s.w, h: s.h, want: s.want, pickedName: s.picked, waiting: s.waiting(), failed: s.failed}
	if s.answer != nil {
		p.answer, p.got = s.answer, s.got
	}
	if s.typing {
		p.field = &s.field
	}
	return p
}

// View draws what fits and scrolls over the rest.
func (s Screen) View() string {
	if s.err != nil {
		return ui.Clamp(s.Theme, strings.Join(text.Wrap("The book could not be read: "+text.Show(s.err.Error()), max(10, s.w)), "\n"), s.w, s.h)
	}
	return s.scroll.View(s.Theme, s.page().lines(), s.w, s.h)
}

// Text is the same page for a command's output, w cells wide.
func Text(r Report, c ui.Common, w int) string {
	p := page{report: r, common: c, w: w, text: true}
	return strings.Join(p.lines(), "\n") + "\n"
}
