package logbook_test

import (
	"flag"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/logbook"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// hoursKeeper does what people do to books over some years, in any order. The invariant: with whatever rows a book has, its tasks
// stand as all its entries say.
type hoursKeeper struct {
	t      *rapid.T
	dir    string
	plants [2]string
	clock  *testClock
	books  []*logbook.Book
	ids    [][]string
	used   map[int]bool // books that the last step took part in
	n      int
}

func (k *hoursKeeper) must(err error) {
	k.t.Helper()
	if err != nil {
		k.t.Fatal(err)
	}
}

func (k *hoursKeeper) options() logbook.Options {
	k.n++
	return logbook.FineHours(logbook.Unsynced(logbook.Options{Clock: k.clock.Now, Location: halifax, Writer: writerID(strconv.Itoa(k.n)), Rand: seeded("hours" + strconv.Itoa(k.n))}), 2)
}

func (k *hoursKeeper) path() string { return filepath.Join(k.dir, strconv.Itoa(k.n)+".book") }

func (k *hoursKeeper) pick() int {
	i := rapid.IntRange(0, len(k.books)-1).Draw(k.t, "book")
	k.used[i] = true
	return i
}

func (k *hoursKeeper) when() time.Time {
	hours := rapid.OneOf(rapid.IntRange(0, 24*5), rapid.IntRange(0, 24*1000)).Draw(k.t, "hours ago")
	return k.clock.now.Add(-time.Duration(hours) * time.Hour)
}

func (k *hoursKeeper) round(at time.Time) record.Round {
	r := record.Round{Time: at, Values: map[quantity.Key]float64{"volts": 240}}
	if rapid.IntRange(0, 2).Draw(k.t, "running read") > 0 {
		ids := rapid.SliceOfDistinct(rapid.SampledFrom([]string{"A", "B"}), rapid.ID).Draw(k.t, "running")
		r.Running = &ids
	}
	for _, m := range []quantity.Key{"hours", "A.hours", "B.hours"} {
		switch rapid.IntRange(0, 8).Draw(k.t, string(m)) {
		case 0, 1:
			r.Values[m] = 20000 + at.Sub(noon).Hours()*0.7
		case 2:
			r.Values[m] = float64(rapid.IntRange(0, 20000).Draw(k.t, "slip"))
		}
	}
	return r
}

func (k *hoursKeeper) Rounds() {
	i := k.pick()
	for range rapid.IntRange(1, 8).Draw(k.t, "rounds") {
		saved, err := k.books[i].AddRound(k.t.Context(), k.round(k.when()), "")
		k.must(err)
		k.ids[i] = append(k.ids[i], saved.Entry.ID)
	}
}

// Walks lets weeks and months pass.
func (k *hoursKeeper) Walks() {
	i := k.pick()
	for range rapid.IntRange(1, 12).Draw(k.t, "walks") {
		k.clock.advance(time.Duration(rapid.IntRange(1, 40*24).Draw(k.t, "wait")) * time.Hour)
		saved, err := k.books[i].AddRound(k.t.Context(), k.round(k.clock.now), "")
		k.must(err)
		k.ids[i] = append(k.ids[i], saved.Entry.ID)
	}
}

func (k *hoursKeeper) Event() {
	i := k.pick()
	e := record.Event{Time: k.when(), Kind: rapid.SampledFrom([]record.EventKind{record.Start, record.Stop, record.Trip, record.Alarm}).Draw(k.t, "kind")}
	if e.Kind == record.Start || rapid.Bool().Draw(k.t, "one") {
		e.Units = []string{rapid.SampledFrom([]string{"A", "B"}).Draw(k.t, "of")}
	}
	saved, err := k.books[i].AddEvent(k.t.Context(), e, "")
	k.must(err)
	k.ids[i] = append(k.ids[i], saved.Entry.ID)
}

func (k *hoursKeeper) Done() {
	i := k.pick()
	saved, err := k.books[i].AddDone(k.t.Context(), record.Done{Time: k.when(), Task: rapid.SampledFrom([]string{"grease A", "belts", "grease B"}).Draw(k.t, "task")}, "")
	k.must(err)
	k.ids[i] = append(k.ids[i], saved.Entry.ID)
}

func (k *hoursKeeper) Amend() {
	i := k.pick()
	if len(k.ids[i]) == 0 {
		return
	}
	changes := rapid.SampledFrom([]map[string]string{
		{"time": k.when().Format(time.RFC3339)}, {"running": "A"}, {"running": "none"}, {"running": "-"}, {"A.hours": "12000"}, {"A.hours": "-"},
		{"hours": "100"}, {"task": "-"}, {"task": "belts"}, {"kind": "start", "unit": "A"}, {"kind": "trip"}, {"kind": "alarm"}, {"note": "x"},
	}).Draw(k.t, "changes")
	// What an entry has no column for, or says already, is refused; that is tested elsewhere.
	_, _ = k.books[i].Amend(k.t.Context(), rapid.SampledFrom(k.ids[i]).Draw(k.t, "target"), changes, "misread", "Ro", "")
}

func (k *hoursKeeper) Plant() {
	_, err := k.books[k.pick()].AddPlant(k.t.Context(), rapid.SampledFrom(k.plants[:]).Draw(k.t, "plant"), k.when(), "Ro")
	k.must(err)
}

func (k *hoursKeeper) Copy() {
	if len(k.books) > 2 {
		return
	}
	i, o := k.pick(), k.options()
	data, err := os.ReadFile(k.books[i].Path())
	k.must(err)
	k.must(os.WriteFile(k.path(), data, 0o600))
	b, err := logbook.Open(k.path(), o)
	k.must(err)
	k.books, k.ids = append(k.books, b), append(k.ids, slices.Clone(k.ids[i]))
}

func (k *hoursKeeper) Merge() {
	i, j := k.pick(), k.pick()
	_, _, err := k.books[i].Merge(k.t.Context(), k.books[j].Path())
	k.must(err)
	k.ids[i] = append(k.ids[i], k.ids[j]...)
}

// Ask leaves rows behind, where the question is about now.
func (k *hoursKeeper) Ask() {
	o := logbook.HistoryOptions{Days: rapid.SampledFrom([]int{0, 1, 30, 200}).Draw(k.t, "days")}
	if rapid.IntRange(0, 3).Draw(k.t, "as it was") == 0 {
		o.At = k.when()
	}
	asTheWholeBook(k.t, k.t.Context(), "asked", k.books[k.pick()], o)
}

// invariant asks those books that the step took part in, without leaving anything behind.
func (k *hoursKeeper) invariant(step string) {
	for i := range k.used {
		seen, err := logbook.Open(k.books[i].Path(), logbook.FineHours(logbook.Options{Clock: k.clock.Now, Location: halifax, ReadOnly: true}, 2))
		k.must(err)
		asTheWholeBook(k.t, k.t.Context(), "after "+step, seen, logbook.HistoryOptions{})
	}
	clear(k.used)
}

// A long run is made with -rapid.checks; the usual run makes fewer, for each writes to the disk some dozens of times.
func TestCountedHoursAreAsAllEntriesSay(t *testing.T) {
	if f := flag.Lookup("rapid.checks"); f.Value.String() == f.DefValue {
		if err := f.Value.Set("40"); err != nil {
			t.Fatal(err)
		}
		defer func() { _ = f.Value.Set(f.DefValue) }()
	}
	plants := [2]string{hoursPlant(t, 1), hoursPlant(t, 2)}
	used := 0 // how often rows were there to go on from
	rapid.Check(t, func(rt *rapid.T) {
		k := &hoursKeeper{t: rt, dir: t.TempDir(), plants: plants, clock: &testClock{noon}, used: map[int]bool{}}
		o := k.options()
		b, err := logbook.Create(rt.Context(), k.path(), o)
		k.must(err)
		k.books, k.ids = append(k.books, b), append(k.ids, nil)
		_, err = b.AddPlant(rt.Context(), rapid.SampledFrom(plants[:]).Draw(rt, "first plant"), noon.AddDate(-3, 0, 0), "")
		k.must(err)
		k.Rounds()
		steps := []struct {
			name string
			do   func()
		}{{"rounds", k.Rounds}, {"walks", k.Walks}, {"walks", k.Walks}, {"an event", k.Event}, {"done", k.Done}, {"a correction", k.Amend}, {"a correction", k.Amend},
			{"a plant", k.Plant}, {"a copy", k.Copy}, {"a merge", k.Merge}, {"a question", k.Ask}, {"a question", k.Ask}, {"a question", k.Ask}}
		for range rapid.IntRange(3, 25).Draw(rt, "steps") {
			s := rapid.SampledFrom(steps).Draw(rt, "step")
			s.do()
			k.invariant(s.name)
		}
		for _, b := range k.books {
			h, err := b.History(rt.Context(), logbook.HistoryOptions{Upkeep: true})
			k.must(err)
			if h.Earlier != nil && h.Earlier.Counted != nil {
				used++
			}
			report, err := b.Check(rt.Context(), nil)
			k.must(err)
			if !report.Sound() {
				rt.Fatalf("check finds %+v", report)
			}
		}
	})
	if !t.Failed() && used == 0 {
		t.Error("no book ever had rows to go on from: the test would find nothing")
	}
}
