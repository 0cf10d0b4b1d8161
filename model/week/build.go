package week

import (
	"math"
	"sort"
	"time"

	"example.org/headpond/model/clearing"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/steady"
)

// Keys of counts that are no readings.
const (
	brokenLow    = "low_level broken"
	brokenHigh   = "high_level broken"
	brokenBypass = "bypass broken"

	slipCount = " slips" // behind a reading's key: how many were set aside
)

// Day works out the days's, or a part of a day's, sums. The stretch must hold everything from the beginning of the local day on.
func (l *Ledger) Day(from, to time.Time) Day {
	d := Day{From: from.UnixMilli(), To: to.UnixMilli(), Sums: map[string]Sum{}, Units: map[string]UnitTime{}}
	if d.To <= l.carry.Begin {
		d.Needs = d.To // before the log began
		return d
	}
	l.balance(d.From, d.To, d.Sums)
	for _, t := range l.tracks {
		if _, done := d.Sums[t.name]; !done && len(t.points)+len(t.meters) > 0 {
			d.Sums[t.name] = l.integrate(t, d.From, d.To)
		}
	}
	for _, name := range sortedKeys(d.Sums) {
		if d.Sums[name] == (Sum{}) {
			delete(d.Sums, name)
		}
	}
	l.standing(&d)
	l.stopsIn(&d)
	for _, id := range sortedKeys(d.Units) {
		if d.Units[id] == (UnitTime{}) {
			delete(d.Units, id)
		}
	}
	for _, k := range sortedKeys(l.judged) {
		if s := l.stateTimes(l.judged[k], d.From, d.To); s != (StateTime{}) {
			put(&d.States, k, s)
		}
	}
	l.readings(&d)
	d.RatedKWh = l.ratedKW(from) * d.Sums[Generated].Hours
	d.Needs = l.needs(d.To)
	return d
}

func put[V any](m *map[string]V, k string, v V) {
	if *m == nil {
		*m = map[string]V{}
	}
	(*m)[k] = v
}

func (l *Ledger) ratedKW(t time.Time) float64 {
	kw := 0.0
	if p := l.h.PlantAt(t); p != nil {
		for _, u := range p.Units {
			if u.Common() {
				kw += u.RatedKW
			}
		}
	}
	return kw
}

// readings goes through the day's rounds: extremes, counts, levels, rain, clearings, permit limits.
func (l *Ledger) readings(d *Day) {
	i := sort.Search(len(l.rounds), func(i int) bool { return l.rounds[i].at >= d.From })
	for ; i < len(l.rounds) && l.rounds[i].at < d.To; i++ {
		n := &l.rounds[i]
		d.Rounds++
		d.Last = &Seen{At: n.at, ID: n.r.ID}
		if h := &d.Hours[at(n.at).In(l.loc).Hour()]; *h < math.MaxUint8 {
			*h++
		}
		for _, j := range n.judged {
			l.extreme(d, n, quantity.Key(j.Quantity), Seen{V: j.Value, At: n.at, ID: n.r.ID, State: string(j.State)})
		}
		if mm, ok := n.r.Value(quantity.Key(quantity.RainMM)); ok {
			d.RainMM += mm
		}
		l.limits(d, n)
		for _, k := range n.slips {
			put(&d.Counts, string(k)+slipCount, d.Counts[string(k)+slipCount]+1)
		}
		if clearing.Cleared(*n.raw) {
			d.Clears = append(d.Clears, l.clearingRow(n))
		}
	}
}

func (l *Ledger) extreme(d *Day, n *read, k quantity.Key, s Seen) {
	info, ok := quantity.Lookup(k.Name())
	if !ok || info.Total || live(k.Name()) && l.setAt(scopeOf(k), n.at).stood {
		return
	}
	key := string(k)
	if low, had := d.Lows[key]; !had || s.V < low.V {
		put(&d.Lows, key, s)
	}
	if high, had := d.Highs[key]; !had || s.V > high.V {
		put(&d.Highs, key, s)
	}
	put(&d.Counts, key, d.Counts[key]+1)
	if k == quantity.Key(quantity.PondLevelM) {
		if _, had := d.Firsts[key]; !had {
			put(&d.Firsts, key, s)
		}
		put(&d.Lasts, key, s)
	}
}

