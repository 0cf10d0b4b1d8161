package safety

import (
	"encoding/json"
	"math"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/plant/planttest"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/steady"
)

func modelled(t *rapid.T, p *plant.Plant) *steady.Model {
	m, err := steady.New(p)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// On any plant, also at the limits of the file, every number is one that JSON can write, with its formula, its source and how sure
// that is, and its judgement is that of its limits.
func TestNumbersOfAnyPlant(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SampledFrom([]func(*rapid.T) *plant.Plant{planttest.Random, planttest.Extreme}).Draw(t, "kind")(t)
		list := Numbers(modelled(t, p))
		if _, err := json.Marshal(list); err != nil {
			t.Fatal(err)
		}
		for _, n := range list {
			if n.Key == "" || n.Name == "" || n.Unit == "" || n.Says == "" || n.Formula == "" || n.Source == "" {
				t.Fatalf("incomplete: %+v", n)
			}
			switch n.Status {
			case Verified, Memory, Thumb, FromModel:
			default:
				t.Fatalf("status %q of %s", n.Status, n.Key)
			}
			within := (n.AtLeast == nil || n.Value >= *n.AtLeast) && (n.AtMost == nil || n.Value <= *n.AtMost)
			judged := !n.Information && (n.AtLeast != nil || n.AtMost != nil)
			if judged != (n.OK != nil) || judged && *n.OK != within || n.Past() != (judged && !within) {
				t.Fatalf("%+v", n)
			}
			for _, bad := range []string{"NaN", "Inf", "%!", "-0.0 "} {
				if strings.Contains(n.Says, bad) {
					t.Fatalf("%s: %q", n.Key, n.Says)
				}
			}
		}
	})
}

var metricWord = regexp.MustCompile(`[0-9] (m|m/s|kPa|L/s|m²)\b`)
var usWord = regexp.MustCompile(`[0-9] (ft|ft/s|psi|gpm|ft²|acres)\b`)

// Sentences speak in the plant's units and in no other; the numbers for machines stay as they are.
func TestSentencesSpeakThePlantsUnits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := planttest.Random(t)
		p.Site.Units = "metric"
		metric := Numbers(modelled(t, p))
		q := *p
		q.Site.Units = "us"
		us := Numbers(modelled(t, &q))
		if len(metric) != len(us) {
			t.Fatalf("%d and %d numbers", len(metric), len(us))
		}
		for i, n := range us {
			m := metric[i]
			if usWord.MatchString(m.Says) || metricWord.MatchString(n.Says) {
				t.Fatalf("metric: %q\nus: %q", m.Says, n.Says)
			}
			if n.Value != m.Value || n.Unit != m.Unit || n.Key != m.Key || n.Past() != m.Past() {
				t.Fatalf("the number itself changes: %+v, %+v", m, n)
			}
			if s := n.Shown(quantity.US); metricWord.MatchString(s) {
				t.Fatalf("%s is shown as %q", n.Key, s)
			}
		}
	})
}

// A number beyond its limit never looks like the limit.
func TestPastItsLimitLooksPastIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		limit := rapid.Float64Range(0.01, 1000).Draw(t, "limit")
		off := math.Exp(rapid.Float64Range(math.Log(1e-6), 0).Draw(t, "ln off"))
		n := Number{Unit: rapid.SampledFrom([]string{"m", "m/s", "kPa", "times", "s"}).Draw(t, "unit"), OK: new(false)}
		if rapid.Bool().Draw(t, "below") {
			n.Value, n.AtLeast = limit*(1-off/2), &limit
		} else {
			n.Value, n.AtMost = limit*(1+off), &limit
		}
		for _, system := range []quantity.System{quantity.Metric, quantity.US} {
			shown := n.Shown(system)
			value, bound, ok := strings.Cut(shown, ",")
			value, _, _ = strings.Cut(value, " ")
			if !ok || value == bound[strings.LastIndex(bound, " ")+1:] {
				t.Fatalf("%g against %g: %q", n.Value, limit, shown)
			}
		}
	})
}

// Values as shown: 0.122 m/s is 0.4 ft/s and 144.1 kPa 20.9 psi (NIST SP 811).
func TestShown(t *testing.T) {
	for _, c := range []struct {
		n          Number
		metric, us string
	}{
		{Number{Value: 0.0835, Unit: "m/s", AtMost: new(0.12192)}, "0.0835 m/s, at most 0.122", "0.274 ft/s, at most 0.4"},
		{Number{Value: 144.115, Unit: "kPa"}, "144 kPa", "20.9 psi"},
		{Number{Value: 0.525, Unit: "m", AtLeast: new(0.5213)}, "0.525 m, at least 0.521", "1.72 ft, at least 1.71"},
		{Number{Value: 0.966, Unit: "times", AtLeast: new(1.15)}, "0.966 times, at least 1.15", "0.966 times, at least 1.15"},
		{Number{Value: 2, Unit: "m", AtLeast: new(1.0), AtMost: new(3.0)}, "2 m, 1 to 3", "6.56 ft, 3.28 to 9.84"},
		{Number{Value: 1480000, Unit: "m"}, "1480000 m", "4860000 ft"},
		{Number{Value: 3.0001, Unit: "m/s", AtMost: new(3.0), OK: new(false)}, "3.0001 m/s, at most 3", "9.8428 ft/s, at most 9.8425"},
		{Number{Value: 16.1, Unit: "s"}, "16.1 s", "16.1 s"},
	} {
		if got := c.n.Shown(quantity.Metric); got != c.metric {
			t.Errorf("%q, expected %q", got, c.metric)
		}
		if got := c.n.Shown(quantity.US); got != c.us {
			t.Errorf("%q, expected %q", got, c.us)
		}
	}
}

