// Package round is the form of the daily walk: fields in walking order, each with its last value, what it should be and its
// band, judged as it is typed, and on disk at every keystroke.
package round

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"strings"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/localtime"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/form"
	"example.org/headpond/tui/ui/text"
)

// Name is the name by which other screens ask for this one, and the form's name among the drafts.
const Name = "round"

// Screen is the Round screen.
type Screen struct {
	ui.Common
	desk     desk.Desk
	keeper   desk.Keeper
	history  *record.History
	assessor *assess.Assessor
	expected assess.Expected
	form     form.Form
	carried  map[string]string // texts of fields that are not shown
	begun    time.Time         // when the first character was typed; zero for an empty form
	all      bool              // every reading is shown
	restored bool              // the form was filled from a draft found on disk
	unread   bool              // a draft was found on disk that cannot be read
	asking   []question        // what must be answered before saving
	dropping bool              // asked whether to throw the draft away
	saving   bool
	err      error
	w, h     int
}

// New makes the screen; it fills when a desk.Loaded comes.
func New(c ui.Common, d desk.Desk) ui.Screen {
	return Screen{Common: c, desk: d, keeper: desk.NewKeeper(d.Book, Name, nil)}
}

// Init does nothing: the App loads the book.
func (s Screen) Init() tea.Cmd { return nil }

// Title names the screen.
func (s Screen) Title() string { return "Round" }

// Capturing reports whether letters go into a field.
func (s Screen) Capturing() bool { return s.ready() && !s.question() }

// Takes reports whether a key is text for the focused field. "=" is text in a note alone, and in a text that is begun.
func (s Screen) Takes(key tea.KeyMsg) bool {
	f, _ := s.form.Focused()
	equals := key.String() == "=" && (f.Kind != form.Text || f.Value() == "" && f.Last != "")
	return s.Capturing() && s.form.Takes(key) && !equals
}

func (s Screen) ready() bool    { return s.history != nil && s.history.Plant != nil && !s.desk.ReadOnly }
func (s Screen) question() bool { return len(s.asking) > 0 || s.dropping }

// SetSize sets the screen's room.
func (s Screen) SetSize(w, h int) ui.Screen {
	s.w, s.h = w, h
	s.form = s.form.SetSize(w, max(0, h-1))
	return s
}

// Bindings lists the keys that work now.
func (s Screen) Bindings() []ui.Binding {
	if s.question() {
		answers := []ui.Binding{
			{Action: "round.yes", Keys: []string{"y"}, Short: "yes", Long: "Answer yes"},
			{Action: "round.no", Keys: []string{"n", "esc", "enter"}, Short: "no, go back", Long: "Answer no and go back to the form"},
		}
		if !s.dropping && !yesterday(s.asking).IsZero() {
			answers = append(answers, ui.Binding{Action: "round.today", Keys: []string{"t"}, Short: "as typed", Long: "Save it with today's time, as it is typed"})
		}
		return answers
	}
	off, empty := "", ""
	if s.desk.ReadOnly {
		off = "this book is open to be looked at only"
	}
	if len(s.values()) == 0 {
		empty = "nothing is written yet"
	}
	if off != "" {
		empty = off
	}
	return []ui.Binding{
		{Action: "round.save", Keys: []string{"f2", "ctrl+o"}, Short: "save", Long: "Save the round; Enter on the last line does it too", Off: empty},
		{Action: "round.same", Keys: []string{"="}, Short: "as last", Long: "Take the last value for this field; == takes it for every field that is still blank, meters and notes excepted", Off: off},
		{Action: "round.leave", Keys: []string{"esc"}, Short: "leave", Long: "Go back to Now; what is typed is kept as a draft"},
		{Action: "round.discard", Keys: []string{"f8"}, Short: "throw away", Long: "Throw away what is typed", Off: empty},
		{Action: "round.move", Keys: []string{"enter", "down", "up"}, Short: "next, back", Long: "Enter and the arrows go from field to field, PgDn and PgUp from place to place, Tab goes round", Hidden: true},
	}
}

// Update takes the book's news, the answers of the disk, and keys.
func (s Screen) Update(msg tea.Msg) (ui.Screen, tea.Cmd) {
	switch msg := msg.(type) {
	case desk.Loaded:
		next := s.loaded(msg)
		if msg.Err != nil {
			return next, nil
		}
		_, there := msg.Drafts[Name]
		var cmd tea.Cmd
		next.keeper, cmd = next.keeper.Seen(there)
		return next, cmd
	case desk.DraftKept:
		return s.kept(msg)
	case roundSaved:
		return s.saved(msg)
	case desk.Failed:
		s.saving = false
		if msg.Draft == nil {
			return s, nil
		}
		var cmd tea.Cmd
		s.keeper, cmd = s.keeper.Update(*msg.Draft)
		return s, cmd
	case tea.KeyMsg, ui.Run:
		if !s.ready() {
			return s, nil
		}
		return s.key(msg)
	}
	return s, nil
}

