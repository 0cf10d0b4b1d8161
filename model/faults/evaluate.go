package faults

import (
	"context"
	"math"
)

// outcome is what the readings say of one variant.
type outcome struct {
	v       *variant
	logP    float64     // log of its part of the posterior, not yet normalised, where the readings tell it from none
	hidden  float64     // the same where the readings tell it no better than none, as which it then counts
	gain    float64     // by how much its best explains the readings better than a sound plant does, as a log-likelihood
	logL    [][]float64 // by size and beginning
	size, k int         // the best size's index and beginning
	chi2    float64     // at the best
	shift   float64     // of the best size within its cell, in steps
	nu      []float64   // of water and power, at the best
	lineNu  map[*line]float64
}

// tellsFrom is by how much a fault's size and beginning must explain the readings better than a sound plant does, as a
// log-likelihood, to be told from none: a fault that changes nothing that was read is below the detection limit, and counts as
// none (our own choice; at this value the probabilities come true in the simulator).
const tellsFrom = 2.0

// sweep adds, for each beginning k from first on, the log-likelihood of a system that is sound before the look k and faulty
// from it on.
func sweep(sd []float64, base, fault []part, first int, into []float64, work *scratch) {
	t := newTotal(len(sd))
	for i := range base[:first] {
		t.add(&base[i], 1)
	}
	for i := first; i < len(fault); i++ {
		t.add(&fault[i], 1)
	}
	for k := first; k < len(fault); k++ {
		into[k] += t.solve(sd, work).logL
		t.add(&fault[k], -1)
		t.add(&base[k], 1)
	}
}

// at is the fit for one beginning.
func at(sd []float64, base, fault []part, k int) fit {
	t := newTotal(len(sd))
	for i := range base {
		if i < k {
			t.add(&base[i], 1)
		} else {
			t.add(&fault[i], 1)
		}
	}
	return t.solve(sd, &scratch{wantNu: true})
}

// system is one of the systems under one variant and size.
type system struct {
	sd          []float64
	base, fault []part // fault is nil where the variant changes nothing in it
	ln          *line  // nil for water and power
}

// systems lists the systems of the plant under a variant at its size j.
func (w *work) systems(v *variant, j int) []system {
	x := v.sizes[j]
	wet := system{sd: w.wet.sd, base: w.wetBase}
	volt := system{sd: []float64{w.volt.nu}, base: w.voltBase, ln: &w.volt}
	hertz := system{sd: []float64{w.hertz.nu}, base: w.hertzSound, ln: &w.hertz}
	if v.change != nil {
		wet.fault = w.wetParts(v, j)
	}
	if v.volt != nil {
		wet.fault = nil
		volt.fault = deltas(&w.volt, w.voltBase, v, j, v.volt)
	}
	switch {
	case v.hertz != nil:
		hertz.fault = w.heldParts(deltas(&w.hertz, nil, v, j, v.hertz))
	case v.wander:
		hertz.fault = w.heldParts(w.wandering(x))
	case v.deadKW > 0:
		hertz.fault, _ = w.deadHertz(v.deadKW)
	}
	if hertz.fault != nil {
		hertz.base = w.hertzBase
	}
	out := []system{wet, volt, hertz}
	if v.hunt > 0 {
		out = append(out, w.stuckSystem(v.hunt))
	}
	for i := range w.bearings {
		s := system{sd: []float64{w.bearings[i].nu}, base: w.bearingBase[i], ln: &w.bearings[i]}
		if v.rise == i+1 {
			s.fault = deltas(&w.bearings[i], nil, v, j, func(x float64) float64 { return x })
		}
		out = append(out, s)
	}
	return out
}

// deltas are a line's parts with the fault's change added. keep holds parts that stay as they are, such as a sagging voltage
// in an overload.
func deltas(ln *line, keep []part, v *variant, j int, f func(float64) float64) []part {
	x := v.sizes[j]
	slope := 0.0
	if v.sized && len(v.sizes) > 1 {
		slope = f(x) * stepOf(v)
	}
	out := make([]part, len(ln.slots))
	for i, s := range ln.slots {
		if keep != nil && keep[i].extra != 0 {
			out[i] = keep[i]
			continue
		}
		out[i] = s.part(f(x), slope)
	}
	return out
}

