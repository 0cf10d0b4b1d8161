package faults

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/record"
	"example.org/headpond/model/steady"
)

// errNoPlant is the error where there is nothing to ask about.
var errNoPlant = errors.New("the book has no plant description; load one with: headpond plant load FILE")

// Options steer a report; the zero value is as the command does.
type Options struct{}

// work is one report's working state.
type work struct {
	h     *record.History
	a     *assess.Assessor
	plant *plant.Plant
	model *steady.Model

	elementEvents []time.Time
	workingAt     map[string]bool
	workingN      int

	win       window
	badLevel  map[*record.Round]bool // whose pond level is a slip of the pen
	stockOf   []int                  // penstock of each unit
	res       steady.Result
	stocks    []steady.PenstockState
	scratch   scratch
	regulated bool
	induction bool

	wet     wet
	gauges  []string // pressure gauges by column
	gaugeAt int
	volt    line
	hertz   line

	bearings    []line
	jumps       []slot
	kinds       []regime
	heldL       []float64 // log of the chance that the frequency was the controller's to hold, by look
	commonKW    []float64 // healthy generation by look
	pred        [][][]float64
	wetBase     []part
	voltBase    []part
	hertzBase   []part // of a plant that is hardly ever overwhelmed
	hertzSound  []part // of the likeliest plant without a fault
	bearingBase [][]part
	soundWet    float64
	soundL0     float64 // of all systems together
	soundLine   map[*line]float64

	// Of the rounds on which water flowed, for the scales of the sizes.
	headM, flowM3s, staticKPa float64
	stockFlow                 []float64
	unitUsed                  []bool
}

// Report ranks the causes that explain the readings of a history up to its end. The errors are that there is no plant, that
// the plant cannot be modelled, that there are no rounds, and the context's.
func Report(ctx context.Context, h *record.History, _ Options) (*Facts, error) {
	w, err := newWork(h)
	if err != nil {
		return nil, err
	}
	none := w.noFault()
	outcomes := []*outcome{}
	vs := w.variants()
	for i := range vs {
		o, err := w.evaluate(ctx, &vs[i])
		if err != nil {
			return nil, fmt.Errorf("faults: %w", err)
		}
		outcomes = append(outcomes, o)
	}
	return w.facts(none, outcomes), nil
}

func newWork(h *record.History) (*work, error) {
	if h == nil || h.Plant == nil {
		return nil, errNoPlant
	}
	h, left := withoutSlips(h)
	w := &work{h: h, a: assess.Of(h), plant: h.Plant, soundLine: map[*line]float64{}}
	w.win.left = left
	var err error
	if w.model, err = w.a.Model(h.Plant); err != nil {
		return nil, fmt.Errorf("faults: %w", err)
	}
	for _, e := range h.Events {
		if e.Kind == record.ElementOut || e.Kind == record.ElementIn {
			w.elementEvents = append(w.elementEvents, e.Time)
		}
	}
	slices.SortFunc(w.elementEvents, time.Time.Compare)
	for _, u := range w.plant.Units {
		w.stockOf = append(w.stockOf, slices.IndexFunc(w.plant.Penstocks, func(p plant.Penstock) bool { return p.Name == u.Penstock }))
	}
	w.choose()
	if len(w.win.looks) == 0 {
		return nil, w.noRounds()
	}
	for i := range w.win.looks {
		l := &w.win.looks[i]
		l.days = l.round.Time.Sub(w.win.looks[0].round.Time).Hours() / 24
	}
	w.prepare()
	return w, nil
}

// prepare makes all systems ready.
func (w *work) prepare() {
	w.excitation()
	w.scales()
	w.prepareWater()
	w.levelJumps()
	w.volt, w.hertz, w.bearings = w.voltLine(), w.hertzLine(), w.bearingLines()
	w.setAsideLine(&w.volt)
	for i := range w.bearings {
		w.setAsideLine(&w.bearings[i])
	}
	var hertzL float64
	w.hertzSound, w.kinds, hertzL = w.hertzOften()
	for i := range w.win.looks {
		w.heldL = append(w.heldL, w.chancesOf(i, 0, held).held)
	}
	for i := range w.wet.ready {
		w.wetBase = append(w.wetBase, w.wet.ready[i].base)
	}
	w.voltBase = w.voltParts()
	w.hertzBase, _ = w.hertzParts(0, held) // before a fault of the frequency begins; the fault explains the rest
	w.soundWet = at(w.wet.sd, w.wetBase, w.wetBase, 0).logL
	w.soundLine[&w.volt] = at([]float64{w.volt.nu}, w.voltBase, w.voltBase, 0).logL
	w.soundLine[&w.hertz] = hertzL
	for i := range w.bearings {
		ln := &w.bearings[i]
		var parts []part
		for _, s := range ln.slots {
			parts = append(parts, s.part(0, 0))
		}
		w.bearingBase = append(w.bearingBase, parts)
		w.soundLine[ln] = at([]float64{ln.nu}, parts, parts, 0).logL
	}
}

