package assess

import (
	"fmt"
	"math"
	"slices"

	"example.org/headpond/model/electrical"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// suspect looks for a dead element that the log does not know of. Of two signs the first that shows is told:
//
//   - balance: the controller says that more is dumped than the generation leaves. It goes by how far it turned the elements
//     on, and a dead one takes nothing all the same.
//   - frequency: the frequency is above its band, so the controller has turned all elements on, and yet less is dumped than
//     they should take.
//
// What the gauges' errors or the heaters' tolerance explain is not told, nor what is of no element's size.
func (b *balance) suspect() {
	elements := b.elementsKW()
	if !(elements > 0) {
		return
	}
	volts := b.p.Supply.Volts
	if b.out.Volts != nil {
		volts = *b.out.Volts
	}
	working := b.a.h.ElementsWorking(b.r.Time)
	for _, c := range append(b.overclaims(elements), b.shortfalls(elements)...) {
		if s := electrical.SuspectOf(b.p, working, volts, c.Missing); s != nil && (c.confirm == nil || c.confirm()) {
			b.out.Suspect = s
			b.say("likely a dead ballast element: %s; fully on it would lack %.1f kW, the size of %s", c.text, s.LostKW, s.Which())
			return
		}
	}
}

// conclusion is a power that seems missing, and the readings that say so.
type conclusion struct {
	electrical.Missing
	text    string
	confirm func() bool // a further test that costs more; nil: none
}

// overclaims compares what the controller says is dumped with what the generation leaves, by every pair of ways to the two
// that have nothing in common but the load.
func (b *balance) overclaims(elements float64) []conclusion {
	load, ok := b.read(quantity.LoadKW)
	if !ok {
		return nil
	}
	var list []conclusion
	claim := func(claimed, left KW, saying, leaving string, confirm func() bool) {
		list = append(list, conclusion{
			Missing: electrical.Missing{
				By: electrical.ByBalance, KW: claimed.KW - left.KW, ErrKW: math.Hypot(claimed.ErrKW, left.ErrKW),
				Duty: math.Min(1, claimed.KW/elements), SpareKW: b.spare(claimed.KW),
			},
			text:    fmt.Sprintf("by %s the ballast takes %.1f kW, but %s", saying, claimed.KW, fmt.Sprintf(leaving, max(0, left.KW))),
			confirm: confirm,
		})
	}
	less := func(g KW) KW { return KW{KW: g.KW - load.KW, ErrKW: math.Hypot(g.ErrKW, load.ErrKW)} }
	meters, metered := b.metered()
	dump, dumpRead := b.read(quantity.DumpKW)
	share, shareErr, shareRead := b.share()
	const byMeters = "by the meters only %.1f kW are left for it"
	switch {
	case shareRead && b.p.Ballast.ShareOf == plant.ShareOfBallast:
		said := KW{KW: share * elements, ErrKW: shareErr * elements}
		if metered {
			claim(said, less(meters), FromLoadShare.words(), byMeters, nil)
		}
		if dumpRead {
			claim(said, dump, FromLoadShare.words(), "its meter shows %.1f kW", nil)
		}
		if g, ok := b.modelled(); ok && !metered && !dumpRead {
			claim(said, less(g), FromLoadShare.words(), "the plant model leaves only %.1f kW for it", func() bool { return b.usuallySound(said.KW+load.KW, g.KW) })
		}
	case shareRead && metered:
		said := KW{KW: share * meters.KW, ErrKW: math.Hypot(shareErr*meters.KW, share*meters.ErrKW)}
		claim(said, less(meters), FromLoadShare.words(), byMeters, nil)
	}
	if dumpRead && metered {
		claim(dump, less(meters), "its meter", byMeters, nil)
	}
	return list
}

// unreadVolts is what a voltage that was not read may be off the rated one, one standard deviation over it: a regulated bus
// in its band. What elements take goes with its square.
const unreadVolts = 0.025

// spare is how far sound elements may be off a power that they should take, kW.
func (b *balance) spare(kw float64) float64 {
	s := electrical.HeaterError(kw)
	if b.out.Volts == nil {
		s = math.Hypot(s, 2*unreadVolts*kw)
	}
	return s
}

// modelTrust is how far the plant's description is trusted for the generation of the running sets, one standard deviation
// over it. Our own choice: name plates of pumps run as turbines are seldom better.
const modelTrust = 0.05

// modelled is the generation that the plant should give.
func (b *balance) modelled() (KW, bool) {
	if len(b.out.all) == 0 {
		return KW{}, false
	}
	r, err := b.a.Solve(b.r, b.out.all)
	if err != nil || !(r.CommonKW > 0) {
		return KW{}, false
	}
	return KW{KW: r.CommonKW, ErrKW: modelTrust * r.CommonKW, From: FromModel}, true
}

// soundDays is how many days of earlier rounds tell how the description and the readings usually compare, and soundRounds how
// many rounds at least.
const (
	soundDays   = 60
	soundRounds = 8
)

// usuallySound reports whether the readings usually agree with the description, so that a power that is said to be more than
// the description gives means something. A plant that always gives more than its name plates say is no sign of anything.
func (b *balance) usuallySound(saidKW, modelKW float64) bool {
	var ratios []float64
	for i := b.a.upTo(b.r.Time) - 1; i >= 0; i-- {
		old := b.a.h.Rounds[i]
		if b.r.Time.Sub(old.Time).Hours() > soundDays*24 {
			break
		}
		if old.Time.Equal(b.r.Time) || b.a.h.PlantAt(old.Time) != b.p {
			continue
		}
		if ratio, ok := b.a.generationRatio(old); ok {
			ratios = append(ratios, ratio)
		}
	}
	if len(ratios) < soundRounds {
		return true
	}
	slices.Sort(ratios)
	usual := ratios[len(ratios)/2]
	return saidKW > (usual+electrical.SuspectSigmas*modelTrust)*modelKW
}

// generationRatio is the generation of a round by its readings over the description's.
func (a *Assessor) generationRatio(r record.Round) (float64, bool) {
	b := balance{a: a, p: a.h.PlantAt(r.Time), r: r, out: &Power{Round: r}}
	running, known := a.Running(r)
	if !known {
		return 0, false
	}
	b.out.all, b.out.Running = running, b.common(running)
	b.bus()
	said, ok := b.byShare()
	model, modelled := b.modelled()
	if !ok || !modelled {
		return 0, false
	}
	return said.KW / model.KW, true
}

// shortfalls compares what is dumped with what all elements should take, where the frequency says that all are on: it is
// above its band, beyond the gauge's error. A controller that can divert no more is no dead element, and the frequency of a bus of
// induction machines alone floats with its load and tells nothing.
func (b *balance) shortfalls(elements float64) []conclusion {
	if b.floats() {
		return nil
	}
	hz := b.out.Hertz
	band, ok := b.a.Bands(b.p).For(quantity.Key(quantity.Hertz))
	if hz == nil || !ok || band.InMax == nil || *hz <= *band.InMax+2*b.p.ReadingError(quantity.Key(quantity.Hertz)) {
		return nil
	}
	dumped, ok := b.measuredDump()
	if !ok || !(dumped.KW > 0) {
		return nil
	}
	capacity, _ := electrical.Limit(elements, b.p.Ballast.ControllerKW)
	spare := b.spare(dumped.KW)
	if capacity-dumped.KW <= electrical.SuspectSigmas*math.Hypot(dumped.ErrKW, spare) {
		return nil
	}
	return []conclusion{{
		Missing: electrical.Missing{By: electrical.ByFrequency, KW: elements - dumped.KW, ErrKW: dumped.ErrKW, Duty: 1, SpareKW: spare},
		text:    fmt.Sprintf("at %.1f Hz all elements must be on, yet the ballast takes %.1f of %.1f kW", *hz, dumped.KW, capacity),
	}}
}

// floats reports whether the running sets of the common bus are induction machines with capacitors, or may be.
func (b *balance) floats() bool {
	var units []plant.Unit
	for _, u := range b.p.Units {
		if u.Common() && (b.out.Running == nil || slices.Contains(b.out.Running, u.ID)) {
			units = append(units, u)
		}
	}
	return electrical.Excite(units) == plant.Capacitor
}

// measuredDump is the dumped power by what measures it: the meters and the load, its own meter, or a share of the generation.
// A share of the ballast is what the controller wants.
func (b *balance) measuredDump() (KW, bool) {
	load, haveLoad := b.read(quantity.LoadKW)
	if m, ok := b.metered(); ok && haveLoad {
		return KW{KW: m.KW - load.KW, ErrKW: math.Hypot(m.ErrKW, load.ErrKW)}, true
	}
	if d, ok := b.read(quantity.DumpKW); ok {
		return d, true
	}
	share, shareErr, ok := b.share()
	if !ok || !haveLoad || b.p.Ballast.ShareOf == plant.ShareOfBallast || share > shareLimit {
		return KW{}, false
	}
	// From the load alone, D = L s/(1 − s), whose error is not that of two independent readings.
	left := 1 - share
	return KW{KW: load.KW * share / left, ErrKW: math.Hypot(load.ErrKW*share/left, load.KW*shareErr/(left*left))}, true
}
