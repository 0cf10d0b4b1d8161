package logbook_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	bolt "go.etcd.io/bbolt"
	"pgregory.net/rapid"

	"example.org/headpond/logbook"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/upkeep"
)

// taskPlant is the test plant with tasks by hours and by days.
func taskPlant(t testing.TB) string {
	t.Helper()
	text := testPlant(t, "1.4")
	if i := strings.Index(text, "[[upkeep]]"); i >= 0 {
		text = text[:i]
	}
	return text + `
[[upkeep]]
task = "grease A"
every_hours = 500
unit = "A"
[[upkeep]]
task = "belts"
every_hours = 4000
[[upkeep]]
task = "crest"
every_days = 90
`
}

func TestHoursReachBackToTheLastGreasing(t *testing.T) {
	b := newBook(t)
	day := func(n int) time.Time { return noon.AddDate(0, 0, n) }
	must(b.AddPlant(t.Context(), taskPlant(t), day(-400), ""))(t)
	rounds := []record.Round{ran(day(-400), 1, "A")}
	for n := -399; n <= 0; n++ {
		rounds = append(rounds, level(day(n), 2))
	}
	addRounds(t, b, rounds...)
	must(b.AddDone(t.Context(), record.Done{Time: day(-300), Task: "grease A"}, ""))(t)
	must(b.AddDone(t.Context(), record.Done{Time: day(-10), Task: "belts"}, ""))(t)
	must(b.AddEvent(t.Context(), record.Event{Time: day(-290), Kind: record.Stop}, ""))(t)
	must(b.AddEvent(t.Context(), record.Event{Time: day(-280), Kind: record.Start, Units: []string{"A"}}, ""))(t)
	h := history(t, b, logbook.HistoryOptions{Upkeep: true})
	if h.Complete || h.Earlier == nil || !h.Begun.Equal(day(-400)) {
		t.Fatalf("complete %v, earlier %v, begun %s", h.Complete, h.Earlier, h.Begun)
	}
	for _, task := range upkeep.Report(h).Tasks {
		if want := 290.0 * 24; task.Task == "grease A" && (*task.RanHours != want || task.Caution != "") {
			t.Errorf("%g h since the greasing, want %g; %s", *task.RanHours, want, task.Caution)
		}
	}
	for _, r := range h.Earlier.Rounds {
		if len(r.Values) > 0 || r.Running == nil {
			t.Errorf("a round of %s that says nothing of hours is brought: %v", r.Time, r.Values)
		}
	}
	if h := history(t, b, logbook.HistoryOptions{}); h.Earlier != nil {
		t.Error("it was not asked for")
	}
}

func TestNothingEarlierIsReadWhereNothingNeedsIt(t *testing.T) {
	b := newBook(t)
	day := func(n int) time.Time { return noon.AddDate(0, 0, n) }
	addRounds(t, b, ran(day(-300), 1, "A"), ran(day(0), 2, "A"))
	if h := history(t, b, logbook.HistoryOptions{Upkeep: true}); h.Earlier != nil {
		t.Error("a book without a plant has no tasks")
	}
	must(b.AddPlant(t.Context(), taskPlant(t), day(-400), ""))(t)
	for _, task := range []string{"grease A", "belts"} {
		must(b.AddDone(t.Context(), record.Done{Time: day(-100), Task: task}, ""))(t)
	}
	if h := history(t, b, logbook.HistoryOptions{Upkeep: true}); h.Earlier != nil {
		t.Errorf("every task was done within the history: %+v", h.Earlier)
	}
	if h := history(t, b, logbook.HistoryOptions{Upkeep: true, All: true}); h.Earlier != nil || !h.Complete {
		t.Error("the whole book needs nothing from before")
	}
}

// Whatever stands in the book, and however little of it is read for everything else, the tasks stand as the whole book says.
func TestTasksStandAsTheWholeBookSays(t *testing.T) {
	text := taskPlant(t)
	hours := quantity.NewKey("A", quantity.Hours)
	n := 0
	dir := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		n++
		path := filepath.Join(dir, fmt.Sprintf("%d.book", n))
		clock := &testClock{noon}
		b, err := logbook.Create(t.Context(), path, logbook.Unsynced(logbook.Options{Clock: clock.Now, Location: halifax, Writer: writerID("alder"), Rand: seeded(path)}))
		if err != nil {
			t.Fatal(err)
		}
		defer os.Remove(path)
		ok := func(err error) {
			if err != nil {
				t.Fatal(err)
			}
		}
		ago := func(label string) time.Time {
			return noon.Add(-time.Duration(rapid.IntRange(0, 400*24).Draw(t, label)) * time.Hour)
		}
		ok(second(b.AddPlant(t.Context(), text, ago("plant"), "")))
		var rounds []record.Round
		for range rapid.IntRange(1, 30).Draw(t, "rounds") {
			r := level(ago("round"), 1)
			switch rapid.IntRange(0, 3).Draw(t, "says") {
			case 0:
				r.Running = &[]string{"A"}
			case 1:
				r.Running = &[]string{}
			case 2:
				r.Values[hours] = 9600 - noon.Sub(r.Time).Hours()*0.7
			}
			rounds = append(rounds, r)
		}
		ok(second(secondOf(b.AddRounds(t.Context(), rounds))))
		for range rapid.IntRange(0, 4).Draw(t, "events") {
			e := record.Event{Time: ago("event"), Kind: rapid.SampledFrom([]record.EventKind{record.Stop, record.Trip, record.Alarm}).Draw(t, "kind")}
			ok(second(b.AddEvent(t.Context(), e, "")))
		}
		for range rapid.IntRange(0, 3).Draw(t, "done") {
			ok(second(b.AddDone(t.Context(), record.Done{Time: ago("done at"), Task: rapid.SampledFrom([]string{"grease A", "belts", "crest"}).Draw(t, "task")}, "")))
		}
		whole, err := b.History(t.Context(), logbook.HistoryOptions{All: true})
		ok(err)
		part, err := b.History(t.Context(), logbook.HistoryOptions{Upkeep: true, Days: rapid.IntRange(1, 200).Draw(t, "days")})
		ok(err)
		if diff := cmp.Diff(upkeep.Report(whole), upkeep.Report(part), cmpopts.EquateApprox(0, 1e-6)); diff != "" {
			t.Fatalf("the whole book (-), a part (+):\n%s", diff)
		}
	})
}

func secondOf(_, _ int, err error) (int, error) { return 0, err }

// BenchmarkHistoryUpkeep is the dearest case: a task by hours that was never done counts from the first round. The first reading
// goes through the whole book and keeps rows of counted hours; those after it go on from there.
func BenchmarkHistoryUpkeep(b *testing.B) {
	atYears(b, func(b *testing.B, book *testBook) {
		if _, err := book.AddPlant(b.Context(), taskPlant(b), dusk.AddDate(-100, 0, 0), ""); err != nil {
			b.Fatal(err)
		}
		ask := func(b *testing.B) {
			h, err := book.History(b.Context(), logbook.HistoryOptions{Upkeep: true})
			if err != nil || h.Plant == nil || len(upkeep.Report(h).Tasks) != 3 {
				b.Fatal(err)
			}
		}
		b.Run("first", func(b *testing.B) {
			for b.Loop() {
				b.StopTimer()
				inBolt(b, book.Path(), false, func(tx *bolt.Tx) error { return tx.Bucket([]byte("headpond")).Delete([]byte("hours")) })
				b.StartTimer()
				ask(b)
			}
		})
		b.Run("again", func(b *testing.B) {
			for b.Loop() {
				ask(b)
			}
		})
	})
}
