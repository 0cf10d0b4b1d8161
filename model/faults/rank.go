package faults

import (
	"math"
	"slices"

	"example.org/headpond/model/electrical"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/tolerance"
)

// facts turns the outcomes into the report.
func (w *work) facts(none *outcome, outcomes []*outcome) *Facts {
	at := w.h.At
	f := &Facts{At: at, ReadingsUsed: w.readings(), Rounds: len(w.win.looks), Ranked: []Cause{}, Beside: []Beside{}, Cautions: []string{}}
	if n := len(w.win.looks); n > 0 {
		from, to := w.win.looks[0].round.Time, w.win.looks[n-1].round.Time
		f.From, f.To = &from, &to
	}
	byFault := map[Fault][]*outcome{None: {none}}
	below := []float64{none.logP}
	for _, o := range outcomes {
		below = append(below, o.hidden)
		byFault[o.v.fault] = append(byFault[o.v.fault], o)
	}
	none.logP = logSum(below)
	w.bearingBand(byFault)
	logP := map[Fault]float64{}
	var all []float64
	for fault, list := range byFault {
		var ps []float64
		for _, o := range list {
			ps = append(ps, o.logP)
		}
		logP[fault] = logSum(ps)
	}
	for _, id := range IDs() {
		if p, ok := logP[id]; ok {
			all = append(all, p)
		}
	}
	sum := logSum(all)
	holds := w.conditions()
	for _, id := range IDs() {
		f.Ranked = append(f.Ranked, w.cause(id, byFault, logP, sum, holds, none))
	}
	doubt(f.Ranked)
	slices.SortStableFunc(f.Ranked, func(a, b Cause) int {
		switch {
		case a.Probability > b.Probability:
			return -1
		case a.Probability < b.Probability:
			return 1
		}
		return 0
	})
	w.beside(f, outcomes)
	w.tellApart(f)
	w.verdict(f)
	f.Cautions = append(f.Cautions, w.cautions()...)
	return f
}

// doubted is the probability that all this is beside the point, because the plant or its errors are otherwise than described in
// a way that was not thought of: no readings make a cause certain.
const doubted = 0.01

// doubt gives that probability back to all causes as they were before any reading. It also makes the probabilities sum to 1:
// where every cause fits very badly, logarithms of millions have lost the last digits.
func doubt(list []Cause) {
	total, sum := 0.0, 0.0
	for _, c := range list {
		total += rowOf(c.Fault).prior
		sum += c.Probability
	}
	for i := range list {
		c := &list[i]
		c.Probability = (1-doubted)*c.Probability/sum + doubted*rowOf(c.Fault).prior/total
	}
}

// worthRange is the probability from which on the range of a size is worked out.
const worthRange = 0.01

// cause is one fault's row.
func (w *work) cause(id Fault, byFault map[Fault][]*outcome, logP map[Fault]float64, sum float64, holds map[Fault]float64, none *outcome) Cause {
	r := rowOf(id)
	c := Cause{Fault: id, FirstStep: r.firstStep, Caution: r.caution, Evidence: []Evidence{}, TellApart: []Apart{}}
	if id == None || id.Condition() {
		c.Probability = math.Exp(logP[None]-sum) * holds[id]
		c.Size = w.conditionSize(id)
		w.describe(&c, none)
		return c
	}
	var best *outcome
	for _, o := range byFault[id] {
		if best == nil || logSum([]float64{o.logP, o.hidden}) > logSum([]float64{best.logP, best.hidden}) {
			best = o
		}
	}
	if best == nil || best.size < 0 {
		w.describe(&c, none) // the plant has no such part, or it was seen to just now: nothing could show it
		return c
	}
	c.Probability = math.Exp(logP[id] - sum)
	c.Size = best.v.size(best.best())
	if c.Probability >= worthRange {
		c.Range = w.sizeRange(best)
	}
	if best.k > 0 && best.v.grow == 0 {
		t := w.win.looks[best.k].round.Time
		c.Since = &t
	}
	w.describe(&c, best)
	c.LeastSeen = w.leastSeen(best.v)
	return c
}

// recentRounds is how many of the last rounds a condition is looked for in.
const recentRounds = 4

// conditions shares the sound plant's probability out among none and the conditions: 1 in all.
func (w *work) conditions() map[Fault]float64 {
	const sure, before, hardly = 0.97, 0.5, 0.005
	n := len(w.win.looks)
	odds := map[Fault]float64{BallastFull: hardly, Overload: hardly}
	for i := range w.win.looks {
		fault := BallastFull
		switch w.kinds[i] {
		case held, misread:
			continue
		case over:
			fault = Overload
		case full:
		}
		p := hardly
		switch {
		case i >= n-recentRounds:
			p = sure
		case w.win.looks[n-1].days-w.win.looks[i].days <= 7:
			p = before
		}
		odds[fault] = math.Max(odds[fault], p)
	}
	odds[PondLow] = math.Min(0.97, math.Max(hardly/2, w.pondLow()))
	none := 1.0
	total := 0.0
	for _, id := range []Fault{BallastFull, Overload, PondLow} {
		none *= 1 - odds[id]
	}
	total = none
	for _, id := range []Fault{BallastFull, Overload, PondLow} {
		odds[id] = odds[id] / (1 - odds[id]) * none
		total += odds[id]
	}
	odds[None] = none
	for id := range odds {
		odds[id] /= total
	}
	return odds
}

