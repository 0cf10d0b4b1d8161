package assess

import (
	"fmt"
	"time"

	"example.org/headpond/model/electrical"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/steady"
	"example.org/headpond/model/tolerance"
	"example.org/headpond/model/upkeep"
	"example.org/headpond/model/water"
)

// Now is the plant at a glance. The tags are those of `headpond now --json`, our own addition to the contract.
type Now struct {
	At        time.Time           `json:"at"`
	Plant     string              `json:"plant"`
	Round     *RoundAge           `json:"round,omitempty"`
	Running   []string            `json:"running,omitempty"` // absent while any unit is unknown; empty when none runs
	Readings  []Reading           `json:"readings"`
	Expected  *steady.Expectation `json:"expected,omitempty"`
	Path      *Path               `json:"path,omitempty"` // from pond to plug, the screen as it is
	Power     *PowerFacts         `json:"power,omitempty"`
	Ballast   *electrical.Facts   `json:"ballast,omitempty"`
	Water     *water.Facts        `json:"water,omitempty"` // filled in by WithWater
	Screen    *ScreenFacts        `json:"screen,omitempty"`
	Upkeep    []upkeep.Task       `json:"upkeep"` // what is due or overdue
	Attention []Attention         `json:"attention"`
	Cautions  []string            `json:"cautions,omitempty"`

	Stopped bool       `json:"-"` // every unit is known to stand
	Ahead   *time.Time `json:"-"` // of the first round dated after At, where none is dated before; nil where there is none

	dry   []Attention // Attention without the water's
	units quantity.System
}

// RoundAge is the last round and how old it is.
type RoundAge struct {
	ID       string    `json:"id"`
	Time     time.Time `json:"time"`
	By       string    `json:"by,omitempty"`
	AgeHours float64   `json:"age_hours"`
	Note     string    `json:"note,omitempty"`
}

// Reading is the latest value of one reading, from the last round or from one before it.
type Reading struct {
	Judged
	Time time.Time `json:"time"`
	Old  bool      `json:"-"` // not from the last round
}

// PowerFacts is the balance of the common bus for people and JSON.
type PowerFacts struct {
	Time           time.Time `json:"time"`
	GenerationKW   *float64  `json:"generation_kw,omitempty"`
	GenerationFrom From      `json:"generation_from,omitempty"`
	LoadKW         *float64  `json:"load_kw,omitempty"`
	LoadFrom       From      `json:"load_from,omitempty"`
	DumpedKW       *float64  `json:"dumped_kw,omitempty"`
	DumpedFrom     From      `json:"dumped_from,omitempty"`
}

// readingMemory is how long a reading is shown after the round that it was read on.
const readingMemory = 14 * 24 * time.Hour

// NowFacts works out everything on the Now screen except the water, which takes longer: see WithWater.
func NowFacts(h *record.History) *Now { return Of(h).Now() }

// Now works out everything on the Now screen except the water.
func (a *Assessor) Now() *Now {
	n := &Now{At: a.h.At, Readings: []Reading{}, Upkeep: []upkeep.Task{}, Attention: []Attention{}}
	n.Cautions = append(n.Cautions, a.h.Cautions...)
	p := a.h.Plant
	if p == nil {
		n.Attention = a.bookAttention()[:a.h.Damage]
		return n
	}
	n.Plant, n.units = p.Site.Name, quantity.System(p.Site.Units)
	last, any := a.h.Last()
	if any {
		n.Round = &RoundAge{ID: last.ID, Time: last.Time, By: last.By, AgeHours: a.h.At.Sub(last.Time).Hours(), Note: last.Note}
	} else if !a.h.Ahead.IsZero() {
		n.Ahead = &a.h.Ahead
	}
	if running, ok := a.Timeline(p).RunningAt(a.h.At); ok {
		n.Running, n.Stopped = running, len(running) == 0
	}
	n.Readings = a.latest()
	if e, err := a.Expect(ExpectOptions{}); err == nil {
		n.Expected = e
		n.Cautions = append(n.Cautions, e.Cautions...)
	}
	a.nowPower(n)
	n.Screen = a.screen()
	n.Path = a.path(n)
	for _, t := range upkeep.Report(a.h).Tasks {
		if t.State != upkeep.OK {
			n.Upkeep = append(n.Upkeep, t)
		}
	}
	n.Attention = sortAttention(append(a.bookAttention(), a.attention(n)...))
	return n
}

// bookAttention is what the book itself calls attention to: damage before everything else, for no other line can be trusted then, and
// the rest, such as a wrong clock, before all that is due.
func (a *Assessor) bookAttention() []Attention {
	out := []Attention{}
	for i, c := range a.h.Cautions {
		u := UrgentDue
		if i < a.h.Damage {
			u = UrgentOut
		}
		out = append(out, Attention{Urgency: u, Text: upperFirst(c), Screen: "log", Topic: TopicBook})
	}
	return out
}

