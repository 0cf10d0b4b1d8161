package calibrate

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/demo"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/steady"
)

var noon = time.Date(2026, 9, 1, 12, 0, 0, 0, time.UTC)

// tern is the demo's plant file, parsed anew.
func tern(t testing.TB) *plant.Plant {
	t.Helper()
	p, err := demo.Plant()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// site is a plant whose true numbers differ from its file.
type site struct {
	t      testing.TB
	file   *plant.Plant
	truth  *plant.Plant
	model  *steady.Model
	rand   *rand.Rand
	offset float64
	rounds []record.Round
}

func newSite(t testing.TB, seed uint64, change func(p *plant.Plant)) *site {
	t.Helper()
	s := &site{t: t, file: tern(t), truth: tern(t), rand: rand.New(rand.NewPCG(seed, 11))}
	if change != nil {
		change(s.truth)
	}
	m, err := steady.New(s.truth)
	if err != nil {
		t.Fatal(err)
	}
	s.model = m
	return s
}

// read is a gauge's reading of a true value.
func (s *site) read(k quantity.Key, v float64) float64 {
	div := s.file.Division(k)
	return math.Round((v+0.35*div*s.rand.NormFloat64())/div) * div
}

// round is a full round just after a clearing.
func (s *site) round(level float64, running ...string) *record.Round {
	s.t.Helper()
	r, err := s.model.Solve(steady.Case{PondLevelM: level, Running: running})
	if err != nil {
		s.t.Fatal(err)
	}
	load := r.CommonKW * (0.3 + 0.4*s.rand.Float64())
	v := map[quantity.Key]float64{
		"pond_level_m": s.read("pond_level_m", level), "volts": 240, "hertz": 60, "load_kw": s.read("load_kw", load),
		"dump_share_pct": s.read("dump_share_pct", 100*(1-load/r.CommonKW)),
	}
	for i := range r.Units {
		if u := &r.Units[i]; u.Running {
			v["pressure_after_kpa"] = s.read("pressure_kpa", u.PressureKPa+s.offset)
			v["pressure_kpa"] = s.read("pressure_kpa", u.PressureKPa+s.offset)
		}
	}
	at := noon.Add(time.Duration(len(s.rounds)) * 36 * time.Hour)
	s.rounds = append(s.rounds, record.Round{Time: at, Running: &running, Values: v, Words: map[quantity.Key]string{"screen_cleared": "yes", "screen": "partly"}})
	return &s.rounds[len(s.rounds)-1]
}

// walk takes n rounds of each way of running at levels spread over the pond.
func (s *site) walk(n int, flow bool) {
	for i := range n {
		for _, run := range [][]string{{"A"}, {"B"}, {"A", "B"}} {
			level := -0.7 + 0.8*float64(i)/float64(max(1, n-1))
			r := s.round(level, run...)
			if flow {
				res, err := s.model.Solve(steady.Case{PondLevelM: level, Running: run})
				if err != nil {
					s.t.Fatal(err)
				}
				r.Values["flow_lps"] = s.read("flow_lps", 1000*res.FlowM3s)
			}
		}
	}
}

func (s *site) assessor() *assess.Assessor {
	h := &record.History{At: noon.AddDate(0, 6, 0), Plant: s.file, Revisions: []record.Revision{{From: noon, Plant: s.file}}, Rounds: s.rounds, Complete: true}
	return assess.Of(h)
}

func (s *site) fit() *Facts {
	s.t.Helper()
	f, err := Fit(s.assessor(), Options{})
	if err != nil {
		s.t.Fatal(err)
	}
	return f
}

func numberOf(t testing.TB, f *Facts, name string) Number {
	t.Helper()
	for _, n := range f.Numbers {
		if n.Name == name {
			return n
		}
	}
	t.Fatalf("%q was not looked at: %+v", name, f.Numbers)
	return Number{}
}

// With a flow meter and three ways of running everything is told apart: the truth, which differs from the file by one to two
// priors, lies within every stated range, and the ranges are narrow.
func TestKnownNumbersAreRecovered(t *testing.T) {
	s := newSite(t, 2, func(p *plant.Plant) {
		p.Units[0].BestEfficiency, p.Units[0].BestFlowLps = 0.60, 80
		p.Units[1].BestEfficiency, p.Units[1].BestFlowLps = 0.66, 38
		p.Penstocks[0].MinorK = 4.5
	})
	s.offset = 2.5
	s.walk(10, true)
	f := s.fit()
	for _, c := range []struct {
		name  string
		truth float64
		wide  float64 // at most, of the whole range
	}{
		{"efficiency of A", 0.60, 0.04}, {"efficiency of B", 0.66, 0.05}, {"best flow of A", 80, 2.5}, {"best flow of B", 38, 2.5},
		{"minor losses of main", 4.5, 2.6}, {"offset of the pressure gauge", 2.5, 1.2},
	} {
		n := numberOf(t, f, c.name)
		if n.Held != "" || n.Low > c.truth || n.High < c.truth || n.High-n.Low > c.wide {
			t.Errorf("%s is %g: %+v", c.name, c.truth, n)
		}
		if n.Key != "" && !n.Changes {
			t.Errorf("%s should change: %+v", c.name, n)
		}
	}
	if f.Rounds != 30 || f.Chi2 > 2 || f.KnownBy < Told {
		t.Errorf("%d rounds, chi2 %.2f, known by %.1f", f.Rounds, f.Chi2, f.KnownBy)
	}
	for _, r := range f.Readings {
		if r.After > r.Before || r.Quantity == "pressure_kpa" && (r.Count != 60 || r.After > 1) {
			t.Errorf("%+v", r)
		}
	}
	if len(f.Cautions) != 1 || !strings.Contains(f.Cautions[0], "the pressure gauge shows 2.") || !strings.Contains(f.Cautions[0], "too much") {
		t.Errorf("%q", f.Cautions)
	}
}

// Over many sites the stated ranges hold the truth about nineteen times in twenty (two standard deviations).
func TestTheRangesHoldTheTruth(t *testing.T) {
	in, all := 0, 0
	for seed := range uint64(40) {
		r := rand.New(rand.NewPCG(seed, 12))
		s := newSite(t, seed, func(p *plant.Plant) {
			for i := range p.Units {
				p.Units[i].BestEfficiency *= 1 + priorShare*math.Max(-2, math.Min(2, r.NormFloat64()))
				p.Units[i].BestFlowLps *= 1 + priorShare*math.Max(-2, math.Min(2, r.NormFloat64()))
			}
			p.Penstocks[0].MinorK = math.Max(0.2, p.Penstocks[0].MinorK+1.5*r.NormFloat64())
		})
		s.offset = 2 * r.NormFloat64()
		s.walk(6, seed%2 == 0)
		f := s.fit()
		truth := map[string]float64{
			"efficiency of A": s.truth.Units[0].BestEfficiency, "efficiency of B": s.truth.Units[1].BestEfficiency, "best flow of A": s.truth.Units[0].BestFlowLps,
			"best flow of B": s.truth.Units[1].BestFlowLps, "minor losses of main": s.truth.Penstocks[0].MinorK, "offset of the pressure gauge": s.offset,
		}
		for _, n := range f.Numbers {
			all++
			if n.Low <= truth[n.Name] && truth[n.Name] <= n.High {
				in++
			}
		}
	}
	t.Logf("%d of %d ranges hold the truth", in, all)
	if float64(in) < 0.9*float64(all) {
		t.Errorf("only %d of %d ranges hold the truth", in, all)
	}
}

// Without a flow meter more flow and more efficiency give the same power: the flow is held at the file's value, that is said,
// the efficiency's range holds the truth all the same, and the expected power is right.
func TestWhatCannotBeToldApartIsHeld(t *testing.T) {
	s := newSite(t, 3, func(p *plant.Plant) { p.Units[0].BestEfficiency, p.Units[0].BestFlowLps = 0.60, 80 })
	s.walk(6, false)
	f := s.fit()
	flow, eff := numberOf(t, f, "best flow of A"), numberOf(t, f, "efficiency of A")
	if flow.Held == "" || !strings.Contains(flow.Held, "rounds with a flow would") || flow.Fitted != 76 || flow.Changes {
		t.Errorf("%+v", flow)
	}
	if eff.LowGiven == nil || *eff.LowGiven <= eff.Low || *eff.HighGiven >= eff.High || flow.LowGiven != nil {
		t.Errorf("given what is held the range must be narrower: %+v", eff)
	}
	if !eff.Changes || eff.Low > 0.60 || eff.High < 0.60 || eff.High-eff.Low < 0.05 {
		t.Errorf("%+v", eff)
	}
	fitted, err := steady.New(with(s.file, []parameter{{kind: efficiency, index: 0}}, []float64{eff.Fitted}))
	if err != nil {
		t.Fatal(err)
	}
	c := steady.Case{PondLevelM: -0.3, Running: []string{"A"}}
	got, _ := fitted.Solve(c)
	want, _ := s.model.Solve(c)
	if math.Abs(got.CommonKW/want.CommonKW-1) > 0.02 {
		t.Errorf("%.2f kW, truth %.2f", got.CommonKW, want.CommonKW)
	}
}

// One set alone at one level tells its efficiency, and of minor losses, offset and flow at most one.
func TestOneWayOfRunningTellsLittle(t *testing.T) {
	s := newSite(t, 4, func(p *plant.Plant) { p.Units[0].BestEfficiency = 0.62 })
	for range 12 {
		s.round(-0.2, "A")
	}
	f := s.fit()
	free := 0
	for _, n := range f.Numbers {
		if strings.HasSuffix(n.Name, " B") {
			t.Errorf("a set that never ran is fitted: %+v", n)
		}
		if n.Held == "" {
			free++
		}
	}
	if eff := numberOf(t, f, "efficiency of A"); eff.Held != "" || eff.Low > 0.62 || eff.High < 0.62 {
		t.Errorf("%+v", eff)
	}
	if free > 2 {
		t.Errorf("%d numbers are told by one way of running: %+v", free, f.Numbers)
	}
}

func TestRefusals(t *testing.T) {
	for _, c := range []struct {
		name string
		make func(s *site)
		want string
	}{
		{"no rounds", func(*site) {}, "0 rounds with a clean screen"},
		{"too few", func(s *site) { s.walk(1, true) }, "3 rounds with a clean screen"},
		{"no clean screen", func(s *site) {
			s.walk(6, true)
			for i := range s.rounds {
				delete(s.rounds[i].Words, "screen_cleared")
				delete(s.rounds[i].Values, "pressure_after_kpa")
			}
		}, "0 rounds with a clean screen"},
		{"nothing but levels", func(s *site) {
			s.walk(6, true)
			for i := range s.rounds {
				s.rounds[i].Values = map[quantity.Key]float64{"pond_level_m": 0}
			}
		}, "0 rounds with a clean screen"},
		{"a gauge so coarse that nothing is told", func(s *site) {
			s.walk(6, false)
			s.file.Gauge = map[string]float64{"pressure_kpa": 60, "load_kw": 60, "pond_level_m": 0.01}
		}, "tell none of its numbers"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newSite(t, 5, nil)
			c.make(s)
			f, err := Fit(s.assessor(), Options{})
			var refusal *Refusal
			if f != nil || !errors.As(err, &refusal) || !strings.Contains(err.Error(), c.want) || refusal.Help == "" {
				t.Errorf("%v, want %q", err, c.want)
			}
		})
	}
	if _, err := Fit(assess.Of(&record.History{At: noon}), Options{}); err == nil {
		t.Error("a book without a plant was fitted")
	}
}