func (s Screen) loaded(l desk.Loaded) Screen {
	if s.err = l.Err; l.Err != nil {
		return s
	}
	first := s.history == nil
	s.history, s.assessor = l.History, assess.Of(l.History)
	p := l.History.Plant
	if p == nil {
		return s
	}
	s.Location = p.Location
	if first || len(s.values()) == 0 {
		s.Units = quantity.System(p.Site.Units)
	}
	if d, ok := l.Drafts[Name]; ok && first {
		s.keeper = desk.NewKeeper(s.desk.Book, Name, d.Data)
		return s.restore(d.Data)
	}
	return s.rebuild()
}

// rebuild makes the form anew around the texts that are typed: after a load, and when which fields are shown changes.
func (s Screen) rebuild() Screen {
	values := s.values()
	s.expect()
	var hidden []string
	s.form, hidden = s.form.SetSize(s.w, max(0, s.h-1)).Rebuilt(values, s.specs()...)
	s.carried = map[string]string{}
	for _, k := range hidden {
		s.carried[k] = values[k]
	}
	return s
}

// expect works out what the readings should be for what is typed so far.
func (s *Screen) expect() {
	r, _, _ := s.read() // what cannot be read yet is simply not known
	s.expected = s.assessor.Expected(r)
}

// refresh tells every field what is expected now.
func (s Screen) refresh() Screen {
	before := maps.Clone(s.expected)
	s.expect()
	if maps.Equal(before, s.expected) {
		return s
	}
	fresh := map[string]form.Spec{}
	for _, spec := range s.specs() {
		fresh[spec.Key] = spec
	}
	s.form = s.form.Respec(func(old form.Spec) form.Spec {
		if spec, ok := fresh[old.Key]; ok {
			return spec
		}
		return old
	})
	return s
}

func (s Screen) key(msg tea.Msg) (ui.Screen, tea.Cmd) {
	key, isKey := msg.(tea.KeyMsg)
	typing := isKey && s.Takes(key)
	action, cmd := ui.Act(msg, s.Bindings(), typing)
	switch {
	case s.question():
		return s.answer(action)
	case action == "round.save":
		return s.save(nil)
	case action == "round.leave":
		return s.leave()
	case action == "round.discard":
		s.dropping = true
		return s, nil
	case action == "round.same":
		return s.same()
	case cmd != nil || !isKey:
		return s, cmd
	}
	return s.typed(key)
}

// typed gives a key to the form.
func (s Screen) typed(key tea.KeyMsg) (ui.Screen, tea.Cmd) {
	var e form.Event
	s.form, e = s.form.Update(key)
	switch e.Kind {
	case form.Changed:
		return s.changed(e.Key)
	case form.Pressed:
		switch e.Key {
		case keySave:
			return s.save(nil)
		case keyAll:
			s.all = true
			s = s.rebuild()
			s.form = s.form.Focus(string(s.keys()[0]))
		}
	case form.Ignored, form.Moved, form.Refused:
	}
	return s, nil
}

// changed keeps the draft and works out anew what is expected.
func (s Screen) changed(key string) (ui.Screen, tea.Cmd) {
	if s.begun.IsZero() {
		s.begun = s.Now()
	}
	if len(s.values()) == 0 {
		s.begun = time.Time{}
	}
	if key == string(quantity.ScreenCleared) {
		s = s.rebuild()
	} else {
		s = s.refresh()
	}
	return s.keep()
}

func (s Screen) keep() (Screen, tea.Cmd) {
	var cmd tea.Cmd
	s.keeper, cmd = s.keeper.Put(s.encode())
	return s, cmd
}

// same takes the last value for the focused field and goes on to the next; on a field that holds it already it takes the
// last values for every field that is still blank.
func (s Screen) same() (ui.Screen, tea.Cmd) {
	f, ok := s.form.Focused()
	switch {
	case !ok || f.Last == "":
		return s, ui.Say(ui.Unjudged, "There is no last value to take")
	case f.Value() == "":
		s.form, _ = s.form.SetValues(map[string]string{f.Key: f.Last})
		return s.changed(f.Key)
	}
	fill, old := map[string]string{}, 0
	for _, f := range s.form.Fields() {
		switch {
		case f.Value() != "" || f.Last == "" || !repeats(f.Key):
		case s.stale(f.Key):
			old++
		default:
			fill[f.Key] = f.Last
		}
	}
	s.form, _ = s.form.SetValues(fill)
	s.form = s.form.Focus(keySave)
	next, cmd := s.changed(f.Key)
	said := fmt.Sprintf("%d more taken as last time: look them over, then Enter saves", len(fill))
	if old > 0 {
		said = fmt.Sprintf("%d more taken as last time, %d too old for that: look them over, then Enter saves", len(fill), old)
	}
	return next, tea.Batch(cmd, ui.Say(ui.Unjudged, said))
}

