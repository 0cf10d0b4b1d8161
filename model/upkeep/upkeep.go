// Package upkeep tells which of the plant's recurring tasks are due, by days or by running hours.
package upkeep

import (
	"sort"
	"strings"
	"time"

	"example.org/headpond/model/plant"
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
// passed) for one by hours. The tags are the contract's `upkeep --json`; those after Last are our own additions.
type Task struct {
	Task       string     `json:"task"`
	Unit       string     `json:"unit,omitempty"`
	DueTime    *time.Time `json:"due_time,omitempty"`
	DueHours   *float64   `json:"due_hours,omitempty"`
	State      State      `json:"state"`
	Last       *time.Time `json:"last,omitempty"`
	LastID     string     `json:"last_id,omitempty"` // the entry that says so
	LastBy     string     `json:"last_by,omitempty"`
	LastNote   string     `json:"last_note,omitempty"`
	Since      time.Time  `json:"since"` // from when it counts: when it was last done, else when the log or the task began
	EveryDays  *float64   `json:"every_days,omitempty"`
	EveryHours *float64   `json:"every_hours,omitempty"`
	RanHours   *float64   `json:"ran_hours,omitempty"`     // since then, for a task by hours
	HoursADay  *float64   `json:"hours_per_day,omitempty"` // over the last 30 days, for a task by hours that is not overdue
	DueAbout   *time.Time `json:"due_about,omitempty"`     // when the hours are used up if it goes on like that
	Caution    string     `json:"caution,omitempty"`
	Left       float64    `json:"left_share"` // share of the interval that is left; negative when it has passed
}

// Facts is the answer of `upkeep --json`.
type Facts struct {
	At    time.Time `json:"at"`
	Tasks []Task    `json:"tasks"`
}

// Report works out every task at the history's end: what is overdue, the most first; what is due and what is
// in time, each the soonest first. A task that was never done counts from when the log
// began, or from when it was added to the plant's description if that was later.
//
// For tasks by hours the history should reach back as far as Reach says (logbook.HistoryOptions.Upkeep sees to it); where it does
// not, the task says so.
func Report(h *record.History) Facts {
	f := Facts{At: h.At, Tasks: []Task{}}
	if h.Plant == nil {
		return f
	}
	var c *counter // made where a task needs it
	for _, t := range h.Plant.Upkeep {
		if t.EveryHours != nil && c == nil {
			c = newCounter(h)
		}
		f.Tasks = append(f.Tasks, stand(h, c, t))
	}
	sort.SliceStable(f.Tasks, func(i, j int) bool { return before(f.Tasks[i], f.Tasks[j], f.At) })
	return f
}

// before puts what is overdue first, by how far it is over its interval, then what is due and then the rest, each the soonest first.
func before(a, b Task, at time.Time) bool {
	rank := map[State]int{Overdue: 0, Due: 1, OK: 2}
	if rank[a.State] != rank[b.State] {
		return rank[a.State] < rank[b.State]
	}
	if a.State == Overdue {
		return a.Left < b.Left
	}
	return a.comes(at).Before(b.comes(at))
}

// comes is when a task is due: for one by hours about when, at the pace of late; without a pace, the soonest that it can be.
func (t Task) comes(at time.Time) time.Time {
	switch {
	case t.DueTime != nil:
		return *t.DueTime
	case t.DueAbout != nil:
		return *t.DueAbout
	case t.DueHours != nil:
		return at.Add(time.Duration(*t.DueHours * float64(time.Hour)))
	}
	return at
}

// Name is the name under which a task is written down as done: its own, with the unit behind where two tasks share it.
func Name(p *plant.Plant, t plant.Task) string {
	for _, other := range p.Upkeep {
		if other.Unit != t.Unit && sameName(other.Task, t.Task) && t.Unit != "" {
			return t.Task + ", unit " + t.Unit
		}
	}
	return t.Task
}

// sameName forgives letter case and blanks, in which a description may differ from an earlier one.
func sameName(a, b string) bool {
	return strings.EqualFold(strings.Join(strings.Fields(a), " "), strings.Join(strings.Fields(b), " "))
}

// Done lists when a task was done, newest first, as far as the history holds it. A checklist of the task's name counts where it
// was walked to its end.
func Done(h *record.History, name string) []record.Done {
	var out []record.Done
	for _, d := range h.Done {
		if sameName(d.Task, name) && !d.EndedEarly() {
			out = append(out, d)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return newer(out[i], out[j]) })
	return out
}

// newer orders by time, then by when it was written, then by id, so that no order of merging makes a difference.
func newer(a, b record.Done) bool {
	switch {
	case !a.Time.Equal(b.Time):
		return a.Time.After(b.Time)
	case !a.WrittenAt.Equal(b.WrittenAt):
		return a.WrittenAt.After(b.WrittenAt)
	}
	return a.ID > b.ID
}

// lastDone is when a task was last done, by the name that it has now or by its bare one.
func lastDone(h *record.History, t plant.Task) (last record.Done, ok bool) {
	names := []string{Name(h.Plant, t)}
	if names[0] != t.Task {
		names = append(names, t.Task)
	}
	for _, n := range names {
		if list := Done(h, n); len(list) > 0 && (!ok || newer(list[0], last)) {
			last, ok = list[0], true
		}
	}
	return last, ok
}

func stand(h *record.History, c *counter, t plant.Task) Task {
	out := Task{Task: Name(h.Plant, t), Unit: t.Unit, EveryDays: t.EveryDays, EveryHours: t.EveryHours}
	if d, ok := lastDone(h, t); ok { // also one from before the log began
		out.Last, out.LastID, out.LastBy, out.LastNote, out.Since = &d.Time, d.ID, d.By, d.Note, d.Time
	} else {
		out.Since = begin(h, t)
	}
	switch {
	case t.EveryDays != nil:
		due := out.Since.Add(time.Duration(*t.EveryDays * 24 * float64(time.Hour)))
		out.DueTime = &due
		out.Left = due.Sub(h.At).Hours() / 24 / *t.EveryDays
	case t.EveryHours != nil:
		out.byHours(c, t)
	}
	switch {
	case out.Left <= 0:
		out.State = Overdue
	case out.Left <= dueShare:
		out.State = Due
	default:
		out.State = OK
	}
	return out
}

// byHours fills in what a task by running hours tells.
func (out *Task) byHours(c *counter, t plant.Task) {
	r := c.ran(t.Unit, out.Since, c.at)
	left := *t.EveryHours - r.Hours
	out.RanHours, out.DueHours, out.Left = &r.Hours, &left, left / *t.EveryHours
	switch {
	case !r.Known:
		out.Caution = "the log does not tell all the running since then: it may be more"
	case r.Jumped:
		out.Caution = "the hour meter fell or jumped: that stretch is counted from rounds and events"
	}
	if left > 0 {
		out.pace(c, t.Unit, left)
	}
}

// paceDays is how far back the pace of running is looked at.
const paceDays = 30

// paceMost is the most days ahead that a pace is worth telling.
const paceMost = 3650

// pace tells when the hours will be used up if the unit goes on running as it did over the last 30 days. A stretch of which the
// log does not tell all, or in which nothing ran, tells no pace.
func (out *Task) pace(c *counter, unit string, left float64) {
	r := c.ran(unit, c.at.AddDate(0, 0, -paceDays), c.at)
	if !r.Known || r.Hours <= 0 {
		return
	}
	day := r.Hours / paceDays
	if left/day > paceMost {
		return
	}
	about := c.at.Add(time.Duration(left / day * 24 * float64(time.Hour)))
	out.HoursADay, out.DueAbout = &day, &about
}

// begin is from when a task counts that was never done: the log's beginning, or when the task was added to the description.
func begin(h *record.History, t plant.Task) time.Time {
	first := len(h.Revisions)
	for first > 0 && holds(h.Revisions[first-1].Plant, t) {
		first--
	}
	if first > 0 && first < len(h.Revisions) {
		return h.Revisions[first].From
	}
	at := h.At
	if len(h.Revisions) > 0 {
		at = earlier(at, h.Revisions[0].From)
	}
	if len(h.Rounds) > 0 {
		at = earlier(at, h.Rounds[0].Time)
	}
	if !h.Begun.IsZero() {
		at = earlier(at, h.Begun)
	}
	return at
}

// holds reports whether a description has a task. One that could not be read is taken to have it.
func holds(p *plant.Plant, t plant.Task) bool {
	if p == nil {
		return true
	}
	for _, other := range p.Upkeep {
		if sameName(other.Task, t.Task) && other.Unit == t.Unit {
			return true
		}
	}
	return false
}

// Reach is how far back rounds and events are needed to count every task's running hours and their pace, and false where no task
// needs any.
func Reach(h *record.History) (from time.Time, needed bool) {
	for _, s := range stretches(h) {
		if !needed || s.from.Before(from) {
			from, needed = s.from, true
		}
	}
	return earlier(from, h.At.AddDate(0, 0, -paceDays)).AddDate(0, 0, -meterDays), needed
}

// Short reports whether a history leaves out what the tasks' running hours need (logbook.HistoryOptions.Upkeep).
func Short(h *record.History) bool {
	from, needed := Reach(h)
	if !needed || h.Complete || h.Earlier != nil {
		return false
	}
	// The first round may stand long before the others, because it says what ran.
	return len(h.Rounds) < 2 || from.Before(h.Rounds[1].Time)
}
