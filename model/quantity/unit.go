package quantity

import (
	"slices"
	"strings"
)

// Unit is a unit of measure as it is written after a number.
type Unit string

// The units in which values are kept.
const (
	None           Unit = ""
	Volt           Unit = "V"
	HertzUnit      Unit = "Hz"
	Kilowatt       Unit = "kW"
	KilowattHour   Unit = "kWh"
	Ampere         Unit = "A"
	Hour           Unit = "h"
	Percent        Unit = "%"
	Kilopascal     Unit = "kPa"
	Metre          Unit = "m"
	Millimetre     Unit = "mm"
	Celsius        Unit = "°C"
	LitrePerSecond Unit = "L/s"
)

// The customary units in which a plant with units = "us" is shown.
const (
	PSI             Unit = "psi"
	Foot            Unit = "ft"
	Inch            Unit = "in"
	Fahrenheit      Unit = "°F"
	GallonPerMinute Unit = "gpm"
)

// Exact definitions, NIST SP 811 (2008) Appendix B.8: the foot, the pound, the US gallon of 231 cubic inches, standard
// gravity, and the horsepower of 550 ft lbf/s. Derived factors are left as expressions so that their origin stays visible.
const (
	footM       = 0.3048
	inchM       = footM / 12
	poundKg     = 0.45359237
	gravity     = 9.80665
	psiPa       = poundKg * gravity / (inchM * inchM)
	gallonM3    = 231 * inchM * inchM * inchM
	gpmM3s      = gallonM3 / 60
	cfsM3s      = footM * footM * footM
	horsepowerW = 550 * footM * poundKg * gravity
	waterKgM3   = 1000.0                        // conventional water, NIST SP 811
	mercuryKgM3 = 13595.1                       // conventional mercury, NIST SP 811
	metreWater  = waterKgM3 * gravity           // Pa
	inchMercury = mercuryKgM3 * gravity * inchM // Pa
)

// typed is one unit that may be typed: kept = typed*factor + offset.
type typed struct {
	symbol         string   // as it is written to people
	factor, offset float64  // the kept unit itself has 1, 0
	names          []string // further spellings, lower case and without spaces; the symbol needs no repeating
}

// accepted returns the units that may be typed for a kept unit, the kept unit itself first. A gpm is the US gallon's, a hp
// is 550 ft lbf/s, and heights of water and mercury are conventional ones, as in NIST SP 811.
func accepted(u Unit) []typed {
	switch u {
	case Volt:
		return []typed{{"V", 1, 0, []string{"volt", "volts"}}, {"kV", 1e3, 0, nil}}
	case HertzUnit:
		return []typed{{"Hz", 1, 0, []string{"hertz", "c/s"}}}
	case Kilowatt:
		return []typed{{"kW", 1, 0, nil}, {"W", 1e-3, 0, []string{"watt", "watts"}}, {"MW", 1e3, 0, nil}, {"hp", horsepowerW / 1e3, 0, nil}}
	case KilowattHour:
		return []typed{{"kWh", 1, 0, []string{"kw·h", "kw.h", "kw-h"}}, {"Wh", 1e-3, 0, nil}, {"MWh", 1e3, 0, nil}}
	case Ampere:
		return []typed{{"A", 1, 0, []string{"amp", "amps"}}, {"mA", 1e-3, 0, nil}}
	case Hour:
		return []typed{{"h", 1, 0, []string{"hr", "hrs", "hour", "hours"}}, {"min", 1.0 / 60, 0, nil}, {"d", 24, 0, []string{"day", "days"}}}
	case Percent:
		return []typed{{"%", 1, 0, []string{"pct", "percent"}}}
	case Kilopascal:
		return pressures()
	case Metre:
		return []typed{{"m", 1, 0, []string{"metre", "metres", "meter", "meters"}}, {"ft", footM, 0, []string{"feet", "foot", "'"}},
			{"cm", 1e-2, 0, nil}, {"in", inchM, 0, []string{"inch", "inches", "\""}}, {"mm", 1e-3, 0, nil}}
	case Millimetre:
		return []typed{{"mm", 1, 0, nil}, {"cm", 10, 0, nil}, {"in", inchM * 1e3, 0, []string{"inch", "inches", "\""}},
			{"m", 1e3, 0, nil}, {"ft", footM * 1e3, 0, []string{"feet", "foot", "'"}}}
	case Celsius:
		return []typed{{"°C", 1, 0, []string{"c", "degc"}}, {"°F", 5.0 / 9, -160.0 / 9, []string{"f", "degf"}}, {"K", 1, -273.15, nil}}
	case LitrePerSecond:
		return []typed{{"L/s", 1, 0, []string{"lps"}}, {"gpm", gpmM3s * 1e3, 0, []string{"usgpm", "gal/min"}}, {"m³/s", 1e3, 0, []string{"m3/s", "cms"}},
			{"L/min", 1.0 / 60, 0, []string{"lpm"}}, {"m³/h", 1 / 3.6, 0, []string{"m3/h"}}, {"cfs", cfsM3s * 1e3, 0, []string{"ft3/s", "ft³/s"}}}
	case None, PSI, Foot, Inch, Fahrenheit, GallonPerMinute:
	}
	return nil
}

// pressures are gauge pressures: "psig" and "barg" say so, the others are taken so.
func pressures() []typed {
	return []typed{{"kPa", 1, 0, nil}, {"psi", psiPa / 1e3, 0, []string{"psig"}}, {"bar", 100, 0, []string{"barg"}},
		{"mbar", 0.1, 0, []string{"hpa"}}, {"Pa", 1e-3, 0, nil}, {"MPa", 1e3, 0, nil},
		{"mH2O", metreWater / 1e3, 0, []string{"mwc"}}, {"ftH2O", metreWater * footM / 1e3, 0, []string{"ftwc"}},
		{"inH2O", metreWater * inchM / 1e3, 0, nil}, {"inHg", inchMercury / 1e3, 0, nil}}
}

// is reports whether a unit as typed, in lower case and without spaces, is this one.
func (u typed) is(name string) bool {
	return strings.ToLower(u.symbol) == name || slices.Contains(u.names, name)
}

// System says how screens show values and what a bare number typed in a screen means.
type System string

// The two systems of the plant file's [site] units.
const (
	Metric System = "metric"
	US     System = "us"
)

// Shown returns the unit in which a quantity of a kept unit is shown in this system, with the digits that it deserves
// there, and the conversion kept = shown*factor + offset.
func (s System) Shown(u Unit, digits int) (shown Unit, shownDigits int, factor, offset float64) {
	if s != US {
		return u, digits, 1, 0
	}
	switch u {
	case Kilopascal:
		return PSI, digits + 1, psiPa / 1e3, 0
	case Metre:
		return Foot, digits, footM, 0
	case Millimetre:
		return Inch, digits + 1, inchM * 1e3, 0
	case Celsius:
		return Fahrenheit, digits, 5.0 / 9, -160.0 / 9
	case LitrePerSecond:
		return GallonPerMinute, max(0, digits-1), gpmM3s * 1e3, 0
	case None, Volt, HertzUnit, Kilowatt, KilowattHour, Ampere, Hour, Percent, PSI, Foot, Inch, Fahrenheit, GallonPerMinute:
	}
	return u, digits, 1, 0
}
