package plant_test

import (
	"errors"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/charmbracelet/x/exp/golden"

	"example.org/headpond/model/plant"
)

// oneProblem is a change of the sound file that makes exactly one problem, at the mark.
type oneProblem struct {
	name, old, with     string
	key, what, expected string // what and expected: a part of the text
}

func check(t *testing.T, cases []oneProblem) {
	t.Helper()
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			text, places := unmark(change(t, c.old, c.with))
			got := problemsOf(t, text)
			if len(got) != len(places) || len(places) != 1 {
				t.Fatalf("%d problems for %d marks: %v", len(got), len(places), got)
			}
			p := got[0]
			if p.Line != places[0][0] || p.Column != places[0][1] {
				t.Errorf("at %d:%d, want %d:%d", p.Line, p.Column, places[0][0], places[0][1])
			}
			if p.Key != c.key {
				t.Errorf("key %q, want %q", p.Key, c.key)
			}
			if !strings.Contains(p.What, c.what) {
				t.Errorf("says %q, want %q in it", p.What, c.what)
			}
			if !strings.Contains(p.Expected, c.expected) || p.Expected == "" {
				t.Errorf("expects %q, want %q in it", p.Expected, c.expected)
			}
		})
	}
}

func TestUnknownKeys(t *testing.T) {
	check(t, []oneProblem{
		{"misspelt", "crest_m = 0.10", "»creast_m = 0.10", "pond.creast_m", "unknown key", "crest_m"},
		{"of another table", "crest_m = 0.10", "»diameter_m = 0.10", "pond.diameter_m", "unknown key", "one of stage"},
		{"of one other table", "crest_m = 0.10", "»open_share = 0.10", "pond.open_share", "unknown key", "it in [intake]"},
		{"in a list's table", "kw = 0.4", "kw = 0.4\n»essentials = true", "load[1].essentials", "unknown key", "essential"},
		{"far from all", "kw = 0.4", "kw = 0.4\n»zzz = 1", "load[1].zzz", "unknown key", "one of name, kw"},
		{"quoted", "kw = 0.4", "kw = 0.4\n»\"k w\" = 1", `load[1]."k w"`, "unknown key", ""},
		{"dotted", "kw = 0.4", "kw = 0.4\n»start.kva = 1", "load[1].start", "unknown key", ""},
		{"table", "[intake]", "»[intak]", "intak", "unknown table", "intake"},
		{"list", "[[load]]", "»[[loads]]", "loads", "unknown table", "load"},
		{"table far from all", "[ballast]", "»[weather]\n[ballast]", "weather", "unknown table", "one of the tables site"},
		{"table inside a table", "[ballast]", "»[intake.trash]\n[ballast]", "intake.trash", "unknown key", ""},
		{"outside of any table", "[site]", "»volts = 240\n[site]", "volts", "unknown key outside", ""},
		{"outside, at home elsewhere", "[site]", "»open_share = 1\n[site]", "open_share", "unknown key outside", "[intake]"},
	})
}

