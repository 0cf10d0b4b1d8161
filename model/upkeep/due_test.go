package upkeep

import (
	"fmt"
	"math/rand"
	"reflect"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/record"
)

func tasks(list ...plant.Task) *plant.Plant {
	p := units("A", "B")
	p.Upkeep = list
	return p
}

// A task that was put into the description later counts from then: nobody could have done it before.
func TestANewTaskCountsFromWhenItWasAdded(t *testing.T) {
	old, grease := plant.Task{Task: "belts", EveryDays: ptr(30.0)}, plant.Task{Task: "Grease A", EveryHours: ptr(500.0), Unit: "A"}
	p := tasks(old, grease)
	h := &record.History{At: day(100), Complete: true, Plant: p, Rounds: []record.Round{runs(0, "A")}, Revisions: []record.Revision{
		{From: day(10), Plant: tasks(old)}, {From: day(40), Plant: tasks(plant.Task{Task: "grease  a", EveryHours: ptr(500.0), Unit: "A"})},
		{From: day(60), Plant: tasks(grease)}, {From: day(90), Plant: p}}}
	for _, got := range Report(h).Tasks {
		want := map[string]time.Time{"belts": day(90), "Grease A": day(40)}[got.Task] // belts were out of it from day 40 to 90
		if !got.Since.Equal(want) {
			t.Errorf("%s counts from %s, want %s", got.Task, got.Since, want)
		}
	}
	h.Revisions = h.Revisions[3:]
	if got := Report(h).Tasks[0]; !got.Since.Equal(day(0)) {
		t.Errorf("the first description holds for all earlier times, but it counts from %s", got.Since)
	}
	h.Begun = day(-50)
	if got := Report(h).Tasks[0]; !got.Since.Equal(day(-50)) {
		t.Errorf("the book began on day -50, but it counts from %s", got.Since)
	}
}

func TestTasksOfOneNameAreToldApartByTheirUnit(t *testing.T) {
	a, b := plant.Task{Task: "grease", EveryDays: ptr(30.0), Unit: "A"}, plant.Task{Task: "Grease", EveryDays: ptr(30.0), Unit: "B"}
	p := tasks(a, b, plant.Task{Task: "belts", EveryDays: ptr(30.0), Unit: "A"})
	h := &record.History{At: day(40), Complete: true, Plant: p, Rounds: []record.Round{runs(0, "A")}, Done: []record.Done{
		{ID: "1", Time: day(5), Task: "grease"}, {ID: "2", Time: day(35), Task: "GREASE, unit B", By: "Ro", Note: "two strokes"}}}
	for _, got := range Report(h).Tasks {
		switch got.Task {
		case "grease, unit A":
			if got.LastID != "1" || got.State != Overdue {
				t.Errorf("%+v", got)
			}
		case "Grease, unit B":
			if got.LastID != "2" || got.State != OK || got.LastBy != "Ro" || got.LastNote != "two strokes" {
				t.Errorf("%+v", got)
			}
		case "belts":
			if got.Last != nil {
				t.Errorf("%+v", got)
			}
		default:
			t.Errorf("a task %q", got.Task)
		}
	}
}

// A checklist that was walked to its end is the task of its name done; one that was broken off is not.
func TestAWalkedListIsATaskDone(t *testing.T) {
	h := &record.History{At: day(40), Plant: tasks(plant.Task{Task: "Clearing the screen", EveryDays: ptr(7.0)}), Rounds: []record.Round{runs(0, "A")}}
	walk := func(at float64, states ...record.TickState) record.Done {
		w := &record.Walk{}
		for _, s := range states {
			w.Ticks = append(w.Ticks, record.Tick{Step: "x", State: s})
		}
		return record.Done{ID: fmt.Sprint(at), Time: day(at), Task: "clearing the screen", Walk: w}
	}
	h.Done = []record.Done{walk(30, record.TickDone, record.TickSkipped), walk(38, record.TickDone, record.TickOpen)}
	if got := Report(h).Tasks[0]; got.LastID != "30" || got.State != Overdue {
		t.Errorf("%+v", got)
	}
	if list := Done(h, "Clearing the Screen"); len(list) != 1 {
		t.Errorf("%+v", list)
	}
}

