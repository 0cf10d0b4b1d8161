package main

import (
	"testing"

	"example.org/headpond/model/water"
)

// The column tells the middle and the range of days of the dry spell, or in a word what comes instead, and never a blank.
func TestTheWaterOfAComparisonInWords(t *testing.T) {
	for want, w := range map[string]*compareWater{
		"-":              nil,
		"11 (9 to 14)":   {Outcome: water.RunsOut, Hours: &water.Hours{P10: new(216.0), P50: new(264.0), P90: new(336.0)}},
		"11 (9 to more)": {Outcome: water.RunsOut, Hours: &water.Hours{P10: new(216.0), P50: new(264.0)}},
		"runs out":       {Outcome: water.RunsOut, Hours: &water.Hours{}},
		"spills":         {Outcome: water.Spills, Hours: &water.Hours{P10: new(216.0), P50: new(264.0)}},
		"lasts":          {Outcome: water.Lasts},
	} {
		if got := w.text(); got != want {
			t.Errorf("%+v: %q, want %q", w, got, want)
		}
	}
}
