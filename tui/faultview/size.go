package faultview

import (
	"fmt"
	"math"
	"strings"

	"example.org/headpond/model/faults"
	"example.org/headpond/model/quantity"
	"example.org/headpond/tui/ui/text"
)

// size says how far a cause goes, in the plant's units; "" where it has no size.
func (p page) size(c faults.Cause) string {
	s := c.Size
	words := ""
	switch {
	case s.ScreenOpen != nil:
		words = "about " + share(*s.ScreenOpen) + " of it clear"
	case s.ValveK != nil:
		words = "loss coefficient about " + digits(*s.ValveK)
	case s.LossM != nil:
		words = "takes about " + p.estimate(quantity.PondLevelM, *s.LossM) + " of head"
	case s.LeakLps != nil:
		words = "about " + p.estimate(quantity.FlowLps, *s.LeakLps)
	case s.EfficiencyShare != nil:
		words = "about " + share(*s.EfficiencyShare) + " of its power left"
	case s.SlipShare != nil:
		words = "about " + share(*s.SlipShare) + " slip"
	case s.LostKW != nil:
		words = fmt.Sprintf("%s (%s)", text.Show(s.Element), p.estimate(quantity.KW, *s.LostKW))
	case s.OverKW != nil && c.Probability >= listedFrom:
		words = amount(*s.OverKW, "too much", "to spare", p)
	case s.ShortKW != nil && c.Probability >= listedFrom:
		words = amount(*s.ShortKW, "too little", "to spare", p)
	case s.Volts != nil:
		words = "holds " + p.estimate(quantity.Volts, *s.Volts)
	case s.Hertz != nil:
		words = "holds " + p.estimate(quantity.Hertz, *s.Hertz)
	case s.OffsetKPa != nil:
		words = offset(*s.OffsetKPa, p.estimate(quantity.PressureKPa, math.Abs(*s.OffsetKPa)))
	case s.OffsetM != nil:
		words = offset(*s.OffsetM, p.estimate(quantity.PondLevelM, math.Abs(*s.OffsetM)))
	case s.LevelM != nil:
		words = "stands at " + p.estimate(quantity.PondLevelM, *s.LevelM)
	case s.RiseC != nil:
		words = "about " + p.rise(*s.RiseC) + " above its usual"
	case s.SpreadHertz != nil:
		words = "wanders by about " + p.estimate(quantity.Hertz, *s.SpreadHertz)
	}
	return where(words, s)
}

// within says how well a size is known; "" where it is not known or no wider than what is shown.
func (p page) within(r *faults.SizeRange) string {
	if r == nil {
		return ""
	}
	number, words, tail := p.number(r.Low, r.High)
	if number == nil {
		return ""
	}
	lo, hi := *number(r.Low), *number(r.High)
	if math.Abs(lo) > math.Abs(hi) {
		lo, hi = hi, lo
	}
	from, to := words(math.Abs(lo)), words(math.Abs(hi))
	if from == to {
		return ""
	}
	return "Four times in five between " + from + " and " + to + tail + "."
}

// number picks the number that both sizes have, how it is shown, and what is said after it.
func (p page) number(low, high faults.Size) (get func(faults.Size) *float64, words func(float64) string, tail string) {
	in := func(n quantity.Name) func(float64) string { return func(v float64) string { return p.estimate(n, v) } }
	rows := []struct {
		get   func(faults.Size) *float64
		words func(float64) string
		tail  string
	}{
		{func(s faults.Size) *float64 { return s.ScreenOpen }, share, " of it clear"},
		{func(s faults.Size) *float64 { return s.ValveK }, digits, ""},
		{func(s faults.Size) *float64 { return s.LossM }, in(quantity.PondLevelM), " of head"},
		{func(s faults.Size) *float64 { return s.LeakLps }, in(quantity.FlowLps), ""},
		{func(s faults.Size) *float64 { return s.EfficiencyShare }, share, " of its power left"},
		{func(s faults.Size) *float64 { return s.SlipShare }, share, " slip"},
		{func(s faults.Size) *float64 { return s.Volts }, in(quantity.Volts), ""},
		{func(s faults.Size) *float64 { return s.Hertz }, in(quantity.Hertz), ""},
		{func(s faults.Size) *float64 { return s.OffsetKPa }, in(quantity.PressureKPa), ""},
		{func(s faults.Size) *float64 { return s.OffsetM }, in(quantity.PondLevelM), ""},
		{func(s faults.Size) *float64 { return s.RiseC }, p.rise, ""},
		{func(s faults.Size) *float64 { return s.SpreadHertz }, in(quantity.Hertz), ""},
	}
	for _, r := range rows {
		if r.get(low) != nil && r.get(high) != nil {
			return r.get, r.words, r.tail
		}
	}
	return nil, nil, ""
}

// where adds the part of the plant that is meant, where it has several.
func where(words string, s faults.Size) string {
	var parts []string
	if s.Unit != "" {
		parts = append(parts, "unit "+text.Show(s.Unit))
	}
	if s.Penstock != "" {
		parts = append(parts, "penstock "+text.Show(s.Penstock))
	}
	if s.Gauge != "" {
		parts = append(parts, text.Show(s.Gauge))
	}
	if words != "" {
		parts = append(parts, words)
	}
	return strings.Join(parts, ", ")
}

func (p page) estimate(n quantity.Name, v float64) string {
	info, _ := quantity.Lookup(n)
	return info.ShowEstimate(v, p.common.Units) + text.NBSP + string(info.ShowUnit(p.common.Units))
}

// rise is a difference of temperature, which has no zero that moves with the unit: 18 K are 32 °F.
func (p page) rise(kelvin float64) string {
	if p.common.Units == quantity.US {
		return fmt.Sprintf("%.0f%s%s", 1.8*kelvin, text.NBSP, quantity.Fahrenheit)
	}
	return fmt.Sprintf("%.0f%sK", kelvin, text.NBSP)
}

// share is a share of one, in per cent: with a decimal below 10.
func share(v float64) string {
	if v < 0.1 {
		return fmt.Sprintf("%.1f%s%%", 100*v, text.NBSP)
	}
	return fmt.Sprintf("%.0f%s%%", 100*v, text.NBSP)
}

// digits shows two of them.
func digits(v float64) string {
	if v >= 10 {
		return fmt.Sprintf("%.0f", v)
	}
	return fmt.Sprintf("%.1f", v)
}

func offset(v float64, shown string) string {
	if v < 0 {
		return "shows " + shown + " too little"
	}
	return "shows " + shown + " too much"
}

func amount(v float64, above, below string, p page) string {
	if v < 0 {
		return p.estimate(quantity.KW, -v) + " " + below
	}
	return p.estimate(quantity.KW, v) + " " + above
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

func upper(s string) string {
	if s == "" || s[0] < 'a' || s[0] > 'z' {
		return s
	}
	return string(s[0]-'a'+'A') + s[1:]
}

func lowerFirst(s string) string {
	if s == "" || s[0] < 'A' || s[0] > 'Z' {
		return s
	}
	return string(s[0]-'A'+'a') + s[1:]
}