func TestTakenBackIsNotDone(t *testing.T) {
	h := &record.History{At: day(40), Plant: tasks(plant.Task{Task: "belts", EveryDays: ptr(30.0)}), Rounds: []record.Round{runs(0, "A")},
		Done: []record.Done{{ID: "1", Time: day(20), Task: "belts"}, {ID: "2", Time: day(39), Task: ""}}}
	if got := Report(h).Tasks[0]; got.LastID != "1" {
		t.Errorf("%+v", got)
	}
}

// By hand: 20 h a day over the last 30 days, 100 h left of 500: five days.
func TestPace(t *testing.T) {
	h := &record.History{At: day(30), Complete: true, Plant: tasks(plant.Task{Task: "grease", EveryHours: ptr(500.0), Unit: "A"}),
		Rounds: []record.Round{meter(0, "A", 1000), meter(10, "A", 1200), meter(30, "A", 1600)},
		Done:   []record.Done{{Time: day(10), Task: "grease"}}}
	got := Report(h).Tasks[0]
	if got.HoursADay == nil || *got.HoursADay != 20 || got.DueAbout == nil || !got.DueAbout.Equal(day(35)) || *got.RanHours != 400 {
		t.Errorf("%+v", got)
	}
	h.Rounds = []record.Round{runs(25, "A")}
	if got := Report(h).Tasks[0]; got.HoursADay != nil || got.DueAbout != nil {
		t.Errorf("a pace from five days of thirty: %+v", got)
	}
	h.Rounds = []record.Round{runs(0)}
	if got := Report(h).Tasks[0]; got.HoursADay != nil || got.DueAbout != nil || got.State != OK {
		t.Errorf("a pace of a plant that stands: %+v", got)
	}
	h.Rounds, h.Done = []record.Round{meter(0, "A", 1000), meter(10, "A", 1200), meter(30, "A", 1600)}, nil
	if got := Report(h).Tasks[0]; got.HoursADay != nil || got.State != Overdue {
		t.Errorf("what is overdue needs no pace: %+v", got)
	}
}

func TestReach(t *testing.T) {
	days, hours := plant.Task{Task: "crest", EveryDays: ptr(30.0)}, plant.Task{Task: "grease", EveryHours: ptr(500.0), Unit: "A"}
	h := &record.History{At: day(200), Begun: day(-300), Plant: tasks(days), Rounds: []record.Round{runs(80, "A"), runs(90, "A")}}
	if _, needed := Reach(h); needed {
		t.Error("a task by days needs no hours")
	}
	if _, needed := Reach(&record.History{}); needed {
		t.Error("a book without a plant needs none")
	}
	h.Plant = tasks(days, hours)
	if from, needed := Reach(h); !needed || !from.Equal(day(-300-meterDays)) || !Short(h) {
		t.Errorf("never done: %s %v, short %v", from, needed, Short(h))
	}
	h.Done = []record.Done{{Time: day(195), Task: "grease"}}
	if from, _ := Reach(h); !from.Equal(day(200-paceDays-meterDays)) || Short(h) {
		t.Errorf("done five days ago, the pace of thirty: %s, short %v", from, Short(h))
	}
	h.Done[0].Time = day(50)
	if from, _ := Reach(h); !from.Equal(day(50-meterDays)) || !Short(h) {
		t.Errorf("done before the history begins: %s, short %v", from, Short(h))
	}
	h.Complete = true
	if Short(h) {
		t.Error("a whole book lacks nothing")
	}
}

func drawTasks(t *rapid.T) *plant.Plant {
	p := units("A")
	for i := range rapid.IntRange(1, 4).Draw(t, "tasks") {
		task := plant.Task{Task: fmt.Sprint("task ", i)}
		if rapid.Bool().Draw(t, "by hours") {
			task.EveryHours, task.Unit = ptr(float64(rapid.IntRange(1, 900).Draw(t, "hours"))), rapid.SampledFrom([]string{"", "A"}).Draw(t, "unit")
		} else {
			task.EveryDays = ptr(float64(rapid.IntRange(1, 60).Draw(t, "days")))
		}
		p.Upkeep = append(p.Upkeep, task)
	}
	return p
}

func drawDone(t *rapid.T, p *plant.Plant, label string) record.Done {
	return record.Done{ID: fmt.Sprint(label, rapid.IntRange(0, 1<<30).Draw(t, "id")), Time: start.Add(time.Duration(rapid.IntRange(0, 30*24).Draw(t, "at")) * time.Hour),
		WrittenAt: start.Add(time.Duration(rapid.IntRange(0, 40).Draw(t, "written")) * time.Hour), Task: rapid.SampledFrom(p.Upkeep).Draw(t, "task").Task}
}

