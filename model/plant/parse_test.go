package plant_test

import (
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"example.org/headpond/model/plant"
)

// The contract's own example, value by value.
func TestTheContractsExample(t *testing.T) {
	data, err := os.ReadFile("testdata/contract.toml")
	if err != nil {
		t.Fatal(err)
	}
	want := &plant.Plant{
		Site: plant.Site{Name: "Tern Hollow", Timezone: "America/Halifax", Units: "metric"},
		Supply: plant.Supply{Volts: 240, Hertz: 60, TripVolts: &[2]float64{204, 276}, TripHertz: &[2]float64{54, 66},
			Bands: "isolated"},
		Bands: []plant.Band{{Quantity: "hertz", InMin: at(58.8), InMax: at(61.2), NearMin: at(57), NearMax: at(63), Source: "why this band"}},
		Pond: plant.Pond{
			Stage:  []plant.StageRow{{LevelM: -1.6, AreaM2: 8000}, {LevelM: -0.8, AreaM2: 46000}, {LevelM: 0, AreaM2: 74000}, {LevelM: 0.4, AreaM2: 81000}},
			CrestM: at(0.1), CrestLengthM: 4.5, CrestCoefficient: 1.7, StopLevelM: at(-0.85), BypassLps: 6, SeepageLps: 1.5,
			EvaporationMMDay: &[12]float64{0.2, 0.3, 0.8, 1.6, 3.0, 3.9, 4.4, 3.8, 2.5, 1.2, 0.5, 0.2},
			PermitLowM:       at(-0.9), PermitHighM: at(0.3),
		},
		Intake:    plant.Intake{CentrelineM: at(-1.55), DiameterM: at(0.35), ScreenM2: at(1.4), OpenShare: 0.4, HoleMM: at(2.5)},
		Penstocks: []plant.Penstock{{Name: "main", LengthM: 210, DiameterM: 0.3, RoughnessMM: 0.01, MinorK: 2.1, WaveSpeedMS: at(300), Gauge: plant.BelowValve}},
		Units: []plant.Unit{{ID: "A", Name: "large set", Penstock: "main", AxisM: -14.6, TailwaterM: -14.6, RatedKW: 6, RatedKVA: 8,
			BestFlowLps: 76, BestHeadM: 13.1, BestEfficiency: 0.68, GeneratorEfficiency: 0.86, RunawayRatio: 1.5,
			Excitation: plant.Regulated, Bus: "common"}},
		Ballast: plant.Ballast{ControllerKW: at(8), ShareOf: plant.ShareOfGeneration,
			Elements: []plant.Element{{Name: "E1", RatedKW: 2, RatedVolts: 240, Working: true}}},
		Loads:  []plant.Load{{Name: "freezer", KW: 0.4, StartKVA: at(2), Essential: true}},
		Gauge:  map[string]float64{"volts": 1, "hertz": 0.1, "load_kw": 0.1, "dump_share_pct": 1, "pressure_kpa": 1, "pond_level_m": 0.005},
		Upkeep: []plant.Task{{Task: "grease drive-end bearing, unit A", EveryHours: at(500), Unit: "A"}},
		Money: &plant.Money{Currency: "CAD", PerKWh: at(0.13),
			Fuels: []plant.Fuel{{Name: "propane", Unit: "L", KWhPerUnit: 7.1, Price: at(0.95)}}},
	}
	got := mustParse(t, string(data))
	if diff := cmp.Diff(want, got, cmpopts.IgnoreFields(plant.Plant{}, "Location")); diff != "" {
		t.Errorf("want (-), got (+):\n%s", diff)
	}
	if got.Location == nil || got.Location.String() != "America/Halifax" {
		t.Errorf("location %v", got.Location)
	}
}

func TestDefaults(t *testing.T) {
	p := mustParse(t, soundFile)
	for _, c := range []struct {
		name      string
		got, want any
	}{
		{"units", p.Site.Units, "metric"},
		{"bands", p.Supply.Bands, "isolated"},
		{"crest coefficient", p.Pond.CrestCoefficient, 1.7},
		{"gauge place", p.Penstocks[0].Gauge, plant.BelowValve},
		{"unit name", p.Units[1].Name, "B"},
		{"tailwater", p.Units[0].TailwaterM, -14.6},
		{"rated kVA", p.Units[1].RatedKVA, 3.0},
		{"runaway", p.Units[0].RunawayRatio, 1.5},
		{"excitation", p.Units[0].Excitation, plant.Regulated},
		{"bus", p.Units[0].Bus, "common"},
		{"share of", p.Ballast.ShareOf, plant.ShareOfGeneration},
		{"element volts", p.Ballast.Elements[0].RatedVolts, 240.0},
		{"element works", p.Ballast.Elements[0].Working, true},
		{"essential", p.Loads[0].Essential, false},
		{"no trip settings", p.Supply.TripVolts == nil && p.Supply.TripHertz == nil, true},
		{"no money", p.Money == nil, true},
		{"no stop level", p.Pond.StopLevelM == nil, true},
	} {
		if c.got != c.want {
			t.Errorf("%s: %v, want %v", c.name, c.got, c.want)
		}
	}
}

