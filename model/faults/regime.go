package faults

import (
	"math"
	"slices"

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

// How often a plant is overwhelmed whose load nobody reads (our own): most plants hardly ever; but one whose ballast is too
// small, or whose consumers want too much, is so on most rounds, since that lasts until somebody does something about it.
const (
	hardlyShare = 0.02
	oftenShare  = 0.6
	oftenPrior  = 0.03 // that it is one of these plants, for either way
)

// chancesOf works a look's regimes out when deadKW of the elements (by their stamps) are dead. Where nothing tells the dumped
// power, the ballast is taken to hold the frequency, unless the plant is one that is often in another regime.
func (w *work) chancesOf(i int, deadKW float64, often regime) chances {
	fullShare, overShare := hardlyShare, hardlyShare
	switch often {
	case full:
		fullShare = oftenShare
	case over:
		overShare = oftenShare
	case held, misread:
	}
	unknown := chances{math.Log(1 - fullShare - overShare), math.Log(fullShare), math.Log(overShare), 0, 0}
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
func (w *work) regimes(deadKW float64, often regime) (kinds []regime, logL []float64) {
	kinds, logL = make([]regime, len(w.win.looks)), make([]float64, len(w.win.looks))
	rated := w.plant.Supply.Hertz
	if w.induction {
		return kinds, logL
	}
	var fast, slow away
	for i, s := range w.hertz.slots {
		c := w.chancesOf(i, deadKW, often)
		if !s.ok {
			if w.sags(i, c) {
				kinds[i], logL[i] = over, c.over+c.atNothing-c.held
			}
			continue
		}
		spread := math.Hypot(s.sd, w.hertz.nu)
		z := (s.y - s.f) / spread
		best, kind := c.held-0.5*z*z-math.Log(spread*math.Sqrt(2*math.Pi)), held
		logL[i] = c.held
		off := (s.y - rated) / rated
		if math.Abs(off) < leastOff {
			// within what a controller that holds leaves
		} else if off > 0 {
			if v := c.full + c.atLimit + fast.logDensity(off, fastShare) - math.Log(rated); v > best {
				best, kind = v, full
			}
		} else if v := c.over + c.atNothing + slow.logDensity(-off, slowShare) - math.Log(rated); v > best {
			best, kind = v, over
		}
		if v := math.Log(hertzSlip / (hertzRange * rated)); v > best {
			best, kind = v, misread
		}
		switch kind {
		case full:
			fast = away{off, true}
		case over:
			slow = away{-off, true}
		case held:
			continue
		case misread:
		}
		kinds[i], logL[i] = kind, best
	}
	return kinds, logL
}

// away is how far the frequency was off, over the rated one, when the plant was last in a regime.
type away struct {
	share float64
	known bool
}

// How the frequency of one round in a regime resembles that of the last one in it (our own): where the load is the same it is
// the same, and mostly not far from it. The rest is as if it were the first.
const (
	alikeShare, alikeSpread = 0.4, 0.004
	aboutShare, aboutSpread = 0.3, 0.02
	firstShare              = 1 - alikeShare - aboutShare
)

// logDensity is that of being off by a share, over the rated frequency, where the first such share spreads exponentially.
func (a away) logDensity(share, scale float64) float64 {
	first := math.Exp(-share/scale) / scale
	if !a.known {
		return math.Log(first)
	}
	bell := func(sd float64) float64 {
		z := (share - a.share) / sd
		return math.Exp(-0.5*z*z) / (sd * math.Sqrt(2*math.Pi))
	}
	return math.Log(alikeShare*bell(alikeSpread) + aboutShare*bell(aboutSpread) + firstShare*first)
}

// sags reports whether the voltage of a round on which no frequency was read is better explained by an overload than by a
// set that holds it.
func (w *work) sags(i int, c chances) bool {
	v := w.volt.slots[i]
	rated := w.plant.Supply.Volts
	if !v.ok || v.y >= rated {
		return false
	}
	spread := math.Hypot(v.sd, w.volt.nu)
	z := (v.y - v.f) / spread
	return c.over+c.atNothing+sagged(v.y, rated) > c.held-0.5*z*z-math.Log(spread*math.Sqrt(2*math.Pi))
}

// sagged is the log-density of a voltage in an overload.
func sagged(volts, rated float64) float64 {
	return (volts-rated)/(sagShare*rated) - math.Log(sagShare*rated)
}

// hertzParts are the parts of the frequency with some elements dead: in the other regimes the frequency follows from the
// balance and is no reading of the set value.
func (w *work) hertzParts(deadKW float64, often regime) ([]part, []regime) {
	kinds, logL := w.regimes(deadKW, often)
	out := make([]part, len(kinds))
	for i, s := range w.hertz.slots {
		if kinds[i] != held {
			s = slot{}
		}
		out[i] = s.part(0, 0)
		out[i].extra = logL[i]
	}
	return out, kinds
}

// hertzOften weighs the plants that are hardly ever overwhelmed and those that often are, from some round on: the likeliest
// one's parts and regimes, and the log-likelihood of all of them together.
func (w *work) hertzOften() (parts []part, kinds []regime, logL float64) {
	sd := []float64{w.hertz.nu}
	parts, kinds = w.hertzParts(0, held)
	best := at(sd, parts, parts, 0).logL + math.Log(1-2*oftenPrior)
	all := []float64{best}
	rare, rareKinds := parts, kinds
	for _, often := range []regime{full, over} {
		p, k := w.hertzParts(0, often)
		n := begins(rare, p)
		prior := oftenPrior / 2 // it was so before
		if n > 0 {
			prior /= float64(len(p))
		}
		p, k = slices.Concat(rare[:n], p[n:]), slices.Concat(rareKinds[:n], k[n:])
		l := at(sd, p, p, 0).logL + math.Log(prior)
		all = append(all, l)
		if l > best {
			best, parts, kinds = l, p, k
		}
	}
	return parts, kinds, logSum(all)
}

// deadOften is how often a dead element leaves a ballast that is full on most rounds (our own).
const deadOften = 0.3

// deadHertz are the frequency's parts, and the regimes, with some elements dead. The ballast may then be full hardly ever or
// often, whichever is likelier; how likely that is stands in the last part, which belongs to every beginning.
func (w *work) deadHertz(deadKW float64) ([]part, []regime) {
	sd := []float64{w.hertz.nu}
	parts, kinds := w.hertzParts(deadKW, held)
	often, oftenKinds := w.hertzParts(deadKW, full)
	prior := 1 - deadOften
	from := begins(parts, often)
	if at(sd, often[from:], often[from:], 0).logL+math.Log(deadOften) > at(sd, parts[from:], parts[from:], 0).logL+math.Log(1-deadOften) {
		parts, kinds, prior = often, oftenKinds, deadOften
	}
	parts[len(parts)-1].extra += math.Log(prior)
	return parts, kinds
}

// begins is the round from which on a plant is likeliest to have been often overwhelmed.
func begins(rare, often []part) int {
	n, sum, most := len(rare), 0.0, 0.0
	for i := len(rare) - 1; i >= 0; i-- {
		sum += often[i].alone() - rare[i].alone()
		if sum > most {
			n, most = i, sum
		}
	}
	return n
}

// alone is what a part of a system of one channel says by itself, ν being 0.
func (p *part) alone() float64 { return p.extra - 0.5*(p.rr+p.logDet+float64(p.n)*math.Log(2*math.Pi)) }

// voltParts are the parts of the voltage, which sags in an overload as it will.
func (w *work) voltParts() []part {
	rated := w.plant.Supply.Volts
	out := make([]part, len(w.volt.slots))
	for i, s := range w.volt.slots {
		out[i] = s.part(0, 0)
		if s.ok && w.kinds[i] == over && s.y < rated {
			out[i] = slot{}.part(0, 0)
			out[i].extra = sagged(s.y, rated)
		}
	}
	return out
}
