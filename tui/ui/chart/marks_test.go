package chart_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/exp/golden"
	"pgregory.net/rapid"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/chart"
	"example.org/headpond/tui/ui/uitest"
)

// tameChart draws charts as a plant's log gives them: readings minutes to days apart, some missing, some areas, some limits.
func tameChart() *rapid.Generator[chart.Chart] {
	value := rapid.OneOf(rapid.Float64Range(-50, 300), rapid.Float64Range(-50, 300), rapid.Just(math.NaN()))
	return rapid.Custom(func(t *rapid.T) chart.Chart {
		c := chart.Chart{Unit: "V"}
		minute := 0
		next := func() time.Time {
			minute += rapid.IntRange(1, 3000).Draw(t, "minutes")
			return at(minute)
		}
		for range rapid.IntRange(0, 2).Draw(t, "series") {
			s := chart.Series{Name: "s", Gap: time.Duration(rapid.IntRange(0, 2000).Draw(t, "gap")) * time.Minute}
			for range rapid.IntRange(1, 15).Draw(t, "n") {
				s.Points = append(s.Points, chart.Point{At: next(), Value: value.Draw(t, "v")})
			}
			c.Series = append(c.Series, s)
			minute = 0
		}
		for i := range rapid.IntRange(0, 2).Draw(t, "bands") {
			b := chart.Band{Name: "b", Fill: chart.Fill(i), Gap: time.Duration(rapid.IntRange(0, 2000).Draw(t, "gap")) * time.Minute}
			for range rapid.IntRange(1, 15).Draw(t, "n") {
				b.Points = append(b.Points, chart.BandPoint{At: next(), Low: value.Draw(t, "low"), High: value.Draw(t, "high")})
			}
			c.Bands = append(c.Bands, b)
			minute = 0
		}
		for range rapid.IntRange(0, 2).Draw(t, "limits") {
			c.Limits = append(c.Limits, chart.Limit{Name: "limit", Value: rapid.Float64Range(-50, 300).Draw(t, "limit"), State: ui.Near})
		}
		return c
	})
}

// Wherever the cursor stands, the axis has its sign under the line, and the line runs from there to the top unless
// something of the picture stands in it.
func TestTheCursorIsAlwaysFound(t *testing.T) {
	looks := []ui.Theme{uitest.Theme(uitest.Look{}), uitest.Theme(uitest.Look{ASCII: true})}
	rapid.Check(t, func(t *rapid.T) {
		c := tameChart().Draw(t, "chart")
		times := c.Times()
		if len(times) == 0 {
			return
		}
		c.Cursor = rapid.SampledFrom(times).Draw(t, "cursor")
		w, h := rapid.IntRange(12, 130).Draw(t, "w"), rapid.IntRange(5, 40).Draw(t, "h")
		for _, th := range looks {
			lines := strings.Split(c.View(th, w, h), "\n")
			rule := []rune(lines[len(lines)-2])
			if n := strings.Count(string(rule), "^"); n != 1 {
				t.Fatalf("the axis has %d signs at %d by %d:\n%s", n, w, h, strings.Join(lines, "\n"))
			}
			x, marked := slices.Index(rule, '^'), false
			for _, l := range lines[:len(lines)-2] {
				if r := []rune(l); len(r) > x && strings.ContainsRune(th.Glyphs.Vertical+th.Glyphs.Cross, r[x]) {
					marked = true
				}
			}
			if !marked {
				t.Fatalf("nothing stands over the sign at %d by %d:\n%s", w, h, strings.Join(lines, "\n"))
			}
		}
	})
}

// The order in which readings are handed over says nothing, and drawing changes none of them.
func TestTheOrderOfReadingsDoesNotMatter(t *testing.T) {
	th := uitest.Theme(uitest.Look{})
	rapid.Check(t, func(t *rapid.T) {
		c := tameChart().Draw(t, "chart")
		want := c.View(th, 60, 14)
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		for i := range c.Series {
			c.Series[i].Points = slices.Clone(c.Series[i].Points)
			rng.Shuffle(len(c.Series[i].Points), func(a, b int) {
				p := c.Series[i].Points
				p[a], p[b] = p[b], p[a]
			})
		}
		for i := range c.Bands {
			c.Bands[i].Points = slices.Clone(c.Bands[i].Points)
			rng.Shuffle(len(c.Bands[i].Points), func(a, b int) {
				p := c.Bands[i].Points
				p[a], p[b] = p[b], p[a]
			})
		}
		if got := c.View(th, 60, 14); got != want {
			t.Fatalf("shuffled, it draws\n%s\nwant\n%s", got, want)
		}
	})
}

