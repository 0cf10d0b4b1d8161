package water

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/pond"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// twoUnits is the backtest's pond with a second, smaller machine: A draws 95 L/s and gives 8 kW, B 40 L/s and 3 kW.
func twoUnits() *plant.Plant {
	p := backtestPlant()
	p.Units = append(p.Units, plant.Unit{ID: "B", BestFlowLps: 40})
	return p
}

func twoDraws(_ float64, running []string) (q, kw float64) {
	for _, u := range running {
		switch u {
		case "A":
			q, kw = q+0.095, kw+8
		case "B":
			q, kw = q+0.040, kw+3
		}
	}
	return q, kw
}

// dryLog is a log of so many days at 07:00 with constant inflow, run through the exact drawdown, read to 5 mm without error.
func dryLog(t testing.TB, p *plant.Plant, inflow, startM float64, days int, running ...string) *record.History {
	t.Helper()
	stage, err := pond.NewStage(p.Pond.Stage)
	if err != nil {
		t.Fatal(err)
	}
	start := time.Date(2026, 7, 1, 7, 0, 0, 0, time.UTC)
	b := &pond.Balance{Stage: stage, Start: start, EvaporationMMDay: p.Pond.EvaporationMMDay,
		InflowM3s: func(float64) float64 { return inflow },
		BypassM3s: func(_, _ float64) float64 { return p.Pond.BypassLps / 1000 },
		Draw:      func(_, h float64) (float64, float64) { return twoDraws(h, running) }}
	got, err := pond.Drawdown(context.Background(), b, startM, pond.Limits{StopM: -1, Horizon: time.Duration(days) * 24 * time.Hour, Every: 24 * time.Hour})
	if err != nil {
		t.Fatal(err)
	}
	h := &record.History{Plant: p, At: start.Add(time.Duration(days) * 24 * time.Hour)}
	for _, c := range got.Curve {
		ran := append([]string{}, running...)
		h.Rounds = append(h.Rounds, record.Round{Time: start.Add(time.Duration(c.Hours * float64(time.Hour))), Running: &ran,
			Values: map[quantity.Key]float64{"pond_level_m": math.Round(c.LevelM/0.005) * 0.005}})
	}
	return h
}

