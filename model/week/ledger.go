package week

import (
	"maps"
	"slices"
	"sort"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/localtime"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// Ledger works out days from a stretch of the log: the rounds and events from some instant on, and a Carry of what came before.
// It is not for several goroutines.
type Ledger struct {
	h     *record.History // the stretch, with seeds that tell what the carry knows
	a     *assess.Assessor
	loc   *time.Location
	carry Carry

	start     int64 // of the stretch, ms
	spanStart int64 // of the spans: early enough to hold the last change of everything
	end       int64 // nothing later is known

	timeline *record.Timeline
	spans    map[string][]span
	rounds   []read
	tracks   []*track
	judged   map[string]*judgedTrack
	stops    []stopEdge
}

// read is a round of the stretch with what it says.
type read struct {
	at     int64
	r      *record.Round // without the readings that look like slips of the pen
	raw    *record.Round // as it is in the log
	slips  []quantity.Key
	judged []assess.Judged
	power  *assess.Power
	set    string // of the common bus
	stood  bool
}

// NewLedger reads a stretch. h holds every round and event from the carry's At on, up to h.At (and may hold earlier ones, which
// are passed over), and all revisions. A nil carry means that h is the whole log.
func NewLedger(h *record.History, carry *Carry) (*Ledger, error) {
	if h == nil || h.Plant == nil {
		return nil, ErrNoPlant
	}
	l := &Ledger{loc: h.Plant.Location, end: h.At.UnixMilli() + 1}
	if carry != nil {
		l.carry = *carry
	} else {
		l.carry = Carry{At: logBegin(h, l.loc)}
		l.carry.Begin = l.carry.At
	}
	l.start = l.carry.At
	l.seed(h)
	l.a = assess.Of(l.h)
	l.timeline = record.NewTimeline(l.unitIDs(), l.h.Rounds, l.h.Events)
	l.spanStart = l.earliest()
	l.buildSpans()
	l.readRounds(h)
	l.buildTracks()
	l.buildStops()
	return l, nil
}

// logBegin is the beginning of the local day of the first entry, or of the history's end where there is none.
func logBegin(h *record.History, loc *time.Location) int64 {
	first := h.At
	for _, r := range h.Rounds {
		if r.Time.Before(first) {
			first = r.Time
		}
	}
	for _, e := range h.Events {
		if e.Time.Before(first) {
			first = e.Time
		}
	}
	return localtime.Day(first, loc).UnixMilli()
}

func at(ms int64) time.Time { return time.UnixMilli(ms).UTC() }

// seed makes the history that the assessor is given: the stretch, with rounds and events before it that say what the carry
// knows.
func (l *Ledger) seed(h *record.History) {
	out := *h
	out.Rounds, out.Events = nil, nil
	c := &l.carry
	if c.WaterC != nil {
		out.Rounds = append(out.Rounds, record.Round{Time: at(c.WaterC.At), Values: map[quantity.Key]float64{quantity.Key(quantity.WaterC): c.WaterC.V}})
	}
	for _, s := range c.Levels { // a level that was believed counts as confirmed, for not all that spoke for it is here
		out.Rounds = append(out.Rounds, record.Round{ID: s.ID, Time: at(s.At), Confirmed: s.State == levelBelieved,
			Values: map[quantity.Key]float64{quantity.Key(quantity.PondLevelM): s.V}})
	}
	slices.SortStableFunc(out.Rounds, func(a, b record.Round) int { return a.Time.Compare(b.Time) })
	for _, id := range sortedKeys(c.Units) {
		kind := record.Stop
		if c.Units[id].On {
			kind = record.Start
		}
		out.Events = append(out.Events, record.Event{Time: at(c.Units[id].Since), Kind: kind, Units: []string{id}})
	}
	for _, name := range sortedKeys(c.Elements) {
		kind := record.ElementOut
		if c.Elements[name].Working {
			kind = record.ElementIn
		}
		out.Events = append(out.Events, record.Event{Time: at(c.Elements[name].At), Kind: kind, Element: name})
	}
	out.Rounds = append(out.Rounds, within(h.Rounds, func(r record.Round) time.Time { return r.Time }, l.start, l.end)...)
	out.Events = append(out.Events, within(h.Events, func(e record.Event) time.Time { return e.Time }, l.start, l.end)...)
	l.h = &out
}

// within is the part of a list in order of time that lies in [from, to).
func within[T any](list []T, when func(T) time.Time, from, to int64) []T {
	i := sort.Search(len(list), func(i int) bool { return when(list[i]).UnixMilli() >= from })
	j := sort.Search(len(list), func(i int) bool { return when(list[i]).UnixMilli() >= to })
	if i >= j {
		return nil
	}
	return list[i:j]
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// earliest is a day before everything that the carry brings, so that each change it tells of lies within the spans.
func (l *Ledger) earliest() int64 {
	first := l.start
	for _, u := range l.carry.Units {
		first = min(first, u.Since)
	}
	for _, t := range l.carry.Tracks {
		if t.Last != nil {
			first = min(first, t.Last.At)
		}
		if t.Meter != nil {
			first = min(first, t.Meter.At)
		}
	}
	for _, s := range l.carry.States {
		first = min(first, s.At)
	}
	if s := l.carry.Common.Since; s != 0 {
		first = min(first, s)
	}
	return first - 24*time.Hour.Milliseconds()
}

// readRounds judges every round of the stretch once.
func (l *Ledger) readRounds(h *record.History) {
	rounds := within(h.Rounds, func(r record.Round) time.Time { return r.Time }, l.start, l.end)
	l.rounds = make([]read, len(rounds))
	for i := range rounds {
		r := &rounds[i]
		n := read{at: r.Time.UnixMilli(), r: r, raw: r}
		if list := l.a.Doubts(*r); len(list) > 0 {
			n.r, n.slips = without(r, list)
			r = n.r
		}
		s := l.setAt(scopeCommon, n.at)
		n.set, n.stood = s.set, s.stood
		n.judged = l.a.Judge(*r)
		if p := l.h.PlantAt(r.Time); p != nil && tellsPower(p, r) {
			n.power = l.a.PowerOf(*r)
		}
		l.rounds[i] = n
	}
}

// without is a round without the readings that are doubted, and which these are.
func without(r *record.Round, doubts []assess.Question) (*record.Round, []quantity.Key) {
	out := *r
	out.Values = maps.Clone(r.Values)
	var slips []quantity.Key
	for _, q := range doubts {
		delete(out.Values, q.Key)
		slips = append(slips, q.Key)
	}
	return &out, slips
}

// tellsPower reports whether a round holds a reading of power. From voltage alone only the model could tell one, and the model
// is no reading.
func tellsPower(p *plant.Plant, r *record.Round) bool {
	for _, n := range []quantity.Name{quantity.LoadKW, quantity.DumpKW, quantity.DumpSharePct} {
		if _, ok := r.Value(quantity.Key(n)); ok {
			return true
		}
	}
	for _, u := range p.Units {
		if _, ok := r.Value(quantity.NewKey(u.ID, quantity.KW)); ok && u.Common() {
			return true
		}
	}
	return false
}

// Begin is the beginning of the log's first day.
func (l *Ledger) Begin() time.Time { return at(l.carry.Begin).In(l.loc) }

// Start is the time from which on the ledger works days out.
func (l *Ledger) Start() time.Time { return at(l.start).In(l.loc) }
