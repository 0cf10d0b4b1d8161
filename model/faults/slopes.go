package faults

import (
	"math"

	"example.org/headpond/model/hydraulics"
	"example.org/headpond/model/steady"
)

// slopes are the finite differences that the errors and ν are made of.
type slopes struct {
	level []float64   // by 1 m of pond level
	air   [][]float64 // by 1 m of loss in each penstock
	kw    [][]float64 // by a share of each unit's power
	load  []float64   // by 1 kW of load
	heat  []float64   // by a share of the heaters' power
}

// still is what the healthy solution of a look says about losses and flows.
type still struct {
	losses, heads, shares []float64 // friction and fittings, velocity head by penstock; part of the plant's flow by unit
	screenM, commonKW     float64
}

func stillOf(res *steady.Result) still {
	s := still{screenM: res.ScreenLossM, commonKW: res.CommonKW}
	for _, p := range res.Penstocks {
		s.losses = append(s.losses, p.FrictionM+p.MinorM)
		s.heads = append(s.heads, hydraulics.VelocityHead(p.VelocityMS))
	}
	for _, u := range res.Units {
		share := 0.0
		if res.FlowM3s > 0 {
			share = u.FlowM3s / res.FlowM3s
		}
		s.shares = append(s.shares, share)
	}
	return s
}

// slopesOf differentiates the forward model.
func (w *work) slopesOf(l *look, r *ready, commonKW float64) slopes {
	m := len(r.chans)
	diff := func(ch change, step float64) []float64 {
		g := make([]float64, m)
		if !w.predict(l, r.chans, &ch, g) {
			copy(g, r.f)
		}
		for i := range g {
			g[i] = (g[i] - r.f[i]) / step
		}
		return g
	}
	s := slopes{level: diff(change{levelM: 0.02}, -0.02)}
	for j := range w.plant.Penstocks {
		s.air = append(s.air, diff(change{stock: j, airM: 0.02}, 0.02))
	}
	for i := range w.plant.Units {
		s.kw = append(s.kw, diff(change{unit: i, lost: 0.01}, -0.01))
	}
	s.load, s.heat = make([]float64, m), make([]float64, m)
	if l.loadKW == nil {
		return s
	}
	left := commonKW - *l.loadKW
	full := left >= math.Min(w.plantLimit(), l.busKW)
	for i, c := range r.chans {
		switch {
		case left <= 0:
		case c.kind == kDump && full:
			s.heat[i] = r.f[i]
		case full:
		case c.kind == kDump:
			s.load[i] = -1
		case c.kind == kShare:
			s.load[i] = -100 / commonKW
		case c.kind == kDuty:
			s.load[i], s.heat[i] = -100/l.busKW, -r.f[i]
		}
	}
	return s
}

// columns is J: what each of ν does to each reading.
func (w *work) columns(l *look, r *ready, s slopes, rest still) []float64 {
	m, p := len(r.chans), len(w.wet.sd)
	j := make([]float64, m*p)
	units, stocks := len(w.plant.Units), len(w.plant.Penstocks)
	last := 2*units + stocks
	for i, c := range r.chans {
		row := j[i*p:]
		for u := range units {
			row[2*u] = s.kw[u][i]
			row[2*u+1] = w.moreFlow(r, i, u, s, rest)
		}
		for k := range stocks {
			row[2*units+k] = s.air[k][i] * rest.losses[k]
		}
		row[last] = s.level[i]
		if l.loadKW != nil {
			row[last+1] = s.load[i] * *l.loadKW
		}
		row[last+2] = s.heat[i]
		for u := range units {
			row[last+4] += s.kw[u][i] * (l.speed - 1)
		}
		switch c.kind {
		case kFlow, kUnitFlow:
			row[last+3] = r.f[i]
		case kPressure:
			row[w.gaugeColumn(c, 0)] = 1
		case kPower, kDump, kShare, kDuty, kScreen:
		}
	}
	return j
}

// moreFlow is what a machine that takes a share more flow at the same head does to a reading: the flow itself, and twice that
// share of the losses that it causes.
func (w *work) moreFlow(r *ready, i, unit int, s slopes, rest still) float64 {
	c, stock, share := r.chans[i], w.stockOf[unit], rest.shares[unit]
	switch {
	case c.kind == kUnitFlow && c.unit == unit:
		return r.f[i]
	case c.kind == kFlow:
		return r.f[i] * share
	case c.kind == kUnitFlow:
		return 0
	case c.kind == kScreen:
		return 2 * share * r.f[i]
	}
	v := 2 * share * s.air[stock][i] * (rest.losses[stock] + rest.screenM)
	if c.kind == kPressure && w.stockOf[c.unit] == stock {
		v -= 2 * share * hydraulics.Gravity * rest.heads[stock]
	}
	return v
}
