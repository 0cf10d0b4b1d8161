package assess

import (
	"encoding/json"
	"math"
	"testing"

	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/steady"
	"example.org/headpond/model/tolerance"
)

func state(t *testing.T, a *Assessor, v vals, k quantity.Key) Judged {
	t.Helper()
	for _, j := range a.Judge(record.Round{Time: noon, Running: &[]string{"A"}, Values: v}) {
		if j.Quantity == string(k) {
			return j
		}
	}
	t.Fatalf("%s was not judged", k)
	return Judged{}
}

// The default bands: ANSI C84.1 service ranges A (228-252 V) and B (220-254 V), verified secondary; EN 50160 without
// synchronous connection, 50 Hz +-2 % carried over to 60 Hz; near 57-63 Hz is common practice (references.md 1.2, 1.3).
func TestReadingsAreJudgedByTheDefaultBands(t *testing.T) {
	a := Of(history(bench(t), nil, nil))
	for _, c := range []struct {
		k    quantity.Key
		v    float64
		want tolerance.State
	}{
		{"volts", 240, tolerance.In}, {"volts", 228, tolerance.In}, {"volts", 252, tolerance.In},
		{"volts", 227.9, tolerance.Near}, {"volts", 254, tolerance.Near}, {"volts", 219.9, tolerance.Out}, {"volts", 254.1, tolerance.Out},
		{"A.volts", 227, tolerance.Near}, {"A.hertz", 57, tolerance.Near},
		{"hertz", 58.8, tolerance.In}, {"hertz", 61.2, tolerance.In}, {"hertz", 61.3, tolerance.Near}, {"hertz", 56.9, tolerance.Out}, {"hertz", 63.1, tolerance.Out},
		{"load_kw", 99, ""}, {"pond_level_m", 0.1, ""},
	} {
		if got := state(t, a, vals{c.k: c.v}, c.k); got.State != c.want {
			t.Errorf("%s = %g is %q, want %q", c.k, c.v, got.State, c.want)
		}
	}
}

// A pressure without a band is near beyond max(3 reading errors, 3 %) of what is expected and out beyond twice that. At about
// 130 kPa, 3 % is 3.9 kPa, more than three times the default gauge's error of 1 kPa.
func TestPressureIsJudgedByWhatIsExpected(t *testing.T) {
	p := bench(t)
	a := Of(history(p, nil, nil))
	m, err := steady.New(p)
	if err != nil {
		t.Fatal(err)
	}
	res, err := m.Solve(steady.Case{PondLevelM: -0.2, Running: []string{"A"}})
	if err != nil {
		t.Fatal(err)
	}
	want := res.Units[0].PressureKPa
	for _, c := range []struct {
		factor float64
		want   tolerance.State
	}{{1, tolerance.In}, {1.029, tolerance.In}, {0.971, tolerance.In}, {1.031, tolerance.Near}, {0.941, tolerance.Near}, {0.939, tolerance.Out}, {1.061, tolerance.Out}} {
		got := state(t, a, vals{"pond_level_m": -0.2, "pressure_kpa": want * c.factor}, "pressure_kpa")
		if got.State != c.want || got.Expected == nil || math.Abs(*got.Expected-want) > 1e-9 {
			t.Errorf("%.3f of the expected %.1f kPa is %q, want %q", c.factor, want, got.State, c.want)
		}
	}
	if got := Of(history(p, nil, nil)).Judge(record.Round{Time: noon, Values: vals{"pond_level_m": -0.2, "pressure_kpa": 50}}); got[1].State != "" {
		t.Errorf("with the running units unknown nothing is expected, but it is %q", got[1].State)
	}
}

func TestPlantBandsComeFirstAndAUnitsOwnBeforeThem(t *testing.T) {
	p := bench(t)
	lo, hi, own := 230.0, 250.0, 235.0
	p.Bands = []plant.Band{{Quantity: "volts", InMin: &lo, InMax: &hi, Source: "ours"}, {Quantity: "A.volts", InMin: &own}}
	a := Of(history(p, nil, nil))
	if got := state(t, a, vals{"volts": 229}, "volts"); got.State != tolerance.Out || got.Source != "ours" {
		t.Errorf("%+v", got)
	}
	if got := state(t, a, vals{"A.volts": 233}, "A.volts"); got.State != tolerance.Out || got.InMin == nil || got.In != nil {
		t.Errorf("a band that is open above: %+v", got)
	}
}

