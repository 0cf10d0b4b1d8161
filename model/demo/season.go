package demo

import "math"

// The climate of the invented place: a damp maritime one at 45° north. The numbers are our own.

// meanAirC is the usual outdoor temperature of a day of the year, °C.
func meanAirC(yearDay float64) float64 {
	return 7 - 12*math.Cos(2*math.Pi*(yearDay-26)/365.25)
}

// meanWaterC is the usual temperature of the pond, three weeks behind the air and never frozen at the intake, °C.
func meanWaterC(yearDay float64) float64 {
	return math.Max(1, 9-11*math.Cos(2*math.Pi*(yearDay-47)/365.25))
}

// runoff is the share of a month's rain that reaches the pond: the rest goes up again through the leaves.
func runoff(month int) float64 {
	return [12]float64{0.80, 0.80, 0.80, 0.75, 0.60, 0.50, 0.42, 0.42, 0.50, 0.60, 0.70, 0.80}[month-1]
}

// litter is what drifts onto the screen.
type litter int

const (
	needles litter = iota
	catkins
	weed
	leaves
	slush
)

// String is what the caretaker calls it.
func (l litter) String() string {
	switch l {
	case catkins:
		return "catkins and twigs"
	case weed:
		return "pond weed"
	case leaves:
		return "leaves"
	case slush:
		return "slush ice"
	case needles:
	}
	return "needles"
}

// litterOf is what drifts on a day of the year and how fast it shuts the screen, as the share of the open holes lost a
// day at the large set's flow: leaf-fall is the worst of the year.
func litterOf(yearDay float64) (litter, float64) {
	bump := func(peak, width float64) float64 {
		d := (yearDay - peak) / width
		return math.Exp(-d * d / 2)
	}
	fall, spring, summer := 0.48*bump(297, 17), 0.14*bump(140, 16), 0.12*bump(215, 30)
	rate := 0.10 + fall + spring + summer
	switch {
	case fall > 0.08:
		return leaves, rate
	case spring > 0.05:
		return catkins, rate
	case summer > 0.05:
		return weed, rate
	}
	return needles, rate
}