// A measured table is better than any fit of an efficiency and a flow: only its penstock and gauge are fitted.
func TestMeasuredUnitsAreLeftAlone(t *testing.T) {
	s := newSite(t, 5, nil)
	s.walk(6, false)
	for i := range s.file.Units {
		s.file.Units[i].Curve = []plant.CurveRow{{NetHeadM: 12, FlowLps: 70, KWElectric: 5}, {NetHeadM: 14, FlowLps: 79, KWElectric: 6}}
	}
	for _, n := range s.fit().Numbers {
		if strings.HasPrefix(n.Key, "unit") {
			t.Errorf("%+v", n)
		}
	}
}

// Rounds that a fit must not take: they tell of something else than the clean plant.
func TestWhichRoundsAreTaken(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(r *record.Round)
		want   int
	}{
		{"as they are", func(*record.Round) {}, 12},
		{"a valve that is part shut", func(r *record.Round) { r.Words["valve"] = "part" }, 11},
		{"a frequency that is not held", func(r *record.Round) { r.Values["hertz"] = 62 }, 11},
		{"no level", func(r *record.Round) { delete(r.Values, "pond_level_m") }, 11},
		{"nothing runs", func(r *record.Round) { r.Running = &[]string{} }, 11},
		{"not cleared, and long after a clearing", func(r *record.Round) {
			delete(r.Words, "screen_cleared")
			delete(r.Values, "pressure_after_kpa")
		}, 11},
		{"not cleared, but a stick shows next to nothing", func(r *record.Round) {
			r.Words = map[quantity.Key]string{"screen": "clear"}
			delete(r.Values, "pressure_after_kpa")
			r.Values["screen_loss_mm"] = 5
		}, 12},
		{"a stick shows a loss", func(r *record.Round) {
			r.Words = map[quantity.Key]string{}
			delete(r.Values, "pressure_after_kpa")
			r.Values["screen_loss_mm"] = 60
		}, 11},
		{"soon after the clearing before, but seen iced", func(r *record.Round) {
			r.Time = r.Time.Add(-20 * time.Hour)
			r.Words = map[quantity.Key]string{"screen": "iced"}
			delete(r.Values, "pressure_after_kpa")
		}, 11},
		{"soon after the clearing before", func(r *record.Round) {
			r.Time = r.Time.Add(-20 * time.Hour)
			r.Words = map[quantity.Key]string{}
			delete(r.Values, "pressure_after_kpa")
		}, 12},
	} {
		s := newSite(t, 6, nil)
		s.walk(4, true)
		c.change(&s.rounds[5])
		if f := s.fit(); f.Rounds != c.want {
			t.Errorf("%s: %d rounds, want %d", c.name, f.Rounds, c.want)
		}
	}
	s := newSite(t, 6, nil)
	s.walk(6, true)
	f, err := Fit(s.assessor(), Options{From: s.rounds[3].Time, To: s.rounds[12].Time})
	if err != nil || f.Rounds != 9 || !f.From.Equal(s.rounds[3].Time) || !f.To.Equal(s.rounds[11].Time) {
		t.Errorf("%+v, %v", f, err)
	}
}

