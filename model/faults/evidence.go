package faults

import (
	"math"
	"time"
)

// describe fills in a cause's misfit and evidence from its best outcome.
func (w *work) describe(c *Cause, o *outcome) {
	if n := w.readings(); n > 0 {
		c.Misfit = math.Max(0, o.chi2) / float64(n)
	}
	from, most := o.k, len(w.win.looks)
	switch {
	case o.v.fault == None:
		from, most = 0, evidenceRounds
	case o.v.grow > 0:
		most = grownRounds
	}
	c.Evidence = append(c.Evidence, w.wetEvidence(o, from, most)...)
	for _, ln := range w.lines() {
		if e, ok := w.lineEvidence(o, ln, from, most); ok {
			c.Evidence = append(c.Evidence, e)
		}
	}
	if o.v.fault == None {
		asSound(c.Evidence)
	}
}

// evidenceRounds is over how many of the last rounds a sound plant's evidence is averaged.
const evidenceRounds = 14

// grownRounds is over how many of the last rounds the evidence of what grows is averaged: before, it was less. A quantity that was not
// read on them tells by the rounds on which it was: the probability rests on those all the same.
const grownRounds = 3

// mean gathers one row of evidence.
type mean struct {
	name                 string
	n                    int
	read, healthy, fault float64
	last                 float64   // the newest reading of them
	at                   time.Time // when that was
	inverse              float64   // Σ 1/sd²
	usual                float64   // greatest spread of ν's part
}

func (m *mean) row() Evidence {
	n := float64(m.n)
	e := Evidence{Quantity: m.name, Read: m.read / n, ExpectedHealthy: m.healthy / n, ExpectedFault: m.fault / n, Readings: m.n, Last: m.last, LastTime: m.at}
	e.ErrRead = math.Hypot(1/math.Sqrt(m.inverse), m.usual)
	e.Explains = math.Abs(e.Read-e.ExpectedFault) <= 2*e.ErrRead
	e.Speaks = math.Abs(e.ExpectedFault-e.ExpectedHealthy) > e.ErrRead
	return e
}

// since is the look from which on the readings of a quantity are averaged that was read on a look and on none after it: the last so
// many looks, or as many that end with that one where it was not read of late; none from before a look.
func (w *work) since(newest, from, most int) int {
	if last := len(w.win.looks); newest >= last-most {
		newest = last - 1
	}
	return max(from, newest-most+1)
}

// newest is that look for each quantity of water and power, and the earliest of them.
func (w *work) newest(from, most int) (begin map[string]int, first int) {
	begin, first = map[string]int{}, len(w.win.looks)
	for i := len(w.win.looks) - 1; i >= from; i-- {
		for _, c := range w.wet.ready[i].chans {
			name := c.column()
			if _, found := begin[name]; !found {
				begin[name] = w.since(i, from, most)
				first = min(first, begin[name])
			}
		}
	}
	return begin, first
}

// wetEvidence averages the newest readings of water and power, of so many looks at most and none from before one.
func (w *work) wetEvidence(o *outcome, from, most int) []Evidence {
	var rows []*mean
	p := len(w.wet.sd)
	begin, first := w.newest(from, most)
	for i := first; i < len(w.win.looks); i++ {
		r := &w.wet.ready[i]
		ch := w.changeAt(o, i)
		f := make([]float64, len(r.chans))
		if !w.predict(&w.win.looks[i], r.chans, &ch, f) {
			continue
		}
		for q, c := range r.chans {
			if ch.stuck && (c.kind == kDump || c.kind == kShare || c.kind == kDuty) {
				f[q] = c.y // what it stands at is not the model's to say
			}
			if i < begin[c.column()] {
				continue
			}
			usual := 0.0
			for a, nu := range o.nu {
				usual += r.jRaw[q*p+a] * nu
			}
			m := rowFor(&rows, c.column())
			m.n++
			m.last, m.at = c.y, w.win.looks[i].round.Time
			m.read, m.healthy, m.fault = m.read+c.y, m.healthy+r.f[q]+usual, m.fault+f[q]+usual
			own := 0.0
			for k := range q + 1 {
				own += r.l[q*len(r.chans)+k] * r.l[q*len(r.chans)+k]
			}
			strays := o.v.stray * (f[q] - r.f[q])
			own += strays * strays
			m.inverse += 1 / own
		}
	}
	var out []Evidence
	for _, m := range rows {
		out = append(out, m.row())
	}
	return out
}

