package record

import (
	"fmt"
	"strings"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
)

// ParseEventKind reads a kind as the command line and the CSV write it.
func ParseEventKind(s string) (EventKind, error) {
	var names []string
	for _, k := range EventKinds() {
		if strings.EqualFold(s, string(k)) {
			return k, nil
		}
		names = append(names, string(k))
	}
	hint := ""
	if n := quantity.Nearest(s, names); n != "" {
		hint = fmt.Sprintf("; did you mean %s?", n)
	}
	return "", fmt.Errorf("%q is not a kind of event; expected one of %s%s", s, strings.Join(names, ", "), hint)
}

// Set writes one column of the event from text: unit, element, cause, by or note. The column "time" is not set here. The
// error is a *FieldError.
func (e *Event) Set(key, text string, p *plant.Plant) error {
	text = strings.TrimSpace(text)
	if len(text) > maxText {
		return &FieldError{Key: key, Text: text[:40] + "…", Expected: fmt.Sprintf("at most %d characters", maxText)}
	}
	switch key {
	case "unit":
		ids, err := ParseRunning(text, p.UnitIDs())
		if err != nil || (ids != nil && len(*ids) == 0) {
			return &FieldError{Key: key, Text: text, Expected: "unit ids joined by + (this plant has " + strings.Join(p.UnitIDs(), ", ") + ")"}
		}
		e.Units = nil
		if ids != nil {
			e.Units = *ids
		}
	case "element":
		if _, ok := p.ElementByName(text); !ok && text != "" {
			var names []string
			for _, el := range p.Ballast.Elements {
				names = append(names, el.Name)
			}
			return &FieldError{Key: key, Text: text, Expected: "a ballast element of this plant (" + strings.Join(names, ", ") + ")"}
		}
		e.Element = text
	case "cause":
		e.Cause = text
	case ColBy:
		e.By = text
	case ColNote:
		e.Note = text
	default:
		hint := ""
		if n := quantity.Nearest(key, EventColumns()); n != "" {
			hint = "; did you mean " + n + "?"
		}
		return &FieldError{Key: key, Text: text, Err: fmt.Errorf("is not a key of an event; expected one of %s%s", strings.Join(EventColumns(), ", "), hint)}
	}
	return nil
}

// Text returns one column of the event in the CSV's form.
func (e Event) Text(key string) string {
	switch key {
	case "kind":
		return string(e.Kind)
	case "unit":
		return strings.Join(e.Units, "+")
	case "element":
		return e.Element
	case "cause":
		return e.Cause
	case ColBy:
		return e.By
	case ColNote:
		return e.Note
	case ColTime:
		return Round{Time: e.Time}.Text(ColTime)
	}
	return ""
}

// EventColumns lists the columns of an event that may be written or corrected.
func EventColumns() []string {
	return []string{ColTime, "unit", "element", "cause", ColBy, ColNote}
}

// Check tells what an event of its kind still lacks: a start needs its units, an element event its element.
func (e Event) Check() error {
	switch e.Kind {
	case Start:
		if len(e.Units) == 0 {
			return &FieldError{Key: "unit", Expected: "the unit that was started, such as unit=A"}
		}
	case ElementOut, ElementIn:
		if e.Element == "" {
			return &FieldError{Key: "element", Expected: "the ballast element, such as element=E1"}
		}
	case NoteEvent:
		if e.Note == "" {
			return &FieldError{Key: ColNote, Expected: "the note's text, such as note=\"…\""}
		}
	case Stop, Trip, Alarm, Repair:
	}
	return nil
}
