package quantity

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func info(t testing.TB, n Name) Info {
	t.Helper()
	q, ok := Lookup(n)
	if !ok {
		t.Fatalf("%s is not in the catalogue", n)
	}
	return q
}

// Expected values: A. Thompson and B. N. Taylor, NIST Special Publication 811 (2008), Appendix B.8, to as many digits as
// stand there or follow from the exact definitions (foot 0.3048 m, pound 0.453 592 37 kg, US gallon 231 in3, standard
// gravity 9.806 65 m/s2, conventional water 1000 kg/m3 and mercury 13 595.1 kg/m3). rel is half of the last digit given.
func TestUnitsAgreeWithNISTSP811(t *testing.T) {
	for _, c := range []struct {
		n     Name
		typed string
		want  float64
		rel   float64 // 0: exact by definition
		from  string
	}{
		{PressureKPa, "1 psi", 6.894757293, 1e-10, "SP 811: pound-force per square inch, 6.894 757 E+03 Pa"},
		{PressureKPa, "1 inHg", 3.386389, 2e-7, "SP 811: inch of mercury, conventional, 3.386 389 E+03 Pa"},
		{PressureKPa, "1 ftH2O", 2.989067, 2e-7, "SP 811: foot of water, conventional, 2.989 067 E+03 Pa"},
		{PressureKPa, "1 mH2O", 9.80665, 0, "SP 811: centimetre of water, conventional, 9.806 65 E+01 Pa"},
		{PressureKPa, "1 inH2O", 0.2490889, 2e-7, "SP 811: inch of water, conventional, 2.490 889 E+02 Pa"},
		{PressureKPa, "1 bar", 100, 0, "SP 811: bar, 1.0 E+05 Pa, exact"},
		{PressureKPa, "1 mbar", 0.1, 0, "SP 811: millibar, 1.0 E+02 Pa, exact"},
		{PressureKPa, "1 MPa", 1000, 0, "SI prefix"},
		{PondLevelM, "1 ft", 0.3048, 0, "SP 811: foot, 3.048 E-01 m, exact"},
		{PondLevelM, "1 in", 0.0254, 0, "SP 811: inch, 2.54 E-02 m, exact"},
		{ScreenLossMM, "1 in", 25.4, 0, "SP 811: inch, exact"},
		{ScreenLossMM, "1 ft", 304.8, 0, "SP 811: foot, exact"},
		{FlowLps, "60 gpm", 3.785411784, 0, "SP 811: gallon (US), 3.785 411 784 E-03 m3, exact, sixty of them in a minute"},
		{FlowLps, "1 gpm", 0.063090196, 8e-9, "SP 811: gallon (US) per minute, 6.309 020 E-05 m3/s"},
		{FlowLps, "1 cfs", 28.316846592, 0, "SP 811: cubic foot per second, 2.831 685 E-02 m3/s"},
		{FlowLps, "3.6 m3/h", 1, 0, "SI"},
		{FlowLps, "60 L/min", 1, 0, "SP 811: litre 1.0 E-03 m3, minute 60 s, exact"},
		{LoadKW, "1 hp", 0.745699872, 1e-9, "SP 811: horsepower (550 ft lbf/s), 7.456 999 E+02 W"},
		{LoadKW, "1500 W", 1.5, 0, "SI prefix"},
		{BearingC, "212 °F", 100, 0, "SP 811: t/°C = (t/°F - 32)/1.8, exact"},
		{BearingC, "32 °F", 0, 0, "the same"},
		{BearingC, "-40 °F", -40, 0, "the same"},
		{BearingC, "98.6 °F", 37, 0, "the same"},
		{BearingC, "273.15 K", 0, 0, "SP 811: t/°C = T/K - 273.15, exact"},
		{Hours, "2 d", 48, 0, "SP 811: day 86 400 s, hour 3 600 s, exact"},
		{Hours, "90 min", 1.5, 0, "SP 811: minute 60 s, exact"},
		{EnergyKWh, "1.5 MWh", 1500, 0, "SI prefix"},
		{Amps, "500 mA", 0.5, 0, "SI prefix"},
		{Volts, "0.24 kV", 240, 0, "SI prefix"},
	} {
		v, err := ParseValue(info(t, c.n), c.typed, Metric)
		if err != nil {
			t.Errorf("%s: %v", c.typed, err)
			continue
		}
		if math.Abs(v.Kept-c.want) > c.rel*math.Abs(c.want) {
			t.Errorf("%s of %s = %.12g, want %.12g (%s)", c.typed, c.n, v.Kept, c.want, c.from)
		}
	}
}

