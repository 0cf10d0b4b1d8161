package checklist_test

import (
	"errors"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/headpond/model/checklist"
	"example.org/headpond/model/plant"
)

// ternHollow is the demo's plant with one change to its file.
func ternHollow(t testing.TB, old, with string) *plant.Plant {
	t.Helper()
	data, err := os.ReadFile("../demo/ternhollow.toml")
	if err != nil {
		t.Fatal(err)
	}
	text := string(data)
	if old != "" && strings.Count(text, old) == 0 {
		t.Fatalf("%q is not in the file", old)
	}
	p, err := plant.Parse("ternhollow.toml", []byte(strings.Replace(text, old, with, 1)))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// bare is a plant of which hardly anything is known.
const bare = `[site]
name = "Bare"
timezone = "UTC"
[supply]
volts = 230
hertz = 50
[[penstock]]
name = "main"
length_m = 100
diameter_m = 0.2
roughness_mm = 0.01
minor_k = 1
[[unit]]
id = "1"
penstock = "main"
axis_m = -20
rated_kw = 3.0
best_flow_lps = 25
best_head_m = 18
best_efficiency = 0.66
generator_efficiency = 0.84
`

func parse(t testing.TB, text string) *plant.Plant {
	t.Helper()
	p, err := plant.Parse("test.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func list(t testing.TB, p *plant.Plant, name string) checklist.List {
	t.Helper()
	l, err := checklist.Find(checklist.Lists(p), name)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func all(l checklist.List) string {
	return strings.Join(append(slices.Clone(l.Cautions), l.Steps...), "\n")
}

func TestEveryOccasionHasItsList(t *testing.T) {
	for name, p := range map[string]*plant.Plant{"demo": ternHollow(t, "", ""), "bare": parse(t, bare)} {
		lists := checklist.Lists(p)
		if len(lists) != 4 {
			t.Fatalf("%s: %d lists", name, len(lists))
		}
		for i, l := range lists {
			if l.For != plant.ListFors()[i] || !l.BuiltIn || l.Name == "" || len(l.Cautions) < 4 || len(l.Steps) < 8 {
				t.Errorf("%s: %+v", name, l)
			}
		}
	}
	if lists := checklist.Lists(nil); lists != nil {
		t.Errorf("a book without a plant has %v", lists)
	}
}

// The cautions of the design (product.md, "Cautions") stand before the steps of the lists that they concern, and every list says
// what comes before it.
func TestCautionsStandWhereTheyBelong(t *testing.T) {
	p := ternHollow(t, "", "")
	for occasion, wants := range map[plant.ListFor][]string{
		plant.ForStart:     {"Line voltage kills", "heaters and their housing burn", "Belts and shafts catch", "lock out", "prove dead", "licensed electrician"},
		plant.ForStop:      {"fast can burst the pipe", "Line voltage kills", "can start again", "heaters", "Belts", "lock out"},
		plant.ForAfterTrip: {"Line voltage kills", "Belts", "heaters", "never bridged", "fast can burst the pipe", "lock out"},
		plant.ForClearing:  {"open intake", "Never reach into a screen that draws", "Ice over moving water", "never alone"},
	} {
		cautions := strings.Join(list(t, p, string(occasion)).Cautions, "\n")
		for _, want := range append(wants, "local electrical code", "water permit", "makers") {
			if !strings.Contains(cautions, want) {
				t.Errorf("%s: no caution says %q", occasion, want)
			}
		}
	}
}

// Numbers of the plant by hand: Michaud's closing time 16.1 s rounded up, and 999.7·9.80665·14.7 Pa of water at rest (both worked
// in model/safety's tests); EN 50160's ±2 % of 60 Hz and C84.1's range A of 240 V (contract.md).
func TestStepsNameThePlantsOwnNumbers(t *testing.T) {
	p := ternHollow(t, "", "")
	for occasion, wants := range map[string][]string{
		"start":      {"stop level of -0.85 m", "6.0 L/s must always pass", "all 4 elements", "about 144 kPa", "58.8 to 61.2 Hz and 228 to 252 V", "second set"},
		"stop":       {"at least 17 s", "6.0 L/s", "up to 0.30 m"},
		"after-trip": {"204 and 276 V, 54 and 66 Hz", "at least 17 s", "stop level is -0.85 m"},
		"clearing":   {"Nothing wider than 2.5 mm", "6.0 L/s"},
	} {
		text := all(list(t, p, occasion))
		for _, want := range wants {
			if !strings.Contains(text, want) {
				t.Errorf("%s does not say %q:\n%s", occasion, want, text)
			}
		}
	}
}

func TestStepsSpeakInThePlantsUnits(t *testing.T) {
	p := ternHollow(t, `units = "metric"`, `units = "us"`)
	for occasion, wants := range map[string][]string{"start": {"-2.79 ft", "95 gpm", "psi"}, "stop": {"0.98 ft"}} {
		text := all(list(t, p, occasion))
		for _, want := range wants {
			if !strings.Contains(text, want) {
				t.Errorf("%s does not say %q:\n%s", occasion, want, text)
			}
		}
	}
}

func TestWhatThePlantDoesNotHaveIsNotAskedFor(t *testing.T) {
	p := parse(t, bare)
	for _, l := range checklist.Lists(p) {
		text := all(l)
		for _, not := range []string{"stop level of", "must always pass", "The permit allows", "Nothing wider", "The protection is set", "Look at the ballast", "second set", "  ", "%"} {
			if strings.Contains(text, not) {
				t.Errorf("%s says %q:\n%s", l.Name, not, text)
			}
		}
	}
	if !strings.Contains(all(list(t, p, "start")), "49.0 to 51.0 Hz") {
		t.Error(all(list(t, p, "start")))
	}
}

// The slowest pipe decides: whoever stands at the valve may not know which is which.
func TestTheSlowestPipeDecides(t *testing.T) {
	one := ternHollow(t, "", "")
	second := strings.NewReplacer(`name = "main"`, `name = "long"`).Replace("[[penstock]]\nname = \"main\"\nlength_m = 420\ndiameter_m = 0.20\nroughness_mm = 0.01\nminor_k = 2\nwave_speed_ms = 300\n\n")
	two := ternHollow(t, "[ballast]\n", second+"[[unit]]\nid = \"C\"\npenstock = \"long\"\naxis_m = -14.6\nrated_kw = 3.0\nbest_flow_lps = 41\nbest_head_m = 12.9\nbest_efficiency = 0.61\ngenerator_efficiency = 0.82\n\n[ballast]\n")
	a, b := all(list(t, one, "stop")), all(list(t, two, "stop"))
	if !strings.Contains(a, "at least 17 s") || strings.Contains(b, "at least 17 s") || !strings.Contains(b, "at least ") {
		t.Errorf("one pipe:\n%s\ntwo pipes:\n%s", a, b)
	}
	if strings.Contains(all(list(t, two, "start")), "at rest") {
		t.Error("two pipes have two pressures at rest")
	}
}

// What a screen of 80 columns, a sheet of paper and the plant file can hold: one sentence or a few, in plain letters.
func TestBuiltInListsAreShortAndPlain(t *testing.T) {
	for _, p := range []*plant.Plant{ternHollow(t, "", ""), parse(t, bare)} {
		for _, l := range checklist.Lists(p) {
			for _, s := range append(slices.Clone(l.Cautions), l.Steps...) {
				if len(s) > 300 || !strings.HasSuffix(s, ".") && !strings.HasSuffix(s, "?") {
					t.Errorf("%s: %d long: %q", l.Name, len(s), s)
				}
				for _, r := range s {
					if r < ' ' || r > '~' {
						t.Errorf("%s: %q holds %q", l.Name, s, r)
					}
				}
			}
		}
	}
}

const ownStop = `
[[checklist]]
name = "Stopping for the night"
for = "stop"
unit = "B"
step = ["Tell the house.", "Shut \"B\" slowly."]

[[checklist]]
name = "Frost"
caution = ["Thin ice."]
step = ["Drain the gauge."]
`

func TestTheFilesListsTakeThePlaceOfTheBuiltIn(t *testing.T) {
	p := ternHollow(t, "[gauge]", ownStop+"\n[gauge]")
	var names []string
	for _, l := range checklist.Lists(p) {
		names = append(names, l.Name)
	}
	if want := []string{"Starting", "Stopping for the night", "After a trip", "Clearing the screen", "Frost"}; !slices.Equal(names, want) {
		t.Errorf("%q, want %q", names, want)
	}
	want := checklist.List{Name: "Stopping for the night", For: plant.ForStop, Unit: "B", Cautions: []string{}, Steps: []string{"Tell the house.", `Shut "B" slowly.`}}
	if diff := cmp.Diff(want, list(t, p, "stop")); diff != "" {
		t.Error(diff)
	}
}

// Each set may have a list of its own: they take the built-in one's place together, and the occasion alone no longer says which.
func TestSeveralListsForOneOccasion(t *testing.T) {
	own := "[[checklist]]\nname = \"Start the large set\"\nfor = \"start\"\nunit = \"A\"\nstep = [\"a\"]\n[[checklist]]\nname = \"Start the small set\"\nfor = \"start\"\nunit = \"B\"\nstep = [\"b\"]\n\n"
	lists := checklist.Lists(ternHollow(t, "[gauge]", own+"[gauge]"))
	if len(lists) != 5 || lists[0].Unit != "A" || lists[1].Unit != "B" || lists[2].For != plant.ForStop {
		t.Fatalf("%+v", lists)
	}
	_, err := checklist.Find(lists, "start")
	var name *checklist.NameError
	if !errors.As(err, &name) || !slices.Equal(name.Several, []string{"Start the large set", "Start the small set"}) {
		t.Errorf("%v", err)
	}
	if l, err := checklist.Find(lists, "small"); err != nil || l.Unit != "B" {
		t.Errorf("%+v %v", l, err)
	}
}

func TestFind(t *testing.T) {
	lists := checklist.Lists(ternHollow(t, "[gauge]", ownStop+"\n[gauge]"))
	for typed, want := range map[string]string{
		"stop": "Stopping for the night", "STOP": "Stopping for the night", "start": "Starting", "after-trip": "After a trip", "frost": "Frost",
		"  after   a trip ": "After a trip", "screen": "Clearing the screen", "night": "Stopping for the night", "Starting": "Starting",
	} {
		l, err := checklist.Find(lists, typed)
		if err != nil || l.Name != want {
			t.Errorf("%q: %q %v, want %q", typed, l.Name, err, want)
		}
	}
	for typed, says := range map[string]string{
		"ing": "may be Starting or Stopping for the night", "": "there is no checklist", "strat": "did you mean start?", "zzz": "(start; Starting; stop;", "Forst": "did you mean Frost?",
	} {
		_, err := checklist.Find(lists, typed)
		var name *checklist.NameError
		if !errors.As(err, &name) || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v, want %q", typed, err, says)
		}
	}
}

// The built-in lists, printed for the plant file and put into it, are the very same lists.
func TestTOMLComesBack(t *testing.T) {
	p := ternHollow(t, "", "")
	before := checklist.Lists(p)
	again := ternHollow(t, "[gauge]", checklist.TOML(before)+"\n[gauge]")
	for i := range before {
		before[i].BuiltIn = false
	}
	if diff := cmp.Diff(before, checklist.Lists(again)); diff != "" {
		t.Error(diff)
	}
}

// So does any list, whatever its words.
func TestAnyListComesBackFromTOML(t *testing.T) {
	word := rapid.StringOfN(rapid.RuneFrom([]rune(`abcÄ "\'#[]{}=,.é–…`)), 1, 60, -1).Filter(func(s string) bool { return strings.TrimSpace(s) == s })
	rapid.Check(t, func(t *rapid.T) {
		var want []checklist.List
		for i := range rapid.IntRange(1, 4).Draw(t, "lists") {
			want = append(want, checklist.List{Name: strings.Repeat("n", i+1), For: rapid.SampledFrom(plant.ListFors()).Draw(t, "for"),
				Cautions: rapid.SliceOfN(word, 0, 3).Draw(t, "cautions"), Steps: rapid.SliceOfN(word, 1, 6).Draw(t, "steps")})
		}
		p, err := plant.Parse("lists.toml", []byte(bare+checklist.TOML(want)))
		if err != nil {
			t.Fatal(err)
		}
		for _, w := range want {
			got, err := checklist.Find(checklist.Lists(p), w.Name)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(w, got); diff != "" {
				t.Fatal(diff)
			}
		}
	})
}

func FuzzFind(f *testing.F) {
	for _, s := range []string{"stop", "", "a", "\x1b", "ing", "Stopping for the night"} {
		f.Add(s)
	}
	lists := checklist.Lists(ternHollow(f, "", ""))
	f.Fuzz(func(t *testing.T, typed string) {
		l, err := checklist.Find(lists, typed)
		if (err == nil) != (l.Name != "") || err != nil && err.Error() == "" {
			t.Errorf("%q: %+v %v", typed, l, err)
		}
	})
}
