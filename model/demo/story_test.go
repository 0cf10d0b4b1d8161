package demo

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/tolerance"
	"example.org/headpond/model/upkeep"
)

// everywhere runs a check on stories of every season and of several seeds.
func everywhere(t *testing.T, check func(t *testing.T, s *Story)) {
	t.Helper()
	for i, end := range ends() {
		for _, seed := range []uint64{Seed, uint64(100 + i)} {
			t.Run(fmt.Sprintf("%s/seed %d", end, seed), func(t *testing.T) { check(t, told(t, seed, end)) })
		}
	}
}

// The ingredients that the issue asks for, each of them in every season.
func TestEveryStoryHasTheOrdinaryLife(t *testing.T) {
	everywhere(t, func(t *testing.T, s *Story) {
		n := kinds(s)
		at := map[string]bool{
			"two trips":                     n[record.Trip] == 2,
			"restarts":                      n[record.Start] >= 5,
			"stops":                         n[record.Stop] >= 4,
			"an alarm":                      n[record.Alarm] == 1,
			"one element out and back":      n[record.ElementOut] == 1 && n[record.ElementIn] == 1 && n[record.Repair] == 1,
			"notes":                         n[record.NoteEvent] == 3,
			"three corrections":             len(s.Amendments) == 3,
			"clearings with both pressures": count(s, func(r *record.Round) bool { return has(r, keyBefore) && has(r, keyAfter) }) >= 5,
			"late rounds":                   count(s, func(r *record.Round) bool { return r.WrittenAt.Sub(r.Time) > 6*time.Hour }) >= 3,
			"a pressure in psi":             count(s, func(r *record.Round) bool { return r.Typed[keyPressure] != "" }) >= 1,
			"a confirmed slip":              count(s, func(r *record.Round) bool { return r.Confirmed && r.Values[keyVolts] == 2411 }) == 1,
			"readings left out": count(s, func(r *record.Round) bool {
				return (!has(r, keyShare) || !has(r, keyLevel) || !has(r, keyPressure)) && r.Running != nil && len(*r.Running) > 0
			}) >= 1,
			"rounds missed":        len(s.Rounds) < 2*days,
			"spill":                moments(s, func(m *moment) bool { return m.levelM > 0.10 }) >= 6,
			"both sets":            moments(s, func(m *moment) bool { return len(m.running) == 2 }) >= 15,
			"the small set alone":  moments(s, func(m *moment) bool { return slices.Equal(m.running, []string{small}) }) >= 20,
			"the pond drawn down":  moments(s, func(m *moment) bool { return m.levelM < -0.6 }) >= 4,
			"no stop level passed": moments(s, func(m *moment) bool { return m.levelM < -0.85 }) == 0,
			"frequency high before the trip": count(s, func(r *record.Round) bool {
				return r.Values[keyHertz] > 61.2
			}) >= 1,
		}
		for what, ok := range at {
			if !ok {
				t.Errorf("missing: %s", what)
			}
		}
	})
}

func count(s *Story, is func(*record.Round) bool) int {
	n := 0
	for i := range s.Rounds {
		if is(&s.Rounds[i]) {
			n++
		}
	}
	return n
}

func moments(s *Story, is func(*moment) bool) int {
	n := 0
	for i := range s.truth {
		if is(&s.truth[i]) {
			n++
		}
	}
	return n
}

func has(r *record.Round, k quantity.Key) bool { _, ok := r.Values[k]; return ok }

