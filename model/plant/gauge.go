package plant

import (
	"errors"

	"example.org/headpond/model/quantity"
)

// Default divisions of the contract, in the unit of each quantity. Those of meters that the contract does not name are
// our own: amperes 0.1, meter totals and rain 1, and 5 mm for a level difference that is read with a stick.
func defaultDivision(n quantity.Name) float64 {
	switch n {
	case quantity.Volts, quantity.DumpSharePct:
		return 1
	case quantity.Hertz, quantity.LoadKW, quantity.DumpKW, quantity.KW, quantity.Amps:
		return 0.1
	case quantity.PressureKPa, quantity.PressureBefore, quantity.PressureAfter:
		return 2
	case quantity.PondLevelM:
		return 0.01
	case quantity.BearingC, quantity.AirC, quantity.WaterC:
		return 1
	case quantity.BypassLps:
		return 0.5
	case quantity.ScreenLossMM:
		return 5
	case quantity.RainMM, quantity.Hours, quantity.EnergyKWh, quantity.LoadEnergyKWh:
		return 1
	}
	return 0
}

// defaultFlowShare is the division of a flow meter as a share of the best flow.
const defaultFlowShare = 0.02

// Division returns the smallest division that can be read of a reading, in its unit: from the file for that very column,
// else from the file for the same quantity without the unit's id, else the contract's default. Pressures around a clearing
// are read on the intake pressure gauge. A flow's default is 2 % of the unit's best flow, or of all units' for the
// common column. Words and unknown names have 0.
func (p *Plant) Division(k quantity.Key) float64 {
	name := k.Name()
	for _, key := range []string{string(k), string(name)} {
		if v, ok := p.Gauge[key]; ok {
			return v
		}
	}
	switch name {
	case quantity.PressureBefore, quantity.PressureAfter:
		return p.Division(quantity.Key(quantity.PressureKPa))
	case quantity.FlowLps:
		return defaultFlowShare * p.bestFlowLps(k.Unit())
	}
	return defaultDivision(name)
}

// ReadingError returns one standard deviation of a reading's error, half of its division, in its unit.
func (p *Plant) ReadingError(k quantity.Key) float64 { return p.Division(k) / 2 }

// bestFlowLps returns a unit's best flow, or that of all units together for "".
func (p *Plant) bestFlowLps(id string) float64 {
	sum := 0.0
	for _, u := range p.Units {
		if id == "" || u.ID == id {
			sum += u.BestFlowLps
		}
	}
	return sum
}

// gaugeSpecs describes the [gauge] keys of the starting file. Every numeric column is allowed; these are the usual ones.
func gaugeSpecs() []spec {
	row := func(n quantity.Name, example, what string) spec {
		return spec{key: string(n), form: formNumber, span: above0(1e6), example: example, what: what,
			find: "The step between two marks, or of the last digit that stands still.", standard: number(defaultDivision(n))}
	}
	return []spec{
		row(quantity.Volts, "1", "V"), row(quantity.Hertz, "0.1", "Hz"), row(quantity.LoadKW, "0.1", "kW"),
		row(quantity.DumpSharePct, "1", "%"), row(quantity.PressureKPa, "2", "kPa; 1 psi is 6.9 kPa"),
		row(quantity.PondLevelM, "0.01", "m"),
	}
}

// gauge reads [gauge], whose keys are columns of the log.
func (d *decoder) gauge(n *node, p *Plant) map[string]float64 {
	out := map[string]float64{}
	if n == nil || n.kind == isBroken {
		return out
	}
	if n.kind != isTable {
		d.add(n.off, "gauge", "is "+n.kind.String(), "a table that begins with [gauge]")
		return out
	}
	t := &table{node: n, path: "gauge"}
	for _, e := range n.entries {
		if d.full() {
			break
		}
		if e.val.dotted {
			d.add(e.off, join("gauge", e.name), "a column of one unit without quotation marks", quote(e.name+"."+e.val.entries[0].name)+", with them")
			continue
		}
		if what, expected := readingKey(e.name, p.UnitIDs()); what != "" {
			d.add(e.off, join("gauge", e.name), what, expected)
			continue
		}
		s := spec{key: e.name, form: formNumber, span: above0(1e6), what: "the smallest division that can be read, in the column's unit"}
		if v, ok := d.readNumber(t, s, s.span, e.val); ok {
			out[e.name] = v
		}
	}
	return out
}

// readingKey tells what is wrong with the name of a reading that is a number; "" where nothing is. A quantity that is read
// for single units only may stand without an id and is then meant for all of them.
func readingKey(key string, units []string) (what, expected string) {
	if q, ok := quantity.Lookup(quantity.Name(key)); ok && q.Number() {
		return "", ""
	}
	if len(key) > maxQuoted {
		return quote(key) + " is no reading", "a column of the log such as volts"
	}
	k, q, err := quantity.ParseKey(key, units)
	var wrong *quantity.KeyError
	switch {
	case errors.As(err, &wrong):
		if wrong.Nearest != "" {
			return quote(key) + " is " + wrong.Why, wrong.Nearest
		}
		return quote(key) + " is " + wrong.Why, "a column of the log such as volts, or A.volts for unit A"
	case err != nil:
		return quote(key) + " is no reading", "a column of the log such as volts"
	case !q.Number():
		return quote(key) + " is read as a word", "a column that holds a number, such as volts"
	case string(k) != key:
		return quote(key) + " is not written as the column is", string(k)
	}
	return "", ""
}
