package quantity

import (
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

func TestShow(t *testing.T) {
	for _, c := range []struct {
		n    Name
		in   string // as typed
		s    System
		want string
	}{
		{Volts, "241", Metric, "241"},
		{Volts, "241.2", Metric, "241.2"}, // a finer meter's own digit is kept
		{Hertz, "60", Metric, "60.0"},
		{Hertz, "60.12", Metric, "60.12"},
		{PondLevelM, "0.9", Metric, "0.90"},
		{PondLevelM, "0.905", Metric, "0.905"}, // a gauge read to 5 mm
		{PondLevelM, "-0.003", Metric, "-0.003"},
		{PressureKPa, "19 psi", Metric, "131"}, // 131.00038857: the digits of a conversion are not the gauge's
		{PondLevelM, "-1 ft", Metric, "-0.30"}, // -0.3048: a staff gauge has millimetres at most
		{PondLevelM, "-1 ft", US, "-1.00"},
		{PressureKPa, "19 psi", US, "19.0"},
		{PressureKPa, "19.25 psi", US, "19.25"},
		{PressureKPa, "131", US, "19.0"}, // 18.99994…
		{PondLevelM, "3 ft 2 in", US, "3.17"},
		{PondLevelM, "3.125 ft", US, "3.125"},
		{PondLevelM, "-0.001 ft", US, "-0.001"},
		{BearingC, "65 °F", US, "65"},
		{BearingC, "65 °F", Metric, "18"}, // 18.3333…
		{FlowLps, "45 gpm", US, "45"},
		{FlowLps, "45 gpm", Metric, "2.8"},
		{RainMM, "0.5 in", US, "0.5"},
		{RainMM, "0.5 in", Metric, "12.7"},
		{Hours, "12345.6", Metric, "12345.6"},
		{LoadKW, "0", Metric, "0.0"},
	} {
		q := info(t, c.n)
		v, err := ParseValue(q, c.in, Metric)
		if err != nil {
			t.Fatal(err)
		}
		if got := q.Show(v.Kept, c.s); got != c.want {
			t.Errorf("%s %s is shown (%s) as %s, want %s", c.n, c.in, c.s, got, c.want)
		}
	}
}

func TestShowEstimateGivesNoMoreDigitsThanTheQuantityDeserves(t *testing.T) {
	for _, c := range []struct {
		n    Name
		v    float64
		s    System
		want string
	}{
		{Volts, 241.234567, Metric, "241"},
		{Hertz, 59.96, Metric, "60.0"},
		{PondLevelM, -0.004, Metric, "0.00"}, // never minus zero
		{PondLevelM, 0.9652, US, "3.17"},
		{PressureKPa, 131.5, Metric, "132"},
		{PressureKPa, 131, US, "19.0"},
		{BearingC, -17.7777777, US, "0"},
		{FlowLps, 76.04, Metric, "76.0"},
		{FlowLps, 76, US, "1205"}, // 76 / 0.0630902
	} {
		if got := info(t, c.n).ShowEstimate(c.v, c.s); got != c.want {
			t.Errorf("%s %g is shown (%s) as %s, want %s", c.n, c.v, c.s, got, c.want)
		}
	}
}

func TestWhatIsShownIsTheReadingToTheDigitsShown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := rapid.SampledFrom(Catalogue()).Filter(Info.Number).Draw(t, "quantity")
		s := rapid.SampledFrom([]System{Metric, US}).Draw(t, "system")
		v := math.Round(rapid.Float64Range(-1e4, 1e4).Draw(t, "v")*1e4) / 1e4
		for _, shown := range []string{q.Show(v, s), q.ShowEstimate(v, s)} {
			x, err := strconv.ParseFloat(shown, 64)
			if err != nil {
				t.Fatalf("%g is shown as %q", v, shown)
			}
			_, digits, factor, offset := s.Shown(q.Unit, q.Digits)
			if want := (v - offset) / factor; math.Abs(x-want) > 0.500001*math.Pow10(-digits) {
				t.Fatalf("%g %s is %g %s and shown as %s", v, q.Unit, want, q.ShowUnit(s), shown)
			}
		}
	})
}
