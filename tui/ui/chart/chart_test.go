package chart_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/exp/golden"
	"pgregory.net/rapid"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/chart"
	"example.org/headpond/tui/ui/uitest"
)

// halifax is the demo plant's zone. Its clocks went forward on 2026-03-08 at 02:00 and go back on 2026-11-01 at 02:00.
func halifax(tb testing.TB) *time.Location {
	tb.Helper()
	loc, err := time.LoadLocation("America/Halifax")
	if err != nil {
		tb.Skipf("this machine has no time zones: %v", err)
	}
	return loc
}

// water is a dry spell: levels twice a day with a week not read, and a forecast's fan.
func water(loc *time.Location) chart.Chart {
	now := time.Date(2026, 8, 14, 7, 30, 0, 0, loc)
	level := chart.Series{Name: "level", Gap: 36 * time.Hour}
	for i := range 60 {
		if i > 20 && i < 35 {
			continue
		}
		level.Points = append(level.Points, chart.Point{At: now.Add(time.Duration(i-60) * 12 * time.Hour), Value: -0.1 - 0.006*float64(i) + 0.03*math.Sin(float64(i)/5)})
	}
	fan, mid := chart.Band{Name: "p10 to p90"}, chart.Series{Name: "p50"}
	for d := range 40 {
		at, m := now.AddDate(0, 0, d), -0.45-0.01*float64(d)
		fan.Points = append(fan.Points, chart.BandPoint{At: at, Low: m - 0.006*float64(d), High: m + 0.008*float64(d)})
		mid.Points = append(mid.Points, chart.Point{At: at, Value: m})
	}
	return chart.Chart{
		Series: []chart.Series{level, mid}, Bands: []chart.Band{fan}, Unit: "m", Location: loc, Now: now,
		Limits: []chart.Limit{{Name: "stop", Value: -0.85, State: ui.Out}, {Name: "crest", Value: 0.1}},
	}
}

// volts is a day of readings with one missing and a spike.
func volts(loc *time.Location) chart.Chart {
	start := time.Date(2026, 8, 13, 5, 0, 0, 0, loc)
	var s chart.Series
	for i := range 40 {
		v := 240 + 4*math.Sin(float64(i)/3)
		switch i {
		case 15:
			v = math.NaN()
		case 25:
			v = 259
		}
		s.Points = append(s.Points, chart.Point{At: start.Add(time.Duration(i) * 40 * time.Minute), Value: v})
	}
	return chart.Chart{
		Series: []chart.Series{s}, Unit: "V", Location: loc, Cursor: s.Points[25].At,
		Limits: []chart.Limit{{Name: "high", Value: 252, State: ui.Near}, {Name: "low", Value: 228, State: ui.Near}},
	}
}

// power is used and dumped power, stacked.
func power(loc *time.Location) chart.Chart {
	start := time.Date(2026, 8, 10, 0, 0, 0, 0, loc)
	used, dumped := chart.Band{Name: "used", Fill: chart.Solid}, chart.Band{Name: "dumped", Fill: chart.Medium}
	for i := range 29 {
		at, u := start.Add(time.Duration(i)*6*time.Hour), 3+2*math.Sin(float64(i))
		used.Points = append(used.Points, chart.BandPoint{At: at, Low: 0, High: u})
		dumped.Points = append(dumped.Points, chart.BandPoint{At: at, Low: u, High: 5.8})
	}
	return chart.Chart{Bands: []chart.Band{dumped, used}, Unit: "kW", Location: loc, Lo: 0, Hi: 7}
}

