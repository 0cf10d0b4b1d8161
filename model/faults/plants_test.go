package faults_test

import "fmt"

// samplePlants are three invented layouts: a single set below a small head, two sets on one pipe with meters and a gauge
// above the valve, and a high head with a flow meter and a voltage that follows the speed.
func samplePlants() []*simPlant {
	mill := &simPlant{
		name: "single set", units: []simUnit{{id: "A", flow: 0.090, head: 11.2, eff: 0.70, gen: 0.85, axis: -12.3}},
		length: 160, diam: 0.315, rough: 1e-5, minor: 2.4, screenM2: 1.6, openness: 0.42, volts: 230, hertz: 50,
		elements: []float64{1.5, 1.5, 1.5, 2.5}, controller: 7.5, stop: -0.8, ways: [][]int{{0}},
		div: map[string]float64{"pressure_kpa": 1, "pond_level_m": 0.01, "load_kw": 0.1, "dump_share_pct": 1}, level: -0.2,
	}
	pair := &simPlant{
		name: "two sets with meters", units: []simUnit{{id: "A", flow: 0.060, head: 21.5, eff: 0.74, gen: 0.88, axis: -24.5}, {id: "B", flow: 0.032, head: 21.0, eff: 0.68, gen: 0.84, axis: -24.5}},
		length: 320, diam: 0.28, rough: 2e-5, minor: 3.0, screenM2: 1.3, openness: 0.38, volts: 240, hertz: 60, above: true, ofBallast: true, meters: true,
		elements: []float64{3, 3, 3, 2, 2}, controller: 11.5, stop: -0.9, ways: [][]int{{0}, {0, 1}, {1}},
		div: map[string]float64{"pressure_kpa": 2, "pond_level_m": 0.01, "load_kw": 0.1, "dump_share_pct": 1, "kw": 0.1}, level: -0.1,
	}
	high := &simPlant{
		name: "high head, flow meter", units: []simUnit{{id: "A", flow: 0.028, head: 42, eff: 0.72, gen: 0.84, axis: -48.5}},
		length: 420, diam: 0.18, rough: 1e-5, minor: 3.5, screenM2: 0.5, openness: 0.40, volts: 230, hertz: 50, followsSpeed: true,
		dumpMeter: true, flowMeter: true, stick: true, elements: []float64{2, 2, 2, 2}, controller: 7.4, stop: -0.7, ways: [][]int{{0}},
		div: map[string]float64{"pressure_kpa": 5, "pond_level_m": 0.01, "load_kw": 0.05, "dump_kw": 0.05, "flow_lps": 0.5}, level: -0.1,
	}
	list := []*simPlant{mill, pair, high}
	for _, p := range list {
		p.toml = p.text()
	}
	return list
}

// text is the plant file.
func (p *simPlant) text() string {
	place, share, excitation := "below_valve", "generation", "regulated"
	if p.above {
		place = "above_valve"
	}
	if p.ofBallast {
		share = "ballast"
	}
	if p.followsSpeed {
		excitation = "speed"
	}
	s := fmt.Sprintf(`[site]
name = %q
timezone = "America/Halifax"
units = "metric"
[supply]
volts = %g
hertz = %g
[pond]
stage = [[-1.6, 6000], [-0.8, 30000], [0.0, 50000], [0.4, 56000]]
crest_m = 0.10
crest_length_m = 4
stop_level_m = %g
[intake]
centreline_m = -1.5
diameter_m = 0.4
screen_m2 = %g
open_share = %g
[[penstock]]
name = "main"
length_m = %g
diameter_m = %g
roughness_mm = %g
minor_k = %g
gauge = %q
[ballast]
controller_kw = %g
share_of = %q
`, p.name, p.volts, p.hertz, p.stop, p.screenM2, p.openness, p.length, p.diam, p.rough*1000, p.minor, place, p.controller, share)
	for i, e := range p.elements {
		s += fmt.Sprintf("[[ballast.element]]\nname = \"E%d\"\nrated_kw = %g\nrated_volts = %g\n", i+1, e, p.volts)
	}
	for _, u := range p.units {
		s += fmt.Sprintf("[[unit]]\nid = %q\nname = \"set %s\"\npenstock = \"main\"\naxis_m = %g\nrated_kw = 20\nrated_kva = 25\nbest_flow_lps = %g\nbest_head_m = %g\nbest_efficiency = %g\ngenerator_efficiency = %g\nexcitation = %q\n",
			u.id, u.id, u.axis, u.flow*1000, u.head, u.eff, u.gen, excitation)
	}
	s += "[gauge]\n"
	for _, k := range []string{"pressure_kpa", "pond_level_m", "load_kw", "dump_share_pct", "dump_kw", "kw", "flow_lps"} {
		if d, ok := p.div[k]; ok {
			s += fmt.Sprintf("%s = %g\n", k, d)
		}
	}
	return s
}
