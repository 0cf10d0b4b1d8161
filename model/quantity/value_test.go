package quantity

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestTypedValues(t *testing.T) {
	for _, c := range []struct {
		n     Name
		in    string
		bare  System
		kept  float64
		typed string
	}{
		{PressureKPa, "19 psi", Metric, 131.00038857, "19 psi"}, // 19 × 6.894 757 293 168
		{PressureKPa, "26psi", Metric, 179.263689622, "26psi"},  // 26 × 6.894 757 293 168
		{PressureKPa, "131 kPa", Metric, 131, ""},
		{PressureKPa, "131KPA", Metric, 131, ""},
		{PressureKPa, "131", Metric, 131, ""},
		{PressureKPa, "19", US, 131.00038857, "19 psi"},
		{PressureKPa, "131 kPa", US, 131, ""},
		{PressureKPa, "1.3 bar", Metric, 130, "1.3 bar"},
		{PondLevelM, "3 ft", Metric, 0.9144, "3 ft"},
		{PondLevelM, "0.9 m", Metric, 0.9, ""},
		{PondLevelM, "0,9 m", Metric, 0.9, ""},
		{PondLevelM, "0,9", Metric, 0.9, ""},
		{PondLevelM, ".9", Metric, 0.9, ""},
		{PondLevelM, "9.", Metric, 9, ""},
		{PondLevelM, "+0.12", Metric, 0.12, ""},
		{PondLevelM, "−0.42", Metric, -0.42, ""}, // typographic minus
		{PondLevelM, "–0.42 m", Metric, -0.42, ""},
		{PondLevelM, "-0,42", Metric, -0.42, ""},
		{PondLevelM, "-0", Metric, 0, ""},
		{PondLevelM, "3 ft 2 in", Metric, 0.9652, "3 ft 2 in"}, // 38 × 0.0254
		{PondLevelM, "3ft2in", Metric, 0.9652, "3ft2in"},
		{PondLevelM, "3 feet 2 inches", Metric, 0.9652, "3 feet 2 inches"},
		{PondLevelM, "3'2\"", Metric, 0.9652, "3'2\""},
		{PondLevelM, "3′ 2″", Metric, 0.9652, "3' 2\""},
		{PondLevelM, "3' 2''", Metric, 0.9652, "3' 2\""},
		{PondLevelM, "3 ft 2", Metric, 0.9652, "3 ft 2"},
		{PondLevelM, "3 ft 2.5 in", Metric, 0.9779, "3 ft 2.5 in"}, // 38.5 × 0.0254
		{PondLevelM, "-3 ft 2 in", Metric, -0.9652, "-3 ft 2 in"},
		{PondLevelM, "−0 ft 6 in", Metric, -0.1524, "-0 ft 6 in"}, // 6 × 0.0254, below the zero
		{PondLevelM, "3", US, 0.9144, "3 ft"},
		{PondLevelM, "90 cm", US, 0.9, "90 cm"},
		{ScreenLossMM, "1 ft 1 in", Metric, 330.2, "1 ft 1 in"}, // 13 × 25.4
		{FlowLps, "45 gpm", Metric, 2.839058838, "45 gpm"},      // 45 × 3.785 411 784 / 60
		{FlowLps, "45 GPM", Metric, 2.839058838, "45 GPM"},
		{FlowLps, "76 l / s", Metric, 76, ""},
		{BearingC, "104 °F", Metric, 40, "104 °F"},
		{BearingC, "104f", Metric, 40, "104f"},
		{BearingC, "104 º F", Metric, 40, "104 ° F"}, // ordinal sign, as on Spanish keyboards
		{BearingC, "104℉", Metric, 40, "104°F"},
		{BearingC, "40 ℃", Metric, 40, ""},
		{BearingC, "40 c", US, 40, ""},
		{BearingC, "104", US, 40, "104 °F"},
		{AirC, "32", US, 0, "32 °F"},
		{DumpSharePct, "38 %", Metric, 38, ""},
		{Hertz, "60.1 Hz", US, 60.1, ""},
		{Volts, " 241\u00a0V ", Metric, 241, ""}, // a space that does not break
	} {
		v, err := ParseValue(info(t, c.n), c.in, c.bare)
		if err != nil {
			t.Errorf("%s %q: %v", c.n, c.in, err)
			continue
		}
		if math.Abs(v.Kept-c.kept) > 1e-11*math.Abs(c.kept) {
			t.Errorf("%s %q is kept as %.12g, want %.12g", c.n, c.in, v.Kept, c.kept)
		}
		if v.Typed != c.typed {
			t.Errorf("%s %q: typed %q, want %q", c.n, c.in, v.Typed, c.typed)
		}
		if v.Kept == 0 && math.Signbit(v.Kept) {
			t.Errorf("%s %q is kept as minus zero", c.n, c.in)
		}
	}
}

func TestWhatIsNoReading(t *testing.T) {
	for n, texts := range map[Name][]string{
		PondLevelM: {"", " ", "-", "+", ".", ",", "m", "1.2.3", "1,234.5", "1.234,5", "1,2,3", "0..9", "1e3", "0x10", "1_000", "1 000", "NaN", "Inf", "-inf",
			"--1", "1-", "3 ft -2 in", "3 ft +2 in", "3 ft 12 in", "3.5 ft 2 in", "3 ft 2 cm", "3 ft 2 in 1", "3 psi", "0.9 mm2", "٣", "９", "1\x00", "1 \x1b[2J"},
		PressureKPa: {"19 ft", "19 psi 2", "19 p", "19 psii", "kPa 19"},
		FlowLps:     {"45 g", "45 gph"},
		Volts:       {"241 kW", "2" + strings.Repeat("4", 30), strings.Repeat("0", 65), "1000000000001"},
		BearingC:    {"40 °", "40 °R"},
		Screen:      {"1"},
	} {
		for _, in := range texts {
			for _, s := range []System{Metric, US} {
				v, err := ParseValue(info(t, n), in, s)
				var bad *ValueError
				if !errors.As(err, &bad) {
					t.Errorf("%s %q (%s) is read as %+v, %v; want a *ValueError", n, in, s, v, err)
				}
			}
		}
	}
}

