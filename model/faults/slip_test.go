package faults_test

import (
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// What cannot be right by what is plausible, or by what the pond can have done, is no evidence: not on the last round either, after
// which nothing can tell it apart from its neighbours. The answer is that of the log in which it was never written, and says what
// it left out.
func TestASlipOnTheLastRoundIsNoEvidence(t *testing.T) {
	c := simCase{p: samplePlants()[0], days: 7, efficiency: 1, losses: 1, noise: true, seed: 1}
	sound := c.history(t)
	last := len(sound.Rounds) - 1
	level, ok := sound.Rounds[last].Value(quantity.Key(quantity.PondLevelM))
	if !ok || !spoilable(sound.Rounds[last]) {
		t.Fatalf("the last round has no level, pressure or voltage: %v", sound.Rounds[last].Values)
	}
	for name, spoilt := range map[quantity.Key]float64{
		quantity.Key(quantity.PondLevelM):  level + 8,
		quantity.Key(quantity.PressureKPa): 60100,
		quantity.Key(quantity.Volts):       2410,
	} {
		t.Run(string(name), func(t *testing.T) {
			with, without := *sound, *sound
			with.Rounds, without.Rounds = slices.Clone(sound.Rounds), slices.Clone(sound.Rounds)
			with.Rounds[last].Values, without.Rounds[last].Values = maps.Clone(sound.Rounds[last].Values), maps.Clone(sound.Rounds[last].Values)
			with.Rounds[last].Values[name] = spoilt
			delete(without.Rounds[last].Values, name)
			got, want := report(t, &with), report(t, &without)
			for i, x := range got.Ranked {
				if x.Fault != want.Ranked[i].Fault || math.Abs(x.Probability-want.Ranked[i].Probability) > 1e-12 || len(x.Evidence) != len(want.Ranked[i].Evidence) {
					t.Errorf("cause %d is %s with %g, without the slip %s with %g", i, x.Fault, x.Probability, want.Ranked[i].Fault, want.Ranked[i].Probability)
				}
				for _, e := range x.Evidence {
					if e.Read == spoilt || e.Last == spoilt {
						t.Errorf("%s rests on the slip: %+v", x.Fault, e)
					}
				}
			}
			said := strings.Join(got.Cautions, "|")
			if !strings.Contains(said, "left out as a slip") || strings.Contains(strings.Join(want.Cautions, "|"), "as a slip") {
				t.Errorf("it cautions %q, without the slip %q", got.Cautions, want.Cautions)
			}
			if strings.Contains(said, "_m") || strings.Contains(said, "_kpa") {
				t.Errorf("people read a column's name: %q", said)
			}
			if with.Rounds[last].Values[name] != spoilt {
				t.Error("the history that was handed over was changed")
			}
		})
	}
}

func spoilable(r record.Round) bool {
	_, p := r.Value(quantity.Key(quantity.PressureKPa))
	_, v := r.Value(quantity.Key(quantity.Volts))
	return p && v
}
