package steady

import (
	"testing"

	"example.org/headpond/model/plant"
)

// ternHollow is the contract's example plant with the demo's second set, as a literal.
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
		Ballast: plant.Ballast{ControllerKW: new(8.0), ShareOf: plant.ShareOfGeneration, Elements: []plant.Element{
			{Name: "E1", RatedKW: 2, RatedVolts: 240, Working: true}, {Name: "E2", RatedKW: 2, RatedVolts: 240, Working: true},
			{Name: "E3", RatedKW: 2, RatedVolts: 240, Working: true}, {Name: "E4", RatedKW: 2, RatedVolts: 240, Working: true}}},
	}
}

func TestShow(t *testing.T) {
	m, err := New(ternHollow())
	if err != nil {
		t.Fatal(err)
	}
	for _, run := range [][]string{{"A"}, {"B"}, {"A", "B"}, {}} {
		for _, cl := range []float64{1, .5, .1, .05, 0.01, 0} {
			e, err := m.Expect(Case{PondLevelM: 0, Running: run, ScreenClear: &cl})
			if err != nil {
				t.Fatal(err)
			}
			r, _ := m.Solve(Case{PondLevelM: 0, Running: run, ScreenClear: &cl})
			t.Log(run, cl, "q", e.FlowLps, "kw", e.GenerationKW, "scr", *e.ScreenLossM, "fr", r.Penstocks[0].FrictionM, "min", r.Penstocks[0].MinorM, "net", r.Units[0].NetHeadM, "p", r.Units[0].PressureKPa, r.Evaluations, e.Cautions)
		}
	}
}

func BenchmarkSolve(b *testing.B) {
	m, err := New(ternHollow())
	if err != nil {
		b.Fatal(err)
	}
	var r Result
	c := Case{PondLevelM: -0.2, Running: []string{"A", "B"}, ScreenClear: new(0.3)}
	b.ReportAllocs()
	for b.Loop() {
		if err := m.SolveInto(&c, &r); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDraw(b *testing.B) {
	m, err := New(ternHollow())
	if err != nil {
		b.Fatal(err)
	}
	run := []string{"A", "B"}
	b.ReportAllocs()
	for b.Loop() {
		m.Draw(-0.2, run)
	}
}
