package faults

import (
	"strings"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/record"
)

// Trip is a trip that the log holds from shortly before. No round has seen the plant as it was then, so it comes before all that
// the rounds say.
type Trip struct {
	Time  time.Time `json:"time"`
	Units []string  `json:"units,omitempty"` // absent for all
	Cause string    `json:"cause,omitempty"`
	Note  string    `json:"note,omitempty"`
	Says  string    `json:"says"` // in words, with what usually causes it
}

// tripRecent is for how long a trip is told of first (our own).
const tripRecent = 24 * time.Hour

// lastTrip is the last trip of the day before the report; nil where there was none.
func (w *work) lastTrip() *Trip {
	for i := len(w.h.Events) - 1; i >= 0; i-- {
		e := &w.h.Events[i]
		age := w.h.At.Sub(e.Time)
		if e.Kind != record.Trip || age < 0 {
			continue
		}
		if age > tripRecent {
			return nil
		}
		return &Trip{Time: e.Time, Units: e.Units, Cause: e.Cause, Note: e.Note, Says: sayTrip(e, age)}
	}
	return nil
}

// sayTrip tells of a trip and of what is usually behind one.
func sayTrip(e *record.Event, age time.Duration) string {
	who := "The plant"
	if len(e.Units) > 0 {
		who = strings.Join(e.Units, " and ")
	}
	says := who + " tripped " + assess.Span(age) + " ago"
	if e.Cause != "" {
		says += ", " + e.Cause
	}
	if e.Note != "" {
		says += " (" + strings.TrimSuffix(e.Note, ".") + ")"
	}
	says += "."
	if usual := usualCause(e.Cause); usual != "" {
		says += " The usual cause is " + usual + "."
	}
	return says
}

// usualCause is what is usually behind a relay's trip, "" where its name tells nothing. Common practice, from memory: a small
// plant that is asked for more than it has slows down, and one that loses its load runs away.
func usualCause(cause string) string {
	c := strings.ToLower(cause)
	has := func(words ...string) bool {
		for _, w := range words {
			if strings.Contains(c, w) {
				return true
			}
		}
		return false
	}
	switch freq := has("freq", "hertz", "hz"); {
	case has("overload", "overcurrent", "over-current"), freq && has("under", "low"):
		return "overload: too much switched on at once, or less water than usual; see what was on before it is started again"
	case has("overspeed", "over-speed", "runaway"), freq && has("over", "high"):
		return "load that was lost while the ballast did not take it up: look at its breaker and its elements before it is started again"
	}
	return ""
}
