package ui

import (
	"math"
	"strings"
)

// Range is a pair of limits, both inclusive. An infinite or NaN limit is open.
type Range struct{ Lo, Hi float64 }

// Open is the range without limits.
func Open() Range { return Range{math.Inf(-1), math.Inf(1)} }

// Limits makes a range of limits that may be missing.
func Limits(lo, hi *float64) Range {
	r := Open()
	if lo != nil {
		r.Lo = *lo
	}
	if hi != nil {
		r.Hi = *hi
	}
	return r
}

func (r Range) hasLo() bool { return !math.IsNaN(r.Lo) && !math.IsInf(r.Lo, 0) }
func (r Range) hasHi() bool { return !math.IsNaN(r.Hi) && !math.IsInf(r.Hi, 0) }

// holds reports whether a value is within the limits.
func (r Range) holds(v float64) bool {
	return (!r.hasLo() || v >= r.Lo) && (!r.hasHi() || v <= r.Hi)
}

// Place returns the state of a value by its two ranges, as the gauge draws it: Unjudged for NaN or where no limit is given.
func Place(v float64, in, near Range) State {
	switch {
	case math.IsNaN(v) || !in.hasLo() && !in.hasHi() && !near.hasLo() && !near.hasHi():
		return Unjudged
	case in.holds(v):
		return Good
	case near.holds(v):
		return Near
	}
	return Out
}

// BandGauge draws in one line of w cells where a value stands in its band:
//
//	├──▄▄▄▄█▄▄▄──┤     in      |--====#===--|
//	├─█▄▄▄▄▄▄▄▄──┤     near    |-#========--|
//	█ ├──▄▄▄▄▄▄▄▄──┤   out     # |--========--|
//
// The heavy part is the inner range, the thin part the near one with its end posts, outside is blank; the tall mark is the
// value. A value off the scale stands as "<" or ">" at the end. Each part has at least one cell and the mark is always within
// the part that the value belongs to, so the picture never says other than the word. Without a value (NaN) there is no mark;
// without a limit on a side the inner range runs to that end, and without any there is nothing to draw. Below 7 cells only
// the state's word or sign stands.
func BandGauge(t Theme, value float64, in, near Range, w int) string {
	state := Place(value, in, near)
	if w < minGauge {
		return t.State(state).Render(t.Fit(shortVerdict(state, w), w))
	}
	parts := gaugeParts(in, near, w)
	if len(parts) == 1 {
		return strings.Repeat(" ", w)
	}
	at, sign := markAt(t, parts, value)
	var b strings.Builder
	x := 0
	for _, p := range parts {
		cells := strings.Repeat(p.kind.glyph(t), p.cells)
		if at >= x && at < x+p.cells {
			one := len(cells) / p.cells
			cells = cells[:(at-x)*one] + t.State(state).Render(sign) + cells[(at-x+1)*one:]
		}
		b.WriteString(cells)
		x += p.cells
	}
	return b.String()
}

// minGauge is the narrowest gauge: two outsides, two posts, two near parts and the inner one.
const minGauge = 7

// shortVerdict is what stands where the gauge has no room.
func shortVerdict(s State, w int) string {
	if word := s.Word(); len(word) <= w {
		return word
	}
	return s.Sign()
}
