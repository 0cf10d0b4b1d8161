package record

import (
	"fmt"
	"strings"
	"time"

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
	if e.Err != nil {
		return fmt.Sprintf("%s: %v", e.Key, e.Err)
	}
	return fmt.Sprintf("%s: %q is not %s", e.Key, e.Text, e.Expected)
}

// Unwrap returns the cause.
func (e *FieldError) Unwrap() error { return e.Err }

// Set writes one column of the round from text: the same reading of a value for the command line, the CSV, the Round
// screen and a correction. An empty text removes the reading: blank is "not read". bare says what a number without a unit
// means. The column "time" is not set here, because reading it needs a clock and a zone. The error is a *FieldError.
func (r *Round) Set(key, text string, units []string, bare quantity.System) error {
	text = strings.TrimSpace(text)
	switch key {
	case ColBy, ColNote:
		if len(text) > maxText {
			return &FieldError{Key: key, Text: text[:40] + "…", Expected: fmt.Sprintf("at most %d characters", maxText)}
		}
		if key == ColBy {
			r.By = text
		} else {
			r.Note = text
		}
		return nil
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
		return &FieldError{Key: key, Text: text, Err: err}
	}
	return r.setReading(k, info, text, bare)
}

func (r *Round) setReading(k quantity.Key, info quantity.Info, text string, bare quantity.System) error {
	delete(r.Values, k)
	delete(r.Words, k)
	delete(r.Typed, k)
	if text == "" {
		return nil
	}
	if !info.Number() {
		w, err := quantity.ParseWord(info, text)
		if err != nil {
			return &FieldError{Key: string(k), Text: text, Err: err}
		}
		if r.Words == nil {
			r.Words = map[quantity.Key]string{}
		}
		r.Words[k] = w
		return nil
	}
	v, err := quantity.ParseValue(info, text, bare)
	if err != nil {
		return &FieldError{Key: string(k), Text: text, Err: err}
	}
	if r.Values == nil {
		r.Values = map[quantity.Key]float64{}
	}
	r.Values[k] = v.Kept
	if v.Typed != "" {
		if r.Typed == nil {
			r.Typed = map[quantity.Key]string{}
		}
		r.Typed[k] = v.Typed
	}
	return nil
}

// Text returns one column in the CSV's form, "" where it was not read. It is the inverse of Set for bare = Metric. The
// column "time" is RFC 3339 with the round's own offset.
func (r Round) Text(key string) string {
	switch key {
	case ColTime:
		return r.Time.Format(time.RFC3339)
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
		id, ok := matchID(strings.TrimSpace(part), units)
		if !ok || has(ids, id) {
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

// matchID finds an id as written, or else the only one that differs in letter case alone.
func matchID(s string, units []string) (string, bool) {
	found := ""
	for _, u := range units {
		if u == s {
			return u, true
		}
		if strings.EqualFold(u, s) {
			if found != "" {
				return "", false
			}
			found = u
		}
	}
	return found, found != ""
}

func has(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
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
