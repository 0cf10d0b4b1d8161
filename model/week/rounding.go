package week

import (
	"math"
	"strconv"
	"strings"
)

// Step is the last digit that a number with a range deserves: that of half the range's width, and for an exact one, a meter's,
// that of a thousandth of it; never finer than 0.1. Sentences and tables round by this one rule, so that one number never reads
// like two.
func (r Range) Step() float64 {
	half := math.Max((r.High-r.Low)/2, math.Abs(r.Value)/1000)
	if !(half > 0) || math.IsInf(half, 0) {
		return 0.1
	}
	return math.Max(0.1, math.Pow(10, math.Floor(math.Log10(half))))
}

// Rounded writes a number to a step of 0.1, 1, 10 and so on, never as minus zero.
func Rounded(v, step float64) string {
	digits := 0
	if step < 1 {
		digits = 1
	}
	s := strconv.FormatFloat(math.Round(v/step)*step, 'f', digits, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return s
}

// Known reports whether the value is a number.
func (r Range) Known() bool { return !math.IsNaN(r.Value) && !math.IsInf(r.Value, 0) }

// Figures writes the value and both ends of its range to its step. The ends are empty where both read alike.
func (r Range) Figures() (value, low, high string) { return r.FiguresTo(r.Step()) }

// FiguresTo is Figures to a step that something else asks for.
func (r Range) FiguresTo(s float64) (value, low, high string) {
	value, low, high = Rounded(r.Value, s), Rounded(r.Low, s), Rounded(r.High, s)
	if low == high {
		low, high = "", ""
	}
	return value, low, high
}

// StepOf is the last digit in which one of these energies is written: its own, but none coarser than that of what was generated.
// Used and dumped are parts of it, and stand beside it: 30000 and 30000 of 52000 kWh would contradict each other.
func (e Energy) StepOf(r Range) float64 {
	if e.Generated == nil || !e.Generated.Known() {
		return r.Step()
	}
	return math.Min(r.Step(), e.Generated.Step())
}

// rounded is one of these energies with its unit.
func (e Energy) rounded(r Range, unit string) string {
	value, _, _ := r.FiguresTo(e.StepOf(r))
	return value + " " + unit
}

// in is the value with its unit and its range: "1000 kWh (970 to 1030)".
func (r Range) in(unit string) string {
	value, low, high := r.Figures()
	out := value + " " + unit
	if low != "" {
		out += " (" + low + " to " + high + ")"
	}
	return out
}

// rounded is the value alone with its unit.
func (r Range) rounded(unit string) string {
	value, _, _ := r.Figures()
	return value + " " + unit
}
