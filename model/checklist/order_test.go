package checklist_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/charmbracelet/x/exp/golden"
	"pgregory.net/rapid"

	"example.org/headpond/model/checklist"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/plant/planttest"
)

// position is the step that holds a phrase; exactly one step must.
func position(t *testing.T, l checklist.List, phrase string) int {
	t.Helper()
	at := -1
	for i, s := range l.Steps {
		if !strings.Contains(s, phrase) {
			continue
		}
		if at >= 0 {
			t.Fatalf("%s: %q stands in steps %d and %d", l.Name, phrase, at+1, i+1)
		}
		at = i
	}
	if at < 0 {
		t.Fatalf("%s: no step says %q", l.Name, phrase)
	}
	return at
}

// What must come before what, and why. The order of locking out is that of 29 CFR 1910.147(d)(1) to (6), as references.md quotes
// it: shut down, isolate, lock, let stored energy go, verify. The others are common practice of running small plants (from
// memory): a set never turns without its ballast, consumers come last at a start and go first at a stop, readings are taken before
// they vanish, and whoever goes to an intake looks before stepping.
func TestTheOrderOfSteps(t *testing.T) {
	p := ternHollow(t, "", "")
	for _, c := range []struct{ list, first, then, why string }{
		{"start", "nobody works on", "Open the main valve", "nobody may be at a machine that is set going"},
		{"start", "nobody works on", "Tell the house", "the line must be clear before power is promised"},
		{"start", "Look round the machines", "Open the main valve", "tools lie where they are thrown from"},
		{"start", "no consumers", "Open the main valve", "a set starts without load"},
		{"start", "Look at the ballast", "Open the main valve", "a set without ballast runs away"},
		{"start", "pond level", "Open the main valve", "the intake must not draw air"},
		{"start", "Look at the screen", "Open the main valve", "a blocked screen can be crushed"},
		{"start", "fill it slowly", "Open the main valve", "air in the pipe hammers"},
		{"start", "Open the main valve", "Wait until voltage and frequency", ""},
		{"start", "Wait until voltage and frequency", "Close the main switch", "consumers get sound power"},
		{"start", "If a second set joins", "Close the main switch", ""},
		{"start", "Close the main switch", "Stay ten minutes", ""},
		{"stop", "Tell the house", "Switch the consumers off", ""},
		{"stop", "Read voltage", "Switch the consumers off", "the readings under load vanish with it"},
		{"stop", "can it take everything", "Switch the consumers off", "the ballast gets what the consumers leave"},
		{"stop", "Switch the consumers off", "Shut the main valve", ""},
		{"stop", "Shut the main valve", "Wait until the set stands", ""},
		{"stop", "Wait until the set stands", "If someone is going to work", "shut down before isolating"},
		{"stop", "Open the main switch", "If someone is going to work", "isolate before locking"},
		{"after-trip", "Stand at the door", "Does the set still turn", "look before going in"},
		{"after-trip", "Does the set still turn", "what the protection shows", "a runaway comes before any note"},
		{"after-trip", "what the protection shows", "Reset the protection", "flags are gone after a reset"},
		{"after-trip", "what can still be read", "Reset the protection", ""},
		{"after-trip", "Is the cause found", "Reset the protection", "nothing is reset before its cause is known"},
		{"after-trip", "With the set at a stand", "Is the cause found", ""},
		{"after-trip", "Look along the line", "Is the cause found", ""},
		{"after-trip", "Reset the protection", "Start by the starting list", ""},
		{"clearing", "Tell someone", "Look from firm ground", "somebody must know before the bank"},
		{"clearing", "pressure before", "Rake from the bottom", "the gain is after less before"},
		{"clearing", "Look from firm ground", "Rake from the bottom", ""},
		{"clearing", "stop the plant", "Rake from the bottom", "no hand to a screen that draws"},
		{"clearing", "Rake from the bottom", "pressure after", ""},
		{"clearing", "pressure after", "Walk a round", ""},
	} {
		l := list(t, p, c.list)
		if a, b := position(t, l, c.first), position(t, l, c.then); a >= b {
			t.Errorf("%s: %q is step %d, %q step %d: %s", l.Name, c.first, a+1, c.then, b+1, c.why)
		}
	}
}

