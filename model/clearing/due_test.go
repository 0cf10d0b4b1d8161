package clearing

import (
	"math"
	"testing"
	"time"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/steady"
)

// dueOf is the limit at a level with sets running.
func dueOf(t *testing.T, s *site, level float64, running ...string) (*work, limit) {
	t.Helper()
	w := &work{present: State{Model: s.model, Case: steady.Case{PondLevelM: level, Running: running}}}
	if err := w.model(); err != nil {
		t.Fatal(err)
	}
	l, ok := w.limits()
	if !ok {
		t.Fatal("there is no limit")
	}
	return w, l
}

// With plenty of water over the intake the cost decides: the solver, asked for the clear share that belongs to y, gives 95 %
// of the clean screen's power, and the loss that was told.
func TestTheCostDecidesInAFullPond(t *testing.T) {
	s := newSite(t, 1)
	w, l := dueOf(t, s, 0, "A")
	if l.criterion != Cost {
		t.Fatalf("%+v", l)
	}
	r, clear := w.solveAt(l.y)
	near(t, "power", r.CommonKW, 0.95*w.clean.CommonKW, 1e-6)
	near(t, "loss", r.ScreenLossM, l.lossM, 1e-6)
	near(t, "power lost", l.lostKW, 0.05*w.clean.CommonKW, 1e-6)
	again, err := s.model.Solve(steady.Case{PondLevelM: 0, Running: []string{"A"}, ScreenClear: &clear})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "the solver's power", again.CommonKW, 0.95*w.clean.CommonKW, 1e-6)
}

// In a low pond the air decides. By hand at −0.80 m with the large set: the crown is at −1.55 + 0.175 = −1.375 m; some 75 L/s
// through 0.0962 m² are 0.78 m/s, and Gordon asks 0.7245·0.78·√0.35 = 0.334 m over it, so that −1.041 m must stand behind the
// screen: 0.241 m of loss.
func TestTheAirDecidesInALowPond(t *testing.T) {
	_, l := dueOf(t, newSite(t, 1), -0.80, "A")
	if l.criterion != Air {
		t.Fatalf("%+v", l)
	}
	near(t, "loss", l.lossM, 0.241, 0.005)
}

// Where even a clean screen does not leave the water that Gordon asks for, it is the pond's matter: the cost decides.
func TestAPondTooLowIsNotTheScreensMatter(t *testing.T) {
	if _, l := dueOf(t, newSite(t, 1), -1.2, "A"); l.criterion != Cost {
		t.Errorf("%+v", l)
	}
}

// The plant's own band for the pressure decides where it is nearer. 130.5 kPa with a clean screen and a limit of 129 leave
// 1.5 kPa, 0.153 m of water, of which some comes back as friction that is saved.
func TestThePlantsOwnBandDecides(t *testing.T) {
	s := newSite(t, 1)
	w, _ := dueOf(t, s, -0.2, "A")
	clean := w.clean.Units[0].PressureKPa
	s.plant.Bands = []plant.Band{{Quantity: "pressure_kpa", InMin: new(clean - 1.5)}}
	_, l := dueOf(t, s, -0.2, "A")
	if l.criterion != Pressure {
		t.Fatalf("%+v", l)
	}
	near(t, "loss", l.lossM, 0.165, 0.015)
	s.plant.Bands[0].InMin = new(clean + 1) // already below with a clean screen
	if _, l = dueOf(t, s, -0.2, "A"); l.criterion != Cost {
		t.Errorf("%+v", l)
	}
}

// A screen so fine, or a set so weak, that nothing would ever be due still has its facts.
func TestNoLimitIsSaid(t *testing.T) {
	s := newSite(t, 1)
	for i := range s.plant.Units {
		s.plant.Units[i].BestHeadM = 60 // the head cannot hold rated speed: no power to lose
	}
	s.plant.Intake.CentrelineM = nil
	s.model = modelOf(t, s.plant)
	at := s.grow(noon, 2, 0.1, nil)
	f := s.report(at, 0)
	if f.Next != nil || f.Now == nil || f.CannotTell == "" {
		t.Errorf("%s", asJSON(f))
	}
}

// References: mean of 1 and 3 with errors 1 and 1 is 2 with variance 1/2. Of ten at 0 and one at 40 the one hardly counts.
func TestRobustMean(t *testing.T) {
	// With Student's weights of four degrees of freedom both weigh 5/(4+1) = 1, so that the plain mean is right.
	m, v := robustMean([]reference{{1, 1}, {3, 1}})
	near(t, "mean", m, 2, 1e-9)
	near(t, "variance", v, 0.5*2, 1e-9) // they scatter by twice their errors' square: (1+1)/(2−1)
	list := []reference{{40, 0.5}}
	for range 10 {
		list = append(list, reference{0, 0.5})
	}
	if m, _ = robustMean(list); math.Abs(m) > 0.1 {
		t.Errorf("a slip moves the mean to %.2f", m)
	}
	m, v = combine(0, 4, 3, 1)
	near(t, "combined", m, 2.4, 1e-12)
	near(t, "its variance", v, 0.8, 1e-12)
}

// Clearings with another set tell of the gauge as well, but less, for the description may be off for each set by itself.
func TestAnotherSetsClearingsTellLess(t *testing.T) {
	s := newSite(t, 21)
	s.offset = 3
	at := noon
	for range 4 {
		at = at.Add(24 * time.Hour)
		s.clearing(at)
	}
	s.running = []string{"B"}
	at = at.Add(12 * time.Hour)
	s.round(at, false)
	w := workOf(t, s, at)
	own := w.offsets.of(gauge{"pressure_kpa", "A", s.model}, 130)
	other := w.offsets.of(gauge{"pressure_kpa", "B", s.model}, 130)
	near(t, "offset with the set of the clearings", own.KPa, 3, 0.6)
	near(t, "offset with the other", other.KPa, 3, 1.4)
	if !(own.ErrKPa < other.ErrKPa && other.ErrKPa < 0.01*130) || other.Clearings != 0 {
		t.Errorf("errors %+v and %+v", own, other)
	}
	if unknown := w.offsets.of(gauge{"B.pressure_kpa", "B", s.model}, 130); unknown.KPa != 0 || math.Abs(unknown.ErrKPa-130*math.Hypot(0.015, 0.005)) > 1e-9 {
		t.Errorf("a gauge that no clearing told of: %+v", unknown)
	}
}

// 75.4 L/s (the solver's) on 1.4 m² are 0.054 m/s, on its open 0.56 m² 0.135 m/s: within the passive rule's 0.061 m/s on the
// whole area, beyond the 0.108 m/s on the open area for strong swimmers (sources in the rules themselves).
func TestApproachVelocity(t *testing.T) {
	s := newSite(t, 1)
	flow, _ := s.model.Draw(-0.2, []string{"A"})
	s.round(noon, false)
	seen := map[string]bool{}
	for _, a := range s.report(noon, 0).Approach {
		seen[a.Rule] = true
		want, within := flow/1.4, true
		if a.OpenArea {
			want, within = flow/0.56, false
		}
		near(t, a.Rule, a.VelocityMS, want, 1e-12)
		if a.Within != within || a.Source == "" || a.Status == "" {
			t.Errorf("%+v", a)
		}
	}
	if len(seen) < 5 {
		t.Errorf("only %v", seen)
	}
}
