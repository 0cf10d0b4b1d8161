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
		p := Point{At: At{n.r.ID, n.r.Time.In(l.loc)}, Values: n.r.Values, Cleared: clearing.Cleared(*n.r), States: map[quantity.Key]string{}}
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
		p.BrokenBefore = len(out) == 0 || l.brokenBefore(i)
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

// brokenBefore reports whether no line joins a round to the one before it.
func (l *Ledger) brokenBefore(i int) bool {
	if i == 0 {
		return true
	}
	p, q := &mark{l.rounds[i-1].at, l.rounds[i-1].set}, &mark{l.rounds[i].at, l.rounds[i].set}
	whole := true
	l.pieces(scopeCommon, p, q, p.at, q.at, func(c piece) {
		whole = whole && (c.how == between || c.how == stood && c.from == p.at && c.to == q.at)
	})
	return !whole
}