// Within the step about work beyond operating the order is that of 29 CFR 1910.147(d): isolate and lock, tag, let go what is
// stored, prove dead.
func TestTheOrderOfLockingOut(t *testing.T) {
	l := list(t, ternHollow(t, "", ""), "stop")
	s := l.Steps[position(t, l, "If someone is going to work")]
	at := -1
	for _, phrase := range []string{"lock the valve shut", "the main switch open", "hang a tag with a name", "still turns or holds a charge", "prove dead", "before a hand goes in"} {
		i := strings.Index(s, phrase)
		if i <= at {
			t.Errorf("%q is at %d of %q, want it after %d", phrase, i, s, at)
		}
		at = i
	}
}

// No step asks for what is an electrician's: opening, measuring at or altering what is live.
func TestNoStepIsAnElectricians(t *testing.T) {
	for _, p := range []*plant.Plant{ternHollow(t, "", ""), parse(t, bare)} {
		for _, l := range checklist.Lists(p) {
			for i, s := range l.Steps {
				low := strings.ToLower(s)
				for _, never := range []string{"open the panel", "open the cover", "take off", "unscrew", "loosen", "measure at", "adjust", "replace the fuse", "bridge", "touch the"} {
					if strings.Contains(low, never) {
						t.Errorf("%s, step %d says %q: %s", l.Name, i+1, never, s)
					}
				}
			}
		}
	}
}

// What a plant's file says, or leaves out, is what its lists say. Each case changes one thing of the demo's plant.
func TestListsFollowThePlant(t *testing.T) {
	for _, c := range []struct {
		name, old, with string
		list            string
		says, not       []string
	}{
		{"another stop level", "stop_level_m = -0.85", "stop_level_m = -0.50", "start", []string{"stop level of -0.50 m"}, []string{"-0.85"}},
		{"the stop level from submergence", "stop_level_m = -0.85", "# none", "start", []string{"stop level of -0.8"}, nil},
		{"no bypass", "bypass_lps = 6.0", "# none", "stop", nil, []string{"bypass"}},
		{"no bypass at the screen", "bypass_lps = 6.0", "# none", "clearing", nil, []string{"bypass"}},
		{"no permit", "permit_high_m = 0.30", "# none", "stop", []string{"it rises now."}, []string{"permit allows"}},
		{"no holes", "hole_mm = 2.5", "# none", "clearing", []string{"bent or missing bars"}, []string{"Nothing wider"}},
		{"wide gaps", "hole_mm = 2.5", "hole_mm = 12", "clearing", []string{"Nothing wider than 12 mm"}, nil},
		{"no trip settings of frequency", "trip_hertz = [54, 66]", "# none", "after-trip", []string{"set to 204 and 276 V."}, []string{"66 Hz"}},
		{"no trip settings of voltage", "trip_volts = [204, 276]", "# none", "after-trip", []string{"set to 54 and 66 Hz."}, []string{"276"}},
		{"a wider set of bands", `bands = "isolated"`, `bands = "en50160-island"`, "start", []string{"58.8 to 61.2 Hz"}, []string{"228 to 252 V"}},
		{"a band of the plant's own", "[[band]]\nquantity = \"bearing_c\"", "[[band]]\nquantity = \"hertz\"\nin = [59, 61]\n\n[[band]]\nquantity = \"bearing_c\"", "start", []string{"59.0 to 61.0 Hz and 228 to 252 V"}, []string{"58.8"}},
		{"a band with one end", "[[band]]\nquantity = \"bearing_c\"", "[[band]]\nquantity = \"hertz\"\nin_max = 61\n\n[[band]]\nquantity = \"bearing_c\"", "start", []string{"Good is 228 to 252 V."}, []string{"61.0 Hz"}},
		{"a quick pipe", "wave_speed_ms = 300", "wave_speed_ms = 1000", "stop", []string{"at least "}, nil},
		{"a set on its own bus", "id = \"B\"", "id = \"B\"\nbus = \"own\"", "start", nil, []string{"second set"}},
	} {
		l := list(t, ternHollow(t, c.old, c.with), c.list)
		text := all(l)
		for _, want := range c.says {
			if !strings.Contains(text, want) {
				t.Errorf("%s: %s does not say %q:\n%s", c.name, l.Name, want, text)
			}
		}
		for _, not := range c.not {
			if strings.Contains(text, not) {
				t.Errorf("%s: %s says %q:\n%s", c.name, l.Name, not, text)
			}
		}
	}
}