func report(t *testing.T, h *record.History, opt Options) *Facts {
	t.Helper()
	f, err := Report(context.Background(), h, Always(twoDraws), opt)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func says(f *Facts, part string) bool {
	for _, c := range f.Cautions {
		if strings.Contains(c, part) {
			return true
		}
	}
	return false
}

func TestSteadyInflowIsFoundFromTheLevels(t *testing.T) {
	f := report(t, dryLog(t, twoUnits(), 0.060, 0.7, 12, "A"), Options{})
	if r := f.InflowLps; r.P10 > 60 || r.P90 < 60 || math.Abs(r.P50-60) > 6 {
		t.Errorf("inflow %+v L/s, want about 60", r)
	}
	if f.RestsOn.Levels != 13 || f.LastLevel == nil || f.StopLevelFrom != "plant" {
		t.Errorf("rests on %+v, last %+v, stop from %q", f.RestsOn, f.LastLevel, f.StopLevelFrom)
	}
	if len(f.Ways) != 4 {
		t.Fatalf("%d ways, want none, A, B, all", len(f.Ways))
	}
}

func TestMoreMachinesNeverLastLonger(t *testing.T) {
	f := report(t, dryLog(t, twoUnits(), 0.050, 0.7, 12, "A"), Options{})
	a, all := f.Ways[1].HoursAnyOutcome, f.Ways[3].HoursAnyOutcome
	if a.P10 == nil || all.P10 == nil || *all.P10 > *a.P10 || *all.P50 > *a.P50 {
		t.Errorf("all %+v, A alone %+v", all, a)
	}
	for _, w := range f.Ways {
		if h := w.Hours; h.P10 != nil && h.P50 != nil && *h.P10 > *h.P50 || h.P50 != nil && h.P90 != nil && *h.P50 > *h.P90 {
			t.Errorf("%v: hours out of order: %v", w.Run, h)
		}
		if e := w.EnergyKWh; e.P10 > e.P50 || e.P50 > e.P90 {
			t.Errorf("%v: energy out of order: %+v", w.Run, e)
		}
	}
	if e := f.Ways[0].EnergyKWh; e.P90 != 0 {
		t.Errorf("no machine gives %+v kWh", e)
	}
}

// With everything known the ensemble's step must meet the exact drawdown: the contract's 0.1 % of time is for that one, the
// ensemble's day-long steps are allowed 0.5 %.
func TestAMemberKeepsToTheExactDrawdown(t *testing.T) {
	h := dryLog(t, twoUnits(), 0.060, 0.7, 6, "A")
	m, err := Prepare(context.Background(), h, Always(twoDraws))
	if err != nil {
		t.Fatal(err)
	}
	plan := &Plan{Unit: "A", From: "06:00", To: "22:00"}
	for _, c := range []Choice{{Run: []string{"A"}}, {Run: []string{"A", "B"}}, {Run: []string{"B"}, Plan: plan}} {
		e, err := m.ensembleWith(Options{Members: 1, Horizon: 200 * 24 * time.Hour}, still{0.030})
		if err != nil {
			t.Fatal(err)
		}
		e.start = sampler{mean: vec{m.b.stage.VolumeM3(0.6), math.Log(0.030), 0, 0}}
		w, err := m.way(c)
		if err != nil {
			t.Fatal(err)
		}
		c2, err := e.c.course(w, e.days)
		if err != nil {
			t.Fatal(err)
		}
		e.courses = []*course{c2}
		all, err := e.run(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		want := exactHours(t, m, w)
		near(t, name(Way{Run: w.run, Plan: w.plan}), all[0].each[0].stop, want, 0.005*want)
	}
}

func exactHours(t *testing.T, m *Model, w way) float64 {
	t.Helper()
	b := &pond.Balance{Stage: m.b.stage, Start: m.h.At, EvaporationMMDay: m.h.Plant.Pond.EvaporationMMDay,
		InflowM3s: func(float64) float64 { return 0.030 },
		BypassM3s: func(_, _ float64) float64 { return 0.010 },
		Draw:      func(_, h float64) (float64, float64) { return twoDraws(h, w.run) }}
	if w.plan != nil {
		extra, breaks := pond.PartDayDraw(m.h.At, 200*24*time.Hour, w.part, func(h float64) (float64, float64) { return twoDraws(h, []string{w.plan.Unit}) })
		b.Breaks = breaks
		b.Draw = func(s, h float64) (float64, float64) {
			q, _ := twoDraws(h, w.run)
			p, _ := extra(s, h)
			return q + p, 0
		}
	}
	got, err := pond.Drawdown(context.Background(), b, 0.6, pond.Limits{StopM: 0, Horizon: 200 * 24 * time.Hour})
	if err != nil || !got.Reached {
		t.Fatalf("%+v, %v", got, err)
	}
	return got.Hours
}

func TestTheSameSeedGivesTheSameFacts(t *testing.T) {
	h := dryLog(t, twoUnits(), 0.050, 0.7, 12, "A")
	opt := Options{Seed: 7, Members: 200, Fan: true, Until: h.At.Add(10 * 24 * time.Hour)}
	if d := cmp.Diff(report(t, h, opt), report(t, h, opt)); d != "" {
		t.Error(d)
	}
}

func TestAMistypedLevelIsSetAsideAndSaid(t *testing.T) {
	clean := dryLog(t, twoUnits(), 0.060, 0.7, 14, "A")
	for name, wrong := range map[string]float64{"a metre too high": 1.55, "a lost digit": 0.06, "beyond the rows": 17.0} {
		h := *clean
		h.Rounds = append([]record.Round(nil), clean.Rounds...)
		h.Rounds[7].Values = map[quantity.Key]float64{"pond_level_m": wrong}
		f, want := report(t, &h, Options{Members: 300}), report(t, clean, Options{Members: 300})
		if !says(f, "set aside") || !f.History[7].SetAside {
			t.Errorf("%s: the level was kept; cautions %q", name, f.Cautions)
		}
		near(t, name+": inflow", f.InflowLps.P50, want.InflowLps.P50, 8)
		near(t, name+": level", f.LevelM, want.LevelM, 0.006)
	}
}

func TestAGapIsAGapAndNotNothing(t *testing.T) {
	h := dryLog(t, twoUnits(), 0.070, 0.75, 16, "A")
	h.Rounds = append(append([]record.Round(nil), h.Rounds[:5]...), h.Rounds[12:]...)
	f := report(t, h, Options{Members: 300})
	near(t, "inflow over the gap", f.InflowLps.P50, 70, 8)
}

func TestUnknownRunningWidensTheInflow(t *testing.T) {
	known := dryLog(t, twoUnits(), 0.060, 0.7, 10, "A")
	unknown := *known
	unknown.Rounds = nil
	for _, r := range known.Rounds {
		r.Running = nil
		unknown.Rounds = append(unknown.Rounds, r)
	}
	a, b := report(t, known, Options{Members: 300}).InflowLps, report(t, &unknown, Options{Members: 300}).InflowLps
	if b.P90/b.P10 < 1.2*a.P90/a.P10 {
		t.Errorf("running unknown: inflow %+v, known: %+v", b, a)
	}
}

func TestRefusalsSayInPlainWordsWhatIsMissing(t *testing.T) {
	ctx := context.Background()
	if _, err := Report(ctx, &record.History{}, Always(twoDraws), Options{}); err == nil || !strings.Contains(err.Error(), "no plant file") {
		t.Errorf("no plant: %v", err)
	}
	p := twoUnits()
	p.Pond.Stage = nil
	if _, err := Report(ctx, &record.History{Plant: p}, Always(twoDraws), Options{}); !errors.Is(err, pond.ErrNoStage) {
		t.Errorf("no stage table: %v", err)
	}
	p = twoUnits()
	p.Pond.StopLevelM = nil
	if _, err := Report(ctx, &record.History{Plant: p}, Always(twoDraws), Options{}); !errors.Is(err, ErrNoStopLevel) {
		t.Errorf("no stop level: %v", err)
	}
	if _, err := Report(ctx, &record.History{Plant: twoUnits(), At: time.Date(2026, 7, 1, 7, 0, 0, 0, time.UTC)}, Always(twoDraws), Options{}); !errors.Is(err, ErrNoLevels) {
		t.Errorf("no levels: %v", err)
	}
	h := dryLog(t, twoUnits(), 0.06, 0.7, 5, "A")
	if _, err := Report(ctx, h, Always(twoDraws), Options{Ways: []Choice{{Run: []string{"C"}}}}); err == nil || !strings.Contains(err.Error(), `"C"`) {
		t.Errorf("unknown unit: %v", err)
	}
	if _, err := Report(ctx, h, Always(twoDraws), Options{Ways: []Choice{{Plan: &Plan{Unit: "A", From: "6", To: "22:00"}}}}); err == nil || !strings.Contains(err.Error(), "time of day") {
		t.Errorf("bad plan: %v", err)
	}
	done, stop := context.WithCancel(ctx)
	stop()
	if _, err := Report(done, h, Always(twoDraws), Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

func TestLevelsOfOneDayGiveNoInflow(t *testing.T) {
	h := dryLog(t, twoUnits(), 0.06, 0.7, 0, "A")
	f := report(t, h, Options{})
	if f.InflowLps != nil || f.Ways[1].Hours != nil || f.Ways[1].Outcome != "" {
		t.Errorf("guessed from one day: %+v", f)
	}
	near(t, "draw of A", f.Ways[1].DrawLps, 95, 1e-9)
	if !says(f, "one day") || !says(f, "Without any inflow A") {
		t.Errorf("cautions %q", f.Cautions)
	}
	raw, err := json.Marshal(f)
	if err != nil {
		t.Fatal(err)
	}
	if s := string(raw); strings.Contains(s, "inflow_lps") || strings.Contains(s, "null") {
		t.Errorf("what is missing is not absent: %s", s)
	}
}

func TestAnInflowAboveEveryDrawLasts(t *testing.T) {
	f := report(t, dryLog(t, twoUnits(), 0.200, 0.2, 4, "A"), Options{Horizon: 10 * 24 * time.Hour})
	if o := f.Ways[1].Outcome; o == RunsOut {
		t.Errorf("A runs out with 200 L/s coming in")
	}
	if !says(f, "filling") {
		t.Errorf("cautions %q", f.Cautions)
	}
}

func TestAPondBelowTheStopHasNoHours(t *testing.T) {
	h := dryLog(t, twoUnits(), 0.02, 0.15, 3, "A")
	f := report(t, h, Options{})
	if f.LevelM > f.StopLevelM {
		t.Fatalf("level %g is above the stop", f.LevelM)
	}
	for _, w := range f.Ways {
		if w.Outcome != RunsOut || *w.Hours.P10 != 0 || *w.Hours.P90 != 0 || w.EnergyKWh.P90 != 0 {
			t.Errorf("%v: %s after %v h with %+v kWh", w.Run, w.Outcome, *w.Hours.P90, w.EnergyKWh)
		}
	}
	if f.UsableM3 != 0 || !says(f, "at or below the stop level") {
		t.Errorf("usable %g, cautions %q", f.UsableM3, f.Cautions)
	}
}

// Gordon's rule by hand: 0.30 m mouth, 106.03 L/s: V = 1.5 m/s; S = 0.7245·1.5·√0.30 = 0.595 m, as references.md 3.1 has it
// (from memory there).
func TestStopLevelFromSubmergence(t *testing.T) {
	centre, d := -1.55, 0.30
	p := &plant.Plant{Intake: plant.Intake{CentrelineM: &centre, DiameterM: &d}, Units: []plant.Unit{{ID: "A", BestFlowLps: 106.029}}}
	level, from, err := StopLevel(p)
	if err != nil || from != "submergence" {
		t.Fatal(from, err)
	}
	near(t, "stop level", level, -1.55+0.15+0.595, 5e-4)
}

func TestUntilPicksTheRichestThatHolds(t *testing.T) {
	h := dryLog(t, twoUnits(), 0.050, 0.75, 7, "A")
	short := report(t, h, Options{Members: 300, Until: h.At.Add(36 * time.Hour)}).Until
	if len(short.Run) != 2 || short.Plan != nil || short.Holds < 0.8 {
		t.Errorf("for a day and a half: %+v, want both all day", short)
	}
	long := report(t, h, Options{Members: 300, Until: h.At.Add(25 * 24 * time.Hour)}).Until
	if long.Holds < 0.8 || len(long.Run) == 2 || long.EnergyKWh <= 0 {
		t.Errorf("for 25 days: %+v, want less than both, and something", long)
	}
	if long.EnergyKWh/25 >= short.EnergyKWh/1.5 {
		t.Errorf("a longer hold gives more a day: %+v, %+v", long, short)
	}
}

func TestMonthsOfFactsAreFiniteWhateverTheLog(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := &record.History{Plant: twoUnits(), At: time.Date(2026, 7, 1, 7, 0, 0, 0, time.UTC)}
		at := h.At
		for range rapid.IntRange(1, 30).Draw(t, "rounds") {
			at = at.Add(-time.Duration(rapid.IntRange(1, 200).Draw(t, "hours")) * time.Hour)
			r := record.Round{Time: at, Values: map[quantity.Key]float64{"pond_level_m": rapid.Float64Range(-1, 2).Draw(t, "level")}}
			if rapid.Bool().Draw(t, "read") {
				ran := [][]string{{}, {"A"}, {"A", "B"}}[rapid.IntRange(0, 2).Draw(t, "ran")]
				r.Running = &ran
			}
			h.Rounds = append([]record.Round{r}, h.Rounds...)
		}
		f, err := Report(context.Background(), h, Always(twoDraws), Options{Members: 20, Fan: true})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := json.Marshal(f); err != nil { // refuses NaN and Inf
			t.Fatal(err)
		}
	})
}

func BenchmarkReport(b *testing.B) {
	rounds, _ := readBacktest(b)
	for _, n := range []int{400, 4000, 17000} {
		h := &record.History{At: rounds[n].Time, Plant: twoUnits(), Rounds: rounds[:n+1]}
		for _, members := range []int{1000, 2000} {
			b.Run(fmt.Sprintf("%d levels, %d members", n, members), func(b *testing.B) {
				for b.Loop() {
					if _, err := Report(context.Background(), h, Always(twoDraws), Options{Horizon: 120 * 24 * time.Hour, Members: members}); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}

// BenchmarkUntil is the search for what can be run until a date, two machines, 2,000 members, with the log already filtered.
func BenchmarkUntil(b *testing.B) {
	h := dryLog(b, twoUnits(), 0.050, 0.75, 7, "A")
	for _, days := range []int{10, 30, 120} {
		m, err := Prepare(context.Background(), h, Always(twoDraws))
		if err != nil {
			b.Fatal(err)
		}
		b.Run(fmt.Sprintf("%d days", days), func(b *testing.B) {
			for b.Loop() {
				if _, err := m.Forecast(context.Background(), Options{Until: h.At.AddDate(0, 0, days), Horizon: 120 * 24 * time.Hour}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkEnsemble holds the cost to be linear in the days and the members.
func BenchmarkEnsemble(b *testing.B) {
	h := dryLog(b, twoUnits(), 0.050, 0.75, 7, "A")
	m, err := Prepare(context.Background(), h, Always(twoDraws))
	if err != nil {
		b.Fatal(err)
	}
	for _, n := range []struct{ days, members int }{{60, 2000}, {120, 2000}, {240, 2000}, {120, 500}, {120, 1000}, {120, 4000}} {
		b.Run(fmt.Sprintf("%d days, %d members", n.days, n.members), func(b *testing.B) {
			for b.Loop() {
				if _, err := m.Forecast(context.Background(), Options{Horizon: time.Duration(n.days) * 24 * time.Hour, Members: n.members}); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*n.days*n.members), "ns/day/member")
		})
	}
}

// Found by the property above: levels that leap by metres within an hour carried the smoothed inflow to 1e32 m3/s, and a
// member's volume beyond any number.
func TestWildLevelsStayWithinAnyStream(t *testing.T) {
	h := &record.History{Plant: twoUnits(), At: time.Date(2026, 7, 1, 7, 0, 0, 0, time.UTC)}
	at, none, a, both := h.At, []string{}, []string{"A"}, []string{"A", "B"}
	for _, x := range []struct { // backwards from now
		hours  int
		levelM float64
		ran    *[]string
	}{{1, -1, nil}, {12, 0.0039, nil}, {176, 1.875, &none}, {120, -0.6875, &a}, {31, -1, nil}, {200, 0.0303, nil}, {28, 1, &none}, {2, 1.3125, nil},
		{179, -0.90625, nil}, {97, 0, nil}, {1, 0, nil}, {2, 0.001, nil}, {34, 0.002, nil}, {178, 0.0742, nil}, {15, 1.5339, nil}, {15, 0, nil},
		{1, 0, nil}, {171, 0, nil}, {171, 0, &both}, {22, -0.554, &both}, {2, -0.9465, &a}, {183, 0, nil}, {64, 0, nil}} {
		at = at.Add(-time.Duration(x.hours) * time.Hour)
		r := record.Round{Time: at, Running: x.ran, Values: map[quantity.Key]float64{"pond_level_m": x.levelM}}
		h.Rounds = append([]record.Round{r}, h.Rounds...)
	}
	m, err := Prepare(context.Background(), h, Always(twoDraws))
	if err != nil {
		t.Fatal(err)
	}
	for d, q := range m.past.flow {
		if !(q >= 0 && q <= math.Exp(mostLogInflow)) {
			t.Errorf("day %d: %g m3/s", d, q)
		}
	}
	if _, err := m.Forecast(context.Background(), Options{Members: 50, Fan: true}); err != nil {
		t.Fatal(err)
	}
}

// BenchmarkYear is what Now and `water` ask: one way and all ways, a year ahead, eleven years of levels, the log already filtered.
func BenchmarkYear(b *testing.B) {
	rounds, _ := readBacktest(b)
	h := &record.History{At: rounds[4000].Time, Plant: twoUnits(), Rounds: rounds[:4001]}
	m, err := Prepare(context.Background(), h, Always(twoDraws))
	if err != nil {
		b.Fatal(err)
	}
	for name, ways := range map[string][]Choice{"one way": {{Run: []string{"A"}}}, "all ways": nil} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := m.Forecast(context.Background(), Options{Ways: ways}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
	b.Run("filter", func(b *testing.B) {
		for b.Loop() {
			if _, err := Prepare(context.Background(), h, Always(twoDraws)); err != nil {
				b.Fatal(err)
			}
		}
	})
}
