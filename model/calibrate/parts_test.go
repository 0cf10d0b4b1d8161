package calibrate

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/mat"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/steady"
)

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.9g, expected %.9g ± %g", what, got, want, tolerance)
	}
}

// What may be fitted: the numbers of sets that ran, of their penstocks and of the gauges that were read, with priors worked by
// hand: 10 % of 0.68 and of 76 L/s, 0.5·(1 + 2.1), 1.5 % of 9.80665·(0.10 + 14.6) kPa.
func TestParameters(t *testing.T) {
	p := tern(t)
	p.Penstocks = append(p.Penstocks, plant.Penstock{Name: "spare", LengthM: 10, DiameterM: 0.2})
	list := parameters(p, map[string]bool{"A": true}, []quantity.Key{"pressure_kpa"}, staticKPa(p))
	want := []struct {
		key   string
		prior float64
	}{{"unit[1].best_efficiency", 0.068}, {"unit[1].best_flow_lps", 7.6}, {"penstock[1].minor_k", 1.55}, {"", 0.015 * 9.80665 * 14.7}}
	if len(list) != len(want) {
		t.Fatalf("%+v", list)
	}
	for i, w := range want {
		if list[i].key != w.key || math.Abs(list[i].prior-w.prior) > 1e-9 {
			t.Errorf("%d: %+v, want %+v", i, list[i], w)
		}
	}
	if list[3].name != "offset of the pressure gauge" || gaugeName("B.pressure_kpa") != "the pressure gauge of B" {
		t.Errorf("%q, %q", list[3].name, gaugeName("B.pressure_kpa"))
	}
}

func TestWithLeavesTheOriginalAlone(t *testing.T) {
	p := tern(t)
	list := parameters(p, map[string]bool{"A": true, "B": true}, []quantity.Key{"pressure_kpa"}, 144)
	q := with(p, list, []float64{0.5, 70, 0.4, 30, 9, 2})
	if q.Units[0].BestEfficiency != 0.5 || q.Units[0].BestFlowLps != 70 || q.Units[1].BestEfficiency != 0.4 || q.Units[1].BestFlowLps != 30 || q.Penstocks[0].MinorK != 9 {
		t.Errorf("%+v", q)
	}
	if p.Units[0].BestEfficiency != 0.68 || p.Units[1].BestFlowLps != 41 || p.Penstocks[0].MinorK != 2.1 {
		t.Errorf("the original changed: %+v", p)
	}
}

// invented is a problem of named parameters without a plant, for the parts that only see matrices.
func invented(kinds ...kind) *problem {
	list := make([]parameter, len(kinds))
	names := map[kind]string{efficiency: "efficiency", offset: "offset", minorK: "minor losses", bestFlow: "best flow"}
	for i, k := range kinds {
		list[i] = parameter{kind: k, name: names[k], prior: 1, lo: -100, hi: 100}
	}
	return newProblem(nil, &sample{}, list)
}

// By hand: the columns (3, 4, 0) and (0, 0, 2) are at right angles, so that the singular values are 5 and 2 and the weakest
// direction is the second parameter alone. Columns (1, 1) and (1, 1.001) nearly agree: their difference, (1, −1)/√2, is known
// by 0.001/√2·… at most a thousandth.
func TestTheWeakestCombination(t *testing.T) {
	f := invented(efficiency, bestFlow)
	known, _, part, err := f.weakest(mat.NewDense(3, 2, []float64{3, 0, 4, 0, 0, 2}), nil)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "known", known, 2, 1e-12)
	near(t, "part of the first", math.Abs(part[0]), 0, 1e-12)
	near(t, "part of the second", math.Abs(part[1]), 1, 1e-12)
	known, _, part, err = f.weakest(mat.NewDense(2, 2, []float64{1, 1, 1, 1.001}), nil)
	if err != nil || known > 0.001 {
		t.Errorf("known by %g, %v", known, err)
	}
	near(t, "their parts are opposite", part[0]*part[1], -0.5, 1e-3)
	// Fewer readings than parameters: nothing tells the rest.
	if known, _, _, err = f.weakest(mat.NewDense(1, 2, []float64{3, 4}), nil); err != nil || known > 1e-12 {
		t.Errorf("one reading tells two numbers: %g, %v", known, err)
	}
	f.free = []bool{false, false}
	if _, _, _, err = f.weakest(mat.NewDense(1, 2, []float64{3, 4}), nil); !errors.Is(err, errSingular) {
		t.Errorf("nothing to tell: %v", err)
	}
}

