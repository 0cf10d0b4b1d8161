package faults

import (
	"math"

	"example.org/headpond/model/steady"
)

// change is what a fault changes in the forward model. The zero value is the healthy plant.
type change struct {
	clear     float64 // share of the screen that is clear; 0 is clean here
	stock     int
	valveK    float64
	airM      float64
	leakM3s   float64
	unit      int
	lost      float64 // share of the unit's efficiency
	slip      float64 // share of the speed that the unit's belt loses
	levelM    float64 // what the pond gauge shows too much
	gauge     string  // column of the pressure gauge that is off
	offsetKPa float64
	deadKW    float64 // stamp of the dead elements, at the supply's volts
	claims    bool    // the share is what the controller believes to divert, dead elements included
	stuck     bool    // the dumped power does not follow the balance
}

// solve puts the look's case to the solver with a change.
func (w *work) solve(l *look, ch *change) *steady.Result {
	c := steady.Case{PondLevelM: l.levelM - ch.levelM, Running: l.running, WaterC: l.waterC, Speed: l.speed}
	if ch.clear > 0 {
		c.ScreenClear = &ch.clear
	}
	n := len(w.plant.Penstocks)
	if cap(w.stocks) < n {
		w.stocks = make([]steady.PenstockState, n)
	}
	w.stocks = w.stocks[:n]
	for j := range w.stocks {
		w.stocks[j] = steady.PenstockState{Valve: l.valve}
	}
	if ch.stock < n {
		s := &w.stocks[ch.stock]
		s.ValveK, s.AirLossM, s.LeakM3s = ch.valveK, ch.airM, ch.leakM3s
	}
	c.Penstocks = w.stocks
	if ch.slip > 0 && len(l.running) == 1 {
		c.Speed = l.speed / (1 - ch.slip) // the machine turns faster than the generator that is held
	}
	if err := w.model.SolveInto(&c, &w.res); err != nil {
		return nil
	}
	if ch.lost > 0 || ch.slip > 0 {
		w.scaleUnit(ch.unit, (1-ch.lost)*(1-ch.slip))
	}
	return &w.res
}

// scaleUnit takes a share of a unit's power, whatever the water does.
func (w *work) scaleUnit(i int, share float64) {
	u := &w.res.Units[i]
	lost := u.KW * (1 - share)
	u.KW -= lost
	if u.Common {
		w.res.CommonKW -= lost
	} else {
		w.res.OwnKW -= lost
	}
}

// predict writes what the channels of a look should read under a change; false where the model cannot tell.
func (w *work) predict(l *look, chans []channel, ch *change, f []float64) bool {
	res := w.solve(l, ch)
	if res == nil {
		return false
	}
	for i, c := range chans {
		f[i] = w.value(l, c, res, ch)
	}
	return true
}

func (w *work) value(l *look, c channel, res *steady.Result, ch *change) float64 {
	switch c.kind {
	case kPressure:
		v := res.Units[c.unit].PressureKPa
		if ch.gauge == c.column() {
			v += ch.offsetKPa
		}
		return v
	case kPower:
		return res.Units[c.unit].KW
	case kUnitFlow:
		return 1e3 * res.Units[c.unit].FlowM3s
	case kFlow:
		return 1e3 * res.FlowM3s
	case kScreen:
		return 1e3 * res.ScreenLossM
	case kDump:
		return l.dumped(w.plantLimit(), res.CommonKW, *l.loadKW, ch)
	case kShare, kDuty:
		return l.share(c.kind, w.plantLimit(), res.CommonKW, ch)
	}
	return 0
}

// plantLimit is the controller's limit, +Inf without one.
func (w *work) plantLimit() float64 {
	if c := w.plant.Ballast.ControllerKW; c != nil {
		return *c
	}
	return math.Inf(1)
}

// elements is what the working elements take, kW, without the dead ones.
func (l *look) elements(ch *change) float64 { return math.Max(0, l.busKW-ch.deadKW*l.perVolt) }

// dumped is what goes into the ballast: the generation less the load, at least nothing and at most what it takes.
func (l *look) dumped(limit, generation, load float64, ch *change) float64 {
	return math.Max(0, math.Min(generation-load, math.Min(limit, l.elements(ch))))
}

// share is the dump share as the plant's meter gives it, %.
func (l *look) share(k kind, limit, generation float64, ch *change) float64 {
	var d float64
	if l.loadKW != nil {
		d = l.dumped(limit, generation, *l.loadKW, ch)
	} else {
		d = *l.dumpKW
	}
	whole := generation
	if l.loadKW != nil && d < generation-*l.loadKW {
		whole = d + *l.loadKW // full: what is generated at this speed is what is taken
	}
	if k == kDuty {
		whole = l.elements(ch)
	} else if ch.claims && l.elements(ch) > 0 {
		d *= l.busKW / l.elements(ch)
	}
	if !(whole > 0) {
		return 0
	}
	return 100 * math.Min(1, d/whole)
}
