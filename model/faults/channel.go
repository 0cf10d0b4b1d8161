package faults

import (
	"math"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/steady"
)

// kind is how a reading of the water and power follows from the model.
type kind uint8

const (
	kPressure kind = iota // of one unit's gauge
	kPower                // of one unit
	kDump                 // dumped power by its own meter
	kShare                // dump share of the generation
	kDuty                 // dump share of the ballast
	kFlow                 // of the plant
	kUnitFlow
	kScreen // level difference across the screen
)

// channel is one reading of the water and power on one round.
type channel struct {
	kind kind
	key  quantity.Key // as evidence names it
	unit int          // index into the plant's units; for pressures of the common gauge the unit that it stands for
	y    float64
	sd   float64 // of this reading alone
}

// What varies from reading to reading beside the gauge's error (our own): power and pressure hunt a little, and the load is
// not read at the same moment as the share.
const (
	huntPower    = 0.006
	huntPressure = 0.0015
	loadDrift    = 0.012
	loadDriftKW  = 0.02
	stickM       = 0.004 // the eye on a stick in moving water
)

// channels lists the readings of a look that the model can be asked for.
func (w *work) channels(l *look, res *steady.Result) []channel {
	if !l.known {
		return nil
	}
	var out []channel
	add := func(k kind, key quantity.Key, unit int, extra float64) {
		if v, ok := l.round.Value(key); ok {
			out = append(out, channel{k, key, unit, v, math.Hypot(w.sd(key), extra)})
		}
	}
	w.pressures(l, res, add)
	if len(l.running) == 0 {
		return out
	}
	running := 0
	for i, u := range res.Units {
		if !u.Running {
			continue
		}
		running++
		add(kPower, quantity.NewKey(u.ID, quantity.KW), i, huntPower*u.KW)
		add(kUnitFlow, quantity.NewKey(u.ID, quantity.FlowLps), i, 0.01*1e3*u.FlowM3s)
	}
	add(kFlow, quantity.Key(quantity.FlowLps), -1, 0.01*1e3*res.FlowM3s)
	if !l.cleared {
		add(kScreen, quantity.Key(quantity.ScreenLossMM), -1, 1e3*stickM)
	}
	if l.exogenous() != nil {
		w.dumps(l, res, add)
	}
	return out
}

// pressures adds the gauges that the model can place. After a clearing the pressure read then stands for the round's.
func (w *work) pressures(l *look, res *steady.Result, add func(kind, quantity.Key, int, float64)) {
	common := -1
	for i, u := range res.Units {
		if !u.PressureKnown || (len(l.running) > 0 && !u.Running) {
			continue
		}
		add(kPressure, quantity.NewKey(u.ID, quantity.PressureKPa), i, huntPressure*u.StaticKPa)
		if common < 0 {
			common = i
		} else if math.Abs(res.Units[common].PressureKPa-u.PressureKPa) > 1e-9 {
			return // one gauge, and two pressures: which it shows is not known
		}
	}
	if common < 0 {
		return
	}
	key := quantity.Key(quantity.PressureKPa)
	if _, after := l.round.Value(quantity.Key(quantity.PressureAfter)); l.cleared && after {
		key = quantity.Key(quantity.PressureAfter)
	}
	add(kPressure, key, common, huntPressure*res.Units[common].StaticKPa)
}

// dumps adds the readings of the dumped power. They say something only beside the load.
func (w *work) dumps(l *look, res *steady.Result, add func(kind, quantity.Key, int, float64)) {
	g := res.CommonKW
	if !(g > 0) {
		return
	}
	if l.loadKW != nil {
		add(kDump, quantity.Key(quantity.DumpKW), -1, huntPower*g)
	}
	if w.plant.Ballast.ShareOf == plant.ShareOfBallast {
		if l.busKW > 0 {
			add(kDuty, quantity.Key(quantity.DumpSharePct), -1, 100*huntPower*g/l.busKW)
		}
		return
	}
	add(kShare, quantity.Key(quantity.DumpSharePct), -1, 100*huntPower)
}

// exogenous is the reading that the share is compared with: the load, else the dumped power; nil for none.
func (l *look) exogenous() *float64 {
	if l.loadKW != nil {
		return l.loadKW
	}
	return l.dumpKW
}

// column names the evidence's quantity: pressures after a clearing are the same gauge's.
func (c channel) column() string {
	if c.key.Name() == quantity.PressureAfter {
		return string(quantity.PressureKPa)
	}
	return string(c.key)
}
