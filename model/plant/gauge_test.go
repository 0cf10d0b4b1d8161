package plant_test

import (
	"math"
	"testing"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
)

func TestDefaultDivisions(t *testing.T) {
	p := &plant.Plant{Units: []plant.Unit{{ID: "A", BestFlowLps: 76}, {ID: "B", BestFlowLps: 40}}}
	for key, want := range map[quantity.Key]float64{
		// The contract's "Gauges" paragraph.
		"volts": 1, "hertz": 0.1, "load_kw": 0.1, "dump_kw": 0.1, "A.kw": 0.1, "dump_share_pct": 1, "pressure_kpa": 2, "pond_level_m": 0.01,
		"bearing_c": 1, "air_c": 1, "water_c": 1, "B.bearing_c": 1, "bypass_lps": 0.5,
		"A.flow_lps": 1.52, "B.flow_lps": 0.8, "flow_lps": 2.32, // 2 % of 76, 40 and 116 L/s
		// Pressures around a clearing are read on the same gauge.
		"pressure_before_kpa": 2, "pressure_after_kpa": 2,
		// Our own, for columns that the contract leaves open.
		"amps": 0.1, "hours": 1, "A.hours": 1, "energy_kwh": 1, "load_energy_kwh": 1, "rain_mm": 1, "screen_loss_mm": 5,
		// Words and unknown names have none.
		"screen": 0, "nonsense": 0,
	} {
		if got := p.Division(key); math.Abs(got-want) > 1e-12 {
			t.Errorf("%s: division %v, want %v", key, got, want)
		}
		if got := p.ReadingError(key); math.Abs(got-want/2) > 1e-12 {
			t.Errorf("%s: reading error %v, want half of %v", key, got, want)
		}
	}
}

func TestEveryNumericColumnHasADivision(t *testing.T) {
	p := mustParse(t, soundFile)
	for _, key := range quantity.Keys(p.UnitIDs()) {
		q, _ := quantity.Lookup(key.Name())
		if got := p.Division(key); (got > 0) != q.Number() {
			t.Errorf("%s: division %v", key, got)
		}
	}
}

func TestDivisionsOfTheFileComeFirst(t *testing.T) {
	p := &plant.Plant{
		Units: []plant.Unit{{ID: "A", BestFlowLps: 76}, {ID: "B", BestFlowLps: 40}},
		Gauge: map[string]float64{"volts": 2, "B.volts": 5, "pressure_kpa": 1, "A.flow_lps": 0.3, "kw": 0.2},
	}
	for key, want := range map[quantity.Key]float64{
		"volts": 2, "A.volts": 2, "B.volts": 5, "pressure_kpa": 1, "A.pressure_kpa": 1, "pressure_before_kpa": 1,
		"A.flow_lps": 0.3, "B.flow_lps": 0.8, "A.kw": 0.2, "hertz": 0.1,
	} {
		if got := p.Division(key); math.Abs(got-want) > 1e-12 {
			t.Errorf("%s: division %v, want %v", key, got, want)
		}
	}
}
