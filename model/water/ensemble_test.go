package water

import (
	"context"
	"errors"
	"fmt"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
)

// wavy is a stream that anyone can work out: a level, a fall, and a wave on it.
type wavy struct{ m3s, tau, wave float64 }

func (w wavy) at(day float64) float64 {
	return w.m3s*math.Exp(-day/w.tau) + w.wave*(1+math.Sin(day))
}

func (w wavy) begin(_ *chances, _ vec, days, flow []float64) current {
	for i, d := range days {
		flow[i] = w.at(d)
	}
	return written{}
}

// sure0 is an ensemble with one member whose state is known: a volume and nothing else uncertain.
func sure0(t testing.TB, p *plant.Plant, levelM float64, s stream, horizon time.Duration) *ensemble {
	t.Helper()
	c := channelOf(t, p, july(1, 7), levelM)
	e := &ensemble{c: c, members: 1, stream: s, start: sampler{mean: vec{c.b.stage.VolumeM3(levelM), math.Log(0.05)}}, lowV: math.Inf(-1), highV: math.Inf(1)}
	e.days = grid(horizon, 1e9)
	return e
}

// one runs one way.
func one(t testing.TB, e *ensemble, w way) fates {
	t.Helper()
	c, err := e.c.course(w, e.days)
	if err != nil {
		t.Fatal(err)
	}
	e.courses = []*course{c}
	all, err := e.run(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return all[0]
}

// slowly follows the pond hour by hour through the balance written out again: draw, bypass, evaporation, spill.
func slowly(e *ensemble, w way, levelM float64, q func(day float64) float64) fate {
	b := e.c.b
	got := fate{stop: math.Inf(1), low: math.Inf(1), high: math.Inf(1)}
	v, begin := b.stage.VolumeM3(levelM), e.c.at
	const step = 300.0
	for s := 0.0; s < e.days[len(e.days)-1]*86400; s += step {
		at := begin.Add(time.Duration(s * float64(time.Second)))
		level := b.stage.LevelM(v)
		area := b.stage.AreaM2(level)
		run := append([]string{}, w.run...)
		if w.plan != nil && w.part.Holds(at) {
			run = append(run, w.plan.Unit)
		}
		draw, kw := twoDraws(level, run)
		spill := 0.0
		if over := level - *b.plant.Pond.CrestM; over > 0 {
			spill = b.plant.Pond.CrestCoefficient * b.plant.Pond.CrestLengthM * math.Pow(over, 1.5)
		}
		evaporation := b.plant.Pond.EvaporationMMDay[at.Month()-1] / 1000 / 86400 * area
		before := v
		v += step * (q(s/86400) - draw - b.plant.Pond.BypassLps/1000 - evaporation - spill)
		got.kWh += kw * step / 3600
		got.spills = got.spills || v > b.crestV
		got.refilled = got.refilled || v > b.crestV && before <= b.crestV
		if v >= e.highV && math.IsInf(got.high, 1) {
			got.high = s / 3600
		}
		if v <= e.lowV && math.IsInf(got.low, 1) {
			got.low = s / 3600
		}
		if v <= b.stopV {
			got.stop = (s + step) / 3600
			return got
		}
	}
	return got
}

func TestAMemberAgreesWithSmallSteps(t *testing.T) {
	p := twoUnits()
	rapid.Check(t, func(t *rapid.T) {
		s := wavy{rapid.Float64Range(0.02, 0.12).Draw(t, "inflow"), rapid.Float64Range(5, 80).Draw(t, "tau"), rapid.Float64Range(0, 0.02).Draw(t, "wave")}
		level := rapid.Float64Range(0.2, 0.79).Draw(t, "level")
		c, err := newBasin(p, twoDraws)
		if err != nil {
			t.Fatal(err)
		}
		e := &ensemble{c: newChannel(c, july(1, 7), c.bypass, false, level), members: 1, stream: s, start: sampler{mean: vec{c.stage.VolumeM3(level)}}, lowV: c.stage.VolumeM3(0.15), highV: c.stage.VolumeM3(0.78)}
		e.days = grid(60*24*time.Hour, 1e9)
		w := way{run: []string{"A"}}
		if rapid.Bool().Draw(t, "part of the day") {
			w = partDayWay([]string{"B"}, "A", rapid.IntRange(4, 40).Draw(t, "half hours"))
		}
		course, err := e.c.course(w, e.days)
		if err != nil {
			t.Fatal(err)
		}
		e.courses = []*courseOf{course}
		all, err := e.run(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		got, want := all[0].each[0], slowly(e, w, level, s.at)
		at := func(low float64) *ensemble {
			other := *e
			other.lowV = c.stage.VolumeM3(low)
			return &other
		}
		// The grid takes the inflow as straight within a day, and a step's end for its inside.
		close := func(what string, a, b, tol float64) {
			if math.IsInf(a, 1) && math.IsInf(b, 1) {
				return
			}
			if !(math.Abs(a-b) <= tol) {
				t.Fatalf("%s after %g h, small steps say %g h", what, a, b)
			}
		}
		if !math.IsInf(got.stop, 1) && !math.IsInf(want.stop, 1) {
			close("stop", got.stop, want.stop, 3+0.02*want.stop)
			if math.Abs(got.kWh-want.kWh) > 25+0.02*want.kWh {
				t.Fatalf("%g kWh, small steps give %g", got.kWh, want.kWh)
			}
		}
		// A level that is only grazed is passed at any time: it must be passed between 2 mm above and 2 mm below it.
		above, below := slowly(at(0.152), w, level, s.at).low, slowly(at(0.148), w, level, s.at).low
		if got.low < math.Min(got.stop, 1400) && !(got.low >= above-3-0.02*above && got.low <= below+3+0.02*below) {
			t.Fatalf("low after %g h, small steps pass it between %g h and %g h", got.low, above, below)
		}
		if got.stop < 1400 && math.IsInf(want.stop, 1) || want.stop < 1400 && math.IsInf(got.stop, 1) {
			t.Fatalf("stop after %g h, small steps say %g h", got.stop, want.stop)
		}
	})
}

// courseOf names the type where a variable hides it.
type courseOf = course

// By hand: from 0.4 m to 0 m the made-up pond holds (93 000 + 108 000)/2 · 0.4 = 40 200 m³. With 135 L/s drawn, 10 L/s beside
// and nothing coming in, evaporation left out, that is 40 200 / 0.145 s = 77.01 h, and 8 + 3 kW give 847 kWh.
func TestAnEnsembleOfOneByHand(t *testing.T) {
	p := twoUnits()
	p.Pond.EvaporationMMDay = nil
	e := sure0(t, p, 0.4, still{0}, 30*24*time.Hour)
	e.lowV, e.highV = e.c.b.stage.VolumeM3(0.2), e.c.b.stage.VolumeM3(0.6)
	got := one(t, e, way{run: []string{"A", "B"}}).each[0]
	near(t, "stop, h", got.stop, 40200/0.145/3600, 0.02)
	near(t, "energy, kWh", got.kWh, 11*40200/0.145/3600, 0.5)
	near(t, "low, h", got.low, (40200-19350)/0.145/3600, 0.05)
	if !math.IsInf(got.high, 1) || got.spills || got.refilled {
		t.Errorf("a falling pond: %+v", got)
	}
	near(t, "0.2 m above 0 m", e.lowV-e.c.b.stopV, (93000+100500)/2*0.2, 1e-6) // 19 350 m³
}

// With 200 L/s coming in and nothing running the pond passes the crest: the first time from below is a refill, a pond that is
// full from the start only spills.
func TestARefillIsAPassFromBelow(t *testing.T) {
	got := one(t, sure0(t, twoUnits(), 0.7, still{0.2}, 30*24*time.Hour), way{}).each[0]
	if !got.spills || !got.refilled || !math.IsInf(got.stop, 1) || got.kWh != 0 {
		t.Errorf("from 0.7 m: %+v", got)
	}
	got = one(t, sure0(t, twoUnits(), 0.95, still{0.12}, 3*24*time.Hour), way{run: []string{"A"}}).each[0]
	if !got.spills || got.refilled {
		t.Errorf("from above the crest: %+v", got)
	}
}

// A pond at the stop level gives nothing, whatever comes later.
func TestAPondAtTheStopHasRunOut(t *testing.T) {
	for _, level := range []float64{0, -0.2} {
		got := one(t, sure0(t, twoUnits(), level, still{0.3}, 10*24*time.Hour), way{run: []string{"A"}}).each[0]
		if got.stop != 0 || got.kWh != 0 {
			t.Errorf("at %g m: %+v", level, got)
		}
	}
}

func TestTheHoursLeaveOutWhatDoesNotCome(t *testing.T) {
	each := make([]fate, 10)
	for i := range each {
		each[i].stop = float64(10 * (i + 1))
		if i >= 6 {
			each[i].stop = math.Inf(1)
		}
	}
	h := hoursRange(each, func(f *fate) float64 { return f.stop })
	// Type 7 on ten values: h = 9p, so that p10 lies 0.9 of the way from the first to the second, p50 halfway between the fifth
	// and sixth.
	near(t, "p10", *h.P10, 19, 1e-12)
	near(t, "p50", *h.P50, 55, 1e-12)
	if h.P90 != nil {
		t.Errorf("p90 is %g h, though four of ten never come", *h.P90)
	}
	each[5].stop = math.Inf(1)
	if h = hoursRange(each, func(f *fate) float64 { return f.stop }); h.P50 != nil {
		t.Errorf("p50 is %g h, though half never come", *h.P50)
	}
}

// The spell's hours leave out the outcomes that are filled first; by hand on ten outcomes.
func TestTheSpellLeavesOutWhatIsFilledFirst(t *testing.T) {
	var each []fate
	for i := range 10 {
		each = append(each, fate{stop: float64(i + 1), refilled: i >= 7})
	}
	spell, filled := thisSpell(each)
	if len(spell) != 7 || math.Abs(filled-0.3) > 1e-12 {
		t.Fatalf("%d are left, %g are filled first", len(spell), filled)
	}
	all, dry := hoursRange(each, func(f *fate) float64 { return f.stop }), hoursRange(spell, func(f *fate) float64 { return f.stop })
	near(t, "p90 of all", *all.P90, 9.1, 1e-12)
	near(t, "p90 of the spell", *dry.P90, 6.4, 1e-12)
}

// The keys agree with each other whatever the log: over all outcomes p50 stands where the way runs out, and only there; the
// spell's hours are never longer, and are all outcomes' where most fill it first; outcomes are shares of all.
func TestHoursOutcomeAndSharesAgree(t *testing.T) {
	for _, inflow := range []float64{0.02, 0.05, 0.08, 0.095, 0.11, 0.13, 0.2} {
		f := report(t, dryLog(t, twoUnits(), inflow, 0.5, 9, "A"), Options{Members: 400, Horizon: 90 * 24 * time.Hour})
		for _, w := range f.Ways {
			if (w.HoursAnyOutcome.P50 != nil) != (w.Outcome == RunsOut) && w.RunsOutShare != 0.5 {
				t.Errorf("%g, %v: outcome %s, p50 %v", inflow, w.Run, w.Outcome, w.HoursAnyOutcome.P50)
			}
			if w.Outcome == Spills && w.SpillsShare < 0.5 || w.Outcome == Lasts && w.SpillsShare >= 0.5 && w.RunsOutShare < 0.5 {
				t.Errorf("%g, %v: outcome %s though %.2f spill and %.2f run out", inflow, w.Run, w.Outcome, w.SpillsShare, w.RunsOutShare)
			}
			if d, all := w.Hours, w.HoursAnyOutcome; *w.FilledFirst > 0 {
				for _, pair := range [][2]*float64{{d.P10, all.P10}, {d.P50, all.P50}, {d.P90, all.P90}} {
					if pair[0] != nil && pair[1] != nil && *pair[0] > *pair[1]*1.02+1 {
						t.Errorf("%g, %v: %g h unless filled, %g h over all", inflow, w.Run, *pair[0], *pair[1])
					}
				}
			}
			if *w.FilledFirst >= Sure && w.Hours != w.HoursAnyOutcome {
				t.Errorf("%g, %v: filled first %.2f, yet the hours leave outcomes out", inflow, w.Run, *w.FilledFirst)
			}
			inOrder3(t, fmt.Sprintf("%g, %v", inflow, w.Run), w.Hours)
			inOrder3(t, fmt.Sprintf("%g, %v, any outcome", inflow, w.Run), w.HoursAnyOutcome)
		}
	}
}

// inOrder3 holds p10 ≤ p50 ≤ p90 within the horizon of 90 days, a point that is absent being beyond the others.
func inOrder3(t *testing.T, what string, h *Hours) {
	t.Helper()
	last := 0.0
	for i, p := range []*float64{h.P10, h.P50, h.P90} {
		x := math.Inf(1)
		if p != nil {
			x = *p
		}
		if x < last || p != nil && x > 90*24 {
			t.Errorf("%s: point %d is %g h after one of %g h", what, i, x, last)
		}
		last = x
	}
}

// Whole days of the fan lie between their ends, in order, and the middle crosses the stop level at p50.
func TestTheFanCrossesTheStopWhereTheHoursSay(t *testing.T) {
	f := report(t, dryLog(t, twoUnits(), 0.040, 0.5, 9, "A"), Options{Fan: true, Horizon: 60 * 24 * time.Hour})
	for _, w := range f.Ways[1:] {
		for _, side := range []struct {
			hours *float64
			of    func(FanPoint) float64
		}{{w.HoursAnyOutcome.P10, func(p FanPoint) float64 { return p.LevelM.P10 }}, {w.HoursAnyOutcome.P50, func(p FanPoint) float64 { return p.LevelM.P50 }}, {w.HoursAnyOutcome.P90, func(p FanPoint) float64 { return p.LevelM.P90 }}} {
			if side.hours == nil {
				continue
			}
			for i, p := range w.Fan {
				after := p.Time.Sub(f.At).Hours()
				if after < *side.hours-24 && side.of(p) <= f.StopLevelM {
					t.Errorf("%v: at the stop after %g h already, the hours say %g", w.Run, after, *side.hours)
				}
				if after > *side.hours+24 && side.of(p) > f.StopLevelM+1e-9 {
					t.Errorf("%v: still above the stop after %g h, the hours say %g", w.Run, after, *side.hours)
				}
				if p.LevelM.P10 > p.LevelM.P50 || p.LevelM.P50 > p.LevelM.P90 || i > 0 && !p.Time.After(w.Fan[i-1].Time) {
					t.Errorf("%v: fan point %d is out of order: %+v", w.Run, i, p)
				}
			}
		}
	}
}

func TestAForecastCanBeCancelled(t *testing.T) {
	m, err := Prepare(t.Context(), dryLog(t, twoUnits(), 0.050, 0.7, 9, "A"), Always(twoDraws))
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	stop()
	if _, err := m.Forecast(ctx, Options{Until: m.h.At.AddDate(0, 0, 20)}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	e, err := m.ensemble(Options{Members: 100, Horizon: 24 * time.Hour})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := e.imagine(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled while imagining: %v", err)
	}
	if _, err := m.until(ctx, e, m.h.At.AddDate(0, 0, 20)); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled while searching: %v", err)
	}
}

// What members are kept for many ways are those of a single run.
func TestImaginedFuturesAreTheRuns(t *testing.T) {
	m, err := Prepare(t.Context(), dryLog(t, twoUnits(), 0.050, 0.7, 9, "A"), Always(twoDraws))
	if err != nil {
		t.Fatal(err)
	}
	e, err := m.ensemble(Options{Members: 150, Horizon: 40 * 24 * time.Hour, Seed: 5})
	if err != nil {
		t.Fatal(err)
	}
	future, err := e.imagine(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	all := one(t, e, way{run: []string{"A"}})
	for i := range all.each {
		if got := e.follow(&fates{course: e.courses[0]}, i, future.states[i], &future.flows[i]); got != all.each[i] {
			t.Fatalf("member %d: %+v, %+v", i, got, all.each[i])
		}
	}
}
