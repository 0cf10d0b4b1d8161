package upkeep

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/exp/golden"
	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/record"
)

// nearHours compares hours.
func nearHours(a, b float64) bool { return math.Abs(a-b) < 1e-6 }

// The hours of a stretch are those of its parts, wherever it is cut, by meter and without.
func TestHoursAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h, truth := drawLog(t, rapid.Bool().Draw(t, "meter"))
		cuts := []int{rapid.IntRange(0, len(truth)).Draw(t, "a"), rapid.IntRange(0, len(truth)).Draw(t, "b"), rapid.IntRange(0, len(truth)).Draw(t, "c")}
		slices.Sort(cuts)
		at := func(i int) time.Time { return start.Add(time.Duration(cuts[i]) * time.Hour) }
		c := newCounter(h)
		whole, one, two := c.ran("A", at(0), at(2)), c.ran("A", at(0), at(1)), c.ran("A", at(1), at(2))
		if !nearHours(whole.Hours, one.Hours+two.Hours) {
			t.Fatalf("%g h in all, %g and %g in parts", whole.Hours, one.Hours, two.Hours)
		}
	})
}

// Wherever a log is cut into what a history holds and what is earlier, its tasks stand the same.
func TestAnyCutIntoEarlierAndOwnIsTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h, _ := drawLog(t, rapid.Bool().Draw(t, "meter"))
		h.Plant = drawTasks(t)
		if len(h.Rounds) > 0 {
			h.Begun = h.Rounds[0].Time
		}
		want := byName(Report(h))
		cut := start.Add(time.Duration(rapid.IntRange(0, 30*24).Draw(t, "cut")) * time.Hour)
		part := *h
		part.Complete, part.Rounds, part.Events, part.Earlier = false, nil, nil, &record.Earlier{}
		for _, r := range h.Rounds {
			if r.Time.Before(cut) {
				part.Earlier.Rounds = append(part.Earlier.Rounds, r)
			} else {
				part.Rounds = append(part.Rounds, r)
			}
		}
		for _, e := range h.Events {
			if e.Time.Before(cut) {
				part.Earlier.Events = append(part.Earlier.Events, e)
			} else {
				part.Events = append(part.Events, e)
			}
		}
		for name, got := range byName(Report(&part)) {
			w := want[name]
			if got.State != w.State || !got.Since.Equal(w.Since) || math.Abs(got.Left-w.Left) > 1e-9 || got.Caution != w.Caution {
				t.Fatalf("%+v, the whole log says %+v", got, w)
			}
		}
	})
}

// Without a unit and without a meter of the plant's own, the longest of any unit counts, as the starting file says.
func TestNoUnitIsTheLongestOfAny(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := &record.History{At: day(30), Complete: true, Plant: units("A", "B", "C")}
		for i := range rapid.IntRange(1, 12).Draw(t, "rounds") {
			ids := rapid.SliceOfDistinct(rapid.SampledFrom([]string{"A", "B", "C"}), rapid.ID).Draw(t, "running")
			h.Rounds = append(h.Rounds, runs(float64(i)*2, ids...))
		}
		most := 0.0
		for _, u := range []string{"A", "B", "C"} {
			most = max(most, RunningHours(h, u, start).Hours)
		}
		if got := RunningHours(h, "", start); !nearHours(got.Hours, most) {
			t.Fatalf("%g h, the longest unit ran %g", got.Hours, most)
		}
	})
}

// Days are of 24 hours: an interval by days ends at the same distance whether or not the clock was changed in it. On 8 March 2026
// Halifax went from UTC-4 to UTC-3, so what was done on the 1st at 08:00 is due, 14 days later, at 09:00.
func TestDaysAcrossAClockChange(t *testing.T) {
	halifax, err := time.LoadLocation("America/Halifax")
	if err != nil {
		t.Skip("this computer has no time zones: ", err)
	}
	done := time.Date(2026, 3, 1, 8, 0, 0, 0, halifax)
	h := &record.History{At: time.Date(2026, 3, 15, 8, 30, 0, 0, halifax), Complete: true, Plant: tasks(plant.Task{Task: "crest", EveryDays: ptr(14.0)}),
		Rounds: []record.Round{{Time: done, Running: &[]string{"A"}}}, Done: []record.Done{{Time: done, Task: "crest"}}}
	got := Report(h).Tasks[0]
	if want := time.Date(2026, 3, 15, 9, 0, 0, 0, halifax); !got.DueTime.Equal(want) || got.State != Due {
		t.Errorf("due %s (%s), want %s", got.DueTime, got.State, want)
	}
	if r := RunningHours(h, "A", done); !nearHours(r.Hours, 14*24-1+0.5) {
		t.Errorf("%g running hours over 14 days of which one had 23", r.Hours)
	}
}

