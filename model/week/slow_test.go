package week

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// instant is what is known of the units from an entry on, found by going through all entries in order, without spans.
type instant struct {
	at    time.Time
	state map[string]string // by unit: its id while it runs, "" while it stands, "?" not known
	off   []string          // units that ran until then and now stand
	on    []string          // units that begin to run
	trip  bool              // an event calls the standing of some of off a trip
}

func (i *instant) set() string {
	if i.state["A"] == "?" || i.state["B"] == "?" {
		return "?"
	}
	return i.state["A"] + i.state["B"]
}

// minutely tells states at any minute of a log of the plant's two units.
type minutely struct {
	h    *record.History
	list []instant
}

func newMinutely(h *record.History) *minutely {
	var when []time.Time
	for _, r := range h.Rounds {
		when = append(when, r.Time)
	}
	for _, e := range h.Events {
		when = append(when, e.Time)
	}
	slices.SortFunc(when, time.Time.Compare)
	when = slices.CompactFunc(when, time.Time.Equal)
	m := &minutely{h: h}
	last := map[string]string{"A": "?", "B": "?"}
	s := &slowly{h: h}
	for _, t := range when {
		now := instant{at: t, state: map[string]string{"A": "?", "B": "?"}}
		for _, say := range s.words(t) {
			say(now.state)
		}
		for _, id := range []string{"A", "B"} {
			if last[id] == id && now.state[id] == "" {
				now.off = append(now.off, id)
			}
			if last[id] != id && now.state[id] == id {
				now.on = append(now.on, id)
			}
		}
		for _, e := range h.Events {
			named := len(e.Units) == 0 || slices.ContainsFunc(e.Units, func(id string) bool { return slices.Contains(now.off, id) })
			now.trip = now.trip || e.Time.Equal(t) && e.Kind == record.Trip && named && len(now.off) > 0
		}
		m.list = append(m.list, now)
		last = now.state
	}
	return m
}

// index is the last instant not after a time, -1 before the first.
func (m *minutely) index(t time.Time) int {
	i := len(m.list) - 1
	for i >= 0 && m.list[i].at.After(t) {
		i--
	}
	return i
}

func (m *minutely) state(t time.Time, unit string) string {
	if i := m.index(t); i >= 0 {
		return m.list[i].state[unit]
	}
	return "?"
}

func (m *minutely) set(t time.Time) string {
	if i := m.index(t); i >= 0 {
		return m.list[i].set()
	}
	return "?"
}

// changes are the nearest changes of the set at or before a time, and after it.
func (m *minutely) changes(t time.Time) (from, to *time.Time) {
	last := "?"
	for i := range m.list {
		set := m.list[i].set()
		if set == last {
			continue
		}
		last = set
		if !m.list[i].at.After(t) {
			from = &m.list[i].at
		} else if to == nil {
			to = &m.list[i].at
		}
	}
	return from, to
}

// tripped reports whether the whole bus stands at a time after a trip, none of whose units has begun to run since.
func (m *minutely) tripped(t time.Time) bool {
	now := m.index(t)
	for i := 0; i <= now; i++ {
		if !m.list[i].trip || m.list[i].set() != "" {
			continue
		}
		ended := false
		for j := i + 1; j <= now; j++ {
			ended = ended || slices.ContainsFunc(m.list[j].on, func(id string) bool { return slices.Contains(m.list[i].off, id) })
		}
		if !ended {
			return true
		}
	}
	return false
}

