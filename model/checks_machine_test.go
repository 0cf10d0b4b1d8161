package model_test

import (
	"testing"

	"example.org/headpond/model/electrical"
	"example.org/headpond/model/machine"
)

func machineChecks() []check {
	flow, head, power := machine.Affinity(400, 126, 17.5, 1700.0/3500)
	list := []check{
		{quantity: "flow of a pump at 1700 instead of 3500 rpm", source: "Crane TP-410 7.33", status: verified, published: 194.3, ours: flow, unit: "gpm", tolerance: 0.0003, digits: 4},
		{quantity: "its head", source: "Crane TP-410 7.33", status: verified, published: 29.7, ours: head, unit: "ft", tolerance: 0.002, digits: 3},
		{quantity: "its power", source: "Crane TP-410 7.33", status: verified, published: 2.005, ours: power, unit: "hp", tolerance: 0.0003, digits: 4},
	}
	// The polynomials at a few flows, as computed for the collection of references; h and p are not normalised there.
	const pat = "Derakhshan and Nourbakhsh 2008"
	for _, r := range []struct{ q, h, p float64 }{{0.6, 0.5735, 0.2195}, {0.8, 0.7521, 0.5519}, {1.0, 1.0129, 0.9967}, {1.2, 1.3560, 1.5391}} {
		list = append(list,
			check{quantity: "pump as turbine, H/Hb at q " + trim(r.q), source: pat, status: memory, published: r.h, ours: machine.HeadRatio(r.q) * 1.0129, tolerance: 1e-4, digits: 4},
			check{quantity: "pump as turbine, P/Pb at q " + trim(r.q), source: pat, status: memory, published: r.p, ours: machine.PowerRatio(r.q) * 0.9967, tolerance: 4e-4, digits: 4})
	}
	return append(list,
		check{quantity: "runaway speed of a pump as turbine at best head", source: "common range 1.4 to 1.6 (middle)", status: memory, published: 1.5, ours: machine.FreeSpeed(1), unit: "times rated", tolerance: 0.1, absolute: true, digits: 4})
}

// electricalChecks are V²/R by hand: a 240 V element at other voltages (arithmetic of the collection of references, item 6).
func electricalChecks(*testing.T) []check {
	var list []check
	for _, r := range []struct{ volts, pct float64 }{{208, 75.1}, {216, 81.0}, {220, 84.0}, {228, 90.3}, {252, 110.3}, {264, 121}} {
		list = append(list, check{quantity: "power of a 240 V element at " + trim(r.volts) + " V", source: "P = V²/R by hand", status: computed, published: r.pct, ours: electrical.ElementKW(100, 240, r.volts), unit: "%", tolerance: 0.051, absolute: true, digits: 4})
	}
	return list
}
