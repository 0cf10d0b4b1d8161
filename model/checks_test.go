package model_test

import (
	"flag"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
)

// The outside checks: numbers that the model gives beside numbers that someone else published. One table holds them all, so
// that one test can judge them and another can render them for the contributor's guide.
//
// To add one, append a row to the list of its field (checks_*_test.go) and run
//
//	go test ./model -run OutsideChecks -update
//
// which rewrites testdata/outside_checks.md and, between its two marks, the contributor's guide.

// check is one outside check.
type check struct {
	quantity  string
	source    string
	status    string // how far the published number was seen: verified, secondary, from memory
	published float64
	ours      float64
	unit      string
	tolerance float64 // relative, of the published value; absolute where absolute is set
	absolute  bool
	digits    int  // significant digits shown; 0 is 6
	only      bool // shown for information: no tolerance is asked
}

// Statuses of a published number, as the collection of references marks them.
const (
	verified  = "verified"
	secondary = "verified, secondary"
	memory    = "from memory"
	computed  = "computed from the published formula"
)

func allChecks(t *testing.T) []check {
	t.Helper()
	var list []check
	list = append(list, waterPropertyChecks()...)
	list = append(list, frictionChecks()...)
	list = append(list, pipelineChecks()...)
	list = append(list, networkChecks(t)...)
	list = append(list, screenChecks()...)
	list = append(list, surgeChecks()...)
	list = append(list, machineChecks()...)
	list = append(list, electricalChecks(t)...)
	return list
}

func (c check) difference() float64 {
	d := math.Abs(c.ours - c.published)
	if c.absolute {
		return d
	}
	return d / math.Abs(c.published)
}

func TestOutsideChecksHold(t *testing.T) {
	for _, c := range allChecks(t) {
		if math.IsNaN(c.ours) || math.IsNaN(c.published) {
			t.Errorf("%s (%s): not a number", c.quantity, c.source)
		}
		if !c.only && !(c.difference() <= c.tolerance) {
			t.Errorf("%s (%s, %s): published %.9g %s, ours %.9g: differs by %.3g, allowed %.3g",
				c.quantity, c.source, c.status, c.published, c.unit, c.ours, c.difference(), c.tolerance)
		}
	}
}

var update = flag.Bool("update", false, "rewrite the rendered table of outside checks")

const (
	renderedPath = "testdata/outside_checks.md"
	guidePath    = "../DEVELOPERS.md"
	guideBegin   = "<!-- outside checks: begin -->"
	guideEnd     = "<!-- outside checks: end -->"
)

// TestOutsideChecksTableIsCurrent fails when the rendered table, or the contributor's guide that carries it, no longer says
// what the model gives.
func TestOutsideChecksTableIsCurrent(t *testing.T) {
	want := render(allChecks(t))
	if *update {
		if err := os.WriteFile(renderedPath, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if got := read(t, renderedPath); got != want {
		t.Errorf("%s is stale; run: go test ./model -run OutsideChecks -update", renderedPath)
	}
	checkGuide(t, want)
}

func checkGuide(t *testing.T, want string) {
	t.Helper()
	text, err := os.ReadFile(guidePath)
	if err != nil {
		t.Fatalf("the contributor's guide cannot be read, which must hold the table: %v", err)
	}
	guide := strings.ReplaceAll(string(text), "\r\n", "\n")
	head, rest, found := strings.Cut(guide, guideBegin+"\n")
	body, tail, ended := strings.Cut(rest, guideEnd)
	if !found || !ended {
		t.Fatalf("%s has no marks %q and %q for the table", guidePath, guideBegin, guideEnd)
	}
	if body == want {
		return
	}
	if !*update {
		t.Fatalf("the table of outside checks in %s is stale; run: go test ./model -run OutsideChecks -update", guidePath)
	}
	if err := os.WriteFile(guidePath, []byte(head+guideBegin+"\n"+want+guideEnd+tail), 0o644); err != nil {
		t.Fatal(err)
	}
}

func read(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return strings.ReplaceAll(string(text), "\r\n", "\n")
}

func render(list []check) string {
	var b strings.Builder
	b.WriteString("| quantity | source | status | published | ours | difference | allowed |\n|---|---|---|---|---|---|---|\n")
	for _, c := range list {
		digits := c.digits
		if digits == 0 {
			digits = 6
		}
		unit := c.unit
		if unit != "" {
			unit = " " + unit
		}
		fmt.Fprintf(&b, "| %s | %s | %s | %s%s | %s%s | %s | %s |\n", c.quantity, c.source, c.status,
			number(c.published, digits), unit, number(c.ours, digits), unit, c.show(c.difference()), c.allowed())
	}
	return b.String()
}

// number writes a value with so many significant digits, and never with an exponent where it can be read without.
func number(v float64, digits int) string {
	if math.Abs(v) >= math.Pow(10, float64(digits)) && math.Abs(v) < 1e9 {
		return fmt.Sprintf("%.0f", v)
	}
	return fmt.Sprintf("%.*g", digits, v)
}

// show writes a difference with two digits; below a millionth it is rounding, whose digits differ between machines.
func (c check) show(d float64) string {
	if c.absolute {
		if d < 1e-6 {
			return "under 1e-06"
		}
		return fmt.Sprintf("%.2g%s", d, strings.TrimSuffix(" "+c.unit, " "))
	}
	if d < 1e-8 {
		return "under 1e-06 %"
	}
	return fmt.Sprintf("%.2g %%", 100*d)
}

func (c check) allowed() string {
	if c.only {
		return "for information"
	}
	if c.absolute {
		return fmt.Sprintf("%.3g%s", c.tolerance, strings.TrimSuffix(" "+c.unit, " "))
	}
	return fmt.Sprintf("%.3g %%", 100*c.tolerance)
}