// lowLimit is the level below which the pond is called low: the stop level, the permit's, or the lower limit of the plant's
// own band, whichever is highest.
func (w *work) lowLimit() (float64, bool) {
	limit, found := math.Inf(-1), false
	take := func(v *float64) {
		if v != nil {
			limit, found = math.Max(limit, *v), true
		}
	}
	if stop, _, ok := w.plant.StopLevel(); ok {
		take(&stop)
	}
	take(w.plant.Pond.PermitLowM)
	if b, ok := tolerance.For(w.plant).For(quantity.Key(quantity.PondLevelM)); ok {
		take(b.NearMin)
	}
	return limit, found
}

// pondLow is the probability that the pond is below that, by the last levels read.
func (w *work) pondLow() float64 {
	limit, ok := w.lowLimit()
	level, read := w.lastLevel()
	if !ok || !read {
		return 0
	}
	return normalCDF((limit + 0.005 - level) / math.Max(0.01, w.sd(quantity.Key(quantity.PondLevelM))))
}

// lastLevel is the last level read, if it is not older than a few days before the last round.
func (w *work) lastLevel() (float64, bool) {
	n := len(w.win.looks)
	for i := n - 1; i >= 0 && w.win.looks[n-1].days-w.win.looks[i].days <= 3; i-- {
		if v, ok := w.levelOf(w.win.looks[i].round); ok {
			return v, true
		}
	}
	return 0, false
}

// conditionSize is the size of a condition by the last round on which it holds, or by the last round where none does.
func (w *work) conditionSize(id Fault) Size {
	switch id {
	case PondLow:
		if v, ok := w.lastLevel(); ok {
			return Size{LevelM: &v}
		}
	case BallastFull:
		for i := len(w.win.looks) - 1; i >= 0; i-- {
			if g, load, ok := w.wanted(i); ok && (w.kinds[i] == full || !w.any(full)) {
				limit, _ := electrical.Limit(w.win.looks[i].busKW, w.plant.Ballast.ControllerKW)
				v := g - load - limit
				return Size{OverKW: &v}
			}
		}
	case Overload:
		for i := len(w.win.looks) - 1; i >= 0; i-- {
			if g, load, ok := w.wanted(i); ok && (w.kinds[i] == over || !w.any(over)) {
				v := load - g
				return Size{ShortKW: &v}
			}
		}
	}
	return Size{}
}

// wanted is what the sets would give at rated speed on a round, and what the consumers would take at rated voltage.
func (w *work) wanted(i int) (generationKW, loadKW float64, ok bool) {
	l := w.win.looks[i]
	if !l.known || l.loadKW == nil || len(l.running) == 0 {
		return 0, 0, false
	}
	load := *l.loadKW
	if l.volts != nil && l.perVolt > 0.1 && !w.regulated {
		load /= l.perVolt
	}
	l.speed = 1
	res := w.solve(&l, &change{})
	if res == nil {
		return 0, 0, false
	}
	return res.CommonKW, load, true
}

func (w *work) any(r regime) bool { return slices.Contains(w.kinds, r) }

// bearingBand weighs against everything but a bearing where the last temperature is beyond the plant's own limit for it: a
// sound bearing hardly ever is.
func (w *work) bearingBand(byFault map[Fault][]*outcome) {
	const hardly = 0.02
	beyond := false
	for i := range w.bearings {
		b, ok := tolerance.For(w.plant).For(w.bearings[i].key)
		if !ok || b.InMax == nil {
			continue
		}
		for q := len(w.bearings[i].slots) - 1; q >= 0; q-- {
			if s := w.bearings[i].slots[q]; s.ok {
				beyond = beyond || s.y > *b.InMax
				break
			}
		}
	}
	if !beyond {
		return
	}
	for fault, list := range byFault {
		for _, o := range list {
			if fault != Bearing {
				o.logP += math.Log(hardly)
			}
		}
	}
}

// realm is the readings that a fault acts on.
type realm uint8

const (
	inWater realm = iota // water and power
	inVolts
	inHertz
	inBearings
)

// realms lists the readings that a fault acts on. A screen says nothing of a bearing, so both can be told at once.
func realms(f Fault) []realm {
	switch f {
	case Regulator:
		return []realm{inVolts}
	case FrequencySet:
		return []realm{inHertz}
	case Controller, ElementOpen, BallastFull:
		return []realm{inWater, inHertz}
	case Overload:
		return []realm{inWater, inHertz, inVolts}
	case Bearing:
		return []realm{inBearings}
	case None, PondLow:
		return nil
	}
	return []realm{inWater}
}

// besideGain is by how much a second cause must explain its readings better than a sound plant does, as a log-likelihood, its
// beginning's prior taken in.
const besideGain = 7.0

// beside finds the best cause in each realm that the likeliest cause does not touch.
func (w *work) beside(f *Facts, outcomes []*outcome) {
	top := f.Ranked[0].Fault
	if top == None {
		return
	}
	taken := realms(top)
	for {
		var best *outcome
		for _, o := range outcomes {
			free := !slices.ContainsFunc(realms(o.v.fault), func(r realm) bool { return slices.Contains(taken, r) })
			if free && o.gain > besideGain && (best == nil || o.gain > best.gain) {
				best = o
			}
		}
		if best == nil {
			return
		}
		taken = append(taken, realms(best.v.fault)...)
		b := Beside{Fault: best.v.fault, Size: best.v.size(best.best())}
		if best.k > 0 {
			t := w.win.looks[best.k].round.Time
			b.Since = &t
		}
		f.Beside = append(f.Beside, b)
	}
}