func TestASlipDoesNotCarryTheFitAway(t *testing.T) {
	make := func(slip bool) *Facts {
		s := newSite(t, 7, func(p *plant.Plant) { p.Units[0].BestEfficiency = 0.62 })
		s.walk(8, true)
		if slip {
			s.rounds[4].Values["pressure_kpa"] = 13.1
			s.rounds[9].Values["load_kw"] = 0.3
		}
		return s.fit()
	}
	sound, slip := make(false), make(true)
	for i, n := range sound.Numbers {
		if m := slip.Numbers[i]; math.Abs(m.Fitted-n.Fitted) > (n.High-n.Low)/4 {
			t.Errorf("%s moves from %g to %g", n.Name, n.Fitted, m.Fitted)
		}
	}
}

// Sets with meters of their own are told by them.
func TestOwnMetersAreTaken(t *testing.T) {
	s := newSite(t, 8, func(p *plant.Plant) { p.Units[1].BestEfficiency = 0.55 })
	s.walk(5, true)
	for i := range s.rounds {
		r := &s.rounds[i]
		res, err := s.model.Solve(steady.Case{PondLevelM: r.Values["pond_level_m"], Running: *r.Running})
		if err != nil {
			t.Fatal(err)
		}
		for _, u := range res.Units {
			if u.Running {
				r.Values[quantity.NewKey(u.ID, quantity.KW)] = s.read("A.kw", u.KW)
			}
		}
	}
	f := s.fit()
	if n := numberOf(t, f, "efficiency of B"); n.Low > 0.55 || n.High < 0.55 || !n.Changes {
		t.Errorf("%+v", n)
	}
	for _, r := range f.Readings {
		if r.Quantity == "generation_kw" {
			t.Errorf("the sum is taken beside all its parts: %+v", r)
		}
	}
}

