package assess

import (
	"time"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/steady"
)

// waterMemory is how long a water temperature serves for later rounds (contract).
const waterMemory = 14 * 24 * time.Hour

// Expected is what each reading should be, as far as the plant's description tells, in the readings' own units.
type Expected map[quantity.Key]float64

// Expected works out what a round's readings should be. The round may be a draft: its pond level, running units, valve,
// water temperature and load are used where they are read, else the last ones before it. Whatever cannot be told is absent.
//
// Voltage and frequency are the nominal ones while a common-bus unit runs. Flow, pressure and power are the solver's with a
// clean screen. What is dumped is the expected generation less the load that was read, and the other way round, on the common bus
// and on each bus of its own. Where nothing runs nothing is generated: 0 everywhere. The bypass is what the file says must pass.
func (a *Assessor) Expected(r record.Round) Expected {
	out := Expected{}
	running, known := a.Running(r)
	if !known {
		return out
	}
	res, err := a.Solve(r, running)
	if err != nil {
		return out
	}
	p := a.h.PlantAt(r.Time)
	a.expectHydraulics(out, p, res)
	commonRuns := false
	for _, u := range res.Units {
		out[quantity.NewKey(u.ID, quantity.KW)] = u.KW
		if !u.Running {
			continue
		}
		commonRuns = commonRuns || u.Common
		out[quantity.NewKey(u.ID, quantity.Volts)] = p.Supply.Volts
		out[quantity.NewKey(u.ID, quantity.Hertz)] = p.Supply.Hertz
		if !u.Common {
			expectOwnBus(out, r, u.ID, u.KW)
		}
	}
	if p.Pond.BypassLps > 0 {
		out[quantity.Key(quantity.BypassLps)] = p.Pond.BypassLps
	}
	if !commonRuns {
		for _, n := range []quantity.Name{quantity.Volts, quantity.Hertz, quantity.LoadKW, quantity.DumpKW} {
			out[quantity.Key(n)] = 0
		}
		return out
	}
	out[quantity.Key(quantity.Volts)] = p.Supply.Volts
	out[quantity.Key(quantity.Hertz)] = p.Supply.Hertz
	a.expectPower(out, p, r, res.CommonKW)
	return out
}

// expectOwnBus fills in what a set on a bus of its own should dump for the load that was read there, and the load for what was
// dumped. Its controller's share is one of its generation, for the plant's elements are the common bus's.
func expectOwnBus(out Expected, r record.Round, id string, kw float64) {
	key := func(n quantity.Name) quantity.Key { return quantity.NewKey(id, n) }
	if load, ok := r.Value(key(quantity.LoadKW)); ok && load <= kw {
		out[key(quantity.DumpKW)] = kw - load
		if kw > 0 {
			out[key(quantity.DumpSharePct)] = 100 * (kw - load) / kw
		}
	}
	if dump, ok := r.Value(key(quantity.DumpKW)); ok && dump <= kw {
		out[key(quantity.LoadKW)] = kw - dump
	} else if pct, ok := r.Value(key(quantity.DumpSharePct)); ok && pct <= 100 {
		out[key(quantity.LoadKW)] = kw * (1 - pct/100)
	}
}

// expectHydraulics fills in the flows, the pressures and the screen's loss.
func (a *Assessor) expectHydraulics(out Expected, p *plant.Plant, res *steady.Result) {
	var pressure *float64 // the plant's one gauge, where all running units (or all units, when none runs) would read the same on it
	same := true
	any := false
	for _, u := range res.Units {
		any = any || u.Running
	}
	for _, u := range res.Units {
		out[quantity.NewKey(u.ID, quantity.FlowLps)] = u.FlowM3s * 1e3
		if !u.PressureKnown {
			continue
		}
		out[quantity.NewKey(u.ID, quantity.PressureKPa)] = u.PressureKPa
		if any && !u.Running {
			continue
		}
		if v := u.PressureKPa; pressure == nil {
			pressure = &v
		} else if *pressure != v {
			same = false
		}
	}
	if pressure != nil && same {
		out[quantity.Key(quantity.PressureKPa)] = *pressure
		out[quantity.Key(quantity.PressureAfter)] = *pressure
	}
	out[quantity.Key(quantity.FlowLps)] = res.FlowM3s * 1e3
	if p.Intake.ScreenM2 != nil {
		out[quantity.Key(quantity.ScreenLossMM)] = res.ScreenLossM * 1e3
	}
}

// expectPower fills in what should be dumped for the load that was read, and the load for what was dumped.
func (a *Assessor) expectPower(out Expected, p *plant.Plant, r record.Round, generationKW float64) {
	if load, ok := r.Value(quantity.Key(quantity.LoadKW)); ok && load <= generationKW {
		dumped := generationKW - load
		out[quantity.Key(quantity.DumpKW)] = dumped
		if pct, ok := a.sharePct(p, r, dumped, generationKW); ok {
			out[quantity.Key(quantity.DumpSharePct)] = pct
		}
	}
	b := balance{a: a, p: p, r: r, out: &Power{}}
	b.bus()
	if dump, ok := r.Value(quantity.Key(quantity.DumpKW)); ok && dump <= generationKW {
		out[quantity.Key(quantity.LoadKW)] = generationKW - dump
	} else if share, _, ok := b.share(); ok && share <= 1 {
		if p.Ballast.ShareOf == plant.ShareOfBallast {
			out[quantity.Key(quantity.LoadKW)] = max(0, generationKW-share*b.elementsKW())
		} else {
			out[quantity.Key(quantity.LoadKW)] = generationKW * (1 - share)
		}
	}
}

// sharePct is the dump share that the plant's meter should give for a dumped power.
func (a *Assessor) sharePct(p *plant.Plant, r record.Round, dumpedKW, generationKW float64) (float64, bool) {
	whole := generationKW
	if p.Ballast.ShareOf == plant.ShareOfBallast {
		b := balance{a: a, p: p, r: r, out: &Power{}}
		b.bus()
		whole = b.elementsKW()
	}
	return 100 * dumpedKW / whole, whole > 0 && dumpedKW <= whole
}

// ExpectOptions override what the book says for `headpond expect`.
type ExpectOptions struct {
	PondLevelM *float64
	Running    *[]string
	ScreenOpen *float64
	WaterC     *float64
}

// Expect answers what every reading should be now: at the last pond level, for the units that run, with a clean screen,
// unless overridden. The error says what is missing or wrong.
func (a *Assessor) Expect(o ExpectOptions) (*steady.Expectation, error) {
	m, err := a.Model(a.h.Plant)
	if err != nil {
		return nil, err
	}
	now := record.Round{Time: a.h.At}
	c := steady.Case{ScreenClear: o.ScreenOpen, WaterC: o.WaterC}
	if c.WaterC == nil {
		c.WaterC = a.waterC(now)
	}
	switch level, ok := a.level(now); {
	case o.PondLevelM != nil:
		c.PondLevelM = *o.PondLevelM
	case ok:
		c.PondLevelM = level
	default:
		return nil, errNoLevel
	}
	switch running, ok := a.Running(now); {
	case o.Running != nil:
		if c.Running = inOrder(a.h.Plant, *o.Running); len(c.Running) < len(*o.Running) {
			c.Running = *o.Running // the solver names what it does not know
		}
	case ok:
		c.Running = running
	default:
		return nil, errNoRunning
	}
	return m.Expect(c)
}