// changeAt is what an outcome changes on a look: what grows was less before.
func (w *work) changeAt(o *outcome, i int) change {
	if o.v.change == nil {
		return change{}
	}
	last := w.win.looks[len(w.win.looks)-1].days
	return o.v.change(o.best() * math.Exp(-o.v.grow*(last-w.win.looks[i].days)))
}

func rowFor(rows *[]*mean, name string) *mean {
	for _, m := range *rows {
		if m.name == name {
			return m
		}
	}
	m := &mean{name: name}
	*rows = append(*rows, m)
	return m
}

// lineEvidence averages a line's newest readings, of so many looks at most and none from before one.
func (w *work) lineEvidence(o *outcome, ln *line, from, most int) (Evidence, bool) {
	m := mean{name: string(ln.key)}
	x := 0.0
	if len(o.v.sizes) > 0 {
		x = o.best()
	}
	for i := len(ln.slots) - 1; i >= from; i-- {
		s := ln.slots[i]
		if !s.ok {
			continue
		}
		if m.n++; m.n == 1 {
			from = w.since(i, from, most)
			m.last, m.at = s.y, w.win.looks[i].round.Time
		}
		m.read += s.y
		m.healthy += s.f + o.lineNu[ln]
		m.fault += s.f + o.lineNu[ln] + w.added(o.v, ln, x, i)
		m.inverse += 1 / (s.sd * s.sd)
	}
	if m.n == 0 {
		return Evidence{}, false
	}
	return m.row(), true
}

// added is what a variant of size x adds to a line's reading on a look.
func (w *work) added(v *variant, ln *line, x float64, i int) float64 {
	s := ln.slots[i]
	switch {
	case v.volt != nil && ln == &w.volt:
		return v.volt(x)
	case v.hertz != nil && ln == &w.hertz:
		return v.hertz(x)
	case v.wander && ln == &w.hertz:
		return s.y - s.f // whatever it is
	case v.rise > 0 && ln == &w.bearings[v.rise-1]:
		return x
	case ln == &w.hertz && v.deadKW > 0:
		if _, kinds := w.deadHertz(v.deadKW); kinds[i] != held {
			return s.y - s.f
		}
	case ln == &w.hertz && w.kinds[i] != held, ln == &w.volt && w.kinds[i] == over:
		return s.y - s.f // a full ballast or an overload lets it go
	}
	return 0
}

// seenAt is by how much a fault's log-likelihood must exceed a sound plant's, the priors taken in, for it to be told from one.
const seenAt = 3.0

// wouldShow reports whether a size of a fault would show in as many readings as there are, if the fault had been there on all rounds
// that it can have been.
func (w *work) wouldShow(v *variant, j int) bool {
	gain := 0.0
	for _, s := range w.systems(v, j) {
		if s.fault != nil {
			gain += w.separation(s, v, j)
		}
	}
	return gain/2 > seenAt+math.Log(rowOf(None).prior/rowOf(v.fault).prior)
}

// leastSeen is the least size of the grid that would show; nil where none would, or where it is no matter of size.
func (w *work) leastSeen(v *variant) *Size {
	if !v.sized {
		return nil
	}
	w.predictions(v)
	for j, x := range v.sizes {
		if w.wouldShow(v, j) {
			size := v.size(x)
			return &size
		}
	}
	return nil
}

// separation is (f' − f)ᵀ S⁻¹ (f' − f), how far apart a system's readings of a faulty and a sound plant are, squared and in errors.
func (w *work) separation(s system, v *variant, j int) float64 {
	t := newTotal(len(s.sd))
	for i := v.first; i < len(w.win.looks); i++ {
		var d part
		if s.ln != nil {
			sl := s.ln.slots[i]
			sl.y, sl.f = w.added(v, s.ln, v.sizes[j], i), 0
			d = sl.part(0, 0)
		} else {
			r := w.wet.ready[i]
			d = part{jr: make([]float64, len(s.sd)), jj: r.base.jj}
			f, _ := w.between(&r, i, float64(j), v)
			r.chans = append([]channel(nil), r.chans...)
			for q := range r.chans {
				r.chans[q].y = f[q]
			}
			r.contribute(r.f, nil, len(s.sd), &d)
		}
		t.add(&d, 1)
	}
	return t.solve(s.sd, &w.scratch).chi2
}
