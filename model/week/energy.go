package week

import (
	"math"
	"slices"
	"sort"
)

// integrate sums a track over [a, b):
//
//	E = Σ (P₁ + P₂)/2 · Δt between two readings of one way of running (the trapezoidal rule)
//
// with the nearer reading held up to a start, stop or trip, nothing while the units stand, and a meter's difference in place of
// all that where its total was read on both sides. The reading error of a stretch is that of its readings, weighted alike; what
// may have happened in between is in spread.go. Where a round finds another set running and no event tells when that changed,
// the change is equally likely at any instant, which adds |P₂ - P₁| Δt / √12.
func (l *Ledger) integrate(t *track, a, b int64) Sum {
	var s Sum
	l.eachMeter(t, a, b, func(from, to int64, m *metered) {
		if m != nil {
			l.addMetered(&s, t, m, a, b, from, to)
			return
		}
		l.trapezoids(&s, t, from, to)
	})
	for i := max(0, t.lastBefore(a)); i < len(t.points) && t.points[i].At < b; i++ {
		if t.points[i].At >= a && t.peaks[i] {
			s.PeakKW = max(s.PeakKW, t.points[i].KW)
		}
	}
	return s
}

// metered is a stretch between two readings of a meter.
type metered struct {
	from, to int64
	kWh, err float64
	spread   float64 // kW
	ran      int64   // ms that the units were not known to stand
}

// eachMeter cuts [a, b) into the stretches that a meter tells and those between.
func (l *Ledger) eachMeter(t *track, a, b int64, fn func(from, to int64, m *metered)) {
	i := max(0, sort.Search(len(t.meters), func(i int) bool { return t.meters[i].At > a })-1)
	done := a
	for ; i+1 < len(t.meters) && t.meters[i].At < b; i++ {
		m := metered{from: t.meters[i].At, to: t.meters[i+1].At, spread: t.meters[i].Spread}
		var ok bool
		if m.kWh, m.err, ok = counted(t.meters[i], t.meters[i+1]); !ok || m.to <= done {
			continue
		}
		if from := max(done, m.from); from > done {
			fn(done, from, nil)
			done = from
		}
		m.ran = l.ran(t, t.meters[i], m.to)
		to := min(m.to, b)
		fn(done, to, &m)
		done = to
	}
	if done < b {
		fn(done, b, nil)
	}
}

// addMetered adds the part [from, to) of a meter's stretch, in proportion to the time in which the units did not stand. How it
// divides is not known at the edges of what is summed: as much as one standard deviation of the power in the smaller part.
func (l *Ledger) addMetered(s *Sum, t *track, m *metered, a, b, from, to int64) {
	whole, part := hoursOf(0, m.ran), hoursOf(0, l.running(t.scope, from, to))
	if whole == 0 {
		whole, part = hoursOf(m.from, m.to), hoursOf(from, to)
	}
	share := part / whole
	s.KWh += share * m.kWh
	s.Hours += hoursOf(from, to)
	s.Metered += hoursOf(from, to)
	s.Gauge += share * m.err
	split := part * (1 - share) * m.spreadOf(whole)
	if m.from < a {
		s.Head = math.Hypot(s.Head, split)
	}
	if m.to > b {
		s.Tail = math.Hypot(s.Tail, split)
	}
}

// spreadOf is how much the track's power differs among the readings up to the meter's first, kW. Where no power is read it is
// taken from the meter: a quarter of the mean.
func (m *metered) spreadOf(hours float64) float64 {
	if m.spread > 0 {
		return m.spread
	}
	return spreadFirst * math.Abs(m.kWh) / hours
}

// running is how long a scope was not known to stand, ms.
func (l *Ledger) running(scope string, from, to int64) int64 {
	ms := to - from
	list := l.spans[scope]
	i := sort.Search(len(list), func(i int) bool { return list[i].to > from })
	for ; i < len(list) && list[i].from < to; i++ {
		if list[i].stood {
			ms -= min(to, list[i].to) - max(from, list[i].from)
		}
	}
	return ms
}

// ran is how long the units of a track were not known to stand in a meter's stretch. What was before the ledger's beginning
// the carry tells.
func (l *Ledger) ran(t *track, m MeterAt, to int64) int64 {
	if m.At < l.start {
		return m.Ran + l.running(t.scope, l.start, to)
	}
	return l.running(t.scope, m.At, to)
}

// trapezoids adds what the readings tell of [a, b).
func (l *Ledger) trapezoids(s *Sum, t *track, a, b int64) {
	for i := t.lastBefore(a + 1); i < len(t.points); i++ {
		p, q := t.mark(i), t.mark(i+1)
		if p != nil && p.at >= b {
			return
		}
		if q != nil && q.at <= a {
			continue
		}
		l.pieces(t.scope, p, q, a, b, func(c piece) { s.piece(t, i, c, a, b) })
	}
}

