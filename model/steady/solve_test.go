package steady

import (
	"errors"
	"math"
	"strings"
	"testing"

	"example.org/headpond/model/plant"
)

// The design's example plant, worked by a second, plain implementation of model.md (bisection throughout, Tanaka's density, the
// Colebrook equation by 200 substitutions, written in another language); the first row also by hand to three digits:
// 78.6 L/s is 1.11 m/s in 300 mm, f 0.0152, friction 0.67 m, fittings 2.1·0.063 = 0.13 m, net 13.8 m.
func TestSolveAgreesWithASecondImplementation(t *testing.T) {
	m := modelOf(t, ternHollow())
	rows := []struct {
		name                                         string
		level, clear, waterC                         float64
		run                                          []string
		lps, screen, friction, minor, net, kpa, kwAB float64
	}{
		{"A alone, full pond", 0, 1, 10, []string{"A"}, 78.637692347, 0.001324176975, 0.672445705, 0.132515098, 13.793715020, 134.611280, 6.209322300},
		{"both, screen a fifth clear, cold", -0.5, 0.2, 4, []string{"A", "B"}, 113.003521630, 0.132562828, 1.345947454, 0.273645177, 12.347844540, 119.810111, 7.801609483},
		{"B alone, screen all but blocked, warm", 0.1, 0.03, 18, []string{"B"}, 42.503509492, 0.932903392, 0.211252362, 0.038712697, 13.517131550, 132.191452, 3.066711981},
		{"both at the stop level", -0.85, 1, 10, []string{"A", "B"}, 112.020885237, 0.002687091851, 1.284722772, 0.268906836, 12.193683301, 118.288257, 7.628353491},
	}
	for _, row := range rows {
		r := solved(t, m, Case{PondLevelM: row.level, Running: row.run, ScreenClear: &row.clear, WaterC: &row.waterC})
		p := r.Penstocks[0]
		var u UnitResult
		for _, u = range r.Units {
			if u.Running {
				break
			}
		}
		// The densities differ by up to 1e-6, everything else only by rounding.
		near(t, row.name+": flow", r.FlowM3s*1000, row.lps, 1e-5)
		near(t, row.name+": screen", r.ScreenLossM, row.screen, 1e-7)
		near(t, row.name+": friction", p.FrictionM, row.friction, 1e-6)
		near(t, row.name+": fittings", p.MinorM, row.minor, 1e-6)
		near(t, row.name+": net head", u.NetHeadM, row.net, 1e-5)
		near(t, row.name+": pressure", u.PressureKPa, row.kpa, 1e-3)
		near(t, row.name+": power", r.CommonKW, row.kwAB, 2e-5)
	}
}

func TestNothingRunsNothingFlows(t *testing.T) {
	r := solved(t, modelOf(t, ternHollow()), Case{PondLevelM: -0.2})
	if r.FlowM3s != 0 || r.CommonKW != 0 || r.ScreenLossM != 0 || r.Units[0].NetHeadM != 0 {
		t.Errorf("at rest: %+v", r)
	}
	near(t, "gross head", r.Units[0].GrossHeadM, 14.4, 1e-12)
}

func TestBlockedScreenIsTheLimitOfAnEverSmallerOpening(t *testing.T) {
	m := modelOf(t, ternHollow())
	blocked := solved(t, m, Case{Running: []string{"A"}, ScreenClear: new(0.0)})
	almost := solved(t, m, Case{Running: []string{"A"}, ScreenClear: new(1e-7)})
	near(t, "loss", almost.ScreenLossM, blocked.ScreenLossM, 1e-4)
	near(t, "pressure", almost.Units[0].PressureKPa, blocked.Units[0].PressureKPa, 1e-3)
	near(t, "flow", almost.FlowM3s, blocked.FlowM3s, 1e-6)
	near(t, "loss is the whole head", blocked.ScreenLossM, 14.6, 1e-12)
	if blocked.FlowM3s != 0 || blocked.CommonKW != 0 {
		t.Errorf("a blocked screen passes %g m³/s", blocked.FlowM3s)
	}
}

