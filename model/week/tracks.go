package week

import (
	"math"
	"slices"
	"sort"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/quantity"
)

// track is a power that is integrated: its readings and those of its meters, in order, the carry's first.
type track struct {
	name   string
	scope  string
	points []PowerAt
	sets   []string // what ran at each
	meters []MeterAt
	peaks  []bool // the reading is one of the stretch, not the carry's

	spread Spread // as the carry brought it
}

// modelShare is the standard deviation of a power that the plant model gives, as a share of it. Our own choice: a described
// plant's model is seldom better than a tenth.
const modelShare = 0.1

// buildTracks collects the readings of every power.
func (l *Ledger) buildTracks() {
	for _, name := range []string{Generated, Used, Dumped} {
		l.tracks = append(l.tracks, l.newTrack(name, scopeCommon))
	}
	for _, id := range l.unitIDs() {
		l.tracks = append(l.tracks, l.newTrack(id, id))
	}
	for i := range l.rounds {
		n := &l.rounds[i]
		l.addPowers(n)
		l.addMeters(n)
	}
	l.buildJudged()
}

func (l *Ledger) newTrack(name, scope string) *track {
	t := &track{name: name, scope: scope}
	c := l.carry.Tracks[name]
	t.spread = c.Spread
	if c.Last != nil {
		last := *c.Last
		last.spread = c.Spread
		t.points, t.sets, t.peaks = []PowerAt{last}, []string{c.Spread.Set}, []bool{false}
	}
	if c.Meter != nil {
		t.meters = []MeterAt{*c.Meter}
	}
	return t
}

func (l *Ledger) track(name string) *track {
	for _, t := range l.tracks {
		if t.name == name {
			return t
		}
	}
	return nil
}

// add appends a reading. One while the plant stands says nothing of how much the power differs.
func (t *track) add(p PowerAt, set string, stands bool) {
	if math.IsNaN(p.KW) || math.IsInf(p.KW, 0) {
		return
	}
	if n := len(t.points); n > 0 && t.points[n-1].At == p.At {
		t.points, t.sets, t.peaks = t.points[:n-1], t.sets[:n-1], t.peaks[:n-1] // of two rounds at one instant the later counts
	}
	spread := t.spread
	if n := len(t.points); n > 0 {
		spread = t.points[n-1].spread
	}
	if stands {
		spread.Set = set
	} else {
		spread = spread.with(p.KW, set)
	}
	p.spread = spread
	t.points, t.sets, t.peaks = append(t.points, p), append(t.sets, set), append(t.peaks, true)
}

// addPowers takes a round's powers. While all common-bus units stand they generate nothing, whatever a meter's zero shows.
func (l *Ledger) addPowers(n *read) {
	for _, id := range l.unitIDs() {
		k := quantity.NewKey(id, quantity.KW)
		s := l.setAt(id, n.at)
		if v, ok := n.r.Value(k); ok && !s.stood {
			l.track(id).add(PowerAt{At: n.at, KW: v, Err: l.readingError(n, k)}, s.set, false)
		}
	}
	if n.stood {
		for _, name := range []string{Generated, Used, Dumped} {
			l.track(name).add(PowerAt{At: n.at}, n.set, true)
		}
		return
	}
	if n.power == nil {
		return
	}
	model := 0.0
	if g := n.power.Generation; g != nil && g.From == assess.FromModel {
		model = modelShare * math.Abs(g.KW)
	}
	for _, w := range []struct {
		name string
		kw   *assess.KW
	}{{Generated, n.power.Generation}, {Used, n.power.Load}, {Dumped, n.power.Dumped}} {
		if w.kw == nil {
			continue
		}
		err := w.kw.ErrKW
		if w.kw.From == assess.FromModel {
			err = math.Hypot(err, model)
		}
		l.track(w.name).add(PowerAt{At: n.at, KW: w.kw.KW, Err: err}, n.set, false)
	}
	l.floor(n)
}

// floor makes the load differ by at least dailyShare of its mean, and what is dumped by as much, for it is the rest.
func (l *Ledger) floor(n *read) {
	used := l.track(Used)
	i := len(used.points) - 1
	if i < 0 || used.points[i].At != n.at {
		return
	}
	used.points[i].spread.Floor = dailyShare * math.Abs(used.points[i].spread.Mean)
	if d := l.track(Dumped); len(d.points) > 0 && d.points[len(d.points)-1].At == n.at {
		d.points[len(d.points)-1].spread.Floor = used.points[i].spread.Floor
	}
}

func (l *Ledger) readingError(n *read, k quantity.Key) float64 {
	if p := l.h.PlantAt(n.r.Time); p != nil {
		return p.ReadingError(k)
	}
	return 0
}

// addMeters takes a round's meter totals. The plant's own energy meter counts what is generated; where it has none, the meters
// of all common-bus units together do.
func (l *Ledger) addMeters(n *read) {
	p := l.h.PlantAt(n.r.Time)
	if p == nil {
		return
	}
	var common []quantity.Key
	for _, u := range p.Units {
		k := quantity.NewKey(u.ID, quantity.EnergyKWh)
		l.addMeter(n, l.track(u.ID), []quantity.Key{k})
		if u.Common() {
			common = append(common, k)
		}
	}
	g := l.track(Generated)
	if !l.addMeter(n, g, []quantity.Key{quantity.Key(quantity.EnergyKWh)}) {
		l.addMeter(n, g, common)
	}
	l.addMeter(n, l.track(Used), []quantity.Key{quantity.Key(quantity.LoadEnergyKWh)})
}

// addMeter takes the readings of meters that count a track together; all must have been read.
func (l *Ledger) addMeter(n *read, t *track, keys []quantity.Key) bool {
	m := MeterAt{At: n.at}
	for _, k := range keys {
		v, ok := n.r.Value(k)
		if !ok {
			return false
		}
		m.Keys, m.V = append(m.Keys, string(k)), append(m.V, v)
		m.Err = math.Hypot(m.Err, l.readingError(n, k))
	}
	if len(keys) == 0 {
		return false
	}
	if k := len(t.points); k > 0 {
		m.Spread = t.points[k-1].spread.kw()
	}
	if k := len(t.meters); k > 0 && t.meters[k-1].At == m.At {
		t.meters = t.meters[:k-1]
	}
	t.meters = append(t.meters, m)
	return true
}

// counted is the energy between two readings of the same meters, kWh. A fall is a replaced meter.
func counted(a, b MeterAt) (kWh, err float64, ok bool) {
	if !slices.Equal(a.Keys, b.Keys) || b.At-a.At > MeterLimit.Milliseconds() {
		return 0, 0, false
	}
	for i := range a.V {
		if b.V[i] < a.V[i] {
			return 0, 0, false
		}
		kWh += b.V[i] - a.V[i]
	}
	return kWh, math.Hypot(a.Err, b.Err), true
}

// lastBefore is the index of the last reading before a time, -1 where there is none.
func (t *track) lastBefore(ms int64) int {
	return sort.Search(len(t.points), func(i int) bool { return t.points[i].At >= ms }) - 1
}

func (t *track) mark(i int) *mark {
	if i < 0 || i >= len(t.points) {
		return nil
	}
	return &mark{at: t.points[i].At, set: t.sets[i]}
}
