package plant_test

import (
	"strings"
	"testing"

	"example.org/headpond/model/plant"
)

// advised is a plant about which there is nothing to say.
const advised = `[site]
name = "Tern Hollow"
timezone = "America/Halifax"
[supply]
volts = 240
hertz = 60
trip_volts = [204, 276]
trip_hertz = [54, 66]
[[band]]
quantity = "bearing_c"
in_max = 80
near_max = 95
source = "maker"
[pond]
stage = [[-1.60, 8000], [-0.80, 46000], [0.40, 81000]]
crest_m = 0.10
crest_length_m = 4.5
stop_level_m = -0.85
evaporation_mm_day = [0,0,1,2,3,4,4,3,2,1,0,0]
[intake]
centreline_m = -1.55
diameter_m = 0.35
screen_m2 = 1.4
open_share = 0.40
[[penstock]]
name = "main"
length_m = 210
diameter_m = 0.30
roughness_mm = 0.01
minor_k = 2.1
wave_speed_ms = 300
[[unit]]
id = "A"
penstock = "main"
axis_m = -14.6
rated_kw = 6.0
rated_kva = 8.0
best_flow_lps = 76
best_head_m = 13.1
best_efficiency = 0.68
generator_efficiency = 0.86
[ballast]
controller_kw = 8.0
[[ballast.element]]
name = "E1"
rated_kw = 4.0
[[ballast.element]]
name = "E2"
rated_kw = 3.0
[[load]]
name = "freezer"
kw = 0.4
start_kva = 2.0
`

func TestASoundPlantNeedsNoAdvice(t *testing.T) {
	if got := plant.Advice(mustParse(t, advised)); len(got) != 0 {
		t.Errorf("advice: %v", got)
	}
}

