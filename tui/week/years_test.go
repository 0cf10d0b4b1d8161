package weekview

import (
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/week"
	"example.org/headpond/tui/ui/chart"
	"example.org/headpond/tui/ui/uitest"
)

// past is the sample as a review of six years ago, looked back at.
func past() *week.Review {
	r := sample()
	shift := func(t *time.Time) { *t = t.AddDate(-6, 0, 0) }
	shift(&r.From)
	shift(&r.To)
	for i := range r.Days {
		shift(&r.Days[i].From)
		shift(&r.Days[i].To)
	}
	for i := range r.Stops {
		shift(&r.Stops[i].Time)
	}
	for i := range r.Points {
		shift(&r.Points[i].Time)
	}
	shift(&r.Forecast.Now.Time)
	fan := r.Forecast.Facts.Ways[1].Fan
	for i := range fan {
		shift(&fan[i].Time)
	}
	known := clock
	r.KnownTo = &known
	return r
}

// A period of another year than the clock's says so wherever it tells a time; one of this year where it is filed, or where it is
// long; a week on the screen keeps its one line.
func TestThePeriodHasItsYear(t *testing.T) {
	month, year, newYear := sample(), sample(), sample()
	month.Span, year.Span = week.Month, week.Year
	year.From = year.To.AddDate(-1, 0, 0)
	newYear.From, newYear.To = time.Date(2025, 12, 28, 10, 0, 0, 0, halifax), time.Date(2026, 1, 4, 10, 0, 0, 0, halifax)
	for _, c := range []struct {
		name  string
		r     *week.Review
		filed bool
		want  string
	}{
		{"this week on the screen", sample(), false, "Week from Wed 18 Nov 10:05 to Wed 25 Nov 10:05: 13 rounds"},
		{"this week on paper", sample(), true, "Week from Wed 18 Nov 10:05 to Wed 25 Nov 2026 10:05: 13 rounds"},
		{"this month on the screen", month, false, "Month from Wed 18 Nov 10:05 to Wed 25 Nov 2026 10:05: "},
		{"this year on the screen", year, false, "Year from Tue 25 Nov 2025 10:05 to Wed 25 Nov 2026 10:05: "},
		{"over the new year", newYear, false, "Week from Sun 28 Dec 2025 10:00 to Sun 4 Jan 2026 10:00: "},
		{"long ago", past(), false, "Week from Wed 18 Nov 2020 10:05 to Wed 25 Nov 2020 10:05: "},
	} {
		p := pageOf(t, c.r)
		if got := strings.ReplaceAll(p.period(c.filed), "\u00a0", " "); !strings.HasPrefix(got, c.want) {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
	p := pageOf(t, past())
	if got := flat(p.lines(80)); !strings.Contains(got, "Mon 23 Nov 2020 17:20: trip") || !strings.Contains(got, "23 Nov 2020 108 kWh") {
		t.Errorf("the past's stops and days have no year: %s", got)
	}
	for _, l := range pageOf(t, past()).days(80) {
		if strings.Contains(l, "108 kWh") && !strings.Contains(l, "rounds") && len([]rune(l)) > 80 {
			t.Errorf("%q is too wide", l)
		}
	}
}

// Only the present is now: where a past period ends, its forecast begins at its end.
func TestThePastsEndIsNotNow(t *testing.T) {
	for _, c := range []struct {
		name        string
		r           *week.Review
		is, isNever string
	}{
		{"this week", sample(), "now", "end"},
		{"a past week", past(), "end", "now"},
	} {
		parts := PartsOf(Report{Review: c.r, Plant: ternHollow(t)}, uitest.Common(uitest.Look{}, 80, 24, clock))
		f := parts.Figures[levelChart]
		view := f.Chart.View(uitest.Theme(uitest.Look{}), 80, 12)
		lines := strings.Split(view, "\n")
		if axis := lines[len(lines)-1]; !strings.Contains(axis, c.is) || strings.Contains(axis, c.isNever) {
			t.Errorf("%s: the axis is %q", c.name, axis)
		}
		if svg := f.Chart.Draw(svgOf()); !strings.Contains(svg, ">"+c.is+"</text>") || strings.Contains(svg, ">"+c.isNever+"</text>") {
			t.Errorf("%s: the drawing does not say %s", c.name, c.is)
		}
		want := map[string]string{"now": "after now the forecast's middle", "end": "after the week's end the forecast's middle"}[c.is]
		if !strings.Contains(f.Desc, want) {
			t.Errorf("%s: %s", c.name, f.Desc)
		}
		said := map[string]string{"now": "Forecast now,", "end": "Forecast at the end,"}
		if got := flat(pageOf(t, c.r).lines(100)); !strings.Contains(got, said[c.is]) || strings.Contains(got, said[c.isNever]) {
			t.Errorf("%s: %s", c.name, got)
		}
	}
}

// What a review leaves out on purpose is said in it, on paper and on the screen, and it is called well no more than one that waits.
func TestAForecastThatWasLeftOutIsSaid(t *testing.T) {
	p := pageOf(t, sample())
	p.report.Review.Well = true
	p.report.LeftOut = true
	for _, p.text = range []bool{true, false} {
		if v := p.verdict(); !strings.HasSuffix(v.Text, "How long the water lasts was left out, as asked.") || v.State.Sign() != "" {
			t.Errorf("%v %q", v.State, v.Text)
		}
	}
	p.report.LeftOut = false
	if v := p.verdict(); strings.Contains(v.Text, "left out") {
		t.Errorf("%q", v.Text)
	}
}

func svgOf() chart.SVG { return chart.SVG{ID: "c", Title: "t", Desc: "d", W: 640, H: 240} }
