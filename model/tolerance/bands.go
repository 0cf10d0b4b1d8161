package tolerance

import (
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
)

// Bands are the limits in force at a plant. Make one with For.
type Bands struct {
	set   SetInfo
	volts Band
	hertz Band
	own   map[quantity.Key]Band
}

// For returns the limits in force at a plant: its chosen built-in set at its nominal values, and its own bands over it.
// A set that is not known, which plant.Parse refuses, is taken as the default.
func For(p *plant.Plant) Bands {
	set, ok := Lookup(p.Supply.Bands)
	if !ok {
		set = isolated()
	}
	b := Bands{set: set, volts: set.Volts(p.Supply.Volts), hertz: set.Hertz(p.Supply.Hertz), own: map[quantity.Key]Band{}}
	for _, o := range p.Bands {
		source := o.Source
		if source == "" {
			source = OwnSource
		}
		own := Band{InMin: o.InMin, InMax: o.InMax, NearMin: o.NearMin, NearMax: o.NearMax, Source: source}
		b.own[quantity.Key(o.Quantity)] = own.filled()
	}
	return b
}

// OwnSource is the source of a band of the plant file that gives none.
const OwnSource = "this plant's file"

// Set returns the built-in set that the plant chose.
func (b Bands) Set() SetInfo { return b.set }

// For returns the band of a reading, and false where there is none: then a reading has no state. A band for a quantity
// judges it for each unit too ("volts" judges "A.volts"), unless the unit's reading has its own. Of the built-in sets only
// the voltage and the frequency have bands.
//
// There is no built-in band for bearing temperatures. The common practice of a warning at 80 °C and a stop at 95 °C is known
// to us from memory only, and numbers from memory are never in force unless they are chosen; the starting file offers them
// as a band of the plant's own, and plant.Advice says when none is set.
func (b Bands) For(k quantity.Key) (Band, bool) {
	if own, ok := b.own[k]; ok {
		return own, true
	}
	name := k.Name()
	if own, ok := b.own[quantity.Key(name)]; ok {
		return own, true
	}
	switch name {
	case quantity.Volts:
		return b.volts, true
	case quantity.Hertz:
		return b.hertz, true
	}
	return Band{}, false
}
