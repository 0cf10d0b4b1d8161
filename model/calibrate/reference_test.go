package calibrate

import (
	"maps"
	"math"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/plant/planttest"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/steady"
)

// problemOf is a site's fit, ready to be solved.
func problemOf(t *testing.T, s *site) *problem {
	t.Helper()
	sample := gather(s.assessor(), noon.AddDate(-1, 0, 0), noon.AddDate(1, 0, 0))
	f := newProblem(s.file, sample, parameters(s.file, sample.ran, sample.gauges, staticKPa(s.file)))
	if err := f.hold(); err != nil {
		t.Fatal(err)
	}
	return f
}

// A slow reference for the search: each number in turn is moved by ever smaller steps wherever that lowers the cost, without any
// derivative. Both end at the same place.
func TestTheSearchEndsWhereASlowOneDoes(t *testing.T) {
	s := newSite(t, 5, func(p *plant.Plant) {
		p.Units[0].BestEfficiency, p.Penstocks[0].MinorK = 0.62, 4
		p.Units[1].BestFlowLps = 38
	})
	s.walk(6, true)
	f := problemOf(t, s)
	costAt := func(x []float64) float64 {
		r, err := f.residuals(x)
		if err != nil {
			t.Fatal(err)
		}
		return cost(r)
	}
	slow := make([]float64, len(f.x))
	best := costAt(slow)
	for step := 0.5; step > 2e-5; {
		better := false
		for k := range slow {
			for _, d := range []float64{step, -step} {
				if !f.free[k] {
					continue
				}
				slow[k] += d
				if c := costAt(slow); c < best-1e-12 {
					best, better = c, true
					continue
				}
				slow[k] -= d
			}
		}
		if !better {
			step /= 2
		}
	}
	if err := f.solve(); err != nil {
		t.Fatal(err)
	}
	if c := costAt(f.x); c > best+1e-6 {
		t.Errorf("the search ends at a cost of %g, the slow one at %g", c, best)
	}
	for k := range slow {
		if math.Abs(slow[k]-f.x[k]) > 0.02 {
			t.Errorf("%s: %g priors off the file, by the slow search %g", f.list[k].name, f.x[k], slow[k])
		}
	}
}

// The stated deviation of a number is the scatter of the fits over many sets of readings of one plant (a parametric bootstrap:
// B. Efron and R. Tibshirani, An Introduction to the Bootstrap, 1993, from memory), within the sampling error of 40 fits, which is
// 11 % of a deviation, three times over.
func TestTheStatedDeviationIsTheScatterOfTheFits(t *testing.T) {
	values, stated := map[string][]float64{}, map[string][]float64{}
	for seed := range uint64(40) {
		s := newSite(t, 1000+seed, nil)
		s.walk(5, true)
		for _, n := range s.fit().Numbers {
			if n.LowGiven != nil && n.Fitted > *n.LowGiven && n.Fitted < *n.HighGiven {
				values[n.Name] = append(values[n.Name], n.Fitted)
				stated[n.Name] = append(stated[n.Name], (*n.HighGiven-*n.LowGiven)/4)
			}
		}
	}
	looked := 0
	for name, list := range values {
		if len(list) < 35 {
			continue
		}
		looked++
		if ratio := stat.StdDev(list, nil) / stat.Mean(stated[name], nil); ratio < 0.6 || ratio > 1.34 {
			t.Errorf("%s: the fits scatter %.2f times as much as is stated", name, ratio)
		}
	}
	if looked < 4 {
		t.Errorf("only %d numbers were looked at", looked)
	}
}

// A needle that stands so much higher moves the fitted offset by as much, and nothing else.
func TestTheNeedleMovesTheOffsetAlone(t *testing.T) {
	fit := func(offset float64) *Facts {
		s := newSite(t, 8, nil)
		s.walk(6, true)
		for i := range s.rounds {
			for _, k := range []quantity.Key{"pressure_kpa", "pressure_after_kpa"} {
				s.rounds[i].Values[k] += offset
			}
		}
		return s.fit()
	}
	a, b := fit(0), fit(3)
	for i, n := range a.Numbers {
		want := n.Fitted
		if n.Gauge != "" {
			want += 3
		}
		if got := b.Numbers[i].Fitted; math.Abs(got-want) > 1e-3*(1+math.Abs(want)) {
			t.Errorf("%s: %g, with the needle 3 kPa higher %g", n.Name, n.Fitted, got)
		}
	}
	said := strings.Join(b.Cautions, "\n")
	if !strings.Contains(said, "kPa too much; set its needle") {
		t.Errorf("%q", said)
	}
}

