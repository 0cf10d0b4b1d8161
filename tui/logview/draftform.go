package logview

import (
	"encoding/json"
	"errors"
	"strings"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/model/localtime"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/form"
	"example.org/headpond/tui/ui/text"
)

// The forms' names among the drafts.
const (
	formAmend = "amend"
	formEvent = "event"
)

// The forms' own fields.
const (
	keySave = "save"
	keyDrop = "drop"
)

// draftForm is a form that is kept on disk at each key: what the correction and the event have in common.
type draftForm struct {
	form     form.Form
	keeper   desk.Keeper
	carried  map[string]string // texts of fields that are not shown
	begun    time.Time         // when the first character was typed
	kept     bool              // it was found on disk, or left and come back to
	asking   []string          // questions that must be answered before saving
	askedAt  string            // the field that they are about
	early    localtime.Early   // what was asked about the time
	dropping bool              // asked whether to throw the draft away
	saving   bool
	readOnly bool
	preset   preset
}

// preset is a field that was filled in advance. As it was filled in, it is nothing to keep; what somebody typed over it is.
type preset struct{ field, text string }

func newDraftForm(d desk.Desk, name string) draftForm {
	return draftForm{keeper: desk.NewKeeper(d.Book, name, nil), readOnly: d.ReadOnly}
}

// draft is what is kept on disk.
type draft struct {
	Entry  string            `json:"entry,omitempty"` // that is corrected
	What   string            `json:"what,omitempty"`  // that entry, as it is spoken of
	Begun  time.Time         `json:"begun"`
	Focus  string            `json:"focus"`
	Units  quantity.System   `json:"units"` // what bare numbers mean
	Values map[string]string `json:"values"`
}

// aboutYesterday reports whether it is asked whether the time was yesterday's.
func (f draftForm) aboutYesterday() bool {
	return len(f.asking) > 0 && !f.dropping && !f.early.Yesterday.IsZero()
}

// question reports whether a question stands in place of the form.
func (f draftForm) question() bool { return len(f.asking) > 0 || f.dropping }

// values are the texts of all fields, those that are not shown now included.
func (f draftForm) values() map[string]string {
	out := map[string]string{}
	for k, v := range f.carried {
		out[k] = v
	}
	for k, v := range f.form.Values() {
		out[k] = v
	}
	return out
}

// has reports whether anything is typed that is worth keeping.
func (f draftForm) has() bool {
	for k, v := range f.values() {
		if k != f.preset.field || v != f.preset.text {
			return true
		}
	}
	return false
}

// value is the text of one field, shown or not.
func (f draftForm) value(key string) string {
	if x, ok := f.form.Field(key); ok {
		return x.Value()
	}
	return f.carried[key]
}

// rebuilt makes the form anew around the texts that are typed.
func (f draftForm) rebuilt(specs []form.Spec) draftForm {
	values := f.values()
	var hidden []string
	f.form, hidden = f.form.Rebuilt(values, specs...)
	f.carried = map[string]string{}
	for _, k := range hidden {
		f.carried[k] = values[k]
	}
	return f
}

// keep puts the draft on disk; d has the form's own parts. An empty form has none.
func (f draftForm) keep(d draft) (draftForm, tea.Cmd) {
	var data []byte
	if d.Values = f.values(); f.has() {
		focus, _ := f.form.Focused()
		d.Begun, d.Focus = f.begun, focus.Key
		data, _ = json.Marshal(d) // texts and a time can always be written
	}
	var cmd tea.Cmd
	f.keeper, cmd = f.keeper.Put(data)
	return f, cmd
}

// decode reads what was kept.
func decode(data []byte) (draft, bool) {
	var d draft
	err := json.Unmarshal(data, &d)
	return d, err == nil && len(d.Values) > 0
}

// bindings lists the keys of a form; what names what it saves.
func (f draftForm) bindings(what string) []ui.Binding {
	if f.question() {
		answers := []ui.Binding{
			{Action: "log.yes", Keys: []string{"y"}, Short: "yes", Long: "Answer yes"},
			{Action: "log.no", Keys: []string{"n", "esc", "enter"}, Short: "no, go back", Long: "Answer no and go back to the form"},
		}
		if f.aboutYesterday() {
			answers = append(answers, ui.Binding{Action: "log.today", Keys: []string{"t"}, Short: "as typed", Long: "Save it with today's time, as it is typed"})
		}
		return answers
	}
	empty := ""
	if !f.has() {
		empty = "nothing is typed yet"
	}
	return []ui.Binding{
		{Action: "log.save", Keys: []string{"f2", "ctrl+o"}, Short: "save", Long: "Save " + what + "; Enter on the line that says so does it too", Off: empty},
		{Action: "log.leave", Keys: []string{"esc"}, Short: "leave", Long: "Go back; what is typed is kept as a draft"},
		{Action: "log.drop", Keys: []string{"f8"}, Short: "throw away", Long: "Throw away what is typed; Enter on the line that says so does it too", Off: empty},
		{Action: "log.field", Keys: []string{"enter", "down", "up"}, Short: "next, back", Long: "Enter and the arrows go from field to field, Tab goes round", Hidden: true},
	}
}

