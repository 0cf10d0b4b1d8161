package electrical

import (
	"fmt"
	"strings"

	"example.org/headpond/model/plant"
)

// Reserve is the usual advice for a ballast's rating over the greatest generation (rule of thumb, from memory: 10 to 25 % more).
const Reserve = 1.15

// cautions says in sentences what a person should know about the facts.
func (w *work) cautions() {
	f, in := w.facts, w.in
	if in.Volts == nil {
		w.note(fmt.Sprintf("the voltage was not read: the rated %g V is taken", w.volts))
	}
	if w.assumed {
		w.note("which units run is not known: all of the common bus are taken as running")
	}
	if in.PondLevelM == nil && in.Model != nil {
		w.note(fmt.Sprintf("the pond level is not known: a full pond, %.2f m, is taken for the model", w.levelM))
	}
	if len(f.Elements) == 0 {
		w.note("the plant describes no ballast element")
	}
	if dead := w.dead(); len(dead) > 0 {
		w.note("out of work: " + strings.Join(dead, ", "))
	}
	if f.GenerationKW == nil {
		w.note("generation is not known: neither meters, load and dumped power, nor the model with the running units give it")
	}
	w.marginCautions()
	if w.bus.excitation == plant.Capacitor && len(w.units) > 0 {
		w.note("induction generator: any overload may cost its excitation, its frequency floats with the load, and its voltage after a rejection may be higher than shown")
	}
	f.Cautions = w.noted
}

func (w *work) marginCautions() {
	f := w.facts
	if f.RemainingKW != nil && *f.RemainingKW < 0 {
		w.note(fmt.Sprintf("the dumped power is %.1f kW more than the working elements can take: a reading or the list of elements is wrong", -*f.RemainingKW))
	}
	if f.LoadRoomKW != nil && f.DumpedKW != nil && *f.DumpedKW < 0 {
		w.note(fmt.Sprintf("overload: consumers take %.1f kW more than is generated", -*f.DumpedKW))
	}
	if f.Rejection == nil || f.GenerationKW == nil || !(*f.GenerationKW > 0) {
		return
	}
	rises := f.Rejection.Hertz != nil && *f.Rejection.Hertz > w.in.Plant.Supply.Hertz
	switch {
	case f.Rejection.MarginKW < 0 && (rises || f.Rejection.Hertz == nil):
		w.note(fmt.Sprintf("if all consumers dropped off now the ballast would be %.1f kW short: the sets would speed up", -f.Rejection.MarginKW))
	case f.Rejection.MarginKW < 0:
		w.note(fmt.Sprintf("at the voltage that was read the ballast would be %.1f kW short; back at the rated voltage it takes all", -f.Rejection.MarginKW))
	case rises:
		w.note("at the voltage that was read the ballast would take all consumers' power; back at the rated voltage it would not, and the sets would speed up")
	case f.CapacityKW < Reserve*(*f.GenerationKW):
		w.note(fmt.Sprintf("the ballast is %.2f times the generation, less than the usual %g (rule of thumb, from memory)", f.CapacityKW / *f.GenerationKW, Reserve))
	}
}

func (w *work) dead() []string {
	var names []string
	for _, e := range w.facts.Elements {
		if !e.Working {
			names = append(names, e.Name)
		}
	}
	return names
}