// limits counts the readings beyond the permit's levels and below the flow that must pass beside the plant. A reading error
// is no excuse here: the reading is what an inspector would see.
func (l *Ledger) limits(d *Day, n *read) {
	p := l.h.PlantAt(n.r.Time)
	if p == nil {
		return
	}
	if v, ok := n.r.Value(quantity.Key(quantity.PondLevelM)); ok {
		if p.Pond.PermitLowM != nil && v < *p.Pond.PermitLowM {
			put(&d.Counts, brokenLow, d.Counts[brokenLow]+1)
		}
		if p.Pond.PermitHighM != nil && v > *p.Pond.PermitHighM {
			put(&d.Counts, brokenHigh, d.Counts[brokenHigh]+1)
		}
	}
	if v, ok := n.r.Value(quantity.Key(quantity.BypassLps)); ok && p.Pond.BypassLps > 0 && v < p.Pond.BypassLps {
		put(&d.Counts, brokenBypass, d.Counts[brokenBypass]+1)
	}
}

// clearingRow is a clearing and, where the pressures around it were read, the power that it gave back by the plant model.
func (l *Ledger) clearingRow(n *read) ClearRow {
	c := ClearRow{At: n.at, ID: n.r.ID, By: n.r.By}
	if v, ok := n.r.Value(quantity.Key(quantity.PressureBefore)); ok {
		c.Before = &v
	}
	after, ok := n.r.Value(quantity.Key(quantity.PressureAfter))
	if !ok && c.Before != nil {
		after, ok = n.r.Value(quantity.Key(quantity.PressureKPa)) // the round's own gauge reading comes after the screen, in walking order
	}
	if ok {
		c.After = &after
	}
	if c.Before != nil && c.After != nil {
		if kw, ok := l.gainKW(*n.r, *c.Before, *c.After); ok {
			c.KW = &kw
		}
	}
	return c
}

// gainKW is the electric power that the loss before the clearing took.
func (l *Ledger) gainKW(r record.Round, beforeKPa, afterKPa float64) (float64, bool) {
	m, err := l.a.Model(l.h.PlantAt(r.Time))
	if err != nil {
		return 0, false
	}
	c, err := l.a.Case(r)
	if err != nil {
		return 0, false
	}
	sd := l.h.PlantAt(r.Time).ReadingError(quantity.Key(quantity.PressureBefore))
	var st steady.ScreenState
	if st, err = m.ScreenFromClearing(c, "", beforeKPa, afterKPa, sd); err != nil {
		return 0, false
	}
	return st.LostKW, true
}

// needs is the latest time at which an entry counts, or one that is still to come would count, for a day that ends at b.
func (l *Ledger) needs(b int64) int64 {
	last := b
	want := func(have bool, next, limit int64) {
		if have {
			last = max(last, min(next, limit))
		}
	}
	gap, meter := GapLimit.Milliseconds(), MeterLimit.Milliseconds()
	for scope := range l.spans {
		want(l.began(scope, b), b+gap, b+gap) // a reading of whatever kind may still hold back to the start
	}
	for _, t := range l.tracks {
		i := t.lastBefore(b)
		next := int64(math.MaxInt64)
		if i+1 < len(t.points) {
			next = t.points[i+1].At
		}
		want(i >= 0, next, b+gap)
		m := sort.Search(len(t.meters), func(i int) bool { return t.meters[i].At >= b })
		next = math.MaxInt64
		if m < len(t.meters) {
			next = t.meters[m].At
		}
		if m > 0 {
			want(true, next, t.meters[m-1].At+meter)
		}
	}
	for _, t := range l.judged {
		m := sort.Search(len(t.seen), func(i int) bool { return t.seen[i].At >= b })
		next := int64(math.MaxInt64)
		if m < len(t.seen) {
			next = t.seen[m].At
		}
		want(true, next, b+gap)
	}
	return last
}

// began reports whether what runs changed within GapLimit before a time.
func (l *Ledger) began(scope string, b int64) bool {
	s := l.setAt(scope, b-1)
	return !s.stood && s.set != unknownSet && s.from > l.spanStart && b-s.from < GapLimit.Milliseconds()
}