// The formulas worked out again, plainly, from the solver's flows: velocity Q/A, Joukowsky's a v/g, Michaud's 2 L v/(g t) at the
// closing time that is told, the static pressure ρ g h, and what elements and controller take.
func TestTheFormulasAgain(t *testing.T) {
	const g = 9.80665
	rapid.Check(t, func(t *rapid.T) {
		p := planttest.Random(t)
		m := modelled(t, p)
		byKey := map[string]Number{}
		for _, n := range Numbers(m) {
			byKey[n.Key+" "+n.Of] = n
		}
		same := func(what string, got, want float64) {
			if math.Abs(got-want) > 1e-9*(1+math.Abs(want)) {
				t.Fatalf("%s: %g, expected %g", what, got, want)
			}
		}
		full := fullM(p)
		for _, s := range p.Penstocks {
			ids, axis := []string(nil), math.Inf(1)
			for _, u := range p.Units {
				if u.Penstock == s.Name {
					ids, axis = append(ids, u.ID), math.Min(axis, u.AxisM)
				}
			}
			v, told := byKey["pipe_velocity_ms "+s.Name]
			if !told {
				continue
			}
			r, err := m.Solve(steady.Case{PondLevelM: full, Running: ids})
			if err != nil {
				t.Fatal(err)
			}
			flow := r.FlowM3s
			same("velocity", v.Value, flow/(math.Pi*s.DiameterM*s.DiameterM/4))
			static := full - axis
			same("static pressure", byKey["static_kpa "+s.Name].Value, r.Water.DensityKgM3*g*static/1000)
			if s.WaveSpeedMS != nil {
				same("surge", byKey["surge_full_m "+s.Name].Value, *s.WaveSpeedMS*v.Value/g)
			}
			closing, told := byKey["closing_s "+s.Name]
			if told && closing.Value > 0 {
				same("surge of the closing told", 2*s.LengthM*v.Value/(g*closing.Value), 0.30*static)
			}
			if told && closing.Value == 0 && byKey["surge_full_m "+s.Name].Value > 0.30*static*(1+1e-12) {
				t.Fatalf("a sudden stop is called safe: %+v", closing)
			}
		}
		ballast, told := byKey["ballast_ratio "]
		if !told {
			return
		}
		takes, most := 0.0, 0.0
		for _, e := range p.Ballast.Elements {
			takes += e.RatedKW * math.Pow(p.Supply.Volts/e.RatedVolts, 2)
		}
		if c := p.Ballast.ControllerKW; c != nil {
			takes = math.Min(takes, *c)
		}
		for _, ids := range append([][]string{p.UnitIDs()}, alone(p)...) {
			r, err := m.Solve(steady.Case{PondLevelM: full, Running: ids})
			if err != nil {
				t.Fatal(err)
			}
			most = math.Max(most, r.CommonKW)
		}
		same("ballast over the largest generation", ballast.Value, takes/most)
	})
}

func alone(p *plant.Plant) [][]string {
	var ways [][]string
	for _, id := range p.UnitIDs() {
		ways = append(ways, []string{id})
	}
	return ways
}

// fullM is a full pond's level.
func fullM(p *plant.Plant) float64 {
	switch {
	case p.Pond.CrestM != nil:
		return *p.Pond.CrestM
	case len(p.Pond.Stage) > 0:
		return p.Pond.Stage[len(p.Pond.Stage)-1].LevelM
	}
	return 0
}

// A machine above the pond that sucks its water up, with its outlet far below: there is no static head for a closing to be a share of.
func TestAnAxisAboveThePond(t *testing.T) {
	p := ternHollow()
	p.Units[0].AxisM, p.Units[1].AxisM = 2, 2
	n := numbers(t, p)
	for _, key := range []string{"closing_s main", "pipe_loss_share main"} {
		if got, ok := n[key]; ok {
			t.Errorf("%s is told without a static head: %+v", key, got)
		}
	}
	if v := n["pipe_velocity_ms main"]; v.Value <= 0 || math.IsInf(v.Value, 0) {
		t.Errorf("%+v", v)
	}
	if says := n["static_kpa main"].Says; !strings.Contains(says, "-1.9 m of water") {
		t.Error(says)
	}
}

// The largest generation is the common bus's: a set on a bus of its own is not named with it.
func TestTheOwnBusIsNoPartOfTheLargestGeneration(t *testing.T) {
	p := ternHollow()
	p.Units[1].Bus = "own"
	says := numbers(t, p)["ballast_ratio"].Says
	if !strings.Contains(says, "from A,") || strings.Contains(says, "A+B") {
		t.Error(says)
	}
}

// Without a stop level the least flow is not said to be at it.
func TestWithoutAStopLevelNoneIsNamed(t *testing.T) {
	p := ternHollow()
	p.Pond.StopLevelM, p.Intake.DiameterM = nil, nil
	if says := numbers(t, p)["flow_share_low unit A"].Says; strings.Contains(says, "stop level") {
		t.Error(says)
	}
}