// Of a combination the flow is given up first, then the minor losses, the offset, and last the efficiency; a parameter that
// has hardly any part in it is not touched; and the others are named.
func TestWhichIsHeld(t *testing.T) {
	for _, c := range []struct {
		part []float64 // of efficiency, offset, minor losses, best flow
		held int
		want string
	}{
		{[]float64{0.7, 0, 0, -0.7}, 3, "the rounds do not tell it apart from the efficiency; rounds with a flow would"},
		{[]float64{0, 0.7, 0.7, 0.1}, 2, "the rounds do not tell it apart from the offset; rounds with other sets"},
		{[]float64{0.7, 0.7, 0.1, 0.1}, 1, "apart from the efficiency; rounds with other sets"},
		{[]float64{1, 0, 0, 0}, 0, "the rounds do not tell it; rounds with its power would"},
		{[]float64{0.5, 0.5, 0, 0.5}, 3, "apart from the efficiency and the offset"},
	} {
		f := invented(efficiency, offset, minorK, bestFlow)
		f.x[c.held] = 0.5
		f.holdOne([]int{0, 1, 2, 3}, c.part)
		for k := range f.free {
			if f.free[k] == (k == c.held) {
				t.Errorf("%v: %v are free, want all but %d", c.part, f.free, c.held)
			}
		}
		if !strings.Contains(f.held[c.held], c.want) || f.x[c.held] != 0 {
			t.Errorf("%v: %q, want %q", c.part, f.held[c.held], c.want)
		}
	}
}

// By hand: with J_f = (3, 4) and J_h = (5, 0), (JᵀJ)⁻¹ = 1/25 and the free parameter moves by −(3·5)/25 = −0.6 for each prior of
// the held one.
func TestSensitivityToWhatIsHeld(t *testing.T) {
	f := invented(efficiency, bestFlow)
	j := mat.NewDense(2, 2, []float64{3, 5, 4, 0})
	a, _ := columns(j, []bool{true, false}, nil)
	moves := f.sensitivity(mat.NewDense(1, 1, []float64{1. / 25}), a, j, []bool{false, true}, []float64{1, 1})
	near(t, "moves", moves.At(0, 0), -0.6, 1e-12)
	if f.sensitivity(mat.NewDense(1, 1, []float64{1}), a, j, []bool{false, false}, []float64{1, 1}) != nil {
		t.Error("nothing is held, and yet something moves")
	}
}

// One step of Gauss and Newton solves a straight line: residuals 2 − x·1 and 4 − x·2 vanish at x = 2, J being (−1, −2).
func TestAStepSolvesAStraightLine(t *testing.T) {
	f := invented(efficiency)
	step, err := f.step(mat.NewDense(2, 1, []float64{-1, -2}), []float64{2, 4}, []float64{1, 1}, 0)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "step", step[0], 2, 1e-12)
	if step, err = f.step(mat.NewDense(2, 1, []float64{-1, -2}), []float64{2, 4}, []float64{1, 1}, 1); err != nil || math.Abs(step[0]-1) > 1e-12 {
		t.Errorf("damped by as much again it goes half the way: %v, %v", step, err)
	}
	f.list[0].hi = 1.5
	if got := f.moved([]float64{2}); got[0] != 1.5 {
		t.Errorf("beyond what is possible: %v", got)
	}
}

// Student's t with four degrees of freedom: a reading one error off weighs 1, one without error 1.25, one four off 0.25.
func TestWeights(t *testing.T) {
	w := weightsOf([]float64{1, 0, 4, -4})
	for i, want := range []float64{1, 1.25, 0.25, 0.25} {
		near(t, "weight", w[i], want, 1e-12)
	}
	near(t, "sum", weighedSum([]float64{1, 0, 4}, w[:3]), 1+0.25*16, 1e-12)
	near(t, "cost of nothing", cost([]float64{0, 0}), 0, 0)
	near(t, "cost", cost([]float64{2}), 2.5*math.Log(2), 1e-12)
}

// Half of 1 and half of 10 errors off: the weights make little of the tens, and the middle residual decides, (1.4826·10)² × 4/3.
func TestScatter(t *testing.T) {
	r := []float64{1, -10, 10, 10}
	near(t, "scatter", scatter(r, weightsOf(r), 1), 14.826*14.826*4/3, 1e-9)
	r = []float64{1, -1, 1, 1}
	near(t, "scatter of one error", scatter(r, weightsOf(r), 0), 1.4826*1.4826, 1e-9)
}

// A set that would need more than the water has is no efficiency: it is held, and it is said that a meter or the description
// is off.
func TestAnImpossibleNumberIsHeld(t *testing.T) {
	s := newSite(t, 31, nil)
	s.walk(6, true)
	for i := range s.rounds {
		s.rounds[i].Values["load_kw"] *= 1.8 // the meter's transformer is wired for another ratio
	}
	f, err := Fit(s.assessor(), Options{})
	var refusal *Refusal
	if err != nil && !errors.As(err, &refusal) {
		t.Fatal(err)
	}
	if err == nil {
		for _, n := range f.Numbers {
			if strings.HasSuffix(n.Key, "best_efficiency") && n.Held == "" && n.Fitted > 0.98 {
				t.Errorf("%+v", n)
			}
		}
		if n := numberOf(t, f, "efficiency of A"); !strings.Contains(n.Held, "cannot be") && len(f.Cautions) == 0 {
			t.Errorf("nothing is said of it: %+v, %q", n, f.Cautions)
		}
	}
}