func (a *Assessor) nowPower(n *Now) {
	pw := a.Power()
	if pw == nil {
		return
	}
	n.Power = pw.Facts()
	if f, err := a.Ballast(); err == nil {
		n.Ballast = f
	}
}

// Facts returns the balance in the form of JSON.
func (p *Power) Facts() *PowerFacts {
	f := &PowerFacts{Time: p.Round.Time}
	if p.Generation != nil {
		f.GenerationKW, f.GenerationFrom = &p.Generation.KW, p.Generation.From
	}
	if p.Load != nil {
		f.LoadKW, f.LoadFrom = &p.Load.KW, p.Load.From
	}
	if p.Dumped != nil {
		f.DumpedKW, f.DumpedFrom = &p.Dumped.KW, p.Dumped.From
	}
	return f
}

// latest returns the latest value of every reading of the last two weeks, in walking order, each judged in its own round.
func (a *Assessor) latest() []Reading {
	out := []Reading{}
	judged := map[int][]Judged{} // by the round's index, so that each round is judged once
	last := len(a.h.Rounds) - 1
	for _, k := range quantity.Keys(a.h.Plant.UnitIDs()) {
		for i := last; i >= 0 && a.h.At.Sub(a.h.Rounds[i].Time) <= readingMemory; i-- {
			if _, ok := a.h.Rounds[i].Value(k); !ok {
				continue
			}
			if _, done := judged[i]; !done {
				judged[i] = a.Judge(a.h.Rounds[i])
			}
			if j, ok := find(judged[i], k); ok {
				out = append(out, Reading{Judged: j, Time: a.h.Rounds[i].Time, Old: i != last})
			}
			break
		}
	}
	return out
}

func find(list []Judged, k quantity.Key) (Judged, bool) {
	for _, j := range list {
		if j.Quantity == string(k) {
			return j, true
		}
	}
	return Judged{}, false
}

// WithWater returns the facts with the forecast and what it calls attention to.
func (n *Now) WithWater(f *water.Facts) *Now {
	out := *n
	out.Water = f
	dry := n.Attention // what wants attention beside the water: facts may be given a newer forecast
	if n.Water != nil {
		dry = n.dry
	}
	out.dry = dry
	out.Attention = sortAttention(append(append([]Attention{}, dry...), waterAttention(f, n.Running, n.units)...))
	return &out
}

// Urgency orders what wants attention.
type Urgency string

// The urgencies, most urgent first. Out and near are also the states of readings.
const (
	UrgentOut  Urgency = "out"  // out of band, or the plant stands, or is about to
	UrgentNear Urgency = "near" // on its way
	UrgentDue  Urgency = "due"  // work that is due
	UrgentNote Urgency = "note" // worth knowing
)

// Attention is one thing that wants attention, in words, and the screen that tells more.
type Attention struct {
	Urgency Urgency `json:"urgency"`
	Text    string  `json:"text"`
	Screen  string  `json:"screen,omitempty"`
	Topic   Topic   `json:"-"` // what it is about
	Keys    string  `json:"-"` // what is said behind the text on a screen: by which keys it is mended
	Command string  `json:"-"` // and on a command line
}

// sentence says a reading, where it stands and what its limits are.
func sentence(j Judged, s quantity.System) string {
	unit := j.Info.ShowUnit(s)
	text := fmt.Sprintf("%s %s %s is ", LabelOf(quantity.Key(j.Quantity)), j.Info.Show(j.Value, s), unit)
	limit, word := crossed(j)
	switch j.State {
	case tolerance.Out:
		text += "out of band"
	case tolerance.Near:
		text += "near the edge"
	case tolerance.In:
		text += "in band"
	}
	if limit != nil && j.State != tolerance.In {
		text += fmt.Sprintf(": %s %s %s", word, LimitWords(*limit, j.Value, j.Info, s), unit)
	}
	if j.Expected != nil && j.State != tolerance.In {
		text += fmt.Sprintf(", %s expected", j.Info.ShowEstimate(*j.Expected, s))
	}
	return text
}

// crossed is the limit that puts a reading where it stands, that of near for one that is out, and on which side of it the reading is.
func crossed(j Judged) (limit *float64, word string) {
	b := j.Band()
	lo, hi := b.InMin, b.InMax
	if j.State == tolerance.Out {
		lo, hi = b.NearMin, b.NearMax
	}
	if lo != nil && j.Value < *lo {
		return lo, "below"
	}
	return hi, "above"
}

// LabelOf returns a reading's label for people, the unit's id behind: "Voltage A".
func LabelOf(k quantity.Key) string {
	id, name := k.Split()
	info, ok := quantity.Lookup(name)
	if !ok {
		return string(k)
	}
	if id == "" {
		return info.Label
	}
	return info.Label + " " + id
}
