package calibrate

import (
	"fmt"
	"math"
	"slices"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
)

// How far the numbers of a description are usually off before anything was measured, one standard deviation. Our own choices:
// makers' curves for pumps run as turbines, worked out from their curves as pumps, miss flow and efficiency by some 10 %;
// minor losses are a count of bends from a table; a gauge is good to 1.5 % of its pressure.
const (
	priorShare  = 0.10  // of an efficiency or a flow
	priorMinorK = 0.5   // and as much again as half of the estimate
	priorOffset = 0.015 // of the static pressure
)

// what a parameter is, in the order in which one of several that cannot be told apart is held: the flow first, for hardly any
// plant measures it.
type kind int

const (
	efficiency kind = iota
	offset
	minorK
	bestFlow
)

// parameter is one number that may be fitted.
type parameter struct {
	kind  kind
	index int          // of the unit or penstock
	gauge quantity.Key // of an offset
	key   string       // path in the plant file; "" for an offset, which has no place there
	name  string       // for people
	unit  string
	file  float64 // the file's value; 0 for an offset
	prior float64 // one standard deviation
	lo    float64 // what is possible
	hi    float64
}

// parameters lists what may be fitted to readings of these gauges: the numbers of the units that ran and of their penstocks.
func parameters(p *plant.Plant, ran map[string]bool, gauges []quantity.Key, staticKPa float64) []parameter {
	var list []parameter
	stocks := map[string]bool{}
	for i, u := range p.Units {
		if !ran[u.ID] {
			continue
		}
		stocks[u.Penstock] = true
		if len(u.Curve) > 0 {
			continue // a measured table is better than any fit of two numbers
		}
		path := fmt.Sprintf("unit[%d].", i+1)
		list = append(list,
			parameter{kind: efficiency, index: i, key: path + "best_efficiency", name: "efficiency of " + u.ID, file: u.BestEfficiency, prior: priorShare * u.BestEfficiency, lo: 0.05, hi: 0.98},
			parameter{kind: bestFlow, index: i, key: path + "best_flow_lps", name: "best flow of " + u.ID, unit: "L/s", file: u.BestFlowLps, prior: priorShare * u.BestFlowLps, lo: 0.2 * u.BestFlowLps, hi: 5 * u.BestFlowLps})
	}
	for i, s := range p.Penstocks {
		if stocks[s.Name] {
			list = append(list, parameter{kind: minorK, index: i, key: fmt.Sprintf("penstock[%d].minor_k", i+1), name: "minor losses of " + s.Name, file: s.MinorK, prior: priorMinorK * (1 + s.MinorK), lo: 0, hi: 1e4})
		}
	}
	for _, g := range gauges {
		list = append(list, parameter{kind: offset, gauge: g, name: "offset of " + gaugeName(g), unit: "kPa", prior: priorOffset * staticKPa, lo: -staticKPa, hi: staticKPa})
	}
	return list
}

func gaugeName(g quantity.Key) string {
	if id := g.Unit(); id != "" {
		return "the pressure gauge of " + id
	}
	return "the pressure gauge"
}

// with returns the plant with the parameters at these values; the original is left alone.
func with(p *plant.Plant, list []parameter, values []float64) *plant.Plant {
	q := *p
	q.Units, q.Penstocks = slices.Clone(p.Units), slices.Clone(p.Penstocks)
	for j, x := range list {
		switch v := values[j]; x.kind {
		case efficiency:
			q.Units[x.index].BestEfficiency = v
		case bestFlow:
			q.Units[x.index].BestFlowLps = v
		case minorK:
			q.Penstocks[x.index].MinorK = v
		case offset:
		}
	}
	return &q
}

// Rounded is a value with no more digits than its error deserves: to the power of ten at or below a third of the error.
func Rounded(v, sd float64) float64 {
	if !(sd > 0) || math.IsInf(sd, 1) {
		return v
	}
	step := math.Pow(10, math.Floor(math.Log10(sd/3)))
	if step >= 1 {
		return math.Round(v/step)*step + 0 // + 0: never minus zero
	}
	per := math.Round(1 / step)
	return math.Round(v*per)/per + 0
}