// For a very short pipe Michaud's rule gives a second or two; such a number would invite haste, so none is named.
func TestWithoutAClosingTimeTheCautionStays(t *testing.T) {
	p := ternHollow(t, "length_m = 210", "length_m = 0.5")
	for _, occasion := range []string{"stop", "after-trip"} {
		text := all(list(t, p, occasion))
		if strings.Contains(text, "at least") || !strings.Contains(text, "fast can burst the pipe") || !strings.Contains(strings.ToLower(text), "slowly") {
			t.Errorf("%s:\n%s", occasion, text)
		}
	}
}

// Every list is found by its name, its occasion, any word that no other list's name has, and in any letter case.
func TestEveryListIsFoundByAnyOfItsNames(t *testing.T) {
	lists := checklist.Lists(ternHollow(t, "[gauge]", ownStop+"\n[gauge]"))
	for _, l := range lists {
		names := []string{l.Name, strings.ToUpper(l.Name), string(l.For)}
		for _, word := range strings.Fields(l.Name) {
			if !slices.ContainsFunc(lists, func(o checklist.List) bool {
				return o.Name != l.Name && (strings.Contains(strings.ToLower(o.Name), strings.ToLower(word)) || string(o.For) == strings.ToLower(word))
			}) {
				names = append(names, word)
			}
		}
		for _, n := range names {
			if n == "" {
				continue
			}
			if got, err := checklist.Find(lists, n); err != nil || got.Name != l.Name {
				t.Errorf("%q finds %q, %v; want %q", n, got.Name, err, l.Name)
			}
		}
	}
}

// The whole text of the lists, to be read when it changes: on the demo's plant and on one of which hardly anything is known.
func TestGolden(t *testing.T) {
	for name, p := range map[string]*plant.Plant{"demo": ternHollow(t, "", ""), "bare": parse(t, bare)} {
		t.Run(name, func(t *testing.T) { golden.RequireEqual(t, []byte(checklist.TOML(checklist.Lists(p)))) })
	}
}

// Whatever the plant, its lists are whole: cautions and steps of sound length, no hole where a number is missing, none for what it
// does not have, and they can be put into a plant file as they are.
func TestListsOfAnyPlant(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := planttest.Random(t)
		lists := checklist.Lists(p)
		if len(lists) != 4 {
			t.Fatalf("%d lists", len(lists))
		}
		for _, l := range lists {
			if len(l.Cautions) < 4 || len(l.Steps) < 8 || len(l.Steps) > 40 {
				t.Fatalf("%s: %d cautions, %d steps", l.Name, len(l.Cautions), len(l.Steps))
			}
			for _, s := range append(slices.Clone(l.Cautions), l.Steps...) {
				for _, hole := range []string{"  ", " .", " ,", "%!", "NaN", "Inf", "()", "of ."} {
					if strings.Contains(s, hole) || len(s) > 300 {
						t.Fatalf("%s: %d long, %q in %q", l.Name, len(s), hole, s)
					}
				}
			}
			text := all(l)
			if p.Pond.BypassLps == 0 && strings.Contains(text, "bypass") || len(p.Ballast.Elements) == 0 && strings.Contains(text, "Look at the ballast") {
				t.Fatalf("%s asks for what the plant does not have:\n%s", l.Name, text)
			}
		}
		again, err := plant.Parse("lists.toml", []byte(bare+checklist.TOML(lists)))
		if err != nil {
			t.Fatal(err)
		}
		for i, l := range checklist.Lists(again) {
			if !slices.Equal(l.Steps, lists[i].Steps) || !slices.Equal(l.Cautions, lists[i].Cautions) {
				t.Fatalf("%s comes back otherwise", l.Name)
			}
		}
	})
}