// takenOver is how old a reading may be that is taken over together with all others (our own): the day before's. What was read longer ago is
// taken one by one, on purpose.
const takenOver = 36 * time.Hour

// stale reports whether a reading was last read too long ago to be taken over with all others.
func (s Screen) stale(key string) bool {
	r, ok := s.history.LastWith(quantity.Key(key))
	return ok && s.Now().Sub(r.Time) > takenOver
}

// repeats reports whether a reading may be taken over with all others. A meter's total, rain, and what is said of a clearing
// are new each time.
func repeats(key string) bool {
	name := quantity.Key(key).Name()
	info, ok := quantity.Lookup(name)
	if !ok {
		return key == record.ColRunning || key == record.ColBy
	}
	switch name {
	case quantity.RainMM, quantity.ScreenCleared, quantity.PressureBefore, quantity.PressureAfter:
		return false
	}
	return !info.Total
}

func (s Screen) leave() (ui.Screen, tea.Cmd) {
	go_ := desk.Go("now", "")
	if len(s.values()) == 0 {
		return s, go_
	}
	return s, tea.Batch(go_, s.keeper.Left("Draft kept: press 2 to go on with the round"))
}

// answer takes the answer to a question. Anything but yes is no.
func (s Screen) answer(action string) (ui.Screen, tea.Cmd) {
	dropping, asked := s.dropping, s.asking
	s.asking, s.dropping = nil, false
	switch {
	case action == "round.yes" && dropping:
		return s.cleared().keepNothing()
	case action == "round.yes" && !yesterday(asked).IsZero():
		return s.saveAsOf(yesterday(asked), asked)
	case action == "round.yes" || action == "round.today":
		return s.save(asked)
	case action == "round.no":
		if len(asked) > 0 { // to what was asked about, so that it can be typed anew at once
			s.form = s.form.Focus(asked[0].field)
		}
		return s, nil
	case dropping:
		s.dropping = true
		return s, nil
	}
	r, _, err := s.read()
	if err == nil {
		s.asking = s.questions(r)
	}
	return s, nil
}

// cleared is the empty form.
func (s Screen) cleared() Screen {
	s.carried, s.begun, s.restored, s.unread, s.all = nil, time.Time{}, false, false, false
	s.form = form.Form{}
	if p := s.history.Plant; p != nil {
		s.Units = quantity.System(p.Site.Units)
	}
	return s.rebuild()
}

func (s Screen) keepNothing() (ui.Screen, tea.Cmd) {
	next, cmd := s.keep()
	return next, tea.Batch(cmd, ui.Say(ui.Unjudged, "The draft was thrown away"))
}

// roundSaved answers the saving of this form's round.
type roundSaved struct {
	round    record.Round
	cautions []string
}

// saveAsOf writes another time into the form, as an answer says, and saves. What that time alone makes questionable is asked.
func (s Screen) saveAsOf(at time.Time, asked []question) (ui.Screen, tea.Cmd) {
	s.form, _ = s.form.SetValues(map[string]string{record.ColTime: localtime.Minute(at, s.Location)})
	changed, keep := s.changed(record.ColTime)
	next, cmd := changed.(Screen).save(asked)
	return next, tea.Batch(keep, cmd)
}

// save checks the form and puts the round into the book; the draft goes in the same transaction. What was asked about already is
// not asked again.
func (s Screen) save(asked []question) (ui.Screen, tea.Cmd) {
	if s.saving {
		return s, nil
	}
	r, first, err := s.read()
	switch {
	case err != nil:
		s.form = s.form.Focus(first)
		return s, ui.Say(ui.Out, "Not saved yet: "+sentence(err))
	case r.Empty():
		return s, ui.Say(ui.Unjudged, "Nothing is read yet, so nothing was saved")
	}
	qs := s.questions(r)
	if len(beyond(qs, asked)) > 0 {
		s.asking = qs
		return s, nil
	}
	r.Confirmed = ofReadings(qs)
	book := s.desk.Book
	s.saving = true
	var cmd tea.Cmd
	s.keeper, cmd = s.keeper.Then("Saving the round", func(ctx context.Context, own [][]byte) (tea.Msg, error) {
		kept, err := book.AddRound(ctx, r, Name, own...)
		return roundSaved{kept.Entry, kept.Cautions}, err
	})
	return s, cmd // the form's first line says that it is being saved
}