// hertzState is the state in which the frequency stands at a time: of the reading that is nearer, of the one before up to a
// change, or of the one after since a change.
func (m *minutely) hertzState(t time.Time, state func(float64) string) string {
	set := m.set(t)
	if set == "" {
		return ""
	}
	var p, q *record.Round
	for i := range m.h.Rounds {
		r := &m.h.Rounds[i]
		if _, ok := r.Value("hertz"); !ok || m.set(r.Time) == "" {
			continue
		}
		if !r.Time.After(t) {
			p = r
		} else if q == nil {
			q = r
		}
	}
	from, to := m.changes(t)
	value := func(r *record.Round) string { v, _ := r.Value("hertz"); return state(v) }
	near := func(a, b time.Time) bool { return b.Sub(a) <= GapLimit }
	after := p != nil && (from == nil || !p.Time.Before(*from)) // nothing changed since p
	before := q != nil && (to == nil || !q.Time.After(*to))
	switch {
	case after && before:
		if !near(p.Time, q.Time) {
			return ""
		}
		if t.Sub(p.Time) < q.Time.Sub(t) {
			return value(p)
		}
		return value(q)
	case after && to != nil && near(p.Time, *to):
		return value(p)
	case after:
		return ""
	case before && from != nil && near(*from, q.Time):
		return value(q)
	case before, from == nil, to == nil, set == "?", !near(*from, *to):
		return ""
	case p != nil && m.set(p.Time) == set && near(p.Time, *to):
		return value(p)
	case q != nil && m.set(q.Time) == set && near(*from, q.Time):
		return value(q)
	}
	return ""
}

// eventful is a log of some days with all that states, stops, permits and extremes rest on, at tenths of an hour.
func eventful(t *testing.T, rt *rapid.T) *notes {
	n := write(t, tern(t), "2026-02-16 00:00")
	at := n.when("2026-02-06 06:00")
	for range rapid.IntRange(1, 40).Draw(rt, "entries") {
		at = at.Add(time.Duration(6*rapid.IntRange(1, 150).Draw(rt, "wait")) * time.Minute)
		if !at.Before(n.h.At) {
			break
		}
		when := at.Format("2006-01-02 15:04")
		if rapid.IntRange(0, 3).Draw(rt, "kind") == 0 {
			n.event(when, rapid.SampledFrom([]string{"stop", "trip", "trip unit=A", "trip unit=B", "start unit=A", "start unit=B", "start unit=A+B", "stop unit=B", "alarm", "repair"}).Draw(rt, "event"))
			continue
		}
		var f []string
		some := func(key string, low, high int, digit float64) {
			if rapid.IntRange(0, 2).Draw(rt, key+" read") > 0 {
				f = append(f, fmt.Sprintf("%s=%.6g", key, float64(rapid.IntRange(low, high).Draw(rt, key))*digit))
			}
		}
		some("hertz", 480, 720, 0.1)
		some("volts", 200, 280, 1)
		some("load_kw", 0, 60, 0.1)
		some("dump_kw", 0, 60, 0.1)
		some("pond_level_m", -100, 40, 0.01)
		some("bypass_lps", 40, 80, 0.1)
		some("A.bearing_c", 20, 90, 1)
		if run := rapid.SampledFrom([]string{"", "", "none", "A", "B", "A+B"}).Draw(rt, "running"); run != "" {
			f = append(f, "running="+run)
		}
		if len(f) == 0 {
			f = []string{"volts=240"}
		}
		n.round(when, strings.Join(f, " "))
	}
	return n
}

// The time in each of EN 50160's states on any day is that of the slow rule, three minutes at a time: entries lie at sixth minutes,
// so what is half-way between two of them lies at a third one, and the middle of three minutes stands for them.
func TestStatesEqualTheSlowRule(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := eventful(t, rt)
		m := newMinutely(n.h)
		day := n.when("2026-02-06 00:00").AddDate(0, 0, rapid.IntRange(0, 9).Draw(rt, "day"))
		want := map[string]float64{}
		for i := range 24 * 20 {
			at := day.Add(time.Duration(3*i)*time.Minute + 90*time.Second)
			want[m.hertzState(at, func(v float64) string { return en50160State(v, 60) })] += 0.05
		}
		got := n.ledger().Day(day, day.AddDate(0, 0, 1)).States[en50160]
		for state, h := range map[string]float64{"in": got.In, "near": got.Near, "out": got.Out} {
			if math.Abs(h-want[state]) > 1e-6 {
				rt.Fatalf("%s for %g h on %s, by the slow rule %g\n%s", state, h, day.Format("2006-01-02"), want[state], logOf(n.h))
			}
		}
	})
}