// 1 psi is 2.306 659 ft of conventional water: SP 811's two entries divided by each other, as design references §8.
func TestPsiInFeetOfWater(t *testing.T) {
	if got := psiPa / (metreWater * footM); math.Abs(got-2.306659) > 5e-7 {
		t.Errorf("1 psi = %.7f ftH2O", got)
	}
}

func TestEveryUnitOfACatalogueEntryCanBeTyped(t *testing.T) {
	for _, q := range Catalogue() {
		if !q.Number() {
			continue
		}
		units := accepted(q.Unit)
		if len(units) == 0 || Unit(units[0].symbol) != q.Unit || units[0].factor != 1 || units[0].offset != 0 {
			t.Errorf("%s: the first accepted unit must be the kept %s", q.Name, q.Unit)
		}
		shown := q.ShowUnit(US)
		seen := map[string]string{}
		found := false
		for _, u := range units {
			found = found || Unit(u.symbol) == shown
			for _, name := range append([]string{u.symbol}, u.names...) {
				v, err := ParseValue(q, "1 "+name, Metric)
				if err != nil {
					t.Errorf("%s: 1 %s is refused: %v", q.Name, name, err)
					continue
				}
				if want := tidy(u.factor + u.offset); math.Abs(v.Kept-want) > 1e-9*math.Abs(want) {
					t.Errorf("%s: 1 %s = %g, want %g", q.Name, name, v.Kept, want)
				}
				if seen[name] != "" {
					t.Errorf("%s: %q means both %s and %s", q.Name, name, seen[name], u.symbol)
				}
				seen[name] = u.symbol
			}
		}
		if !found {
			t.Errorf("%s is shown in %s, which cannot be typed", q.Name, shown)
		}
	}
}

// Shown and accepted are two tables; a value typed bare in a US plant must mean what the same value with its unit means.
func TestBareNumbersMeanTheShownUnit(t *testing.T) {
	for _, q := range Catalogue() {
		if !q.Number() {
			continue
		}
		bare, err := ParseValue(q, "12.5", US)
		if err != nil {
			t.Fatalf("%s: %v", q.Name, err)
		}
		with, err := ParseValue(q, "12.5 "+string(q.ShowUnit(US)), US)
		if err != nil {
			t.Fatalf("%s: %v", q.Name, err)
		}
		if bare != with {
			t.Errorf("%s: bare %+v, with its unit %+v", q.Name, bare, with)
		}
	}
}

func TestUnitsThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := rapid.SampledFrom(Catalogue()).Filter(Info.Number).Draw(t, "quantity")
		u := rapid.SampledFrom(accepted(q.Unit)).Draw(t, "unit")
		x := math.Round(rapid.Float64Range(-1e4, 1e4).Draw(t, "x")*100) / 100
		v, err := ParseValue(q, Text(x)+" "+u.symbol, Metric)
		if err != nil {
			t.Fatal(err)
		}
		back := (v.Kept - u.offset) / u.factor
		if tol := 1e-9*math.Abs(x) + finest/u.factor + 1e-9; math.Abs(back-x) > tol {
			t.Fatalf("%g %s is kept as %g and comes back as %g", x, u.symbol, v.Kept, back)
		}
	})
}
