package hydraulics

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The table of references.md item 2.1, computed there from IAPWS SR6-08(2011) and IF97; its 25 °C row is the published check.
func TestPropertiesAgreeWithTheTableOfReferences(t *testing.T) {
	rows := []struct{ c, rho, muMPaS, nu1e6, vapour, headM float64 }{
		{0, 999.842, 1.7918, 1.7921, 611.2, 0.0623},
		{4, 999.974, 1.5673, 1.5674, 813.5, 0.0830},
		{5, 999.966, 1.5182, 1.5182, 872.6, 0.0890},
		{10, 999.702, 1.3059, 1.3063, 1228.2, 0.1253},
		{15, 999.102, 1.1376, 1.1386, 1705.7, 0.1741},
		{20, 998.207, 1.0016, 1.0034, 2339.2, 0.2390},
		{25, 997.047, 0.8900, 0.8926, 3169.7, 0.3242},
		{30, 995.649, 0.7972, 0.8007, 4246.7, 0.4349},
	}
	for _, r := range rows {
		w := Properties(r.c)
		near(t, "density", w.DensityKgM3, r.rho, 0.0006)
		near(t, "dynamic viscosity", Viscosity(r.c)*1000, r.muMPaS, 0.00006)
		near(t, "kinematic viscosity", w.ViscosityM2s*1e6, r.nu1e6, 0.00006)
		near(t, "vapour pressure", w.VapourPressurePa, r.vapour, 0.06)
		near(t, "vapour pressure head", HeadOfPressure(w.VapourPressurePa, w.DensityKgM3), r.headM, 0.00006)
	}
}

func TestPropertiesStayWithinTheirRange(t *testing.T) {
	if got := Properties(-30).TempC; got != MinWaterC {
		t.Errorf("−30 °C gives properties at %g °C; expected %g", got, MinWaterC)
	}
	if got := Properties(90).TempC; got != MaxWaterC {
		t.Errorf("90 °C gives properties at %g °C; expected %g", got, MaxWaterC)
	}
	if got := Properties(math.NaN()).TempC; got != DefaultWaterC {
		t.Errorf("NaN gives properties at %g °C; expected %g", got, DefaultWaterC)
	}
}

func TestWaterIsDensestNearFourDegrees(t *testing.T) {
	if !(Density(4) > Density(3) && Density(4) > Density(5)) {
		t.Errorf("densities at 3, 4, 5 °C are %g, %g, %g", Density(3), Density(4), Density(5))
	}
}

func TestWarmerWaterIsThinnerAndBoilsSooner(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(MinWaterC, MaxWaterC-0.01).Draw(t, "colder")
		b := rapid.Float64Range(a+0.01, MaxWaterC).Draw(t, "warmer")
		if !(Viscosity(b) < Viscosity(a)) || !(VapourPressure(b) > VapourPressure(a)) {
			t.Fatalf("%g and %g °C: viscosity %g, %g; vapour pressure %g, %g", a, b, Viscosity(a), Viscosity(b), VapourPressure(a), VapourPressure(b))
		}
	})
}

func TestHeadAndPressureAreInverse(t *testing.T) {
	// 1 psi holds up 2.3108 ft of water at 20 °C (references.md item 8, arithmetic from NIST definitions).
	near(t, "feet of water for a psi", HeadOfPressure(6894.757293, Density(20))/0.3048, 2.3108, 0.00006)
	rapid.Check(t, func(t *rapid.T) {
		h := rapid.Float64Range(-20, 500).Draw(t, "head")
		if back := HeadOfPressure(PressureOfHead(h, 999.7), 999.7); math.Abs(back-h) > 1e-12*math.Abs(h) {
			t.Fatalf("%g m comes back as %g m", h, back)
		}
	})
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.9g, expected %.9g ± %g", what, got, want, tolerance)
	}
}
