package week

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// slowly tells the power used at one minute by going through everything that was written, without spans, pieces or tracks: the
// rule of integrate's comment put down a second time. known is false where nothing may be said.
type slowly struct {
	h       *record.History
	changes []time.Time // of what runs on the common bus
}

func newSlowly(h *record.History) *slowly {
	s := &slowly{h: h}
	var when []time.Time
	for _, r := range h.Rounds {
		when = append(when, r.Time)
	}
	for _, e := range h.Events {
		when = append(when, e.Time)
	}
	slices.SortFunc(when, time.Time.Compare)
	last := "?"
	for _, t := range when {
		if set := s.runs(t); set != last {
			s.changes = append(s.changes, t)
			last = set
		}
	}
	return s
}

// runs is what runs at a time: "" nothing, "?" not known.
func (s *slowly) runs(t time.Time) string {
	state := map[string]string{"A": "?", "B": "?"}
	for _, w := range s.words(t) {
		w(state)
	}
	switch {
	case state["A"] == "?" || state["B"] == "?":
		return "?"
	}
	return state["A"] + state["B"]
}

// words are what events and rounds up to a time say of the units, in order; at one time events come first.
func (s *slowly) words(t time.Time) []func(map[string]string) {
	type word struct {
		at    time.Time
		round bool
		say   func(map[string]string)
	}
	var list []word
	for _, e := range s.h.Events {
		if e.Time.After(t) || e.Kind != record.Start && e.Kind != record.Stop && e.Kind != record.Trip {
			continue
		}
		list = append(list, word{e.Time, false, func(state map[string]string) {
			for _, id := range []string{"A", "B"} {
				if len(e.Units) > 0 && !slices.Contains(e.Units, id) {
					continue
				}
				state[id] = ""
				if e.Kind == record.Start {
					state[id] = id
				}
			}
		}})
	}
	for _, r := range s.h.Rounds {
		if r.Time.After(t) || r.Running == nil {
			continue
		}
		list = append(list, word{r.Time, true, func(state map[string]string) {
			for _, id := range []string{"A", "B"} {
				state[id] = ""
				if slices.Contains(*r.Running, id) {
					state[id] = id
				}
			}
		}})
	}
	slices.SortStableFunc(list, func(a, b word) int {
		if c := a.at.Compare(b.at); c != 0 || a.round == b.round {
			return c
		}
		if a.round {
			return 1
		}
		return -1
	})
	var out []func(map[string]string)
	for _, w := range list {
		out = append(out, w.say)
	}
	return out
}

// reading is a round's used power; while everything stands it is nothing.
func (s *slowly) reading(r record.Round) (float64, bool) {
	if s.runs(r.Time) == "" {
		return 0, true
	}
	return r.Value(quantity.Key(quantity.LoadKW))
}

func (s *slowly) usedKW(t time.Time) (kw float64, known bool) {
	set := s.runs(t)
	if set == "" {
		return 0, true
	}
	var p, q *record.Round
	var pKW, qKW float64
	for i := range s.h.Rounds {
		r := &s.h.Rounds[i]
		if v, ok := s.reading(*r); ok && !r.Time.After(t) {
			p, pKW = r, v
		} else if ok && q == nil {
			q, qKW = r, v
		}
	}
	var from, to *time.Time // the changes around
	for i := range s.changes {
		c := &s.changes[i]
		if !c.After(t) {
			from = c
		} else if to == nil {
			to = c
		}
	}
	begin := func(r *record.Round) bool { return from == nil || !r.Time.Before(*from) }
	end := func(r *record.Round) bool { return to == nil || !r.Time.After(*to) }
	near := func(a, b time.Time) bool { return b.Sub(a) <= GapLimit }
	switch {
	case p != nil && q != nil && begin(p) && end(q):
		share := float64(t.Sub(p.Time)) / float64(q.Time.Sub(p.Time))
		return pKW + share*(qKW-pKW), near(p.Time, q.Time)
	case p != nil && begin(p):
		return pKW, to != nil && near(p.Time, *to)
	case q != nil && end(q):
		return qKW, from != nil && near(*from, q.Time)
	case from == nil || to == nil || set == "?" || !near(*from, *to):
		return 0, false
	case p != nil && s.runs(p.Time) == set && near(p.Time, *to):
		return pKW, true
	case q != nil && s.runs(q.Time) == set && near(*from, q.Time):
		return qKW, true
	}
	return 0, false
}

// The energy used on any day of a random log is that of the slow rule, minute by minute; between two minutes of a log written to
// the minute power is a straight line, so its middle is exact.
func TestEnergyEqualsTheSlowRuleMinuteByMinute(t *testing.T) {
	p := tern(t)
	rapid.Check(t, func(rt *rapid.T) {
		n := write(t, p, "2026-02-12 00:00")
		begin := n.when("2026-02-04 00:00")
		at := begin
		for range rapid.IntRange(1, 14).Draw(rt, "entries") {
			at = at.Add(time.Duration(10*rapid.IntRange(1, 240).Draw(rt, "wait")) * time.Minute)
			if !at.Before(n.h.At) {
				break
			}
			when := at.Format("2006-01-02 15:04")
			switch rapid.IntRange(0, 5).Draw(rt, "what") {
			case 0:
				n.event(when, rapid.SampledFrom([]string{"stop", "trip", "stop unit=B", "start unit=A", "start unit=B", "start unit=A+B"}).Draw(rt, "event"))
			case 1:
				n.round(when, "volts=240")
			default:
				f := []string{fmt.Sprintf("load_kw=%.1f", rapid.Float64Range(0, 5).Draw(rt, "load"))}
				if run := rapid.SampledFrom([]string{"", "", "none", "A", "A+B"}).Draw(rt, "running"); run != "" {
					f = append(f, "running="+run)
				}
				n.round(when, strings.Join(f, " "))
			}
		}
		slow := newSlowly(n.h)
		day := begin.AddDate(0, 0, rapid.IntRange(0, 6).Draw(rt, "day"))
		want, covered := 0.0, 0.0
		for m := range 24 * 60 / 10 {
			// Ten minutes at a time: every entry falls on a tenth minute.
			if kw, known := slow.usedKW(day.Add(time.Duration(10*m+5) * time.Minute)); known {
				want += kw / 6
				covered += 1.0 / 6
			}
		}
		got := n.ledger().Day(day, day.AddDate(0, 0, 1)).Sums[Used]
		if math.Abs(got.KWh-want) > 1e-6 || math.Abs(got.Hours-covered) > 1e-6 {
			rt.Fatalf("on %s it is %.6f kWh over %.4f h, by the slow rule %.6f over %.4f\n%s", day.Format("2006-01-02"), got.KWh, got.Hours, want, covered, logOf(n.h))
		}
	})
}

// logOf lists a log for a failure's message.
func logOf(h *record.History) string {
	var lines []string
	for _, r := range h.Rounds {
		lines = append(lines, fmt.Sprintf("%s round running=%s %v", r.Time.Format("02 15:04"), r.Text("running"), r.Values))
	}
	for _, e := range h.Events {
		lines = append(lines, fmt.Sprintf("%s %s %v", e.Time.Format("02 15:04"), e.Kind, e.Units))
	}
	slices.Sort(lines)
	return strings.Join(lines, "\n")
}
