package chart_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/charmbracelet/x/exp/golden"
	"pgregory.net/rapid"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/chart"
	"example.org/headpond/tui/ui/text"
	"example.org/headpond/tui/ui/uitest"
)

func ballastParts(used, dumped float64) []chart.Part {
	return []chart.Part{
		{Name: "used", Value: used, Shown: fmt.Sprintf("%.1f kW", used)},
		{Name: "dumped", Value: dumped, Shown: fmt.Sprintf("%.1f kW", dumped)},
		{Name: "left", Value: math.NaN(), Shown: "not known"},
	}
}

func TestBarsAndStackedBars(t *testing.T) {
	for look, l := range uitest.Looks() {
		t.Run(look, func(t *testing.T) {
			th := uitest.Theme(l)
			var b strings.Builder
			for _, w := range []int{60, 30, 12} {
				fmt.Fprintln(&b, chart.StackedBar(th, 8, w, ballastParts(4.2, 2.1)...))
				fmt.Fprintln(&b, "over:\n"+chart.StackedBar(th, 8, w, ballastParts(7, 3)...))
				fmt.Fprintln(&b, chart.Bars(th, 8, w,
					chart.Bar{Label: "E1", Value: 2, Shown: "2.0 kW"}, chart.Bar{Label: "E2, dead", Value: 0, Shown: "0 kW", State: ui.Out},
					chart.Bar{Label: "all", Value: 9.5, Shown: "9.5 kW", State: ui.Near}, chart.Bar{Label: "left", Value: -1, Shown: "-1.0 kW"},
					chart.Bar{Label: "E3", Value: math.NaN(), Shown: "not read"}))
			}
			golden.RequireEqual(t, []byte(b.String()))
		})
	}
}

func TestBarLengthsAreInProportion(t *testing.T) {
	th := uitest.Theme(uitest.Look{ASCII: true})
	// 40 cells stand for 8 kW: 4.2 kW are 21 cells, 2.1 kW are 10.5, the running sum 6.3 kW ends at 31.5.
	bar := strings.SplitN(chart.StackedBar(th, 8, 42, ballastParts(4.2, 2.1)...), "\n", 2)[0]
	if n := strings.Count(bar, "#"); n != 21 {
		t.Errorf("used has %d cells, want 21: %s", n, bar)
	}
	if n := strings.Count(bar, ":"); n != 11 && n != 10 {
		t.Errorf("dumped has %d cells, want 10 or 11: %s", n, bar)
	}
}

func TestAnyBarsFit(t *testing.T) {
	value := rapid.OneOf(rapid.Float64Range(-10, 20), rapid.Float64(), rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 0}))
	rapid.Check(t, func(t *rapid.T) {
		var parts []chart.Part
		var bars []chart.Bar
		for range rapid.IntRange(0, 6).Draw(t, "n") {
			v, s := value.Draw(t, "v"), rapid.StringN(0, 12, -1).Draw(t, "name")
			parts = append(parts, chart.Part{Name: s, Value: v, Shown: "1 kW"})
			bars = append(bars, chart.Bar{Label: s, Value: v, Shown: "1 kW"})
		}
		full, w := value.Draw(t, "full"), rapid.IntRange(1, 90).Draw(t, "w")
		for _, l := range uitest.Looks() {
			th := uitest.Theme(l)
			for _, view := range []string{chart.StackedBar(th, full, w, parts...), chart.Bars(th, full, w, bars...)} {
				if err := uitest.Fits(view, w, 20); err != nil {
					t.Fatal(err)
				}
			}
			if w >= 3 {
				if bar := strings.SplitN(chart.StackedBar(th, full, w, parts...), "\n", 2)[0]; text.Width(bar) != w {
					t.Fatalf("bar %q is %d wide, want %d", bar, text.Width(bar), w)
				}
			}
		}
	})
}

func TestSparkline(t *testing.T) {
	th, ascii, nan := uitest.Theme(uitest.Look{}), uitest.Theme(uitest.Look{ASCII: true}), math.NaN()
	cases := []struct {
		name   string
		t      ui.Theme
		values []float64
		scale  ui.Range
		w      int
		want   string
	}{
		{"from least to most", th, []float64{0, 1, 2, 3, 4, 5, 6, 7}, ui.Open(), 8, "▁▂▃▄▅▆▇█"},
		{"ASCII", ascii, []float64{0, 1, 2, 3, 4, 5, 6, 7}, ui.Open(), 8, "_.-=+*%#"},
		{"a gap is a gap", th, []float64{0, nan, 7, math.Inf(1), 7}, ui.Open(), 5, "▁ █ █"},
		{"fewer than cells", th, []float64{0, 7}, ui.Open(), 4, "▁█  "},
		{"means of stretches", th, []float64{0, 0, 7, 7, nan, nan}, ui.Open(), 3, "▁█ "},
		{"constant", th, []float64{5, 5}, ui.Open(), 2, "▅▅"},
		{"given scale", th, []float64{4, 12}, ui.Range{Lo: 0, Hi: 8}, 2, "▅█"},
		{"nothing", th, nil, ui.Open(), 3, "   "},
		{"all missing", th, []float64{nan, nan}, ui.Open(), 2, "  "},
		{"no room", th, []float64{1}, ui.Open(), 0, ""},
	}
	for _, c := range cases {
		if got := chart.Sparkline(c.t, c.values, c.scale, c.w); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

func TestSparklineHasItsWidth(t *testing.T) {
	th := uitest.Theme(uitest.Look{})
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOf(rapid.OneOf(rapid.Float64(), rapid.Just(math.NaN()), rapid.Just(math.Inf(-1)))).Draw(t, "values")
		w := rapid.IntRange(1, 60).Draw(t, "w")
		if got := chart.Sparkline(th, values, ui.Range{Lo: rapid.Float64().Draw(t, "lo"), Hi: math.NaN()}, w); text.Width(got) != w {
			t.Fatalf("%q is %d wide, want %d", got, text.Width(got), w)
		}
	})
}
