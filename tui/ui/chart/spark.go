package chart

import (
	"math"
	"strings"

	"example.org/headpond/tui/ui"
)

// Sparkline draws values in one line of w cells, each cell the mean of those that fall into it; missing ones (NaN) leave a
// gap, which is a space, and the lowest level is still a mark. The scale is that of scale, an open side that of the values. Fewer
// values than cells take a cell each, at the left.
func Sparkline(t ui.Theme, values []float64, scale ui.Range, w int) string {
	if w < 1 {
		return ""
	}
	columns := resample(values, w)
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, v := range columns {
		if usable(v) {
			lo, hi = math.Min(lo, v), math.Max(hi, v)
		}
	}
	if usable(scale.Lo) {
		lo = scale.Lo
	}
	if usable(scale.Hi) {
		hi = scale.Hi
	}
	var b strings.Builder
	for _, v := range columns {
		b.WriteString(level(t, v, lo, hi))
	}
	return b.String() + strings.Repeat(" ", w-len(columns))
}

// level returns the glyph of a value.
func level(t ui.Theme, v, lo, hi float64) string {
	steps := t.Glyphs.Spark
	switch {
	case !usable(v):
		return " "
	case !(hi > lo):
		return steps[len(steps)/2]
	}
	i := int(math.Floor((v - lo) / (hi - lo) * float64(len(steps))))
	return steps[max(0, min(i, len(steps)-1))]
}

// resample returns at most w values: the means of as many equal stretches. A stretch without any value is NaN.
func resample(values []float64, w int) []float64 {
	if len(values) <= w {
		return values
	}
	out := make([]float64, w)
	for i := range out {
		sum, n := 0.0, 0
		for _, v := range values[i*len(values)/w : (i+1)*len(values)/w] {
			if usable(v) {
				sum, n = sum+v, n+1
			}
		}
		out[i] = math.NaN()
		if n > 0 {
			out[i] = sum / float64(n)
		}
	}
	return out
}
