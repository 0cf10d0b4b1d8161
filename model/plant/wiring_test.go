package plant

import (
	"errors"
	"fmt"
	"strings"
	"testing"
)

// line is a key of the starting file: its section and where it stands.
type line struct {
	section section
	spec    spec
	index   int // of the line, from 0
	heading int // of the section's heading
}

// startingLines returns the starting file with its commented-out tables in force, and its keys that are then in force.
func startingLines(t *testing.T) (lines []string, keys []line) {
	t.Helper()
	lines = strings.Split(string(Template()), "\n")
	for _, s := range sections() {
		top := -1
		for i, text := range lines {
			if strings.TrimPrefix(text, "#") == s.heading() {
				top = i
			}
		}
		if top < 0 {
			t.Fatalf("%s is not in the starting file", s.heading())
		}
		lines[top] = s.heading()
		for i, k := top+1, 0; k < len(s.specs); i++ {
			if key, _, ok := strings.Cut(strings.TrimPrefix(lines[i], "#"), " = "); ok && key == s.specs[k].key {
				if !s.specs[k].off {
					lines[i] = strings.TrimPrefix(lines[i], "#")
					keys = append(keys, line{s, s.specs[k], i, top})
				}
				k++
			}
		}
	}
	if _, err := Parse("starting file", []byte(strings.Join(lines, "\n"))); err != nil {
		t.Fatal(err)
	}
	return lines, keys
}

// found returns the problem of a key that stands at a line and column.
func found(err error, lineNo, column int, key string) (Problem, bool) {
	var problems *Problems
	if errors.As(err, &problems) {
		for _, p := range problems.List {
			if p.Line == lineNo && p.Column == column && strings.HasSuffix("."+p.Key, "."+key) {
				return p, true
			}
		}
	}
	return Problem{}, false
}

// Every key that is a number refuses, at its place, what lies just outside of its range, what is no number and what is of
// another kind.
func TestEveryNumberIsHeldToItsRange(t *testing.T) {
	lines, keys := startingLines(t)
	for _, l := range keys {
		if l.spec.form != formNumber {
			continue
		}
		below := l.spec.span.lo
		if !l.spec.span.above {
			below -= 0.001
		}
		bad := []string{number(below), number(l.spec.span.hi + 1), "nan", "+inf", "-inf", `"five"`, "false", "[1]", "{}", "07:30:00"}
		for _, value := range bad {
			with := append([]string(nil), lines...)
			with[l.index] = l.spec.key + " = " + value
			_, err := Parse("x", []byte(strings.Join(with, "\n")))
			if p, ok := found(err, l.index+1, len(l.spec.key)+4, l.spec.key); !ok || !strings.Contains(p.Expected, "number") && value != `"five"` {
				t.Errorf("%s.%s = %s: %v", l.section.name, l.spec.key, value, err)
			}
		}
	}
}

// Every required key is missed at its table's heading; without any other key the file is sound, save where another key
// takes its place.
func TestEveryKeyCanBeLeftOutOrIsMissed(t *testing.T) {
	lines, keys := startingLines(t)
	replaced := map[string]string{
		"intake.open_share": "missing, though there is a screen", "unit.best_flow_lps": "best_flow_lps", "unit.best_head_m": "best_head_m",
		"unit.best_efficiency": "best_efficiency", "unit.generator_efficiency": "missing", "upkeep.every_hours": "has no interval",
	}
	for _, l := range keys {
		with := append([]string(nil), lines...)
		with[l.index] = ""
		_, err := Parse("x", []byte(strings.Join(with, "\n")))
		name := l.section.name + "." + l.spec.key
		switch {
		case l.spec.required:
			if p, ok := found(err, l.heading+1, 1, l.spec.key); !ok || p.What != "missing" {
				t.Errorf("without %s: %v", name, err)
			}
		case replaced[name] != "":
			if err == nil || !strings.Contains(err.Error(), replaced[name]) {
				t.Errorf("without %s: %v", name, err)
			}
		case name == "band.in_max": // near_max stands alone then
			if err == nil {
				t.Errorf("without %s a band without limits is sound", name)
			}
		case err != nil:
			t.Errorf("without %s: %v", name, err)
		}
	}
}

// A misspelt key is told at its place with the right one beside it, and is not also told to be missing.
func TestEveryMisspeltKeyIsRecognised(t *testing.T) {
	lines, keys := startingLines(t)
	for _, l := range keys {
		if l.section.name == "gauge" || len(l.spec.key) < 4 {
			continue
		}
		wrong := l.spec.key[:2] + "z" + l.spec.key[2:]
		with := append([]string(nil), lines...)
		with[l.index] = strings.Replace(lines[l.index], l.spec.key, wrong, 1)
		_, err := Parse("x", []byte(strings.Join(with, "\n")))
		p, ok := found(err, l.index+1, 1, wrong)
		if !ok || p.Expected != l.spec.key {
			t.Errorf("%s for %s: %v", wrong, l.spec.key, err)
		}
		if strings.Contains(fmt.Sprint(err), l.spec.key+": missing") {
			t.Errorf("%s for %s is told twice: %v", wrong, l.spec.key, err)
		}
	}
}
