package weekview

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/week"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/chart"
	"example.org/headpond/tui/ui/uitest"
)

func pageOf(tb testing.TB, r *week.Review) page {
	tb.Helper()
	return page{report: Report{Review: r, Plant: ternHollow(tb)}, common: uitest.Common(uitest.Look{}, 80, 24, clock)}
}

func TestUsedAndDumpedStackToWhatWasGenerated(t *testing.T) {
	f := pageOf(t, sample()).figure(powerChart)
	dumped, used := f.chart.Bands[0], f.chart.Bands[1]
	if len(f.stops) != 13 || len(used.Points) != 16 || len(dumped.Points) != 16 {
		t.Fatalf("%d stops, %d and %d points; want the 13 rounds, and the trip with its two sides", len(f.stops), len(used.Points), len(dumped.Points))
	}
	for i, u := range used.Points {
		d := dumped.Points[i]
		if i == 11 {
			if !math.IsNaN(u.High) || !math.IsNaN(d.High) {
				t.Errorf("over the trip the areas go on: %v, %v", u, d)
			}
			continue
		}
		if u.Low != 0 || d.Low != u.High || math.Abs(d.High-4.5) > 1e-9 {
			t.Errorf("%v: used %v to %v, dumped on it to %v, want 4.5 kW together", u.At, u.Low, u.High, d.High)
		}
	}
}

// What the machines make breaks for as long as they stood and no longer; a pond goes on.
func TestLinesBreakAtTrips(t *testing.T) {
	for _, k := range []kind{voltsChart, hertzChart, pressureChart, levelChart} {
		s := pageOf(t, sample()).figure(k).chart.Series[0]
		breaks := 0
		for i, p := range s.Points {
			if !math.IsNaN(p.Value) {
				continue
			}
			breaks++
			before, after := s.Points[i-1], s.Points[i+1]
			if !before.At.Equal(at(23, 17, 20)) || !after.At.Equal(at(23, 17, 46)) || before.Value != s.Points[i-2].Value || after.Value != s.Points[i+2].Value {
				t.Errorf("%s is broken from %v to %v", k.title(), before, after)
			}
		}
		if want := map[bool]int{true: 0, false: 1}[k == levelChart]; breaks != want {
			t.Errorf("%s has %d breaks, want %d", k.title(), breaks, want)
		}
	}
}

// A reading that was not taken is no break by itself, but a break that lies between the rounds with a reading counts.
func TestABreakOutlivesARoundWithoutTheReading(t *testing.T) {
	r := sample()
	delete(r.Points[10].Values, "volts") // the round after the trip
	s := pageOf(t, r).figure(voltsChart).chart.Series[0]
	if i := slices.IndexFunc(s.Points, func(p chart.Point) bool { return math.IsNaN(p.Value) }); i != 11 {
		t.Errorf("the break stands at place %d of %v", i, s.Points)
	}
}

func TestOneReadingIsSeen(t *testing.T) {
	r := sample()
	r.Points, r.Forecast = r.Points[:1], nil
	for k := powerChart; k < kinds; k++ {
		f := pageOf(t, r).figure(k)
		if len(f.stops) != 1 {
			t.Fatalf("%s: %d stops", k.title(), len(f.stops))
		}
		f.chart.Limits, f.chart.Events = nil, nil
		if k != powerChart {
			f.chart.Series, f.chart.Bands = f.chart.Series[:1], nil // the forecast's line is another
		}
		view := f.chart.View(uitest.Theme(uitest.Look{ASCII: true}), 60, 4)
		if !strings.ContainsAny(view, "o#") {
			t.Errorf("%s: nothing is drawn:\n%s", k.title(), view)
		}
	}
}

func TestOutOfBandReadingsAreFlaggedAndLimitsNamed(t *testing.T) {
	f := pageOf(t, sample()).figure(voltsChart)
	if len(f.chart.Flags) != 2 || f.chart.Flags[0].State != ui.Near || f.chart.Flags[1].State != ui.Out {
		t.Errorf("flags %v", f.chart.Flags)
	}
	// The contract's built-in band: in 228 to 252 V, near 220 to 254 V.
	want := map[string]float64{"! below": 228, "!! below": 220, "! above": 252, "!! above": 254}
	if len(f.chart.Limits) != len(want) {
		t.Errorf("limits %v", f.chart.Limits)
	}
	seen := map[float64]bool{}
	for _, l := range f.chart.Limits {
		if want[l.Name] != l.Value {
			t.Errorf("limit %q at %v", l.Name, l.Value)
		}
		seen[l.Value] = true
	}
	if len(seen) != 4 {
		t.Errorf("limits %v", f.chart.Limits)
	}
}

