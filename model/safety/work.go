package safety

import (
	"example.org/headpond/model/plant"
	"example.org/headpond/model/steady"
)

// work is one run of Numbers.
type work struct {
	m     *steady.Model
	p     *plant.Plant
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
