package waterview

import (
	"math"
	"strconv"
	"strings"
	"time"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/water"
	"example.org/headpond/tui/ui/text"
)

// level is a computed level with its unit.
func (p page) level(m float64) string {
	q, _ := quantity.Lookup(quantity.PondLevelM)
	return q.ShowEstimate(m, p.common.Units) + text.NBSP + string(q.ShowUnit(p.common.Units))
}

// levelRead is a level as it was read, with its own digits and without its unit.
func (p page) levelRead(m float64) string {
	q, _ := quantity.Lookup(quantity.PondLevelM)
	return q.Show(m, p.common.Units)
}

// levelShown is a level as a number in the unit that is shown, for the chart.
func (p page) levelShown(m float64) float64 {
	_, _, factor, offset := p.common.Units.Shown(quantity.Metre, 2)
	return (m - offset) / factor
}

func (p page) levelUnit() string {
	u, _, _, _ := p.common.Units.Shown(quantity.Metre, 2)
	return string(u)
}

// flow is an estimated flow, whole where it has two digits, else to a tenth; without its unit.
func (p page) flow(lps float64) string {
	digits := 0
	if math.Abs(lps) < 9.95 {
		digits = 1
	}
	return quantity.Info{Unit: quantity.LitrePerSecond, Digits: digits}.ShowEstimate(lps, p.common.Units)
}

func (p page) flowUnit() string {
	u, _, _, _ := p.common.Units.Shown(quantity.LitrePerSecond, 0)
	return text.NBSP + string(u)
}

// flowFine is a flow as it was typed.
func (p page) flowFine(lps float64) string {
	q, _ := quantity.Lookup(quantity.BypassLps)
	return q.Show(lps, p.common.Units) + p.flowUnit()
}

// about is an estimate in two digits, which is all that it deserves: "130", "4200", "5.4".
func about(v float64) string {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return "0"
	}
	p := math.Pow10(int(math.Floor(math.Log10(math.Abs(v)))) - 1)
	r := math.Round(v/p) * p
	return strconv.FormatFloat(r, 'f', max(0, min(2, -int(math.Floor(math.Log10(p)+1e-9)))), 64)
}

// aboutRange is a range of estimates: "960 to 4200", "about 130" where both ends read alike.
func aboutRange(lo, hi float64) string {
	a, b := about(lo), about(hi)
	if a == b {
		return "about " + a
	}
	return a + " to " + b
}

// wayName is a way of running in short: "A+B", "none", "A 06:00-14:30", "B + A 06:00-14:30".
func wayName(run []string, plan *water.Plan) string {
	if plan == nil {
		return record.FormatRunning(run)
	}
	part := plan.Unit + " " + plan.From + "-" + plan.To
	if len(run) == 0 {
		return part
	}
	return record.FormatRunning(run) + " + " + part
}

// wayWords is a way of running in a sentence: "A and B", "A from 06:00 to 14:30 every day".
func wayWords(run []string, plan *water.Plan) string {
	s := strings.Join(run, " and ")
	if plan == nil {
		return s
	}
	part := plan.Unit + " from " + plan.From + " to " + plan.To + " every day"
	if s == "" {
		return part
	}
	return s + " all day and " + part
}

// dayWords is a wanted date: "Fri 28 Aug", a midnight being the end of the day before; with the clock where it is not one,
// and the year where it is not this one.
func dayWords(at, now time.Time) string {
	layout := "Mon 2 Jan"
	day := at
	if h, m, s := at.Clock(); h == 0 && m == 0 && s == 0 {
		day = at.Add(-time.Minute)
	} else {
		layout += " 15:04"
	}
	if day.Year() != now.Year() {
		layout = strings.Replace(layout, "2 Jan", "2 Jan 2006", 1)
	}
	return day.Format(layout)
}

// farHours is from where a forecast of the water names no date: rain decides.
const farHours = 30 * 24

// dates is when a range of hours from now ends: "21 Aug to 3 Sep"; within two days with the clock.
func (p page) dates(h *water.Hours) string {
	if h == nil || h.P10 == nil {
		return ""
	}
	now := p.common.Local(p.facts().At)
	far := *h.P10
	if h.P90 != nil && *h.P90 <= farHours {
		far = *h.P90
	}
	layout := "2 Jan"
	switch {
	case far < 48:
		layout = "Mon 15:04"
	case now.Add(time.Duration(far*float64(time.Hour))).Year() != now.Year():
		layout = "2 Jan 2006"
	}
	at := func(hours float64) string { return now.Add(time.Duration(hours * float64(time.Hour))).Format(layout) }
	switch {
	case h.P90 == nil || *h.P90 > farHours && *h.P10 != *h.P90:
		return at(*h.P10) + " or later"
	case at(*h.P10) == at(*h.P90):
		return at(*h.P10)
	}
	return at(*h.P10) + " to " + at(*h.P90)
}
