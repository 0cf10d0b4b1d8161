package week

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/record"
	"example.org/headpond/model/upkeep"
)

// randomLog is a log of some days with rounds, stops and starts at tenths of an hour.
func randomLog(t *testing.T, rt *rapid.T, scale float64) *notes {
	n := write(t, tern(t), "2026-02-16 00:00")
	at := n.when("2026-02-02 06:00")
	n.round(at.Format("2006-01-02 15:04"), fmt.Sprintf("running=A load_kw=%g dump_kw=%g hertz=60 load_energy_kwh=1000", scale, scale))
	meter := 1000.0
	for i := range rapid.IntRange(2, 40).Draw(rt, "entries") {
		at = at.Add(time.Duration(6*rapid.IntRange(1, 200).Draw(rt, "wait")) * time.Minute)
		if !at.Before(n.h.At) {
			break
		}
		when := at.Format("2006-01-02 15:04")
		if rapid.IntRange(0, 4).Draw(rt, "kind") == 0 {
			n.event(when, rapid.SampledFrom([]string{"stop", "trip unit=A", "start unit=A", "start unit=B", "stop unit=B"}).Draw(rt, "event"))
			continue
		}
		f := []string{fmt.Sprintf("load_kw=%g", scale*float64(rapid.IntRange(0, 50).Draw(rt, "load"))/10), fmt.Sprintf("dump_kw=%g", scale*float64(rapid.IntRange(0, 50).Draw(rt, "dump"))/10),
			fmt.Sprintf("hertz=%g", float64(rapid.IntRange(560, 640).Draw(rt, "hertz"))/10)}
		meter += float64(rapid.IntRange(0, 60).Draw(rt, "counted"))
		if i%3 == 0 {
			f = append(f, fmt.Sprintf("load_energy_kwh=%g", meter))
		}
		n.round(when, strings.Join(f, " "))
	}
	return n
}

// What a meter counted between its first and its last reading is what the days between add up to, whatever ran and however the
// days are cut: nothing is lost or counted twice.
func TestWhatAMeterCountedIsKept(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := randomLog(t, rt, 1)
		var first, last *record.Round
		for i := range n.h.Rounds {
			if _, ok := n.h.Rounds[i].Value("load_energy_kwh"); ok {
				if first == nil {
					first = &n.h.Rounds[i]
				}
				last = &n.h.Rounds[i]
			}
		}
		a, _ := first.Value("load_energy_kwh")
		b, _ := last.Value("load_energy_kwh")
		sum := 0.0
		for _, d := range n.ledger().Days(CutDays(first.Time, last.Time, n.h.Plant.Location)) {
			sum += d.Sums[Used].KWh
		}
		if math.Abs(sum-(b-a)) > 1e-6 {
			rt.Fatalf("the meter counted %g kWh, the days hold %g\n%s", b-a, sum, logOf(n.h))
		}
	})
}

// A unit's hours are those that upkeep counts by the same log: one truth for the grease gun and the review.
func TestRunningHoursAreUpkeeps(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := randomLog(t, rt, 1)
		r := n.report(Week)
		for _, u := range r.Units {
			all := upkeep.RunningHours(n.h, u.Unit, r.From).Hours
			if math.Abs(all-u.Hours) > 1e-6 {
				rt.Fatalf("%s ran %g h, by upkeep %g\n%s", u.Unit, u.Hours, all, logOf(n.h))
			}
			if u.Hours+u.Unknown > r.Hours+1e-9 {
				rt.Fatalf("%s ran %g h and is unknown for %g of %g", u.Unit, u.Hours, u.Unknown, r.Hours)
			}
		}
	})
}

// The hours of the states are those of the stretches between readings in which the bus ran: no more than the hours not stood,
// and in, near and out make up the whole.
func TestStateHoursStayWithinTheRunning(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := randomLog(t, rt, 1)
		r := n.report(Week)
		q, ok := r.States.Of("hertz")
		if !ok {
			return
		}
		if q.Hours > r.Hours-r.HoursStood+1e-6 || math.Abs(q.In+q.Near+q.Out-q.Hours) > 1e-9 {
			rt.Fatalf("%+v of %g h, %g stood\n%s", q, r.Hours, r.HoursStood, logOf(n.h))
		}
		if f := r.Frequency; math.Abs(f.Hours-q.Hours) > 1e-6 {
			rt.Fatalf("EN 50160 rests on %g h, the band on %g", f.Hours, q.Hours)
		}
	})
}

// The review does not depend on the order in which entries of the same log were written down, nor on when.
func TestWritingTimeDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := randomLog(t, rt, 1)
		want := jsonOf(t, n.report(Week))
		for i := range n.h.Rounds {
			n.h.Rounds[i].WrittenAt = n.h.At.Add(-time.Duration(i) * time.Minute)
		}
		if got := jsonOf(t, n.report(Week)); got != want {
			rt.Fatalf("%s\nwritten at other times\n%s", want, got)
		}
	})
}

func jsonOf(t *testing.T, r *Review) string {
	t.Helper()
	data, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// Availability, load factor and shares are shares.
func TestSharesAreShares(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := randomLog(t, rt, 1)
		r := n.report(Week)
		for what, v := range map[string]*float64{"availability": r.Availability, "load factor": r.LoadFactor} {
			if v != nil && what == "availability" && !(*v >= -1e-12 && *v <= 1+1e-12) {
				rt.Fatalf("%s is %g\n%s", what, *v, logOf(n.h))
			}
			if v != nil && !(*v >= 0) {
				rt.Fatalf("%s is %g\n%s", what, *v, logOf(n.h))
			}
		}
		for _, s := range r.Stops {
			if s.Hours < 0 || s.To != nil && !s.To.After(s.Time) || len(s.Units) == 0 {
				rt.Fatalf("stop %+v\n%s", s, logOf(n.h))
			}
		}
		if len(r.Decide) == 0 || len(r.Decide) != len(r.Decisions) || r.Verdict == "" {
			rt.Fatalf("%d sentences for %d decisions, verdict %q", len(r.Decide), len(r.Decisions), r.Verdict)
		}
	})
}
