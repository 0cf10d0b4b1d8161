package week

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/headpond/model/record"
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

// A set that went to a bus of its own in the night breaks nothing between two readings of the common bus, whatever runs on its own
// bus since; nor does it where the days before are known from a carry alone.
func TestCarryHoldsOverAnotherBus(t *testing.T) {
	n := write(t, tern(t), "2026-02-06 00:00").
		round("2026-02-02 11:00", "running=A load_kw=2 dump_kw=2").
		round("2026-02-03 12:00", "load_kw=2 dump_kw=4").
		round("2026-02-03 22:00", "running=A+B volts=240"). // no power was read
		round("2026-02-04 09:00", "load_kw=2 dump_kw=3")
	own := tern(t, "id = \"B\"", "id = \"B\"\nbus = \"own\"")
	n.h.Revisions = append(n.h.Revisions, record.Revision{ID: "P2", From: n.when("2026-02-03 21:30"), Plant: own})
	n.h.Plant = own
	one := chunked(t, n.h, 100000)
	// From 12:00 to 09:00 in a straight line from 6 to 5 kW; of the 21 h the last 9 h are the 4th's: 5 kW and half of 9/21 kW.
	near(t, "generated on the 4th until 09:00", one[2].Sums[Generated].KWh, 9*(5+9.0/21/2))
	if d := cmp.Diff(one, chunked(t, n.h, 1)); d != "" {
		t.Fatalf("(-at once +day by day)\n%s", d)
	}
}
