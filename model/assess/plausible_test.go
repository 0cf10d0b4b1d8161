package assess

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// plausiblePlant has the numbers of the contract's example: 240 V, 60 Hz, 6 and 3 kW at -14.6 m, stages from -1.6 to 0.4 m.
func plausiblePlant() *plant.Plant {
	return &plant.Plant{
		Site:   plant.Site{Units: "metric"},
		Supply: plant.Supply{Volts: 240, Hertz: 60},
		Pond:   plant.Pond{Stage: []plant.StageRow{{LevelM: -1.6, AreaM2: 8000}, {LevelM: 0.4, AreaM2: 81000}}},
		Units: []plant.Unit{
			{ID: "A", RatedKW: 6, AxisM: -14.6, Bus: "common"},
			{ID: "B", RatedKW: 3, AxisM: -4.6, Bus: "common"},
			{ID: "C", RatedKW: 50, AxisM: -9.6, Bus: "own"},
		},
	}
}

// Each row is the contract's "Implausible values", worked by hand for that plant.
func TestPlausibleRanges(t *testing.T) {
	inf := math.Inf(1)
	p := plausiblePlant()
	for _, c := range []struct {
		k      quantity.Key
		lo, hi float64
		from   string
	}{
		{"volts", 0, 360, "volts 0–1.5 × rated: 1.5 × 240"},
		{"A.volts", 0, 360, "the same"},
		{"hertz", 0, 96, "hertz 0–1.6 × rated: 1.6 × 60"},
		{"load_kw", -27, 27, "|kW| ≤ 3 × rated: 3 × (6 + 3), the sets of the common bus"},
		{"dump_kw", -27, 27, "the same"},
		{"A.kw", -18, 18, "3 × 6"},
		{"B.kw", -9, 9, "3 × 3"},
		{"C.kw", -150, 150, "3 × 50"},
		{"pressure_kpa", -100, 441.29925, "3 × static: 3 × 9.80665 × (0.4 + 14.6), above the lowest axis"},
		{"pressure_before_kpa", -100, 441.29925, "the same"},
		{"pressure_after_kpa", -100, 441.29925, "the same"},
		{"B.pressure_kpa", -100, 147.09975, "3 × 9.80665 × (0.4 + 4.6)"},
		{"pond_level_m", -3.6, 2.4, "level within the stage rows ± 2 m"},
		{"bearing_c", -50, 200, "temperatures −50–200 °C"},
		{"A.bearing_c", -50, 200, "the same"},
		{"air_c", -50, 200, "the same"},
		{"water_c", -50, 200, "the same"},
		{"dump_share_pct", 0, 110, "shares 0–110 %"},
		{"energy_kwh", -inf, inf, "not named"},
		{"hours", -inf, inf, "not named"},
		{"amps", -inf, inf, "not named"},
		{"rain_mm", -inf, inf, "not named"},
		{"flow_lps", -inf, inf, "not named"},
		{"screen_loss_mm", -inf, inf, "not named"},
		{"screen", -inf, inf, "a word"},
		{"colour", -inf, inf, "not a reading"},
	} {
		lo, hi, _ := Plausible(p, c.k, 0)
		if math.Abs(lo-c.lo) > 1e-9 || math.Abs(hi-c.hi) > 1e-9 {
			t.Errorf("%s is plausible from %g to %g, want %g to %g (%s)", c.k, lo, hi, c.lo, c.hi, c.from)
		}
		for v, want := range map[float64]bool{c.lo: true, c.hi: true, math.Nextafter(lo, -inf): math.IsInf(lo, -1), math.Nextafter(hi, inf): math.IsInf(hi, 1)} {
			if math.Abs(v-c.lo) < 1e-9 && v != lo && v != math.Nextafter(lo, -inf) || math.Abs(v-c.hi) < 1e-9 && v != hi && v != math.Nextafter(hi, inf) {
				continue // the hand-worked limit differs in its last digit
			}
			if _, _, ok := Plausible(p, c.k, v); ok != want {
				t.Errorf("%s %.17g: plausible %v, want %v", c.k, v, ok, want)
			}
		}
		if _, _, ok := Plausible(p, c.k, math.NaN()); ok {
			t.Errorf("%s: not-a-number is plausible", c.k)
		}
	}
}

func TestPlausibleWhereThePlantDoesNotSay(t *testing.T) {
	inf := math.Inf(1)
	crest := 0.1
	for _, c := range []struct {
		name   string
		change func(*plant.Plant)
		k      quantity.Key
		lo, hi float64
	}{
		{"no stage table: the crest", func(p *plant.Plant) { p.Pond = plant.Pond{CrestM: &crest} }, "pressure_kpa", -100, 3 * 9.80665 * 14.7},
		{"no stage table: no level", func(p *plant.Plant) { p.Pond = plant.Pond{CrestM: &crest} }, "pond_level_m", -inf, inf},
		{"neither", func(p *plant.Plant) { p.Pond = plant.Pond{} }, "pressure_kpa", -100, inf},
		{"an axis above the pond", func(p *plant.Plant) { p.Units[0].AxisM = 5 }, "A.pressure_kpa", -100, inf},
		{"a unit of an earlier revision", func(p *plant.Plant) {}, "D.pressure_kpa", -100, 441.29925},
		{"a unit of an earlier revision", func(p *plant.Plant) {}, "D.kw", -27, 27},
		{"every set on its own bus", func(p *plant.Plant) { p.Units = p.Units[2:] }, "load_kw", -150, 150},
		{"no rating", func(p *plant.Plant) { p.Units[0].RatedKW = 0 }, "A.kw", -inf, inf},
		{"no units", func(p *plant.Plant) { p.Units = nil }, "load_kw", -inf, inf},
		{"no supply", func(p *plant.Plant) { p.Supply = plant.Supply{} }, "volts", 0, inf},
	} {
		p := plausiblePlant()
		c.change(p)
		lo, hi, _ := Plausible(p, c.k, 0)
		if lo != c.lo && math.Abs(lo-c.lo) > 1e-9 || hi != c.hi && math.Abs(hi-c.hi) > 1e-9 {
			t.Errorf("%s: %s from %g to %g, want %g to %g", c.name, c.k, lo, hi, c.lo, c.hi)
		}
	}
}