// Two penstocks to one screen: each is solved for the same energy behind it. With both runs the same the flow is shared evenly,
// and the screen loses what it loses at the sum.
func TestPenstocksShareTheScreen(t *testing.T) {
	p := ternHollow()
	p.Penstocks = append(p.Penstocks, p.Penstocks[0])
	p.Penstocks[1].Name = "second"
	p.Units[1] = p.Units[0]
	p.Units[1].ID, p.Units[1].Penstock, p.Units[1].Bus = "B", "second", "own"
	m := modelOf(t, p)
	c := Case{Running: []string{"A", "B"}, ScreenClear: new(0.1)}
	r := solved(t, m, c)
	near(t, "even share", r.Penstocks[0].FlowM3s, r.Penstocks[1].FlowM3s, 1e-13)
	near(t, "power by bus", r.OwnKW, r.CommonKW, 1e-9)
	alone := solved(t, m, Case{Running: []string{"A"}, ScreenClear: new(0.1)})
	near(t, "screen loss by the square of the sum", r.ScreenLossM, alone.ScreenLossM*math.Pow(r.FlowM3s/alone.FlowM3s, 2), 1e-9)
	if !(r.Units[0].KW < alone.Units[0].KW) {
		t.Error("the second penstock should cost the first one head at the screen")
	}
	c.Penstocks = []PenstockState{{}, {Valve: ValveShut}}
	near(t, "with the second valve shut", solved(t, m, c).Units[0].KW, alone.Units[0].KW, 1e-9)
}

func TestOwnBusKeepsItsSpeed(t *testing.T) {
	p := ternHollow()
	p.Units[1].Bus = "own"
	r := solved(t, modelOf(t, p), Case{Running: []string{"A", "B"}, Speed: 1.2})
	if r.Units[0].Speed != 1.2 || r.Units[1].Speed != 1 {
		t.Errorf("speeds %g and %g; expected 1.2 and 1", r.Units[0].Speed, r.Units[1].Speed)
	}
}

func TestSolveRefusesWhatCannotBe(t *testing.T) {
	m := modelOf(t, ternHollow())
	nan := math.NaN()
	cases := []struct {
		key string
		c   Case
	}{
		{"pond_level_m", Case{PondLevelM: nan}},
		{"pond_level_m", Case{PondLevelM: math.Inf(1)}},
		{"running", Case{Running: []string{"A", "Z"}}},
		{"screen_open", Case{ScreenClear: new(1.1)}},
		{"screen_open", Case{ScreenClear: &nan}},
		{"screen_loss_mm", Case{ScreenLossM: new(-0.1)}},
		{"water_c", Case{WaterC: &nan}},
		{"hertz", Case{Speed: -1}},
		{"valve_k, loss_m or leak_lps", Case{Penstocks: []PenstockState{{ValveK: nan}}}},
		{"valve_k, loss_m or leak_lps", Case{Penstocks: []PenstockState{{LeakM3s: -1}}}},
		{"efficiency_share", Case{Units: []UnitState{{EfficiencyLost: 2}}}},
	}
	for _, c := range cases {
		_, err := m.Solve(c.c)
		var ce *CaseError
		if !errors.As(err, &ce) || ce.Key != c.key || !strings.Contains(err.Error(), "expected") {
			t.Errorf("%+v: %v; expected an error about %s", c.c, err, c.key)
		}
	}
}

func TestNewTellsEveryReason(t *testing.T) {
	p := ternHollow()
	p.Units[0].BestHeadM = 0
	p.Units[1].Penstock = "gone"
	p.Intake.OpenShare = 1.5
	_, err := New(p)
	for _, word := range []string{"unit A: best_head_m", `"gone"`, "open_share"} {
		if err == nil || !strings.Contains(err.Error(), word) {
			t.Errorf("%v; expected a word about %s", err, word)
		}
	}
	bad := map[string]func(*plant.Plant){
		"no unit":      func(p *plant.Plant) { p.Units = nil },
		"diameter_m":   func(p *plant.Plant) { p.Penstocks[0].DiameterM = 0 },
		"length_m":     func(p *plant.Plant) { p.Penstocks[0].LengthM = -1 },
		"roughness_mm": func(p *plant.Plant) { p.Penstocks[0].RoughnessMM = 400 },
		"minor_k":      func(p *plant.Plant) { p.Penstocks[0].MinorK = math.NaN() },
		"axis_m":       func(p *plant.Plant) { p.Units[0].AxisM = math.Inf(1) },
		"screen_m2":    func(p *plant.Plant) { p.Intake.ScreenM2 = new(0.0) },
	}
	for word, spoil := range bad {
		p := ternHollow()
		spoil(p)
		if _, err := New(p); err == nil || !strings.Contains(err.Error(), word) {
			t.Errorf("%v; expected a word about %s", err, word)
		}
	}
	if _, err := New(nil); err == nil {
		t.Error("no plant was accepted")
	}
}
