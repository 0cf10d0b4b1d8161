package electrical

import "example.org/headpond/model/plant"

// startingFactor is how far above its rating a generator's apparent power may go while a motor starts (rule of thumb, from
// memory).
const startingFactor = 1.5

// Why a load fits or does not.
const (
	WhyOK       = "ok"
	WhyRoom     = "room"     // its running power is more than the load room
	WhyStarting = "starting" // its starting power is more than the generators can give
)

// Fit judges whether a load may be switched on: its running power within the load room, and what runs with its starting kVA
// (its kW where none is given) within 1.5 × the generators' rated kVA, at a power factor of 1. On an induction machine
// (capacitor) a motor's starting kVA must also be within the dumped power, for the machine has no excitation to spare.
func Fit(l plant.Load, roomKW, loadKW, ratedKVA float64, excitation plant.Excitation) LoadFit {
	f := LoadFit{Name: l.Name, KW: l.KW, StartKVA: l.StartKVA, Essential: l.Essential, Why: WhyOK}
	start := l.KW
	if l.StartKVA != nil {
		start = *l.StartKVA
	}
	switch {
	case l.KW > roomKW:
		f.Why = WhyRoom
	case loadKW+start > startingFactor*ratedKVA:
		f.Why = WhyStarting
	case excitation == plant.Capacitor && l.StartKVA != nil && start > roomKW:
		f.Why = WhyStarting
	}
	f.Fits = f.Why == WhyOK
	return f
}

// loads judges each of the plant's listed loads alone. Without the dumped power or the load nothing can be judged.
func (w *work) loads() {
	f := w.facts
	if f.LoadRoomKW == nil || f.LoadKW == nil || len(w.in.Plant.Loads) == 0 {
		return
	}
	kva := startingKVA(w.units)
	for _, l := range w.in.Plant.Loads {
		f.LoadsThatFit = append(f.LoadsThatFit, Fit(l, *f.LoadRoomKW, *f.LoadKW, kva, w.bus.excitation))
	}
}