// 2411 V and 6.01 Hz are the two slips that the contract's authors name; the second lies within the contract's range.
func TestQuestions(t *testing.T) {
	for _, c := range []struct {
		units string
		cells map[string]string
		want  []string
	}{
		{"metric", map[string]string{"volts": "241.1", "hertz": "60.1", "pond_level_m": "-0.42", "A.kw": "5.7", "screen": "clear"}, nil},
		{"metric", nil, nil},
		{"metric", map[string]string{"volts": "2411", "A.bearing_c": "950", "pond_level_m": "42", "B.bearing_c": "-60"}, []string{
			"Pond level 42.00 m is outside what is plausible here (-3.60 to 2.40 m)",
			"Bearing A 950 °C is outside what is plausible here (-50 to 200 °C)",
			"Bearing B -60 °C is outside what is plausible here (-50 to 200 °C)",
			"Voltage 2411 V is outside what is plausible here (0 to 360 V)",
		}},
		{"metric", map[string]string{"pressure_kpa": "190 psi"}, []string{"Intake pressure 1310 kPa (190 psi) is outside what is plausible here (-100 to 441 kPa)"}},
		{"us", map[string]string{"pressure_kpa": "1310"}, []string{"Intake pressure 1310 kPa (190.0 psi) is outside what is plausible here (-100 to 441 kPa)"}},
		{"metric", map[string]string{"hertz": "6.01", "A.volts": "24.1"}, []string{
			"Voltage A 24.1 V is outside what is plausible here (29 to 360 V)",
			"Frequency 6.01 Hz is outside what is plausible here (7.2 to 96.0 Hz)",
		}},
		{"metric", map[string]string{"hertz": "0", "volts": "0"}, nil}, // it stands
		{"us", map[string]string{"hertz": "601"}, []string{"Frequency 601.0 Hz is outside what is plausible here (0.0 to 96.0 Hz)"}},
	} {
		p := plausiblePlant()
		p.Site.Units = c.units
		var r record.Round
		for k, text := range c.cells {
			if err := r.Set(k, text, p.UnitIDs(), quantity.Metric); err != nil {
				t.Fatal(err)
			}
		}
		var got []string
		for _, q := range Questions(p, r) {
			got = append(got, q.Text)
			if v := r.Values[q.Key]; v != q.Value || v >= q.Lo && v <= q.Hi {
				t.Errorf("%+v asks about %g", q, v)
			}
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%v (-want +got):\n%s", c.cells, diff)
		}
	}
}

func TestQuestionExpected(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		q    Question
		want string
	}{
		{Question{Key: "volts", Lo: 0, Hi: 360}, "0 to 360 V"},
		{Question{Key: "A.volts", Lo: 0, Hi: inf}, "at least 0 V"},
		{Question{Key: "load_kw", Lo: -inf, Hi: 27}, "at most 27.0 kW"},
		{Question{Key: "load_kw", Lo: -inf, Hi: inf}, "a number"},
	} {
		if got := c.q.Expected(); got != c.want {
			t.Errorf("%+v expects %q, want %q", c.q, got, c.want)
		}
	}
}

func TestARoundIsAskedAboutExactlyWhatIsNotPlausible(t *testing.T) {
	p := plausiblePlant()
	rapid.Check(t, func(t *rapid.T) {
		r := record.Round{Values: map[quantity.Key]float64{}}
		for range rapid.IntRange(0, 6).Draw(t, "readings") {
			k := rapid.SampledFrom(quantity.Keys(p.UnitIDs())).Draw(t, "key")
			r.Values[k] = rapid.Float64Range(-1000, 1000).Draw(t, "value")
		}
		asked := map[quantity.Key]bool{}
		for _, q := range Questions(p, r) {
			if _, _, ok := Plausible(p, q.Key, q.Value); q.Slip != ok {
				t.Fatalf("%+v", q)
			}
			if asked[q.Key] {
				t.Fatalf("%s is asked about twice", q.Key)
			}
			asked[q.Key] = true
		}
		for k, v := range r.Values {
			slip := (k.Name() == "volts" && v >= 19.2 && v < 28.8) || (k.Name() == "hertz" && v >= 4.8 && v < 7.2)
			if _, _, ok := Plausible(p, k, v); ok == asked[k] && !slip {
				t.Fatalf("%s = %g: plausible %v, asked %v", k, v, ok, asked[k])
			}
		}
	})
}
