package plant

import (
	"fmt"
	"math"
	"strings"
)

// maxID is the longest id of a unit, which is typed and stands in front of columns.
const maxID = 12

// checkUnits tells ids that cannot be typed, pipes that do not exist, machines without a description of what they do with
// the water, and machines that stand above the pond.
func (d *decoder) checkUnits(p *Plant, ts *tables) {
	if len(ts.penstocks) == 0 && d.absent("penstock") {
		d.add(len(d.src.data), "penstock", "there is none", "at least one [[penstock]]")
	}
	if len(ts.units) == 0 && d.absent("unit") {
		d.add(len(d.src.data), "unit", "there is none", "at least one [[unit]]")
	}
	d.unique(ts.units, "id", func(i int) string { return p.Units[i].ID })
	pipes := make([]string, len(p.Penstocks))
	for i, s := range p.Penstocks {
		pipes[i] = s.Name
	}
	for i, t := range ts.units {
		u := &p.Units[i]
		d.checkID(t, u.ID)
		if _, ok := p.PenstockByName(u.Penstock); !ok && t.has("penstock") {
			d.problem(t, "penstock", "no penstock has the name "+quote(u.Penstock), oneOf(pipes, "penstock"))
		}
		fillUnit(t, u)
		d.checkMachine(t, u)
		d.checkElevation(p, ts, t, u)
	}
}

// absent reports whether no problem has been told of a table of this name, which then is simply not there.
func (d *decoder) absent(name string) bool {
	for _, p := range d.list {
		if p.Key == name || strings.HasPrefix(p.Key, name+"[") {
			return false
		}
	}
	return true
}

func (d *decoder) checkID(t *table, id string) {
	if !t.has("id") {
		return
	}
	const expected = "letters A to Z and digits, at most 12, such as \"A\""
	plain := strings.IndexFunc(id, func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9')
	}) < 0
	switch {
	case !plain || len(id) > maxID:
		d.problem(t, "id", quote(id)+" cannot be an id", expected)
	case strings.EqualFold(id, "none"):
		d.problem(t, "id", quote(id)+" means that no unit runs", expected)
	}
}

// fillUnit gives a unit what its file leaves out.
func fillUnit(t *table, u *Unit) {
	if !t.given("name") {
		u.Name = u.ID
	}
	if !t.given("tailwater_m") {
		u.TailwaterM = u.AxisM
	}
	if !t.given("rated_kva") {
		u.RatedKVA = u.RatedKW
	}
}

// checkMachine tells a machine with neither a best-efficiency point nor a curve, with part of one, or with both.
func (d *decoder) checkMachine(t *table, u *Unit) {
	var given, missing []string
	for _, f := range bestFields() {
		if t.given(f.key) {
			given = append(given, f.key)
		} else {
			missing = append(missing, f.key)
		}
	}
	curve := t.given("curve")
	switch {
	case curve && len(given) > 0:
		d.problem(t, given[0], "given beside curve", "the best_* keys or a curve, not both")
	case curve:
		d.checkCurve(t, u)
	case len(given) == 0:
		d.add(t.node.off, t.path, "nothing tells what the machine makes of the water", joinPlain(missing)+", or a curve")
	case len(missing) > 0:
		d.problem(t, given[0], "given without "+joinPlain(missing), "all three best_* keys, or a curve")
	}
	if !curve && len(given) > 0 && !t.given("generator_efficiency") {
		d.add(t.node.off, join(t.path, "generator_efficiency"), "missing", unitSpec("generator_efficiency").expected())
	}
}

func unitSpec(key string) spec {
	for _, f := range unitFields() {
		if f.key == key {
			return f.spec
		}
	}
	return spec{}
}

// checkCurve tells rows that do not rise and rows that give more than the water holds; from a sound curve it takes the
// best point.
func (d *decoder) checkCurve(t *table, u *Unit) {
	if !t.has("curve") {
		return
	}
	path := join(t.path, "curve")
	best := -1.0
	for i, r := range u.Curve {
		if i > 0 && r.FlowLps < u.Curve[i-1].FlowLps {
			d.add(t.rowAt("curve", i), path, fmt.Sprintf("row %d passes less water (%s L/s) than row %d (%s L/s) at more head",
				i+1, number(r.FlowLps), i, number(u.Curve[i-1].FlowLps)), "a flow that rises with the head, as it does at one speed; smooth out the measuring error")
		}
		waterKW := waterWeight * r.NetHeadM * r.FlowLps / 1e6
		if r.KWElectric > waterKW {
			d.add(t.rowAt("curve", i), path, fmt.Sprintf("row %d gives %s kW, but its water holds %s kW", i+1, number(r.KWElectric), number(round3(waterKW))),
				"[net head m, flow L/s, kW electric], in that order")
			continue
		}
		if eff := r.KWElectric / waterKW; eff > best {
			best = eff
			u.BestFlowLps, u.BestHeadM, u.BestEfficiency = r.FlowLps, r.NetHeadM, eff
		}
	}
	if !t.given("generator_efficiency") {
		u.GeneratorEfficiency = 1
	}
	u.BestEfficiency = math.Min(1, u.BestEfficiency/u.GeneratorEfficiency)
}

// checkElevation tells a machine whose outlet is not below the pond: most often a forgotten minus sign.
func (d *decoder) checkElevation(p *Plant, ts *tables, t *table, u *Unit) {
	key := "axis_m"
	if t.given("tailwater_m") {
		key = "tailwater_m"
	}
	top, from, ok := highestWater(p, ts)
	if !ok || !t.has(key) || u.TailwaterM < top {
		return
	}
	d.problem(t, key, fmt.Sprintf("%s is not below %s = %s: there is no head", number(u.TailwaterM), from, number(top)),
		"a level on the same zero as the staff gauge, negative where it is below that zero")
}

// highestWater returns the highest level that the file gives for the pond.
func highestWater(p *Plant, ts *tables) (top float64, from string, ok bool) {
	switch {
	case ts.pond.has("crest_m"):
		return *p.Pond.CrestM, "pond.crest_m", true
	case ts.pond.has("stage"):
		return p.Pond.Stage[len(p.Pond.Stage)-1].LevelM, "the pond's highest level", true
	case ts.intake.has("centreline_m"):
		return *p.Intake.CentrelineM, "intake.centreline_m", true
	}
	return 0, "", false
}

func round3(v float64) float64 { return math.Round(v*1000) / 1000 }
