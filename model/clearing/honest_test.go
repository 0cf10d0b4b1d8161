package clearing

import (
	"maps"
	"math"
	"testing"
	"time"

	"example.org/headpond/model/demo"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/steady"
)

// stretch lives through some clearings of a site whose litter comes at a rate that wanders, and more after rain, with now and
// then a gale, and stops at a moment before the screen would be due. It returns that moment and the true hours until the loss
// comes to lossM, the plant going on.
func (s *site) stretch(lossM float64) (at time.Time, due float64) {
	r := s.rand
	rate := 0.4 * math.Exp(0.8*r.NormFloat64())
	step := func(at time.Time) time.Time {
		rate *= math.Exp(0.12 * r.NormFloat64())
		rate = min(max(rate, 0.05), 2.5)
		now := rate
		if r.Float64() < 0.2 {
			now *= 1.8
		}
		s.y += now / 2
		if r.Float64() < 0.02 {
			s.y += r.ExpFloat64()
		}
		return at.Add(12 * time.Hour)
	}
	at = noon
	s.clearing(at)
	left := 1 + r.IntN(3) // clearings before the stretch that counts
	ask := 0.1 + 0.8*r.Float64()
	w := &work{present: State{Model: s.model, Case: steady.Case{PondLevelM: -0.2, Running: s.running}}}
	if err := w.model(); err != nil {
		s.t.Fatal(err)
	}
	limit := w.yOf(lossM, w.solve(lossM).FlowM3s)
	for {
		at = step(at)
		if left == 0 && s.y > ask*limit {
			break
		}
		if s.y >= limit {
			s.clearing(at)
			left--
			continue
		}
		s.round(at, r.Float64() < 0.15)
	}
	s.round(at, r.Float64() < 0.15)
	if s.y >= limit {
		return at, 0
	}
	for then := at; ; {
		y := s.y
		then = step(then)
		if s.y >= limit {
			return at, then.Sub(at).Hours() - 12*(s.y-limit)/(s.y-y)
		}
	}
}

// The stated range of the time must be honest: of many simulated stretches with known truth four in five come to it within
// p10 to p90, and neither end is passed much more often than the other. Stretches whose time is not told do not count, but
// most must be told.
func TestTheRangesAreHonest(t *testing.T) {
	const lossM = 0.4
	told, early, late, untold := 0, 0, 0, 0
	for seed := range uint64(250) {
		s := newSite(t, seed+100)
		s.offset = 2 * s.rand.NormFloat64()
		at, due := s.stretch(lossM)
		f := s.report(at, lossM)
		if f.Now == nil {
			t.Fatalf("nothing is told: %s", f.CannotTell)
		}
		n := f.Next
		switch {
		case n.P50 == nil || n.P90 == nil:
			untold++
		case due < hoursTo(at, n.P10)-1:
			early++
			told++
		case due > hoursTo(at, n.P90)+1:
			late++
			told++
		default:
			told++
		}
	}
	in := float64(told-early-late) / float64(told)
	t.Logf("%d told, %d untold: %.0f %% within, %d before, %d after", told, untold, 100*in, early, late)
	if in < 0.72 || in > 0.92 || early > told/5 || late > told/5 || untold > told {
		t.Errorf("%d told, %d untold: %.0f %% within p10 to p90, %d before, %d after", told, untold, 100*in, early, late)
	}
}

// The demo's stories have a known truth of their own, of which this package knows nothing: seasons, rain, people who clear when
// they like. Asked when 0.2 m is reached, four in five of the times that came lie in the stated range.
func TestTheDemosTruthIsMet(t *testing.T) {
	in, out, toldNow, now := 0, 0, 0, 0
	for _, end := range []string{"2025-11-18 20:15", "2025-07-08 14:30", "2026-02-10 09:40"} {
		d := demoOf(t, end)
		for i := 30; i < len(d.h.Rounds)-1; i += 5 {
			f, at := d.ask(i, 0.2)
			truth := d.story.Found(i).ScreenLossM
			if f.Now == nil || truth >= 0.2 || Cleared(d.h.Rounds[i]) {
				continue
			}
			now++
			if f.Now.LossM.P10-0.01 <= truth && truth <= f.Now.LossM.P90+0.01 {
				toldNow++
			}
			due, came := d.reached(i, 0.2)
			if n := f.Next; came && n != nil && n.P50 != nil && n.P90 != nil {
				if h := due.Sub(at).Hours(); h >= hoursTo(at, n.P10)-8 && h <= hoursTo(at, n.P90)+8 { // the truth is known at the rounds
					in++
				} else {
					out++
				}
			}
		}
	}
	t.Logf("times: %d of %d within; losses: %d of %d", in, in+out, toldNow, now)
	if in+out < 30 || float64(in) < 0.72*float64(in+out) || float64(toldNow) < 0.72*float64(now) {
		t.Errorf("times: %d of %d within the stated range; losses: %d of %d", in, in+out, toldNow, now)
	}
}