// stepOf is the step of the sizes' grid in the logarithm.
func stepOf(v *variant) float64 { return math.Log(v.sizes[1] / v.sizes[0]) }

// heldParts adds that the frequency was the controller's to hold: that the ballast was neither full nor empty.
func (w *work) heldParts(parts []part) []part {
	for i := range parts {
		if w.hertz.slots[i].ok && !w.induction {
			parts[i].extra = w.heldL[i]
		}
	}
	return parts
}

// wandering are the frequency's parts when nothing holds it: it spreads by x.
func (w *work) wandering(x float64) []part {
	out := make([]part, len(w.hertz.slots))
	for i, s := range w.hertz.slots {
		s.sd = math.Hypot(s.sd, x)
		out[i] = s.part(0, 0)
	}
	return out
}

// evaluate weighs one variant.
func (w *work) evaluate(ctx context.Context, v *variant) (*outcome, error) {
	n := len(w.win.looks)
	o := &outcome{v: v, logP: math.Inf(-1), hidden: math.Inf(-1), gain: math.Inf(-1)}
	if v.first >= n {
		o.size = -1
		return o, nil
	}
	w.predictions(v)
	begin := w.beginnings(v)
	var shown, hidden []float64
	best := math.Inf(-1)
	for j := range v.sizes {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		ll := make([]float64, n)
		for _, s := range w.systems(v, j) {
			if s.fault == nil {
				addConst(ll, w.soundL(s))
				continue
			}
			sweep(s.sd, s.base, s.fault, v.first, ll, &w.scratch)
		}
		for k := v.first; k < n; k++ {
			if v.words != nil {
				ll[k] += v.words(v.sizes[j])
			}
			ll[k] += w.besides(v, j, k)
			p := ll[k] + begin[k]
			o.gain = math.Max(o.gain, p-w.soundL0)
			if ll[k] > w.soundL0+tellsFrom {
				shown = append(shown, p)
			} else {
				hidden = append(hidden, p)
			}
			if p > best {
				best, o.size, o.k = p, j, k
			}
		}
		o.logL = append(o.logL, ll)
	}
	prior := math.Log(v.weight*rowOf(v.fault).prior) - math.Log(float64(len(v.sizes)))
	o.logP, o.hidden = logSum(shown)+prior, logSum(hidden)+prior
	w.finish(o)
	return o, nil
}

func addConst(to []float64, v float64) {
	for i := range to {
		to[i] += v
	}
}

// soundL is a system's log-likelihood without a fault, worked out once.
func (w *work) soundL(s system) float64 {
	if s.ln == nil {
		return w.soundWet
	}
	return w.soundLine[s.ln]
}

// beginnings is the log-prior of each beginning: half of it that the fault is older than the rounds used, less where those go
// far back, and evenly for the rest. A screen that fills steadily began at its clearing.
func (w *work) beginnings(v *variant) []float64 {
	n := len(w.win.looks)
	out := make([]float64, n)
	older := 0.6 * math.Exp(-w.win.looks[n-1].days/12)
	for k := range out {
		switch {
		case k < v.first, v.grow > 0 && k > v.first:
			out[k] = math.Inf(-1)
		case v.grow > 0, n-v.first == 1:
			out[k] = 0
		case v.first > 0:
			out[k] = -math.Log(float64(n - v.first))
		case k == 0:
			out[k] = math.Log(older)
		default:
			out[k] = math.Log((1 - older) / float64(n-1))
		}
	}
	return out
}

// finish works out the best fit's numbers.
func (w *work) finish(o *outcome) {
	o.lineNu = map[*line]float64{}
	for _, s := range w.systems(o.v, o.size) {
		fault := s.fault
		if fault == nil {
			fault = s.base
		}
		f := at(s.sd, s.base, fault, o.k)
		o.chi2 += f.chi2
		o.shift += f.shift
		if s.ln == nil && len(s.sd) == len(w.wet.sd) {
			o.nu = f.nu
		} else if s.ln != nil {
			o.lineNu[s.ln] = f.nu[0]
		}
	}
	o.shift = math.Max(-1, math.Min(1, o.shift))
}

// best is the best size, between the grid's own.
func (o *outcome) best() float64 {
	v := o.v
	if !v.sized || len(v.sizes) < 2 {
		return v.sizes[o.size]
	}
	return v.sizes[o.size] * math.Exp(o.shift*stepOf(v))
}