func TestWrongTypes(t *testing.T) {
	check(t, []oneProblem{
		{"number in quotes", "volts = 240", `volts = »"240"`, "supply.volts", "is text in quotes", "240 without quotation marks"},
		{"words for a number", "volts = 240", `volts = »"mains"`, "supply.volts", "is text in quotes", "a number above 0"},
		{"truth for a number", "volts = 240", `volts = »true`, "supply.volts", "is true or false", "a number"},
		{"list for a number", "volts = 240", `volts = »[240]`, "supply.volts", "is a list", "a number"},
		{"date for a number", "volts = 240", `volts = »2024-01-02`, "supply.volts", "is a date", "a number"},
		{"table for a number", "volts = 240", `volts = »{ v = 240 }`, "supply.volts", "is a table", "a number"},
		{"number for text", `name = "Tern Hollow"`, `name = »12`, "site.name", "is a number", "text in quotation marks"},
		{"number for a word", "[supply]", "units = »1\n[supply]", "site.units", "is a number", `"metric" or "us"`},
		{"text for truth", "kw = 0.4", "kw = 0.4\nessential = »\"yes\"", "load[1].essential", "is text", "true or false"},
		{"number for a pair", "hertz = 60", "hertz = 60\ntrip_hertz = »66", "supply.trip_hertz", "is a number", "[low, high]"},
		{"pair of three", "hertz = 60", "hertz = 60\ntrip_hertz = »[54, 60, 66]", "supply.trip_hertz", "has 3 values", "[low, high]"},
		{"pair of words", "hertz = 60", `hertz = 60` + "\n" + `trip_hertz = [»"a", 66]`, "supply.trip_hertz", "is text", "[low, high]"},
		{"number for rows", "[[-1.60, 8000], [-0.80, 46000], [0.40, 81000]]", "»5", "pond.stage", "is a number", "rows such as"},
		{"flat list for rows", "[[-1.60, 8000], [-0.80, 46000], [0.40, 81000]]", "[»1.5, [0.4, 8000], [0.8, 46000]]", "pond.stage", "row 1 is a number", "rows such as"},
		{"row of three", "[-0.80, 46000]", "»[-0.80, 46000, 1]", "pond.stage", "row 2 has 3 values", "rows such as"},
		{"no rows", "[[-1.60, 8000], [-0.80, 46000], [0.40, 81000]]", "»[]", "pond.stage", "has no rows", "rows such as"},
		{"table as value", "[site]", "gauge = »5\n[site]", "gauge", "is a number", "[gauge]"},
		{"list for a table", "[ballast]\ncontroller_kw = 8.0", "»[[ballast]]\ncontroller_kw = 8.0", "ballast", "makes a list", "[ballast]"},
		{"table for a list", "[[load]]", "»[load]", "load", "stands once", "[[load]]"},
		{"table for a list inside", "[[ballast.element]]", "»[ballast.element]", "ballast.element", "stands once", "[[ballast.element]]"},
		{"eleven months", "crest_m = 0.10", "evaporation_mm_day = »[0,0,1,2,3,4,4,3,2,1,0]", "pond.evaporation_mm_day", "has 11 values", "12 numbers, January first"},
	})
}

