package machine

import "math"

// The dimensionless curves of a radial centrifugal pump run as a turbine, against q = Q / Q_best at rated speed:
//
//	h(q) = 1.0283 q² − 0.5468 q + 0.5314
//	p(q) = −0.3092 q³ + 2.1472 q² − 0.8865 q + 0.0452
//
// Source: S. Derakhshan and A. Nourbakhsh, Experimental Thermal and Fluid Science 32 (2008) 800–807 (from memory). They
// do not pass exactly through (1, 1) and are used as h(q)/h(1) and p(q)/p(1).
const (
	// FootQ is where the rising branch begins: p is 0 there, and below it the polynomials mean nothing.
	FootQ = 0.378
	// LowQ and HighQ bound the range in which the curves deserve trust.
	LowQ, HighQ = 0.5, 1.3
	// stallQ is where p/h, the torque for its head, is greatest. Far beyond the measured range the cubic would fall and turn
	// negative; from here on torque is taken as in proportion to head instead: p = h · p(stallQ)/h(stallQ).
	stallQ = 1.7255989471539839
)

func headPoly(q float64) float64 { return (1.0283*q-0.5468)*q + 0.5314 }

func powerPoly(q float64) float64 { return ((-0.3092*q+2.1472)*q-0.8865)*q + 0.0452 }

// footPower is what the power polynomial leaves at the foot, where the machine gives nothing: 0.0002.
const footPower = ((-0.3092*FootQ+2.1472)*FootQ-0.8865)*FootQ + 0.0452

// HeadRatio returns H/H_best at the relative flow q and rated speed, for q ≥ FootQ: h(q)/h(1).
func HeadRatio(q float64) float64 { return headPoly(q) / headPoly(1) }

// PowerRatio returns P/P_best at the relative flow q and rated speed: p(q)/p(1). Outside the range that deserves trust two
// things are mended: from LowQ down to FootQ the remainder of 0.0002 at the foot is taken off bit by bit, so that power begins
// at nothing there, and beyond 1.73 torque is in proportion to head. At and below the foot it is 0.
func PowerRatio(q float64) float64 {
	switch {
	case q > stallQ:
		return headPoly(q) * (powerPoly(stallQ) / headPoly(stallQ)) / powerPoly(1)
	case q <= FootQ:
		return 0
	case q < LowQ:
		return (powerPoly(q) - footPower*(LowQ-q)/(LowQ-FootQ)) / powerPoly(1)
	}
	return powerPoly(q) / powerPoly(1)
}

// FlowRatio is the inverse of HeadRatio on the rising branch: the q at which the machine takes headRatio = H/H_best at rated
// speed. Below the foot it returns FootQ and false: that head cannot hold the speed.
func FlowRatio(headRatio float64) (q float64, holds bool) {
	h := headRatio * headPoly(1)
	if !(h >= headPoly(FootQ)) {
		return FootQ, false
	}
	const a, b, c = 1.0283, -0.5468, 0.5314
	return (-b + math.Sqrt(b*b-4*a*(c-h))) / (2 * a), true
}

// FreeSpeed returns the speed ratio at which the machine turns without load under headRatio = H/H_best: the foot of the
// curve by the affinity laws, n = √(H h(1) / (H_best h(0.378))). It is 1.465 at best head.
func FreeSpeed(headRatio float64) float64 {
	if !(headRatio > 0) {
		return 0
	}
	return math.Sqrt(headRatio * headPoly(1) / headPoly(FootQ))
}

// Affinity scales a flow, head and power to another speed: Q ~ n, H ~ n², P ~ n³, with ratio = new / old speed.
func Affinity(flow, head, power, ratio float64) (float64, float64, float64) {
	return flow * ratio, head * ratio * ratio, power * ratio * ratio * ratio
}
