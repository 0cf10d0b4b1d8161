package quantity

import (
	"errors"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// The columns of the contract ("Rounds as CSV" and "More columns"), with the unit that their suffix names.
func TestCatalogueHoldsEveryColumnOfTheContract(t *testing.T) {
	common := "volts hertz load_kw dump_share_pct dump_kw pressure_kpa pond_level_m screen screen_cleared pressure_before_kpa pressure_after_kpa " +
		"bearing_c air_c water_c rain_mm bypass_lps flow_lps valve amps hours energy_kwh load_energy_kwh ice screen_loss_mm"
	perUnit := "volts hertz kw pressure_kpa bearing_c amps hours energy_kwh"
	suffixes := map[string]Unit{"volts": Volt, "hertz": HertzUnit, "kw": Kilowatt, "pct": Percent, "kpa": Kilopascal, "m": Metre, "c": Celsius, "mm": Millimetre,
		"lps": LitrePerSecond, "kwh": KilowattHour, "amps": Ampere, "hours": Hour}
	for _, name := range strings.Fields(common) {
		k, q, err := ParseKey(name, nil)
		if err != nil || string(k) != name {
			t.Errorf("column %s: %s, %v", name, k, err)
		}
		if q.Number() && q.Unit != suffixes[name[strings.LastIndex(name, "_")+1:]] {
			t.Errorf("%s is kept in %s", name, q.Unit)
		}
	}
	for _, name := range strings.Fields(perUnit) {
		if k, _, err := ParseKey("A."+name, []string{"A"}); err != nil || string(k) != "A."+name {
			t.Errorf("column A.%s: %s, %v", name, k, err)
		}
	}
	words := map[Name]string{Screen: "clear partly blocked iced", ScreenCleared: "yes no", Valve: "open part shut", Ice: "none skim cover"}
	for n, want := range words {
		if got := strings.Join(info(t, n).Words, " "); got != want {
			t.Errorf("%s has the words %s, want %s", n, got, want)
		}
	}
}

func TestParseKey(t *testing.T) {
	units := []string{"A", "B2", "x", "X"}
	for _, c := range []struct {
		in, key, problem string
	}{
		{"volts", "volts", ""},
		{" Volts ", "volts", ""},
		{"A.kw", "A.kw", ""},
		{"a.KW", "A.kw", ""},
		{"b2.bearing_c", "B2.bearing_c", ""},
		{"x.kw", "x.kw", ""}, // the plant has x and X: as written
		{"X.kw", "X.kw", ""},
		{"vlots", "", "vlots is not a reading that is known here; did you mean volts?"},
		{"pressure", "", "pressure is not a reading that is known here"},
		{"presure_kpa", "", "presure_kpa is not a reading that is known here; did you mean pressure_kpa?"},
		{"", "", `"" is not a reading that is known here`},
		{"A.", "", "A. is not a reading that is known here"},
		{"kw", "", "kw is read for one unit only, with its id in front; did you mean A.kw?"},
		{"C.kw", "", `C.kw is for a unit "C" that this plant does not have (it has A, B2, x, X); did you mean A.kw?`},
		{"A.pond_level_m", "", "A.pond_level_m is not read for one unit, only for the plant; did you mean pond_level_m?"},
		{"A.B2.kw", "", "A.B2.kw is not a reading that is known here; did you mean B2.kw?"},
		{"vol\x1b[31mts", "", `"vol\x1b[31mts" is not a reading that is known here`},
		{"volts\n", "volts", ""},
	} {
		k, q, err := ParseKey(c.in, units)
		if string(k) != c.key {
			t.Errorf("ParseKey(%q) = %s, %v; want %s", c.in, k, err, c.key)
		}
		if c.problem == "" {
			if err != nil || q.Name != k.Name() {
				t.Errorf("ParseKey(%q): %v", c.in, err)
			}
			continue
		}
		var bad *KeyError
		if !errors.As(err, &bad) || bad.Error() != c.problem {
			t.Errorf("ParseKey(%q):\n got %v\nwant %s", c.in, err, c.problem)
		}
	}
	if _, _, err := ParseKey("A.kw", nil); err == nil || !strings.Contains(err.Error(), "this plant has none") {
		t.Errorf("a plant without units: %v", err)
	}
	if _, _, err := ParseKey("kw", nil); err == nil || !strings.Contains(err.Error(), "this plant has none") {
		t.Errorf("a plant without units: %v", err)
	}
}

func TestKeys(t *testing.T) {
	got := Keys([]string{"A", "B"})
	seen := map[Key]bool{}
	for _, k := range got {
		if seen[k] {
			t.Errorf("%s stands twice", k)
		}
		seen[k] = true
		parsed, q, err := ParseKey(string(k), []string{"A", "B"})
		if err != nil || parsed != k {
			t.Errorf("%s reads as %s, %v", k, parsed, err)
		}
		if unit, n := k.Split(); NewKey(unit, n) != k || k.Unit() != unit || k.Name() != n || q.Name != n {
			t.Errorf("%s splits into %q and %q", k, unit, n)
		}
	}
	if diff := cmp.Diff([]Key{"A.kw", "B.kw", "hours", "A.hours", "B.hours"}, got[indexOf(got, "A.kw"):indexOf(got, "volts")]); diff != "" {
		t.Errorf("the common key stands before the units' (-want +got):\n%s", diff)
	}
	if got[0] != "pond_level_m" {
		t.Errorf("the walk begins at %s", got[0])
	}
}

func indexOf(keys []Key, k Key) int {
	for i := range keys {
		if keys[i] == k {
			return i
		}
	}
	return -1
}

func TestTheCatalogueIsInWalkingOrderAndCannotBeChanged(t *testing.T) {
	c := Catalogue()
	for i := 1; i < len(c); i++ {
		if c[i].Where < c[i-1].Where {
			t.Errorf("%s is read at the %s, after %s", c[i].Name, c[i].Where, c[i-1].Where)
		}
	}
	for _, q := range c {
		if !q.Common && !q.PerUnit || q.Label == "" || q.Number() == (q.Unit == None) || strings.HasPrefix(q.Where.String(), "Place") {
			t.Errorf("%+v is not complete", q)
		}
	}
	c[0].Name = "spoilt"
	if _, ok := Lookup("spoilt"); ok || Catalogue()[0].Name != PondLevelM {
		t.Error("a caller changed the catalogue")
	}
	if got := Place(9).String(); got != "Place(9)" {
		t.Errorf("an unknown place is %s", got)
	}
}

func TestNearest(t *testing.T) {
	words := []string{"volts", "hertz", "load_kw", "dump_kw"}
	for _, c := range []struct{ in, want string }{
		{"volt", "volts"}, {"VOLTS", "volts"}, {"hetrz", "hertz"}, {"lod_kw", "load_kw"}, {"xyz", ""}, {"", ""}, {"v", ""}, {strings.Repeat("volts", 20), ""},
	} {
		if got := Nearest(c.in, words); got != c.want {
			t.Errorf("Nearest(%q) = %q, want %q", c.in, got, c.want)
		}
	}
	if got := Nearest("bb", []string{"bc", "ba"}); got != "" {
		t.Errorf("two letters are too few for a guess: %q", got)
	}
	if a, b := Nearest("bbb", []string{"bbc", "bba"}), Nearest("bbb", []string{"bba", "bbc"}); a != "bba" || b != "bba" {
		t.Errorf("among equals the order decides: %q, %q", a, b)
	}
}

// A distance is one: symmetric, nothing only between equals, never more than the longer word (K. Kukich, ACM Computing
// Surveys 24 (1992), for the optimal-string-alignment form; from memory).
func TestEditDistance(t *testing.T) {
	word := rapid.StringOfN(rapid.SampledFrom([]rune("abé")), 0, 6, -1)
	rapid.Check(t, func(t *rapid.T) {
		a, b := word.Draw(t, "a"), word.Draw(t, "b")
		d := editDistance(a, b)
		if d != editDistance(b, a) || (d == 0) != (a == b) || d > max(utf8.RuneCountInString(a), utf8.RuneCountInString(b)) {
			t.Fatalf("distance of %q and %q is %d and %d", a, b, d, editDistance(b, a))
		}
	})
	for _, c := range []struct {
		a, b string
		d    int
	}{{"kitten", "sitting", 3}, {"ab", "ba", 1}, {"", "abc", 3}} {
		if got := editDistance(c.a, c.b); got != c.d {
			t.Errorf("distance of %s and %s is %d, want %d", c.a, c.b, got, c.d)
		}
	}
}

func BenchmarkParseKey(b *testing.B) {
	units := []string{"A", "B"}
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := ParseKey("load_energy_kwh", units); err != nil {
			b.Fatal(err)
		}
	}
}
