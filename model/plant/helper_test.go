package plant_test

import (
	"errors"
	"strings"
	"testing"
	"unicode/utf8"

	"example.org/headpond/model/plant"
)

// soundFile is a small plant without problems, to which the tests make one change each.
const soundFile = `[site]
name = "Tern Hollow"
timezone = "America/Halifax"

[supply]
volts = 240
hertz = 60

[pond]
stage = [[-1.60, 8000], [-0.80, 46000], [0.40, 81000]]
crest_m = 0.10

[intake]
screen_m2 = 1.4
open_share = 0.40

[[penstock]]
name = "main"
length_m = 210
diameter_m = 0.30
roughness_mm = 0.01
minor_k = 2.1

[[unit]]
id = "A"
penstock = "main"
axis_m = -14.6
rated_kw = 6.0
best_flow_lps = 76
best_head_m = 13.1
best_efficiency = 0.68
generator_efficiency = 0.86

[[unit]]
id = "B"
penstock = "main"
axis_m = -14.6
rated_kw = 3.0
best_flow_lps = 40
best_head_m = 13.1
best_efficiency = 0.66
generator_efficiency = 0.84

[ballast]
controller_kw = 8.0

[[ballast.element]]
name = "E1"
rated_kw = 2.0

[[load]]
name = "freezer"
kw = 0.4

[[upkeep]]
task = "grease"
every_hours = 500
`

// mark stands in a test's text at the place where a problem is expected; it is taken out before parsing.
const mark = "»"

// unmark takes the marks out and returns the line and column (in characters, from 1) at which each stood.
func unmark(text string) (clean string, places [][2]int) {
	var out strings.Builder
	line, column := 1, 1
	for len(text) > 0 {
		if rest, ok := strings.CutPrefix(text, mark); ok {
			places = append(places, [2]int{line, column})
			text = rest
			continue
		}
		r, n := utf8.DecodeRuneInString(text)
		out.WriteString(text[:n])
		text = text[n:]
		if column++; r == '\n' {
			line, column = line+1, 1
		}
	}
	return out.String(), places
}

// change replaces one piece of the sound file, which must occur once.
func change(t *testing.T, old, with string) string {
	t.Helper()
	if n := strings.Count(soundFile, old); n != 1 {
		t.Fatalf("%q occurs %d times in the sound file", old, n)
	}
	return strings.Replace(soundFile, old, with, 1)
}

// problemsOf parses a text that must have problems.
func problemsOf(t *testing.T, text string) []plant.Problem {
	t.Helper()
	p, err := plant.Parse("plant.toml", []byte(text))
	var problems *plant.Problems
	if !errors.As(err, &problems) {
		t.Fatalf("no problems, but %v", err)
	}
	if p != nil {
		t.Error("a plant is returned beside its problems")
	}
	return problems.List
}

func mustParse(t testing.TB, text string) *plant.Plant {
	t.Helper()
	p, err := plant.Parse("plant.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func at(v float64) *float64 { return &v }
