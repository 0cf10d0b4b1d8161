package clearing

import (
	"encoding/json"
	"math"
	"slices"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"example.org/headpond/model/plant/planttest"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/steady"
)

// anyInput draws some weeks of rounds at a plant whose screen is as clear as may be, with gauges that are off and rounds that leave
// things out.
func anyInput(t *rapid.T) Input {
	p := planttest.Random(t)
	m, err := steady.New(p)
	if err != nil {
		t.Fatal(err)
	}
	h := &record.History{Plant: p, Revisions: []record.Revision{{From: noon, Plant: p}}, Complete: true}
	at := noon
	offset := rapid.Float64Range(-5, 5).Draw(t, "offset")
	for range rapid.IntRange(0, 12).Draw(t, "rounds") {
		at = at.Add(time.Duration(rapid.IntRange(1, 60).Draw(t, "hours")) * time.Hour)
		running := planttest.Running(t, p)
		level := rapid.Float64Range(-1, 0.4).Draw(t, "level")
		clear := math.Exp(rapid.Float64Range(-6, 0).Draw(t, "ln clear"))
		res, err := m.Solve(steady.Case{PondLevelM: level, Running: running, ScreenClear: &clear})
		if err != nil {
			t.Fatal(err)
		}
		r := record.Round{Time: at, Running: &running, Values: map[quantity.Key]float64{"pond_level_m": level}, Words: map[quantity.Key]string{}}
		for _, u := range res.Units {
			if u.Running && rapid.Bool().Draw(t, "own gauge") {
				r.Values[quantity.NewKey(u.ID, quantity.PressureKPa)] = u.PressureKPa + offset
			}
			if u.Running && rapid.Bool().Draw(t, "gauge") {
				r.Values["pressure_kpa"] = u.PressureKPa + offset
			}
		}
		switch rapid.IntRange(0, 5).Draw(t, "what else") {
		case 0:
			r.Words["screen_cleared"] = "yes"
			r.Values["pressure_before_kpa"] = rapid.Float64Range(-100, 3000).Draw(t, "before")
			r.Values["pressure_after_kpa"] = rapid.Float64Range(-100, 3000).Draw(t, "after")
		case 1:
			r.Values["screen_loss_mm"] = rapid.Float64Range(0, 5000).Draw(t, "stick")
		case 2:
			delete(r.Values, "pond_level_m")
		}
		h.Rounds = append(h.Rounds, r)
	}
	h.At = at.Add(time.Duration(rapid.IntRange(0, 200).Draw(t, "later")) * time.Hour)
	tl := h.Timeline()
	state := func(r record.Round) (State, bool) {
		running, known := tl.RunningAt(r.Time)
		level := -0.2
		if v, ok := r.Value("pond_level_m"); ok {
			level = v
		}
		return State{Model: m, Case: steady.Case{PondLevelM: level, Running: running}}, known
	}
	return Input{History: h, Timeline: tl, State: state}
}

// Whatever was read on whatever plant: either there is an estimate or a reason why not, nothing is no number, every range is in order,
// losses and costs are not below nothing, and clear shares are shares.
func TestTheReportIsTotal(t *testing.T) {
	told := 0
	rapid.Check(t, func(t *rapid.T) {
		in := anyInput(t)
		f := Report(in)
		if _, err := json.Marshal(f); err != nil {
			t.Fatal(err)
		}
		if f.Now == nil && f.CannotTell == "" {
			t.Fatal("neither an estimate nor a reason")
		}
		for _, s := range f.Readings {
			if !(s.LowM <= s.LossM && s.LossM <= s.HighM) {
				t.Fatalf("%+v", s)
			}
		}
		if f.Now == nil {
			return
		}
		told++
		for name, r := range map[string]Range{"loss": f.Now.LossM, "clear": f.Now.Clear, "cost": f.Now.LostKW, "share": f.Now.LostShare} {
			if !(r.P10 <= r.P50*(1+1e-12)+1e-12 && r.P50 <= r.P90*(1+1e-12)+1e-12) || r.P10 < -1e-9 {
				t.Fatalf("%s: %+v", name, r)
			}
		}
		if f.Now.Clear.P90 > 1 || f.Now.LostShare.P90 > 1+1e-9 {
			t.Fatalf("%+v", f.Now)
		}
		if n := f.Next; n != nil && n.P50 != nil {
			if n.P10 == nil || n.P10.After(*n.P50) || n.P90 != nil && n.P90.Before(*n.P50) || n.Due != !n.P50.After(in.History.At) {
				t.Fatalf("%+v at %s", n, in.History.At)
			}
		}
	})
	if told == 0 {
		t.Error("no screen was ever told")
	}
}

