package safety

import (
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/steady"
)

// work is one run of Numbers.
type work struct {
	m     *steady.Model
	p     *plant.Plant
	units quantity.System // in which sentences speak
	list  []Number
	highM float64 // the pond's highest ordinary level
	high  string  // what it is
	lowM  float64 // the level at which running stops
	low   bool    // whether that is known
}

// levels finds the highest and the lowest level at which the plant runs.
func (w *work) levels() {
	w.lowM, _, w.low = w.p.StopLevel()
	switch stage := w.p.Pond.Stage; {
	case w.p.Pond.CrestM != nil:
		w.highM, w.high = *w.p.Pond.CrestM, "pond at the crest"
	case len(stage) > 0:
		w.highM, w.high = stage[len(stage)-1].LevelM, "pond at the top of the stage table"
	default:
		w.highM, w.high = 0, "pond at the gauge's zero"
	}
}

// solve solves for a level and running units, with a clean screen.
func (w *work) solve(levelM float64, running []string) (steady.Result, bool) {
	r, err := w.m.Solve(steady.Case{PondLevelM: levelM, Running: running})
	return r, err == nil
}

// ways lists each unit alone, then all.
func (w *work) ways() [][]string {
	var ways [][]string
	ids := w.p.UnitIDs()
	for _, id := range ids {
		ways = append(ways, []string{id})
	}
	if len(ids) > 1 {
		ways = append(ways, ids)
	}
	return ways
}

// height writes metres in the plant's units.
func (w *work) height(v float64, digits int) string {
	return say(quantity.Info{Unit: quantity.Metre, Digits: digits}, v, w.units)
}

// area writes square metres in the plant's units, with the digits that an estimate deserves.
func (w *work) area(m2 float64) string {
	if w.units == quantity.US {
		return w.units.ShowArea(m2, " ")
	}
	return plain(m2, 2) + " m²"
}

func (w *work) velocity(ms float64, digits int) string { return w.units.ShowVelocity(ms, digits, " ") }

func (w *work) flow(m3s float64) string {
	return say(quantity.Info{Unit: quantity.LitrePerSecond, Digits: 1}, m3s*1000, w.units)
}

func (w *work) pressure(kpa float64) string {
	return say(quantity.Info{Unit: quantity.Kilopascal}, kpa, w.units)
}

func say(q quantity.Info, v float64, s quantity.System) string {
	return q.ShowEstimate(v, s) + " " + string(q.ShowUnit(s))
}