// Doing a task now makes it ok with its whole interval before it, and leaves every other task as it stands.
func TestDoneResetsItsTaskAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h, _ := drawLog(t, rapid.Bool().Draw(t, "meter"))
		h.Plant = drawTasks(t)
		for range rapid.IntRange(0, 3).Draw(t, "done before") {
			h.Done = append(h.Done, drawDone(t, h.Plant, "d"))
		}
		before := byName(Report(h))
		task := rapid.SampledFrom(h.Plant.Upkeep).Draw(t, "now").Task
		h.Done = append(h.Done, record.Done{ID: "now", Time: h.At, WrittenAt: h.At.Add(100 * time.Hour), Task: task})
		for name, now := range byName(Report(h)) {
			switch {
			case name != task:
				if diff := cmp.Diff(before[name], now); diff != "" {
					t.Fatalf("%s changed: %s", name, diff)
				}
			case now.State != OK || now.Left != 1 || now.LastID != "now":
				t.Fatalf("%+v", now)
			}
		}
	})
}

func byName(f Facts) map[string]Task {
	m := map[string]Task{}
	for _, t := range f.Tasks {
		m[t.Task] = t
	}
	return m
}

// In whichever order entries come together, the tasks stand the same.
func TestTheOrderOfEntriesMakesNoDifference(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h, _ := drawLog(t, rapid.Bool().Draw(t, "meter"))
		h.Plant = drawTasks(t)
		for range rapid.IntRange(0, 6).Draw(t, "done") {
			h.Done = append(h.Done, drawDone(t, h.Plant, "d"))
		}
		want := Report(h)
		r := rand.New(rand.NewSource(rapid.Int64().Draw(t, "seed")))
		h.Done, h.Events = slices.Clone(h.Done), slices.Clone(h.Events)
		r.Shuffle(len(h.Done), reflect.Swapper(h.Done))
		r.Shuffle(len(h.Events), reflect.Swapper(h.Events))
		if diff := cmp.Diff(want, Report(h)); diff != "" {
			t.Fatal(diff)
		}
	})
}

// As time goes on without a task being done, it never becomes less urgent.
func TestLeftNeverGrowsByWaiting(t *testing.T) {
	rank := map[State]int{OK: 0, Due: 1, Overdue: 2}
	rapid.Check(t, func(t *rapid.T) {
		h, _ := drawLog(t, rapid.Bool().Draw(t, "meter"))
		h.Plant = drawTasks(t)
		before := byName(Report(h))
		h.At = h.At.Add(time.Duration(rapid.IntRange(0, 2000).Draw(t, "wait")) * time.Hour)
		for name, now := range byName(Report(h)) {
			if was := before[name]; now.Left > was.Left+1e-9 || rank[now.State] < rank[was.State] {
				t.Fatalf("%s was %+v, is %+v", name, was, now)
			}
		}
	})
}

// The state is what the share that is left says. What is overdue stands first, then what is due, then the rest: of what is overdue the
// one that is most over its interval, of the others the one that a calendar has first.
func TestStateAndOrderFollowWhatIsLeft(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h, _ := drawLog(t, false)
		h.Plant = drawTasks(t)
		f := Report(h)
		for i, task := range f.Tasks {
			want := OK
			switch {
			case task.Left <= 0:
				want = Overdue
			case task.Left <= 0.1:
				want = Due
			}
			if task.State != want || (task.DueTime == nil) == (task.DueHours == nil) {
				t.Fatalf("%d: %+v", i, task)
			}
			if i == 0 {
				continue
			}
			was := f.Tasks[i-1]
			rank := map[State]int{Overdue: 0, Due: 1, OK: 2}
			switch {
			case rank[was.State] > rank[task.State]:
				t.Fatalf("%s (%s) stands before %s (%s)", was.Task, was.State, task.Task, task.State)
			case was.State != task.State:
			case task.State == Overdue && was.Left > task.Left, task.State != Overdue && comesBy(h.At, was).After(comesBy(h.At, task)):
				t.Fatalf("%+v stands before %+v", was, task)
			}
		}
	})
}

// comesBy is when the task's keys say that it comes: without a pace of running hours, as if its unit ran on without a stop.
func comesBy(at time.Time, task Task) time.Time {
	switch {
	case task.DueTime != nil:
		return *task.DueTime
	case task.DueAbout != nil:
		return *task.DueAbout
	}
	return at.Add(time.Duration(*task.DueHours * float64(time.Hour)))
}
