package steady

import (
	"math"
	"testing"

	"example.org/headpond/model/plant"
)

// From the second implementation (solve_test.go): K 5 at the main valve and 0.3 m of air, A alone at a full pond.
func TestGaugeAboveAndBelowTheValve(t *testing.T) {
	p := ternHollow()
	below := modelOf(t, p)
	p = ternHollow()
	p.Penstocks[0].Gauge = plant.AboveValve
	above := modelOf(t, p)
	faulty := Case{Running: []string{"A"}, Penstocks: []PenstockState{{ValveK: 5, AirLossM: 0.3}}}
	near(t, "flow", solved(t, below, faulty).FlowM3s*1000, 76.521808545, 1e-5)
	near(t, "below", solved(t, below, faulty).Units[0].PressureKPa, 129.163629, 1e-3)
	near(t, "above", solved(t, above, faulty).Units[0].PressureKPa, 132.092610, 1e-3)
}

// model.md's sentences on the gauge: closing the valve lowers the one below and raises the one above; shut, the one below
// reads 0 and the one above ρ g (level − axis) = 999.702·9.80665·14.6 = 143134 Pa.
func TestGaugeWithTheValveClosing(t *testing.T) {
	for _, place := range []plant.GaugePlace{plant.BelowValve, plant.AboveValve} {
		p := ternHollow()
		p.Penstocks[0].Gauge = place
		m := modelOf(t, p)
		last := solved(t, m, Case{Running: []string{"A"}}).Units[0].PressureKPa
		for _, k := range []float64{1, 10, 100, 1000, 1e5} {
			u := solved(t, m, Case{Running: []string{"A"}, Penstocks: []PenstockState{{ValveK: k}}}).Units[0]
			if rises := u.PressureKPa > last; rises != (place == plant.AboveValve) {
				t.Errorf("%s: %g kPa after %g kPa at K %g", place, u.PressureKPa, last, k)
			}
			last = u.PressureKPa
		}
		shut := solved(t, m, Case{Running: []string{"A"}, Penstocks: []PenstockState{{Valve: ValveShut}}})
		want := map[plant.GaugePlace]float64{plant.BelowValve: 0, plant.AboveValve: 143.134}[place]
		near(t, string(place)+": shut", shut.Units[0].PressureKPa, want, 0.001)
		near(t, string(place)+": static", shut.Units[0].StaticKPa, 143.134, 0.001)
		if shut.FlowM3s != 0 || shut.CommonKW != 0 || shut.Units[0].Caution&NoHead == 0 {
			t.Errorf("%s: water flows through a shut valve: %+v", place, shut)
		}
	}
}

func TestPressureAtRestIsKnownOnlyWhereItCanBe(t *testing.T) {
	p := ternHollow()
	m := modelOf(t, p)
	if u := solved(t, m, Case{}).Units[0]; u.PressureKnown {
		t.Errorf("%g kPa is told below a valve of which nothing is known", u.PressureKPa)
	}
	open := solved(t, m, Case{Penstocks: []PenstockState{{Valve: ValveOpen}}}).Units[0]
	near(t, "below an open valve", open.PressureKPa, open.StaticKPa, 1e-9)
	p.Penstocks[0].Gauge = plant.AboveValve
	rest := solved(t, modelOf(t, p), Case{}).Units[0]
	if !rest.PressureKnown || rest.PressureKPa != rest.StaticKPa {
		t.Errorf("above the valve at rest: %+v", rest)
	}
}

// A leak of 10 L/s under the static head: it passes the screen and the pipe, lowers the pressure, and flows on with the valve
// shut, when it nearly reaches its stated flow.
func TestLeak(t *testing.T) {
	p := ternHollow()
	p.Penstocks[0].Gauge = plant.AboveValve
	m := modelOf(t, p)
	sound := solved(t, m, Case{Running: []string{"A"}})
	leaky := solved(t, m, Case{Running: []string{"A"}, Penstocks: []PenstockState{{LeakM3s: 0.010}}})
	s := leaky.Penstocks[0]
	near(t, "leak", s.LeakM3s, 0.010*math.Sqrt((14.6-leaky.ScreenLossM-s.FrictionM-s.MinorM)/14.6), 1e-9)
	near(t, "balance", s.FlowM3s, s.LeakM3s+leaky.Units[0].FlowM3s, 1e-12)
	if !(leaky.Units[0].PressureKPa < sound.Units[0].PressureKPa && leaky.CommonKW < sound.CommonKW) {
		t.Error("a leak should cost pressure and power")
	}
	shut := solved(t, m, Case{Penstocks: []PenstockState{{LeakM3s: 0.010, Valve: ValveShut}}})
	near(t, "leak at rest", shut.FlowM3s, 0.010, 0.0001)
	if !(shut.Units[0].PressureKPa < shut.Units[0].StaticKPa) {
		t.Error("a leak should show in the static pressure above the valve")
	}
}

func TestWornRunnerCostsPowerOnly(t *testing.T) {
	m := modelOf(t, ternHollow())
	sound := solved(t, m, Case{Running: []string{"A", "B"}})
	worn := solved(t, m, Case{Running: []string{"A", "B"}, Units: []UnitState{{}, {EfficiencyLost: 0.25}}})
	near(t, "B's power", worn.Units[1].KW, 0.75*sound.Units[1].KW, 1e-12)
	near(t, "A's power", worn.Units[0].KW, sound.Units[0].KW, 0)
	near(t, "flow", worn.FlowM3s, sound.FlowM3s, 0)
}