func TestTimesAreInOrderAndNoneInTheFuture(t *testing.T) {
	everywhere(t, func(t *testing.T, s *Story) {
		var last time.Time
		for i, r := range s.Rounds {
			if !r.Time.After(last) || r.WrittenAt.Before(r.Time) || r.WrittenAt.After(s.End) {
				t.Errorf("round %d of %v written at %v, after one of %v", i, r.Time, r.WrittenAt, last)
			}
			last = r.Time
		}
		if before := s.End.Sub(last); before < 2*time.Hour || before > 3*time.Hour {
			t.Errorf("the last round is %v before the end", before)
		}
		if len(s.Rounds) < 220 || len(s.Rounds) > 2*days+1 {
			t.Errorf("%d rounds", len(s.Rounds))
		}
		for _, e := range s.Events {
			if e.WrittenAt.Before(e.Time) || e.WrittenAt.After(s.End) || e.Time.Before(s.Revision.From) {
				t.Errorf("%s of %v written at %v", e.Kind, e.Time, e.WrittenAt)
			}
		}
		for _, d := range s.Done {
			if d.WrittenAt.Before(d.Time) || d.WrittenAt.After(s.End) {
				t.Errorf("%s of %v written at %v", d.Task, d.Time, d.WrittenAt)
			}
		}
		for _, a := range s.Amendments {
			if !a.At.After(s.Rounds[a.Round].WrittenAt) || a.At.After(s.End) || a.Why == "" || a.By == "" {
				t.Errorf("amendment %+v of a round written at %v", a, s.Rounds[a.Round].WrittenAt)
			}
		}
	})
}

// The rounds keep to the wall clock, whatever the clocks do.
func TestRoundsAreWalkedMorningAndEvening(t *testing.T) {
	everywhere(t, func(t *testing.T, s *Story) {
		for i, r := range s.Rounds[:len(s.Rounds)-1] {
			clock := float64(r.Time.Hour()) + float64(r.Time.Minute())/60
			if !(clock >= 7.4 && clock <= 8.6 || clock >= 16.9 && clock <= 18.6) || r.Time.Second() != 0 {
				t.Errorf("round %d is of %v", i, r.Time)
			}
		}
	})
}

// What the book and the CSV take, they take from here: every key is a column of this plant, every value reads back the
// same, every name is one of the three.
func TestEverythingCanBeKept(t *testing.T) {
	s := told(t, Seed, "2025-11-18 20:15")
	for i, r := range s.Rounds {
		var back record.Round
		for k, v := range r.Values {
			if err := back.Set(string(k), quantity.Text(v), s.Plant.UnitIDs(), quantity.Metric); err != nil {
				t.Errorf("round %d: %v", i, err)
			}
		}
		for k, w := range r.Words {
			if err := back.Set(string(k), w, s.Plant.UnitIDs(), quantity.Metric); err != nil {
				t.Errorf("round %d: %v", i, err)
			}
		}
		if diff := cmp.Diff(r.Values, back.Values); diff != "" {
			t.Errorf("round %d reads back otherwise:\n%s", i, diff)
		}
		if !slices.Contains([]string{ro, imke, tam}, r.By) {
			t.Errorf("round %d is by %q", i, r.By)
		}
	}
	for _, e := range s.Events {
		if err := e.Check(); err != nil {
			t.Errorf("%v: %v", e, err)
		}
		if e.Element != "" {
			if _, ok := s.Plant.ElementByName(e.Element); !ok {
				t.Errorf("no element %q", e.Element)
			}
		}
	}
	for _, d := range s.Done {
		if !slices.ContainsFunc(s.Plant.Upkeep, func(u plant.Task) bool { return u.Task == d.Task }) {
			t.Errorf("%q is no task of the plant", d.Task)
		}
	}
}

func TestSameSeedAndEndTellTheSameStory(t *testing.T) {
	same := cmp.Options{cmpopts.IgnoreUnexported(Story{}), cmpopts.IgnoreFields(Story{}, "Plant")}
	a := told(t, Seed, "2026-03-08 02:05")
	b, err := History(Seed, endOf(t, "2026-03-08 02:05"), halifax(t))
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(a, b, same); diff != "" {
		t.Error(diff)
	}
	if cmp.Equal(a, told(t, Seed+1, "2026-03-08 02:05"), same) {
		t.Error("another seed tells the same story")
	}
	utc, err := History(Seed, endOf(t, "2026-03-08 02:05").UTC(), halifax(t))
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(a, utc, same); diff != "" {
		t.Errorf("the end's own zone matters:\n%s", diff)
	}
}

