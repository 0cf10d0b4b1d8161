package hydraulics

import "math"

// Gravity is the standard acceleration of free fall, m/s² (exact by definition, CGPM 1901; NIST SP 811).
const Gravity = 9.80665

// DefaultWaterC is the water temperature that holds where none was logged, °C.
const DefaultWaterC = 10.0

// Range of water temperatures for which Properties is used as it stands, °C. Outside, the nearer limit is taken: liquid
// pond water is never colder, and never warmer where people live.
const (
	MinWaterC = 0.0
	MaxWaterC = 50.0
)

// kelvin is the zero of the Celsius scale in kelvin (exact by definition).
const kelvin = 273.15

// Water holds the properties of liquid water at one temperature and atmospheric pressure.
type Water struct {
	TempC            float64 // temperature that the properties are for, °C
	DensityKgM3      float64
	ViscosityM2s     float64 // kinematic
	VapourPressurePa float64
}

// Properties returns the properties of water at tempC (°C), held within [MinWaterC, MaxWaterC]; a NaN gives those at
// DefaultWaterC.
func Properties(tempC float64) Water {
	if math.IsNaN(tempC) {
		tempC = DefaultWaterC
	}
	t := min(max(tempC, MinWaterC), MaxWaterC)
	rho := Density(t)
	return Water{TempC: t, DensityKgM3: rho, ViscosityM2s: Viscosity(t) / rho, VapourPressurePa: VapourPressure(t)}
}

// Density returns the density of liquid water at 0.1 MPa, kg/m³, for tempC in °C (valid −20 to 110 °C, liquid):
//
//	v = (R·TR/p0) [a5 + Σ(i=6..10) a_i α^n_i + Σ(i=5..10) b_i β^m_i],  α = TR/(593 K − T),  β = TR/(T − 232 K)
//
// with R = 461.51805 J/(kg K), TR = 10 K and p0 = 0.1 MPa. Source: IAPWS SR6-08(2011), eq. 2 and table 1.
func Density(tempC float64) float64 {
	const scale = 461.51805 * 10 / 1e5 // R·TR/p0, m³/kg
	t := tempC + kelvin
	a, b := 10/(593-t), 10/(t-232)
	a4 := a * a * a * a
	// Exponents of α are 4, 5, 7, 8, 9; those of β are 1 to 6.
	sum := 1.93763157e-2 + a4*(6.74458446e3+a*(-2.22521604e5+a*a*(1.00231247e8+a*(-1.63552118e9+a*8.32299658e9))))
	sum += b * (5.78545292e-3 + b*(-1.53195665e-2+b*(3.11337859e-2+b*(-4.23546241e-2+b*(3.38713507e-2-b*1.19946761e-2)))))
	return 1 / (scale * sum)
}

// Viscosity returns the dynamic viscosity of liquid water at 0.1 MPa, Pa·s, for tempC in °C (valid −20 to 110 °C):
//
//	μ = 10⁻⁶ (280.68 θ^−1.9 + 511.45 θ^−7.7 + 61.131 θ^−19.6 + 0.45903 θ^−40),  θ = T / 300 K
//
// Source: IAPWS SR6-08(2011), eq. 7.
func Viscosity(tempC float64) float64 {
	l := math.Log((tempC + kelvin) / 300)
	return 1e-6 * (280.68*math.Exp(-1.9*l) + 511.45*math.Exp(-7.7*l) + 61.131*math.Exp(-19.6*l) + 0.45903*math.Exp(-40*l))
}

// VapourPressure returns the saturation pressure of water, Pa, for tempC in °C (valid 0 to 374 °C). Source: IAPWS
// R7-97(2012), the saturation-pressure equation 30 of region 4.
func VapourPressure(tempC float64) float64 {
	const (
		n1, n2, n3, n4, n5 = 1167.0521452767, -724213.16703206, -17.073846940092, 12020.824702470, -3232555.0322333
		n6, n7, n8, n9     = 14.915108613530, -4823.2657361591, 405113.40542057, -0.23855557567849
		n10                = 650.17534844798
	)
	t := tempC + kelvin
	th := t + n9/(t-n10)
	a := th*th + n1*th + n2
	b := n3*th*th + n4*th + n5
	c := n6*th*th + n7*th + n8
	q := 2 * c / (-b + math.Sqrt(b*b-4*a*c))
	return 1e6 * q * q * q * q
}

// HeadOfPressure returns the height of water, m, that pressurePa (Pa) holds up at a density (kg/m³): h = p / (ρ g).
func HeadOfPressure(pressurePa, densityKgM3 float64) float64 {
	return pressurePa / (densityKgM3 * Gravity)
}

// PressureOfHead returns the pressure, Pa, under headM metres of water of a density (kg/m³): p = ρ g h.
func PressureOfHead(headM, densityKgM3 float64) float64 {
	return densityKgM3 * Gravity * headM
}
