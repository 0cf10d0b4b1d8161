package weekview

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/week"
	"example.org/headpond/tui/ui/text"
)

// step is the last digit that a number with a range deserves; the review's sentences round by the same rule.
func step(r week.Range) float64 { return r.Step() }

// rounded writes a number to a step of 0.1, 1, 10 and so on, never as minus zero.
func rounded(v, step float64) string { return week.Rounded(v, step) }

// estimate is a number with its unit and its range: "810 kWh (790 to 830)"; without the range where both ends read alike.
func estimate(r week.Range, unit string) string { return estimateTo(r, r.Step(), unit) }

// energy is one of a period's or a day's energies, in digits that go with what was generated.
func energy(e week.Energy, r week.Range) string { return estimateTo(r, e.StepOf(r), "kWh") }

// estimateTo is an estimate to a step that something else asks for.
func estimateTo(r week.Range, step float64, unit string) string {
	if !r.Known() {
		return "not known"
	}
	value, low, high := r.FiguresTo(step)
	out := value + text.NBSP + unit
	if low != "" {
		out += " (" + low + text.NBSP + "to" + text.NBSP + high + ")"
	}
	return out
}

// percent is a share in per cent. It says 100 and 0 only where that is so: nine minutes out of band in a week are not none.
func percent(share float64) string {
	switch v := 100 * share; {
	case math.IsNaN(v):
		return ""
	case v > 0 && v < 1:
		return "< 1" + text.NBSP + "%"
	case v > 99 && v < 100:
		return "> 99" + text.NBSP + "%"
	default:
		return fmt.Sprintf("%.0f%s%%", v, text.NBSP)
	}
}

// hours is a length of time in hours: to a tenth within a day.
func hours(h float64) string {
	if h < 23.95 && math.Abs(h-math.Round(h)) > 0.05 {
		return fmt.Sprintf("%.1f%sh", h, text.NBSP)
	}
	return fmt.Sprintf("%.0f%sh", h, text.NBSP)
}

// reading is a value as it was read, with its unit.
func (p page) reading(k quantity.Key, v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "not known"
	}
	info, ok := quantity.Lookup(k.Name())
	if !ok {
		return strconv.FormatFloat(v, 'g', 4, 64)
	}
	return strings.TrimRight(info.Show(v, p.common.Units)+text.NBSP+string(info.ShowUnit(p.common.Units)), text.NBSP)
}

// power is an estimated power.
func power(kw float64) string { return rounded(kw, 0.1) + text.NBSP + "kW" }

// shown is a value as a number in the unit that is shown, for a chart.
func (p page) shown(n quantity.Name, v float64) float64 {
	info, _ := quantity.Lookup(n)
	_, _, factor, offset := p.common.Units.Shown(info.Unit, info.Digits)
	return (v - offset) / factor
}

// unitOf is the unit in which a quantity is shown.
func (p page) unitOf(n quantity.Name) string {
	info, _ := quantity.Lookup(n)
	return string(info.ShowUnit(p.common.Units))
}

// clock is a time on the plant's clock, with the year where it is not the present one.
func (p page) clock(t time.Time) string { return p.layout(t, "Mon 2 Jan 15:04") }

// day is the day of a time.
func (p page) day(t time.Time) string { return p.layout(t, "Mon 2 Jan") }

func (p page) layout(t time.Time, layout string) string {
	if p.otherYear(t) {
		layout = dated(layout)
	}
	return p.common.Local(t).Format(layout)
}

// otherYear reports whether a time is not of the present year, by the clock: a page is read again later, and beside others.
func (p page) otherYear(t time.Time) bool {
	return p.common.Local(t).Year() != p.common.Local(p.common.Now()).Year()
}

// dated is a layout with the year in it.
func dated(layout string) string { return strings.Replace(layout, "2 Jan", "2 Jan 2006", 1) }

// bounds are the period's two ends. At least one has its year where it is filed; a week of this year that is not needs none.
func (p page) bounds(filed bool) (from, to string) {
	r := p.report.Review
	const layout = "Mon 2 Jan 15:04"
	from, to = p.clock(r.From), p.clock(r.To)
	split := p.common.Local(r.From).Year() != p.common.Local(r.To).Year()
	if split {
		from = p.common.Local(r.From).Format(dated(layout))
	}
	if split || filed || r.Span != week.Week {
		to = p.common.Local(r.To).Format(dated(layout))
	}
	return from, to
}

// label names a reading in the midst of a sentence.
func label(k quantity.Key) string { return lower(assess.LabelOf(k)) }

// lower makes the first letter of a word small, but not that of "E1" or "A: voltage".
func lower(s string) string {
	if len(s) < 2 || s[0] < 'A' || s[0] > 'Z' || s[1] < 'a' || s[1] > 'z' {
		return s
	}
	return string(s[0]-'A'+'a') + s[1:]
}

func upper(s string) string {
	if s == "" || s[0] < 'a' || s[0] > 'z' {
		return s
	}
	return string(s[0]-'a'+'A') + s[1:]
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// count is a number of things: "no trip", "1 trip", "3 trips".
func count(n int, one, many string) string {
	if n == 0 {
		return "no " + one
	}
	return fmt.Sprintf("%d%s%s", n, text.NBSP, plural(n, one, many))
}
