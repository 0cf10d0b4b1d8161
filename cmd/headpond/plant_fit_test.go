package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/headpond/model/plant"
)

// The demo's book with a description whose large set is said to be better than it is: the fit finds the truth (the demo's own
// 0.68), writes the file with that number alone changed, and puts nothing into the book.
func TestAFitIsOfferedAndNeverApplied(t *testing.T) {
	p := demoBook(t)
	dir := t.TempDir()
	right := p.run(0, "plant", "show")
	wrong := strings.Replace(right, "best_efficiency = 0.68", "best_efficiency = 0.75   # from the maker's sheet", 1)
	if wrong == right {
		t.Fatal("the demo's plant has no efficiency of 0.68")
	}
	file, out := filepath.Join(dir, "wrong.toml"), filepath.Join(dir, "fitted.toml")
	if err := os.WriteFile(file, []byte(wrong), 0o600); err != nil {
		t.Fatal(err)
	}
	p.run(0, "plant", "load", file, "--from", "2025-11-10")
	before := string(p.bytes())
	p.wants(p.run(0, "plant", "fit"), "efficiency of A", "0.75", "Held at the file's values:", "rounds with a flow would", "--out FILE", "Nothing was changed.")
	p.wants(p.run(0, "plant", "fit", "--out", out), "is written", "unit[1].best_efficiency changed", "headpond plant load")
	if string(p.bytes()) != before {
		t.Error("the book was changed")
	}
	data, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	fitted, err := plant.Parse(out, data)
	if err != nil {
		t.Fatal(err)
	}
	if e := fitted.Units[0].BestEfficiency; e < 0.665 || e > 0.695 {
		t.Errorf("an efficiency of 0.68 is fitted as %g", e)
	}
	if changed := differing(wrong, string(data)); len(changed) != 1 || !strings.HasSuffix(changed[0], "   # from the maker's sheet") {
		t.Errorf("changed lines: %q", changed)
	}
	p.run(1, "plant", "fit", "--out", out)
	p.wants(p.err.String(), "a file of that name is there already", "nothing was changed")
	found := keysIn(t, p.run(0, "plant", "fit", "--json"))
	for want := range strings.FieldsSeq(`at:string from:string to:string rounds:number revision:string changed:bool chi2_per_freedom:number known_by:number
		readings[].quantity:string readings[].count:number readings[].off_before:number readings[].off_after:number numbers[].key:string
		numbers[].name:string numbers[].file:number numbers[].fitted:number numbers[].low:number numbers[].high:number numbers[].held:string
		numbers[].changes:bool numbers[].new:number numbers[].low_given:number cautions:list`) {
		if !found[want] {
			t.Errorf("%s is not there", want)
		}
	}
}

// differing lists the lines of b that are not those of a.
func differing(a, b string) []string {
	x, y := strings.Split(a, "\n"), strings.Split(b, "\n")
	var out []string
	for i := range y {
		if i >= len(x) || x[i] != y[i] {
			out = append(out, y[i])
		}
	}
	return out
}