// A level that the pond cannot have, 3 ft typed for 0.3 m below the mark, takes its round out of the fit: the machines did not run under
// another head.
func TestARoundWithAMistypedLevelIsLeftOut(t *testing.T) {
	s := newSite(t, 8, nil)
	s.walk(6, true)
	want := s.fit()
	slip := s.rounds[len(s.rounds)-1]
	slip.Time, slip.Values = slip.Time.Add(2*time.Hour), maps.Clone(slip.Values)
	slip.Values["pond_level_m"] = 0.914
	s.rounds = append(s.rounds, slip)
	got := s.fit()
	for i, n := range got.Numbers {
		if n.Fitted != want.Numbers[i].Fitted {
			t.Errorf("%s: %g, with one mistyped level more %g", n.Name, want.Numbers[i].Fitted, n.Fitted)
		}
	}
}

// The same gauge in US units: 7 kPa are about 1.0 psi (NIST SP 811: 6.894757 kPa).
func TestTheNeedleInUSUnits(t *testing.T) {
	s := newSite(t, 8, nil)
	s.file.Site.Units = "us"
	s.offset = 7
	s.walk(6, true)
	if said := strings.Join(s.fit().Cautions, "\n"); !strings.Contains(said, " psi too much") || strings.Contains(said, "kPa") {
		t.Errorf("%q", said)
	}
}

// On any plant, readings that are exactly what the file gives change nothing: whatever is fitted stays within its own range of the
// file, no number is none, and nothing is offered as a change.
func TestASoundPlantIsLeftAlone(t *testing.T) {
	fitted := 0
	rapid.Check(t, func(t *rapid.T) {
		p := planttest.Random(t)
		m, err := steady.New(p)
		if err != nil {
			t.Fatal(err)
		}
		h := &record.History{At: noon.AddDate(0, 3, 0), Plant: p, Revisions: []record.Revision{{From: noon, Plant: p}}, Complete: true}
		for i := range 9 {
			running := []string{}
			for j, u := range p.Units {
				if (i+j)%3 != 0 || len(p.Units) == 1 {
					running = append(running, u.ID)
				}
			}
			level := rapid.Float64Range(-0.6, 0.2).Draw(t, "level")
			r, err := m.Solve(steady.Case{PondLevelM: level, Running: running})
			if err != nil {
				t.Fatal(err)
			}
			v := map[quantity.Key]float64{"pond_level_m": level, "flow_lps": 1000 * r.FlowM3s}
			for _, u := range r.Units {
				if u.Running {
					v[quantity.NewKey(u.ID, quantity.PressureKPa)] = u.PressureKPa
					v[quantity.NewKey(u.ID, quantity.KW)] = u.KW
				}
			}
			h.Rounds = append(h.Rounds, record.Round{Time: noon.Add(time.Duration(i) * 20 * time.Hour), Running: &running, Values: v,
				Words: map[quantity.Key]string{"screen_cleared": "yes"}})
		}
		f, err := Fit(assess.Of(h), Options{})
		if err != nil {
			return // said so
		}
		fitted++
		for _, n := range f.Numbers {
			if math.IsNaN(n.Fitted+n.Low+n.High) || n.Low > n.High {
				t.Fatalf("%+v", n)
			}
			if n.Changes {
				t.Fatalf("exact readings ask for a change of %s from %g to %g (%+v)", n.Key, n.File, n.New, f.Readings)
			}
		}
		if f.Changed {
			t.Fatal("a change is offered")
		}
	})
	if fitted == 0 {
		t.Error("no plant was ever fitted")
	}
}
