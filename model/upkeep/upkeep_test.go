package upkeep

import (
	"math"
	"testing"
	"time"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

var start = time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC)

func ptr[T any](v T) *T { return &v }

func day(n float64) time.Time { return start.Add(time.Duration(n * 24 * float64(time.Hour))) }

func book(at time.Time, tasks ...plant.Task) *record.History {
	return &record.History{At: at, Complete: true, Plant: &plant.Plant{Units: []plant.Unit{{ID: "A"}, {ID: "B"}}, Upkeep: tasks},
		Rounds: []record.Round{{Time: start, Running: &[]string{"A"}}}}
}

func TestTaskByDays(t *testing.T) {
	task := plant.Task{Task: "check the crest", EveryDays: ptr(30.0)}
	for _, c := range []struct {
		name string
		at   float64
		want State
	}{
		{"just begun", 0, OK},
		{"more than a tenth left", 26.9, OK},
		{"a tenth left", 27, Due},
		{"the last minute", 29.999, Due},
		{"passed", 30, Overdue},
	} {
		got := Report(book(day(c.at), task)).Tasks[0]
		if got.State != c.want || got.DueTime == nil || !got.DueTime.Equal(day(30)) || got.DueHours != nil {
			t.Errorf("%s: %+v, want %s due %s", c.name, got, c.want, day(30))
		}
	}
}

func TestDoneStartsTheIntervalAgain(t *testing.T) {
	h := book(day(40), plant.Task{Task: "check the crest", EveryDays: ptr(30.0)})
	h.Done = []record.Done{{Time: day(20), Task: "check the crest", By: "Ro"}, {Time: day(35), Task: "another task", By: "Ro"}}
	got := Report(h).Tasks[0]
	if got.State != OK || !got.DueTime.Equal(day(50)) || got.Last == nil || !got.Last.Equal(day(20)) || got.LastBy != "Ro" {
		t.Errorf("%+v", got)
	}
}

// Whoever begins a book today still knows when the bearing was greased last.
func TestDoneBeforeTheLogBeganCounts(t *testing.T) {
	h := book(day(5), plant.Task{Task: "check the crest", EveryDays: ptr(30.0)})
	h.Done = []record.Done{{Time: day(-20), Task: "check the crest", By: "Ro"}}
	got := Report(h).Tasks[0]
	if got.State != OK || !got.DueTime.Equal(day(10)) || got.Last == nil || !got.Last.Equal(day(-20)) {
		t.Errorf("%+v", got)
	}
}

func TestTaskByRunningHours(t *testing.T) {
	grease := plant.Task{Task: "grease", EveryHours: ptr(500.0), Unit: "A"}
	h := book(day(20), grease) // A runs throughout: 480 h
	got := Report(h).Tasks[0]
	if math.Abs(*got.DueHours-20) > 1e-9 || got.State != Due || got.Caution != "" {
		t.Errorf("running throughout: %+v, %g h", got, *got.DueHours)
	}
	h.Events = []record.Event{{Time: day(5), Kind: record.Stop}, {Time: day(10), Kind: record.Start, Units: []string{"A"}}}
	if got := Report(h).Tasks[0]; math.Abs(*got.DueHours-140) > 1e-9 || got.State != OK {
		t.Errorf("five days stopped: %+v, %g h", got, *got.DueHours)
	}
	grease.Unit = "B"
	if got := Report(book(day(20), grease)).Tasks[0]; *got.DueHours != 500 {
		t.Errorf("unit B never ran: %g h left", *got.DueHours)
	}
}

func TestHourMeterCountsBeforeTheTimeline(t *testing.T) {
	h := book(day(20), plant.Task{Task: "grease", EveryHours: ptr(500.0), Unit: "A"})
	k := quantity.NewKey("A", quantity.Hours)
	for _, m := range []struct{ at, v float64 }{{1, 1000}, {6, 1090}, {11, 5}, {16, 65}} { // replaced between day 6 and 11
		h.Rounds = append(h.Rounds, record.Round{Time: day(m.at), Values: map[quantity.Key]float64{k: m.v}})
	}
	// 24 h before the meter's first reading and 96 h after its last are known to run; the meter counts 90 + 60 h between; over
	// the five days in which it was replaced the rounds say that A ran.
	r := RunningHours(h, "A", start)
	if want := 24.0 + 90 + 120 + 60 + 96; math.Abs(r.Hours-want) > 1e-9 || !r.Known || !r.Jumped {
		t.Errorf("ran %+v, want %g h", r, want)
	}
}

func TestUnknownRunningIsSaid(t *testing.T) {
	h := book(day(20), plant.Task{Task: "grease", EveryHours: ptr(500.0), Unit: "A"})
	h.Rounds[0].Running = nil
	if got := Report(h).Tasks[0]; got.Caution == "" || *got.DueHours != 500 {
		t.Errorf("nothing is known of the running: %+v", got)
	}
	h = book(day(20), plant.Task{Task: "grease", EveryHours: ptr(500.0), Unit: "A"})
	h.Complete, h.Done = false, []record.Done{{Time: day(-3), Task: "grease"}}
	h.Revisions = []record.Revision{{From: day(-10)}}
	if got := Report(h).Tasks[0]; got.Caution == "" {
		t.Errorf("the log begins after the task was done: %+v", got)
	}
}

func TestMostUrgentFirst(t *testing.T) {
	f := Report(book(day(29), plant.Task{Task: "yearly", EveryDays: ptr(365.0)}, plant.Task{Task: "weekly", EveryDays: ptr(7.0)}, plant.Task{Task: "monthly", EveryDays: ptr(30.0)}))
	var order []string
	for _, task := range f.Tasks {
		order = append(order, task.Task)
	}
	if len(order) != 3 || order[0] != "weekly" || order[1] != "monthly" || order[2] != "yearly" {
		t.Errorf("order %v", order)
	}
	if n := len(Report(&record.History{}).Tasks); n != 0 {
		t.Errorf("a book without a plant has %d tasks", n)
	}
}
