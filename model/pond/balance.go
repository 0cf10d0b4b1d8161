package pond

import (
	"fmt"
	"math"
	"time"
)

const (
	secondsPerDay = 86400.0
	mmDayToMS     = 1e-3 / secondsPerDay // mm/day over a surface, as m/s
)

// Weir is the spillway: Q = C L H^1.5, m3/s, with H the level above the crest in m (broad-crested form, C about 1.7
// m^0.5/s).
type Weir struct {
	CrestM      float64
	LengthM     float64
	Coefficient float64
}

// SpillM3s is the flow over the crest at a level, 0 at and below the crest.
func (w Weir) SpillM3s(levelM float64) float64 {
	h := levelM - w.CrestM
	if h <= 0 {
		return 0
	}
	return w.Coefficient * w.LengthM * h * math.Sqrt(h)
}

// Balance is all that flows into and out of a pond. Functions of time are given seconds after Start; they must be smooth
// between the Breaks, and at a break already have the value that follows. A nil function is no flow.
type Balance struct {
	Stage            *Stage
	Start            time.Time                                     // its location is the plant's clock: months and part-day running follow it
	InflowM3s        func(s float64) float64                       // stream and springs
	Draw             func(s, levelM float64) (flowM3s, kw float64) // machines
	BypassM3s        func(s, levelM float64) float64               // flow that passes beside the plant
	SeepageM3s       func(levelM float64) float64                  // through the dam and the bed
	EvaporationMMDay *[12]float64                                  // open water, January first
	IceCover         func(s float64) bool                          // under a cover nothing evaporates
	RainMMDay        func(s float64) float64                       // on the pond itself
	Weir             *Weir
	Breaks           []float64 // seconds after Start at which an input jumps or bends
}

// Flows are the parts of the balance at one moment, all m3/s and all counted positive.
type Flows struct {
	InflowM3s, RainM3s                                       float64
	DrawM3s, BypassM3s, SeepageM3s, EvaporationM3s, SpillM3s float64
	KW                                                       float64 // what the machines give
}

// NetM3s is what the pond gains, m3/s.
func (f Flows) NetM3s() float64 {
	return f.InflowM3s + f.RainM3s - f.DrawM3s - f.BypassM3s - f.SeepageM3s - f.EvaporationM3s - f.SpillM3s
}

// FlowsAt returns the parts of the balance, s seconds after Start, with the pond at a level.
func (b *Balance) FlowsAt(s, levelM float64) Flows { return b.flows(s, levelM, b.monthAt(s)) }

func (b *Balance) monthAt(s float64) time.Month {
	return b.Start.Add(time.Duration(s * float64(time.Second))).In(b.Start.Location()).Month()
}

func (b *Balance) flows(s, levelM float64, month time.Month) Flows {
	var f Flows
	if b.InflowM3s != nil {
		f.InflowM3s = b.InflowM3s(s)
	}
	if b.Draw != nil {
		f.DrawM3s, f.KW = b.Draw(s, levelM)
	}
	if b.BypassM3s != nil {
		f.BypassM3s = b.BypassM3s(s, levelM)
	}
	if b.SeepageM3s != nil {
		f.SeepageM3s = b.SeepageM3s(levelM)
	}
	if b.Weir != nil {
		f.SpillM3s = b.Weir.SpillM3s(levelM)
	}
	b.surface(&f, s, levelM, month)
	return f
}

// surface adds what crosses the water surface.
func (b *Balance) surface(f *Flows, s, levelM float64, month time.Month) {
	evaporates := b.EvaporationMMDay != nil && (b.IceCover == nil || !b.IceCover(s))
	if !evaporates && b.RainMMDay == nil {
		return
	}
	area := b.Stage.AreaM2(levelM)
	if evaporates {
		f.EvaporationM3s = b.EvaporationMMDay[month-1] * mmDayToMS * area
	}
	if b.RainMMDay != nil {
		f.RainM3s = b.RainMMDay(s) * mmDayToMS * area
	}
}

// check says what a balance lacks.
func (b *Balance) check() error {
	if b.Stage == nil {
		return ErrNoStage
	}
	if b.Weir != nil && (!finite(b.Weir.CrestM) || !(b.Weir.LengthM >= 0) || !(b.Weir.Coefficient >= 0)) {
		return fmt.Errorf("the spillway cannot have a crest at %g m, a length of %g m and a coefficient of %g",
			b.Weir.CrestM, b.Weir.LengthM, b.Weir.Coefficient)
	}
	if e := b.EvaporationMMDay; e != nil {
		for m, mm := range e {
			if !finite(mm) {
				return fmt.Errorf("the evaporation of %s is not a number", time.Month(m+1))
			}
		}
	}
	return nil
}