// In the demo's last week the screen was cleared and left to fill up to a clear share of 0.056 (the story's own constant): the
// clearing is told to be due, and the share's range holds the truth.
func TestTheDemosEndIsDue(t *testing.T) {
	d := demoOf(t, "2025-11-18 20:15")
	last := len(d.h.Rounds) - 1
	f, _ := d.ask(last, 0)
	truth := d.story.Found(last)
	if f.Next == nil || !f.Next.Due || f.Next.Criterion != Cost {
		t.Fatalf("%s", asJSON(f))
	}
	if f.Now.Clear.P10*0.97 > truth.ScreenClear || f.Now.Clear.P90*1.03 < truth.ScreenClear {
		t.Errorf("clear share %.4f, told are %+v", truth.ScreenClear, f.Now.Clear)
	}
	if f.Seen.ClearMin == nil || f.Seen.ClearMax == nil || *f.Seen.ClearMin*0.98 > truth.ScreenClear || *f.Seen.ClearMax*1.02 < truth.ScreenClear {
		t.Errorf("clear share %.4f, the reading says %s", truth.ScreenClear, f.Seen.Says)
	}
}

// demoStory is a demo history with the solver of its plant.
type demoStory struct {
	t     testing.TB
	story *demo.Story
	h     *record.History
	model *steady.Model
}

func demoOf(t testing.TB, end string) *demoStory {
	t.Helper()
	loc, err := time.LoadLocation("America/Halifax")
	if err != nil {
		t.Fatal(err)
	}
	at, err := time.ParseInLocation("2006-01-02 15:04", end, loc)
	if err != nil {
		t.Fatal(err)
	}
	s, err := demo.History(demo.Seed, at, loc)
	if err != nil {
		t.Fatal(err)
	}
	h := &record.History{At: s.End, Plant: s.Plant, Complete: true, Events: s.Events}
	for _, r := range s.Rounds {
		r.Values, r.Words = maps.Clone(r.Values), maps.Clone(r.Words)
		h.Rounds = append(h.Rounds, r)
	}
	for _, a := range s.Amendments {
		for k, text := range a.Changes {
			if text == "-" {
				text = ""
			}
			if err := h.Rounds[a.Round].Set(k, text, s.Plant.UnitIDs(), quantity.Metric); err != nil {
				t.Fatal(err)
			}
		}
	}
	return &demoStory{t: t, story: s, h: h, model: modelOf(t, s.Plant)}
}

// ask reports as of just after a round.
func (d *demoStory) ask(round int, lossM float64) (*Facts, time.Time) {
	at := d.h.Rounds[round].Time.Add(time.Minute)
	return d.askAt(round, at, lossM), at
}

// askAt reports as of a time, by the rounds up to one.
func (d *demoStory) askAt(round int, at time.Time, lossM float64) *Facts {
	h := &record.History{At: at, Plant: d.h.Plant, Complete: true, Rounds: d.h.Rounds[:round+1]}
	for _, e := range d.h.Events {
		if !e.Time.After(at) {
			h.Events = append(h.Events, e)
		}
	}
	tl := h.Timeline()
	state := func(r record.Round) (State, bool) {
		running, known := tl.RunningAt(r.Time)
		c := steady.Case{Running: running}
		for i := len(h.Rounds) - 1; i >= 0; i-- {
			if v, ok := h.Rounds[i].Value("pond_level_m"); ok && !h.Rounds[i].Time.After(r.Time) {
				c.PondLevelM = v
				break
			}
		}
		return State{Model: d.model, Case: c}, known
	}
	return Report(Input{History: h, Timeline: tl, State: state, LossM: lossM})
}

// reached is when the true loss was first seen at or above one, false where the screen was cleared before.
func (d *demoStory) reached(round int, lossM float64) (time.Time, bool) {
	for j := round + 1; j < len(d.h.Rounds); j++ {
		if d.story.Found(j).ScreenLossM >= lossM {
			return d.h.Rounds[j].Time, true
		}
		if Cleared(d.h.Rounds[j]) {
			return time.Time{}, false
		}
	}
	return time.Time{}, false
}

// Nobody has looked since: the older the last reading, the wider the range of what the screen costs, and what was read stays in
// it. (The growth alone foresaw 4.4 kW after five days, give or take 0.1: it had come to the end of its law.)
func TestTheRangeWidensWithTheAge(t *testing.T) {
	d := demoOf(t, "2025-11-18 20:15")
	last, width := len(d.h.Rounds)-1, 0.0
	for days := range 13 {
		f := d.askAt(last, d.h.At.Add(time.Duration(days)*24*time.Hour), 0)
		if f.Now == nil || f.Seen == nil {
			t.Fatalf("%d days: %s", days, asJSON(f))
		}
		kw := f.Now.LostKW
		if got := kw.P90 - kw.P10; got < width-0.01 {
			t.Errorf("after %d days the range is %.2f to %.2f kW, a day before %.2f wide", days, kw.P10, kw.P90, width)
		} else {
			width = got
		}
		if days >= 4 && (kw.P10 > 1.2*f.Seen.LostKW || kw.P90 < 3*f.Seen.LostKW) {
			t.Errorf("%d days after %.2f kW were read: %.2f to %.2f", days, f.Seen.LostKW, kw.P10, kw.P90)
		}
	}
}

func BenchmarkReport(b *testing.B) {
	d := demoOf(b, "2025-11-18 20:15")
	last := len(d.h.Rounds) - 1
	for b.Loop() {
		if f, _ := d.ask(last, 0); f.Now == nil {
			b.Fatal(f.CannotTell)
		}
	}
}