func TestImpossibleValues(t *testing.T) {
	check(t, []oneProblem{
		{"open share above 1", "open_share = 0.40", "open_share = »1.4", "intake.open_share", "1.4 is out of range", "a number above 0 and at most 1 (open area"},
		{"open share in per cent", "open_share = 0.40", "open_share = »40", "intake.open_share", "40 is out of range", "0.4, if 40 per cent is meant"},
		{"open share 0", "open_share = 0.40", "open_share = »0", "intake.open_share", "0 is out of range", "above 0 and at most 1"},
		{"efficiency above 1", "best_efficiency = 0.68", "best_efficiency = »1.01", "unit[1].best_efficiency", "1.01 is out of range", "at most 1"},
		{"efficiency negative", "generator_efficiency = 0.84", "generator_efficiency = »-0.84", "unit[2].generator_efficiency", "-0.84 is out of range", "above 0"},
		{"length negative", "length_m = 210", "length_m = »-210", "penstock[1].length_m", "-210 is out of range", "above 0"},
		{"length 0", "length_m = 210", "length_m = »0", "penstock[1].length_m", "0 is out of range", "above 0"},
		{"diameter in millimetres", "diameter_m = 0.30", "diameter_m = »300", "penstock[1].diameter_m", "300 is out of range", "at most 20"},
		{"rougher than the pipe is wide", "roughness_mm = 0.01", "roughness_mm = »100", "penstock[1].roughness_mm", "no roughness of a pipe of 300 mm", "such as 0.01"},
		{"minor loss negative", "minor_k = 2.1", "minor_k = »-1", "penstock[1].minor_k", "out of range", "from 0"},
		{"not a number", "volts = 240", "volts = »nan", "supply.volts", "nan is no value", "a number above 0"},
		{"infinite", "volts = 240", "volts = »-inf", "supply.volts", "-inf is no value", "a number above 0"},
		{"not a number in a row", "[-0.80, 46000]", "[-0.80, »nan]", "pond.stage", "nan is no value", "rows such as"},
		{"not a number first in a row", "[-0.80, 46000]", "[»nan, 46000]", "pond.stage", "nan is no value", "rows such as"},
		{"area negative", "[-0.80, 46000]", "[-0.80, »-46000]", "pond.stage", "-46000 is out of range (from 0", "rows such as"},
		{"evaporation negative", "crest_m = 0.10", "evaporation_mm_day = [0,0,1,2,3,»-4,4,3,2,1,0,0]", "pond.evaporation_mm_day", "-4 is out of range", "12 numbers"},
		{"zero hertz", "hertz = 60", "hertz = »0", "supply.hertz", "0 is out of range", "from 10 to 500"},
		{"wave faster than sound in water", "minor_k = 2.1", "minor_k = 2.1\nwave_speed_ms = »3000", "penstock[1].wave_speed_ms", "out of range", "1600"},
		{"no runaway", "rated_kw = 3.0", "rated_kw = 3.0\nrunaway_ratio = »1", "unit[2].runaway_ratio", "out of range", "above 1"},
		{"load of nothing", "kw = 0.4", "kw = »0", "load[1].kw", "out of range", "above 0"},
		{"interval of nothing", "every_hours = 500", "every_hours = »0", "upkeep[1].every_hours", "out of range", "above 0"},
		{"unknown word", "rated_kw = 3.0", "rated_kw = 3.0\nexcitation = »\"brushless\"", "unit[2].excitation", `"brushless" is not one of its words`, `"regulated", "speed" or "capacitor"`},
		{"unknown bus", "rated_kw = 3.0", "rated_kw = 3.0\nbus = »\"second\"", "unit[2].bus", "not one of its words", `"common" or "own"`},
		{"unknown share", "controller_kw = 8.0", "controller_kw = 8.0\nshare_of = »\"load\"", "ballast.share_of", "not one of its words", `"generation" or "ballast"`},
		{"unknown gauge place", "minor_k = 2.1", "minor_k = 2.1\ngauge = »\"valve\"", "penstock[1].gauge", "not one of its words", `"below_valve" or "above_valve"`},
		{"unknown units", "[supply]", "units = »\"imperial\"\n[supply]", "site.units", "not one of its words", `"metric" or "us"`},
		{"unknown band set", "hertz = 60", "hertz = 60\nbands = »\"iso\"", "supply.bands", "not one of its words", `"isolated"`},
		{"empty name", `name = "Tern Hollow"`, `name = »"  "`, "site.name", "is empty", "text"},
		{"escape code in a name", `name = "Tern Hollow"`, `name = »"Tern\u001b[2JHollow"`, "site.name", `"Tern\x1b[2JHollow" holds a control character`, "text"},
		{"two lines in a name", `name = "Tern Hollow"`, "name = »\"\"\"Tern\nHollow\"\"\"", "site.name", "control character", "text"},
		{"very long name", `name = "Tern Hollow"`, `name = »"` + strings.Repeat("é", 201) + `"`, "site.name", "is 201 characters long", "text"},
		{"number too large", "volts = 240", "volts = »1e999", "supply.volts", `"1e999" is too large`, "smaller"},
		{"unknown zone", `"America/Halifax"`, `»"Atlantic/Sedge_Pond"`, "site.timezone", "not a known time zone", "IANA name"},
		{"zone in small letters", `"America/Halifax"`, `»"america/st johns"`, "site.timezone", "not a known time zone", `"America/St_Johns"`},
		{"the computer's own zone", `"America/Halifax"`, `»"Local"`, "site.timezone", "not a known time zone", "IANA name"},
		{"zone that is a path", `"America/Halifax"`, `»"../../etc/passwd"`, "site.timezone", "not a known time zone", "IANA name"},
	})
}

