// Package assess says what the readings of a plant mean together: which power is generated, used and dumped, whether each
// reading stands in its band and near what the plant should give, and what wants attention first.
package assess

import (
	"fmt"
	"math"
	"time"

	"example.org/headpond/model/electrical"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// From says which readings a power came from, in the contract's words.
type From string

// The sources of a power, best first.
const (
	FromMeters    From = "meters"     // read directly: the sets' kW meters, the dumped power's or the load's own meter
	FromLoadDump  From = "load_dump"  // consumer load and dumped power added
	FromLoadShare From = "load_share" // through the dump share
	FromModel     From = "model"      // what the plant should give
)

// words returns the source for people.
func (f From) words() string {
	switch f {
	case FromMeters:
		return "the meters"
	case FromLoadDump:
		return "load and dumped power"
	case FromLoadShare:
		return "the dump share"
	case FromModel:
		return "the plant model"
	}
	return string(f)
}

// KW is a power, its source and its reading error (one standard deviation).
type KW struct {
	KW    float64
	ErrKW float64
	From  From
}

// Power is the electrical balance of the common bus at one round. Absent values are nil.
type Power struct {
	Round      record.Round // the round that all readings come from
	Volts      *float64     // read on the common bus, else the mean of its running sets' meters
	Hertz      *float64
	Running    []string // common-bus units that ran; nil while any unit is unknown
	Generation *KW
	Dumped     *KW
	Load       *KW
	Cautions   []string            // where two ways disagree by more than the gauges' errors, and what could not be told
	Suspect    *electrical.Suspect // elements that seem dead, though the log holds them to be working; nil: none

	all []string // Running and those on a bus of their own; nil while any is unknown
}

// shareLimit is the dump share above which load / (1 - share) is too ill-conditioned to be used (contract).
const shareLimit = 0.95

// powerKeys are the readings that tell of power; any of them makes a round "the last that holds any".
func powerKeys(p *plant.Plant) []quantity.Key {
	keys := []quantity.Key{quantity.Key(quantity.LoadKW), quantity.Key(quantity.DumpKW), quantity.Key(quantity.DumpSharePct), quantity.Key(quantity.Volts)}
	for _, u := range p.Units {
		if u.Common() {
			keys = append(keys, quantity.NewKey(u.ID, quantity.KW), quantity.NewKey(u.ID, quantity.Volts))
		}
	}
	return keys
}

// Power works out the balance from the last round at or before the history's end that holds any reading of power. It is nil
// when there is none.
func (a *Assessor) Power() *Power {
	if a.h.Plant == nil {
		return nil
	}
	r, ok := a.h.LastWith(powerKeys(a.h.Plant)...)
	if !ok {
		return nil
	}
	return a.PowerOf(r)
}

// PowerOf works out the balance of one round. It is nil when the book has no plant.
//
// Generation is the first of these that is complete: the kW meters of every running unit; load + dump_kw; load and share;
// the model. Dumped is dump_kw, else from the share, else generation - load. Load is load_kw, else generation - dumped. A
// share of generation gives load / (1 - share); a share of the ballast gives load + share x what the working elements take
// at the read voltage (rated if none was read), before the controller's limit.
func (a *Assessor) PowerOf(r record.Round) *Power {
	p := a.h.PlantAt(r.Time)
	if p == nil {
		return nil
	}
	b := balance{a: a, p: p, r: r, out: &Power{Round: r}}
	if running, known := a.Running(r); known {
		b.out.all, b.out.Running = running, b.common(running)
	}
	b.bus()
	b.generation()
	b.dumped()
	b.load()
	b.suspect()
	b.compare()
	return b.out
}

type balance struct {
	a   *Assessor
	p   *plant.Plant
	r   record.Round
	out *Power
	all []KW // every complete way to the generation, best first
}

func (b *balance) common(ids []string) []string {
	out := []string{}
	for _, id := range ids {
		if u, ok := b.p.UnitByID(id); ok && u.Common() {
			out = append(out, id)
		}
	}
	return out
}

// read returns a reading with its error.
func (b *balance) read(n quantity.Name) (KW, bool) {
	v, ok := b.a.believed(b.r, quantity.Key(n))
	return KW{KW: v, ErrKW: b.p.ReadingError(quantity.Key(n)), From: FromMeters}, ok
}

// bus fills in volts and hertz: the common reading, else the mean of the running common-bus sets' own meters.
func (b *balance) bus() {
	b.out.Volts = b.busReading(quantity.Volts)
	b.out.Hertz = b.busReading(quantity.Hertz)
}

func (b *balance) busReading(n quantity.Name) *float64 {
	if v, ok := b.a.believed(b.r, quantity.Key(n)); ok {
		return &v
	}
	sum, count := 0.0, 0
	for _, id := range b.out.Running {
		if v, ok := b.a.believed(b.r, quantity.NewKey(id, n)); ok {
			sum += v
			count++
		}
	}
	if count == 0 {
		return nil
	}
	mean := sum / float64(count)
	return &mean
}

// metered adds the kW meters of the running units; every one must have been read. With no unit running it is nothing.
func (b *balance) metered() (KW, bool) {
	if b.out.Running == nil {
		return KW{}, false
	}
	sum := KW{From: FromMeters}
	for _, id := range b.out.Running {
		k := quantity.NewKey(id, quantity.KW)
		v, ok := b.a.believed(b.r, k)
		if !ok {
			return KW{}, false
		}
		sum.KW += v
		sum.ErrKW = math.Hypot(sum.ErrKW, b.p.ReadingError(k))
	}
	return sum, len(b.out.Running) > 0
}

// elementsKW is what the working elements take at the read voltage, rated voltage if none was read, without the controller's
// limit.
func (b *balance) elementsKW() float64 {
	volts := b.p.Supply.Volts
	if b.out.Volts != nil {
		volts = *b.out.Volts
	}
	return electrical.ElementsKW(b.p, b.a.h.ElementsWorking(b.r.Time), volts)
}

// share returns the dump share as a fraction and its error.
func (b *balance) share() (share, err float64, ok bool) {
	v, ok := b.a.believed(b.r, quantity.Key(quantity.DumpSharePct))
	return v / 100, b.p.ReadingError(quantity.Key(quantity.DumpSharePct)) / 100, ok
}

// byShare is the generation from load and share, where that is well-conditioned.
func (b *balance) byShare() (KW, bool) {
	load, haveLoad := b.read(quantity.LoadKW)
	share, shareErr, haveShare := b.share()
	if !haveLoad || !haveShare {
		return KW{}, false
	}
	if b.p.Ballast.ShareOf == plant.ShareOfBallast {
		e := b.elementsKW()
		return KW{load.KW + share*e, math.Hypot(load.ErrKW, shareErr*e), FromLoadShare}, true
	}
	if share > shareLimit {
		b.say("the dump share of %.0f %% is too near to all of the generation to tell the generation from the load", share*100)
		return KW{}, false
	}
	left := 1 - share
	return KW{load.KW / left, math.Hypot(load.ErrKW/left, load.KW*shareErr/(left*left)), FromLoadShare}, true
}

func (b *balance) generation() {
	if m, ok := b.metered(); ok {
		b.all = append(b.all, m)
	}
	load, haveLoad := b.read(quantity.LoadKW)
	if dump, ok := b.read(quantity.DumpKW); ok && haveLoad {
		b.all = append(b.all, KW{load.KW + dump.KW, math.Hypot(load.ErrKW, dump.ErrKW), FromLoadDump})
	}
	if s, ok := b.byShare(); ok {
		b.all = append(b.all, s)
	}
	if len(b.all) > 0 {
		g := b.all[0]
		b.out.Generation = &g
		return
	}
	if b.out.Running == nil {
		return
	}
	if r, err := b.a.Solve(b.r, b.out.all); err == nil { // sets on a bus of their own draw on the same penstock
		b.out.Generation = &KW{KW: r.CommonKW, From: FromModel}
	}
}

// dumpedWays lists every way to the dumped power, best first.
func (b *balance) dumpedWays() []KW {
	var ways []KW
	if d, ok := b.read(quantity.DumpKW); ok {
		ways = append(ways, d)
	}
	g := b.out.Generation
	if share, shareErr, ok := b.share(); ok {
		switch {
		case b.p.Ballast.ShareOf == plant.ShareOfBallast:
			e := b.elementsKW()
			ways = append(ways, KW{share * e, shareErr * e, FromLoadShare})
		case g != nil:
			ways = append(ways, KW{share * g.KW, math.Hypot(shareErr*g.KW, share*g.ErrKW), FromLoadShare})
		}
	}
	if load, ok := b.read(quantity.LoadKW); ok && g != nil && g.From != FromLoadDump && g.From != FromLoadShare {
		ways = append(ways, KW{g.KW - load.KW, math.Hypot(g.ErrKW, load.ErrKW), g.From})
	}
	return ways
}

func (b *balance) dumped() {
	if ways := b.dumpedWays(); len(ways) > 0 {
		b.out.Dumped = &ways[0]
	}
}

func (b *balance) load() {
	if l, ok := b.read(quantity.LoadKW); ok {
		b.out.Load = &l
		return
	}
	g, d := b.out.Generation, b.out.Dumped
	if g != nil && d != nil {
		b.out.Load = &KW{g.KW - d.KW, math.Hypot(g.ErrKW, d.ErrKW), g.From}
	}
}

// compare says where two ways to the same power disagree by more than twice the root-sum-square of their errors. Where a dead
// element explains it that was said, with both numbers.
func (b *balance) compare() {
	if s := b.out.Suspect; s != nil && s.By == electrical.ByBalance {
		return
	}
	b.compareWays("generation", b.all)
	if len(b.all) < 2 { // otherwise the same disagreement would be told twice
		b.compareWays("dumped power", b.dumpedWays())
	}
}

func (b *balance) compareWays(what string, ways []KW) {
	for i := 1; i < len(ways); i++ {
		a, c := ways[0], ways[i]
		if a.From == FromModel || c.From == FromModel {
			continue
		}
		if diff := math.Abs(a.KW - c.KW); diff > 2*math.Hypot(a.ErrKW, c.ErrKW) {
			b.say("%s is %.1f kW by %s but %.1f kW by %s: more than the gauges' errors apart", what, a.KW, a.From.words(), c.KW, c.From.words())
		}
	}
}

func (b *balance) say(format string, args ...any) {
	b.out.Cautions = append(b.out.Cautions, fmt.Sprintf(format, args...))
}

// Age returns how old the balance's round is at a time.
func (p *Power) Age(at time.Time) time.Duration { return at.Sub(p.Round.Time) }
