package water

import (
	"context"
	"math"
	"slices"
)

// fate is what became of one member under one course.
type fate struct {
	stop, low, high float64 // hours to the stop level, the permit's low and its high level; +Inf where never
	spills          bool    // passed the crest before it ran out
	refilled        bool    // and had been below it
	kWh             float64
}

// spread of outcomes of one course over all members.
type fates struct {
	course *course
	each   []fate
	fan    [][]float64 // volumes by fan point and member
}

// ensemble runs members through courses.
type ensemble struct {
	c       *channel
	days    []float64
	lasts   float64 // s that the usable water lasts all machines without any inflow
	fanDays []int   // indices into days; nil for no fan
	lowV    float64
	highV   float64
	courses []*course
	stream  stream
	start   sampler
	members int
	seed    uint64
}

// futures are the members' starts and inflows, kept where many ways are asked about.
type futures struct {
	states []vec
	flows  []future
}

// imagine sets out every member's start and inflow.
func (e *ensemble) imagine(ctx context.Context) (*futures, error) {
	f := &futures{states: make([]vec, e.members), flows: make([]future, e.members)}
	all := make([]float64, e.members*len(e.days))
	err := e.each(ctx, func(m int, c *chances) {
		var flow []float64
		flow, all = all[:len(e.days):len(e.days)], all[len(e.days):]
		f.states[m] = e.start.draw(c)
		f.flows[m] = setOut(e.stream, c, f.states[m], e.days, flow)
	})
	return f, err
}

// each does something for every member with its chances, until the context ends.
func (e *ensemble) each(ctx context.Context, do func(m int, c *chances)) error {
	d := newDice(e.seed)
	for m := 0; m < e.members; m++ {
		if m%64 == 0 {
			if err := ctx.Err(); err != nil {
				return err
			}
		}
		do(m, d.member(m))
	}
	return nil
}

// run carries every member through every course. All courses of a member see the same inflow, so that ways of running
// differ only by what they do.
func (e *ensemble) run(ctx context.Context) ([]fates, error) {
	out := make([]fates, len(e.courses))
	for i, c := range e.courses {
		out[i] = fates{course: c, each: make([]fate, e.members), fan: make([][]float64, len(e.fanDays))}
		for k := range out[i].fan {
			out[i].fan[k] = make([]float64, e.members)
		}
	}
	flow := make([]float64, len(e.days))
	err := e.each(ctx, func(m int, c *chances) {
		state := e.start.draw(c)
		inflow := setOut(e.stream, c, state, e.days, flow)
		for i := range out {
			out[i].each[m] = e.follow(&out[i], m, state, &inflow)
		}
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// follow runs one member through one course. After the stop level the machines stand, and the member is followed for a permit's
// low level below it, until the pond is full again: the machines would run long before, so that what comes then is no outcome
// of this way of running. For the same reason a high level counts only before the stop.
func (e *ensemble) follow(f *fates, m int, state vec, inflow *future) fate {
	b, flow := e.c.b, inflow.flow
	got := fate{stop: math.Inf(1), low: math.Inf(1), high: math.Inf(1)}
	v, fan, lowest := state[iVolume], 0, b.stopV
	if v <= b.stopV {
		got.stop = 0
	}
	level0 := b.stage.LevelM(v)
	var now *wet
	var q, more float64
	wantLow := !math.IsInf(e.lowV, -1)
	for k := range f.course.leaps {
		l := &f.course.leaps[k]
		pond, running := l.running, math.IsInf(got.stop, 1)
		if !running {
			pond = l.standing
		}
		if pond != now {
			now, q = pond, pond.outflow(v)
			more = state[iDraw] * pond.draw.meanAt(level0)
		}
		inflow.need(l.k1 + 1)
		i1 := flow[l.k0] + l.a0*(flow[l.k0+1]-flow[l.k0])
		i2 := flow[l.k1] + l.a1*(flow[l.k1+1]-flow[l.k1])
		before := v
		v, q = pond.routing.Next(v, q, i1-more, i2-more)
		share := 1.0
		if running && v <= b.stopV {
			share = (before - b.stopV) / (before - v)
			got.stop = (l.from + share*l.dt) / 3600
			v, now = lowest, nil
		}
		if running {
			if pond.gives {
				got.kWh += pond.kwAt((before+v)/2) * share * l.hours
			}
			got.spills = got.spills || v > b.crestV
			got.refilled = got.refilled || v > b.crestV && before <= b.crestV
		}
		if wantLow && v <= e.lowV && math.IsInf(got.low, 1) {
			got.low = l.passed(before, v, e.lowV)
		}
		if running && v >= e.highV && math.IsInf(got.high, 1) {
			got.high = l.passed(before, v, e.highV)
		}
		for fan < len(e.fanDays) && e.days[e.fanDays[fan]]*secondsPerDay <= l.from+l.dt+1 {
			f.fan[fan][m] = v
			if !running { // what comes after the stop level is the caretaker's choice
				f.fan[fan][m] = math.Min(v, b.stopV)
			}
			fan++
		}
		settled := !wantLow || !math.IsInf(got.low, 1) || v >= b.crestV
		if !running && settled && (fan == len(e.fanDays) || v >= b.crestV) {
			break
		}
	}
	for ; fan < len(e.fanDays); fan++ {
		f.fan[fan][m] = b.stopV
	}
	return got
}

// passed is when, in hours, a volume was passed within a leap.
func (l *leap) passed(before, after, v float64) float64 {
	if before == after {
		return l.from / 3600
	}
	return (l.from + math.Min(1, math.Max(0, (before-v)/(before-after)))*l.dt) / 3600
}

// quantile is the type 7 of R. J. Hyndman and Y. Fan, Amer. Statist. 50 (1996) 361-365, of sorted values: linear between
// order statistics, h = (n−1) p. Where it would lean on an infinite value it is infinite.
func quantile(sorted []float64, p float64) float64 {
	h := float64(len(sorted)-1) * p
	i := int(math.Floor(h))
	if i+1 >= len(sorted) || h == float64(i) {
		return sorted[min(i, len(sorted)-1)]
	}
	if math.IsInf(sorted[i+1], 1) {
		return math.Inf(1)
	}
	return sorted[i] + (h-float64(i))*(sorted[i+1]-sorted[i])
}

// hoursRange sorts one time of every fate into a range; what does not come within the horizon is absent.
func hoursRange(each []fate, of func(*fate) float64) *Hours {
	list := make([]float64, len(each))
	for i := range each {
		list[i] = of(&each[i])
	}
	slices.Sort(list)
	point := func(p float64) *float64 {
		if h := quantile(list, p); !math.IsInf(h, 1) {
			return &h
		}
		return nil
	}
	return &Hours{P10: point(0.1), P50: point(0.5), P90: point(0.9)}
}

func rangeOf(values []float64) Range {
	slices.Sort(values)
	return Range{P10: quantile(values, 0.1), P50: quantile(values, 0.5), P90: quantile(values, 0.9)}
}