func TestCautions(t *testing.T) {
	s := newSite(t, 32, func(p *plant.Plant) { p.Units[0].BestEfficiency = 0.42 })
	s.walk(8, true)
	has := func(f *Facts, text string) bool {
		for _, c := range f.Cautions {
			if strings.Contains(c, text) {
				return true
			}
		}
		return false
	}
	if f := s.fit(); !has(f, "look for another cause first") {
		t.Errorf("far from the file: %q", f.Cautions)
	}
	s = newSite(t, 33, nil)
	s.walk(8, true)
	h := s.assessor().History()
	p := *s.file
	h.Revisions = append(h.Revisions, record.Revision{From: s.rounds[9].Time, Plant: &p})
	h.Plant = &p
	f, err := Fit(assess.Of(h), Options{})
	if err != nil || !has(f, "leave earlier rounds out with --from") {
		t.Errorf("a revision between the rounds: %v", err)
	}
	s = newSite(t, 34, nil)
	s.walk(8, true)
	for i := range s.rounds {
		s.rounds[i].Values["pressure_kpa"] += 12 * s.rand.NormFloat64()
		s.rounds[i].Values["pressure_after_kpa"] += 12 * s.rand.NormFloat64()
		s.rounds[i].Values["flow_lps"] += 30 * s.rand.NormFloat64()
	}
	if f := s.fit(); !has(f, "scatter") {
		t.Errorf("a needle that sticks: chi2 %.1f, %q", f.Chi2, f.Cautions)
	}
}

// Each set's own gauge has an offset of its own.
func TestGaugesOfTheirOwn(t *testing.T) {
	s := newSite(t, 35, nil)
	s.walk(6, true)
	for i := range s.rounds {
		r := &s.rounds[i]
		res, err := s.model.Solve(steady.Case{PondLevelM: r.Values["pond_level_m"], Running: *r.Running})
		if err != nil {
			t.Fatal(err)
		}
		delete(r.Values, "pressure_kpa")
		delete(r.Values, "pressure_after_kpa")
		for _, u := range res.Units {
			if u.Running {
				r.Values[quantity.NewKey(u.ID, quantity.PressureKPa)] = s.read("pressure_kpa", u.PressureKPa+map[string]float64{"A": 3, "B": -2}[u.ID])
			}
		}
	}
	f := s.fit()
	for name, want := range map[string]float64{"offset of the pressure gauge of A": 3, "offset of the pressure gauge of B": -2} {
		if n := numberOf(t, f, name); n.Held != "" || n.Low > want || n.High < want {
			t.Errorf("%s is %g: %+v", name, want, n)
		}
	}
}

// Where the sets stand on pipes of their own one common gauge has no meaning, and each pipe has its minor losses.
func TestPipesOfTheirOwn(t *testing.T) {
	two := func(p *plant.Plant) {
		b := p.Penstocks[0]
		b.Name, b.DiameterM = "second", 0.22
		p.Penstocks = append(p.Penstocks, b)
		p.Units[1].Penstock = "second"
	}
	s := newSite(t, 36, func(p *plant.Plant) { two(p); p.Penstocks[1].MinorK = 6 })
	two(s.file)
	s.walk(8, true)
	f := s.fit()
	if n := numberOf(t, f, "minor losses of second"); n.Key != "penstock[2].minor_k" || n.Low > 6 || n.High < 6 {
		t.Errorf("%+v", n)
	}
	for _, r := range f.Readings {
		if r.Quantity == "pressure_kpa" && r.Count > 32 { // 16 rounds with one set, two readings each
			t.Errorf("the common gauge counts with both sets running: %+v", r)
		}
	}
}

// A year is looked back where nothing is asked, and a set that is no longer described is left out.
func TestOldRoundsAndOldSets(t *testing.T) {
	s := newSite(t, 37, nil)
	s.walk(5, true)
	for i := range 6 {
		s.rounds[i].Time = noon.AddDate(-1, 0, i)
	}
	s.rounds[8].Running = &[]string{"A", "C"}
	h := &record.History{At: noon.AddDate(0, 1, 0), Plant: s.file, Rounds: s.rounds}
	f, err := Fit(assess.Of(h), Options{})
	if err != nil || f.Rounds > 9 {
		t.Errorf("%+v, %v", f, err)
	}
	if !f.From.After(h.At.Add(-YearBefore)) {
		t.Errorf("from %s", f.From.Format(time.DateOnly))
	}
}