// What lies outside the time or the values shown leaves the picture as it is.
func TestWhatIsOutsideIsNotDrawn(t *testing.T) {
	th := uitest.Theme(uitest.Look{})
	rapid.Check(t, func(t *rapid.T) {
		c := tameChart().Draw(t, "chart")
		c.From, c.To, c.Lo, c.Hi = at(0), at(10000), -50, 300
		c.Limits = append(c.Limits, chart.Limit{Name: "drawn", Value: 200}) // so that there is something to draw
		want := c.View(th, 70, 16)
		far := rapid.SampledFrom([]time.Time{at(-1), at(10001), {}, at(-99999)}).Draw(t, "far")
		c.Flags = []chart.Flag{{At: far, Value: 100, State: ui.Out}, {At: at(50), Value: 301, State: ui.Out}, {At: at(50), Value: math.NaN(), State: ui.Out}, {At: at(50), Value: 100}}
		c.Events = []chart.Event{{At: far, Sign: 'X'}}
		c.Limits = append(c.Limits, chart.Limit{Name: "far", Value: 301}, chart.Limit{Name: "none", Value: math.NaN()})
		if got := c.View(th, 70, 16); got != want {
			t.Fatalf("drawn\n%s\nwant\n%s", got, want)
		}
	})
}

// A flag's sign stands in the column of its reading and an event's in that of its time, to the rounding of a cell.
func TestSignsStandInTheirColumns(t *testing.T) {
	th := uitest.Theme(uitest.Look{ASCII: true})
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(8, 130).Draw(t, "w"), rapid.IntRange(2, 4).Draw(t, "h") // without axes
		minute := rapid.IntRange(0, 500).Draw(t, "minute")
		c := chart.Chart{Lo: 0, Hi: 2, From: at(0), To: at(500), Series: []chart.Series{{Points: []chart.Point{{at(0), 0}, {at(500), 0}}}}}
		want := int(math.Round(float64(minute) / 500 * float64(w-1)))
		flagged, marked := c, c
		flagged.Flags = []chart.Flag{{At: at(minute), Value: 0, State: ui.Near}}
		marked.Events = []chart.Event{{At: at(minute), Sign: 'T'}}
		lines := strings.Split(flagged.View(th, w, h), "\n")
		if got := strings.Index(lines[h-1], "!"); got != want || strings.Count(strings.Join(lines, ""), "!") != 1 {
			t.Fatalf("the flag stands in column %d of %d, want %d: %q", got, w, want, lines)
		}
		lines = strings.Split(marked.View(th, w, h), "\n")
		if got := strings.Index(lines[0], "T"); got != want || strings.Count(strings.Join(lines, ""), "T") != 1 {
			t.Fatalf("the event stands in column %d of %d, want %d: %q", got, w, want, lines)
		}
	})
}

// No reading is drawn in a column that lies in a gap: a gap is a gap at every size.
func TestAGapStaysBlankAtEverySize(t *testing.T) {
	th := uitest.Theme(uitest.Look{ASCII: true})
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(20, 130).Draw(t, "w"), rapid.IntRange(1, 4).Draw(t, "h") // without axes
		gap := 10 * time.Minute
		var s chart.Series
		var b chart.Band
		for _, m := range []int{0, 5, 10, 70, 75, 80} {
			s.Points = append(s.Points, chart.Point{At: at(m), Value: 1})
			b.Points = append(b.Points, chart.BandPoint{At: at(m), Low: 0, High: 1})
		}
		s.Gap, b.Gap = gap, gap
		for _, c := range []chart.Chart{{Series: []chart.Series{s}}, {Bands: []chart.Band{b}}} {
			c.Lo, c.Hi = 0, 2
			for _, l := range strings.Split(c.View(th, w, h), "\n") {
				// Minutes 15 to 65 of 80, a column's half aside.
				from, to := int(math.Ceil(15.0/80*float64(w-1))), int(math.Floor(65.0/80*float64(w-1)))
				if strings.TrimSpace(l[from:to]) != "" {
					t.Fatalf("at %d by %d something stands in the gap: %q", w, h, l)
				}
			}
		}
	})
}

