package faults

import (
	"math"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
)

// regime is what the balance of a round is taken to be by its frequency and its dumped power.
type regime uint8

const (
	held    regime = iota // the controller holds the frequency
	full                  // the ballast takes all it can, and the sets run fast
	over                  // nothing is left to dump, and the sets run slow
	misread               // the frequency was read or written wrong
)

// How the frequency spreads beyond its set value in the other regimes: exponentially, by these shares of the rated one (our
// own; from next to nothing up to the trip).
const (
	fastShare = 0.06
	slowShare = 0.06
	sagShare  = 0.10 // and the voltage with it in an overload
)

// hertzSlip is how often a frequency is read or written wrong, and hertzRange over what share of the rated one it then spreads.
const hertzSlip, hertzRange = 0.002, 0.4

// leastOff is how far the frequency must be off, over the rated one, before another regime is thought of.
const leastOff = 0.008

// heaterSpread is how far heaters are off their stamps, one standard deviation over their power.
const heaterSpread = 0.04

// dumpSeen is the power that goes into the ballast by a look's own readings, with its error, when deadKW of the elements (by
// their stamps) are dead: by its own meter, by those of the sets and the load, by the share, else by the model; false where
// nothing tells.
func (w *work) dumpSeen(i int, deadKW float64) (kw, sd float64, ok bool) {
	l := &w.win.looks[i]
	if l.dumpKW != nil {
		return *l.dumpKW, w.sd(quantity.Key(quantity.DumpKW)), true
	}
	if g, err, read := w.metered(l); read && l.loadKW != nil {
		return g - *l.loadKW, math.Hypot(err, math.Hypot(l.loadSD, loadDrift**l.loadKW+loadDriftKW)), true
	}
	k := quantity.Key(quantity.DumpSharePct)
	if pct, read := l.round.Value(k); read {
		s, err := pct/100, w.sd(k)/100
		switch {
		case w.plant.Ballast.ShareOf == plant.ShareOfBallast && l.busKW > 0:
			takes := l.elements(&change{deadKW: deadKW})
			return s * takes, err * takes, true
		case w.plant.Ballast.ShareOf != plant.ShareOfBallast && l.loadKW != nil && s < 0.97:
			left := 1 - s
			return *l.loadKW * s / left, math.Hypot(l.loadSD*s/left, *l.loadKW*err/(left*left)) + 0.02, true
		}
	}
	if l.loadKW == nil || !l.known {
		return 0, 0, false
	}
	if g := w.commonKW[i]; g > 0 {
		return g - *l.loadKW, math.Hypot(l.loadSD, 0.06*g), true
	}
	return 0, 0, false
}

// metered adds the meters of the running sets of the common bus; each of them must have been read.
func (w *work) metered(l *look) (kw, sd float64, ok bool) {
	n := 0
	for _, id := range l.running {
		u, _ := w.plant.UnitByID(id)
		if !u.Common() {
			continue
		}
		v, read := l.round.Value(quantity.NewKey(id, quantity.KW))
		if !read {
			return 0, 0, false
		}
		kw, sd, n = kw+v, math.Hypot(sd, w.sd(quantity.NewKey(id, quantity.KW))), n+1
	}
	return kw, sd, n > 0
}

// chances is how likely each regime is on a look, by the forward model, and how well the dumped power fits each.
type chances struct {
	held, full, over   float64 // logarithms of probabilities
	atLimit, atNothing float64 // how much better than chance the dumped power fits these two, as log-likelihood ratios
}

// What a round's dumped power may say at most of its regime, and how unlikely the model may call a regime, as log-likelihoods.
const mostTelling, leastChance = 2.5, -5.0