func TestAnErrorSaysWhatMayBeTyped(t *testing.T) {
	for _, c := range []struct {
		n    Name
		in   string
		bare System
		want string
	}{
		{PressureKPa, "19 ft", Metric, `"19 ft" is not a number in kPa (or with its unit, such as psi, bar, mbar)`},
		{PressureKPa, "19 ft", US, `"19 ft" is not a number in psi (or with its unit, such as kPa, bar, mbar)`},
		{BearingC, "x", US, `"x" is not a number in °F (or with its unit, such as °C, K)`},
		{DumpSharePct, "x\x1b", Metric, `"x\x1b" is not a number in %`},
		{Volts, strings.Repeat("é", 70), Metric, `"` + strings.Repeat("é", 60) + `"… is not a number in V (or with its unit, such as kV)`},
	} {
		_, err := ParseValue(info(t, c.n), c.in, c.bare)
		if err == nil || err.Error() != c.want {
			t.Errorf("error of %q:\n got %v\nwant %s", c.in, err, c.want)
		}
	}
	_, err := ParseWord(info(t, Screen), "dirty")
	if want := `"dirty" is not one of clear, partly, blocked, iced`; err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}

func TestWords(t *testing.T) {
	for _, c := range []struct {
		n        Name
		in, want string // "" where it is refused
	}{
		{Screen, "clear", "clear"}, {Screen, " Partly ", "partly"}, {Screen, "b", "blocked"}, {Screen, "ICED", "iced"},
		{Screen, "", ""}, {Screen, "clearly", ""}, {Screen, "x", ""},
		{ScreenCleared, "y", "yes"}, {ScreenCleared, "NO", "no"},
		{Valve, "p", "part"}, {Ice, "cov", "cover"},
	} {
		got, err := ParseWord(info(t, c.n), c.in)
		if got != c.want || (err == nil) != (c.want != "") {
			t.Errorf("%s %q = %q, %v; want %q", c.n, c.in, got, err, c.want)
		}
	}
	ambiguous := Info{Words: []string{"part", "partly"}}
	if got, err := ParseWord(ambiguous, "par"); err == nil {
		t.Errorf("par begins two words and is read as %q", got)
	}
	if got, err := ParseWord(ambiguous, "part"); got != "part" || err != nil {
		t.Errorf("a whole word that begins another: %q, %v", got, err)
	}
}

// kept draws a value that a round may hold: anything but numbers that no gauge shows.
func kept() *rapid.Generator[float64] {
	return rapid.OneOf(rapid.Float64Range(-1e4, 1e4), rapid.Float64Range(-largest, largest),
		rapid.Map(rapid.IntRange(-100000, 100000), func(n int) float64 { return float64(n) / 1000 })).
		Filter(func(v float64) bool { return v == 0 && !math.Signbit(v) || math.Abs(v) >= finest })
}

func TestAKeptValueReadsBackExactly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := rapid.SampledFrom(Catalogue()).Filter(Info.Number).Draw(t, "quantity")
		x := kept().Draw(t, "x")
		v, err := ParseValue(q, Text(x), Metric)
		if err != nil || v.Kept != x || v.Typed != "" {
			t.Fatalf("Text(%g) reads back as %+v, %v", x, v, err)
		}
	})
}

func FuzzParseValue(f *testing.F) {
	for _, s := range []string{"241", "19 psi", "0,9 m", "3 ft 2 in", "−1.2", "3'2\"", "104 °F", "1e9", "1,234.5", "-0 ft 6 in", "999999999999.9", "0.000000001", "45 gpm", "", "\xff", "100000000 ft 11"} {
		for i := range len(catalogue) {
			f.Add(i, s, i%2 == 0)
		}
	}
	f.Fuzz(func(t *testing.T, i int, s string, us bool) {
		q := catalogue[((i%len(catalogue))+len(catalogue))%len(catalogue)]
		bare := Metric
		if us {
			bare = US
		}
		v, err := ParseValue(q, s, bare)
		if err != nil {
			var bad *ValueError
			if !errors.As(err, &bad) || v != (Value{}) {
				t.Fatalf("%q: %+v, %v", s, v, err)
			}
			return
		}
		if math.IsNaN(v.Kept) || math.Abs(v.Kept) > largest || v.Kept != 0 && math.Abs(v.Kept) < finest || v.Kept == 0 && math.Signbit(v.Kept) {
			t.Fatalf("%q is kept as %g", s, v.Kept)
		}
		again, err := ParseValue(q, Text(v.Kept), Metric)
		if err != nil || again.Kept != v.Kept {
			t.Fatalf("%q: kept %g reads back as %+v, %v", s, v.Kept, again, err)
		}
		if v.Typed == "" {
			return
		}
		again, err = ParseValue(q, v.Typed, Metric)
		if err != nil || again != v {
			t.Fatalf("%q: typed %q reads back as %+v, %v; want %+v", s, v.Typed, again, err, v)
		}
	})
}