// pressure is three days of a screen that clogs, cleared once, with a gap, readings that call for attention, and the cursor on one.
func pressure(loc *time.Location) chart.Chart {
	start := time.Date(2026, 8, 10, 6, 0, 0, 0, loc)
	c := chart.Chart{Unit: "kPa", Location: loc, Events: []chart.Event{{At: start.Add(31 * time.Hour), Sign: 'c', Name: "screen cleared"}}}
	s := chart.Series{Name: "intake pressure", Gap: 14 * time.Hour}
	for i := range 12 {
		at, v := start.Add(time.Duration(i)*6*time.Hour), 131-1.5*float64(i%6)
		if i == 8 || i == 9 {
			continue
		}
		s.Points = append(s.Points, chart.Point{At: at, Value: v})
		if v < 126 {
			c.Flags = append(c.Flags, chart.Flag{At: at, Value: v, State: ui.Near})
		}
	}
	c.Series, c.Cursor = []chart.Series{s}, s.Points[3].At
	return c
}

func TestChartView(t *testing.T) {
	loc := halifax(t)
	for look, l := range uitest.Looks() {
		for name, c := range map[string]chart.Chart{"water": water(loc), "volts": volts(loc), "power": power(loc), "pressure": pressure(loc), "empty": {Empty: "No level was read yet."}} {
			for size, wh := range map[string][2]int{"100x20": {100, 20}, "60x12": {60, 12}, "30x6": {30, 6}, "9x3": {9, 3}} {
				t.Run(look+"/"+name+"/"+size, func(t *testing.T) {
					golden.RequireEqual(t, []byte(c.View(uitest.Theme(l), wh[0], wh[1])))
				})
			}
		}
	}
}

// anyChart draws charts from values and times as bad as they come.
func anyChart() *rapid.Generator[chart.Chart] {
	value := rapid.OneOf(rapid.Float64Range(-300, 300), rapid.Float64(),
		rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, math.MaxFloat64, 5e-324, 1e99}))
	base := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	instant := rapid.OneOf(
		rapid.Custom(func(t *rapid.T) time.Time {
			return base.Add(time.Duration(rapid.IntRange(-1e6, 1e6).Draw(t, "min")) * time.Minute)
		}),
		rapid.Custom(func(t *rapid.T) time.Time { return base.Add(time.Duration(rapid.Int64().Draw(t, "ns"))) }),
		rapid.SampledFrom([]time.Time{{}, base, time.Unix(1<<40, 0), time.Unix(-1<<40, 0), time.Date(9999, 12, 31, 23, 0, 0, 0, time.UTC), time.Date(1, 1, 1, 0, 0, 1, 0, time.UTC)}),
	)
	return rapid.Custom(func(t *rapid.T) chart.Chart {
		c := chart.Chart{Unit: "V", From: instant.Draw(t, "from"), To: instant.Draw(t, "to"), Now: instant.Draw(t, "now"), Cursor: instant.Draw(t, "cursor")}
		if rapid.Bool().Draw(t, "by data") {
			c.From, c.To = time.Time{}, time.Time{}
		}
		c.Lo, c.Hi = value.Draw(t, "lo"), value.Draw(t, "hi")
		for range rapid.IntRange(0, 5).Draw(t, "series") {
			s := chart.Series{Name: rapid.String().Draw(t, "name"), Gap: time.Duration(rapid.Int64().Draw(t, "gap"))}
			for range rapid.IntRange(0, 12).Draw(t, "n") {
				s.Points = append(s.Points, chart.Point{At: instant.Draw(t, "at"), Value: value.Draw(t, "v")})
			}
			c.Series = append(c.Series, s)
		}
		for range rapid.IntRange(0, 2).Draw(t, "bands") {
			b := chart.Band{Fill: chart.Fill(rapid.IntRange(0, 2).Draw(t, "fill"))}
			for range rapid.IntRange(0, 8).Draw(t, "n") {
				b.Points = append(b.Points, chart.BandPoint{At: instant.Draw(t, "at"), Low: value.Draw(t, "low"), High: value.Draw(t, "high")})
			}
			c.Bands = append(c.Bands, b)
		}
		for i := range c.Bands {
			c.Bands[i].Gap = time.Duration(rapid.Int64().Draw(t, "band gap"))
		}
		for range rapid.IntRange(0, 2).Draw(t, "events") {
			c.Events = append(c.Events, chart.Event{At: instant.Draw(t, "at"), Sign: rapid.Rune().Draw(t, "sign"), Name: rapid.String().Draw(t, "what")})
			c.Flags = append(c.Flags, chart.Flag{At: instant.Draw(t, "at"), Value: value.Draw(t, "v"), State: ui.State(rapid.IntRange(0, 3).Draw(t, "state"))})
		}
		for range rapid.IntRange(0, 2).Draw(t, "limits") {
			c.Limits = append(c.Limits, chart.Limit{Name: rapid.String().Draw(t, "limit"), Value: value.Draw(t, "at")})
		}
		return c
	})
}