func TestAdvice(t *testing.T) {
	for _, c := range []struct {
		name, old, with   string
		key, what, source string
	}{
		{"starting file's name", `"Tern Hollow"`, `"Example plant"`, "site.name", "replace every value", ""},
		{"no trip volts", "trip_volts = [204, 276]\n", "", "supply.trip_volts", "whether a trip follows cannot be told", ""},
		{"no trip hertz", "trip_hertz = [54, 66]\n", "", "supply.trip_hertz", "whether a trip follows cannot be told", ""},
		{"band without source", `source = "maker"` + "\n", "", "band[1].source", "bearing_c", ""},
		{"no band for bearings", `"bearing_c"`, `"water_c"`, "band", "a warning at 80 C and a stop at 95 C", "from memory"},
		{"no stage", "stage = [[-1.60, 8000], [-0.80, 46000], [0.40, 81000]]\n", "", "pond.stage", "neither volumes nor days left", ""},
		{"shrinking pond", "[0.40, 81000]", "[0.40, 45000]", "pond.stage", "shrinks from 46000 to 45000 m2 as the level rises from -0.8 to 0.4 m", ""},
		{"crest above the pond", "crest_m = 0.10", "crest_m = 10", "pond.crest_m", "10 m lies above the pond's highest level in the stage table, 0.4 m", ""},
		{"crest without length", "crest_length_m = 4.5\n", "", "pond.crest_length_m", "cannot be reckoned", ""},
		{"no evaporation", "evaporation_mm_day = [0,0,1,2,3,4,4,3,2,1,0,0]\n", "", "pond.evaporation_mm_day", "no evaporation", ""},
		// Tern Hollow's submergence level is -1.036 m (by hand in the submergence test; evaporation row kept).
		{"stop below submergence", "stop_level_m = -0.85", "stop_level_m = -1.10", "pond.stop_level_m", "-1.1 m is below the -1.04 m", "Gordon 1970, from memory"},
		{"stop below the survey", "[[-1.60, 8000], [-0.80, 46000]", "[[-0.82, 45000], [-0.80, 46000]", "pond.stage", "begins at -0.82 m, above the stop level of -0.85 m", ""},
		{"permit before the stop", "stop_level_m = -0.85", "stop_level_m = -0.85\npermit_low_m = -0.5", "pond.permit_low_m", "-0.5 m is reached before the stop level of -0.85 m", ""},
		{"shallow intake", "stop_level_m = -0.85\n", "", "", "", ""},
		{"stop above the crest", "stop_level_m = -0.85", "stop_level_m = 0.1", "pond.stop_level_m", "stops at 0.10 m, which is not below the spillway's crest at 0.1 m", ""},
		{"no screen", "screen_m2 = 1.4\nopen_share = 0.40\n", "", "intake.screen_m2", "no screen loss", ""},
		{"no wave speed", "wave_speed_ms = 300\n", "", "penstock[1].wave_speed_ms", "surge", ""},
		// From -1.55 m down to -14.6 m are 13.05 m: geometry.
		{"pipe shorter than its drop", "length_m = 210", "length_m = 2", "penstock[1].length_m", "2 m is shorter than the 13.", ""},
		{"pipe straight down", "length_m = 210", "length_m = 13.06", "", "", ""},
		{"an efficiency no turbine has", "best_efficiency = 0.68", "best_efficiency = 0.99", "unit[1].best_efficiency", "0.99 is more than the best turbines reach, 0.95", "from memory"},
		{"an efficiency no small generator has", "generator_efficiency = 0.86", "generator_efficiency = 0.98", "unit[1].generator_efficiency", "0.98 is more than small generators reach", "from memory"},
		{"idle penstock", "[[unit]]", "[[penstock]]\nname=\"old\"\nlength_m=1\ndiameter_m=1\nroughness_mm=1\nminor_k=1\n[[unit]]", "penstock[2]", "feeds no unit", ""},
		{"high suction", "axis_m = -14.6", "axis_m = -10\ntailwater_m = -14.6", "unit[1].tailwater_m", "the axis stands 4.6 m above the tailwater", "rule of thumb"},
		{"suction of 4 m is allowed", "axis_m = -14.6", "axis_m = -10.6\ntailwater_m = -14.6", "", "", ""},
		{"kVA below kW", "rated_kva = 8.0", "rated_kva = 5.0", "unit[1].rated_kva", "5 kVA is less than rated_kw = 6", ""},
		{"induction machine", "rated_kva = 8.0", "rated_kva = 8.0\nexcitation = \"capacitor\"", "unit[1].excitation", "follows its speed", ""},
		{"curve of one row", "best_flow_lps = 76\nbest_head_m = 13.1\nbest_efficiency = 0.68\n", "curve = [[13.1, 76, 5.7]]\n", "unit[1].curve", "single row", ""},
		// 9.80665 · 13.1 · 0.152 · 0.68 · 0.86 = 11.4 kW; of 0.02 m3/s 1.5 kW.
		{"best point above the plate", "best_flow_lps = 76", "best_flow_lps = 152", "unit[1].rated_kw", "gives 11.4 kW, more than the rated 6 kW", ""},
		{"best point far below the plate", "best_flow_lps = 76", "best_flow_lps = 20", "unit[1].rated_kw", "only 1.5 kW of the rated 6 kW", ""},
		{"no ballast", "[[ballast.element]]\nname = \"E1\"\nrated_kw = 4.0\n[[ballast.element]]\nname = \"E2\"\nrated_kw = 3.0\n", "", "ballast.element", "none is given", ""},
		// 4 kW and 2.8 kW are 6.8 kW, less than 1.15 · 6 kW = 6.9 kW.
		{"ballast a little small", "rated_kw = 3.0", "rated_kw = 2.8", "ballast", "take 6.80 kW at 240 V; 6.90 kW, 1.15 x the rated 6 kW", "rule of thumb, from memory"},
		{"ballast just large enough", "rated_kw = 3.0", "rated_kw = 2.9", "", "", ""},
		{"dead element does not count", "rated_kw = 3.0", "rated_kw = 3.0\nworking = false", "ballast", "take 4.00 kW", "rule of thumb"},
		{"own bus needs no ballast", "rated_kva = 8.0", "rated_kva = 8.0\nbus = \"own\"\n", "load[1].kw", "more than all units' rated 0 kW", ""},
		{"controller too small", "controller_kw = 8.0", "controller_kw = 6.95", "ballast.controller_kw", "passes 6.95 kW of the 7.00 kW", ""},
		// V²/R by hand: 4 kW at 230 V gives 4 · (240/230)² = 4.355 kW at 240 V.
		{"element of another voltage", "rated_kw = 4.0", "rated_kw = 4.0\nrated_volts = 230", "ballast.element[1].rated_volts", `"E1" is made for 230 V: at 240 V it takes 4.36 kW, not 4 kW`, "P = Pr (V/Vr)^2"},
		{"load above all", "kw = 0.4", "kw = 6.5", "load[1].kw", "takes 6.5 kW, more than all units' rated 6 kW", ""},
		{"motor that cannot start", "start_kva = 2.0", "start_kva = 12.5", "load[1].start_kva", "needs 12.5 kVA to start, more than 1.5 x the rated 8 kVA", "rule of thumb"},
		{"intake above the pond", "centreline_m = -1.55", "centreline_m = 0.5", "intake.centreline_m", "the crown of the intake at 0.68 m", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			if n := strings.Count(advised, c.old); n != 1 {
				t.Fatalf("%q occurs %d times", c.old, n)
			}
			got := plant.Advice(mustParse(t, strings.Replace(advised, c.old, c.with, 1)))
			if c.key == "" {
				if len(got) != 0 {
					t.Errorf("advice: %v", got)
				}
				return
			}
			for _, a := range got {
				if a.Key == c.key && strings.Contains(a.What, c.what) {
					if !strings.Contains(a.Source, c.source) || (c.source == "") != (a.Source == "") {
						t.Errorf("source %q, want %q", a.Source, c.source)
					}
					if want := a.Key + ": " + a.What; !strings.HasPrefix(a.String(), want) {
						t.Errorf("reads %q", a)
					}
					return
				}
			}
			t.Errorf("no advice on %s that says %q; got %v", c.key, c.what, got)
		})
	}
}

func TestAStopAboveTheCrestByShallowSubmergence(t *testing.T) {
	text := strings.Replace(advised, "stop_level_m = -0.85\n", "", 1)
	text = strings.Replace(text, "centreline_m = -1.55", "centreline_m = -0.3", 1)
	for _, a := range plant.Advice(mustParse(t, text)) {
		if a.Key == "intake.centreline_m" && strings.Contains(a.What, "not below the spillway's crest at 0.1 m") && strings.Contains(a.Source, "from memory") {
			return
		}
	}
	t.Error("a plant that runs only while water spills is not noticed")
}

func TestAPlantWithoutAStopLevel(t *testing.T) {
	text := strings.Replace(advised, "stop_level_m = -0.85\n", "", 1)
	text = strings.Replace(text, "diameter_m = 0.35\n", "", 1)
	got := plant.Advice(mustParse(t, text))
	if len(got) != 1 || got[0].Key != "pond.stop_level_m" || !strings.Contains(got[0].What, "days left cannot be told") {
		t.Errorf("advice: %v", got)
	}
}