func TestMissingKeysPointToTheirTable(t *testing.T) {
	check(t, []oneProblem{
		{"in a table", "[supply]\nvolts = 240", "»[supply]", "supply.volts", "missing", "a number above 0 and at most 40000 (nominal voltage"},
		{"in a list", "[[penstock]]\nname = \"main\"\nlength_m = 210", "»[[penstock]]\nname = \"main\"", "penstock[1].length_m", "missing", "length of the pipe"},
		{"with blanks before the header", "[[load]]\nname = \"freezer\"\n", "  »[[load]]\n", "load[1].name", "missing", "text"},
		{"generator efficiency beside best", "rated_kw = 3.0\nbest_flow_lps = 40\nbest_head_m = 13.1\nbest_efficiency = 0.66\ngenerator_efficiency = 0.84",
			"rated_kw = »\"x\"\nbest_flow_lps = 40\nbest_head_m = 13.1\nbest_efficiency = 0.66\ngenerator_efficiency = 0.84", "unit[2].rated_kw", "is text", "a number"},
		{"open share beside a screen", "[intake]\nscreen_m2 = 1.4\nopen_share = 0.40", "»[intake]\nscreen_m2 = 1.4", "intake.open_share", "missing, though there is a screen", "a number above 0"},
		{"interval", "[[upkeep]]\ntask = \"grease\"\nevery_hours = 500", "»[[upkeep]]\ntask = \"grease\"", "upkeep[1]", "has no interval", "every_hours or every_days"},
		{"table", "[site]\nname = \"Tern Hollow\"\ntimezone = \"America/Halifax\"\n", "»", "site", "[site] is missing", "[site] with name and timezone"},
	})
}

