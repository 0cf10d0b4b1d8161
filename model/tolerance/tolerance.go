// Package tolerance judges readings: built-in sets of published limits for the voltage and the frequency, the plant's own
// bands over them, and the state of a value, in, near or out.
//
// Every band carries the source of its limits as text that is shown to people. Where a number could not be seen in print,
// the text ends in "(from memory)"; such sets can be chosen and are never the default.
package tolerance

import "math"

// State is where a value stands in its band.
type State string

// The three states.
const (
	In   State = "in"   // within the good limits
	Near State = "near" // outside the good limits, within the warning limits
	Out  State = "out"  // outside both
)

// Band holds limits in the quantity's unit. A nil limit is open. Limits are inclusive.
type Band struct {
	InMin, InMax     *float64
	NearMin, NearMax *float64 // at or beyond the limits of in
	Source           string   // where the limits come from
}

// State judges a value. A value that is no number is out. A side of near that is not given is the same as that of in.
func (b Band) State(v float64) State {
	b = b.filled()
	switch {
	case math.IsNaN(v):
		return Out
	case within(v, b.InMin, b.InMax):
		return In
	case within(v, b.NearMin, b.NearMax):
		return Near
	}
	return Out
}

func within(v float64, lo, hi *float64) bool {
	return (lo == nil || v >= *lo) && (hi == nil || v <= *hi)
}

// filled returns the band with the sides of near that were left out: an omitted side is that of in.
func (b Band) filled() Band {
	if b.NearMin == nil {
		b.NearMin = b.InMin
	}
	if b.NearMax == nil {
		b.NearMax = b.InMax
	}
	return b
}

// Around returns the band of a reading that is judged by its expected value for want of published limits, as the contract
// does with the intake pressure: in within max(3 reading errors, 3 % of expected), near within twice that.
func Around(expected, readingError float64) Band {
	m := math.Max(3*readingError, 0.03*math.Abs(expected))
	limit := func(k float64) *float64 { v := expected + k*m; return &v }
	return Band{
		InMin: limit(-1), InMax: limit(1), NearMin: limit(-2), NearMax: limit(2),
		Source: "expected value from the plant model, within 3 reading errors or 3 %, whichever is more; near: twice that",
	}
}
