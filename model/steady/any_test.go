package steady

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/plant/planttest"
	"example.org/headpond/model/quantity"
)

// anyPlant draws an ordinary plant, or one whose sizes go to the limits of the plant file: pipes of millimetres and of metres, flows
// of drops and of rivers, on one screen.
func anyPlant(t *rapid.T) *plant.Plant {
	return rapid.SampledFrom([]func(*rapid.T) *plant.Plant{planttest.Random, planttest.Extreme}).Draw(t, "kind")(t)
}

// Every input within the plant file's limits gives an answer: finite, found soon, mass and energy conserved at every step.
func TestAnythingTheFileAllowsIsSolved(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyPlant(t)
		m := mustModel(t, p)
		c := withFaults(t, p, Case{PondLevelM: planttest.Level(t), Running: planttest.Running(t, p)})
		if rapid.Bool().Draw(t, "blocked") {
			c.ScreenClear = new(math.Exp(rapid.Float64Range(math.Log(1e-6), 0).Draw(t, "ln clear")))
		}
		r := mustSolve(t, m, c)
		finite(t, "result", reflect.ValueOf(r))
		finite(t, "expectation", reflect.ValueOf(*m.Expectation(&r)))
		if r.Evaluations > mostEvaluations {
			t.Fatalf("%d evaluations", r.Evaluations)
		}
		st := r.Steps()
		lost := st.Screen + st.Friction + st.Fittings + st.Machine + st.Generator
		if math.Abs(st.AtPond-lost-st.AtPlug) > 1e-9*st.AtPond+1e-12 {
			t.Fatalf("%+v does not add up", st)
		}
		sum := 0.0
		for j, s := range r.Penstocks {
			fed := s.LeakM3s
			for _, u := range r.Units {
				if u.Penstock == j {
					fed += u.FlowM3s
				}
			}
			if off := math.Abs(fed - s.FlowM3s); off > 1e-9*s.FlowM3s+rounding(m, j, &c) {
				t.Fatalf("penstock %s brings %g m³/s and gives %g, which rounding does not explain", s.Name, s.FlowM3s, fed)
			}
			sum += s.FlowM3s
		}
		if math.Abs(sum-r.FlowM3s) > 1e-12*r.FlowM3s {
			t.Fatalf("the screen passes %g, the penstocks %g", r.FlowM3s, sum)
		}
	})
}

// rounding is what the last digits of the levels may do to the flows of a penstock's sets, m³/s, where next to no head is left them:
// a flow goes with the root of its head, and a river's machine on a garden hose is moved by less than an atom's width.
func rounding(m *Model, stock int, c *Case) float64 {
	head := func(low float64) float64 { return 1e-15 * (math.Abs(c.PondLevelM) + math.Abs(low) + 10) }
	low := m.stocks[stock].lowestAxisM
	sum := 1e-12
	if static := c.PondLevelM - low; static > 0 {
		sum += c.penstock(stock).LeakM3s * math.Sqrt(head(low)/static)
	}
	for _, i := range m.stocks[stock].units {
		u := &m.units[i]
		sum += u.machine.BestFlowM3s() * math.Sqrt(head(u.tailM)/u.machine.BestHeadM())
	}
	return sum
}

// A caution never says that a number is beyond one that looks the same, and never says it of a unit that stands.
func TestCautionsTellTheirNumbersApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyPlant(t)
		m := mustModel(t, p)
		r := mustSolve(t, m, Case{PondLevelM: planttest.Level(t), Running: planttest.Running(t, p)})
		for _, s := range m.Cautions(&r) {
			if before, after, ok := strings.Cut(s, " is more than its rating of "); ok {
				if value := before[strings.LastIndex(before, ": ")+2:]; value == after {
					t.Fatalf("%q", s)
				}
			}
			for _, bad := range []string{"NaN", "Inf", "%!", " is 0.50 of its best flow, below", " is 1.30 of its best flow, above"} {
				if strings.Contains(s, bad) {
					t.Fatalf("%q", s)
				}
			}
			if p.Site.Units == "us" && (strings.Contains(s, " m ") || strings.Contains(s, " m)") || strings.Contains(s, "°C")) {
				t.Fatalf("metric on a plant in US units: %q", s)
			}
		}
	})
}

