package steady

import (
	"example.org/headpond/model/hydraulics"
	"example.org/headpond/model/machine"
)

// Result is the plant's steady state. Every number is finite.
type Result struct {
	PondLevelM  float64
	ScreenLossM float64
	ScreenClear float64 // of the case: 1 for a clean screen
	FlowM3s     float64 // through the screen: all penstocks and leaks
	CommonKW    float64 // electric power of the sets on the common bus
	OwnKW       float64 // of the sets on a bus of their own
	Water       hydraulics.Water
	Units       []UnitResult     // every unit, in the plant's order
	Penstocks   []PenstockResult // every penstock, in the plant's order
	Evaluations int              // how often the balance was evaluated
	Caution     Caution          // what concerns the whole plant
}

// UnitResult is one set's state.
type UnitResult struct {
	ID            string
	Penstock      int // index into Result.Penstocks
	Running       bool
	Common        bool // feeds the common bus
	GrossHeadM    float64
	NetHeadM      float64 // 0 or more; 0 while it does not run
	FlowM3s       float64
	ShaftKW       float64
	KW            float64 // electric
	Relative      float64 // flow over the best flow, q
	Speed         float64 // speed ratio that it turns at; 0 while it does not run
	StaticKPa     float64 // ρ g (level − axis), whatever gauge there is
	PressureKPa   float64 // at the intake pressure gauge, referred to the axis
	PressureKnown bool    // false where that hangs on whether the main valve is open, which was not said
	Caution       Caution
}

// PenstockResult is one penstock's state.
type PenstockResult struct {
	Name       string
	FlowM3s    float64 // at its inlet, the leak included
	LeakM3s    float64
	VelocityMS float64
	Reynolds   float64
	FrictionM  float64
	MinorM     float64 // at the fittings, the valve open
	ValveM     float64 // at the main valve beyond its open loss
	AirM       float64
}

// LossM returns the head lost from inlet to machine, m.
func (p PenstockResult) LossM() float64 { return p.FrictionM + p.MinorM + p.ValveM + p.AirM }

// hydraulicKW returns the power of a flow (m³/s) falling through a head (m), kW: ρ g Q H.
func (r *Result) hydraulicKW(flowM3s, headM float64) float64 {
	return r.Water.DensityKgM3 * hydraulics.Gravity * flowM3s * headM / 1000
}

// Caution is a set of things that a person should know about a result.
type Caution uint16

// The cautions.
const (
	NoHead         Caution = 1 << iota // the unit runs but has no head left
	MachineBelow                       // the flow is below the range in which the machine's curve deserves trust
	MachineAbove                       // above it
	MachineTooSlow                     // the head cannot hold rated speed: it turns slower and gives no power
	AboveRating                        // more power than the generator's rating by over 2 %
	HighAxis                           // the axis stands more than 4 m above the tailwater
	Vacuum                             // the gauge would be below the pressure at which water boils: the column parts
	MouthDry                           // the level is below the intake's centre line
	WaterRange                         // the water temperature is outside the range of the formulas; the nearer limit was taken
)

// ratingSlack is how far above a generator's rating the model's power may be before it is worth a word, over the rating. (Our
// own choice: a name plate is round to that, and the model knows no machine better.)
const ratingSlack = 0.02

// unitCautions turns the machine's flags into the unit's cautions.
func unitCautions(u *unit, r *UnitResult, f machine.Flag) Caution {
	var c Caution
	switch {
	case f&machine.TooSlow != 0 && r.FlowM3s == 0:
		c |= NoHead
	case f&machine.TooSlow != 0:
		c |= MachineTooSlow
	case f&machine.Below != 0:
		c |= MachineBelow
	case f&machine.Above != 0:
		c |= MachineAbove
	}
	if u.ratedKW > 0 && r.KW > u.ratedKW*(1+ratingSlack) {
		c |= AboveRating
	}
	return c
}
