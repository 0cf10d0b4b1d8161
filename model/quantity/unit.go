package quantity

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

// typed is one unit that may be typed: value_kept = value_typed*factor + offset.
type typed struct {
	names          []string // lower case, as typed without spaces
	factor, offset float64
}

// accepted returns the units that may be typed for a kept unit, the kept unit itself first.
func accepted(u Unit) []typed {
	switch u {
	case Volt:
		return []typed{{[]string{"v", "volt", "volts"}, 1, 0}, {[]string{"kv"}, 1000, 0}}
	case HertzUnit:
		return []typed{{[]string{"hz", "hertz", "c/s"}, 1, 0}}
	case Kilowatt:
		return []typed{{[]string{"kw"}, 1, 0}, {[]string{"w", "watt", "watts"}, 1e-3, 0}, {[]string{"mw"}, 1e3, 0},
			{[]string{"hp"}, horsepowerW / 1e3, 0}}
	case KilowattHour:
		return []typed{{[]string{"kwh", "kw·h", "kw.h"}, 1, 0}, {[]string{"wh"}, 1e-3, 0}, {[]string{"mwh"}, 1e3, 0}}
	case Ampere:
		return []typed{{[]string{"a", "amp", "amps"}, 1, 0}, {[]string{"ma"}, 1e-3, 0}}
	case Hour:
		return []typed{{[]string{"h", "hr", "hrs", "hour", "hours"}, 1, 0}, {[]string{"min"}, 1.0 / 60, 0}, {[]string{"d", "day", "days"}, 24, 0}}
	case Percent:
		return []typed{{[]string{"%", "pct", "percent"}, 1, 0}}
	case Kilopascal:
		return []typed{{[]string{"kpa"}, 1, 0}, {[]string{"psi", "psig"}, psiPa / 1e3, 0}, {[]string{"bar", "barg"}, 100, 0}, {[]string{"mbar", "hpa"}, 0.1, 0},
			{[]string{"pa"}, 1e-3, 0}, {[]string{"mpa"}, 1e3, 0}, {[]string{"mh2o", "mwc"}, metreWater / 1e3, 0},
			{[]string{"fth2o", "ftwc"}, metreWater * footM / 1e3, 0}, {[]string{"inh2o"}, metreWater * inchM / 1e3, 0}, {[]string{"inhg"}, inchMercury / 1e3, 0}}
	case Metre:
		return []typed{{[]string{"m", "metre", "metres", "meter", "meters"}, 1, 0}, {[]string{"cm"}, 1e-2, 0}, {[]string{"mm"}, 1e-3, 0},
			{[]string{"ft", "feet", "foot", "'"}, footM, 0}, {[]string{"in", "inch", "inches", "\""}, inchM, 0}}
	case Millimetre:
		return []typed{{[]string{"mm"}, 1, 0}, {[]string{"cm"}, 10, 0}, {[]string{"m"}, 1000, 0},
			{[]string{"in", "inch", "inches", "\""}, inchM * 1e3, 0}, {[]string{"ft", "feet", "foot", "'"}, footM * 1e3, 0}}
	case Celsius:
		return []typed{{[]string{"c", "°c", "degc"}, 1, 0}, {[]string{"f", "°f", "degf"}, 5.0 / 9, -160.0 / 9}, {[]string{"k"}, 1, -273.15}}
	case LitrePerSecond:
		return []typed{{[]string{"l/s", "lps"}, 1, 0}, {[]string{"l/min", "lpm"}, 1.0 / 60, 0}, {[]string{"m3/s", "m³/s", "cms"}, 1e3, 0}, {[]string{"m3/h", "m³/h"}, 1.0 / 3.6, 0},
			{[]string{"gpm", "gal/min"}, gpmM3s * 1e3, 0}, {[]string{"cfs", "ft3/s"}, cfsM3s * 1e3, 0}}
	case None:
	}
	return nil
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
