package electrical

import (
	"fmt"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/steady"
)

// work is one run of Ballast.
type work struct {
	in      *Input
	facts   *Facts
	volts   float64 // read, or rated
	units   []plant.Unit
	assumed bool // which units run was assumed
	bus     bus
	levelM  float64
	noted   []string // cautions found on the way
}

func newWork(in *Input) *work {
	w := &work{in: in, facts: &Facts{At: in.At, Elements: []Element{}, nominalHz: in.Plant.Supply.Hertz}, volts: in.Plant.Supply.Volts}
	if in.Volts != nil {
		w.volts = *in.Volts
	}
	w.units, w.assumed = in.bus()
	if in.Running != nil {
		w.facts.Running = idsOf(w.units)
	}
	w.levelM = w.level()
	w.bus = w.busOf(w.units, in.Generation.KW)
	return w
}

// level is the pond level for the model: the one handed in, else a full pond, at which the sets give most.
func (w *work) level() float64 {
	pond := w.in.Plant.Pond
	switch {
	case w.in.PondLevelM != nil:
		return *w.in.PondLevelM
	case pond.CrestM != nil:
		return *pond.CrestM
	case len(pond.Stage) > 0:
		return pond.Stage[len(pond.Stage)-1].LevelM
	}
	return 0
}

// busOf is the common bus with these units running, its power at rated speed scaled to generationKW where that is known.
// Without a model, or where the model gives no power, it has no curve.
func (w *work) busOf(units []plant.Unit, generationKW *float64) bus {
	b := bus{supply: w.in.Plant.Supply, excitation: Excite(units), controller: w.in.Plant.Ballast.ControllerKW}
	if w.in.Model == nil || len(units) == 0 {
		return b
	}
	kw := 0.0
	if generationKW != nil {
		kw = *generationKW
	}
	curve, err := w.in.Model.SpeedCurve(w.caseOf(units), kw)
	if err != nil {
		w.note(fmt.Sprintf("where frequency and voltage settle is not known: %v", err))
		return b
	}
	b.curve = curve
	return b
}

func (w *work) caseOf(units []plant.Unit) steady.Case {
	return steady.Case{PondLevelM: w.levelM, Running: w.in.ids(units), ScreenClear: w.in.ScreenClear, WaterC: w.in.WaterC}
}

// modelKW returns the model's power of the common bus with these units running, kW.
func (w *work) modelKW(units []plant.Unit) (float64, bool) {
	if w.in.Model == nil {
		return 0, false
	}
	r, err := w.in.Model.Solve(w.caseOf(units))
	if err != nil {
		return 0, false
	}
	return r.CommonKW, true
}

// note keeps a caution, once.
func (w *work) note(s string) {
	for _, old := range w.noted {
		if old == s {
			return
		}
	}
	w.noted = append(w.noted, s)
}

func idsOf(units []plant.Unit) []string {
	ids := make([]string, len(units))
	for i, u := range units {
		ids[i] = u.ID
	}
	return ids
}