// piece adds the part of a piece that lies in [a, b). i is the reading before it, -1 for none.
func (s *Sum) piece(t *track, i int, c piece, a, b int64) {
	from, to := max(a, c.from), min(b, c.to)
	if from >= to || c.how == unknown {
		return
	}
	h, whole := hoursOf(from, to), hoursOf(c.from, c.to)
	s.Hours += h
	if c.how == stood {
		return
	}
	var kw, err, own, shared float64
	switch c.how {
	case left:
		p := t.points[i]
		kw, err = p.KW, p.Err
		own, shared = open(p.spread, oneEndShare(whole), oneEndShared(whole))
	case right:
		q := t.points[i+1]
		kw, err = q.KW, q.Err
		own, shared = open(q.spread, oneEndShare(whole), oneEndShared(whole))
	case between:
		p, q := t.points[i], t.points[i+1]
		middle := (hoursOf(c.from, from) + h/2) / whole
		kw = p.KW + middle*(q.KW-p.KW)
		err = p.Err + middle*(q.Err-p.Err)
		own, shared = open(p.spread, trapezoidShare(whole), trapezoidShared(whole))
		if t.sets[i] != t.sets[i+1] {
			own = math.Hypot(own, math.Abs(q.KW-p.KW)/math.Sqrt(12))
		}
	case stood, unknown:
	}
	s.KWh += kw * h
	s.Gauge += err * h
	s.Shared += shared * h
	s.Var += (own * h) * (own * h)
}

// open is what a stretch leaves open, kW: of its own, and shared with its neighbours.
func open(s Spread, share, shared float64) (ownKW, sharedKW float64) {
	return s.kw() * math.Sqrt(max(0, share-shared*shared)), s.kw() * shared
}

// balance works out generated, used and dumped together: where a meter tells how much was generated or used, and both are known,
// what was dumped is the difference.
func (l *Ledger) balance(a, b int64, out map[string]Sum) {
	g, u, d := l.track(Generated), l.track(Used), l.track(Dumped)
	gen, used := l.integrate(g, a, b), l.integrate(u, a, b)
	out[Generated], out[Used] = gen, used
	if gen.Metered == 0 && used.Metered == 0 {
		out[Dumped] = l.integrate(d, a, b)
		return
	}
	var dumped Sum
	for _, c := range l.meterCuts(a, b, g, u) {
		part := l.integrate(d, c.from, c.to)
		pg, pu := l.integrate(g, c.from, c.to), l.integrate(u, c.from, c.to)
		if whole := hoursOf(c.from, c.to); c.metered && pg.Hours >= whole-1e-9 && pu.Hours >= whole-1e-9 {
			part = Sum{KWh: pg.KWh - pu.KWh, Hours: whole, Gauge: pg.Gauge + pu.Gauge, Metered: whole, PeakKW: part.PeakKW}
		}
		dumped.KWh, dumped.Hours, dumped.Gauge = dumped.KWh+part.KWh, dumped.Hours+part.Hours, dumped.Gauge+part.Gauge
		dumped.Metered, dumped.PeakKW = dumped.Metered+part.Metered, max(dumped.PeakKW, part.PeakKW)
	}
	dumped.Shared = gen.Shared + used.Shared
	dumped.Var = gen.Var + used.Var // of the whole, for what lies between two readings is one error however it is cut
	dumped.Head, dumped.Tail = math.Hypot(gen.Head, used.Head), math.Hypot(gen.Tail, used.Tail)
	out[Dumped] = dumped
}

type cut struct {
	from, to int64
	metered  bool
}

// meterCuts cuts [a, b) wherever what is known of the tracks may change: where a meter's stretch begins or ends, at each reading
// and at each change of what runs.
func (l *Ledger) meterCuts(a, b int64, tracks ...*track) []cut {
	edges := []int64{a, b}
	var told []cut
	for _, t := range tracks {
		l.eachMeter(t, a, b, func(from, to int64, m *metered) {
			if m != nil {
				told = append(told, cut{from: from, to: to})
				edges = append(edges, from, to)
			}
		})
		for i := t.lastBefore(a) + 1; i < len(t.points) && t.points[i].At < b; i++ {
			edges = append(edges, t.points[i].At)
		}
	}
	l.eachSpan(scopeCommon, a, b, func(s span, _ float64) { edges = append(edges, max(a, s.from)) })
	slices.Sort(edges)
	edges = slices.Compact(edges)
	cuts := make([]cut, 0, len(edges))
	for i := 1; i < len(edges); i++ {
		c := cut{from: edges[i-1], to: edges[i]}
		c.metered = slices.ContainsFunc(told, func(m cut) bool { return m.from <= c.from && c.to <= m.to })
		cuts = append(cuts, c)
	}
	return cuts
}
