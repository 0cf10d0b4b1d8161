package machine

import (
	"math"
	"strings"
	"testing"

	"example.org/headpond/model/plant"

	"pgregory.net/rapid"
)

// rows are an invented measured table, at most 60 % efficient.
func rows() []plant.CurveRow {
	return []plant.CurveRow{{NetHeadM: 9, FlowLps: 60, KWElectric: 2.4}, {NetHeadM: 11, FlowLps: 67, KWElectric: 3.9}, {NetHeadM: 13, FlowLps: 74, KWElectric: 5.6}}
}

func measured(t *testing.T, u plant.Unit) *Machine {
	t.Helper()
	if u.ID == "" {
		u.ID = "M"
	}
	m, err := New(u)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func TestMeasuredTablePassesThroughItsRows(t *testing.T) {
	m := measured(t, plant.Unit{Curve: rows(), GeneratorEfficiency: 0.8, RunawayRatio: 1.6})
	for _, r := range rows() {
		p := m.At(r.NetHeadM, 1, rho)
		near(t, "flow", p.FlowM3s, r.FlowLps/1000, 1e-12)
		near(t, "electric power", p.ElectricW, r.KWElectric*1000, 1e-9)
		near(t, "shaft power", p.ShaftW, r.KWElectric*1000/0.8, 1e-9)
		if p.Flags != 0 {
			t.Errorf("flags %b at a measured row", p.Flags)
		}
	}
	near(t, "best flow is the most efficient row's", m.BestFlowM3s(), 0.074, 1e-12)
	near(t, "best head", m.BestHeadM(), 13, 1e-12)
	if !m.Measured() {
		t.Error("a machine with a table says that it was not measured")
	}
}

// A generator's efficiency that contradicts the table does not make the shaft give more than the water: 5.6 of 9.43 kW is 0.594.
func TestShaftNeverGetsMoreThanTheWater(t *testing.T) {
	p := measured(t, plant.Unit{Curve: rows(), GeneratorEfficiency: 0.5}).At(13, 1, rho)
	near(t, "electric power", p.ElectricW, 5600, 1e-9)
	near(t, "shaft power", p.ShaftW, rho*9.80665*0.074*13, 1e-6)
}

// By hand: outside the rows flow follows √H, above them power H^1.5. At 13·1.21 m: 74·1.1 = 81.4 L/s and 5.6·1.331 = 7.4536 kW.
// At 9/4 m: 60/2 = 30 L/s; the line through the first two rows, 2.4 − 0.75·6.75, is below nothing there.
func TestMeasuredTableOutsideItsRows(t *testing.T) {
	m := measured(t, plant.Unit{Curve: rows()})
	above := m.At(13*1.21, 1, rho)
	near(t, "flow above", above.FlowM3s, 0.0814, 1e-9)
	near(t, "power above", above.ShaftW, 7453.6, 1e-6)
	below := m.At(2.25, 1, rho)
	near(t, "flow below", below.FlowM3s, 0.030, 1e-9)
	near(t, "power below", below.ShaftW, 0, 0)
	if above.Flags != Above || below.Flags != Below {
		t.Errorf("flags %b above and %b below", above.Flags, below.Flags)
	}
}

// By hand for a single row: 4 kW at 10 m and 60 L/s gives at 2.5 m half the flow and an eighth of the power.
func TestSingleRowScales(t *testing.T) {
	m := measured(t, plant.Unit{Curve: []plant.CurveRow{{NetHeadM: 10, FlowLps: 60, KWElectric: 4}}})
	p := m.At(2.5, 1, rho)
	near(t, "flow", p.FlowM3s, 0.030, 1e-12)
	near(t, "power", p.ShaftW, 500, 1e-9)
}

// By hand for R = 1.5: P(1.25)/P(1) = 1.25·0.25/0.5 = 0.625; nothing from 1.5 on; no reserve below rated speed.
func TestMeasuredTableAwayFromRatedSpeed(t *testing.T) {
	m := measured(t, plant.Unit{Curve: rows(), RunawayRatio: 1.5})
	rated := m.At(11, 1, rho).ShaftW
	near(t, "at 1.25", m.At(11, 1.25, rho).ShaftW/rated, 0.625, 1e-12)
	near(t, "at runaway", m.At(11, 1.5, rho).ShaftW, 0, 0)
	near(t, "beyond it", m.At(11, 1.7, rho).ShaftW, 0, 0)
	near(t, "below rated speed", m.At(11, 0.9, rho).ShaftW, rated, 0)
	near(t, "runaway", m.Runaway(11), 1.5, 0)
	near(t, "runaway without head", m.Runaway(0), 0, 0)
}

func TestMeasuredFlowRisesAndStaysBetweenRows(t *testing.T) {
	m := measured(t, plant.Unit{Curve: rows()})
	rapid.Check(t, func(t *rapid.T) {
		h := rapid.Float64Range(0, 30).Draw(t, "head")
		step := rapid.Float64Range(1e-6, 5).Draw(t, "step")
		a, b := m.At(h, 1, rho), m.At(h+step, 1, rho)
		if b.FlowM3s < a.FlowM3s || b.ShaftW < a.ShaftW-1e-9 || math.IsNaN(a.ShaftW) {
			t.Fatalf("%g m: %+v; %g m: %+v", h, a, h+step, b)
		}
		if m.FlowAt(h, 1) != a.FlowM3s {
			t.Fatalf("FlowAt gives %g, At %g", m.FlowAt(h, 1), a.FlowM3s)
		}
	})
}

func TestNewTellsWhatIsWrong(t *testing.T) {
	good := plant.Unit{ID: "A", BestFlowLps: 76, BestHeadM: 13, BestEfficiency: 0.7, GeneratorEfficiency: 0.85}
	with := func(change func(*plant.Unit)) plant.Unit {
		u := good
		change(&u)
		return u
	}
	curve := func(rows ...plant.CurveRow) plant.Unit {
		return with(func(u *plant.Unit) { u.Curve = rows })
	}
	cases := []struct {
		name string
		unit plant.Unit
		says string
	}{
		{"no generator efficiency", with(func(u *plant.Unit) { u.GeneratorEfficiency = 0 }), "generator_efficiency"},
		{"generator above 1", with(func(u *plant.Unit) { u.GeneratorEfficiency = 1.2 }), "generator_efficiency"},
		{"no flow", with(func(u *plant.Unit) { u.BestFlowLps = 0 }), "best_flow_lps"},
		{"no number for a head", with(func(u *plant.Unit) { u.BestHeadM = math.NaN() }), "best_head_m"},
		{"efficiency above 1", with(func(u *plant.Unit) { u.BestEfficiency = 1.01 }), "best_efficiency"},
		{"more power than the water's", curve(plant.CurveRow{NetHeadM: 10, FlowLps: 50, KWElectric: 5}), "more than the water's own"},
		{"a row without head", curve(plant.CurveRow{NetHeadM: 0, FlowLps: 50, KWElectric: 1}), "must be above 0"},
		{"an infinite row", curve(plant.CurveRow{NetHeadM: math.Inf(1), FlowLps: 50, KWElectric: 1}), "must be above 0"},
		{"rows out of order", curve(plant.CurveRow{NetHeadM: 10, FlowLps: 50, KWElectric: 2}, plant.CurveRow{NetHeadM: 9, FlowLps: 51, KWElectric: 2}), "rising net head"},
		{"flow that falls", curve(plant.CurveRow{NetHeadM: 9, FlowLps: 50, KWElectric: 2}, plant.CurveRow{NetHeadM: 10, FlowLps: 40, KWElectric: 2}), "flow falls"},
		{"runaway below rated", with(func(u *plant.Unit) { u.Curve, u.RunawayRatio = rows(), 0.9 }), "runaway_ratio"},
	}
	for _, c := range cases {
		_, err := New(c.unit)
		if err == nil || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), "unit A") {
			t.Errorf("%s: %v; expected a word about unit A's %s", c.name, err, c.says)
		}
	}
}