// chancesOf works a look's regimes out when deadKW of the elements (by their stamps) are dead. Where nothing tells the dumped
// power, the ballast is taken to hold the frequency.
func (w *work) chancesOf(i int, deadKW float64) chances {
	const hardly = 0.02
	unknown := chances{math.Log(1 - 2*hardly), math.Log(hardly), math.Log(hardly), 0, 0}
	d, sd, ok := w.dumpSeen(i, deadKW)
	if !ok {
		return unknown
	}
	l := &w.win.looks[i]
	limit := math.Min(w.plantLimit(), l.elements(&change{deadKW: deadKW}))
	likely := func(at, sd float64) float64 {
		z := (d - at) / sd
		if z > 0 && at > 0 {
			z /= 2 // heaters may take more than their stamp, and a meter may show what the controller wants
		}
		return math.Min(mostTelling, -0.5*z*z+math.Log(math.Max(limit, 0.1)/(sd*math.Sqrt(2*math.Pi))))
	}
	c := unknown
	c.atLimit, c.atNothing = likely(limit, math.Hypot(sd, heaterSpread*limit)), likely(0, math.Max(sd, 0.03))
	left, spread, ok := w.leftAtRest(i, d, sd)
	if !ok {
		return c
	}
	rest := limit
	if !w.regulated {
		rest = math.Min(w.plantLimit(), math.Max(0, l.busKW/l.perVolt-deadKW))
	}
	full := normalCDF((left - rest) / math.Hypot(spread, heaterSpread*rest))
	over := normalCDF(-left / spread)
	c.full, c.over = math.Log(math.Max(full, 1e-12)), math.Log(math.Max(over, 1e-12))
	c.held = math.Max(leastChance, math.Log(math.Max(1-full-over, 1e-12)))
	return c
}

// ratioSpread is how far the model may be off in how the power changes from one speed to another, one standard deviation over
// the power and the change of speed.
const ratioSpread = 0.3

// leftAtRest is what the consumers would leave of the generation at rated speed and voltage, kW, with its error: the power that
// is known by the readings, moved there by the model. Only if it exceeds what the ballast takes do the sets run fast, and only
// if it is below nothing do they run slow.
func (w *work) leftAtRest(i int, dumpedKW, sd float64) (kw, spread float64, ok bool) {
	l := &w.win.looks[i]
	if l.loadKW == nil || !(w.commonKW[i] > 0) {
		return 0, 0, false
	}
	g, load, ok := w.wanted(i)
	if !ok {
		return 0, 0, false
	}
	read := *l.loadKW + dumpedKW
	spread = math.Hypot(math.Hypot(sd, l.loadSD+0.05+loadDrift*load), ratioSpread*read*math.Abs(l.speed-1))
	return read*g/w.commonKW[i] - load, spread, true
}

// regimes tells for each look which regime explains its frequency best when deadKW of the elements (by their stamps) are dead,
// and the explanation's log-likelihood; of a frequency that is held only its chance, for the reading itself is weighed elsewhere.
func (w *work) regimes(deadKW float64) (kinds []regime, logL []float64) {
	kinds, logL = make([]regime, len(w.win.looks)), make([]float64, len(w.win.looks))
	rated := w.plant.Supply.Hertz
	if w.induction {
		return kinds, logL
	}
	for i, s := range w.hertz.slots {
		if !s.ok {
			continue
		}
		c := w.chancesOf(i, deadKW)
		spread := math.Hypot(s.sd, w.hertz.nu)
		z := (s.y - s.f) / spread
		best, kind := c.held-0.5*z*z-math.Log(spread*math.Sqrt(2*math.Pi)), held
		logL[i] = c.held
		off := (s.y - rated) / rated
		if math.Abs(off) < leastOff {
			// within what a controller that holds leaves
		} else if off > 0 {
			if v := c.full + c.atLimit - off/fastShare - math.Log(fastShare*rated); v > best {
				best, kind = v, full
			}
		} else if v := c.over + c.atNothing + off/slowShare - math.Log(slowShare*rated); v > best {
			best, kind = v, over
		}
		if v := math.Log(hertzSlip / (hertzRange * rated)); v > best {
			best, kind = v, misread
		}
		if kind != held {
			kinds[i], logL[i] = kind, best
		}
	}
	return kinds, logL
}

// hertzParts are the parts of the frequency with some elements dead: in the other regimes the frequency follows from the
// balance and is no reading of the set value.
func (w *work) hertzParts(deadKW float64) []part {
	kinds, logL := w.regimes(deadKW)
	out := make([]part, len(kinds))
	for i, s := range w.hertz.slots {
		if kinds[i] != held {
			s = slot{}
		}
		out[i] = s.part(0, 0)
		out[i].extra = logL[i]
	}
	return out
}

// voltParts are the parts of the voltage, which sags in an overload as it will.
func (w *work) voltParts() []part {
	rated := w.plant.Supply.Volts
	out := make([]part, len(w.volt.slots))
	for i, s := range w.volt.slots {
		out[i] = s.part(0, 0)
		if s.ok && w.kinds[i] == over && s.y < rated {
			out[i] = slot{}.part(0, 0)
			out[i].extra = (s.y-rated)/(sagShare*rated) - math.Log(sagShare*rated)
		}
	}
	return out
}
