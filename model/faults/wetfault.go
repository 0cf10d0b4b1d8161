package faults

import (
	"math"

	"example.org/headpond/model/quantity"
)

// predictions solves the model for every look and size of a variant, once.
func (w *work) predictions(v *variant) {
	w.pred = nil
	if v.change == nil {
		return
	}
	w.pred = make([][][]float64, len(v.sizes))
	for j, x := range v.sizes {
		ch := v.change(x)
		w.pred[j] = make([][]float64, len(w.win.looks))
		for i := v.first; i < len(w.win.looks); i++ {
			r := &w.wet.ready[i]
			f := make([]float64, len(r.chans))
			if len(f) == 0 || !w.predict(&w.win.looks[i], r.chans, &ch, f) {
				copy(f, r.f)
			}
			w.pred[j][i] = f
		}
	}
}

// wetParts are the parts of water and power under a variant at its size j.
func (w *work) wetParts(v *variant, j int) []part {
	p := len(w.wet.sd)
	out := make([]part, len(w.win.looks))
	last := w.win.looks[len(w.win.looks)-1].days
	for i := range w.win.looks {
		r := &w.wet.ready[i]
		out[i] = part{jr: make([]float64, p), jj: r.base.jj, jc: make([]float64, p)}
		if i < v.first {
			continue
		}
		if v.hunt > 0 {
			out[i] = w.withoutDump(r)
			continue
		}
		x := float64(j)
		if v.grow > 0 {
			x -= v.grow * (last - w.win.looks[i].days) / stepOf(v)
		}
		f, c := w.between(r, i, x, v)
		r.contribute(f, c, p, &out[i])
		if v.stray > 0 {
			r.stray(f, c, v.stray, p, &out[i])
		}
	}
	return out
}

// between interpolates the predictions of a look at the size of a fractional index, and their slope by a step. Below the
// smallest size the fault dies away as the size itself does.
func (w *work) between(r *ready, i int, x float64, v *variant) (f, c []float64) {
	m := len(r.chans)
	f = make([]float64, m)
	n := len(v.sizes)
	if !v.sized || n < 2 {
		copy(f, w.pred[int(x)][i])
		return f, nil
	}
	c = make([]float64, m)
	if x < 0 {
		share := math.Exp(x * stepOf(v))
		for q := range m {
			d := (w.pred[0][i][q] - r.f[q]) * share
			f[q], c[q] = r.f[q]+d, d*stepOf(v)
		}
		return f, c
	}
	j := min(int(x), n-1)
	lo, hi := max(0, j-1), min(n-1, j+1)
	for q := range m {
		c[q] = (w.pred[hi][i][q] - w.pred[lo][i][q]) / float64(hi-lo)
		f[q] = w.pred[j][i][q]
		if frac := x - float64(j); frac > 0 && j+1 < n {
			f[q] += frac * (w.pred[j+1][i][q] - f[q])
		}
	}
	return f, c
}

// withoutDump is a look's part without its readings of the dumped power, which a controller that is stuck makes meaningless.
func (w *work) withoutDump(r *ready) part {
	return w.reduced(r, func(i int) bool {
		k := r.chans[i].kind
		return k != kDump && k != kShare && k != kDuty
	})
}

// reduced is the sound part of some of a look's readings.
func (w *work) reduced(r *ready, keep func(i int) bool) part {
	p, all := len(w.wet.sd), len(r.chans)
	kept := ready{}
	var at []int
	for i, c := range r.chans {
		if keep(i) {
			kept.chans, kept.f, at = append(kept.chans, c), append(kept.f, r.f[i]), append(at, i)
		}
	}
	m := len(at)
	kept.l, kept.j = make([]float64, m*m), make([]float64, m*p)
	for a := range at {
		for b := range at {
			for k := range min(at[a], at[b]) + 1 {
				kept.l[a*m+b] += r.l[at[a]*all+k] * r.l[at[b]*all+k]
			}
		}
		copy(kept.j[a*p:], r.jRaw[at[a]*p:at[a]*p+p])
	}
	kept.logDt = cholesky(kept.l, m)
	kept.whitenJ(p)
	out := part{jr: make([]float64, p), jc: make([]float64, p)}
	kept.contribute(kept.f, nil, p, &out)
	out.jj = kept.squares(p)
	return out
}

// How a stuck share is spread before it is read, %. It hunts by a per cent where the meter shows what the controller wants,
// and by more where it shows what the wandering voltage and speed make of it.
const stuckMean, stuckSpread = 50.0, 35.0

// stuckSystem is the dump share of a controller that does not divert: one unknown value, read again and again.
func (w *work) stuckSystem(hunt float64) system {
	k := quantity.Key(quantity.DumpSharePct)
	kKW := quantity.Key(quantity.DumpKW)
	s := system{sd: []float64{stuckSpread}, base: make([]part, len(w.win.looks)), fault: make([]part, len(w.win.looks))}
	for i := range w.win.looks {
		s.base[i], s.fault[i] = slot{}.part(0, 0), slot{}.part(0, 0)
		for _, c := range w.wet.ready[i].chans {
			switch {
			case c.key == k:
				s.fault[i] = slot{ok: true, y: c.y, f: stuckMean, sd: math.Hypot(w.sd(k), hunt)}.part(0, 0)
			case c.key == kKW && w.commonKW[i] > 0:
				pct := 100 / w.commonKW[i]
				p := slot{ok: true, y: c.y * pct, f: stuckMean, sd: math.Hypot(w.sd(kKW)*pct, hunt)}.part(0, 0)
				p.logDet -= 2 * math.Log(pct) // a density by kW
				if s.fault[i].n == 0 {
					s.fault[i] = p
				}
			}
		}
	}
	return s
}

// besides is what the pond's level says of its gauge by itself: a gauge that was knocked makes the readings jump, which a pond
// does not do.
func (w *work) besides(v *variant, j, k int) float64 {
	if v.fault != LevelGauge || k == 0 || !w.jumps[k].ok {
		return 0
	}
	s := w.jumps[k]
	return longTail((s.y-s.f-v.change(v.sizes[j]).levelM)/s.sd) - longTail((s.y-s.f)/s.sd)
}

// longTail is the log-density of Student's t with 3 degrees of freedom, but for a constant: rain makes a pond jump too.
func longTail(z float64) float64 { return -2 * math.Log(1+z*z/3) }

// leastJumpM is how far a pond's level may change between two rounds without a word, m.
const leastJumpM = 0.01

// levelJumps compares each change of the level with the usual one.
func (w *work) levelJumps() {
	k := quantity.Key(quantity.PondLevelM)
	w.jumps = make([]slot, len(w.win.looks))
	var rates []float64
	for i := 1; i < len(w.win.looks); i++ {
		now, ok := w.levelOf(w.win.looks[i].round)
		before, had := w.levelOf(w.win.looks[i-1].round)
		days := w.win.looks[i].days - w.win.looks[i-1].days
		if !ok || !had || !(days > 0) || days > 2 {
			continue
		}
		w.jumps[i] = slot{ok: true, y: now - before, sd: days}
		rates = append(rates, (now-before)/days)
	}
	mid, spread := middle(rates)
	for i := range w.jumps {
		if s := &w.jumps[i]; s.ok {
			days := s.sd
			s.f, s.sd = mid*days, math.Hypot(math.Max(leastJumpM, spread*days), math.Sqrt2*w.sd(k))
		}
	}
}