func TestABandWithoutNearHasOneSign(t *testing.T) {
	p := pageOf(t, sample())
	p.report.Plant.Bands = []plant.Band{{Quantity: "hertz", InMin: num(59), InMax: num(61)}}
	for _, l := range p.figure(hertzChart).chart.Limits {
		if l.State != ui.Out {
			t.Errorf("beyond %v is %v, want out: there is no near", l.Value, l.State)
		}
	}
	p.report.Plant = nil
	if l := p.figure(voltsChart).chart.Limits; l != nil {
		t.Errorf("without a plant there are limits: %v", l)
	}
}

func TestUnitsWithMetersOfTheirOwnHaveLinesOfTheirOwn(t *testing.T) {
	r := sample()
	for i := range r.Points {
		delete(r.Points[i].Values, "volts")
		r.Points[i].Values["B.volts"] = 239
		if i%2 == 0 {
			r.Points[i].Values["A.volts"] = 241
		}
	}
	f := pageOf(t, r).figure(voltsChart)
	if len(f.chart.Series) != 2 || f.chart.Series[0].Name == f.chart.Series[1].Name {
		t.Fatalf("series %v", f.chart.Series)
	}
	if len(f.stops) != 13 || !slices.IsSortedFunc(f.stops, func(a, b stop) int { return a.at.Compare(b.at) }) {
		t.Errorf("%d stops, want each round once and in order", len(f.stops))
	}
	first, _, _ := pageOf(t, r).readout(f, f.stops[0])
	if !strings.Contains(first, "241 V") || !strings.Contains(first, "239 V") {
		t.Errorf("under the cursor: %s", first)
	}
}

func TestFiguresAreInTheUnitsThatAreShown(t *testing.T) {
	p := pageOf(t, sample())
	p.common.Units = quantity.US
	f := p.figure(pressureChart)
	// 131 kPa are 19.0 psi by NIST SP 811, 1 psi = 6.894757 kPa.
	if f.chart.Unit != "psi" || math.Abs(f.chart.Series[0].Points[0].Value-131/6.894757) > 1e-4 {
		t.Errorf("%v %s", f.chart.Series[0].Points[0].Value, f.chart.Unit)
	}
	first, _, _ := p.readout(f, f.stops[0])
	if !strings.Contains(strings.ReplaceAll(first, "\u00a0", " "), "19.0 psi") {
		t.Errorf("under the cursor: %s", first)
	}
}

func TestTheLevelGoesOnIntoTheForecast(t *testing.T) {
	r := sample()
	f := pageOf(t, r).figure(levelChart)
	if len(f.chart.Series) != 2 || len(f.chart.Bands) != 1 || !f.chart.Now.Equal(clock) || !f.chart.To.Equal(clock.Add(84*time.Hour)) {
		t.Errorf("%d lines, %d bands, from %v to %v", len(f.chart.Series), len(f.chart.Bands), f.chart.Now, f.chart.To)
	}
	r.Forecast.Now.Run = []string{"B"} // another way than any that was worked out
	if f = pageOf(t, r).figure(levelChart); len(f.chart.Series) != 1 || !f.chart.To.Equal(r.To) {
		t.Error("a forecast for another way of running is drawn")
	}
}

func TestTheCursorGoesOnIntoTheForecast(t *testing.T) {
	s := screen(t, uitest.Look{}, 80, 20, sample())
	s, _ = press(t, s, "c", "c", "c", "c", "c", "left")
	sees(t, s, "> Pond level", "Wed 25 Nov 07:05: pond level -0.56 m") // the first key stands on the newest reading
	s, _ = press(t, s, "right")
	// The sample's middle is -0.60 m and falls by 0.02 m a day, its ends by 0.01 m a day more or less.
	sees(t, s, "Thu 26 Nov 10:05: pond level about -0.62 m (-0.63 m to -0.61 m)", "A forecast: nine in ten")
	_, msg := press(t, s, "enter")
	if n, ok := msg.(ui.Notice); !ok || !strings.Contains(n.Text, "a forecast, which has no round") {
		t.Errorf("Enter on a forecast brings %v", msg)
	}
	s, _ = press(t, s, "end")
	sees(t, s, "Sat 28 Nov 10:05")
	s, _ = press(t, s, "c") // the next chart has no forecast: the cursor goes to its nearest reading
	sees(t, s, "> Power used and dumped", "Wed 25 Nov 07:05: used")
}

