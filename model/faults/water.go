package faults

import "math"

// What name plates and gauges do not tell, one standard deviation (our own; doc.go).
const (
	usualEfficiency = 0.04
	usualFlow       = 0.04
	usualLoss       = 0.12
	usualLevelM     = 0.01
	usualLoadScale  = 0.015
	usualHeaters    = 0.03
	usualFlowMeter  = 0.03
	usualSpeed      = 0.4   // of the power, by a change of the speed of 1: how it changes with the speed
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

// Layout of ν: two for each unit, one for each penstock, one for each pressure gauge, and five of the plant.
func (w *work) layOut() {
	w.gauges = nil
	units, stocks := len(w.plant.Units), len(w.plant.Penstocks)
	for range units {
		w.wet.sd = append(w.wet.sd, usualEfficiency, usualFlow)
	}
	for range stocks {
		w.wet.sd = append(w.wet.sd, usualLoss)
	}
	w.wet.sd = append(w.wet.sd, usualLevelM, usualLoadScale, usualHeaters, usualFlowMeter, usualSpeed)
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

// stray widens a look's errors, in a part that contribute has worked out from f and c, by a fault's own irregularity: R becomes
// R + d dᵀ with d = share (f − healthy). By Sherman and Morrison each quadratic form u R⁻¹ v loses (u R⁻¹ d)(v R⁻¹ d) / (1 + d R⁻¹ d),
// and log |R| gains log(1 + d R⁻¹ d).
func (r *ready) stray(f, c []float64, share float64, p int, out *part) {
	m := len(r.chans)
	if m == 0 {
		return
	}
	var buf [3][32]float64
	d, res, slope := room(buf[0][:], m), room(buf[1][:], m), room(buf[2][:], m)
	for i := range r.chans {
		d[i], res[i] = share*(f[i]-r.f[i]), r.chans[i].y-f[i]
	}
	forward(r.l, m, d)
	forward(r.l, m, res)
	if c != nil {
		copy(slope, c)
		forward(r.l, m, slope)
	}
	dd, dr, dc := 1.0, 0.0, 0.0
	dj := make([]float64, p)
	for i := range m {
		dd += d[i] * d[i]
		dr += d[i] * res[i]
		dc += d[i] * slope[i]
		addScaled(dj, r.j[i*p:i*p+p], d[i])
	}
	out.logDet += math.Log(dd)
	out.rr -= dr * dr / dd
	out.cc -= dc * dc / dd
	out.cr -= dc * dr / dd
	addScaled(out.jr, dj, -dr/dd)
	addScaled(out.jc, dj, -dc/dd)
	out.jj = append([]float64(nil), out.jj...)
	for a, v := range dj {
		addScaled(out.jj[a*p:a*p+p], dj, -v/dd)
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
