package faults

import (
	"math"

	"example.org/headpond/model/hydraulics"
	"example.org/headpond/model/steady"
)

// What name plates and gauges do not tell, one standard deviation (our own; doc.go).
const (
	usualEfficiency = 0.04
	usualFlow       = 0.04
	usualLoss       = 0.12
	usualLevelM     = 0.01
	usualLoadScale  = 0.015
	usualHeaters    = 0.03
	usualFlowMeter  = 0.03
	usualGauge      = 0.004 // of the static pressure
)

// ready is a look's readings of one system, made ready for the closed form.
type ready struct {
	chans []channel
	f     []float64 // healthy
	l     []float64 // Cholesky factor of R
	logDt float64
	j     []float64 // m × p, whitened
	jRaw  []float64 // m × p, as it is
	base  part      // of the healthy plant
}

// wet is the system of water and power.
type wet struct {
	sd    []float64 // of ν
	ready []ready   // by look
}

// Layout of ν: two for each unit, one for each penstock, one for each pressure gauge, and four of the plant.
func (w *work) layOut() {
	w.gauges = nil
	units, stocks := len(w.plant.Units), len(w.plant.Penstocks)
	for range units {
		w.wet.sd = append(w.wet.sd, usualEfficiency, usualFlow)
	}
	for range stocks {
		w.wet.sd = append(w.wet.sd, usualLoss)
	}
	w.wet.sd = append(w.wet.sd, usualLevelM, usualLoadScale, usualHeaters, usualFlowMeter)
}

// gaugeColumn gives a pressure gauge its place in ν.
func (w *work) gaugeColumn(c channel, staticKPa float64) int {
	name := c.column()
	for i, g := range w.gauges {
		if g == name {
			return w.gaugeAt + i
		}
	}
	if w.gaugeAt == 0 {
		w.gaugeAt = len(w.wet.sd)
	}
	w.gauges = append(w.gauges, name)
	w.wet.sd = append(w.wet.sd, math.Hypot(w.sd(c.key), usualGauge*staticKPa))
	return w.gaugeAt + len(w.gauges) - 1
}

// slopes are the finite differences that the errors and ν are made of.
type slopes struct {
	level []float64   // by 1 m of pond level
	air   [][]float64 // by 1 m of loss in each penstock
	kw    [][]float64 // by a share of each unit's power
	load  []float64   // by 1 kW of load
	heat  []float64   // by a share of the heaters' power
}

// prepareWater makes every look ready: first the readings, then ν's columns, whose number is known only then.
func (w *work) prepareWater() {
	w.layOut()
	w.wet.ready = make([]ready, len(w.win.looks))
	for i := range w.win.looks {
		l := &w.win.looks[i]
		if !l.known {
			continue
		}
		if res := w.solve(l, &change{}); res != nil {
			w.wet.ready[i].chans = w.channels(l, res)
			for _, c := range w.wet.ready[i].chans {
				if c.kind == kPressure {
					w.gaugeColumn(c, res.Units[c.unit].StaticKPa)
				}
			}
		}
	}
	w.setAside()
	for i := range w.win.looks {
		w.prepareLook(&w.win.looks[i], &w.wet.ready[i])
	}
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

func (w *work) prepareLook(l *look, r *ready) {
	m, p := len(r.chans), len(w.wet.sd)
	r.base = part{jr: make([]float64, p), jj: make([]float64, p*p)}
	if m == 0 {
		return
	}
	r.f = make([]float64, m)
	w.predict(l, r.chans, &change{}, r.f)
	rest := stillOf(&w.res)
	s := w.slopesOf(l, r, rest.commonKW)
	r.jRaw = w.columns(l, r, s, rest)
	w.whiten(l, r, s)
	r.j = append([]float64(nil), r.jRaw...)
	r.whitenJ(p)
	r.contribute(r.f, nil, p, &r.base)
	r.base.jj = r.squares(p)
}

// whitenJ divides J by the factor of R.
func (r *ready) whitenJ(p int) {
	m := len(r.chans)
	col := make([]float64, m)
	for q := range p {
		for i := range m {
			col[i] = r.j[i*p+q]
		}
		forward(r.l, m, col)
		for i := range m {
			r.j[i*p+q] = col[i]
		}
	}
}

// squares is JᵀR⁻¹J, J being whitened.
func (r *ready) squares(p int) []float64 {
	out := make([]float64, p*p)
	for i := range r.chans {
		row := r.j[i*p : i*p+p]
		for a, v := range row {
			addScaled(out[a*p:a*p+p], row, v)
		}
	}
	return out
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

// whiten makes R of a look and its factor: each reading's own error, and those of the level, the load and the screen, which
// act on several readings at once.
func (w *work) whiten(l *look, r *ready, s slopes) {
	m := len(r.chans)
	r.l = make([]float64, m*m)
	loadSD := 0.0
	if l.loadKW != nil {
		loadSD = math.Hypot(l.loadSD, loadDrift**l.loadKW+loadDriftKW)
	}
	foul := make([]float64, m)
	for i, c := range r.chans {
		for j := range s.air {
			foul[i] += s.air[j][i] // through the screen all penstocks lose
		}
		if c.kind == kScreen {
			foul[i] += 1e3
		}
	}
	for i, c := range r.chans {
		for k := range i + 1 {
			r.l[i*m+k] = l.levelSD*l.levelSD*s.level[i]*s.level[k] + loadSD*loadSD*s.load[i]*s.load[k] + l.foulM*l.foulM*foul[i]*foul[k]
			r.l[k*m+i] = r.l[i*m+k]
		}
		r.l[i*m+i] += c.sd * c.sd
	}
	r.logDt = cholesky(r.l, m)
}

// contribute works out a part from predictions f, and from the slope c of the size's grid (nil for none).
func (r *ready) contribute(f, c []float64, p int, out *part) {
	m := len(r.chans)
	out.n, out.logDet, out.rr, out.cc, out.cr = m, r.logDt, 0, 0, 0
	if m == 0 {
		return
	}
	var buf [2][32]float64
	res, slope := room(buf[0][:], m), room(buf[1][:], m)
	for i := range r.chans {
		res[i] = r.chans[i].y - f[i]
	}
	forward(r.l, m, res)
	if c != nil {
		copy(slope, c)
		forward(r.l, m, slope)
	}
	for i := range m {
		out.rr += res[i] * res[i]
		row := r.j[i*p : i*p+p]
		addScaled(out.jr, row, res[i])
		if c != nil {
			out.cc += slope[i] * slope[i]
			out.cr += slope[i] * res[i]
			addScaled(out.jc, row, slope[i])
		}
	}
}

func room(buf []float64, m int) []float64 {
	if m <= len(buf) {
		return buf[:m]
	}
	return make([]float64, m)
}

func addScaled(to, from []float64, by float64) {
	if by == 0 {
		return
	}
	for i, v := range from {
		to[i] += by * v
	}
}
