package electrical

import (
	"math"
	"testing"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/steady"
)

// ternHollow is the design's example plant with the demo's second set.
func ternHollow() *plant.Plant {
	return &plant.Plant{
		Supply:    plant.Supply{Volts: 240, Hertz: 60, TripVolts: &[2]float64{204, 276}, TripHertz: &[2]float64{54, 66}},
		Pond:      plant.Pond{CrestM: new(0.10)},
		Intake:    plant.Intake{CentrelineM: new(-1.55), DiameterM: new(0.35), ScreenM2: new(1.4), OpenShare: 0.40},
		Penstocks: []plant.Penstock{{Name: "main", LengthM: 210, DiameterM: 0.30, RoughnessMM: 0.01, MinorK: 2.1, Gauge: plant.BelowValve}},
		Units: []plant.Unit{
			{ID: "A", Penstock: "main", AxisM: -14.6, TailwaterM: -14.6, RatedKW: 6, RatedKVA: 8, BestFlowLps: 76, BestHeadM: 13.1, BestEfficiency: 0.68, GeneratorEfficiency: 0.86, RunawayRatio: 1.5, Excitation: plant.Regulated, Bus: "common"},
			{ID: "B", Penstock: "main", AxisM: -14.6, TailwaterM: -14.6, RatedKW: 3, RatedKVA: 4, BestFlowLps: 41, BestHeadM: 12.8, BestEfficiency: 0.65, GeneratorEfficiency: 0.84, RunawayRatio: 1.5, Excitation: plant.Regulated, Bus: "common"},
		},
		Ballast: plant.Ballast{ControllerKW: new(8.0), ShareOf: plant.ShareOfGeneration, Elements: []plant.Element{
			{Name: "E1", RatedKW: 2, RatedVolts: 240, Working: true}, {Name: "E2", RatedKW: 2, RatedVolts: 240, Working: true},
			{Name: "E3", RatedKW: 2, RatedVolts: 240, Working: true}, {Name: "E4", RatedKW: 2, RatedVolts: 240, Working: true}}},
		Loads: []plant.Load{
			{Name: "freezer", KW: 0.4, StartKVA: new(2.0), Essential: true},
			{Name: "saw", KW: 1.5, StartKVA: new(9.0)},
			{Name: "kettle", KW: 2.2},
		},
	}
}

func excite(p *plant.Plant, kind plant.Excitation) *plant.Plant {
	for i := range p.Units {
		p.Units[i].Excitation = kind
	}
	return p
}

func modelOf(t testing.TB, p *plant.Plant) *steady.Model {
	t.Helper()
	m, err := steady.New(p)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// both is a round with both units running at a full pond, 8.4 kW generated, of which the consumers take load kW.
func both(t testing.TB, p *plant.Plant, load float64) Input {
	return Input{
		Plant: p, Model: modelOf(t, p), Volts: new(240.0), Running: []string{"A", "B"}, PondLevelM: new(0.0),
		Generation: Power{new(8.4), "meters"}, Load: Power{new(load), "reading"}, Dumped: Power{new(8.4 - load), "load_dump"},
	}
}

func facts(t testing.TB, in Input) *Facts {
	t.Helper()
	f, err := Ballast(in)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.9g, expected %.9g ± %g", what, got, want, tolerance)
	}
}

func nearPtr(t testing.TB, what string, got *float64, want, tolerance float64) {
	t.Helper()
	if got == nil {
		t.Errorf("%s is absent; expected %g", what, want)
		return
	}
	near(t, what, *got, want, tolerance)
}
