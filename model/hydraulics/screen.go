package hydraulics

import "math"

// ScreenK returns the loss coefficient of a thin perforated plate, on the velocity in front of it, for an open share φ
// (open / gross area):
//
//	K = (0.707 √(1−φ) + 1 − φ)² / φ²
//
// Range: φ in (0, 1]; 0 or less gives +Inf and above 1 gives 0. Source: I. E. Idelchik, Handbook of Hydraulic Resistance,
// diagram for perforated plates (from memory; within 10.5 % of the table of R. D. Blevins, Applied Fluid Dynamics Handbook,
// 1984, for φ 0.2 to 0.6: its 11 at 0.35 is the one beyond 9 %).
func ScreenK(openShare float64) float64 {
	switch {
	case openShare >= 1:
		return 0
	case !(openShare > 0):
		return math.Inf(1)
	}
	s := (0.707*math.Sqrt(1-openShare) + 1 - openShare) / openShare
	return s * s
}

// ScreenOpenShare is the inverse of ScreenK: the open share φ at which a plate has the loss coefficient k. With u = √(1−φ)
// and s = √k the equation is (s+1)u² + 0.707u − s = 0, whose positive root is taken. 0 or less gives 1, +Inf gives 0.
func ScreenOpenShare(k float64) float64 {
	switch {
	case !(k > 0):
		return 1
	case math.IsInf(k, 1):
		return 0
	}
	s := math.Sqrt(k)
	u := 2 * s / (0.707 + math.Sqrt(0.707*0.707+4*s*(s+1)))
	return (0.707*u + u*u) / s // not 1 − u², which loses its digits as φ goes to 0
}

// ScreenLoss returns the head lost at a screen, m: h = K V²/2g with V = Q / gross area (flow m³/s, area m²).
func ScreenLoss(flowM3s, grossM2, openShare float64) float64 {
	if flowM3s == 0 {
		return 0
	}
	return ScreenK(openShare) * VelocityHead(flowM3s/grossM2)
}

// ScreenShareFromLoss returns the open share φ at which a screen of grossM2 (m²) loses lossM (m) at a flow (m³/s). A loss
// of 0 or less gives 1. Without flow nothing can be told and ok is false.
func ScreenShareFromLoss(lossM, flowM3s, grossM2 float64) (openShare float64, ok bool) {
	if !(flowM3s > 0) || !(grossM2 > 0) || math.IsNaN(lossM) {
		return 0, false
	}
	return ScreenOpenShare(lossM / VelocityHead(flowM3s/grossM2)), true
}
