package hydraulics

import (
	"testing"

	"pgregory.net/rapid"
)

// By hand: 0.7245 · 1.2 · √0.35 = 0.5143 m.
func TestSubmergenceByHand(t *testing.T) {
	near(t, "lateral", Submergence(1.2, 0.35, GordonLateral), 0.5143, 0.0001)
	near(t, "at rest", Submergence(0, 0.35, GordonLateral), 0, 0)
}

func TestFishScreenRulesCarryTheirStatus(t *testing.T) {
	for _, r := range FishScreenRules() {
		if r.Name == "" || r.Source == "" || (r.Status != "verified" && r.Status != "from memory") || !(r.VelocityMS > 0) {
			t.Errorf("incomplete rule: %+v", r)
		}
	}
}

func TestNeededAreaMeetsTheRule(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := rapid.Float64Range(0.001, 2).Draw(t, "flow")
		for _, r := range FishScreenRules() {
			if v := q / r.NeededArea(q); v > r.VelocityMS*(1+1e-12) || v < r.VelocityMS*(1-1e-12) {
				t.Fatalf("%s: the needed area gives %g m/s, the rule is %g", r.Name, v, r.VelocityMS)
			}
		}
	})
}

func TestSpillRisesWithTheLevel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(-1, 2).Draw(t, "lower")
		b := rapid.Float64Range(max(a, 0)+1e-6, 3).Draw(t, "higher")
		if !(Spill(b, 4.5, 1.7) > Spill(a, 4.5, 1.7)) {
			t.Fatalf("spill %g at %g, %g at %g", Spill(a, 4.5, 1.7), a, Spill(b, 4.5, 1.7), b)
		}
	})
}
