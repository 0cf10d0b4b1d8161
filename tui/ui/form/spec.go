// Package form is the entry of values by keyboard alone: fields in walking order under headings, each with its last value,
// what is expected, and a judgement as it is typed. Blank means not read and is never zero.
//
// A form is a value. It holds text only: what text means is the caller's, through Spec.Judge.
package form

import "example.org/headpond/tui/ui"

// Kind says how a field is filled.
type Kind int

// The kinds. A Number takes text with a unit ("19 psi"); a Choice one of a few words, or none; a Text anything in one line;
// a Button is pressed.
const (
	Number Kind = iota
	Choice
	Text
	Button
)

// Spec describes a field.
type Spec struct {
	Key     string   // identity, "A.volts"
	Section string   // the heading that it stands under; fields of a section follow each other
	Label   string   // "Voltage"
	Kind    Kind     // how it is filled
	Unit    string   // after the value
	Words   []string // of a Choice
	Last    string   // the last value, taken over by "="; "" where there is none
	Expect  string   // the expected value with its unit; "" where there is none
	Hint    string   // shown while the field is empty, after last and expected: the band, an example
	Limit   int      // most characters; 0 is DefaultLimit
	// Judge is asked at each change, with the text as typed and never with an empty one; nil judges nothing.
	Judge func(text string) Verdict
}

// DefaultLimit is the most characters of a field that has no limit of its own.
const DefaultLimit = 200

// Verdict is what is said of a text.
type Verdict struct {
	State  ui.State // how the value stands to its band
	Remark string   // beside it: "band 228-252, expect 241"
	Err    string   // why the text is no value; "" where it is one
}

// Limits of the drawing, in cells.
const (
	labelWidth  = 22
	boxWidth    = 14
	unitWidth   = 5
	signWidth   = 2
	wideEnough  = signWidth + labelWidth + boxWidth + unitWidth + 24 // from here the remark stands on the field's own line
	narrowLabel = 14
)