func TestAnyChartAtAnySizeFillsItsRoom(t *testing.T) {
	looks := []ui.Theme{uitest.Theme(uitest.Look{Color: true}), uitest.Theme(uitest.Look{ASCII: true})}
	rapid.Check(t, func(t *rapid.T) {
		c := anyChart().Draw(t, "chart")
		w, h := rapid.IntRange(1, 130).Draw(t, "w"), rapid.IntRange(1, 40).Draw(t, "h")
		for _, th := range looks {
			view := c.View(th, w, h)
			if err := uitest.Fits(view, w, h); err != nil {
				t.Fatal(err)
			}
			if n := strings.Count(view, "\n") + 1; n != h {
				t.Fatalf("%d lines, want %d:\n%s", n, h, view)
			}
			if th.ASCII {
				for _, r := range ui.Clamp(th, view, w, h) {
					if r > 0x7e {
						t.Fatalf("%q in an ASCII chart", r)
					}
				}
			}
		}
		if v := c.View(looks[0], 0, h) + c.View(looks[0], w, 0) + c.View(looks[0], -1, -1); v != "" {
			t.Fatalf("without room it draws %q", v)
		}
		c.Cursor = c.Step(c.Cursor, rapid.IntRange(-3, 3).Draw(t, "step"))
		if err := uitest.Fits(c.View(looks[0], w, h), w, h); err != nil {
			t.Fatalf("with the cursor on a reading: %v", err)
		}
	})
}

// plainRows draws a chart in ASCII without axes and returns its rows.
func plainRows(c chart.Chart, w, h int) []string {
	return strings.Split(c.View(uitest.Theme(uitest.Look{ASCII: true}), w, h), "\n")
}

func at(minute int) time.Time { return time.Date(2026, 8, 14, 0, minute, 0, 0, time.UTC) }

func TestReadingsStandWhereTheyBelong(t *testing.T) {
	// A straight line from 0 to 3 over 3 minutes in 4 by 4 cells is the diagonal.
	c := chart.Chart{Lo: 0, Hi: 3, Series: []chart.Series{{Points: []chart.Point{{at(0), 0}, {at(3), 3}}}}}
	want := []string{"   o", "  o ", " o  ", "o   "}
	if got := plainRows(c, 4, 4); strings.Join(got, "|") != strings.Join(want, "|") {
		t.Errorf("drawn %q, want %q", got, want)
	}
}