func TestClearingsStandInThePressure(t *testing.T) {
	f := pageOf(t, sample()).figure(pressureChart)
	signs := ""
	for _, e := range f.chart.Events {
		signs += string(e.Sign)
	}
	if signs != "cTS" || !f.chart.Events[0].At.Equal(at(22, 17, 45)) {
		t.Errorf("events %v", f.chart.Events)
	}
}

// anyReview spoils the sample: values that are none, parts that are missing, texts from anywhere.
func anyReview() *rapid.Generator[*week.Review] {
	value := rapid.OneOf(rapid.Float64Range(-500, 500), rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), 1e300, 0, -1e-9, 1e12}))
	return rapid.Custom(func(t *rapid.T) *week.Review {
		r := sample()
		anyRange := func(name string) *week.Range {
			if rapid.Bool().Draw(t, name+" missing") {
				return nil
			}
			return &week.Range{Value: value.Draw(t, name), Low: value.Draw(t, name), High: value.Draw(t, name)}
		}
		r.EnergyKWh = week.Energy{Generated: anyRange("generated"), Used: anyRange("used"), Dumped: anyRange("dumped")}
		r.Span = rapid.SampledFrom([]week.Span{week.Week, week.Month, week.Year}).Draw(t, "span")
		r.Verdict = rapid.String().Draw(t, "verdict")
		for i := range r.Decisions {
			r.Decisions[i].Text = rapid.String().Draw(t, "decision")
		}
		r.Decisions = r.Decisions[:rapid.IntRange(0, 4).Draw(t, "decisions")]
		if rapid.Bool().Draw(t, "bare") {
			r.Before, r.Water, r.Money, r.Payback, r.Forecast, r.Frequency, r.Permits, r.Availability, r.LoadFactor = nil, nil, nil, nil, nil, nil, nil, nil, nil
			r.States, r.Extremes, r.Days, r.Stops, r.ClearingList, r.Units, r.OwnBus, r.UpkeepDone, r.UpkeepDue = nil, nil, nil, nil, nil, nil, nil, nil, nil
		}
		r.Points = r.Points[:rapid.IntRange(0, 13).Draw(t, "rounds")]
		if rapid.Bool().Draw(t, "by days") {
			r.Points = nil
		}
		for i := range r.Points {
			for _, k := range []quantity.Key{"volts", "hertz", "pond_level_m", "B.pressure_kpa"} {
				r.Points[i].Values[k] = value.Draw(t, string(k))
			}
			r.Points[i].UsedKW = num(value.Draw(t, "used"))
		}
		for i := range r.Stops {
			r.Stops[i].Cause, r.Stops[i].Hours = rapid.String().Draw(t, "cause"), value.Draw(t, "hours")
		}
		return r
	})
}

func TestAnyReviewFitsAnyWindow(t *testing.T) {
	looks := []uitest.Look{{Color: true}, {ASCII: true}}
	empty := New(uitest.Common(uitest.Look{}, 80, 20, clock), desk.Desk{}).(Screen)
	plant := ternHollow(t)
	names := []string{"left", "right", "home", "end", "pgup", "pgdown", "c", "esc", "down", "up", "p"}
	pressed := map[string]tea.KeyMsg{}
	for _, n := range names {
		pressed[n] = uitest.Key(t, n)
	}
	rapid.Check(t, func(t *rapid.T) {
		r := anyReview().Draw(t, "review")
		w, h := rapid.IntRange(1, 200).Draw(t, "w"), rapid.IntRange(1, 60).Draw(t, "h")
		keys := rapid.SliceOfN(rapid.SampledFrom(names), 0, 8).Draw(t, "keys")
		for _, look := range looks {
			s := empty
			s.Common = uitest.Common(look, w, h, clock)
			s.report, s.w, s.h = Report{Review: r, Plant: plant}, w, h
			s = s.drawn()
			var sc ui.Screen = s
			for _, k := range keys {
				sc, _ = sc.Update(pressed[k])
			}
			if err := uitest.Fits(sc.View(), w, h); err != nil {
				t.Fatalf("after %v at %d by %d: %v", keys, w, h, err)
			}
		}
		printed := Text(Report{Review: r, Plant: plant}, uitest.Common(uitest.Look{}, w, 24, clock), w)
		for _, l := range strings.Split(strings.TrimSuffix(printed, "\n"), "\n") {
			if err := uitest.Fits(l, w, 1); err != nil {
				t.Fatalf("the text at %d: %v", w, err)
			}
		}
	})
}
