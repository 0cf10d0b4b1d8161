package plant

import (
	"bytes"
	"fmt"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Only the numbers change; every other byte stays, whatever the lines end with.
func TestReviseChangesTheNumbersAlone(t *testing.T) {
	text, err := os.ReadFile("../demo/ternhollow.toml")
	if err != nil {
		t.Fatal(err)
	}
	want := strings.Replace(string(text), "minor_k = 2.1", "minor_k = 3.25", 1)
	first, second, _ := strings.Cut(want, "best_efficiency = 0.61")
	want = first + "best_efficiency = 0.5875" + second
	changes := []Change{{"unit[2].best_efficiency", 0.5875}, {"penstock[1].minor_k", 3.25}}
	for name, c := range map[string]func(string) string{
		"as it is": func(s string) string { return s },
		"with carriage returns and a byte-order mark": func(s string) string { return "\ufeff" + strings.ReplaceAll(s, "\n", "\r\n") },
	} {
		got, err := Revise("tern.toml", []byte(c(string(text))), changes)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if string(got) != c(want) {
			t.Errorf("%s: something else changed", name)
		}
		p, err := Parse("tern.toml", got)
		if err != nil || p.Units[1].BestEfficiency != 0.5875 || p.Penstocks[0].MinorK != 3.25 || p.Units[0].BestEfficiency != 0.68 {
			t.Errorf("%s: %v", name, err)
		}
	}
	if got, err := Revise("tern.toml", text, nil); err != nil || !bytes.Equal(got, text) {
		t.Errorf("no change changes the file: %v", err)
	}
}

func TestReviseRefuses(t *testing.T) {
	text, err := os.ReadFile("../demo/ternhollow.toml")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		data    []byte
		changes []Change
		want    string
	}{
		{[]byte("[site]\n"), nil, "missing"},
		{text, []Change{{"unit[3].best_efficiency", 0.5}}, "the file has no unit[3]"},
		{text, []Change{{"unit[0].best_efficiency", 0.5}}, "the file has no unit[0]"},
		{text, []Change{{"unit[1].name", 0.5}}, "text in quotes and not a number"},
		{text, []Change{{"unit[1].nothing", 0.5}}, "does not give it"},
		{text, []Change{{"nothing[1].minor_k", 0.5}}, "does not give it"},
		{text, []Change{{"unit", 0.5}}, "a list and not a number"},
		{text, []Change{{"Unit one", 0.5}}, "is no key"},
		{text, []Change{{"unit[1].best_efficiency", 1.5}}, "would not be sound"},
		{text, []Change{{"unit[1].best_efficiency", 0.5}, {"unit[1].best_efficiency", 0.6}}, "two changes of one value"},
	} {
		got, err := Revise("tern.toml", c.data, c.changes)
		if err == nil || got != nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: %v, want %q", c.changes, err, c.want)
		}
		if err != nil && !strings.Contains(err.Error(), "nothing was changed") {
			t.Errorf("%v does not say that nothing was changed", err)
		}
	}
}

// Any sound value of a number comes back from the revised text as it was given.
func TestRevisedValuesComeBack(t *testing.T) {
	text := Template()
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.Float64Range(0, 1e4).Draw(t, "minor_k")
		lps := rapid.Float64Range(1e-3, 1e6).Draw(t, "best_flow_lps")
		got, err := Revise("x.toml", text, []Change{{"penstock[1].minor_k", k}, {"unit[1].best_flow_lps", lps}})
		if err != nil {
			t.Fatal(err)
		}
		p, err := Parse("x.toml", got)
		if err != nil || p.Penstocks[0].MinorK != k || p.Units[0].BestFlowLps != lps {
			t.Fatal(fmt.Errorf("%v: %g and %g come back as %+v", err, k, lps, p))
		}
		if a, b := bytes.Count(got, []byte("\n")), bytes.Count(text, []byte("\n")); a != b {
			t.Fatalf("%d lines became %d", b, a)
		}
	})
}