func TestImpossibleEndsAreRefused(t *testing.T) {
	if _, err := History(Seed, time.Unix(0, 0), time.UTC); err == nil {
		t.Error("told a story before 1970")
	}
	if _, err := History(Seed, time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC), nil); err == nil {
		t.Error("told a story without a clock")
	}
}

// At the end there is something to say: a screen due for clearing, a warm bearing in want of grease, a test that is due, and
// a pond that is going down.
func TestTheEndHasSomethingToSay(t *testing.T) {
	everywhere(t, func(t *testing.T, s *Story) {
		h := history(t, s)
		last, _ := h.Last()
		bands := tolerance.For(s.Plant)
		bearing := keyBearing(large)
		if b, ok := bands.For(bearing); !ok || b.State(last.Values[bearing]) != tolerance.Near {
			t.Errorf("unit A's bearing reads %v °C", last.Values[bearing])
		}
		if w := last.Words[keyScreen]; w != "partly" && w != "iced" {
			t.Errorf("the screen is %q", w)
		}
		if loss := s.truth[len(s.truth)-1].screenLossM; loss < 0.5 || loss > 1.3 {
			t.Errorf("the screen loses %.2f m", loss)
		}
		if !slices.Equal(*last.Running, []string{large}) {
			t.Errorf("runs %v", *last.Running)
		}
		if level := last.Values[keyLevel]; level < -0.42 || level > -0.1 {
			t.Errorf("the pond is at %.3f m", level)
		}
		states := map[string]upkeep.State{}
		for _, task := range upkeep.Report(h).Tasks {
			states[task.Task] = task.State
		}
		if b := greaseTask(small); states[b] == upkeep.Due {
			states[b] = upkeep.OK // in some stories it comes due, which is no matter
		}
		want := map[string]upkeep.State{
			"grease drive-end bearing, unit A": upkeep.Overdue, "grease drive-end bearing, unit B": upkeep.OK,
			"walk the penstock and look for leaks": upkeep.OK, "clean the vents of the ballast housing": upkeep.OK,
			"move the main valve and the bypass gate through their travel": upkeep.OK, "test the protection relay's trips": upkeep.Due,
		}
		if diff := cmp.Diff(want, states); diff != "" {
			t.Error(diff)
		}
	})
}

// Corrections bring back what was true.
func TestCorrectionsTellTheTruth(t *testing.T) {
	everywhere(t, func(t *testing.T, s *Story) {
		h := history(t, s)
		for _, a := range s.Amendments {
			m := s.truth[a.Round]
			for k := range a.Changes {
				v, read := h.Rounds[a.Round].Value(quantity.Key(k))
				switch quantity.Key(k) {
				case keyVolts:
					if !read || math.Abs(v-m.volts) > 2 {
						t.Errorf("%v V for %.1f V", v, m.volts)
					}
				case keyLevel:
					if !read || math.Abs(v-m.levelM) > 0.01 {
						t.Errorf("%v m for %.3f m", v, m.levelM)
					}
				default:
					if read {
						t.Errorf("%s is not withdrawn", k)
					}
				}
			}
		}
	})
}

// The demo ends whenever it is started: no moment of eighty years makes it fail or leaves out its trouble.
func TestTheDemoCanEndAtAnyMoment(t *testing.T) {
	r := stream(1, 1)
	for range 60 {
		end := time.Unix(r.Int64N(80*365*86400)+1e8, 0)
		s, err := History(Seed, end, halifax(t))
		if err != nil {
			t.Fatalf("end %v: %v", end, err)
		}
		if n := kinds(s); n[record.Trip] != 2 || n[record.ElementOut] != 1 || len(s.Amendments) != 3 {
			t.Errorf("end %v: %v, %d corrections", end, n, len(s.Amendments))
		}
	}
}