func TestTheLegendTellsWhatStandsUnderTheCursor(t *testing.T) {
	two := func(n string, lo, hi float64) chart.Band {
		return chart.Band{Name: n, Points: []chart.BandPoint{{at(0), lo, hi}, {at(60), lo, hi}}}
	}
	cases := []struct {
		name string
		c    chart.Chart
		want string
	}{
		{"a stack tells each part's own height", chart.Chart{Unit: "kW", Bands: []chart.Band{two("dumped", 4, 5.5), two("used", 0, 4)}, Lo: 0, Hi: 6}, "dumped 1.5  ⠅ used 4.0  at"},
		{"a single area tells both its ends", chart.Chart{Unit: "V", Bands: []chart.Band{two("of the day", 236, 241)}, Lo: 200, Hi: 260}, "of the day 236.0 to 241.0  at"},
		{"a fan beside a line is not told", chart.Chart{Unit: "m", Bands: []chart.Band{two("likely", 1, 2)}, Series: []chart.Series{{Name: "level", Points: []chart.Point{{at(0), 1}, {at(60), 2}}}}}, "level 2.00  ⠅ likely  at"},
		{"an area where no line has a reading is told", chart.Chart{Unit: "m", Bands: []chart.Band{two("of the day", 1, 2)}, Series: []chart.Series{{Name: "forecast", Points: []chart.Point{{at(90), 1}, {at(120), 2}}}}}, "of the day 1.00 to 2.00  at"},
		{"a cursor between readings tells its time alone", chart.Chart{Unit: "V", Series: []chart.Series{{Name: "volts", Points: []chart.Point{{at(0), 1}, {at(120), 2}}}}}, "volts  at Fri 14 Aug 01:00"},
		{"events are named once", chart.Chart{Unit: "V", Series: []chart.Series{{Name: "volts", Points: []chart.Point{{at(0), 1}, {at(120), 2}}}},
			Events: []chart.Event{{at(3), 'c', "cleared"}, {at(4), 'T', "trip\x1b[2J"}, {at(9), 'c', "cleared"}}}, `volts  c cleared  T trip\x1b[2J  at`},
	}
	for _, c := range cases {
		c.c.Cursor = at(60)
		if got := strings.SplitN(c.c.View(uitest.Theme(uitest.Look{}), 90, 12), "\n", 2)[0]; !strings.Contains(got, c.want) {
			t.Errorf("%s: %q, want %q in it", c.name, got, c.want)
		}
	}
}

func TestALegendWithoutRoomLeavesTheTimeToTheAxis(t *testing.T) {
	c := chart.Chart{Unit: "V", Series: []chart.Series{{Name: "a long name of a series", Points: []chart.Point{{at(0), 1}, {at(120), 2}}}}, Cursor: at(120)}
	th := uitest.Theme(uitest.Look{})
	for w, want := range map[int]bool{40: false, 80: true} {
		if got := strings.Contains(strings.SplitN(c.View(th, w, 12), "\n", 2)[0], "at Fri"); got != want {
			t.Errorf("at %d cells the legend has the time: %v, want %v", w, got, want)
		}
	}
}

// The figures of a week in the four looks: stacked powers with a trip between, and a voltage that leaves its bands.
func TestWeekFigures(t *testing.T) {
	loc := halifax(t)
	start := time.Date(2026, 8, 10, 7, 0, 0, 0, loc)
	used, dumped := chart.Band{Name: "used", Fill: chart.Solid, Gap: 30 * time.Hour}, chart.Band{Name: "dumped", Fill: chart.Medium, Gap: 30 * time.Hour}
	var v chart.Series
	figure := chart.Chart{Unit: "V", Location: loc, Limits: []chart.Limit{{Name: "! below", Value: 228, State: ui.Near}, {Name: "!! below", Value: 220, State: ui.Out}}}
	for i := range 14 {
		when, u := start.Add(time.Duration(i)*12*time.Hour), 3+math.Sin(float64(i))
		if i >= 6 && i < 9 {
			continue
		}
		used.Points = append(used.Points, chart.BandPoint{At: when, Low: 0, High: u})
		dumped.Points = append(dumped.Points, chart.BandPoint{At: when, Low: u, High: 5.5})
		volts := 238 - 1.5*float64(i)
		v.Points = append(v.Points, chart.Point{At: when, Value: volts})
		if volts < 228 {
			figure.Flags = append(figure.Flags, chart.Flag{At: when, Value: volts, State: ui.Near})
		}
	}
	v.Gap = 30 * time.Hour
	figure.Series, figure.Cursor = []chart.Series{v}, v.Points[2].At
	trip := []chart.Event{{At: start.Add(70 * time.Hour), Sign: 'T', Name: "trip"}}
	figure.Events = trip
	powers := chart.Chart{Unit: "kW", Location: loc, Bands: []chart.Band{dumped, used}, Lo: 0, Hi: 6, Events: trip, Cursor: used.Points[8].At}
	for look, l := range uitest.Looks() {
		for name, c := range map[string]chart.Chart{"powers": powers, "volts": figure} {
			t.Run(look+"/"+name, func(t *testing.T) { golden.RequireEqual(t, []byte(c.View(uitest.Theme(l), 70, 14))) })
		}
	}
}