func TestJudgedIsWrittenAsTheContractSays(t *testing.T) {
	a := Of(history(bench(t), nil, nil))
	data, err := json.Marshal(state(t, a, vals{"hertz": 60, "pond_level_m": 0}, "hertz"))
	if err != nil {
		t.Fatal(err)
	}
	var got map[string]any
	if err := json.Unmarshal(data, &got); err != nil {
		t.Fatal(err)
	}
	for _, k := range []string{"quantity", "value", "state", "in", "near", "source", "expected"} {
		if _, ok := got[k]; !ok {
			t.Errorf("%s lacks %q", data, k)
		}
	}
	if len(got) != 7 {
		t.Errorf("%s has other keys", data)
	}
}

func TestExpectedReadings(t *testing.T) {
	p := bench(t)
	a := Of(history(p, &[]string{"A"}, vals{"pond_level_m": -0.2}))
	kw, besideKW := solved(t, p, -0.2, "A"), solved(t, p, -0.2, "A", "W")
	res, err := a.Solve(record.Round{Time: noon}, []string{"A", "W"})
	if err != nil {
		t.Fatal(err)
	}
	ownKW := res.OwnKW
	for _, c := range []struct {
		name  string
		round record.Round
		want  vals
		none  []quantity.Key
	}{
		{"the last level and running units serve a round that does not read them", record.Round{Values: vals{"load_kw": 2}},
			vals{"A.kw": kw, "volts": 240, "hertz": 60, "dump_kw": kw - 2, "dump_share_pct": 100 * (kw - 2) / kw}, []quantity.Key{"B.volts", "load_kw"}},
		{"a share tells the load", record.Round{Values: vals{"dump_share_pct": 25}}, vals{"load_kw": 0.75 * kw}, []quantity.Key{"dump_kw"}},
		{"dumped power tells the load", record.Round{Values: vals{"dump_kw": 1}}, vals{"load_kw": kw - 1}, nil},
		{"nothing runs: no voltage, and no power", record.Round{Running: &[]string{}},
			vals{"volts": 0, "hertz": 0, "A.kw": 0, "flow_lps": 0, "A.flow_lps": 0, "dump_kw": 0, "load_kw": 0, "screen_loss_mm": 0}, []quantity.Key{"A.volts", "dump_share_pct"}},
		{"one set stands beside another", record.Round{}, vals{"B.kw": 0, "B.flow_lps": 0, "A.kw": kw, "A.volts": 240}, []quantity.Key{"B.volts", "B.hertz"}},
		{"a set on its own bus keeps its own balance", record.Round{Running: &[]string{"A", "W"}, Values: vals{"W.load_kw": 0.5, "load_kw": 2}},
			vals{"W.dump_kw": ownKW - 0.5, "W.dump_share_pct": 100 * (ownKW - 0.5) / ownKW, "dump_kw": besideKW - 2}, []quantity.Key{"W.load_kw"}},
		{"its load by its share", record.Round{Running: &[]string{"A", "W"}, Values: vals{"W.dump_share_pct": 40}}, vals{"W.load_kw": 0.6 * ownKW}, []quantity.Key{"W.dump_kw", "dump_kw"}},
		{"more load than the water gives: nothing can be dumped", record.Round{Values: vals{"load_kw": 50}}, vals{"volts": 240}, []quantity.Key{"dump_kw", "dump_share_pct"}},
	} {
		c.round.Time = noon
		got := a.Expected(c.round)
		for k, v := range c.want {
			if told, ok := got[k]; !ok || math.Abs(told-v) > 1e-9 {
				t.Errorf("%s: %s = %g, want %g", c.name, k, got[k], v)
			}
		}
		for _, k := range c.none {
			if v, ok := got[k]; ok {
				t.Errorf("%s: %s should not be told, is %g", c.name, k, v)
			}
		}
	}
}

