package plant_test

import (
	"strings"
	"testing"
)

func TestSlipsOfTheKeyboard(t *testing.T) {
	check(t, []oneProblem{
		{"text without quotes", `name = "Tern Hollow"`, "name = »Tern Hollow", "site.name", `the value "Tern Hollow" is neither a number nor text`, "quotation marks"},
		{"word that begins like true", `name = "Tern Hollow"`, "name = »tern", "site.name", `the value "tern"`, "quotation marks"},
		{"curly quotes", `name = "Tern Hollow"`, "name = »“Tern Hollow”", "site.name", "curly quotation marks", "straight ones"},
		{"quote not closed", `name = "Tern Hollow"`, "name = \"Tern Hollow»", "site.name", "quotation mark is not closed", "between two quotation marks"},
		{"quote closed too early", `name = "Tern Hollow"`, "name = \"Tern\" »Hollow\"", "site.name", "behind the closing quotation mark", "nothing more"},
		{"backslash in text", `name = "Tern Hollow"`, "name = \"C:»\\plant\"", "site.name", `a \ in text`, `single quotes`},
		{"decimal comma", "volts = 240", "volts = 240»,5", "supply.volts", "a decimal comma", "240.5"},
		{"unit behind the number", "length_m = 210", "length_m = 210 »m", "penstock[1].length_m", `text "m" behind the number`, "the number alone (210)"},
		{"unit against the number", "length_m = 210", "length_m = 210»m", "penstock[1].length_m", `text "m" behind the number`, "the number alone (210)"},
		{"per cent", "open_share = 0.40", "open_share = 40»%", "intake.open_share", `text "%" behind the number`, "the number alone (0.4), as a share of 1"},
		{"another unit of the same kind", "crest_m = 0.10", "crest_m = 10 »cm", "pond.crest_m", `text "cm" behind the number`, "the number alone (0.1), in m"}, // SI: c is 1/100
		{"a unit of another kind", "length_m = 210", "length_m = 210 »kg", "penstock[1].length_m", `text "kg" behind the number`, "the number alone, in the unit"},
		{"no digit before the point", "open_share = 0.40", "open_share = ».40", "intake.open_share", "without a digit on both sides", "0.5"},
		{"needless zero", "volts = 240", "volts = »0240", "supply.volts", "needless 0", "without it"},
		{"two points", "volts = 240", "volts = 2.4».0", "supply.volts", "cannot be read", "at most one decimal point"},
		{"two numbers", "volts = 240", "volts = 240 »120", "supply.volts", "cannot be read", "digits"},
		{"no value", "volts = 240", "volts =»", "supply.volts", "no value behind the equals sign", "#"},
		{"no value but a comment", "volts = 240", "volts = »# to be measured", "supply.volts", "no value behind the equals sign", "#"},
		{"colon", "volts = 240", "volts»: 240", "supply.volts", "a colon", "key = value"},
		{"neither key nor heading", "hertz = 60", "hertz = 60\n»!!", "supply", `the line "!!" is neither`, "key = value"},
		{"prose", "hertz = 60", "hertz = 60\nthe »old set", "supply", `"the old set" is neither`, "comment"},
		{"heading not closed", "[ballast]", "[ballast»", "ballast", "not well formed", "[name]"},
		{"heading of a list closed once", "[[load]]", "[[load»]", "load", "not well formed", "[[name]]"},
		{"heading of a list opened once", "[[load]]", "[load]»]", "load", "not well formed", "[[name]]"},
		{"list not closed", "[[-1.60, 8000], [-0.80, 46000], [0.40, 81000]]", "»[[-1.60, 8000], [-0.80, 46000], [0.40, 81000]", "pond.stage", "not closed", "every [ closed"},
		{"list without a comma", "[-0.80, 46000]", "[-0.80 »46000]", "pond.stage", "not well formed", "commas"},
		{"list over lines without a comma", "[[-1.60, 8000], [-0.80, 46000], [0.40, 81000]]", "»[\n[-1.60, 8000]\n[-0.80, 46000],\n[0.40, 81000]]", "pond.stage", "that begins in line 10", "commas"},
		{"control character", "hertz = 60", "hertz = 60 # »\x01", "supply.hertz", "control character in a comment", "letters"},
		{"control character in a comment line", "hertz = 60", "hertz = 60\n# a»\x01", "supply", "control character in a comment", "letters"},
		{"not UTF-8", `name = "Tern Hollow"`, "name = \"Tern »\xe9\"", "site.name", "not UTF-8", "saved as UTF-8"},
	})
}

// A slip hides neither what stands after it nor what is wrong elsewhere, and makes no key look missing.
func TestASlipDoesNotHideOtherProblems(t *testing.T) {
	text, places := unmark(strings.NewReplacer(
		`name = "Tern Hollow"`, "name = »Tern Hollow",
		"volts = 240", "volts = »-240",
		"[[-1.60, 8000], [-0.80, 46000], [0.40, 81000]]", "»[[-1.60, 8000], [-0.80, 46000]",
		"[[penstock]]", "[[penstock»]",
		"length_m = 210", "length_m = »-210",
		"kw = 0.4\n", "kw »0.4\n",
		"every_hours = 500", "every_hours = »\"500\"",
	).Replace(soundFile))
	got := problemsOf(t, text)
	if len(got) != len(places)+1 { // "kw 0.4" is no key, so kw is missing too
		t.Fatalf("%d problems for %d marks: %v", len(got), len(places), got)
	}
	var others [][2]int
	for _, p := range got {
		if p.What == "missing" {
			if p.Key != "load[1].kw" {
				t.Errorf("missing: %v", p)
			}
			continue
		}
		others = append(others, [2]int{p.Line, p.Column})
	}
	for i := range places {
		if others[i] != places[i] {
			t.Errorf("problem %d at %v, want %v", i+1, others[i], places[i])
		}
	}
}

func TestFilesThatAreNoPlantFiles(t *testing.T) {
	for _, c := range []struct{ name, text, what string }{
		{"empty", "", "the file is empty"},
		{"blank", " \r\n\t\n", "the file is empty"},
		{"only a byte-order mark", "\ufeff", "the file is empty"},
		{"UTF-16, small end first", "\xff\xfe[\x00s\x00", "UTF-16"},
		{"UTF-16, large end first", "\xfe\xff\x00[\x00s", "UTF-16"},
		{"a program", "\x7fELF\x00\x00", "zero byte"},
		{"a book", strings.Repeat("# all work and no play\n", 20000), "larger than 256 KiB"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := problemsOf(t, c.text)
			if len(got) != 1 || !strings.Contains(got[0].What, c.what) || got[0].Line != 1 || got[0].Column != 1 {
				t.Errorf("problems %v, want one with %q", got, c.what)
			}
		})
	}
}

func TestCommentsOnlyAreAnEmptyPlant(t *testing.T) {
	got := problemsOf(t, "# nothing yet\n")
	var keys []string
	for _, p := range got {
		keys = append(keys, p.Key)
	}
	if strings.Join(keys, " ") != "site supply penstock unit" {
		t.Errorf("problems of %v", keys)
	}
}