func TestThingsThatDoNotFitTogether(t *testing.T) {
	const best = "best_flow_lps = 40\nbest_head_m = 13.1\nbest_efficiency = 0.66\ngenerator_efficiency = 0.84"
	check(t, []oneProblem{
		{"stage not rising", "[-0.80, 46000]", "»[-1.80, 46000]", "pond.stage", "row 2 begins with -1.8, which is not above row 1 with -1.6", "rising"},
		{"stage level twice", "[-0.80, 46000]", "»[-1.60, 46000]", "pond.stage", "not above row 1", "rising"},
		{"stage of one row", "[[-1.60, 8000], [-0.80, 46000], [0.40, 81000]]", "»[[0, 5]]", "pond.stage", "one row only", "at least two"},
		{"no water at the top", "[0.40, 81000]", "»[0.40, 0]", "pond.stage", "no water surface", "area"},
		{"permit crossed", "crest_m = 0.10", "permit_low_m = »0.3\npermit_high_m = -0.9", "pond.permit_low_m", "0.3 is not below permit_high_m = -0.9", "lower"},
		{"trip volts above nominal", "volts = 240", "volts = 240\ntrip_volts = »[250, 276]", "supply.trip_volts", "[250, 276] does not hold the nominal 240", "one limit below and one above volts = 240"},
		{"trip hertz below nominal", "hertz = 60", "hertz = 60\ntrip_hertz = »[50, 60]", "supply.trip_hertz", "does not hold the nominal 60", "hertz = 60"},
		{"trip pair falling", "hertz = 60", "hertz = 60\ntrip_hertz = »[66, 54]", "supply.trip_hertz", "66 is not below 54", "low below high"},
		{"unknown penstock", "id = \"B\"\npenstock = \"main\"", "id = \"B\"\npenstock = »\"second\"", "unit[2].penstock", `no penstock has the name "second"`, `"main"`},
		{"no penstock named", "id = \"B\"\npenstock = \"main\"\naxis_m = -14.6", "id = \"B\"\npenstock = »5\naxis_m = -14.6", "unit[2].penstock", "is a number", "text"},
		{"unit id twice", `id = "B"`, `id = »"A"`, "unit[2].id", `"A" is given twice (the first is in line 25)`, "a different id"},
		{"unit id twice but for capitals", `id = "B"`, `id = »"a"`, "unit[2].id", "given twice", "a different id"},
		{"unit id with a sign", `id = "B"`, `id = »"B-1"`, "unit[2].id", `"B-1" cannot be an id`, "letters A to Z and digits"},
		{"unit id of another script", `id = "B"`, `id = »"Б"`, "unit[2].id", "cannot be an id", "letters A to Z"},
		{"unit called none", `id = "B"`, `id = »"none"`, "unit[2].id", "means that no unit runs", "letters"},
		{"element twice", "rated_kw = 2.0", "rated_kw = 2.0\n[[ballast.element]]\nname = »\"E1\"\nrated_kw = 1", "ballast.element[2].name", "given twice", "a different name"},
		{"load twice", "kw = 0.4", "kw = 0.4\n[[load]]\nname = »\"Freezer\"\nkw = 1", "load[2].name", "given twice", "a different name"},
		{"penstock twice", "minor_k = 2.1", "minor_k = 2.1\n[[penstock]]\nname = »\"main\"\nlength_m=1\ndiameter_m=1\nroughness_mm=1\nminor_k=1", "penstock[2].name", "given twice", "a different name"},
		{"task twice", "every_hours = 500", "every_hours = 500\n[[upkeep]]\ntask = »\"grease\"\nevery_days = 1", "upkeep[2].task", "given twice", "a different task"},
		{"task by hours and days", "every_hours = 500", "every_hours = 500\nevery_days = »30", "upkeep[1].every_days", "given beside every_hours", "one of the two"},
		{"task of an unknown unit", "every_hours = 500", "every_hours = 500\nunit = »\"C\"", "upkeep[1].unit", `no unit has the id "C"`, `"A" or "B"`},
		{"machine without anything", "[[unit]]\nid = \"B\"\npenstock = \"main\"\naxis_m = -14.6\nrated_kw = 3.0\n" + best, "»[[unit]]\nid = \"B\"\npenstock = \"main\"\naxis_m = -14.6\nrated_kw = 3.0\n", "unit[2]", "nothing tells", "best_flow_lps, best_head_m and best_efficiency, or a curve"},
		{"machine with part", "best_flow_lps = 40\nbest_head_m = 13.1\nbest_efficiency = 0.66\n", "best_flow_lps = »40\n", "unit[2].best_flow_lps", "without best_head_m and best_efficiency", "all three"},
		{"machine with both", best, "best_flow_lps = »40\nbest_head_m = 13.1\nbest_efficiency = 0.66\ngenerator_efficiency = 0.84\ncurve = [[12, 39, 2.4], [13, 40, 2.8]]", "unit[2].best_flow_lps", "given beside curve", "not both"},
		{"curve not rising", best, "curve = [[13, 40, 2.8], »[12, 39, 2.4]]", "unit[2].curve", "row 2 begins with 12", "rising"},
		{"curve of falling flow", best, "curve = [[12, 40, 2.4], »[13, 39, 2.8]]", "unit[2].curve", "row 2 passes less water (39 L/s) than row 1 (40 L/s)", "rises with the head"},
		// By hand: 9.80665 · 1000 · 12 m · 0.039 m3/s = 4.5895 kW of water.
		{"curve above what water holds", best, "curve = [»[12, 39, 4.6], [13, 40, 2.8]]", "unit[2].curve", "row 1 gives 4.6 kW, but its water holds 4.59 kW", "in that order"},
		{"machine above the pond", "id = \"B\"\npenstock = \"main\"\naxis_m = -14.6", "id = \"B\"\npenstock = \"main\"\naxis_m = »14.6", "unit[2].axis_m", "14.6 is not below pond.crest_m = 0.1: there is no head", "negative"},
		{"outlet above the pond", "id = \"B\"\npenstock = \"main\"\naxis_m = -14.6", "id = \"B\"\npenstock = \"main\"\naxis_m = -14.6\ntailwater_m = »0.1", "unit[2].tailwater_m", "there is no head", "negative"},
		{"table twice", "[ballast]", "»[intake]\nhole_mm = 3\n[ballast]", "intake", "given twice (the first is in line 13)", "once"},
		{"key twice", "volts = 240", "volts = 240\n»volts = 230", "supply.volts", "given twice (the first is in line 6)", "each key once"},
	})
}