// How long units ran and were not known, the bus was known, stood, and stood after a trip are on any day what adding up its
// minutes gives.
func TestStandingEqualsTheSlowRule(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := eventful(t, rt)
		m := newMinutely(n.h)
		day := n.when("2026-02-06 00:00").AddDate(0, 0, rapid.IntRange(0, 9).Draw(rt, "day"))
		want := map[string]float64{}
		for i := range 24 * 10 {
			at := day.Add(time.Duration(6*i+3) * time.Minute)
			for _, id := range []string{"A", "B"} {
				switch m.state(at, id) {
				case id:
					want[id+" on"] += 0.1
				case "?":
					want[id+" unknown"] += 0.1
				}
			}
			if set := m.set(at); set != "?" {
				want["known"] += 0.1
				if set == "" {
					want["stood"] += 0.1
				}
			}
			if m.tripped(at) {
				want["tripped"] += 0.1
			}
		}
		d := n.ledger().Day(day, day.AddDate(0, 0, 1))
		for what, h := range map[string]float64{"A on": d.Units["A"].On, "B on": d.Units["B"].On, "A unknown": d.Units["A"].Unknown, "B unknown": d.Units["B"].Unknown,
			"known": d.Known, "stood": d.Stood, "tripped": d.Tripped} {
			if math.Abs(h-want[what]) > 1e-6 {
				rt.Fatalf("%s for %g h on %s, by the slow rule %g\n%s", what, h, day.Format("2006-01-02"), want[what], logOf(n.h))
			}
		}
	})
}

// Stops and starts of a period are the instants at which a unit stands that ran, or runs that did not.
func TestStopsEqualTheSlowRule(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := eventful(t, rt)
		m := newMinutely(n.h)
		r := n.report(Week)
		var want, got []string
		starts := map[string]int{}
		for i, in := range m.list {
			if in.at.Before(r.From) || !in.at.Before(r.To) {
				continue
			}
			for _, id := range in.on {
				starts[id]++
			}
			if len(in.off) == 0 {
				continue
			}
			end := r.To
			for _, later := range m.list[i+1:] {
				if slices.ContainsFunc(later.on, func(id string) bool { return slices.Contains(in.off, id) }) && later.at.Before(r.To) {
					end = later.at
					break
				}
			}
			want = append(want, fmt.Sprintf("%s %v trip %v all %v %.1f h", in.at.Format("02 15:04"), in.off, in.trip, in.set() == "", end.Sub(in.at).Hours()))
		}
		for _, s := range r.Stops {
			if !s.Time.Before(r.From) {
				got = append(got, fmt.Sprintf("%s %v trip %v all %v %.1f h", s.Time.Format("02 15:04"), s.Units, s.Kind == "trip", s.All, s.Hours))
			}
		}
		if !slices.Equal(want, got) {
			rt.Fatalf("stops %q, by the slow rule %q\n%s", got, want, logOf(n.h))
		}
		for _, u := range r.Units {
			if u.Starts != starts[u.Unit] {
				rt.Fatalf("%s started %d times, by the slow rule %d\n%s", u.Unit, u.Starts, starts[u.Unit], logOf(n.h))
			}
		}
	})
}

// believed is the same log without the readings that assess takes for slips of the pen, of which nothing may be told.
func (n *notes) believed() *notes {
	a, h := assess.Of(n.h), *n.h
	h.Rounds = slices.Clone(n.h.Rounds)
	for i, r := range n.h.Rounds {
		h.Rounds[i].Values = maps.Clone(r.Values)
		for _, q := range a.Doubts(r) {
			delete(h.Rounds[i].Values, q.Key)
		}
	}
	return &notes{t: n.t, h: &h}
}

// slowExtreme goes through a period's rounds for the lowest and the highest reading; of equal ones the earlier stands.
func slowExtreme(n *notes, m *minutely, r *Review, k quantity.Key, scope string) (low, high *record.Round, readings int) {
	for i := range n.h.Rounds {
		x := &n.h.Rounds[i]
		v, ok := x.Value(k)
		if !ok || x.Time.Before(r.From) || !x.Time.Before(r.To) {
			continue
		}
		stood := scope == "bus" && m.set(x.Time) == "" || scope == "A" && m.state(x.Time, "A") == ""
		if stood {
			continue
		}
		readings++
		if low == nil || v < low.Values[k] {
			low = x
		}
		if high == nil || v > high.Values[k] {
			high = x
		}
	}
	return low, high, readings
}

