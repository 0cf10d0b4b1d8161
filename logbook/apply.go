package logbook

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// Columns of an event and of upkeep done that a correction may name beside those of record.
const (
	colKind    = "kind"
	colUnit    = "unit"
	colElement = "element"
	colCause   = "cause"
	colTask    = "task"
)

// corrected is an entry that corrections can be applied to: its columns as text there and back.
type corrected interface {
	text(key string) string
	// set writes a column from its canonical text; Withdrawn takes a reading back.
	set(key, text string) error
}

// apply writes corrections onto an entry in the order given and returns what each one did, oldest first. A correction that
// cannot be applied, because a newer version wrote it, alters nothing but is listed all the same.
func apply(c corrected, list []Amendment) []record.Change {
	var changes []record.Change
	for _, a := range list {
		for _, key := range slices.Sorted(maps.Keys(a.Changes)) {
			change := record.Change{Amendment: a.ID, Key: key, Old: c.text(key), New: a.Changes[key], By: a.By, At: a.WrittenAt, Why: a.Why}
			if change.New == Withdrawn {
				change.New = ""
			}
			_ = c.set(key, a.Changes[key])
			changes = append(changes, change)
		}
	}
	return changes
}

func applyRound(r *record.Round, list []Amendment) {
	if len(list) > 0 {
		r.Changes = apply((*roundColumns)(r), list)
	}
}

func applyEvent(e *record.Event, list []Amendment) {
	if len(list) > 0 {
		e.Changes = apply((*eventColumns)(e), list)
	}
}

func applyDone(d *record.Done, list []Amendment) {
	if len(list) > 0 {
		d.Changes = apply((*doneColumns)(d), list)
	}
}

// roundColumns gives a round's columns. The catalogue decides whether a key is a number or a word; a key that only a newer
// version knows keeps the kind it has in the round.
type roundColumns record.Round

func (c *roundColumns) text(key string) string {
	r := (*record.Round)(c)
	if t := r.Text(key); t != "" {
		return t
	}
	return r.Extra[key]
}

func (c *roundColumns) set(key, text string) error {
	switch key {
	case record.ColTime:
		return setTime(&c.Time, text)
	case record.ColBy:
		c.By = unlessWithdrawn(text)
		return nil
	case record.ColNote:
		c.Note = unlessWithdrawn(text)
		return nil
	case record.ColRunning:
		return c.setRunning(text)
	}
	return c.setReading(quantity.Key(key), text)
}

func (c *roundColumns) setRunning(text string) error {
	switch text {
	case Withdrawn:
		c.Running = nil
	case "":
		return invalid("running without units", `unit ids joined by +, "none", or - to withdraw it`)
	case "none":
		c.Running = &[]string{}
	default:
		ids := strings.Split(text, "+")
		c.Running = &ids
	}
	return nil
}

func (c *roundColumns) setReading(k quantity.Key, text string) error {
	if text == Withdrawn {
		delete(c.Values, k)
		delete(c.Words, k)
		delete(c.Typed, k)
		delete(c.Extra, string(k))
		return nil
	}
	if text == "" {
		return invalid(string(k)+" without a value", "a value, or - to withdraw it")
	}
	info, known := quantity.Lookup(k.Name())
	_, number := c.Values[k]
	_, word := c.Words[k]
	switch {
	case known && info.Number(), !known && number:
		v, err := strconv.ParseFloat(text, 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return invalid(fmt.Sprintf("%s = %q", k, text), "a number")
		}
		put(&c.Values, k, v)
		delete(c.Typed, k)
	case known, word:
		if known && !slices.Contains(info.Words, text) {
			return invalid(fmt.Sprintf("%s = %q", k, text), "one of "+strings.Join(info.Words, ", "))
		}
		put(&c.Words, k, text)
		delete(c.Typed, k)
	default:
		put(&c.Extra, string(k), text)
	}
	return nil
}

// eventColumns gives an event's columns. Its kind may be corrected too: a trip noted by mistake becomes a note.
type eventColumns record.Event

func (c *eventColumns) text(key string) string { return (*record.Event)(c).Text(key) }

func (c *eventColumns) set(key, text string) error {
	switch key {
	case record.ColTime:
		return setTime(&c.Time, text)
	case colKind:
		if text == "" || text == Withdrawn {
			return invalid("an event without a kind", "start, stop, trip, …")
		}
		c.Kind = record.EventKind(text)
	case colUnit:
		c.Units = nil
		if t := unlessWithdrawn(text); t != "" {
			c.Units = strings.Split(t, "+")
		}
	case colElement:
		c.Element = unlessWithdrawn(text)
	case colCause:
		c.Cause = unlessWithdrawn(text)
	case record.ColBy:
		c.By = unlessWithdrawn(text)
	case record.ColNote:
		c.Note = unlessWithdrawn(text)
	default:
		return unknownColumn(key, "an event", append(record.EventColumns(), colKind))
	}
	return nil
}

// doneColumns gives the columns of upkeep done.
type doneColumns record.Done

func (c *doneColumns) text(key string) string {
	switch key {
	case record.ColTime:
		return c.Time.Format(time.RFC3339)
	case record.ColBy:
		return c.By
	case record.ColNote:
		return c.Note
	case colTask:
		return c.Task
	}
	return stepText(c.Walk, key)
}

func (c *doneColumns) set(key, text string) error {
	switch key {
	case record.ColTime:
		return setTime(&c.Time, text)
	case record.ColBy:
		c.By = unlessWithdrawn(text)
	case record.ColNote:
		c.Note = unlessWithdrawn(text)
	case colTask: // another task, or none: what was never done is taken back
		if text == "" {
			return invalid("upkeep done without a task", "a task's name, or - to take it back")
		}
		c.Task = unlessWithdrawn(text)
	default:
		if c.Walk != nil && strings.HasPrefix(key, record.ColStep+".") {
			return setStep(c.Walk, key, text)
		}
		return unknownColumn(key, "upkeep done", []string{record.ColTime, record.ColBy, record.ColNote, colTask})
	}
	return nil
}

func setTime(t *time.Time, text string) error {
	v, err := time.Parse(time.RFC3339, text)
	if err == nil {
		_, err = millis(v)
	}
	if err != nil {
		return invalid(fmt.Sprintf("time = %q", text), "a time such as 2026-02-03T07:30:00-04:00")
	}
	*t = v
	return nil
}

func unlessWithdrawn(text string) string {
	if text == Withdrawn {
		return ""
	}
	return text
}

func unknownColumn(key, of string, columns []string) error {
	return invalid(fmt.Sprintf("%s is no column of %s that can be corrected", key, of), "one of "+strings.Join(columns, ", "))
}

// put writes into a map that may not be there yet.
func put[K comparable, V any](m *map[K]V, k K, v V) {
	if *m == nil {
		*m = map[K]V{}
	}
	(*m)[k] = v
}