// scales finds the head, the flows and the pressure that the sizes are measured by: the greatest of the rounds used.
func (w *work) scales() {
	w.stockFlow, w.unitUsed = make([]float64, len(w.plant.Penstocks)), make([]bool, len(w.plant.Units))
	w.commonKW = make([]float64, len(w.win.looks))
	for i := range w.win.looks {
		l := &w.win.looks[i]
		if !l.known {
			continue
		}
		res := w.solve(l, &change{})
		if res == nil {
			continue
		}
		w.commonKW[i] = res.CommonKW
		w.flowM3s = math.Max(w.flowM3s, res.FlowM3s)
		for j, p := range res.Penstocks {
			w.stockFlow[j] = math.Max(w.stockFlow[j], p.FlowM3s)
		}
		for j, u := range res.Units {
			w.staticKPa = math.Max(w.staticKPa, u.StaticKPa)
			if u.Running {
				w.unitUsed[j] = true
				w.headM = math.Max(w.headM, u.GrossHeadM)
			}
		}
	}
}

// noFault is the sound plant, with the conditions that follow from it.
func (w *work) noFault() *outcome {
	o := &outcome{v: &variant{fault: None}, k: 0, lineNu: map[*line]float64{}}
	fits := w.sound()
	ll := 0.0
	for _, s := range fits {
		ll += s.f.logL
		o.chi2 += s.f.chi2
		if s.ln == nil {
			o.nu = s.f.nu
		} else {
			o.lineNu[s.ln] = s.f.nu[0]
		}
	}
	w.soundL0 = ll
	o.logP = math.Log(rowOf(None).prior) + logSum(append(w.slipOfPen(ll), ll))
	return o
}

type soundFit struct {
	f  fit
	ln *line
}

func (w *work) sound() []soundFit {
	out := []soundFit{{at(w.wet.sd, w.wetBase, w.wetBase, 0), nil},
		{at([]float64{w.volt.nu}, w.voltBase, w.voltBase, 0), &w.volt},
		{at([]float64{w.hertz.nu}, w.hertzSound, w.hertzSound, 0), &w.hertz}}
	out[2].f.logL = w.soundLine[&w.hertz] // of all plants without a fault together
	for i := range w.bearings {
		ln := &w.bearings[i]
		out = append(out, soundFit{at([]float64{ln.nu}, w.bearingBase[i], w.bearingBase[i], 0), ln})
	}
	return out
}

// How often a reading is read or written wrong, and over how many of its errors it then spreads (our own).
const (
	slipShare  = 0.004
	slipSpread = 60.0
)

// slipOfPen lists log-likelihoods of a sound plant whose last round has one reading that was read or written wrong.
func (w *work) slipOfPen(sound float64) []float64 {
	last := len(w.win.looks) - 1
	r := w.wet.ready[last]
	var out []float64
	for q := range r.chans {
		kept := w.reduced(&r, func(i int) bool { return i != q })
		base := slices.Clone(w.wetBase)
		base[last] = kept
		ll := at(w.wet.sd, base, base, 0).logL - w.soundWet
		out = append(out, sound+ll+math.Log(slipShare/(slipSpread*r.chans[q].sd)))
	}
	slip := func(ln *line, parts []part) {
		s := ln.slots[last]
		if !s.ok || parts[last].n == 0 {
			return
		}
		kept := slices.Clone(parts)
		kept[last] = slot{}.part(0, 0)
		ll := at([]float64{ln.nu}, kept, kept, 0).logL - w.soundLine[ln]
		out = append(out, sound+ll+math.Log(slipShare/(slipSpread*s.sd)))
	}
	slip(&w.volt, w.voltBase) // a frequency's slips are among its regimes
	for i := range w.bearings {
		slip(&w.bearings[i], w.bearingBase[i])
	}
	return out
}

func (w *work) lines() []*line {
	out := []*line{&w.volt, &w.hertz}
	for i := range w.bearings {
		out = append(out, &w.bearings[i])
	}
	return out
}

// middle returns the median of numbers and their robust spread, one standard deviation; 0 for none.
func middle(list []float64) (mid, spread float64) {
	if len(list) == 0 {
		return 0, 0
	}
	s := slices.Clone(list)
	slices.Sort(s)
	mid = s[len(s)/2]
	for i := range s {
		s[i] = math.Abs(s[i] - mid)
	}
	slices.Sort(s)
	return mid, 1.4826 * s[len(s)/2]
}

// readings counts what is used.
func (w *work) readings() int {
	n := 0
	for i := range w.wet.ready {
		n += len(w.wet.ready[i].chans)
	}
	for _, ln := range w.lines() {
		for _, s := range ln.slots {
			if s.ok {
				n++
			}
		}
	}
	return n
}