// The same rounds tell the same twice, to the last digit.
func TestTheSameRoundsTellTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := anyInput(t)
		a, err := json.Marshal(Report(in))
		if err != nil {
			t.Fatal(err)
		}
		b, err := json.Marshal(Report(in))
		if err != nil {
			t.Fatal(err)
		}
		if string(a) != string(b) {
			t.Fatalf("%s\n%s", a, b)
		}
	})
}

// The robust mean against what it comes to at its limits (gonum/stat as the other implementation): with readings that agree it is the
// weighted mean; it moves and scales with the readings; and it lies among them.
func TestTheRobustMeanAtItsLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "n")
		list := make([]reference, n)
		values, weights := make([]float64, n), make([]float64, n)
		for i := range list {
			sd := rapid.Float64Range(0.5, 3).Draw(t, "sd")
			v := rapid.Float64Range(-1, 1).Draw(t, "value") * 0.02 * sd // all but alike: the tails do not matter
			list[i], values[i], weights[i] = reference{v, sd}, v, 1/(sd*sd)
		}
		mean, variance := robustMean(list)
		if want := stat.Mean(values, weights); math.Abs(mean-want) > 1e-3 {
			t.Fatalf("%g, the weighted mean is %g", mean, want)
		}
		sum := 0.0
		for _, w := range weights {
			sum += w
		}
		// Weights at the middle are (ν+1)/ν of those of a normal distribution: 1.25.
		if ratio := variance * sum; ratio < 0.79 || ratio > 1.01 {
			t.Fatalf("the variance is %g of the weighted mean's", ratio)
		}
		by, times := rapid.Float64Range(-100, 100).Draw(t, "by"), rapid.Float64Range(0.1, 10).Draw(t, "times")
		moved := slices.Clone(list)
		for i := range moved {
			moved[i] = reference{by + times*moved[i].kPa, times * moved[i].sdKPa}
		}
		m2, v2 := robustMean(moved)
		if math.Abs(m2-(by+times*mean)) > 1e-9*(1+math.Abs(m2)) || math.Abs(v2-times*times*variance) > 1e-9*v2 {
			t.Fatalf("moved and scaled: %g ± %g, expected %g ± %g", m2, math.Sqrt(v2), by+times*mean, times*math.Sqrt(variance))
		}
	})
}

// A fine screen of a small flow loses less than the tenth of a millimetre from which its filling up is counted: clean, it is told as
// clean all the same.
func TestAScreenThatLosesNextToNothing(t *testing.T) {
	s := newSite(t, 4)
	s.plant.Intake.ScreenM2 = new(60.0)
	s.model = modelOf(t, s.plant)
	w := &work{present: State{Model: s.model, Case: steady.Case{PondLevelM: -0.2, Running: s.running}}}
	if err := w.model(); err != nil {
		t.Fatal(err)
	}
	if w.clean.ScreenLossM >= leastLossM {
		t.Fatalf("the clean screen loses %g m", w.clean.ScreenLossM)
	}
	lastLoss, lastClear := -1.0, 2.0
	for y := 0.0; y < 6; y += 0.25 {
		r, clear := w.solveAt(y)
		if y == 0 && (math.Abs(clear-1) > 1e-9 || math.Abs(r.ScreenLossM-w.clean.ScreenLossM) > 1e-12) {
			t.Errorf("clean it is told as %g clear, losing %g m", clear, r.ScreenLossM)
		}
		if y > 0 && (r.ScreenLossM <= lastLoss || clear >= lastClear) {
			t.Errorf("at y %g it loses %g m, %g clear", y, r.ScreenLossM, clear)
		}
		lastLoss, lastClear = r.ScreenLossM, clear
	}
}

// Two estimates become one as two readings of one thing do: by least squares, whose weights are 1/variance.
func TestCombiningIsLeastSquares(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m1, m2 := rapid.Float64Range(-10, 10).Draw(t, "m1"), rapid.Float64Range(-10, 10).Draw(t, "m2")
		v1, v2 := rapid.Float64Range(0.01, 10).Draw(t, "v1"), rapid.Float64Range(0.01, 10).Draw(t, "v2")
		mean, variance := combine(m1, v1, m2, v2)
		if want := stat.Mean([]float64{m1, m2}, []float64{1 / v1, 1 / v2}); math.Abs(mean-want) > 1e-12*(1+math.Abs(want)) {
			t.Fatalf("%g, expected %g", mean, want)
		}
		if math.Abs(1/variance-(1/v1+1/v2)) > 1e-9/variance {
			t.Fatalf("variance %g of %g and %g", variance, v1, v2)
		}
		if back, _ := combine(m2, v2, m1, v1); math.Abs(back-mean) > 1e-12*(1+math.Abs(mean)) {
			t.Fatal("the order matters")
		}
	})
}