// Extremes, the pond's levels and the permit's limits are those that a plain look through the rounds finds.
func TestExtremesLevelsAndPermitsEqualAPlainLook(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := eventful(t, rt)
		m := newMinutely(n.h)
		r := n.report(Week)
		n = n.believed()
		for k, scope := range map[quantity.Key]string{"hertz": "bus", "volts": "bus", "pond_level_m": "", "bypass_lps": "", "A.bearing_c": "A"} {
			low, high, _ := slowExtreme(n, m, r, k, scope)
			e, ok := r.Extreme(string(k))
			if ok != (low != nil) {
				rt.Fatalf("%s: an extreme is %v, a reading %v\n%s", k, ok, low != nil, logOf(n.h))
			}
			if ok && (e.Low.Value != low.Values[k] || e.Low.ID != low.ID || e.High.Value != high.Values[k] || e.High.ID != high.ID || !e.Low.Time.Equal(low.Time)) {
				rt.Fatalf("%s: %+v, by a plain look %v of %s to %v of %s\n%s", k, e, low.Values[k], low.ID, high.Values[k], high.ID, logOf(n.h))
			}
		}
		sameWater(rt, n, m, r)
		samePermits(rt, n, m, r)
	})
}

func sameWater(rt *rapid.T, n *notes, m *minutely, r *Review) {
	low, high, readings := slowExtreme(n, m, r, "pond_level_m", "")
	if readings == 0 {
		if r.Water != nil {
			rt.Fatalf("water %+v though no level was read", r.Water)
		}
		return
	}
	var levels []float64
	for _, x := range n.h.Rounds {
		if v, ok := x.Value("pond_level_m"); ok && !x.Time.Before(r.From) && x.Time.Before(r.To) {
			levels = append(levels, v)
		}
	}
	w := r.Water
	if w.Readings != readings || w.First.Value != levels[0] || w.Last.Value != levels[len(levels)-1] || w.Lowest.Value != low.Values["pond_level_m"] || w.Highest.Value != high.Values["pond_level_m"] {
		rt.Fatalf("water %+v of %v", w, levels)
	}
	if (*w.ChangeM3 > 0) != (w.Last.Value > w.First.Value) || w.Last.Value == w.First.Value && *w.ChangeM3 != 0 {
		rt.Fatalf("from %g to %g m the pond gained %g m³", w.First.Value, w.Last.Value, *w.ChangeM3)
	}
	if *w.UsableM3 < 0 || (*w.UsableM3 > 0) != (w.Last.Value > *w.StopM) {
		rt.Fatalf("at %g m, stop at %g, %g m³ are of use", w.Last.Value, *w.StopM, *w.UsableM3)
	}
}

// The permit of the demo's plant: -0.90 to 0.30 m, 6.0 L/s (its file).
func samePermits(rt *rapid.T, n *notes, m *minutely, r *Review) {
	broken := map[string]int{}
	for _, x := range n.h.Rounds {
		if x.Time.Before(r.From) || !x.Time.Before(r.To) {
			continue
		}
		if v, ok := x.Value("pond_level_m"); ok && v < -0.90 {
			broken["low_level"]++
		} else if ok && v > 0.30 {
			broken["high_level"]++
		}
		if v, ok := x.Value("bypass_lps"); ok && v < 6 {
			broken["bypass"]++
		}
	}
	for _, p := range r.Permits {
		if p.Broken != broken[p.What] || p.Kept != (p.Broken == 0) || p.Broken > p.Readings {
			rt.Fatalf("%+v, by a plain look %d were beyond it\n%s", p, broken[p.What], logOf(n.h))
		}
		delete(broken, p.What)
	}
	if len(broken) > 0 {
		rt.Fatalf("permits %+v, but %v", r.Permits, broken)
	}
}
