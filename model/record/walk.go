package record

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Walk is a checklist as it was walked, step by step. It is kept with the entry of upkeep done that tells of it, whose Task is
// the list's name, whose Time is when the walk was ended, and whose By is who walked it.
type Walk struct {
	For   string   // what the list is for, as plant.Checklist.For; "" for a list of the plant's own
	Units []string // the units that it concerned; empty where the list is for the whole plant
	Begun time.Time
	Ticks []Tick // a step each, in the list's order
}

// Tick is one step of a checklist and what came of it.
type Tick struct {
	Step  string // the step's words, as they were shown
	State TickState
	Note  string    // why it was skipped, or what was found
	At    time.Time // when it was ticked; zero while it is open
}

// TickState is what came of a step.
type TickState string

// The states of a step. A step that was not come to is open.
const (
	TickOpen    TickState = ""
	TickDone    TickState = "done"
	TickSkipped TickState = "skipped"
	TickNotOK   TickState = "not-ok"
)

// Word is the state as people read it.
func (s TickState) Word() string {
	switch s {
	case TickDone:
		return "done"
	case TickSkipped:
		return "skipped"
	case TickNotOK:
		return "not ok"
	case TickOpen:
	}
	return "not come to"
}

// Text is what came of a step as one text: "done", "skipped: ice on the ladder", "open".
func (t Tick) Text() string {
	word := string(t.State)
	if t.State == TickOpen {
		word = "open"
	}
	if t.Note == "" {
		return word
	}
	return word + ": " + t.Note
}

// ParseTick reads what Text writes. A step that is skipped or not ok needs words with it: without them nobody could know why.
func ParseTick(text string) (state TickState, note string, err error) {
	word, note, _ := strings.Cut(strings.TrimSpace(text), ":")
	note = strings.TrimSpace(note)
	switch strings.ToLower(strings.TrimSpace(word)) {
	case "done":
		state = TickDone
	case "skipped":
		state = TickSkipped
	case "not-ok", "not ok":
		state = TickNotOK
	case "open":
		state = TickOpen
	default:
		return "", "", &FieldError{Key: ColStep, Text: text, Expected: `"done", "skipped: why", "not-ok: what was found" or "open"`}
	}
	if note == "" && (state == TickSkipped || state == TickNotOK) {
		return "", "", &FieldError{Key: ColStep, Text: text, Expected: fmt.Sprintf(`words with it, such as "%s: …"`, word)}
	}
	return state, note, nil
}

// ColStep is the column of a step of a walk: ColStep, a point, and the step's number from 1.
const ColStep = "step"

// StepColumn is the column of the step of an index from 0.
func StepColumn(i int) string { return ColStep + "." + strconv.Itoa(i+1) }

// StepOf returns the index of the step that a column names, or false where it names none of n steps.
func StepOf(column string, n int) (i int, ok bool) {
	number, found := strings.CutPrefix(column, ColStep+".")
	if !found {
		return 0, false
	}
	i, err := strconv.Atoi(number)
	return i - 1, err == nil && i >= 1 && i <= n && strconv.Itoa(i) == number
}

// Count returns how many steps are in a state.
func (w *Walk) Count(s TickState) int {
	n := 0
	for _, t := range w.Ticks {
		if t.State == s {
			n++
		}
	}
	return n
}

// Summary says in words what came of the steps: "9 steps done", "7 of 9 steps done, 1 skipped, 1 not ok".
func (w *Walk) Summary() string {
	n, done := len(w.Ticks), w.Count(TickDone)
	if done == n {
		return plural(n, "step", "steps") + " done"
	}
	parts := []string{fmt.Sprintf("%d of %s done", done, plural(n, "step", "steps"))}
	for _, s := range []TickState{TickSkipped, TickNotOK, TickOpen} {
		if c := w.Count(s); c > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", c, s.Word()))
		}
	}
	return strings.Join(parts, ", ")
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// EndedEarly reports whether it is a checklist that was saved before it was walked to its end. That is nothing that was done.
func (d Done) EndedEarly() bool { return d.Walk != nil && d.Walk.Count(TickOpen) > 0 }

// ColTask is the task of upkeep done, or the name of a checklist.
const ColTask = "task"

// Columns lists what may be corrected of upkeep done: with a checklist also what came of each step.
func (d Done) Columns() []string {
	out := []string{ColTime, ColTask, ColBy, ColNote}
	if d.Walk != nil {
		for i := range d.Walk.Ticks {
			out = append(out, StepColumn(i))
		}
	}
	return out
}

// Text returns one column of upkeep done in the CSV's form.
func (d Done) Text(key string) string {
	switch key {
	case ColTime:
		return TimeText(d.Time)
	case ColTask:
		return d.Task
	case ColBy:
		return d.By
	case ColNote:
		return d.Note
	}
	if d.Walk != nil {
		if i, ok := StepOf(key, len(d.Walk.Ticks)); ok {
			return d.Walk.Ticks[i].Text()
		}
	}
	return ""
}

// Canonical brings a corrected column of upkeep done, other than its time, into its own text. The error is a *FieldError.
func (d Done) Canonical(key, text string) (string, error) {
	n := 0
	if d.Walk != nil {
		n = len(d.Walk.Ticks)
	}
	if _, ok := StepOf(key, n); ok {
		if text == "-" {
			return text, nil
		}
		state, note, err := ParseTick(text)
		if err == nil {
			note, err = CleanText(key, note)
		}
		return Tick{State: state, Note: note}.Text(), err
	}
	switch key {
	case ColTask, ColBy, ColNote:
		return CleanText(key, text)
	}
	return "", &FieldError{Key: key, Text: text, Expected: "one of " + strings.Join(d.Columns(), ", ")}
}
