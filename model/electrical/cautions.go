package electrical

import (
	"fmt"
	"strings"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
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
		w.note(fmt.Sprintf("the pond level is not known: a full pond, %s, is taken for the model", w.levelText()))
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

// OverloadWords says that consumers take more than is generated and where that ends, "" where they do not.
func (f *Facts) OverloadWords() string {
	if f.DumpedKW == nil || !Shows(-*f.DumpedKW) {
		return ""
	}
	words := fmt.Sprintf("overload: consumers take %.1f kW more than is generated", -*f.DumpedKW)
	switch o := f.Overload; {
	case o == nil:
	case o.Collapse && o.RunawayHertz != nil:
		words += ", so the excitation is lost and the sets run up"
	case o.Collapse:
		words += ", so the supply is lost"
	case o.Hertz != nil:
		words += fmt.Sprintf(", so the frequency falls to about %.0f Hz", *o.Hertz)
	}
	return words
}

func (w *work) marginCautions() {
	f := w.facts
	if f.RemainingKW != nil && Shows(-*f.RemainingKW) {
		w.note(fmt.Sprintf("the dumped power is %.1f kW more than the working elements can take: a reading or the list of elements is wrong", -*f.RemainingKW))
	}
	if words := f.OverloadWords(); words != "" {
		w.note(words)
	}
	words, _ := f.RejectionWords()
	switch {
	case words != "":
		w.note(words)
	case f.GenerationKW != nil && *f.GenerationKW > 0 && f.CapacityKW < Reserve*(*f.GenerationKW):
		w.note(fmt.Sprintf("the ballast is %.2f times the generation, less than the usual %g (rule of thumb, from memory)", f.CapacityKW / *f.GenerationKW, Reserve))
	}
}

// shownKW is the least power that a person sees in tenths of a kW.
const shownKW = 0.05

// Shows reports whether a power, kW, shows at all where it is written in tenths: a shortage of 0.0 kW is none.
func Shows(kw float64) bool { return kw >= shownKW }

// RejectionWords says what happens if all consumers dropped off now and the ballast cannot take all, "" where it can. speedsUp is
// true where the sets would speed up. All that warns of it says it in these words.
func (f *Facts) RejectionWords() (words string, speedsUp bool) {
	r := f.Rejection
	if r == nil || f.GenerationKW == nil || !(*f.GenerationKW > 0) {
		return "", false
	}
	rises := r.Hertz != nil && *r.Hertz > f.nominalHz
	where := ""
	if rises {
		where = fmt.Sprintf(" to about %.0f Hz", *r.Hertz)
		if r.WithinTrip != nil && !*r.WithinTrip {
			where += ", beyond the trip settings"
		}
	}
	switch {
	case r.Runaway:
		return fmt.Sprintf("if all consumers dropped off now nothing would take the power: the sets would run up%s", where), true
	case Shows(-r.MarginKW) && (rises || r.Hertz == nil):
		return fmt.Sprintf("if all consumers dropped off now the ballast would be %.1f kW short: the sets would speed up%s", -r.MarginKW, where), true
	case Shows(-r.MarginKW):
		return fmt.Sprintf("at the voltage that was read the ballast would be %.1f kW short; back at the rated voltage it takes all", -r.MarginKW), false
	case rises && r.MarginKW < 0:
		return "if all consumers dropped off now the ballast would take just about all, with nothing to spare", false
	case rises:
		return "at the voltage that was read the ballast would take all consumers' power; back at the rated voltage it would not, and the sets would speed up" + where, true
	}
	return "", false
}

// levelText writes the level that is taken in the plant's units.
func (w *work) levelText() string {
	info, units := quantity.Info{Unit: quantity.Metre, Digits: 2}, quantity.System(w.in.Plant.Site.Units)
	return info.ShowEstimate(w.levelM, units) + " " + string(info.ShowUnit(units))
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
