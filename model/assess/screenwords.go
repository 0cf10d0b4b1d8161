package assess

import (
	"fmt"
	"math"
	"strings"
	"time"

	"example.org/headpond/model/clearing"
	"example.org/headpond/model/quantity"
)

// ScreenLoss says what the screen loses now, how much of it is clear, and what tells: "loses 960 mm of head (940 to 980), 5.1 %
// clear (4.9 to 5.5); last told by the level difference across it, 2 h 16 min ago". Where that was long ago it begins with what was read then. It is "" where
// nothing can be told.
func ScreenLoss(f *clearing.Facts, at time.Time, s quantity.System) string {
	if f == nil || f.Now == nil {
		return ""
	}
	info, _ := quantity.Lookup(quantity.ScreenLossMM)
	loss := f.Now.LossM
	mm := func(m float64) string { return info.ShowEstimate(rounded(m, loss)*1000, s) }
	lo, mid, hi := mm(loss.P10), mm(loss.P50), mm(loss.P90)
	unit := string(info.ShowUnit(s))
	words := fmt.Sprintf("loses %s %s of head (%s to %s)", mid, unit, lo, hi)
	if lo == hi {
		words = fmt.Sprintf("loses %s %s of head", mid, unit)
	}
	if last := lastRead(f, at); last != nil {
		read := rounded(max(0, last.LossM), clearing.Range{P10: last.LowM, P90: last.HighM})
		low := rounded(loss.P10, clearing.Range{P90: loss.P10}) // its own digits: the range's are too coarse beside what was read
		return fmt.Sprintf("lost %s %s of head by %s %s ago; now perhaps %s to %s %s", info.ShowEstimate(read*1000, s), unit,
			last.From.Words(), Span(at.Sub(last.Time)), info.ShowEstimate(low*1000, s), hi, unit)
	}
	words += ", " + (&Path{Screen: &f.Now.Clear}).ScreenClear()
	if f.Seen != nil {
		words += fmt.Sprintf("; last told by %s, %s ago", f.Seen.From.Words(), Span(at.Sub(f.Seen.Time)))
	}
	return words
}

// ScreenTrend says how the loss has grown since the last clearing: "since Thu 19 Nov 08:10 it grows by 45 % a day (30 to 62), by 9
// readings". It is "" where there is no estimate.
func ScreenTrend(f *clearing.Facts, loc *time.Location) string {
	if f == nil || f.Growth == nil {
		return ""
	}
	since := f.Growth.Since
	if loc != nil {
		since = since.In(loc)
	}
	words := "since " + since.Format("Mon 2 Jan 15:04")
	if f.Growth.Readings < 2 { // one reading is a state and no trend
		return words + " too few readings to tell how it grows"
	}
	pct := func(v float64) string { return strings.Replace(fmt.Sprintf("%.0f", 100*v), "-0", "0", 1) }
	g := f.Growth.PerDay
	lo, mid, hi := pct(g.P10), pct(g.P50), pct(g.P90)
	by := fmt.Sprintf(", by %d readings", f.Growth.Readings)
	switch {
	case g.P10 < 0 && g.P90 > 0:
		return fmt.Sprintf("%s it may grow or not: between %s and %s %% a day%s", words, lo, hi, by)
	case g.P90 <= 0:
		return fmt.Sprintf("%s it does not grow%s", words, by)
	}
	return fmt.Sprintf("%s it grows by %s %% a day (%s to %s)%s", words, mid, lo, hi, by)
}

// ScreenApproach compares the velocity at the clean screen with the fish-screen guideline that goes by its open area, as
// information; the Plant screen has all published limits. It is "" where the plant describes no screen or nothing flows.
func ScreenApproach(f *clearing.Facts, s quantity.System) string {
	if f == nil {
		return ""
	}
	var limits []string
	speed := ""
	for _, a := range f.Approach {
		if !a.OpenArea {
			continue
		}
		word := "above"
		if a.Within {
			word = "within"
		}
		rule, _, _ := strings.Cut(a.Rule, " such as")
		speed = s.ShowVelocity(a.VelocityMS, 3, " ")
		limits = append(limits, fmt.Sprintf("%s the %s for %s", word, s.ShowVelocity(a.AtMostMS, 3, " "), rule))
	}
	if len(limits) == 0 {
		return ""
	}
	return fmt.Sprintf("clean, the water comes to its open area at %s, %s (fish-screen guideline, for information; source on the Plant screen)", speed, join(limits))
}

// rounded is a value with no more digits than its range deserves: to the power of ten at or below a third of its standard deviation.
func rounded(v float64, r clearing.Range) float64 {
	const tails = 2.563 // standard deviations between the points at 10 and 90 % (normal distribution)
	sd := (r.P90 - r.P10) / tails
	if !(sd > 0) {
		return v
	}
	step := math.Pow(10, math.Floor(math.Log10(sd/3)))
	return math.Round(v/step) * step
}