func TestMissingReadingsBreakTheLine(t *testing.T) {
	points := []chart.Point{{at(0), 1}, {at(1), 1}, {at(2), 1}, {at(3), 1}, {at(4), 1}, {at(5), 1}, {at(6), 1}, {at(7), 1}}
	cases := []struct {
		name  string
		spoil func([]chart.Point) []chart.Point
		gap   time.Duration
		want  string
	}{
		{"none missing", func(p []chart.Point) []chart.Point { return p }, 0, "oooooooo"},
		{"NaN", func(p []chart.Point) []chart.Point { p[3].Value = math.NaN(); return p }, 0, "ooo oooo"},
		{"infinite", func(p []chart.Point) []chart.Point { p[3].Value, p[4].Value = math.Inf(1), math.Inf(-1); return p }, 0, "ooo  ooo"},
		{"beyond reckoning", func(p []chart.Point) []chart.Point { p[3].Value = 1e300; return p }, 0, "ooo oooo"},
		{"not written, gap allowed", func(p []chart.Point) []chart.Point { return append(p[:2:2], p[5:]...) }, 0, "oooooooo"},
		{"not written, gap too long", func(p []chart.Point) []chart.Point { return append(p[:2:2], p[5:]...) }, 90 * time.Second, "oo   ooo"},
		{"one alone between gaps", func(p []chart.Point) []chart.Point { return append(p[:1:1], p[4], p[7]) }, time.Minute, "o   o  o"},
		{"out of order", func(p []chart.Point) []chart.Point { p[0], p[7] = p[7], p[0]; return p }, time.Minute, "oooooooo"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := chart.Series{Points: c.spoil(append([]chart.Point(nil), points...)), Gap: c.gap}
			got := plainRows(chart.Chart{Lo: 0, Hi: 2, From: at(0), To: at(7), Series: []chart.Series{s}}, 8, 1)
			if got[0] != c.want {
				t.Errorf("drawn %q, want %q", got[0], c.want)
			}
		})
	}
}

func TestASortedCopyIsDrawnNotTheCallersSlice(t *testing.T) {
	points := []chart.Point{{at(3), 1}, {at(0), 2}}
	plainRows(chart.Chart{Series: []chart.Series{{Points: points}}}, 20, 8)
	if !points[0].At.Equal(at(3)) {
		t.Error("drawing put the caller's points in order")
	}
}

func TestReadingsBeyondTheScaleAreCutOffNotMoved(t *testing.T) {
	// From 0 up to 100 on a scale to 3: the line leaves through the top at once and does not come back.
	c := chart.Chart{Lo: 0, Hi: 3, Series: []chart.Series{{Points: []chart.Point{{at(0), 0}, {at(1), 100}, {at(2), 100}, {at(3), 0}}}}}
	got := plainRows(c, 40, 4)
	for _, row := range got {
		if strings.Trim(row[3:36], " ") != "" {
			t.Errorf("something stands inside in %q", got)
		}
	}
}

func TestReadingsOutsideTheTimeShownAreNotDrawn(t *testing.T) {
	// Steep lines lead in from just before the time shown and out just after it; within it the level is 1.
	just := 10 * time.Second
	points := []chart.Point{{at(0).Add(-just), 3}, {at(0), 1}, {at(7), 1}, {at(7).Add(just), 3}}
	got := plainRows(chart.Chart{Lo: 0, Hi: 3, From: at(0), To: at(7), Series: []chart.Series{{Points: points}}}, 8, 4)
	if want := "        |        |oooooooo|        "; strings.Join(got, "|") != want {
		t.Errorf("drawn %q, want %q", strings.Join(got, "|"), want)
	}
}

func TestStackedAreasFillBetweenTheirLines(t *testing.T) {
	used := chart.Band{Fill: chart.Solid, Points: []chart.BandPoint{{at(0), 0, 2}, {at(3), 0, 2}}}
	dumped := chart.Band{Fill: chart.Medium, Points: []chart.BandPoint{{at(0), 2, 4}, {at(3), 2, 4}}}
	got := plainRows(chart.Chart{Lo: 0, Hi: 4, Bands: []chart.Band{dumped, used}}, 4, 4)
	if strings.Join(got, "|") != "::::|::::|####|####" && strings.Join(got, "|") != "::::|####|####|####" {
		t.Errorf("drawn %q", got)
	}
}