func TestBands(t *testing.T) {
	band := func(keys string) string { return "\n[[band]]\n" + keys + "\n[pond]" }
	check(t, []oneProblem{
		{"unknown reading", "\n[pond]", band("quantity = »\"hertzz\"\nin = [58, 62]"), "band[1].quantity", `"hertzz" is not a reading`, "hertz"},
		{"unknown unit", "\n[pond]", band("quantity = »\"C.volts\"\nin = [58, 62]"), "band[1].quantity", "does not have", "volts"},
		{"reading in words", "\n[pond]", band("quantity = »\"screen\"\nin = [58, 62]"), "band[1].quantity", "read as a word", "number"},
		{"reading in capitals", "\n[pond]", band("quantity = »\"A.Volts\"\nin = [58, 62]"), "band[1].quantity", "not written as the column is", "A.volts"},
		{"twice", "\n[pond]", band("quantity = \"hertz\"\nin = [58, 62]\n[[band]]\nquantity = »\"hertz\"\nin = [59, 61]"), "band[2].quantity", "given twice", "a different quantity"},
		{"crossed", "\n[pond]", band("quantity = \"hertz\"\nin = »[62, 58]"), "band[1].in", "62 is not below 58", "low below high"},
		{"crossed, single limits", "\n[pond]", band("quantity = \"hertz\"\nin_min = »62\nin_max = 58"), "band[1].in_min", "62 is not below in_max = 58", "below"},
		{"near inside in, below", "\n[pond]", band("quantity = \"hertz\"\nin = [58, 62]\nnear = »[59, 63]"), "band[1].near", "near begins at 59, inside in, which begins at 58", "around"},
		{"near inside in, above", "\n[pond]", band("quantity = \"hertz\"\nin = [58, 62]\nnear_max = »61"), "band[1].near_max", "near ends at 61", "around"},
		{"no limits", "\n[pond]", "\n»[[band]]\nquantity = \"hertz\"\nnear = [57, 63]\n[pond]", "band[1]", "has no limits", "in = [low, high]"},
		{"pair and single", "\n[pond]", band("quantity = \"hertz\"\nin = [58, 62]\nin_min = »58"), "band[1].in_min", "given beside in", "one of the two"},
		{"near of an open side", "\n[pond]", band("quantity = \"hertz\"\nin_max = 62\nnear_min = »57"), "band[1].near_min", "no lower limit of in", "in_min too"},
		{"near of the other open side", "\n[pond]", band("quantity = \"hertz\"\nin_min = 58\nnear_max = »63"), "band[1].near_max", "no upper limit of in", "in_max too"},
	})
}

func TestGauges(t *testing.T) {
	check(t, []oneProblem{
		{"unknown column", "[ballast]", "[gauge]\n»vots = 1\n[ballast]", "gauge.vots", "not a reading", "volts"},
		{"unknown unit", "[ballast]", "[gauge]\n»\"C.volts\" = 1\n[ballast]", `gauge."C.volts"`, "does not have (it has A, B)", "volts"},
		{"without quotes", "[ballast]", "[gauge]\n»A.volts = 1\n[ballast]", "gauge.A", "without quotation marks", `"A.volts", with them`},
		{"in words", "[ballast]", "[gauge]\n»screen = 1\n[ballast]", "gauge.screen", "read as a word", "number"},
		{"nothing", "[ballast]", "[gauge]\nvolts = »0\n[ballast]", "gauge.volts", "out of range", "above 0"},
		{"text", "[ballast]", "[gauge]\nvolts = »\"1\"\n[ballast]", "gauge.volts", "is text", "1 without quotation marks"},
		{"plant's own only", "[ballast]", "[gauge]\n»\"A.pond_level_m\" = 1\n[ballast]", `gauge."A.pond_level_m"`, "only for the plant", ""},
	})
}

func TestMoney(t *testing.T) {
	check(t, []oneProblem{
		{"no currency", "[ballast]", "»[money]\nper_kwh = 0.13\n[ballast]", "money.currency", "missing", "text"},
		{"price negative", "[ballast]", "[money]\ncurrency = \"CAD\"\n[[money.fuel]]\nname=\"p\"\nunit=\"L\"\nkwh_per_unit=7\nprice = »-1\n[ballast]", "money.fuel[1].price", "out of range", "from 0"},
		{"fuel twice", "[ballast]", "[money]\ncurrency = \"CAD\"\n[[money.fuel]]\nname=\"p\"\nunit=\"L\"\nkwh_per_unit=7\n[[money.fuel]]\nname=»\"p\"\nunit=\"L\"\nkwh_per_unit=7\n[ballast]", "money.fuel[2].name", "given twice", "a different name"},
		{"cost of nothing", "[ballast]", "[money]\ncurrency = \"CAD\"\ncost = »0\n[ballast]", "money.cost", "out of range", "above 0"},
	})
}

