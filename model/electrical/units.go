package electrical

import (
	"slices"

	"example.org/headpond/model/plant"
)

// unitStops fills in what happens when each running unit stops while the others go on and the consumers stay. The others'
// generation is the model's, which knows that they get more head, scaled by how the reading compares with the model now.
func (w *work) unitStops() {
	f := w.facts
	now, ok := w.modelKW(w.units)
	if len(w.units) < 2 || !ok || !(now > 0) || f.LoadKW == nil {
		return
	}
	scale := 1.0
	if f.GenerationKW != nil {
		scale = *f.GenerationKW / now
	}
	for i, u := range w.units {
		rest := slices.Delete(slices.Clone(w.units), i, i+1)
		kw, _ := w.modelKW(rest)
		kw *= scale
		b := w.busOf(rest, &kw)
		row := UnitStop{Unit: u.ID, GenerationKW: kw, LoadRoomKW: max(0, kw-*f.LoadKW), Rejection: w.reject(&b, kw)}
		if kw >= *f.LoadKW {
			row.DumpedKW = new(kw - *f.LoadKW)
			row.Settled = b.carry(kw, *f.LoadKW, w.in.elementsKW(w.in.Plant.Supply.Volts, ""))
		} else {
			row.ShortKW = new(*f.LoadKW - kw)
			row.Settled = b.overload(*f.LoadKW)
		}
		f.UnitStop = append(f.UnitStop, row)
	}
}

// otherWays fills in the full rejection for every way of running the common bus that is not the present one: each unit
// alone, and all.
func (w *work) otherWays() {
	if w.in.Model == nil {
		return
	}
	for _, way := range waysOf(w.in.Plant) {
		if sameUnits(way, w.units) {
			continue
		}
		kw, ok := w.modelKW(way)
		if !ok {
			continue
		}
		b := w.busOf(way, nil)
		w.facts.Other = append(w.facts.Other, OtherWay{
			Run: idsOf(way), GenerationKW: kw, Rejection: w.reject(&b, kw), ElementOut: w.elementOut(&b, &kw),
		})
	}
}

// waysOf lists the ways of running the common bus: each unit alone, then all together.
func waysOf(p *plant.Plant) [][]plant.Unit {
	var all []plant.Unit
	var ways [][]plant.Unit
	for _, u := range p.Units {
		if u.Common() {
			all = append(all, u)
			ways = append(ways, []plant.Unit{u})
		}
	}
	if len(all) > 1 {
		ways = append(ways, all)
	}
	return ways
}

func sameUnits(a, b []plant.Unit) bool {
	if len(a) != len(b) {
		return false
	}
	for _, u := range a {
		if !slices.ContainsFunc(b, func(v plant.Unit) bool { return v.ID == u.ID }) {
			return false
		}
	}
	return true
}
