package csvfile

import (
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"example.org/headpond/model/quantity"
)

func TestGuard(t *testing.T) {
	for _, c := range []struct{ text, written string }{
		{"", ""},
		{"belt squeals", "belt squeals"},
		{"=1+1", "'=1+1"},
		{"@SUM(A1)", "'@SUM(A1)"},
		{"+49 123", "'+49 123"},
		{"-cmd|' /C calc'!A0", "'-cmd|' /C calc'!A0"},
		{"\t=1", "'\t=1"},
		{"\n=1", "'\n=1"},
		{"＝1", "'＝1"},
		{"-", "'-"},
		{"-3.5", "-3.5"}, // a number, from an unknown column
		{"+7", "+7"},
		{"--7", "'--7"},
		{"-3.5.1", "'-3.5.1"},
		{"-3-1", "'-3-1"},
		{"-1e9", "'-1e9"},
		{"'quoted'", "'quoted'"},
		{"'=1", "''=1"},
		{"''=1", "'''=1"},
		{"'-3", "''-3"},
		{"'", "'"},
		{"a=1", "a=1"},
	} {
		if got := guard(c.text); got != c.written {
			t.Errorf("guard(%q) = %q, want %q", c.text, got, c.written)
		}
		if got := unguard(c.written); got != c.text {
			t.Errorf("unguard(%q) = %q, want %q", c.written, got, c.text)
		}
	}
}

// hostile draws texts that are made of what matters here.
func hostile() *rapid.Generator[string] {
	return rapid.OneOf(rapid.String(), rapid.StringOf(rapid.SampledFrom([]rune("'=+-@\t\n\"＝1.;\\a "))))
}

func TestEveryTextIsHarmlessAndReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := hostile().Draw(t, "text")
		w := guard(s)
		if first, _ := utf8.DecodeRuneInString(w); w != "" && strings.ContainsRune(formulaSigns, first) && strings.Trim(w[1:], "0123456789.") != "" {
			t.Fatalf("%q is written %q", s, w)
		}
		if got := unguard(w); got != s {
			t.Fatalf("%q is written %q and reads as %q", s, w, got)
		}
		if again := guard(unguard(w)); again != w {
			t.Fatalf("%q became %q", w, again)
		}
	})
}

func TestTypedThereAndBack(t *testing.T) {
	typed := map[quantity.Key]string{"pressure_kpa": "19 psi", "A.bearing_c": "104 °F"}
	if got := joinTyped(typed); got != "A.bearing_c=104 °F; pressure_kpa=19 psi" {
		t.Errorf("typed is written %s", got)
	}
	rapid.Check(t, func(t *rapid.T) {
		typed := rapid.MapOf(rapid.Map(rapid.SampledFrom(quantity.Keys([]string{"A"})), func(k quantity.Key) quantity.Key { return k }),
			rapid.Map(hostile(), strings.TrimSpace)).Draw(t, "typed")
		list, ok := splitTyped(joinTyped(typed))
		if !ok || len(list) != len(typed) {
			t.Fatalf("%q reads as %v, %v", joinTyped(typed), list, ok)
		}
		for _, p := range list {
			if typed[quantity.Key(p.key)] != p.text {
				t.Fatalf("%s: %q became %q", p.key, typed[quantity.Key(p.key)], p.text)
			}
		}
	})
	if _, ok := splitTyped("pressure_kpa"); ok {
		t.Error("a key without a value is no pair")
	}
}
