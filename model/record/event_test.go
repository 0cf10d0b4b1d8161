package record

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.org/headpond/model/plant"
)

func ternHollow() *plant.Plant {
	return &plant.Plant{
		Units:   []plant.Unit{{ID: "A"}, {ID: "B"}},
		Ballast: plant.Ballast{Elements: []plant.Element{{Name: "E1", Working: true}, {Name: "E2", Working: true}, {Name: "E3"}}},
	}
}

func TestEventKinds(t *testing.T) {
	// The kinds of the contract, `headpond event KIND`.
	for _, s := range []string{"start", "stop", "trip", "element-out", "element-back", "alarm", "repair", "note", " Trip "} {
		if _, err := ParseEventKind(s); err != nil {
			t.Errorf("%q: %v", s, err)
		}
	}
	_, err := ParseEventKind("tripp")
	var bad *FieldError
	if !errors.As(err, &bad) || bad.Key != ColKind {
		t.Fatalf("tripp: %v", err)
	}
	want := `kind: "tripp" is not a kind of event (start, stop, trip, element-out, element-back, alarm, repair, note); did you mean trip?`
	if err.Error() != want {
		t.Errorf("got  %s\nwant %s", err, want)
	}
	if _, err := ParseEventKind(""); err == nil {
		t.Error("an event needs a kind")
	}
}

func TestEventSet(t *testing.T) {
	p := ternHollow()
	for _, c := range []struct {
		key, text string
		want      Event
		problem   string
	}{
		{"unit", "A+b", Event{Units: []string{"A", "B"}}, ""},
		{"unit", "", Event{}, ""},
		{"unit", "none", Event{}, `unit: "none" is not unit ids joined by + (this plant has A, B)`},
		{"unit", "C", Event{}, `unit: "C" is not unit ids joined by + (this plant has A, B)`},
		{"element", " e2 ", Event{Element: "E2"}, ""},
		{"element", "", Event{}, ""},
		{"element", "E9", Event{}, `element: "E9" is not a ballast element of this plant (E1, E2, E3)`},
		{"Cause", "overspeed ", Event{Cause: "overspeed"}, ""},
		{"by", "Ro", Event{By: "Ro"}, ""},
		{"note", "belt", Event{Note: "belt"}, ""},
		{"note", "\xff", Event{}, `note: "\xff" is not text in UTF-8`},
		{"elment", "E1", Event{}, "elment is not a key of an event (time, unit, element, cause, by, note); did you mean element?"},
	} {
		var e Event
		err := e.Set(c.key, c.text, p)
		if c.problem != "" {
			var bad *FieldError
			if !errors.As(err, &bad) || err.Error() != c.problem {
				t.Errorf("%s=%s:\n got %v\nwant %s", c.key, c.text, err, c.problem)
			}
		} else if err != nil {
			t.Errorf("%s=%s: %v", c.key, c.text, err)
		}
		if diff := cmp.Diff(c.want, e); diff != "" {
			t.Errorf("%s=%s (-want +got):\n%s", c.key, c.text, diff)
		}
	}
}

func TestEventTextAndSetAreInverse(t *testing.T) {
	p := ternHollow()
	e := Event{Kind: Trip, Time: time.Date(2026, 2, 3, 4, 5, 6, 0, time.UTC), Units: []string{"B", "A"}, Element: "E1", Cause: "overspeed", By: "Imke", Note: "two\nlines"}
	again := Event{Kind: e.Kind, Time: e.Time}
	for _, col := range EventColumns() {
		if col == ColTime {
			continue
		}
		if err := again.Set(col, e.Text(col), p); err != nil {
			t.Errorf("%s: %v", col, err)
		}
	}
	if diff := cmp.Diff(e, again); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if e.Text(ColTime) != "2026-02-03T04:05:06Z" || e.Text(ColKind) != "trip" || e.Text("colour") != "" {
		t.Errorf("time %s, kind %s, unknown %q", e.Text(ColTime), e.Text(ColKind), e.Text("colour"))
	}
}

func TestEventsLack(t *testing.T) {
	for _, c := range []struct {
		e    Event
		want string
	}{
		{Event{Kind: Start}, "unit is missing; expected the unit that was started, such as unit=A"},
		{Event{Kind: Start, Units: []string{"A"}}, ""},
		{Event{Kind: Stop}, ""}, // sets all off
		{Event{Kind: Trip}, ""},
		{Event{Kind: ElementOut}, "element is missing; expected the ballast element, such as element=E1"},
		{Event{Kind: ElementIn}, "element is missing; expected the ballast element, such as element=E1"},
		{Event{Kind: ElementIn, Element: "E1"}, ""},
		{Event{Kind: NoteEvent}, `note is missing; expected the note's text, such as note="…"`},
		{Event{Kind: NoteEvent, Note: "x"}, ""},
		{Event{Kind: Alarm}, ""},
		{Event{Kind: Repair}, ""},
	} {
		got := ""
		if err := c.e.Check(); err != nil {
			got = err.Error()
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", c.e.Kind, got, c.want)
		}
	}
}

// People read a kind without the hyphen of its name in files, and what it happened to behind it.
func TestEventsInWords(t *testing.T) {
	for want, e := range map[string]Event{
		"trip":             {Kind: Trip},
		"start of A+B":     {Kind: Start, Units: []string{"A", "B"}},
		"element out: E3":  {Kind: ElementOut, Element: "E3"},
		"element back: E3": {Kind: ElementIn, Element: "E3"},
		"note":             {Kind: NoteEvent},
		"repair of A: E3":  {Kind: Repair, Units: []string{"A"}, Element: "E3"},
	} {
		if got := e.What(); got != want {
			t.Errorf("%+v is told as %q, want %q", e, got, want)
		}
	}
	for _, k := range EventKinds() {
		if w := k.Words(); strings.Contains(w, "-") {
			t.Errorf("%s is read as %q", k, w)
		}
	}
}
