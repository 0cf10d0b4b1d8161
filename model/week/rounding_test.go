package week

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Worked by hand: the last digit written is that of half the range's width; for a meter's exact number that of a thousandth of
// it; never finer than a tenth.
func TestANumberIsWrittenToTheDigitsOfItsRange(t *testing.T) {
	for _, c := range []struct {
		r    Range
		step float64
		want string
	}{
		{Range{998, 969, 1027}, 10, "1000 kWh (970 to 1030)"},
		{Range{693.4, 670, 715}, 10, "690 kWh (670 to 720)"},
		{Range{693.4, 684, 703}, 1, "693 kWh (684 to 703)"},
		{Range{31234, 30900, 31600}, 100, "31200 kWh (30900 to 31600)"},
		{Range{4.26, 4.1, 4.5}, 0.1, "4.3 kWh (4.1 to 4.5)"},
		{Range{4.26, 4.255, 4.265}, 0.1, "4.3 kWh"}, // both ends read alike
		{Range{693.42, 693.42, 693.42}, 0.1, "693.4 kWh"},
		{Range{1234567, 1234567, 1234567}, 1000, "1235000 kWh"},
		{Range{0, 0, 0}, 0.1, "0.0 kWh"},
		{Range{0.04, 0, 0.09}, 0.1, "0.0 kWh (0.0 to 0.1)"},
		{Range{5, 0, 10}, 1, "5 kWh (0 to 10)"},
		{Range{50, 0, 100}, 10, "50 kWh (0 to 100)"},
		{Range{-0.01, -0.02, 0}, 0.1, "0.0 kWh"},
	} {
		if got := c.r.Step(); math.Abs(got-c.step) > 1e-12*c.step {
			t.Errorf("%+v has the step %g, want %g", c.r, got, c.step)
		}
		if got := c.r.in("kWh"); got != c.want {
			t.Errorf("%+v is written %q, want %q", c.r, got, c.want)
		}
		if got, want := c.r.rounded("kWh"), strings.Split(c.want, " (")[0]; got != want {
			t.Errorf("%+v alone is written %q, want %q", c.r, got, want)
		}
	}
}

// What cannot be rounded by its range takes the finest step, and is known for what it is.
func TestTheStepOfWhatIsNoNumber(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, r := range []Range{{nan, 1, 2}, {1, nan, 2}, {inf, 1, 2}, {1, -inf, inf}, {0, 0, 0}} {
		if s := r.Step(); s != 0.1 {
			t.Errorf("%+v has the step %g, want 0.1", r, s)
		}
		if want := r.Value == 0 || r.Value == 1; r.Known() != want {
			t.Errorf("%+v is known: %v", r, r.Known())
		}
	}
}

// Whatever the range: the step is a power of ten, no coarser than half the range or a thousandth, and what is written is within
// half a step of the value; the value never reads as beyond its own ends, for rounding keeps order.
func TestRoundingKeepsOrderAndIsWithinHalfAStep(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		v := math.Exp(rapid.Float64Range(-5, 16).Draw(rt, "ln value"))
		r := Range{Value: v, Low: max(0, v-v*rapid.Float64Range(0, 2).Draw(rt, "below")), High: v + v*rapid.Float64Range(0, 2).Draw(rt, "above")}
		s := r.Step()
		if e := math.Log10(s); math.Abs(e-math.Round(e)) > 1e-9 || s < 0.1-1e-12 {
			rt.Fatalf("%+v has the step %g", r, s)
		}
		if most := max((r.High-r.Low)/2, v/1000, 0.1); s > most*(1+1e-9) {
			rt.Fatalf("%+v has the step %g, coarser than %g", r, s, most)
		}
		value, low, high := r.Figures()
		shown := number(rt, value)
		if math.Abs(shown-v) > s/2+1e-9*v {
			rt.Fatalf("%+v is written %s with the step %g", r, value, s)
		}
		if low == "" {
			return
		}
		if lo, hi := number(rt, low), number(rt, high); !(lo <= shown && shown <= hi && lo < hi) {
			rt.Fatalf("%+v is written %s (%s to %s)", r, value, low, high)
		}
	})
}

func number(rt *rapid.T, text string) float64 {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		rt.Fatalf("%q is no number", text)
	}
	return v
}

// What was used and dumped is written so finely that it fits into what was generated, as that is written: the parts of a sum may
// differ from it by what three roundings take, and no more.
func TestPartsFitIntoTheWhole(t *testing.T) {
	// By hand: with ends this wide each part alone deserves but one digit; 31200 and 21000 would read "30000" and "20000" of 52300.
	e := Energy{Generated: &Range{52300, 51900, 52700}, Used: &Range{31240, 21000, 41000}, Dumped: &Range{21060, 11000, 31000}}
	for _, c := range []struct {
		r    *Range
		want string
	}{{e.Generated, "52300 kWh"}, {e.Used, "31200 kWh"}, {e.Dumped, "21100 kWh"}} {
		if got := e.rounded(*c.r, "kWh"); got != c.want {
			t.Errorf("%v is written %q, want %q", *c.r, got, c.want)
		}
	}
	// A part that is known better than the whole keeps its digits; without the whole each stands for itself.
	if got := (Energy{Generated: e.Generated, Used: &Range{31243, 31240, 31246}}).rounded(Range{31243, 31240, 31246}, "kWh"); got != "31240 kWh" {
		t.Errorf("a metered part is written %q", got)
	}
	if got := (Energy{}).rounded(*e.Used, "kWh"); got != "30000 kWh" {
		t.Errorf("a part without the whole is written %q", got)
	}
	number := func(t *rapid.T, s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	rapid.Check(t, func(t *rapid.T) {
		u, d := rapid.Float64Range(0, 1e5).Draw(t, "used"), rapid.Float64Range(0, 1e5).Draw(t, "dumped")
		around := func(v float64, name string) *Range {
			h := rapid.Float64Range(0, 1).Draw(t, name) * v
			return &Range{v, v - h, v + h}
		}
		e := Energy{Generated: around(u+d, "generated's"), Used: around(u, "used's"), Dumped: around(d, "dumped's")}
		var v [3]float64
		for i, r := range []*Range{e.Generated, e.Used, e.Dumped} {
			s, _, _ := r.FiguresTo(e.StepOf(*r))
			v[i] = number(t, s)
		}
		if s := e.Generated.Step(); math.Abs(v[1]+v[2]-v[0]) > 1.5*s+1e-6 {
			t.Fatalf("used %g and dumped %g of %g, which is told to %g", v[1], v[2], v[0], s)
		}
	})
}
