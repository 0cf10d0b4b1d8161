package clearing

import (
	"cmp"
	"math"
	"slices"
	"time"

	"example.org/headpond/model/quantity"
)

// How far a gauge and the model may differ with a clean screen, one standard deviation over the pressure, before clearings
// tell: all sets alike, and each set by itself. The first is half of the 3 % from which the contract calls a pressure near.
const (
	offsetPrior = 0.015
	offsetBySet = 0.005
)

// offsetMemory is how long a clearing tells of the gauge.
const offsetMemory = 180 * 24 * time.Hour

// offsets are what the gauges showed above the model just after clearings, kPa.
type offsets struct {
	seen map[gauge][]reference
}

type reference struct{ kPa, sdKPa float64 }

// references gathers the pressures after clearings. On a cleared round the intake pressure itself is read after the screen, as
// the walk goes, and serves where no pressure after the clearing was written.
func (w *work) references() offsets {
	o := offsets{seen: map[gauge][]reference{}}
	for i := range w.h.Rounds {
		r := &w.h.Rounds[i]
		if w.h.At.Sub(r.Time) > offsetMemory || !Cleared(*r) {
			continue
		}
		st, ok := w.in.State(*r)
		if !ok || len(st.Case.Running) == 0 || !st.Model.HasScreen() {
			continue
		}
		k := quantity.Key(quantity.PressureAfter)
		v, read := r.Value(k)
		if !read {
			k, v, read = pressureOf(r, st)
		}
		sdLevel, levelOK := w.levelError(i)
		at := w.gaugeAt(st, k.Unit())
		if read && levelOK && at.ok {
			g := gaugeOf(k, st)
			o.seen[g] = append(o.seen[g], reference{v - at.cleanKPa, math.Hypot(st.Model.Plant().ReadingError(k), at.rhoG*sdLevel)})
		}
	}
	return o
}

// of is the offset of a gauge with its running units, at about a pressure: what the clearings with the same units tell, and
// where there are few, what those with other units tell, and last that gauges and descriptions are usually good to 1.5 %.
func (o offsets) of(g gauge, aboutKPa float64) Offset {
	bySet := square(offsetBySet * aboutKPa)
	mean, variance := 0.0, square(offsetPrior*aboutKPa)
	for _, other := range o.others(g) {
		m, v := robustMean(o.seen[other])
		mean, variance = combine(mean, variance, m, v+bySet)
	}
	own := o.seen[g]
	variance += bySet
	if len(own) > 0 {
		m, v := robustMean(own)
		mean, variance = combine(mean, variance, m, v)
	}
	return Offset{KPa: mean, ErrKPa: math.Sqrt(variance), Clearings: len(own)}
}

// others lists the same gauge with other units running, always in one order: sums in another would differ in their last digit.
func (o offsets) others(g gauge) []gauge {
	var list []gauge
	for other := range o.seen {
		if other.key == g.key && other.model == g.model && other.running != g.running {
			list = append(list, other)
		}
	}
	slices.SortFunc(list, func(a, b gauge) int { return cmp.Compare(a.running, b.running) })
	return list
}

// combine is the mean and variance of two independent estimates, each weighted by its variance.
func combine(m1, v1, m2, v2 float64) (mean, variance float64) {
	return (m1*v2 + m2*v1) / (v1 + v2), v1 * v2 / (v1 + v2)
}

// robustMean is the mean of references with errors, and its variance. Weights fall for those far off as in Student's t with
// four degrees of freedom, so that one slip among several moves it little; where they scatter more than their errors the
// variance is raised.
func robustMean(list []reference) (mean, variance float64) {
	weights := make([]float64, len(list))
	for i := range weights {
		weights[i] = 1 / square(list[i].sdKPa)
	}
	mean = list[0].kPa
	for range 20 {
		total, moment := 0.0, 0.0
		for i, r := range list {
			total += weights[i]
			moment += weights[i] * r.kPa
		}
		mean, variance = moment/total, 1/total
		for i, r := range list {
			weights[i] = (tails + 1) / (tails + square((r.kPa-mean)/r.sdKPa)) / square(r.sdKPa)
		}
	}
	chi := 0.0
	for i, r := range list {
		chi += weights[i] * square(r.kPa-mean)
	}
	if n := len(list); n > 1 {
		variance *= max(1, chi/float64(n-1))
	}
	return mean, variance
}

// tails is the degrees of freedom of Student's t, by which readings are weighed: few, so that its tails are long.
const tails = 4

func square(x float64) float64 { return x * x }
