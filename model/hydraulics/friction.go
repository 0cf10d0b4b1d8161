package hydraulics

import "math"

// Limits of the friction regimes by Reynolds number. Between them the flow is neither, and the factor is blended.
const (
	LaminarRe   = 2300.0 // below: f = 64/Re
	TurbulentRe = 4000.0 // above: Colebrook–White
)

// PipeArea returns the cross-section of a round pipe of diameterM (m), m².
func PipeArea(diameterM float64) float64 { return math.Pi / 4 * diameterM * diameterM }

// VelocityHead returns v²/2g, m, for a velocity in m/s.
func VelocityHead(velocityMS float64) float64 { return velocityMS * velocityMS / (2 * Gravity) }

// Reynolds returns |v| D / ν for a velocity (m/s), diameter (m) and kinematic viscosity (m²/s).
func Reynolds(velocityMS, diameterM, viscosityM2s float64) float64 {
	return math.Abs(velocityMS) * diameterM / viscosityM2s
}

// Colebrook returns the Darcy friction factor of turbulent flow at Reynolds number re and relative roughness ε/D, to
// about the last digit of a float64:
//
//	1/√f = −2 log10( ε/(3.7 D) + 2.51/(Re √f) )
//
// Meant for re ≥ TurbulentRe and 0 ≤ ε/D ≤ 0.05. Source: C. F. Colebrook, J. Inst. Civ. Eng. 11 (1939) 133–156. With
// x = 1/√f and c = 2/ln 10 it is g(x) = x + c ln(a + b x) = 0. One substitution from x = 7 (f = 0.02) comes within a few
// per cent, and Halley's method, whose error cubes, needs two steps from there.
func Colebrook(re, relRoughness float64) float64 {
	x := colebrook(re, relRoughness, 0)
	return 1 / (x * x)
}

// colebrook returns x = 1/√f. start is an x nearby, such as that of a flow nearby, from which Halley's method needs a step less or
// two; 0 where none is known.
func colebrook(re, relRoughness, start float64) float64 {
	const c = 2 / math.Ln10
	a, b := relRoughness/3.7, 2.51/re
	x := start
	if !(x > 0) {
		x = -c * math.Log(a+7*b)
	}
	for range 6 {
		arg := a + b*x
		r := b / arg
		g, slope := x+c*math.Log(arg), 1+c*r
		step := g * slope / (slope*slope + 0.5*g*c*r*r)
		x -= step
		if math.Abs(step) < 1e-5*x { // what is left is its cube
			break
		}
	}
	return x
}

// SwameeJain returns the explicit approximation of the Darcy friction factor, within about 3 % of Colebrook for
// 5·10³ ≤ re ≤ 10⁸ and 10⁻⁶ ≤ ε/D ≤ 0.05:
//
//	f = 0.25 / [log10( ε/(3.7 D) + 5.74/Re^0.9 )]²
//
// Source: P. K. Swamee and A. K. Jain, J. Hydraulics Div. ASCE 102(5) (1976) 657–664.
func SwameeJain(re, relRoughness float64) float64 {
	l := math.Log(relRoughness/3.7+5.74*math.Exp(-0.9*math.Log(re))) / math.Ln10
	return 0.25 / (l * l)
}

// FrictionFactor returns the Darcy friction factor at any Reynolds number above 0 and relative roughness ε/D: 64/Re below
// LaminarRe, Colebrook above TurbulentRe, and between them a smooth blend (weight 3s² − 2s³ of Colebrook, s rising from 0
// to 1), so that the loss is continuous and rises with the flow everywhere. The blend is ours: no formula holds there. At
// re = 0 it returns 0, for the loss is 0.
func FrictionFactor(re, relRoughness float64) float64 {
	f, _ := FrictionFactorNear(re, relRoughness, 0)
	return f
}

// FrictionFactorNear is FrictionFactor for one who asks again and again for flows near each other, as a solver does. root is what
// the answer before gave, 0 at first; next is to be handed in with the next question. The factor is the same to about the last
// digit, whatever root is.
func FrictionFactorNear(re, relRoughness, root float64) (f, next float64) {
	switch {
	case !(re > 0):
		return 0, root
	case re <= LaminarRe:
		return 64 / re, root
	}
	x := colebrook(re, relRoughness, root)
	f = 1 / (x * x)
	if re < TurbulentRe {
		s := (re - LaminarRe) / (TurbulentRe - LaminarRe)
		w := s * s * (3 - 2*s)
		f = (1-w)*64/re + w*f
	}
	return f, x
}

// FrictionLoss returns the head lost to friction, m, by Darcy and Weisbach, for a flow (m³/s, its direction does not
// matter) in a round pipe of lengthM, diameterM and roughnessM (m) at a kinematic viscosity (m²/s):
//
//	h = f (L/D) v²/2g
func FrictionLoss(flowM3s, lengthM, diameterM, roughnessM, viscosityM2s float64) float64 {
	v := math.Abs(flowM3s) / PipeArea(diameterM)
	f := FrictionFactor(Reynolds(v, diameterM, viscosityM2s), roughnessM/diameterM)
	return f * lengthM / diameterM * VelocityHead(v)
}

// MinorLoss returns the head lost at fittings, m, K v²/2g with v the velocity in the pipe (flow m³/s, diameter m).
func MinorLoss(flowM3s, diameterM, k float64) float64 {
	return k * VelocityHead(flowM3s/PipeArea(diameterM))
}

// HazenWilliamsLoss returns the head lost to friction, m, by the empirical formula of Hazen and Williams, for water near
// 15 °C in pipes above 50 mm, flow in m³/s, lengths in m, c the pipe's coefficient (about 150 for smooth plastic):
//
//	h = 10.67 L Q^1.852 / (C^1.852 D^4.8704)
//
// It serves to check the plant model against tables made with it and is not used by the model. Constant from memory; it
// equals the 4.727 (ft, ft³/s) form of the EPANET 2.2 manual within 0.1 %. An older field form, 0.2083 (gpm, in), gives
// 1.9 % more.
func HazenWilliamsLoss(flowM3s, lengthM, diameterM, c float64) float64 {
	return 10.67 * lengthM * math.Pow(math.Abs(flowM3s)/c, 1.852) / math.Pow(diameterM, 4.8704)
}
