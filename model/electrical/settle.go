package electrical

import (
	"example.org/headpond/model/plant"
	"example.org/headpond/model/steady"
)

// bus is the common bus with the sets that run on it, ready to say where it settles.
type bus struct {
	supply     plant.Supply
	excitation plant.Excitation
	curve      *steady.SpeedCurve // nil: the model cannot tell
	controller *float64
}

// Excite returns how the voltage of a bus with these units is held: by a regulator if any of them has one, else by speed if
// any does that, else it is an induction machine's own with its capacitors.
func Excite(units []plant.Unit) plant.Excitation {
	kind := plant.Capacitor
	for _, u := range units {
		switch u.Excitation {
		case plant.Capacitor:
		case plant.BySpeed:
			kind = plant.BySpeed
		default:
			return plant.Regulated
		}
	}
	return kind
}

// regulatorHolds is the speed ratio down to which a regulator is taken to hold the voltage: below it the machine has not the flux.
// (Common practice, from memory: regulators let the voltage fall with the frequency well before half of it.)
const regulatorHolds = 0.5

// lowest is the speed ratio down to which a balance under overload is looked for.
func (b *bus) lowest() float64 {
	if b.excitation == plant.Regulated {
		return regulatorHolds
	}
	return steady.Slowest
}

// voltage returns the voltage ratio at the speed ratio n: 1 while it is held, n while it follows the speed.
func (b *bus) voltage(n float64) float64 {
	if b.excitation == plant.Regulated {
		return 1
	}
	return n
}

// reject returns where the bus settles when the ballast alone takes the generation. elementsKW is what the working elements
// take at the rated voltage. With P(n) the sets' power at the speed ratio n it is
//
//	P(n) = min(elements · (V/V0)², controller),   V/V0 = 1 (regulated) or n
//
// and the rated frequency where P(1) is not more than that. Without any ballast it is the runaway speed. An induction machine
// is taken as voltage following speed, its voltage being a lower bound, for its capacitors excite it more as it speeds up.
func (b *bus) reject(elementsKW float64) Settled {
	if b.curve == nil {
		return Settled{}
	}
	takes := func(n float64) float64 {
		v := b.voltage(n)
		kw, _ := Limit(elementsKW*v*v, b.controller)
		return kw
	}
	n := b.curve.SettleAbove(takes)
	s := b.at(n)
	s.Runaway = takes(n) <= 0
	s.VoltsAtLeast = b.excitation == plant.Capacitor && n > 1
	return s
}

// overload returns where the bus settles when consumers who would take loadKW at the rated voltage are all that takes the
// generation:
//
//	P(n) = load · (V/V0)²
//
// Regulated, a load beyond the sets' reserve below rated speed has no balance: collapse. With the voltage following the speed
// there is always one. An induction machine loses its excitation at any overload, and the set, freed, runs up.
func (b *bus) overload(loadKW float64) Settled {
	if b.curve == nil {
		return Settled{}
	}
	if b.curve.Power(1) >= loadKW {
		return b.at(1)
	}
	if b.excitation == plant.Capacitor {
		s := b.lost()
		s.RunawayHertz = new(b.supply.Hertz * b.curve.Runaway())
		return s
	}
	n, ok := b.curve.SettleBelow(func(n float64) float64 {
		v := b.voltage(n)
		return loadKW * v * v
	}, b.lowest())
	if !ok {
		return b.lost()
	}
	return b.at(n)
}

// carry returns where the bus settles with consumers of loadKW on it and the ballast taking the rest of generationKW: at rated
// speed while the ballast can, above it where it cannot.
func (b *bus) carry(generationKW, loadKW, elementsKW float64) Settled {
	if b.curve == nil {
		return Settled{}
	}
	if kw, _ := Limit(elementsKW, b.controller); generationKW-loadKW <= kw {
		return b.at(1)
	}
	n := b.curve.SettleAbove(func(n float64) float64 {
		v := b.voltage(n)
		kw, _ := Limit(elementsKW*v*v, b.controller)
		return kw + loadKW*v*v
	})
	return b.at(n)
}

// at is a bus settled at the speed ratio n.
func (b *bus) at(n float64) Settled {
	s := Settled{Hertz: new(b.supply.Hertz * n), Volts: new(b.supply.Volts * b.voltage(n))}
	if b.supply.TripHertz != nil || b.supply.TripVolts != nil {
		s.WithinTrip = new(within(b.supply.TripHertz, *s.Hertz) && within(b.supply.TripVolts, *s.Volts))
	}
	return s
}

// lost is a bus without a balance.
func (b *bus) lost() Settled {
	s := Settled{Collapse: true}
	if b.supply.TripHertz != nil || b.supply.TripVolts != nil {
		s.WithinTrip = new(false)
	}
	return s
}

func within(limits *[2]float64, v float64) bool {
	return limits == nil || v >= limits[0] && v <= limits[1]
}
