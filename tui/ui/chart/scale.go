package chart

import (
	"math"
	"slices"
	"strconv"
	"time"
)

// tick is a mark on an axis: where, from 0 to 1, and its label.
type tick struct {
	at    float64
	label string
	rank  int // where labels would touch, the higher stays
}

// valueTicks returns marks at round values between lo and hi, at most about most, and the digits of their labels.
func valueTicks(lo, hi float64, most int) (ticks []tick, digits int) {
	step := roundStep((hi - lo) / float64(max(1, most)))
	digits = max(0, min(9, -int(math.Floor(math.Log10(step)+1e-9))))
	first := math.Ceil(lo/step - 1e-9)
	n := int(math.Floor(hi/step+1e-9) - first)
	for i := 0; i <= min(n, most+1); i++ {
		v := (first + float64(i)) * step
		ticks = append(ticks, tick{at: (v - lo) / (hi - lo), label: number(v, digits)})
	}
	return ticks, digits
}

// roundStep returns the least of 1, 2 or 5 times a power of ten that is not below d.
func roundStep(d float64) float64 {
	if !(d > 0) || math.IsInf(d, 0) {
		return 1
	}
	base := math.Pow(10, math.Floor(math.Log10(d)))
	for _, m := range []float64{1, 2, 5} {
		if m*base >= d*(1-1e-9) {
			return m * base
		}
	}
	return 10 * base
}

// number writes a value with set digits, never as minus zero, and in powers of ten where it would be too long.
func number(v float64, digits int) string {
	if math.Abs(v) >= 1e7 {
		return strconv.FormatFloat(v, 'g', 3, 64)
	}
	s := strconv.FormatFloat(v, 'f', digits, 64)
	if v == 0 || s == strconv.FormatFloat(math.Copysign(0, -1), 'f', digits, 64) {
		return strconv.FormatFloat(0, 'f', digits, 64)
	}
	return s
}

// seconds is an instant on a straight scale. A float keeps it to better than a millisecond over any calendar's years, and
// unlike a duration cannot overflow.
func seconds(t time.Time) float64 {
	return float64(t.Unix()) + float64(t.Nanosecond())*1e-9
}

// sortedOnce sorts instants and drops repeats.
func sortedOnce(ts []time.Time) []time.Time {
	slices.SortFunc(ts, time.Time.Compare)
	return slices.CompactFunc(ts, time.Time.Equal)
}
