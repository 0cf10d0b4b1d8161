package week

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Days worked out one after the other, each from the carry of the one before, are to the bit those worked out at once: what
// the roll-ups rest on.
func TestCarryHoldsAllThatLaterDaysNeed(t *testing.T) {
	for seed := uint64(1); seed < 4; seed++ {
		h := story(t, seed)
		one := chunked(t, h, 100000)
		for _, n := range []int{1, 31} {
			if d := cmp.Diff(one, chunked(t, h, n)); d != "" {
				t.Fatalf("seed %d, %d days at once:\n%s", seed, n, d)
			}
		}
	}
}
