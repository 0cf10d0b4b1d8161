package faults

import (
	"math"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
)

// slot is one look's reading of a system of one channel.
type slot struct {
	ok       bool
	y, f, sd float64
}

// line is a system of one channel: the voltage, the frequency, or one bearing's temperature. Its ν is the plant's usual offset.
type line struct {
	key   quantity.Key
	nu    float64
	slots []slot
}

// part is a slot's part with the fault's change of the reading and its slope by a step of the size.
func (s slot) part(delta, slope float64) part {
	if !s.ok {
		return part{jr: []float64{0}, jj: []float64{0}, jc: []float64{0}}
	}
	r, j, c := (s.y-s.f-delta)/s.sd, 1/s.sd, slope/s.sd
	return part{n: 1, logDet: 2 * math.Log(s.sd), rr: r * r, jr: []float64{j * r}, jj: []float64{j * j}, cc: c * c, cr: c * r, jc: []float64{c * j}}
}

// How the bus and the bearings vary on a sound plant, one standard deviation (our own).
const (
	voltSet, voltHunt     = 0.010, 0.008 // of the rated voltage: where the regulator is set, and how it sags and hunts
	hertzSet, hertzHunt   = 0.003, 0.002 // of the rated frequency
	floatingHertz         = 0.03         // of a bus of induction machines, which floats with the load
	bearingRise, riseSet  = 22.0, 8.0    // K over the air
	bearingHunt, noAirSet = 2.5, 6.0     // K; the latter where the air was not read
	usualAirC             = 16.0
	airMemoryRounds       = 4
)

// voltLine is the bus's voltage.
func (w *work) voltLine() line {
	k := quantity.Key(quantity.Volts)
	rated := w.plant.Supply.Volts
	out := line{key: k, nu: voltSet * rated}
	for i := range w.win.looks {
		l := &w.win.looks[i]
		s := slot{f: rated, sd: math.Hypot(w.sd(k), voltHunt*rated)}
		if l.volts != nil && w.turning(l) && (w.regulated || !l.unsteady) {
			s.ok, s.y = true, *l.volts
			if !w.regulated {
				s.f = rated * l.speed // it follows the speed
				s.sd = math.Hypot(s.sd, voltHunt*rated)
			}
		}
		out.slots = append(out.slots, s)
	}
	return out
}

// hertzLine is the bus's frequency.
func (w *work) hertzLine() line {
	k := quantity.Key(quantity.Hertz)
	rated := w.plant.Supply.Hertz
	hunt := hertzHunt
	if w.induction {
		hunt = floatingHertz
	}
	out := line{key: k, nu: hertzSet * rated}
	for i := range w.win.looks {
		l := &w.win.looks[i]
		s := slot{f: rated, sd: math.Hypot(w.sd(k), hunt*rated)}
		if l.hertz != nil && w.turning(l) {
			s.ok, s.y = true, *l.hertz
		}
		out.slots = append(out.slots, s)
	}
	return out
}

// turning reports whether the bus is known or may be taken to be alive: a reading of 0 on a standing plant says nothing.
func (w *work) turning(l *look) bool {
	if l.running == nil {
		return l.volts == nil || *l.volts > 0.3*w.plant.Supply.Volts
	}
	for _, id := range l.running {
		if u, ok := w.plant.UnitByID(id); ok && u.Common() {
			return true
		}
	}
	return false
}

// bearingLines are the bearings' temperatures over the air's, one line for each gauge that was read.
func (w *work) bearingLines() []line {
	var out []line
	keys := []quantity.Key{quantity.Key(quantity.BearingC)}
	for _, u := range w.plant.Units {
		keys = append(keys, quantity.NewKey(u.ID, quantity.BearingC))
	}
	for _, k := range keys {
		ln, any := line{key: k, nu: riseSet}, false
		for i := range w.win.looks {
			s := w.bearingSlot(k, i)
			any = any || s.ok
			ln.slots = append(ln.slots, s)
		}
		if any {
			out = append(out, ln)
		}
	}
	return out
}

func (w *work) bearingSlot(k quantity.Key, i int) slot {
	l := &w.win.looks[i]
	v, ok := l.round.Value(k)
	if !ok || !l.turns(k.Unit()) {
		return slot{}
	}
	air, fresh := w.air(i)
	s := slot{ok: true, y: v, f: air + bearingRise, sd: math.Hypot(w.sd(k), bearingHunt)}
	if !fresh {
		s.sd = math.Hypot(s.sd, noAirSet)
	}
	return s
}

// turns reports whether a unit runs, or any unit for "".
func (l *look) turns(unit string) bool {
	for _, id := range l.running {
		if unit == "" || id == unit {
			return true
		}
	}
	return false
}

// air is the air's temperature by the round, or by one shortly before; else a usual one.
func (w *work) air(i int) (c float64, fresh bool) {
	for j := i; j >= 0 && i-j <= airMemoryRounds; j-- {
		if v, ok := w.win.looks[j].round.Value(quantity.Key(quantity.AirC)); ok {
			return v, j == i
		}
	}
	return usualAirC, false
}

// excitation fills in how the common bus's voltage is held.
func (w *work) excitation() {
	common := 0
	w.induction = true
	for _, u := range w.plant.Units {
		if !u.Common() {
			continue
		}
		common++
		w.regulated = w.regulated || u.Excitation == plant.Regulated
		w.induction = w.induction && u.Excitation == plant.Capacitor
	}
	w.induction = w.induction && common > 0
}
