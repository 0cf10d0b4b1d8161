package form

import (
	"slices"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/tui/ui"
)

// Form is a list of fields of which one has the focus. It is a value; the fields of a changed form are its own.
type Form struct {
	fields []Field
	at     int
	scroll ui.Scroll
	w, h   int
}

// New makes a form. The focus is on its first field.
func New(specs ...Spec) Form {
	f := Form{fields: make([]Field, len(specs))}
	for i, s := range specs {
		f.fields[i] = NewField(s)
	}
	return f
}

// EventKind says what a key did.
type EventKind int

// Ignored leaves the key to the screen. Pressed comes from Enter on a button, on which Space works too, and from Enter on the
// last field of a form that has no button at its end.
const (
	Ignored EventKind = iota
	Changed           // the focused field's text changed: keep the draft
	Moved             // the focus moved to another place or field, or the key is the field's but had nothing to do
	Refused           // the field shows why
	Pressed
)

// Event is what a key did, and to which field.
type Event struct {
	Kind EventKind
	Key  string // the field's Spec.Key
}

// Focused returns the field that has the focus, and false for a form without fields.
func (f Form) Focused() (Field, bool) {
	if f.at >= len(f.fields) {
		return Field{}, false
	}
	return f.fields[f.at], true
}

// Takes reports whether a key is text for the focused field.
func (f Form) Takes(key tea.KeyMsg) bool {
	field, ok := f.Focused()
	return ok && field.Takes(key)
}

// Update applies a key. Enter, Down and Tab go to the next field, Up and Shift-Tab to the one before, PgDn and PgUp to the
// next and last section; the rest edits the focused field.
func (f Form) Update(key tea.KeyMsg) (Form, Event) {
	field, ok := f.Focused()
	if !ok || key.Alt {
		return f, Event{}
	}
	if next, moves := f.target(key); moves {
		return f.move(next)
	}
	if pressed(key) && (field.Kind == Button || key.Type == tea.KeyEnter) {
		return f, Event{Kind: Pressed, Key: field.Key}
	}
	changed, did := field.Update(key)
	f.fields = slices.Clone(f.fields)
	f.fields[f.at] = changed
	switch {
	case did:
		return f, Event{Kind: Changed, Key: field.Key}
	case changed.refused != "":
		return f, Event{Kind: Refused, Key: field.Key}
	case changed.line != field.line || ui.Printable(key) && field.Takes(key) || edits(key):
		return f, Event{Kind: Moved, Key: field.Key}
	}
	return f, Event{}
}

// pressed reports whether a key presses a button.
func pressed(key tea.KeyMsg) bool {
	return key.Type == tea.KeyEnter || key.Type == tea.KeySpace
}

// edits reports whether a key belongs to a field even where it has nothing to do, as Backspace in an empty one.
func edits(key tea.KeyMsg) bool {
	return slices.Contains([]tea.KeyType{tea.KeyLeft, tea.KeyRight, tea.KeyHome, tea.KeyEnd, tea.KeyBackspace, tea.KeyDelete}, key.Type)
}

// target returns the field that a moving key leads to, and whether the key moves at all.
func (f Form) target(key tea.KeyMsg) (int, bool) {
	last := len(f.fields) - 1
	switch key.Type {
	case tea.KeyEnter:
		// A button is pressed, and so is a form without one at its end.
		return f.at + 1, f.at < last && f.fields[f.at].Kind != Button
	case tea.KeyDown:
		return min(f.at+1, last), true
	case tea.KeyUp:
		return max(f.at-1, 0), true
	case tea.KeyTab:
		return (f.at + 1) % len(f.fields), true
	case tea.KeyShiftTab:
		return (f.at + last) % len(f.fields), true
	case tea.KeyPgDown:
		return f.section(1), true
	case tea.KeyPgUp:
		return f.section(-1), true
	default:
		return 0, false
	}
}

