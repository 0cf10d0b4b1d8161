package week

import (
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/clearing"
	"example.org/headpond/model/quantity"
)

// Points are the rounds of [from, to), for charts.
func (l *Ledger) Points(from, to time.Time) []Point {
	out := []Point{}
	for i := range l.rounds {
		n := &l.rounds[i]
		if n.r.Time.Before(from) || !n.r.Time.Before(to) {
			continue
		}
		p := Point{At: At{n.r.ID, n.r.Time.In(l.loc)}, Values: n.r.Values, Cleared: clearing.Cleared(*n.raw), States: map[quantity.Key]string{}}
		for _, j := range n.judged {
			if j.State != "" {
				p.States[quantity.Key(j.Quantity)] = string(j.State)
			}
		}
		if n.power != nil {
			p.GeneratedKW, p.UsedKW, p.DumpedKW = kw(n.power.Generation), kw(n.power.Load), kw(n.power.Dumped)
		}
		if n.stood {
			none := 0.0
			p.GeneratedKW, p.UsedKW, p.DumpedKW = &none, &none, &none
		}
		if len(out) > 0 { // before the first nothing is drawn
			p.Hole = l.holeBefore(i)
		}
		p.BrokenBefore = len(out) == 0 || p.Hole != nil
		out = append(out, p)
	}
	return out
}

func kw(k *assess.KW) *float64 {
	if k == nil {
		return nil
	}
	return &k.KW
}

// holeBefore is the time before a round of which nothing is known by it or by the one before it; nil where a line joins the two.
// A reading holds up to a stop and back to a start, as the sums have it (pieces), so that a short stop is a short hole. It has no
// length where something changed and the plant went on.
func (l *Ledger) holeBefore(i int) *Hole {
	if i == 0 {
		return nil
	}
	p, q := &mark{l.rounds[i-1].at, l.rounds[i-1].set}, &mark{l.rounds[i].at, l.rounds[i].set}
	whole, held := true, true // held: all pieces so far hold what the earlier reading told
	from, to := p.at, q.at
	l.pieces(scopeCommon, p, q, p.at, q.at, func(c piece) {
		whole = whole && (c.how == between || c.how == stood && c.from == p.at && c.to == q.at)
		switch held = held && c.how == left; {
		case held:
			from = c.to
		case c.how == right && c.to == q.at:
			to = c.from
		}
	})
	if whole {
		return nil
	}
	return &Hole{From: at(from).In(l.loc), To: at(max(from, to)).In(l.loc)}
}