// buttons are the last lines of a form.
func buttons(save string) []form.Spec {
	return []form.Spec{
		{Key: keySave, Label: save, Kind: form.Button},
		{Key: keyDrop, Label: "Throw it away", Kind: form.Button},
	}
}

// did is what a key did to a form.
type did int

const (
	nothing did = iota
	changed     // keep the draft
	save
	saveConfirmed
	saveYesterday // with the time that the question named
	leave
	drop // asked and answered
)

// key treats a key: the question's answers first, then the form's commands, then the fields.
func (f draftForm) key(key tea.KeyMsg, isKey bool, action string) (draftForm, did, string) {
	switch {
	case f.question():
		return f.answer(action)
	case action == "log.save":
		return f, save, ""
	case action == "log.leave":
		return f, leave, ""
	case action == "log.drop":
		f.dropping = true
		return f, nothing, ""
	case !isKey:
		return f, nothing, ""
	}
	var e form.Event
	f.form, e = f.form.Update(key)
	switch {
	case e.Kind == form.Changed:
		return f, changed, e.Key
	case e.Kind == form.Pressed && e.Key == keySave:
		return f, save, ""
	case e.Kind == form.Pressed && e.Key == keyDrop:
		f.dropping = f.has()
	}
	return f, nothing, ""
}

// answer takes the answer to a question. The key that asks never answers.
func (f draftForm) answer(action string) (draftForm, did, string) {
	dropping, aboutYesterday := f.dropping, f.aboutYesterday()
	switch action {
	case "log.today":
		f.asking = nil
		return f, saveConfirmed, ""
	case "log.yes":
		f.asking, f.dropping = nil, false
		if dropping {
			return f, drop, ""
		}
		if aboutYesterday {
			return f, saveYesterday, ""
		}
		return f, saveConfirmed, ""
	case "log.no":
		f.asking, f.dropping = nil, false
		if !dropping { // to what was asked about, so that it can be typed anew at once
			f.form = f.form.Focus(f.askedAt)
		}
	}
	return f, nothing, ""
}

// questionView draws the question that stands in place of a form.
func (f draftForm) questionView(t ui.Theme, w int) string {
	if f.dropping {
		return " Throw away everything that is typed here?\n\n y yes, throw it away     n no, go back"
	}
	lines := []string{t.Heading.Render(" Is this right?"), ""}
	for _, q := range f.asking {
		for _, l := range text.Wrap(text.Show(q), max(10, w-4)) {
			lines = append(lines, "   "+l)
		}
	}
	answers := " y yes, save it as it is     n no, go back and change it"
	if f.aboutYesterday() {
		answers = " y yes, save it as yesterday's     t no, save it as typed     n no, go back"
	}
	return strings.Join(append(append(lines, ""), text.Wrap(answers, max(10, w-1))...), "\n")
}

// status says how the draft stands.
func (f draftForm) status(t ui.Theme) string {
	switch {
	case f.saving:
		return " Saving"
	case f.keeper.Err() != nil:
		return t.Out.Render(" !! The draft is not on disk: " + text.Show(f.keeper.Err().Error()))
	case f.kept:
		return t.Strong.Render(" This draft was kept. F2 saves it, F8 throws it away.")
	case f.has():
		return " Kept as a draft at every key."
	}
	return ""
}

// emptied is the form after it was saved or thrown away.
func (f draftForm) emptied() draftForm {
	return draftForm{keeper: f.keeper, readOnly: f.readOnly}
}

// seen tells the keepers what a load found of their drafts.
func (s Screen) seen(l desk.Loaded) (Screen, tea.Cmd) {
	if l.Err != nil {
		return s, nil
	}
	var one, two tea.Cmd
	_, there := l.Drafts[formAmend]
	s.amend.keeper, one = s.amend.keeper.Seen(there)
	_, there = l.Drafts[formEvent]
	s.event.keeper, two = s.event.keeper.Seen(there)
	return s, tea.Batch(one, two)
}

// kept passes the disk's answer on to the keepers.
func (s Screen) kept(m desk.DraftKept) (Screen, tea.Cmd) {
	var one, two tea.Cmd
	s.amend.keeper, one = s.amend.keeper.Update(m)
	s.event.keeper, two = s.event.keeper.Update(m)
	cmd := tea.Batch(one, two)
	if m.Err != nil && (m.Form == formAmend || m.Form == formEvent) {
		cmd = tea.Batch(cmd, ui.Say(ui.Out, "The draft could not be kept: "+m.Err.Error()))
	}
	return s, cmd
}

// fieldSentence writes an error of a field with the field's name as a person calls it.
func fieldSentence(err error) string {
	var f *record.FieldError
	if !errors.As(err, &f) {
		return err.Error()
	}
	if rest, ok := strings.CutPrefix(err.Error(), f.Key+" "); ok { // "unit is missing"
		return label(f.Key) + " " + rest
	}
	return label(f.Key) + ": " + strings.TrimPrefix(err.Error(), f.Key+": ")
}
