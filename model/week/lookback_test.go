package week

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/record"
)

// back is the review of a week that ended at a local time, as the log's end lets it be seen.
func (n *notes) back(end string) *Review {
	n.t.Helper()
	in, err := From(n.h, Week, n.when(end))
	if err != nil {
		n.t.Fatal(err)
	}
	r, err := Report(n.t.Context(), in)
	if err != nil {
		n.t.Fatal(err)
	}
	return r
}

// Looked back at, a week's last stretch is told by the round after its end, cut at the end; as if it were that Sunday, the stretch
// is open. Worked by hand: from Sunday 20:00 to Monday 08:00 the load goes from 2 to 4 kW in a straight line, so that Sunday's
// last 4 h have (2 + 2.667)/2 kW; hertz 60 stands until 02:00.
func TestALookBackKnowsTheRoundAfterTheEnd(t *testing.T) {
	n := write(t, tern(t), "2026-02-18 12:00").
		round("2026-02-15 08:00", "running=A load_kw=2 dump_kw=1 hertz=60").
		round("2026-02-15 20:00", "load_kw=2 dump_kw=1 hertz=60").
		round("2026-02-16 08:00", "load_kw=4 dump_kw=1 hertz=70 pond_level_m=-0.2")
	r := n.back("2026-02-16 00:00")
	near(t, "used", r.EnergyKWh.Used.Value, 12*2+4*(2+2.0/3+2)/2)
	near(t, "known", r.HoursCovered, 16)
	q, _ := r.States.Of("hertz")
	near(t, "in band", q.In, 16)
	near(t, "out of band, which begins at 02:00", q.Out, 0)
	if r.KnownTo == nil || !r.KnownTo.Equal(n.h.At) || !r.To.Equal(n.when("2026-02-16 00:00")) {
		t.Errorf("known to %v, the week to %v", r.KnownTo, r.To)
	}
	if _, seen := r.Extreme("pond_level_m"); seen || r.Rounds != 2 || len(r.Points) != 2 {
		t.Errorf("%d rounds, %d points: the round after the end is in them", r.Rounds, len(r.Points))
	}

	then := *n.h
	then.At = n.when("2026-02-16 00:00")
	then.Rounds = n.h.Rounds[:2]
	was := (&notes{t: t, h: &then}).report(Week)
	near(t, "used, as far as was known then", was.EnergyKWh.Used.Value, 24)
	near(t, "known then", was.HoursCovered, 12)
	if was.KnownTo != nil {
		t.Errorf("what was known then is known to %v", was.KnownTo)
	}
}

// A round so late after the end that nobody can tell what was between tells nothing of the last stretch.
func TestALookBackGuessesNothing(t *testing.T) {
	n := write(t, tern(t), "2026-02-20 12:00").
		round("2026-02-15 08:00", "running=A load_kw=2 dump_kw=1").
		round("2026-02-15 20:00", "load_kw=2 dump_kw=1").
		round("2026-02-17 09:00", "load_kw=4 dump_kw=1")
	near(t, "known", n.back("2026-02-16 00:00").HoursCovered, 12)
}

// A stop that began before the end and ended after it lasted at the end, and the hour before the stop is known by the reading before.
func TestAStopOverTheEndLastsAtTheEnd(t *testing.T) {
	n := write(t, tern(t), "2026-02-18 12:00").
		round("2026-02-15 20:00", "running=A load_kw=2 dump_kw=1").
		event("2026-02-15 22:00", "trip unit=A cause=frost").
		event("2026-02-16 07:00", "start unit=A").
		round("2026-02-16 08:00", "load_kw=4 dump_kw=1")
	r := n.back("2026-02-16 00:00")
	if len(r.Stops) != 1 || r.Stops[0].To != nil || r.Stops[0].Hours != 2 {
		t.Errorf("stops %+v", r.Stops)
	}
	near(t, "known", r.HoursCovered, 4)
	near(t, "used", r.EnergyKWh.Used.Value, 4)
}

// What the review of a later period tells of the one before it is what that one's own review tells, looked back at: to the bit, for
// any log, and with the plant as it then was.
func TestALookBackIsTheColumnOfThePeriodBefore(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := eventful(t, rt)
		if rapid.Bool().Draw(rt, "meters") {
			n = randomLog(t, rt, 1)
		}
		end := n.h.At.Add(-time.Duration(rapid.IntRange(0, 12*24*10).Draw(rt, "tenths of hours ago")) * 6 * time.Minute)
		later, err := From(n.h, Week, end)
		if err != nil {
			rt.Fatal(err)
		}
		r, err := Report(t.Context(), later)
		if err != nil {
			rt.Fatal(err)
		}
		if r.Before == nil {
			return
		}
		in, err := From(n.h, Week, r.From)
		if err != nil {
			rt.Fatal(err)
		}
		own, err := Report(t.Context(), in)
		if err != nil {
			rt.Fatal(err)
		}
		own.Points = nil // which only the review's own period has
		if d := cmp.Diff(*r.Before, own.Period); d != "" {
			rt.Fatalf("(-as the week before +looked back at):\n%s\n%s", d, logOf(n.h))
		}
	})
}

// A period that would end after what is known ends there; one of another plant revision is told by that revision.
func TestOfIsSettled(t *testing.T) {
	n := good(t)
	old, now := tern(t), tern(t, "per_kwh = 0.13", "per_kwh = 0.5")
	n.h.Plant = now
	n.h.Revisions = []record.Revision{{ID: "P1", From: n.h.At.AddDate(-1, 0, 0), Plant: old}, {ID: "P2", From: n.h.At.AddDate(0, 0, -1), Plant: now}}
	for name, c := range map[string]struct {
		of, want Of
	}{
		"nothing is told": {Of{Span: Week}, Of{Week, n.h.At, n.h.At}},
		"a time":          {Of{Span: Week, At: n.h.At.AddDate(0, 0, -1)}, Of{Week, n.h.At.AddDate(0, 0, -1), n.h.At.AddDate(0, 0, -1)}},
		"an end":          {Of{Span: Month, End: n.h.At.AddDate(0, 0, -1)}, Of{Month, n.h.At, n.h.At.AddDate(0, 0, -1)}},
		"a later end":     {Of{Span: Week, End: n.h.At.AddDate(0, 0, 1)}, Of{Week, n.h.At, n.h.At}},
	} {
		if got := c.of.Settled(n.h.At); got != c.want {
			t.Errorf("%s: %+v, want %+v", name, got, c.want)
		}
	}
	for end, want := range map[time.Time]*plant.Plant{n.h.At: now, n.h.At.AddDate(0, 0, -2): old, n.h.At.AddDate(0, 0, 2): now} {
		in, err := From(n.h, Week, end)
		if err != nil || in.History.Plant != want {
			t.Errorf("to %v the plant is not that of then: %v", end, err)
		}
	}
	if n.h.Plant != now {
		t.Error("the history that was handed over was changed")
	}
}