func TestTheSameFileInOtherDress(t *testing.T) {
	want := mustParse(t, soundFile)
	for name, text := range map[string]string{
		"byte-order mark":     "\ufeff" + soundFile,
		"line ends CR LF":     strings.ReplaceAll(soundFile, "\n", "\r\n"),
		"no last line end":    strings.TrimSuffix(soundFile, "\n"),
		"comments and blanks": "# a\n\n" + strings.ReplaceAll(soundFile, "\n", "  # b\n\t"),
		"integers for floats": strings.ReplaceAll(soundFile, "8.0", "8"),
		"floats for integers": strings.ReplaceAll(soundFile, "= 240", "= 2.4e+2"),
		"underscores":         strings.ReplaceAll(soundFile, "81000", "81_000"),
		"hexadecimal":         strings.ReplaceAll(soundFile, "= 210", "= 0xd2"),
		"rows over lines":     strings.ReplaceAll(soundFile, "[[-1.60, 8000], ", "[ # rising\n  [-1.60, 8000],\n  "),
		"inline table":        strings.ReplaceAll(soundFile, "[intake]\nscreen_m2 = 1.4\nopen_share = 0.40\n", "") + "\n[dummy]\n",
		"dotted keys":         "site.name = \"Tern Hollow\"\nsite.timezone = \"America/Halifax\"\n" + strings.SplitN(soundFile, "\n\n", 2)[1],
		"blanks in names":     strings.ReplaceAll(soundFile, `"main"`, `" main "`),
		"literal strings":     strings.ReplaceAll(soundFile, `"main"`, `'main'`),
		"blanks in headings":  strings.ReplaceAll(soundFile, "[[ballast.element]]", "[[ ballast . element ]]"),
	} {
		t.Run(name, func(t *testing.T) {
			if name == "inline table" {
				text = "intake = { screen_m2 = 1.4, open_share = 0.40 }\n" + strings.TrimSuffix(text, "\n[dummy]\n")
			}
			got := mustParse(t, text)
			if diff := cmp.Diff(want, got, cmpopts.IgnoreFields(plant.Plant{}, "Location")); diff != "" {
				t.Errorf("want (-), got (+):\n%s", diff)
			}
		})
	}
}

func TestColumnsAreCountedInCharactersBehindTheByteOrderMark(t *testing.T) {
	text := "\ufeff" + strings.Replace(soundFile, `name = "Tern Hollow"`, `name = "Étang à Ø" # ü`, 1)
	text = strings.Replace(text, `timezone = "America/Halifax"`, `"timezone" = 5 # ü`, 1)
	text = strings.Replace(text, `[[-1.60, 8000]`, `[["ééé", 8000]`, 1)
	got := problemsOf(t, strings.ReplaceAll(text, "\n", "\r\n"))
	if len(got) != 2 || got[0].Line != 3 || got[0].Column != 14 || got[1].Line != 10 || got[1].Column != 11 {
		t.Errorf("problems %v", got)
	}
}

func TestACurveReplacesTheBestPoint(t *testing.T) {
	text := strings.Replace(soundFile, "best_flow_lps = 40\nbest_head_m = 13.1\nbest_efficiency = 0.66\ngenerator_efficiency = 0.84",
		"curve = [[11, 36.0, 1.9], [12, 38.2, 2.4], [13, 40.0, 2.6]]", 1)
	u := mustParse(t, text).Units[1]
	if want := []plant.CurveRow{{11, 36, 1.9}, {12, 38.2, 2.4}, {13, 40, 2.6}}; !cmp.Equal(u.Curve, want) {
		t.Errorf("curve %v", u.Curve)
	}
	// By hand, kW / (9.80665 · head · m3/s): 1.9/3.8834 = 0.4893, 2.4/4.4954 = 0.5339, 2.6/5.0995 = 0.5099: the second is best.
	if u.BestFlowLps != 38.2 || u.BestHeadM != 12 {
		t.Errorf("best point %v L/s at %v m", u.BestFlowLps, u.BestHeadM)
	}
	if got := u.BestEfficiency * u.GeneratorEfficiency; got < 0.5338 || got > 0.5340 {
		t.Errorf("water to wire %v", got)
	}
}

func TestBandLimitsInEveryForm(t *testing.T) {
	p := mustParse(t, soundFile+`
[[band]]
quantity = "bearing_c"
in_max = 60
near_max = 75
[[band]]
quantity = "A.volts"
in_min = 230
in_max = 250
[[band]]
quantity = "kw"
in = [1, 6]
near_max = 7
[gauge]
"B.volts" = 2
kw = 0.2
`)
	want := []plant.Band{
		{Quantity: "bearing_c", InMax: at(60), NearMax: at(75)},
		{Quantity: "A.volts", InMin: at(230), InMax: at(250)},
		{Quantity: "kw", InMin: at(1), InMax: at(6), NearMax: at(7)},
	}
	if diff := cmp.Diff(want, p.Bands); diff != "" {
		t.Errorf("want (-), got (+):\n%s", diff)
	}
	if diff := cmp.Diff(map[string]float64{"B.volts": 2, "kw": 0.2}, p.Gauge); diff != "" {
		t.Errorf("gauges: want (-), got (+):\n%s", diff)
	}
}
