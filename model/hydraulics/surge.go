package hydraulics

import "math"

// Stiffness of water and of pipe walls, Pa, from memory; take the maker's figure where there is one.
const (
	WaterModulusPa = 2.19e9
	SteelModulusPa = 2.1e11
	PVCModulusPa   = 2.8e9
	HDPEModulusPa  = 0.8e9 // short-term
)

// WaveSpeed returns the speed of a pressure wave in a pipe full of water, m/s:
//
//	a = √(K/ρ) / √(1 + (K/E)(D/e) c1)
//
// with the water's modulus K and the wall's E (Pa), diameter D and wall thickness e (m), density ρ (kg/m³), and c1 between
// 0.85 and 1 for how the pipe is anchored. Source: the usual form, for example AWWA M11; seen only in secondary places.
func WaveSpeed(waterPa, densityKgM3, wallPa, diameterM, thicknessM, c1 float64) float64 {
	return math.Sqrt(waterPa/densityKgM3) / math.Sqrt(1+waterPa/wallPa*diameterM/thicknessM*c1)
}

// UnyieldingWaveSpeed returns the speed in a pipe that does not yield, m/s, which no real pipe exceeds: √(K/ρ).
func UnyieldingWaveSpeed(densityKgM3 float64) float64 { return math.Sqrt(WaterModulusPa / densityKgM3) }

// JoukowskyHead returns the rise in head, m, when a velocity (m/s) is stopped faster than the wave returns, Δh = a v / g.
// Source: N. Joukowsky 1898, by way of AWWA M11.
func JoukowskyHead(waveMS, velocityMS float64) float64 { return waveMS * velocityMS / Gravity }

// ReturnTime returns 2L/a, s: a closing quicker than this gives the whole Joukowsky rise.
func ReturnTime(lengthM, waveMS float64) float64 { return 2 * lengthM / waveMS }

// ClosingSurge returns the rise in head, m, when a valve stops a velocity (m/s) evenly within closeS seconds in a pipe of
// lengthM with wave speed waveMS: Joukowsky's a v/g up to the return time 2L/a, beyond it Michaud's 2 L v/(g t), which meets
// it there. Source of the second: A. Michaud 1878 (from memory).
func ClosingSurge(lengthM, waveMS, velocityMS, closeS float64) float64 {
	t := max(closeS, ReturnTime(lengthM, waveMS))
	return 2 * lengthM * velocityMS / (Gravity * t)
}

// ClosingTime returns the shortest even closing, s, whose surge stays within riseM (m), the inverse of ClosingSurge by
// Michaud: t = 2 L v / (g Δh). Where even the whole Joukowsky rise is within riseM it returns 0. A riseM of 0 or less gives
// +Inf.
func ClosingTime(lengthM, waveMS, velocityMS, riseM float64) float64 {
	switch {
	case !(velocityMS > 0):
		return 0
	case !(riseM > 0):
		return math.Inf(1)
	case JoukowskyHead(waveMS, velocityMS) <= riseM:
		return 0
	}
	return 2 * lengthM * velocityMS / (Gravity * riseM)
}
