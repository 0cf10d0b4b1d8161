package steady

import (
	"math"
	"testing"

	"example.org/headpond/model/plant"
)

// ternHollow is the design's example plant with the demo's second set.
func ternHollow() *plant.Plant {
	return &plant.Plant{
		Supply: plant.Supply{Volts: 240, Hertz: 60, TripVolts: &[2]float64{204, 276}, TripHertz: &[2]float64{54, 66}},
		Pond: plant.Pond{
			Stage:  []plant.StageRow{{LevelM: -1.60, AreaM2: 8000}, {LevelM: -0.80, AreaM2: 46000}, {LevelM: 0, AreaM2: 74000}, {LevelM: 0.40, AreaM2: 81000}},
			CrestM: new(0.10), CrestLengthM: 4.5, CrestCoefficient: 1.7, StopLevelM: new(-0.85), BypassLps: 6, SeepageLps: 1.5,
		},
		Intake:    plant.Intake{CentrelineM: new(-1.55), DiameterM: new(0.35), ScreenM2: new(1.4), OpenShare: 0.40, HoleMM: new(2.5)},
		Penstocks: []plant.Penstock{{Name: "main", LengthM: 210, DiameterM: 0.30, RoughnessMM: 0.01, MinorK: 2.1, WaveSpeedMS: new(300.0), Gauge: plant.BelowValve}},
		Units: []plant.Unit{
			{ID: "A", Penstock: "main", AxisM: -14.6, TailwaterM: -14.6, RatedKW: 6, RatedKVA: 8, BestFlowLps: 76, BestHeadM: 13.1, BestEfficiency: 0.68, GeneratorEfficiency: 0.86, RunawayRatio: 1.5, Excitation: plant.Regulated, Bus: "common"},
			{ID: "B", Penstock: "main", AxisM: -14.6, TailwaterM: -14.6, RatedKW: 3, RatedKVA: 4, BestFlowLps: 41, BestHeadM: 12.8, BestEfficiency: 0.65, GeneratorEfficiency: 0.84, RunawayRatio: 1.5, Excitation: plant.Regulated, Bus: "common"},
		},
		Ballast: plant.Ballast{ControllerKW: new(8.0), Elements: []plant.Element{{Name: "E1", RatedKW: 8, RatedVolts: 240, Working: true}}},
	}
}

func modelOf(t testing.TB, p *plant.Plant) *Model {
	t.Helper()
	m, err := New(p)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func solved(t testing.TB, m *Model, c Case) Result {
	t.Helper()
	r, err := m.Solve(c)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.9g, expected %.9g ± %g", what, got, want, tolerance)
	}
}
