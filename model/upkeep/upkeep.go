// Package upkeep tells which of the plant's recurring tasks are due, by days or by running hours.
package upkeep

import (
	"sort"
	"time"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// State is how a task stands.
type State string

// A task is due when a tenth or less of its interval is left, overdue when the interval has passed.
const (
	OK      State = "ok"
	Due     State = "due"
	Overdue State = "overdue"
)

// dueShare is the share of the interval at whose end a task becomes due. Our own choice: three days of a month.
const dueShare = 0.1

// Task is one task and how it stands. DueTime is set for a task by days, DueHours (running hours still to go, negative when
// passed) for one by hours. The tags are the contract's `upkeep --json`.
type Task struct {
	Task     string     `json:"task"`
	Unit     string     `json:"unit,omitempty"`
	DueTime  *time.Time `json:"due_time,omitempty"`
	DueHours *float64   `json:"due_hours,omitempty"`
	State    State      `json:"state"`
	Last     *time.Time `json:"last,omitempty"`
	LastBy   string     `json:"last_by,omitempty"`
	Caution  string     `json:"caution,omitempty"`
	left     float64    // share of the interval that is left, for sorting
}

// Facts is the answer of `upkeep --json`.
type Facts struct {
	At    time.Time `json:"at"`
	Tasks []Task    `json:"tasks"`
}

// Report works out every task at the history's end, the most urgent first. A task that was never done counts from the
// first plant revision or the first round, whichever is earlier.
func Report(h *record.History) Facts {
	f := Facts{At: h.At, Tasks: []Task{}}
	if h.Plant == nil {
		return f
	}
	for _, t := range h.Plant.Upkeep {
		f.Tasks = append(f.Tasks, stand(h, t))
	}
	sort.SliceStable(f.Tasks, func(i, j int) bool { return f.Tasks[i].left < f.Tasks[j].left })
	return f
}

func stand(h *record.History, t plant.Task) Task {
	out := Task{Task: t.Task, Unit: t.Unit}
	since := begin(h)
	for _, d := range h.Done {
		if d.Task == t.Task && (out.Last == nil || !d.Time.Before(*out.Last)) {
			last := d.Time // also one from before the log began
			out.Last, out.LastBy, since = &last, d.By, d.Time
		}
	}
	switch {
	case t.EveryDays != nil:
		due := since.Add(time.Duration(*t.EveryDays * 24 * float64(time.Hour)))
		out.DueTime = &due
		out.left = due.Sub(h.At).Hours() / 24 / *t.EveryDays
	case t.EveryHours != nil:
		ran, whole := RunningHours(h, t.Unit, since)
		left := *t.EveryHours - ran
		out.DueHours = &left
		out.left = left / *t.EveryHours
		if !whole {
			out.Caution = "the log does not tell all the running since then: it may be more"
		}
	}
	switch {
	case out.left <= 0:
		out.State = Overdue
	case out.left <= dueShare:
		out.State = Due
	default:
		out.State = OK
	}
	return out
}

// begin is when the log began.
func begin(h *record.History) time.Time {
	t := h.At
	if len(h.Revisions) > 0 && h.Revisions[0].From.Before(t) {
		t = h.Revisions[0].From
	}
	if len(h.Rounds) > 0 && h.Rounds[0].Time.Before(t) {
		t = h.Rounds[0].Time
	}
	return t
}

// RunningHours is how long a unit ran from a time to the history's end: by its hour meter where that was read on both
// sides, else by the running timeline. With no unit given it is the longest of any unit. The second result is false where
// the log does not tell all of that time.
func RunningHours(h *record.History, unit string, since time.Time) (hours float64, whole bool) {
	if unit == "" {
		whole = true
		for _, u := range h.Plant.UnitIDs() {
			ran, all := RunningHours(h, u, since)
			hours, whole = max(hours, ran), whole && all
		}
		return hours, whole
	}
	whole = h.Complete || (len(h.Rounds) > 0 && !h.Rounds[0].Time.After(since))
	tl := h.Timeline()
	if ran, from, to, ok := metered(h, quantity.NewKey(unit, quantity.Hours), since); ok {
		before, _ := on(tl, unit, since, from)
		after, _ := on(tl, unit, to, h.At)
		return before + ran + after, true
	}
	ran, known := on(tl, unit, since, h.At)
	return ran, whole && known
}

// on adds up the time a unit was known to run; known is false when part of the stretch is unknown.
func on(tl *record.Timeline, unit string, from, to time.Time) (hours float64, known bool) {
	known = true
	for _, s := range tl.Segments(from, to) {
		switch s.State[unit] {
		case record.On:
			hours += s.To.Sub(s.From).Hours()
		case record.Unknown:
			known = false
		case record.Off:
		}
	}
	return hours, known
}

// metered is the hour meter's count from its first reading at or after since to its last; a fall is a replaced meter and
// adds nothing. It is told only when the meter was read at least twice.
func metered(h *record.History, k quantity.Key, since time.Time) (hours float64, from, to time.Time, ok bool) {
	last, count := 0.0, 0
	for _, r := range h.Rounds {
		v, read := r.Value(k)
		if !read || r.Time.Before(since) {
			continue
		}
		if count == 0 {
			from = r.Time
		} else if v > last {
			hours += v - last
		}
		last, to = v, r.Time
		count++
	}
	return hours, from, to, count >= 2
}