// A shut valve leaves a gauge below it at nothing and one above it at the static pressure (model.md 6).
func TestExpectedPressureAtAShutValve(t *testing.T) {
	shut := record.Round{Time: noon, Running: &[]string{}, Values: vals{"pond_level_m": -0.2}, Words: map[quantity.Key]string{"valve": "shut"}}
	p := bench(t)
	if got := Of(history(p, nil, nil)).Expected(shut)["pressure_kpa"]; got != 0 {
		t.Errorf("below the valve: %g kPa", got)
	}
	above := *p
	above.Penstocks = append([]plant.Penstock{}, p.Penstocks...)
	above.Penstocks[0].Gauge = plant.AboveValve
	// rho g h with 14.4 m of 10 degC water: 999.702 x 9.80665 x 14.4 (references.md 2.1)
	if got, want := Of(history(&above, nil, nil)).Expected(shut)["pressure_kpa"], 999.702*9.80665*14.4/1000; math.Abs(got-want) > 0.01 {
		t.Errorf("above the valve: %g kPa, want %g", got, want)
	}
}

func TestWaterTemperatureIsRememberedForTwoWeeks(t *testing.T) {
	p := bench(t)
	warm := func(days int) float64 {
		h := history(p, &[]string{"A"}, vals{"pond_level_m": -0.2})
		h.Rounds = append([]record.Round{{Time: noon.AddDate(0, 0, -days), Values: vals{"water_c": 25}}}, h.Rounds...)
		e, err := Of(h).Expect(ExpectOptions{})
		if err != nil {
			t.Fatal(err)
		}
		return e.WaterC
	}
	if got := warm(14); got != 25 {
		t.Errorf("14 days old: %g", got)
	}
	if got := warm(15); got != 10 {
		t.Errorf("15 days old: %g, want the default", got)
	}
}

func TestExpectSaysWhatIsMissing(t *testing.T) {
	p := bench(t)
	for _, c := range []struct {
		name string
		h    *record.History
		want error
	}{
		{"no plant", &record.History{At: noon}, errNoPlant},
		{"no level", history(p, &[]string{"A"}, nil), errNoLevel},
		{"running unknown", history(p, nil, vals{"pond_level_m": 0}), errNoRunning},
	} {
		if _, err := Of(c.h).Expect(ExpectOptions{}); err != c.want {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
	level, ran := -0.2, []string{"B", "A"}
	e, err := Of(history(p, nil, nil)).Expect(ExpectOptions{PondLevelM: &level, Running: &ran})
	if err != nil || len(e.Running) != 2 || e.Running[0] != "A" {
		t.Errorf("overridden: %+v, %v", e, err)
	}
	ran = []string{"Z"}
	if _, err := Of(history(p, nil, nil)).Expect(ExpectOptions{PondLevelM: &level, Running: &ran}); err == nil {
		t.Error("an unknown unit was left out without a word")
	}
}

// Judging never depends on readings of other rounds than by the level, the running units and the water temperature, and never fails.
func TestJudgingIsTotal(t *testing.T) {
	p := bench(t)
	keys := quantity.Keys(p.UnitIDs())
	rapid.Check(t, func(t *rapid.T) {
		r := record.Round{Time: noon, Values: vals{}}
		for _, k := range keys {
			if info, _ := quantity.Lookup(k.Name()); info.Number() && rapid.Bool().Draw(t, string(k)) {
				r.Values[k] = rapid.Float64Range(-1e6, 1e6).Draw(t, "value")
			}
		}
		if rapid.Bool().Draw(t, "running") {
			r.Running = &[]string{"A"}
		}
		got := Of(history(p, &[]string{"B"}, vals{"pond_level_m": 0})).Judge(r)
		if len(got) != len(r.Values) {
			t.Fatalf("%d of %d readings judged", len(got), len(r.Values))
		}
		for _, j := range got {
			if j.Expected != nil && (math.IsNaN(*j.Expected) || math.IsInf(*j.Expected, 0)) {
				t.Fatalf("%s is expected to be %g", j.Quantity, *j.Expected)
			}
		}
	})
}
