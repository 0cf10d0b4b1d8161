package electrical

import (
	"errors"
	"fmt"
	"math"
)

// Ballast works out the ballast's facts from one round. The error says what the plant's description or the readings lack
// to say anything at all; whatever else is missing is absent from the facts, with a caution.
func Ballast(in Input) (*Facts, error) {
	if err := in.check(); err != nil {
		return nil, err
	}
	w := newWork(&in)
	w.capacity()
	w.balance()
	w.rejection()
	w.overload()
	w.unitStops()
	w.otherWays()
	w.loads()
	w.cautions()
	return w.facts, nil
}

func (in *Input) check() error {
	if in.Plant == nil {
		return errors.New("ballast: no plant is described")
	}
	if !(in.Plant.Supply.Volts > 0 && in.Plant.Supply.Hertz > 0) {
		return errors.New("ballast: the plant's supply volts and hertz are needed; they must be above 0")
	}
	named := []struct {
		key   string
		value *float64
	}{
		{"volts", in.Volts}, {"generation", in.Generation.KW}, {"load", in.Load.KW}, {"dumped power", in.Dumped.KW},
		{"pond level", in.PondLevelM}, {"screen_open", in.ScreenClear}, {"water_c", in.WaterC},
	}
	for _, n := range named {
		if n.value != nil && (math.IsNaN(*n.value) || math.IsInf(*n.value, 0)) {
			return fmt.Errorf("ballast: %s is not a number", n.key)
		}
	}
	if in.Volts != nil && *in.Volts < 0 {
		return fmt.Errorf("ballast: volts is %g; expected 0 or more", *in.Volts)
	}
	for _, id := range in.Running {
		if _, ok := in.Plant.UnitByID(id); !ok {
			return fmt.Errorf("ballast: running names unit %q, which the plant does not have", id)
		}
	}
	for name := range in.Working {
		if _, ok := in.Plant.ElementByName(name); !ok {
			return fmt.Errorf("ballast: there is no ballast element %q", name)
		}
	}
	return nil
}

// capacity fills in what the ballast can take.
func (w *work) capacity() {
	f, in := w.facts, w.in
	for _, e := range in.Plant.Ballast.Elements {
		row := Element{Name: e.Name, RatedKW: e.RatedKW, Working: in.working(e), RatedVolts: ratedVolts(in.Plant, e)}
		if row.Working {
			row.TakesKW = ElementKW(e.RatedKW, row.RatedVolts, w.volts)
		}
		f.RatedKW += e.RatedKW
		f.Elements = append(f.Elements, row)
	}
	f.ElementsKW = in.elementsKW(w.volts, "")
	f.ControllerKW = in.Plant.Ballast.ControllerKW
	f.CapacityKW, f.LimitedBy = Limit(f.ElementsKW, f.ControllerKW)
}

// balance fills in the powers as they were handed in, and what follows from them.
func (w *work) balance() {
	f, in := w.facts, w.in
	f.Volts = in.Volts
	f.GenerationKW, f.GenerationFrom = in.Generation.KW, from(in.Generation)
	f.LoadKW, f.LoadFrom = in.Load.KW, from(in.Load)
	f.DumpedKW, f.DumpedFrom = in.Dumped.KW, from(in.Dumped)
	if d := in.Dumped.KW; d != nil {
		f.RemainingKW = new(f.CapacityKW - *d)
		f.LoadRoomKW = new(max(0, *d))
	}
}

func from(p Power) string {
	if p.KW == nil {
		return ""
	}
	return p.From
}

// rejection fills in the full rejection, as things are and with each element out.
func (w *work) rejection() {
	f := w.facts
	if f.GenerationKW != nil {
		f.Rejection = w.reject(&w.bus, *f.GenerationKW)
	}
	f.ElementOut = w.elementOut(&w.bus, f.GenerationKW)
}

// reject is a full rejection of generationKW.
func (w *work) reject(b *bus, generationKW float64) *Rejection {
	r := &Rejection{MarginKW: w.facts.CapacityKW - generationKW}
	if generationKW != 0 {
		if pct := 100 * r.MarginKW / generationKW; !math.IsInf(pct, 0) { // as good as nothing is generated
			r.MarginPct = &pct
		}
	}
	if generationKW > 0 {
		r.Settled = b.reject(w.in.elementsKW(w.in.Plant.Supply.Volts, ""))
	}
	return r
}

// elementOut is a full rejection with each working element out in turn.
func (w *work) elementOut(b *bus, generationKW *float64) []ElementOut {
	rows := []ElementOut{}
	for _, e := range w.in.Plant.Ballast.Elements {
		if !w.in.working(e) {
			continue
		}
		row := ElementOut{Element: e.Name}
		row.CapacityKW, _ = Limit(w.in.elementsKW(w.volts, e.Name), w.in.Plant.Ballast.ControllerKW)
		if generationKW != nil {
			row.MarginKW = new(row.CapacityKW - *generationKW)
			if *generationKW > 0 {
				row.Settled = b.reject(w.in.elementsKW(w.in.Plant.Supply.Volts, e.Name))
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// overload fills in where the bus settles while consumers want more than is generated.
func (w *work) overload() {
	f := w.facts
	if f.DumpedKW == nil || f.GenerationKW == nil || !(*f.DumpedKW < 0) {
		return
	}
	short := -*f.DumpedKW
	f.Overload = &Overload{ShortKW: short, Settled: w.bus.overload(*f.GenerationKW + short)}
}
