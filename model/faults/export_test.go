package faults

import (
	"context"
	"math"

	"example.org/headpond/model/record"
)

// Reach returns for each fault the best log-likelihood that it reaches on a history, whatever its prior: how far apart two
// faults are is told by their readings without noise.
func Reach(h *record.History) (map[Fault]float64, error) {
	w, err := newWork(h)
	if err != nil {
		return nil, err
	}
	w.noFault()
	none := w.soundL0
	out := map[Fault]float64{None: none}
	holds := w.conditions()
	for _, id := range IDs() {
		if id.Condition() {
			out[id] = none + math.Log(holds[id])
		}
	}
	out[None] = none + math.Log(holds[None])
	vs := w.variants()
	for i := range vs {
		o, err := w.evaluate(context.Background(), &vs[i])
		if err != nil {
			return nil, err
		}
		best := math.Inf(-1)
		for _, row := range o.logL {
			for k := o.v.first; k < len(row); k++ {
				best = math.Max(best, row[k])
			}
		}
		if old, ok := out[o.v.fault]; !ok || best > old {
			out[o.v.fault] = best
		}
	}
	return out, nil
}

// Prior is a fault's prior; a condition's is that of none.
func Prior(f Fault) float64 {
	if f.Condition() {
		f = None
	}
	return rowOf(f).prior
}
