package record

import (
	"strings"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
)

// The columns of an event that a round does not have.
const (
	ColKind    = "kind"
	ColUnit    = "unit"
	ColElement = "element"
	ColCause   = "cause"
)

// ParseEventKind reads a kind as the command line and the CSV write it. The error is a *FieldError.
func ParseEventKind(s string) (EventKind, error) {
	text := strings.TrimSpace(s)
	var names []string
	for _, k := range EventKinds() {
		if strings.EqualFold(text, string(k)) {
			return k, nil
		}
		names = append(names, string(k))
	}
	expected := "a kind of event (" + strings.Join(names, ", ") + ")"
	if n := quantity.Nearest(text, names); n != "" {
		expected += "; did you mean " + n + "?"
	}
	return "", &FieldError{Key: ColKind, Text: s, Expected: expected}
}

// Set writes one column of the event from text: unit, element, cause, by or note. The column "time" is not set here. The
// error is a *FieldError, and then the event is unchanged.
func (e *Event) Set(key, text string, p *plant.Plant) error {
	switch strings.ToLower(strings.TrimSpace(key)) {
	case ColUnit:
		ids, err := ParseRunning(text, p.UnitIDs())
		if err != nil || (ids != nil && len(*ids) == 0) {
			return &FieldError{Key: ColUnit, Text: text, Expected: "unit ids joined by + (this plant has " + strings.Join(p.UnitIDs(), ", ") + ")"}
		}
		e.Units = nil
		if ids != nil {
			e.Units = *ids
		}
		return nil
	case ColElement:
		return e.setElement(strings.TrimSpace(text), p)
	case ColCause:
		return setText(&e.Cause, ColCause, text)
	case ColBy:
		return setText(&e.By, ColBy, text)
	case ColNote:
		return setText(&e.Note, ColNote, text)
	}
	return &FieldError{Key: key, Text: text, Expected: "a key of an event", Err: &quantity.KeyError{
		Key: key, Why: "not a key of an event (" + strings.Join(EventColumns(), ", ") + ")", Nearest: quantity.Nearest(key, EventColumns()),
	}}
}

// setElement takes a ballast element's name as for a unit id: letter case matters only where two differ in nothing else.
func (e *Event) setElement(text string, p *plant.Plant) error {
	if text == "" {
		e.Element = ""
		return nil
	}
	names := make([]string, len(p.Ballast.Elements))
	for i, el := range p.Ballast.Elements {
		names[i] = el.Name
	}
	name, ok := quantity.MatchUnit(text, names)
	if !ok {
		return &FieldError{Key: ColElement, Text: text, Expected: "a ballast element of this plant (" + strings.Join(names, ", ") + ")"}
	}
	e.Element = name
	return nil
}

// Words is the kind as people read it: "element out".
func (k EventKind) Words() string { return strings.ReplaceAll(string(k), "-", " ") }

// What says what happened to what: "trip of A", "element out: E3". The units and the element are as they were written.
func (e Event) What() string {
	s := e.Kind.Words()
	if len(e.Units) > 0 {
		s += " of " + strings.Join(e.Units, "+")
	}
	if e.Element != "" {
		s += ": " + e.Element
	}
	return s
}

// Text returns one column of the event in the CSV's form.
func (e Event) Text(key string) string {
	switch key {
	case ColKind:
		return string(e.Kind)
	case ColUnit:
		return strings.Join(e.Units, "+")
	case ColElement:
		return e.Element
	case ColCause:
		return e.Cause
	case ColBy:
		return e.By
	case ColNote:
		return e.Note
	case ColTime:
		return TimeText(e.Time)
	}
	return ""
}

// EventColumns lists the columns of an event that may be written or corrected.
func EventColumns() []string {
	return []string{ColTime, ColUnit, ColElement, ColCause, ColBy, ColNote}
}

// Check tells what an event of its kind still lacks: a start needs its units, an element event its element.
func (e Event) Check() error {
	switch e.Kind {
	case Start:
		if len(e.Units) == 0 {
			return &FieldError{Key: ColUnit, Expected: "the unit that was started, such as unit=A"}
		}
	case ElementOut, ElementIn:
		if e.Element == "" {
			return &FieldError{Key: ColElement, Expected: "the ballast element, such as element=E1"}
		}
	case NoteEvent:
		if e.Note == "" {
			return &FieldError{Key: ColNote, Expected: "the note's text, such as note=\"…\""}
		}
	case Stop, Trip, Alarm, Repair:
	}
	return nil
}