func TestSeriesAreToldApartWithoutColour(t *testing.T) {
	var c chart.Chart
	for i := range 4 {
		c.Series = append(c.Series, chart.Series{Name: fmt.Sprintf("unit %c", 'A'+i), Points: []chart.Point{{at(0), float64(i)}, {at(600), float64(i)}}})
	}
	for _, l := range []uitest.Look{{}, {ASCII: true}} {
		view := c.View(uitest.Theme(l), 80, 20)
		plot := view[strings.Index(view, "\n"):]
		for i, mark := range []string{"o", "x", "+", "*"} {
			if !strings.Contains(view, fmt.Sprintf("%s unit %c", mark, 'A'+i)) {
				t.Errorf("legend without %q:\n%s", mark, view)
			}
			if mark != "+" && !strings.Contains(plot, mark) {
				t.Errorf("plot without %q:\n%s", mark, plot)
			}
		}
	}
}

// benchmarkChart measures a chart of 120 by 30 cells; the aim is 2 ms.
func benchmarkChart(b *testing.B, c chart.Chart, look uitest.Look) {
	th := uitest.Theme(look)
	for b.Loop() {
		c.View(th, 120, 30)
	}
}

func BenchmarkChart120x30Water(b *testing.B) {
	benchmarkChart(b, water(time.UTC), uitest.Look{Color: true})
}
func BenchmarkChart120x30Power(b *testing.B) {
	benchmarkChart(b, power(time.UTC), uitest.Look{Color: true})
}
func BenchmarkChart120x30ASCII(b *testing.B) {
	benchmarkChart(b, water(time.UTC), uitest.Look{ASCII: true})
}

func BenchmarkChart120x30TenYears(b *testing.B) {
	start := time.Date(2016, 1, 1, 0, 0, 0, 0, time.UTC)
	var s chart.Series
	for i := range 10950 {
		s.Points = append(s.Points, chart.Point{At: start.Add(time.Duration(i) * 8 * time.Hour), Value: 240 + 10*math.Sin(float64(i))})
	}
	benchmarkChart(b, chart.Chart{Series: []chart.Series{s}, Unit: "V"}, uitest.Look{Color: true})
}

// Each of these once made a loop without end, or would make the chart library's own charts hang or panic.
func TestValuesThatOverflowTheScaleStillDraw(t *testing.T) {
	ends := []chart.Point{{at(0), 1}, {at(1), 2}}
	cases := map[string]chart.Chart{
		"smallest scale":        {Lo: 0, Hi: 5e-324, Series: []chart.Series{{Points: ends}}},
		"equal to the last bit": {Lo: 1, Hi: math.Nextafter(1, 2), Series: []chart.Series{{Points: ends}}},
		"band far outside":      {Lo: 0, Hi: 1, Bands: []chart.Band{{Points: []chart.BandPoint{{at(0), -1e99, 1e99}, {at(1), 1e99, 9e99}}}}},
		"series far outside":    {Lo: 0, Hi: 1e-3, Series: []chart.Series{{Points: []chart.Point{{at(0), -9e99}, {at(1), 9e99}}}}},
		"one nanosecond":        {From: at(0), To: at(0).Add(1), Series: []chart.Series{{Points: ends}}},
		"ends the wrong way":    {From: at(1), To: at(0), Series: []chart.Series{{Points: ends}}},
		"only NaN":              {Series: []chart.Series{{Points: []chart.Point{{at(0), math.NaN()}, {at(1), math.NaN()}}}}},
		"only infinities":       {Series: []chart.Series{{Points: []chart.Point{{at(0), math.Inf(1)}, {at(1), math.Inf(-1)}}}}},
	}
	for name, c := range cases {
		for _, l := range []uitest.Look{{}, {ASCII: true}} {
			for _, wh := range [][2]int{{1, 1}, {2, 1}, {1, 9}, {80, 1}, {80, 24}} {
				if err := uitest.Fits(c.View(uitest.Theme(l), wh[0], wh[1]), wh[0], wh[1]); err != nil {
					t.Errorf("%s: %v", name, err)
				}
			}
		}
	}
}