// The demo's plant is as its file says: nothing is to be changed, and the gauge has no offset.
func TestTheDemoFitsItsFile(t *testing.T) {
	loc, err := time.LoadLocation("America/Halifax")
	if err != nil {
		t.Fatal(err)
	}
	for _, end := range []time.Time{time.Date(2025, 11, 18, 20, 15, 0, 0, loc), time.Date(2026, 5, 20, 12, 0, 0, 0, loc)} {
		story, err := demo.History(demo.Seed, end, loc)
		if err != nil {
			t.Fatal(err)
		}
		h := &record.History{At: story.End, Plant: story.Plant, Complete: true, Rounds: story.Rounds, Events: story.Events}
		f, err := Fit(assess.Of(h), Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range f.Numbers {
			t.Logf("%s: file %g, fitted %.4g (%.4g to %.4g) %s", n.Name, n.File, n.Fitted, n.Low, n.High, n.Held)
			if n.Low > n.File || n.High < n.File {
				t.Errorf("%+v", n)
			}
		}
		if f.Rounds < 15 || f.Chi2 > 2.5 {
			t.Errorf("%d rounds, chi2 %.2f", f.Rounds, f.Chi2)
		}
	}
}

// The revised file holds the fitted numbers, parses, and differs in those numbers alone.
func TestRevisedFile(t *testing.T) {
	s := newSite(t, 9, func(p *plant.Plant) { p.Units[0].BestEfficiency = 0.60 })
	s.walk(8, true)
	f := s.fit()
	text := demo.PlantText()
	got, err := f.Revised("tern.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	want := text
	for _, n := range f.Numbers {
		if n.Changes && n.Key == "unit[1].best_efficiency" {
			want = strings.Replace(want, "best_efficiency = 0.68", fmt.Sprintf("best_efficiency = %v", n.New), 1)
		} else if n.Changes {
			t.Errorf("changes though it was right: %+v", n)
		}
	}
	if string(got) != want || want == text {
		t.Errorf("the file differs in more, or in nothing:\n%s", got)
	}
	data, err := json.Marshal(f)
	if err != nil || !strings.Contains(string(data), `"key":"unit[1].best_efficiency"`) {
		t.Errorf("%s, %v", data, err)
	}
}

func TestRounded(t *testing.T) {
	for _, c := range []struct{ v, sd, want float64 }{
		{0.61234, 0.006, 0.612}, {0.61234, 0.04, 0.61}, {79.876, 0.5, 79.9}, {79.876, 4, 80}, {1234, 400, 1200}, {2.5, 0, 2.5}, {2.5, math.Inf(1), 2.5},
	} {
		if got := Rounded(c.v, c.sd); got != c.want {
			t.Errorf("%g ± %g is %v, want %v", c.v, c.sd, got, c.want)
		}
	}
}

// Whatever is read, there is a refusal or finite numbers in order.
func TestNeverNoNumber(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s := newSite(t, rapid.Uint64().Draw(rt, "seed"), nil)
		s.walk(rapid.IntRange(2, 4).Draw(rt, "n"), rapid.Bool().Draw(rt, "flow"))
		for range rapid.IntRange(0, 30).Draw(rt, "slips") {
			r := &s.rounds[rapid.IntRange(0, len(s.rounds)-1).Draw(rt, "round")]
			k := rapid.SampledFrom([]quantity.Key{"pressure_kpa", "load_kw", "dump_share_pct", "flow_lps", "pond_level_m"}).Draw(rt, "key")
			r.Values[k] = rapid.Float64Range(-2000, 2000).Draw(rt, "value")
		}
		f, err := Fit(s.assessor(), Options{})
		if err != nil {
			return
		}
		for _, n := range f.Numbers {
			if !(n.Low <= n.Fitted && n.Fitted <= n.High) || math.IsInf(n.Low, 0) || math.IsInf(n.High, 0) {
				rt.Fatalf("%+v", n)
			}
		}
		if _, err := json.Marshal(f); err != nil {
			rt.Fatal(err)
		}
	})
}

func BenchmarkFit(b *testing.B) {
	s := newSite(b, 1, func(p *plant.Plant) { p.Units[0].BestEfficiency = 0.60 })
	s.walk(20, true)
	a := s.assessor()
	for b.Loop() {
		if _, err := Fit(a, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