func (s Screen) saved(m roundSaved) (ui.Screen, tea.Cmd) {
	layout := "15:04"
	if at := s.Local(m.round.Time); at.Format(time.DateOnly) != s.Local(s.Now()).Format(time.DateOnly) {
		layout = "Mon 2 Jan 15:04"
	}
	what := "round of " + s.Clock(m.round.Time, layout)
	var odd []string
	for _, j := range s.assessor.Judge(m.round) {
		if st := ui.StateOf(string(j.State)); st == ui.Near || st == ui.Out {
			odd = append(odd, assess.LabelOf(quantity.Key(j.Quantity))+" "+st.Word())
		}
	}
	if len(odd) > 0 {
		what += " (" + strings.Join(odd, ", ") + ")"
	}
	s.saving = false
	s.keeper = s.keeper.Dropped()
	id := m.round.ID
	return s.cleared(), tea.Batch(desk.Go("now", ""), func() tea.Msg { return desk.Saved{ID: id, What: what, Cautions: m.cautions} })
}

func (s Screen) kept(m desk.DraftKept) (ui.Screen, tea.Cmd) {
	var cmd tea.Cmd
	s.keeper, cmd = s.keeper.Update(m)
	if m.Form == Name && m.Err != nil {
		return s, tea.Batch(cmd, ui.Say(ui.Out, "The draft could not be kept: "+sentence(m.Err)))
	}
	return s, cmd
}

// Flush puts the newest state on disk at once.
func (s Screen) Flush(ctx context.Context) error { return s.keeper.Flush(ctx) }

func sentence(err error) string {
	var f *record.FieldError
	if errors.As(err, &f) {
		return assess.LabelOf(quantity.Key(f.Key)) + ": " + strings.TrimPrefix(err.Error(), f.Key+": ")
	}
	return err.Error()
}

// View draws the form, or the question that must be answered first.
func (s Screen) View() string {
	switch {
	case s.err != nil:
		return "The book could not be read: " + text.Show(s.err.Error())
	case s.desk.ReadOnly:
		return " This book is open to be looked at only: no round can be written into it."
	case !s.ready():
		return " The book holds no plant description yet."
	case s.dropping:
		return s.asked(text.Wrap("Throw away everything that is typed here?", max(10, s.w-1)), "y yes, throw it away", "n no, go back")
	case len(s.asking) > 0:
		lines := []string{s.Theme.Heading.Render(" Is this right?"), ""}
		for _, q := range s.asking {
			for _, l := range text.Wrap(text.Show(q.text), max(10, s.w-4)) {
				lines = append(lines, "   "+l)
			}
		}
		if !yesterday(s.asking).IsZero() {
			return s.asked(lines, "y yes, save it as yesterday's", "t no, save it as typed", "n no, go back")
		}
		return s.asked(lines, "y yes, save it as it is", "n no, go back and change it")
	}
	return s.head() + "\n" + s.form.View(s.Theme)
}

// head says how the draft stands, in the words that one line has room for.
func (s Screen) head() string {
	t := s.Theme
	switch {
	case s.saving:
		return " Saving"
	case s.keeper.Err() != nil:
		return t.Out.Render(t.Cut(" !! The draft is not on disk: "+text.Show(s.keeper.Err().Error()), s.w)) // the notice has the whole
	case s.restored:
		begun := s.Clock(s.begun, "Mon 2 Jan 15:04")
		return t.Strong.Render(s.fitting(" This draft of "+begun+" was kept. F2 saves it, F8 throws it away.", " This draft of "+begun+" was kept."))
	case s.unread && len(s.values()) == 0:
		return t.Near.Render(s.fitting(" ! A draft that was kept cannot be read and is left out; type the round anew.", " ! A kept draft cannot be read."))
	case len(s.values()) == 0:
		return s.fitting(" In brackets: last time. Blank is not read. Type units if you like (19 psi). = as last, == all.",
			" In brackets: last time. Blank: not read. Units may be typed. = as last, == all.",
			" In brackets: last time. Blank: not read.", " (last time). Blank: not read.")
	}
	return " Kept as a draft at every key."
}

// fitting is the first of several sentences, the longest first, that has room in a line, else the last.
func (s Screen) fitting(sentences ...string) string {
	for _, x := range sentences {
		if text.Width(x) <= s.w {
			return x
		}
	}
	return sentences[len(sentences)-1]
}

// asked puts the answers under a question: in one line, or each on its own where that is too narrow.
func (s Screen) asked(question []string, answers ...string) string {
	lines := append(question, "")
	if one := " " + strings.Join(answers, "     "); text.Width(one) <= s.w {
		return strings.Join(append(lines, one), "\n")
	}
	for _, a := range answers {
		lines = append(lines, text.Wrap(a, max(10, s.w-1))...)
	}
	return strings.Join(lines, "\n")
}