// At equal times events come before the round, and the round has the last word (contract.md, "Running is kept by unit").
func TestEventsAndRoundsOfOneInstant(t *testing.T) {
	h := &record.History{At: day(10), Plant: units("A"), Rounds: []record.Round{runs(0, "A"), runs(5, "A")},
		Events: []record.Event{{Time: day(5), Kind: record.Trip}}}
	if r := RunningHours(h, "A", start); !nearHours(r.Hours, 240) {
		t.Errorf("%g h", r.Hours)
	}
	h.Events = append(h.Events, record.Event{Time: day(7), Kind: record.Stop, Units: []string{"A"}}, record.Event{Time: day(8), Kind: record.Alarm})
	if r := RunningHours(h, "A", start); !nearHours(r.Hours, 168) {
		t.Errorf("%g h", r.Hours)
	}
}

// Whoever asks for a time before the log is told what the log does not know.
func TestBeforeTheLogNothingIsKnown(t *testing.T) {
	h := &record.History{At: day(10), Plant: units("A"), Rounds: []record.Round{runs(2, "A")}}
	if r := RunningHours(h, "A", day(-5)); r.Known || !nearHours(r.Hours, 8*24) {
		t.Errorf("%+v", r)
	}
	if r := RunningHours(h, "Z", day(3)); r.Hours != 0 {
		t.Errorf("a unit that the plant does not have ran %g h", r.Hours)
	}
	if r := RunningHours(&record.History{At: day(10)}, "A", day(3)); r.Hours != 0 {
		t.Errorf("a book without a plant: %+v", r)
	}
}

// The keys of the contract's `upkeep {tasks[{task, unit, due_time|due_hours, state: ok|due|overdue, last}]}`, and our own after
// them; what is not known is absent.
func TestJSONGolden(t *testing.T) {
	h := &record.History{At: day(30), Complete: true, Plant: tasks(
		plant.Task{Task: "grease", EveryHours: ptr(500.0), Unit: "A"}, plant.Task{Task: "crest", EveryDays: ptr(31.0)}, plant.Task{Task: "belts", EveryHours: ptr(100.0), Unit: "B"}),
		Rounds: []record.Round{runs(0, "A"), runs(10, "A", "B"), runs(20, "A")},
		Done:   []record.Done{{ID: "01KT8XRRM0HQH760ET8SGSTW08", Time: day(12), Task: "grease", By: "Ro", Note: "two strokes"}}}
	data, err := json.MarshalIndent(Report(h), "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	golden.RequireEqual(t, append(data, '\n'))
	for _, never := range []string{"null", "NaN"} {
		if strings.Contains(string(data), never) {
			t.Errorf("a missing value is written %s", never)
		}
	}
}

func TestNamesForgiveCaseAndBlanks(t *testing.T) {
	for _, c := range []struct {
		a, b string
		same bool
	}{{"Grease  A", " grease a", true}, {"grease A", "grease B", false}, {"", " ", true}, {"straße", "STRASSE", false}} {
		if got := sameName(c.a, c.b); got != c.same {
			t.Errorf("%q and %q: %v", c.a, c.b, got)
		}
	}
}

func TestTheNewestOfSeveralIsTheLast(t *testing.T) {
	at := func(id string, time, written float64) record.Done {
		return record.Done{ID: id, Time: day(time), WrittenAt: day(written), Task: "belts"}
	}
	for name, c := range map[string]struct {
		list []record.Done
		want string
	}{
		"by time":            {[]record.Done{at("a", 5, 9), at("b", 6, 7)}, "b"},
		"then by writing":    {[]record.Done{at("b", 5, 6), at("a", 5, 7)}, "a"},
		"then by id":         {[]record.Done{at("b", 5, 6), at("a", 5, 6)}, "b"},
		"one written early":  {[]record.Done{at("a", 6, 1), at("b", 5, 9)}, "a"},
		"the same at a time": {[]record.Done{at("a", 5, 5), at("c", 5, 5), at("b", 5, 5)}, "c"},
	} {
		for range 3 {
			c.list = append(c.list[1:], c.list[0])
			h := &record.History{At: day(10), Plant: tasks(plant.Task{Task: "belts", EveryDays: ptr(30.0)}), Done: c.list}
			if got := Report(h).Tasks[0].LastID; got != c.want {
				t.Errorf("%s: %s, want %s", name, got, c.want)
			}
		}
	}
}

// BenchmarkReport is ten years of three rounds a day with a task that was never done.
func BenchmarkReport(b *testing.B) {
	h := &record.History{At: day(3650), Complete: true, Plant: tasks(plant.Task{Task: "grease", EveryHours: ptr(500.0), Unit: "A"}, plant.Task{Task: "crest", EveryDays: ptr(31.0)})}
	for i := range 3 * 3650 {
		r := runs(float64(i)/3, "A")
		r.ID = fmt.Sprint(i)
		h.Rounds = append(h.Rounds, r)
	}
	for b.Loop() {
		if len(Report(h).Tasks) != 2 {
			b.Fatal("no tasks")
		}
	}
}
