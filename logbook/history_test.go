package logbook_test

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// level is a round that holds one number, by which tests tell rounds apart.
func level(at time.Time, v float64) record.Round {
	return record.Round{Time: at, Values: map[quantity.Key]float64{"pond_level_m": v}}
}

func ran(at time.Time, v float64, units ...string) record.Round {
	r := level(at, v)
	ids := append([]string{}, units...)
	r.Running = &ids
	return r
}

func addRounds(t testing.TB, b *testBook, rounds ...record.Round) {
	t.Helper()
	if _, _, err := b.AddRounds(t.Context(), rounds); err != nil {
		t.Fatal(err)
	}
}

func history(t testing.TB, b interface {
	History(context.Context, logbook.HistoryOptions) (*record.History, error)
}, o logbook.HistoryOptions) *record.History {
	t.Helper()
	h, err := b.History(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func levels(rounds []record.Round) string {
	var list []string
	for _, r := range rounds {
		list = append(list, fmt.Sprint(r.Values["pond_level_m"]))
	}
	return strings.Join(list, " ")
}

func kinds(events []record.Event) string {
	var list []string
	for _, e := range events {
		list = append(list, string(e.Kind))
	}
	return strings.Join(list, " ")
}

func TestHistoryWindow(t *testing.T) {
	b := newBook(t)
	day := func(n int) time.Time { return noon.AddDate(0, 0, n) }
	addRounds(t, b, ran(day(-300), 1, "A"), ran(day(-200), 2, "A", "B"), level(day(-150), 3), level(day(-100), 4), level(day(-10), 5))
	for _, e := range []record.Event{
		{Time: day(-290), Kind: record.ElementOut, Element: "E1"}, {Time: day(-250), Kind: record.Trip},
		{Time: day(-190), Kind: record.Stop, Units: []string{"B"}}, {Time: day(-20), Kind: record.Alarm},
	} {
		if _, err := b.AddEvent(t.Context(), e, ""); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := b.AddDone(t.Context(), record.Done{Time: day(-299), Task: "grease"}, ""); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		o              logbook.HistoryOptions
		rounds, events string
		complete       bool
	}{
		"120 days before the last round": {logbook.HistoryOptions{}, "2 4 5", "element-out stop alarm", false},
		"some days":                      {logbook.HistoryOptions{Days: 20}, "2 5", "element-out stop alarm", false},
		"from a time":                    {logbook.HistoryOptions{From: day(-199)}, "2 3 4 5", "element-out stop alarm", false},
		"all":                            {logbook.HistoryOptions{All: true}, "1 2 3 4 5", "element-out trip stop alarm", true},
		"at a time, before it":           {logbook.HistoryOptions{At: day(-101)}, "1 2 3", "element-out trip stop", false},
		"at the very second":             {logbook.HistoryOptions{At: day(-100), Days: 1}, "2 4", "element-out stop", false},
		"before everything":              {logbook.HistoryOptions{At: day(-301)}, "", "", true},
	} {
		t.Run(name, func(t *testing.T) {
			h := history(t, b, c.o)
			if got := levels(h.Rounds); got != c.rounds {
				t.Errorf("rounds %q, want %q", got, c.rounds)
			}
			if got := kinds(h.Events); got != c.events {
				t.Errorf("events %q, want %q", got, c.events)
			}
			if h.Complete != c.complete {
				t.Errorf("complete = %v", h.Complete)
			}
			if wantDone := !h.At.Before(day(-299)); wantDone != (len(h.Done) == 1) {
				t.Errorf("done = %v", h.Done)
			}
		})
	}
}

func TestRunningStateAtTheWindowsStartIsTheOneOfTheWholeBook(t *testing.T) {
	b := newBook(t)
	var rounds []record.Round
	for i := range 400 {
		r := level(noon.Add(time.Duration(i-400)*12*time.Hour), float64(i))
		if i%97 == 0 {
			r.Running = &[]string{"A"}
		}
		rounds = append(rounds, r)
	}
	addRounds(t, b, rounds...)
	for i, kind := range []record.EventKind{record.Stop, record.Start, record.Trip} {
		e := record.Event{Time: noon.AddDate(0, 0, -180+40*i), Kind: kind, Units: []string{"A"}}
		if _, err := b.AddEvent(t.Context(), e, ""); err != nil {
			t.Fatal(err)
		}
	}
	whole := history(t, b, logbook.HistoryOptions{All: true})
	for days := 1; days < 200; days += 13 {
		part := history(t, b, logbook.HistoryOptions{Days: days})
		at := noon.AddDate(0, 0, -days)
		want := record.NewTimeline([]string{"A", "B"}, whole.Rounds, whole.Events).At(at)
		equal(t, fmt.Sprintf("%d days", days), record.NewTimeline([]string{"A", "B"}, part.Rounds, part.Events).At(at), want)
	}
}

func TestLastTimeOfEachTaskIsKnownHoweverLongAgo(t *testing.T) {
	b := newBook(t)
	addRounds(t, b, level(noon, 1))
	for _, d := range []struct {
		daysAgo int
		task    string
	}{{900, "grease"}, {800, "belts"}, {700, "grease"}, {600, "grease"}, {30, "belts"}, {20, "belts"}} {
		if _, err := b.AddDone(t.Context(), record.Done{Time: noon.AddDate(0, 0, -d.daysAgo), Task: d.task}, ""); err != nil {
			t.Fatal(err)
		}
	}
	told := func(o logbook.HistoryOptions) string {
		var list []string
		for _, d := range history(t, b, o).Done {
			list = append(list, fmt.Sprint(d.Task, int(noon.Sub(d.Time).Hours()/24)))
		}
		return strings.Join(list, " ")
	}
	for want, o := range map[string]logbook.HistoryOptions{
		"belts800 grease600 belts30 belts20":                     {},
		"grease600 belts20":                                      {Days: 1},
		"grease900 belts800 grease700":                           {At: noon.AddDate(0, 0, -650)},
		"grease900 belts800 grease700 grease600 belts30 belts20": {All: true},
	} {
		if got := told(o); got != want {
			t.Errorf("%+v: %s, want %s", o, got, want)
		}
	}
}

func TestFutureRoundsAreLeftOutWithACaution(t *testing.T) {
	b := newBook(t)
	addRounds(t, b, level(noon.Add(-time.Hour), 1), level(noon.Add(time.Hour), 2), level(noon.AddDate(1, 0, 0), 3))
	h := history(t, b, logbook.HistoryOptions{})
	want := []string{"2 rounds dated in the future were left out, the first at 2026-02-03 13:00 -0400: check the clock of this computer, or correct their time"}
	equal(t, "cautions", h.Cautions, want)
	if got := levels(h.Rounds); got != "1" {
		t.Errorf("rounds %q", got)
	}
	if !h.Ahead.Equal(noon.Add(time.Hour)) || h.Damage != 0 {
		t.Errorf("the first round ahead is told as of %v, damage %d", h.Ahead, h.Damage)
	}
	h = history(t, b, logbook.HistoryOptions{At: noon.Add(2 * time.Hour)})
	if len(h.Cautions) > 0 || levels(h.Rounds) != "1 2" {
		t.Errorf("a time that was asked for: %q, cautions %q", levels(h.Rounds), h.Cautions)
	}
}

func TestClockThatFellBackIsSaidAndTheEntryKept(t *testing.T) {
	b := newBook(t)
	addRounds(t, b, level(noon, 1))
	b.clock.now = time.Date(2001, 1, 1, 0, 3, 0, 0, halifax)
	saved := must(b.AddRound(t.Context(), level(b.clock.now, 2), ""))(t)
	want := []string{"the clock of this computer says 2001-01-01 00:03 -0400, but an entry of the book was written at 2026-02-03 12:00 -0400: this clock is behind, or the one that it was written by was ahead; check this one; if it is right, say so with headpond check --clock-right; the entry is kept"}
	equal(t, "cautions of saving", saved.Cautions, want)
	if h := history(t, b, logbook.HistoryOptions{}); len(h.Cautions) != 2 || levels(h.Rounds) != "2" {
		t.Errorf("rounds %q, cautions %q", levels(h.Rounds), h.Cautions)
	}
	if h := history(t, b, logbook.HistoryOptions{At: noon}); levels(h.Rounds) != "1" {
		t.Errorf("rounds %q", levels(h.Rounds))
	}
	b.clock.now = noon.Add(time.Minute)
	if saved := must(b.AddRound(t.Context(), level(noon, 3), ""))(t); len(saved.Cautions) > 0 {
		t.Errorf("the clock is right again: %q", saved.Cautions)
	}
}

// An entry that was written by a clock years ahead would be cautioned about for years, were it not for a person's word.
func TestAClockThatIsTrustedIsCautionedAboutNoMore(t *testing.T) {
	b := newBook(t)
	b.clock.now = noon.AddDate(36, 0, 0) // the year wrong
	addRounds(t, b, level(noon, 1))
	b.clock.now = noon.Add(time.Minute)
	if h := history(t, b, logbook.HistoryOptions{}); len(h.Cautions) != 1 {
		t.Fatalf("cautions %q", h.Cautions)
	}
	before := bytesOf(t, b.Path())
	if _, err := must(logbook.Open(b.Path(), logbook.Options{Clock: b.clock.Now, ReadOnly: true}))(t).TrustClock(t.Context()); err == nil {
		t.Error("a book to be looked at was written to")
	}
	unchanged(t, "a refused word", before, b.Path())
	if was := must(b.TrustClock(t.Context()))(t); !was.Equal(noon.AddDate(36, 0, 0)) {
		t.Errorf("the latest writing was %s", was)
	}
	saved := must(b.AddRound(t.Context(), level(noon, 2), ""))(t)
	if h := history(t, b, logbook.HistoryOptions{}); len(h.Cautions)+len(saved.Cautions) != 0 || levels(h.Rounds) != "1 2" {
		t.Errorf("rounds %q, cautions %q, %q", levels(h.Rounds), h.Cautions, saved.Cautions)
	}
	before = bytesOf(t, b.Path())
	if was := must(b.TrustClock(t.Context()))(t); !was.IsZero() {
		t.Errorf("there was nothing to trust, and it says %s", was)
	}
	unchanged(t, "a word that says nothing", before, b.Path())
	b.clock.now = noon.Add(-time.Hour) // a clock that falls back is noticed as before
	if h := history(t, b, logbook.HistoryOptions{}); len(h.Cautions) != 2 {
		t.Errorf("cautions %q", h.Cautions)
	}
	if r := must(b.Check(t.Context(), nil))(t); !r.Sound() {
		t.Errorf("check: %+v", r)
	}
}

func TestEntriesOfOneSecondKeepTheOrderOfWriting(t *testing.T) {
	b := newBook(t)
	var want []string
	for i := range 40 {
		kind := record.Stop
		if i%2 == 1 {
			kind = record.Start
		}
		e := record.Event{Time: noon.Add(time.Duration(i) * time.Millisecond), Kind: kind, Units: []string{"A"}}
		saved := must(b.AddEvent(t.Context(), e, ""))(t)
		want = append(want, saved.Entry.ID)
	}
	var got []string
	for _, e := range history(t, b, logbook.HistoryOptions{All: true}).Events {
		got = append(got, e.ID)
	}
	equal(t, "ids", got, want)
}

func TestPlantRevisions(t *testing.T) {
	b := newBook(t)
	small, large := testPlant(t, "1.2"), testPlant(t, "2.4")
	for _, r := range []struct {
		text string
		from time.Time
	}{{large, noon}, {small, noon.AddDate(-1, 0, 0)}} {
		if _, err := b.AddPlant(t.Context(), r.text, r.from, "Imke"); err != nil {
			t.Fatal(err)
		}
	}
	revisions := must(b.Revisions(t.Context()))(t)
	if len(revisions) != 2 || revisions[0].Text != small || revisions[1].Text != large || revisions[1].By != "Imke" {
		t.Fatalf("revisions = %+v", revisions)
	}
	for at, want := range map[time.Time]string{noon: large, noon.Add(-time.Hour): small, noon.AddDate(-5, 0, 0): small} {
		h := history(t, b, logbook.HistoryOptions{At: at})
		screen := map[string]float64{small: 1.2, large: 2.4}[want]
		if h.Plant == nil || *h.Plant.Intake.ScreenM2 != screen {
			t.Errorf("at %v: plant %+v, want a screen of %g", at, h.Plant, screen)
		}
	}
}

func TestRoundsStreamsTheAskedRangeAndStopsWhenTold(t *testing.T) {
	b := newBook(t)
	var rounds []record.Round
	for i := range 5000 { // more than two batches
		rounds = append(rounds, level(noon.Add(time.Duration(i-5000)*time.Hour), float64(i)))
	}
	addRounds(t, b, rounds...)
	read := func(from, to time.Time) (first, last float64, n int) {
		err := b.Rounds(t.Context(), from, to, func(r record.Round) error {
			v := r.Values["pond_level_m"]
			if n == 0 {
				first = v
			} else if v != last+1 {
				t.Fatalf("%g after %g", v, last)
			}
			last, n = v, n+1
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		return first, last, n
	}
	if first, last, n := read(time.Time{}, time.Time{}); first != 0 || last != 4999 || n != 5000 {
		t.Errorf("all: %g to %g, %d", first, last, n)
	}
	if first, last, n := read(rounds[100].Time, rounds[200].Time); first != 100 || last != 199 || n != 100 {
		t.Errorf("from is included, to is not: %g to %g, %d", first, last, n)
	}
	stop := errors.New("pager closed")
	n := 0
	err := b.Rounds(t.Context(), time.Time{}, time.Time{}, func(record.Round) error {
		if n++; n == 3 {
			return stop
		}
		return nil
	})
	if err != stop || n != 3 {
		t.Errorf("error %v after %d rounds", err, n)
	}
	ctx, cancel := context.WithCancel(t.Context())
	err = b.Rounds(ctx, time.Time{}, time.Time{}, func(record.Round) error { cancel(); return nil })
	if !errors.Is(err, context.Canceled) {
		t.Errorf("given up: %v", err)
	}
}

func TestALongReadTellsHowFarItIsAndCanBeGivenUp(t *testing.T) {
	b := newBook(t)
	var rounds []record.Round
	for i := range 3000 {
		rounds = append(rounds, level(noon.Add(time.Duration(i-3000)*time.Hour), float64(i)))
	}
	addRounds(t, b, rounds...)
	var told []int
	if h := history(t, b, logbook.HistoryOptions{All: true, Progress: func(n int) { told = append(told, n) }}); len(h.Rounds) != 3000 {
		t.Fatalf("%d rounds", len(h.Rounds))
	}
	if len(told) != 2 || told[0] != 1024 || told[1] != 2048 {
		t.Errorf("told of %v entries", told)
	}
	ctx, cancel := context.WithCancel(t.Context())
	told = nil
	_, err := b.History(ctx, logbook.HistoryOptions{All: true, Progress: func(n int) { told = append(told, n); cancel() }})
	if !errors.Is(err, context.Canceled) || len(told) != 1 {
		t.Errorf("given up: %v after %v", err, told)
	}
}

func TestNoLockIsHeldWhileRoundsAreHandedOut(t *testing.T) {
	b := newBook(t)
	addRounds(t, b, level(noon, 1), level(noon.Add(time.Second), 2))
	err := b.Rounds(t.Context(), time.Time{}, time.Time{}, func(r record.Round) error {
		_, err := b.AddRound(t.Context(), level(noon.Add(-time.Hour), 3), "")
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// What is dated after the moment is kept apart, where it is asked for, so that a wrong time can be corrected.
func TestWhatIsDatedInTheFutureIsKeptApart(t *testing.T) {
	b := newBook(t)
	addRounds(t, b, level(noon.Add(-time.Hour), 1), level(noon.Add(time.Hour), 2))
	must(b.AddEvent(t.Context(), record.Event{Time: noon.Add(time.Minute), Kind: record.Trip}, ""))(t)
	h := history(t, b, logbook.HistoryOptions{Later: true})
	if levels(h.Rounds) != "1" || len(h.Events) != 0 || h.Later == nil || levels(h.Later.Rounds) != "2" || len(h.Later.Events) != 1 {
		t.Fatalf("%q, %v, later %+v", levels(h.Rounds), h.Events, h.Later)
	}
	if next := h.Later.Next(); !next.Equal(noon.Add(time.Minute)) {
		t.Errorf("the next comes at %v", next)
	}
	if h := history(t, b, logbook.HistoryOptions{Later: true, At: noon.Add(2 * time.Hour)}); h.Later != nil || levels(h.Rounds) != "1 2" {
		t.Errorf("afterwards %+v", h.Later)
	}
	if h := history(t, b, logbook.HistoryOptions{}); h.Later != nil {
		t.Error("it is read unasked")
	}
}
