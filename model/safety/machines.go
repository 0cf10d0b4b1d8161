package safety

import (
	"fmt"
	"slices"
	"strings"

	"example.org/headpond/model/electrical"
	"example.org/headpond/model/machine"
	"example.org/headpond/model/steady"
)

// machines compares each unit's flow, over its best flow, with the range in which its curve deserves trust: at the stop
// level and a full pond, alone and with all others.
func (w *work) machines() {
	for _, id := range w.p.UnitIDs() {
		if w.m.Measured(id) {
			w.measured(id)
			continue
		}
		lo, hi, seen := 0.0, 0.0, false
		w.eachRunning(id, func(r *steady.UnitResult) {
			if !seen {
				lo, hi, seen = r.Relative, r.Relative, true
			}
			lo, hi = min(lo, r.Relative), max(hi, r.Relative)
		})
		if !seen {
			continue
		}
		n := Number{
			Key: "flow_share_low", Name: "Least flow over best flow", Of: "unit " + id, Value: lo, Unit: "of best flow", AtLeast: new(machine.LowQ),
			Says:    fmt.Sprintf("%.2f of its best flow at the least, %s; the curve deserves trust from %g to %g", lo, w.lowest(), machine.LowQ, machine.HighQ),
			Formula: "pump as turbine, h(q) and p(q)", Source: "S. Derakhshan and A. Nourbakhsh, Exp. Thermal Fluid Sci. 32 (2008) 800–807", Status: Memory,
		}
		w.add(n)
		n.Key, n.Name, n.Value, n.AtLeast, n.AtMost = "flow_share_high", "Greatest flow over best flow", hi, nil, new(machine.HighQ)
		n.Says = fmt.Sprintf("%.2f of its best flow at the most, %s; the curve deserves trust from %g to %g", hi, w.high, machine.LowQ, machine.HighQ)
		w.add(n)
	}
}

// lowest names the lowest level that was looked at.
func (w *work) lowest() string {
	if w.low {
		return "at the stop level"
	}
	return w.high
}

// measured says whether a measured table covers the heads that the unit sees.
func (w *work) measured(id string) {
	u, _ := w.p.UnitByID(id)
	lo, hi, seen := 0.0, 0.0, false
	w.eachRunning(id, func(r *steady.UnitResult) {
		if !seen {
			lo, hi, seen = r.NetHeadM, r.NetHeadM, true
		}
		lo, hi = min(lo, r.NetHeadM), max(hi, r.NetHeadM)
	})
	if !seen || len(u.Curve) == 0 {
		return
	}
	first, last := u.Curve[0].NetHeadM, u.Curve[len(u.Curve)-1].NetHeadM
	n := Number{
		Key: "net_head_low_m", Name: "Least net head", Of: "unit " + id, Value: lo, Unit: metres, AtLeast: &first,
		Says:    fmt.Sprintf("%s at the least; its table was measured from %s to %s", w.height(lo, 2), w.height(first, 2), w.height(last, 2)),
		Formula: "measured curve", Source: "the plant file", Status: FromModel,
	}
	w.add(n)
	n.Key, n.Name, n.Value, n.AtLeast, n.AtMost = "net_head_high_m", "Greatest net head", hi, nil, &last
	n.Says = fmt.Sprintf("%s at the most; its table was measured from %s to %s", w.height(hi, 2), w.height(first, 2), w.height(last, 2))
	w.add(n)
}

// eachRunning visits the unit in every way of running that holds it, at the stop level and a full pond.
func (w *work) eachRunning(id string, visit func(*steady.UnitResult)) {
	levels := []float64{w.highM}
	if w.low {
		levels = append(levels, w.lowM)
	}
	for _, way := range w.ways() {
		if !slices.Contains(way, id) {
			continue
		}
		for _, level := range levels {
			r, ok := w.solve(level, way)
			if !ok {
				continue
			}
			for i := range r.Units {
				if r.Units[i].ID == id {
					visit(&r.Units[i])
				}
			}
		}
	}
}

// ballast compares what the ballast can take at rated voltage, all elements working, with the largest generation.
func (w *work) ballast() {
	kw, run := 0.0, []string(nil)
	for _, way := range w.ways() {
		if r, ok := w.solve(w.highM, way); ok && r.CommonKW > kw {
			kw, run = r.CommonKW, way
		}
	}
	if !(kw > 0) || len(w.p.Ballast.Elements) == 0 {
		return
	}
	sum := 0.0
	for _, e := range w.p.Ballast.Elements {
		rated := e.RatedVolts
		if !(rated > 0) {
			rated = w.p.Supply.Volts
		}
		sum += electrical.ElementKW(e.RatedKW, rated, w.p.Supply.Volts)
	}
	capacity, by := electrical.Limit(sum, w.p.Ballast.ControllerKW)
	w.add(Number{
		Key: "ballast_ratio", Name: "Ballast over the largest generation", Value: capacity / kw, Unit: "times", AtLeast: new(electrical.Reserve),
		Says: fmt.Sprintf("%.1f kW at rated voltage with all elements working (limited by the %s) against %.1f kW from %s, %s; at least %g times is usual",
			capacity, by, kw, strings.Join(w.common(run), "+"), w.high, electrical.Reserve),
		Formula: "P = Σ Pr (V/Vr)²; margin 1.15", Source: "A. Harvey, Micro-Hydro Design Manual, 1993; N. Smith, Motors as Generators, 1994", Status: Thumb,
	})
}

// common leaves the sets with a bus of their own out.
func (w *work) common(ids []string) []string {
	var out []string
	for _, id := range ids {
		if u, ok := w.p.UnitByID(id); ok && u.Common() {
			out = append(out, id)
		}
	}
	return out
}