// By hand: 6.0 kW against 6.0 kW is nothing to say up to 2 % more, 6.12; beyond it the digits tell the two apart.
func TestTheRatingHasSomeSlack(t *testing.T) {
	for _, c := range []struct {
		kw, rated float64
		says      string // "" for nothing
	}{
		{6.0, 6, ""}, {6.04, 6, ""}, {6.119, 6, ""}, {6.13, 6, "6.1 kW is more than its rating of 6.0 kW"},
		{0.52, 0.5, "0.52 kW is more than its rating of 0.50 kW"}, {0.0103, 0.01, "0.0103 kW is more than its rating of 0.0100 kW"}, {5, 6, ""}, {5, 0, ""},
	} {
		r := UnitResult{KW: c.kw, FlowM3s: 1}
		got := ""
		if unitCautions(&unit{ratedKW: c.rated}, &r, 0)&AboveRating != 0 {
			got = aboveRating(c.kw, c.rated)
		}
		if got != c.says {
			t.Errorf("%g kW of %g: %q, expected %q", c.kw, c.rated, got, c.says)
		}
	}
}

// NIST SP 811: 1.55 m is 5.09 ft, 4 m are 13.1 ft, 50 °C are 122 °F.
func TestCautionsInUSUnits(t *testing.T) {
	p := ternHollow()
	p.Site.Units = string(quantity.US)
	p.Units[0].TailwaterM = -19
	e, err := modelOf(t, p).Expect(Case{PondLevelM: -1.6, WaterC: new(60.0)})
	if err != nil {
		t.Fatal(err)
	}
	all := strings.Join(e.Cautions, "\n")
	for _, part := range []string{"centre line (-5.09 ft)", "outside 32 °F to 122 °F: 122 °F is used", "stands 14.4 ft above the tailwater: beyond about 13.1 ft"} {
		if !strings.Contains(all, part) {
			t.Errorf("%q is missing in\n%s", part, all)
		}
	}
}

// A penstock's number changes nothing: a plant of two penstocks alike, with the same set on each, draws what two plants of one would
// from behind the same screen loss.
func TestTwoAlikeAreTwiceOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := planttest.Random(t)
		p.Penstocks, p.Units = p.Penstocks[:1], p.Units[:1]
		p.Units[0].Penstock = p.Penstocks[0].Name
		loss := rapid.Float64Range(0, 2).Draw(t, "loss")
		c := Case{PondLevelM: rapid.Float64Range(-1, 0.4).Draw(t, "level"), Running: []string{p.Units[0].ID}, ScreenLossM: &loss}
		one := mustSolve(t, mustModel(t, p), c)
		q := *p
		s, u := p.Penstocks[0], p.Units[0]
		s.Name, u.ID, u.Penstock = "twin", "twin", "twin"
		q.Penstocks, q.Units = append(q.Penstocks[:1:1], s), append(q.Units[:1:1], u)
		c.Running = []string{p.Units[0].ID, "twin"}
		two := mustSolve(t, mustModel(t, &q), c)
		if math.Abs(two.FlowM3s-2*one.FlowM3s) > 1e-9*one.FlowM3s || math.Abs(two.CommonKW+two.OwnKW-2*(one.CommonKW+one.OwnKW)) > 1e-9*(one.CommonKW+one.OwnKW) {
			t.Fatalf("one: %g m³/s, %g kW; two: %g, %g", one.FlowM3s, one.CommonKW, two.FlowM3s, two.CommonKW)
		}
	})
}

// The friction and the machine see differences of level alone: raising pond, axis and tailwater together changes nothing but the level.
func TestTheGaugesZeroDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := planttest.Random(t)
		c := Case{PondLevelM: rapid.Float64Range(-1, 0.4).Draw(t, "level"), Running: planttest.Running(t, p)}
		a := mustSolve(t, mustModel(t, p), c)
		up := rapid.Float64Range(-50, 50).Draw(t, "up")
		q := *p
		q.Units = append([]plant.Unit{}, p.Units...)
		for i := range q.Units {
			q.Units[i].AxisM += up
			q.Units[i].TailwaterM += up
		}
		c.PondLevelM += up
		b := mustSolve(t, mustModel(t, &q), c)
		// Raising loses the last digits of the levels, some 1e-14 m of a few metres.
		if math.Abs(a.FlowM3s-b.FlowM3s) > 1e-8*a.FlowM3s+1e-9 {
			t.Fatalf("%g m³/s, raised by %g m %g", a.FlowM3s, up, b.FlowM3s)
		}
		for i := range a.Units {
			if x, y := a.Units[i].PressureKPa, b.Units[i].PressureKPa; math.Abs(x-y) > 1e-6*(1+math.Abs(x)) {
				t.Fatalf("unit %s: %g kPa, raised %g", a.Units[i].ID, x, y)
			}
		}
	})
}
