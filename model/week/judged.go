package week

import (
	"math"
	"sort"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/tolerance"
)

// judgedTrack is the readings of one quantity that have a state.
type judgedTrack struct {
	scope string
	seen  []Seen
	sets  []string
}

// live are the quantities of a machine that runs: while it stands their readings say nothing of how well it runs.
func live(n quantity.Name) bool {
	switch n {
	case quantity.Volts, quantity.Hertz, quantity.LoadKW, quantity.DumpSharePct, quantity.DumpKW, quantity.KW, quantity.Amps,
		quantity.PressureKPa, quantity.PressureBefore, quantity.PressureAfter, quantity.FlowLps, quantity.BearingC:
		return true
	}
	return false
}

// scopeOf is what breaks the time between two readings of a quantity.
func scopeOf(k quantity.Key) string {
	id, n := k.Split()
	switch {
	case !live(n):
		return scopeAll
	case id != "":
		return id
	}
	return scopeCommon
}

// The frequency beside EN 50160's row for supplies without a synchronous link: references.md 1.2.
const (
	en50160       = "hertz_en50160" // the key of its state times
	en50160Share  = 0.02            // ±2 % during 95 % of a week
	en50160Always = 0.15            // ±15 % always
	en50160Week   = 0.95
)

// en50160State is in within ±2 % of nominal, near within ±15 %, out beyond.
func en50160State(hertz, nominal float64) string {
	band := func(share float64) bool {
		return math.Abs(hertz-nominal) <= share*nominal*(1+1e-12)
	}
	switch {
	case band(en50160Share):
		return string(tolerance.In)
	case band(en50160Always):
		return string(tolerance.Near)
	}
	return string(tolerance.Out)
}

// buildJudged collects every reading with a state, the carry's last ones first.
func (l *Ledger) buildJudged() {
	l.judged = map[string]*judgedTrack{}
	for _, k := range sortedKeys(l.carry.States) {
		s := l.carry.States[k]
		scope := scopeOf(quantity.Key(k))
		if k == en50160 {
			scope = scopeCommon
		}
		l.judged[k] = &judgedTrack{scope: scope, seen: []Seen{s}, sets: []string{s.Set}}
	}
	for i := range l.rounds {
		n := &l.rounds[i]
		for _, j := range n.judged {
			k := quantity.Key(j.Quantity)
			if j.State != "" {
				l.addJudged(j.Quantity, scopeOf(k), Seen{V: j.Value, At: n.at, ID: n.r.ID, State: string(j.State)})
			}
			if k == quantity.Key(quantity.Hertz) {
				if p := l.h.PlantAt(n.r.Time); p != nil {
					l.addJudged(en50160, scopeCommon, Seen{V: j.Value, At: n.at, ID: n.r.ID, State: en50160State(j.Value, p.Supply.Hertz)})
				}
			}
		}
	}
}

func (l *Ledger) addJudged(key, scope string, s Seen) {
	where := l.setAt(scope, s.At)
	if where.stood {
		return
	}
	t := l.judged[key]
	if t == nil {
		t = &judgedTrack{scope: scope}
		l.judged[key] = t
	}
	s.Set = where.set
	if n := len(t.seen); n > 0 && t.seen[n-1].At == s.At {
		t.seen, t.sets = t.seen[:n-1], t.sets[:n-1]
	}
	t.seen, t.sets = append(t.seen, s), append(t.sets, where.set)
}

func (t *judgedTrack) mark(i int) *mark {
	if i < 0 || i >= len(t.seen) {
		return nil
	}
	return &mark{at: t.seen[i].At, set: t.sets[i]}
}

// stateTimes is how long the quantity stood in each state in [a, b): each reading for the time to half-way to the next.
func (l *Ledger) stateTimes(t *judgedTrack, a, b int64) StateTime {
	var out StateTime
	first := sort.Search(len(t.seen), func(i int) bool { return t.seen[i].At > a }) - 1
	for i := first; i < len(t.seen); i++ {
		p, q := t.mark(i), t.mark(i+1)
		if p != nil && p.at >= b {
			break
		}
		if p != nil && p.at >= a {
			out.N++
		}
		l.pieces(t.scope, p, q, a, b, func(c piece) {
			switch c.how {
			case left:
				out.add(t.seen[i].State, c.from, c.to, a, b)
			case right:
				out.add(t.seen[i+1].State, c.from, c.to, a, b)
			case between:
				middle := c.from + (c.to-c.from)/2
				out.add(t.seen[i].State, c.from, middle, a, b)
				out.add(t.seen[i+1].State, middle, c.to, a, b)
			case stood, unknown:
			}
		})
	}
	return out
}

func (s *StateTime) add(state string, from, to, a, b int64) {
	from, to = max(from, a), min(to, b)
	if from >= to {
		return
	}
	h := hoursOf(from, to)
	switch tolerance.State(state) {
	case tolerance.In:
		s.In += h
	case tolerance.Near:
		s.Near += h
	case tolerance.Out:
		s.Out += h
	}
}