// section returns the first field of the next section (by 1), or of this one or the one before (by -1); at the ends the last
// and the first field.
func (f Form) section(by int) int {
	name := f.fields[f.at].Section
	if by > 0 {
		for i := f.at; i < len(f.fields); i++ {
			if f.fields[i].Section != name {
				return i
			}
		}
		return len(f.fields) - 1
	}
	first := f.firstOf(f.at)
	if f.at > first || first == 0 {
		return first
	}
	return f.firstOf(first - 1)
}

// firstOf returns the first field of the section that a field stands in.
func (f Form) firstOf(i int) int {
	for i > 0 && f.fields[i-1].Section == f.fields[i].Section {
		i--
	}
	return i
}

// move puts the focus on a field, at the end of its text.
func (f Form) move(to int) (Form, Event) {
	f.fields = slices.Clone(f.fields)
	f.fields[f.at].refused, f.fields[f.at].ahead = "", ""
	f.at = max(0, min(to, len(f.fields)-1))
	field := &f.fields[f.at]
	field.line.pos = len([]rune(field.line.text))
	return f.reveal(), Event{Kind: Moved, Key: field.Key}
}

// Focus puts the focus on the field with a key; an unknown key changes nothing.
func (f Form) Focus(key string) Form {
	if i := f.find(key); i >= 0 {
		f, _ = f.move(i)
	}
	return f
}

func (f Form) find(key string) int {
	return slices.IndexFunc(f.fields, func(x Field) bool { return x.Key == key })
}

// Fields returns a copy of the fields in their order.
func (f Form) Fields() []Field { return slices.Clone(f.fields) }

// Field returns the field with a key.
func (f Form) Field(key string) (Field, bool) {
	if i := f.find(key); i >= 0 {
		return f.fields[i], true
	}
	return Field{}, false
}

// Values returns the texts of the fields that are not empty, by key: the draft, and the round's readings.
func (f Form) Values() map[string]string {
	values := map[string]string{}
	for _, x := range f.fields {
		if v := x.Value(); v != "" {
			values[x.Key] = v
		}
	}
	return values
}

// SetValues fills fields from a draft; keys that the form does not have are left alone and returned.
func (f Form) SetValues(values map[string]string) (Form, []string) {
	f.fields = slices.Clone(f.fields)
	var unknown []string
	for k, v := range values {
		if i := f.find(k); i >= 0 {
			f.fields[i] = f.fields[i].SetValue(v)
		} else {
			unknown = append(unknown, k)
		}
	}
	slices.Sort(unknown)
	return f, unknown
}

// Rebuilt is the form with other fields and other texts, under somebody's hands: the focus stays on its field, and where a field
// holds the text that it held before, the place of typing and the letters of a word that were typed so far stay too. What has no
// field is returned as by SetValues.
func (f Form) Rebuilt(values map[string]string, specs ...Spec) (Form, []string) {
	next := New(specs...)
	next.w, next.h = f.w, f.h
	next, unknown := next.SetValues(values)
	focus, _ := f.Focused()
	next = next.Focus(focus.Key)
	for i, x := range next.fields {
		if old, ok := f.Field(x.Key); ok && old.Kind == x.Kind && old.line.text == x.line.text {
			next.fields[i].line.pos, next.fields[i].ahead = old.line.pos, old.ahead
		}
	}
	return next, unknown
}

// Respec changes the fields' descriptions and judges their texts anew: what is expected depends on what was already read.
func (f Form) Respec(change func(Spec) Spec) Form {
	f.fields = slices.Clone(f.fields)
	for i, x := range f.fields {
		x.Spec = change(x.Spec)
		f.fields[i] = x.judged()
	}
	return f
}

// FirstError returns the first field whose text is no value.
func (f Form) FirstError() (Field, bool) {
	for _, x := range f.fields {
		if x.verdict.Err != "" {
			return x, true
		}
	}
	return Field{}, false
}