func TestAPlantNeedsAUnitAndAPenstock(t *testing.T) {
	head, _, _ := strings.Cut(soundFile, "[[penstock]]")
	got := problemsOf(t, head)
	if len(got) != 2 || got[0].Key != "penstock" || got[1].Key != "unit" {
		t.Fatalf("problems %v", got)
	}
	for _, p := range got {
		if p.What != "there is none" {
			t.Errorf("says %q", p.What)
		}
	}
}

func TestAllProblemsAreToldAtOnceInTheFilesOrder(t *testing.T) {
	text := soundFile
	for old, with := range map[string]string{
		"volts = 240": "volts = -240", "hertz = 60": "hertz = \"sixty\"", "open_share = 0.40": "open_share = 1.40",
		"length_m = 210": "lenght_m = 210", "minor_k = 2.1": "minor_k = nan", "kw = 0.4": "kw = true", "every_hours = 500": "",
	} {
		text = strings.Replace(text, old, with, 1)
	}
	got := problemsOf(t, text)
	var keys []string
	line := 0
	for _, p := range got {
		keys = append(keys, p.Key)
		if p.Line < line {
			t.Errorf("line %d told after line %d", p.Line, line)
		}
		line = p.Line
	}
	want := "supply.volts supply.hertz intake.open_share penstock[1].lenght_m penstock[1].minor_k load[1].kw upkeep[1]"
	if strings.Join(keys, " ") != want {
		t.Errorf("problems of %v, want %v", keys, want)
	}
}

func TestTheErrorNamesFileLineColumnAndThatNothingWasChanged(t *testing.T) {
	_, err := plant.Parse("my plant.toml", []byte(strings.Replace(soundFile, "open_share = 0.40", "open_share = 1.5", 1)))
	want := "my plant.toml:15:14: intake.open_share: 1.5 is out of range; expected " +
		"a number above 0 and at most 1 (open area / gross area of the clean screen)\nnothing was changed"
	if err == nil || err.Error() != want {
		t.Errorf("says\n%v\nwant\n%s", err, want)
	}
}

func TestAFilesNameCannotActOnTheTerminal(t *testing.T) {
	_, err := plant.Parse("a\x1b[2J.toml", nil)
	if err == nil || strings.ContainsRune(err.Error(), '\x1b') {
		t.Errorf("says %q", err)
	}
}

func TestAHopelessFileIsCutShort(t *testing.T) {
	var b strings.Builder
	b.WriteString(soundFile + "[[load]]\n")
	for i := range 2000 {
		fmt.Fprintf(&b, "x%d = 1\n", i)
	}
	got := problemsOf(t, b.String())
	if len(got) != 501 {
		t.Fatalf("%d problems", len(got))
	}
	if last := got[500]; !strings.Contains(last.What, "more problems") {
		t.Errorf("the last says %q", last.What)
	}
}

// The golden shows the whole message of a file with ten ordinary mistakes, as "plant check" prints it.
func TestTenMistakes(t *testing.T) {
	data, err := os.ReadFile("testdata/ten_mistakes.toml")
	if err != nil {
		t.Fatal(err)
	}
	_, err = plant.Parse("ten_mistakes.toml", data)
	var problems *plant.Problems
	if !errors.As(err, &problems) || len(problems.List) != 10 {
		t.Errorf("want ten problems, got:\n%v", err)
	}
	golden.RequireEqual(t, []byte(err.Error()+"\n"))
}

// A unit's id that stands twice is a problem of its own; what is offered in place of an unknown one has it once.
func TestAChoiceIsOfferedOnce(t *testing.T) {
	text := advised[:strings.Index(advised, "[ballast]")]
	unit := text[strings.Index(text, "[[unit]]"):]
	_, err := plant.Parse("p.toml", []byte(text+unit+"[[upkeep]]\ntask = \"grease\"\nevery_hours = 500\nunit = \"C\"\n"))
	if err == nil || !strings.Contains(err.Error(), `no unit has the id "C"; expected "A"`) || strings.Contains(err.Error(), `"A" or "A"`) {
		t.Errorf("%v", err)
	}
}
