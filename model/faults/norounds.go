package faults

import (
	"fmt"

	"example.org/headpond/model/record"
)

// noRoundsError says why there is no round to go by, by what keeps the last one out.
type noRoundsError struct{ why string }

func (e *noRoundsError) Error() string {
	return "no round with readings has been written " + e.why
}

// noRounds finds what keeps the last round with readings out: its age, a repair since, another plant description, or a ballast
// element that may have been dead already.
func (w *work) noRounds() error {
	h := w.h
	last := -1
	for i := range h.Rounds {
		if len(h.Rounds[i].Values) > 0 {
			last = i
		}
	}
	days := int(lookBack.Hours() / 24)
	if last < 0 {
		return &noRoundsError{fmt.Sprintf("within %d days; the next one tells", days)}
	}
	at := h.Rounds[last].Time
	since := ""
	for _, e := range h.Events {
		if e.Kind == record.Repair && e.Time.After(at) && !e.Time.After(h.At) {
			since = e.Time.In(w.location()).Format("2 Jan 15:04")
		}
	}
	switch {
	case at.Before(h.At.Add(-lookBack)):
		return &noRoundsError{fmt.Sprintf("within %d days; the last one is of %s", days, at.In(w.location()).Format("2 Jan 2006 15:04"))}
	case since != "":
		return &noRoundsError{"since the repair of " + since + ", and what was read before it tells of the plant as it was; the next round tells"}
	case h.PlantAt(at) != h.Plant:
		return &noRoundsError{"under the plant description in force, which came after the last round; the next one tells"}
	case w.beforeElementOut(at):
		return &noRoundsError{"since a ballast element was found dead, which may have been dead before; the next one tells"}
	}
	return &noRoundsError{"that can be gone by"}
}
