package record

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"example.org/headpond/model/quantity"
)

// The columns of a round that are no readings.
const (
	ColTime    = "time"
	ColBy      = "by"
	ColRunning = "running"
	ColNote    = "note"
)

// maxText bounds notes and names: long enough for any note, short enough that no row can fill a disk.
const maxText = 4000

// FieldError tells which column could not be read and what was expected. Its text leaves the place (line, field) to the
// caller, who knows it.
type FieldError struct {
	Key, Text, Expected string
	Err                 error // the cause, where there is one
}

// Error names the column, quotes the text and says what was expected.
func (e *FieldError) Error() string {
	var unknown *quantity.KeyError
	switch {
	case errors.As(e.Err, &unknown):
		return unknown.Error() // it names the key itself
	case e.Err != nil:
		return fmt.Sprintf("%s: %v", e.Key, e.Err)
	case e.Text == "":
		return fmt.Sprintf("%s is missing; expected %s", e.Key, e.Expected)
	}
	return fmt.Sprintf("%s: %v", e.Key, &quantity.ValueError{Typed: e.Text, Expected: e.Expected})
}

// Unwrap returns the cause.
func (e *FieldError) Unwrap() error { return e.Err }

// CleanText is a name or a note as it is kept: without space around it, with plain line ends. It must be UTF-8 and at most
// 4000 characters long; the error is a *FieldError for the key.
func CleanText(key, text string) (string, error) {
	if !utf8.ValidString(text) {
		return "", &FieldError{Key: key, Text: text, Expected: "text in UTF-8"}
	}
	if strings.ContainsRune(text, '\r') {
		text = strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
	}
	text = strings.TrimSpace(text)
	if len(text) > maxText && utf8.RuneCountInString(text) > maxText {
		return "", &FieldError{Key: key, Text: text, Expected: fmt.Sprintf("a text of at most %d characters", maxText)}
	}
	return text, nil
}

// Set writes one column of the round from text: the same reading of a value for the command line, the CSV, the Round
// screen and a correction. An empty text removes the reading: blank is "not read". bare says what a number without a unit
// means. The column "time" is not set here, because reading it needs a clock and a zone. The error is a *FieldError, and
// then the round is unchanged.
func (r *Round) Set(key, text string, units []string, bare quantity.System) error {
	switch strings.ToLower(strings.TrimSpace(key)) {
	case ColBy:
		return setText(&r.By, ColBy, text)
	case ColNote:
		return setText(&r.Note, ColNote, text)
	case ColRunning:
		running, err := ParseRunning(text, units)
		if err != nil {
			return err
		}
		r.Running = running
		return nil
	}
	k, info, err := quantity.ParseKey(key, units)
	if err != nil {
		var unknown *quantity.KeyError
		if errors.As(err, &unknown) && unknown.Nearest == "" {
			unknown.Nearest = quantity.Nearest(key, []string{ColTime, ColBy, ColRunning, ColNote})
		}
		return &FieldError{Key: key, Text: text, Expected: "a column of a round", Err: err}
	}
	return r.SetReading(k, info, text, bare)
}

func setText(field *string, key, text string) error {
	clean, err := CleanText(key, text)
	if err == nil {
		*field = clean
	}
	return err
}

// SetReading is Set for a key that quantity.ParseKey has read, for those who read a whole column of them.
func (r *Round) SetReading(k quantity.Key, info quantity.Info, text string, bare quantity.System) error {
	text = strings.TrimSpace(text)
	if text == "" {
		delete(r.Values, k)
		delete(r.Words, k)
		delete(r.Typed, k)
		return nil
	}
	if !info.Number() {
		w, err := quantity.ParseWord(info, text)
		if err != nil {
			return &FieldError{Key: string(k), Text: text, Expected: info.Expected(bare), Err: err}
		}
		if r.Words == nil {
			r.Words = map[quantity.Key]string{}
		}
		r.Words[k] = w
		return nil
	}
	v, err := quantity.ParseValue(info, text, bare)
	if err != nil {
		return &FieldError{Key: string(k), Text: text, Expected: info.Expected(bare), Err: err}
	}
	if r.Values == nil {
		r.Values = map[quantity.Key]float64{}
	}
	r.Values[k] = v.Kept
	delete(r.Typed, k)
	if v.Typed != "" {
		if r.Typed == nil {
			r.Typed = map[quantity.Key]string{}
		}
		r.Typed[k] = v.Typed
	}
	return nil
}

// Text returns one column in the CSV's form, "" where it was not read. It is the inverse of Set for bare = Metric. The
// column "time" is as TimeText writes it.
func (r Round) Text(key string) string {
	switch key {
	case ColTime:
		return TimeText(r.Time)
	case ColBy:
		return r.By
	case ColNote:
		return r.Note
	case ColRunning:
		if r.Running == nil {
			return ""
		}
		return FormatRunning(*r.Running)
	}
	if v, ok := r.Values[quantity.Key(key)]; ok {
		return quantity.Text(v)
	}
	return r.Words[quantity.Key(key)]
}

// TimeText writes an instant as RFC 3339 to the second, with its own offset. RFC 3339 has no offsets with seconds, which
// some zones had before 1972; such a one is written to the minute, for the same instant.
func TimeText(t time.Time) string {
	if name, offset := t.Zone(); offset%60 != 0 {
		t = t.In(time.FixedZone(name, offset/60*60))
	}
	return t.Format(time.RFC3339)
}

// ParseRunning reads unit ids joined by "+", or "none". An empty text is "not read" and returns nil. An unknown or
// repeated id is a *FieldError.
func ParseRunning(text string, units []string) (*[]string, error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return nil, nil
	}
	if strings.EqualFold(text, "none") {
		return &[]string{}, nil
	}
	ids := []string{}
	expected := "none, or unit ids joined by + (this plant has " + strings.Join(units, ", ") + ")"
	for _, part := range strings.Split(text, "+") {
		id, ok := quantity.MatchUnit(strings.TrimSpace(part), units)
		if !ok || slices.Contains(ids, id) {
			return nil, &FieldError{Key: ColRunning, Text: text, Expected: expected}
		}
		ids = append(ids, id)
	}
	return &ids, nil
}

// FormatRunning writes unit ids joined by "+", or "none".
func FormatRunning(ids []string) string {
	if len(ids) == 0 {
		return "none"
	}
	return strings.Join(ids, "+")
}

// Columns lists every column of a round of a plant with these units, in the order of the CSV: time, by, running, the
// readings in walking order, note.
func Columns(units []string) []string {
	cols := []string{ColTime, ColBy, ColRunning}
	for _, k := range quantity.Keys(units) {
		cols = append(cols, string(k))
	}
	return append(cols, ColNote)
}

// Empty reports whether a round holds nothing that was read or written.
func (r Round) Empty() bool {
	return r.Running == nil && len(r.Values) == 0 && len(r.Words) == 0 && r.Note == ""
}
