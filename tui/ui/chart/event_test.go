package chart_test

import (
	"strings"
	"testing"
	"time"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/chart"
	"example.org/headpond/tui/ui/uitest"
)

// flat is a level line at 1 from minute 0 to 7, on a scale from 0 to 3.
func flat() chart.Chart {
	return chart.Chart{Lo: 0, Hi: 3, From: at(0), To: at(7), Series: []chart.Series{{Points: []chart.Point{{at(0), 1}, {at(4), 1}, {at(7), 1}}}}}
}

func TestEventsStandAtTheirTimes(t *testing.T) {
	c := flat()
	c.Events = []chart.Event{{At: at(2), Sign: 'c', Name: "cleared"}, {At: at(5), Sign: 'é'}, {At: at(9), Sign: 'x'}, {}}
	got := strings.Join(plainRows(c, 8, 4), "/")
	if want := "  c  |  /        /oooooooo/        "; got != want {
		t.Errorf("drawn %q, want %q", got, want)
	}
}

func TestALimitsNameMakesRoomForAnEventsSign(t *testing.T) {
	c := flat()
	c.To, c.Hi = at(40), 2
	c.Events = []chart.Event{{At: at(37), Sign: 'T'}}
	c.Limits = []chart.Limit{{Name: "high", Value: 2}}
	// 41 cells for 40 minutes: the sign stands in cell 37, and "high 2" to the left of it.
	if got, want := plainRows(c, 41, 4)[0], strings.Repeat("-", 29)+" high 2 T---"; got != want {
		t.Errorf("drawn %q, want %q", got, want)
	}
}

func TestTheLegendTellsEachSignOnce(t *testing.T) {
	c := flat()
	for i := range 5 {
		c.Events = append(c.Events, chart.Event{At: at(i), Sign: 'c', Name: "screen cleared"})
	}
	view := c.View(uitest.Theme(uitest.Look{}), 60, 10)
	if n := strings.Count(view, "c screen cleared"); n != 1 {
		t.Errorf("the legend tells it %d times:\n%s", n, view)
	}
}

func TestFlagsAreSignsOverReadings(t *testing.T) {
	c := flat()
	c.Flags = []chart.Flag{{at(4), 1, ui.Near}, {at(0), 1, ui.Out}, {at(2), 1, ui.Good}, {at(7), 9, ui.Out}, {at(99), 1, ui.Out}}
	got := strings.Join(plainRows(c, 8, 4), "/")
	if want := "        /        /!!oo!ooo/        "; got != want {
		t.Errorf("drawn %q, want %q", got, want)
	}
}

func TestTheCursorIsSeenWithoutColour(t *testing.T) {
	c := flat()
	c.Cursor = at(4)
	for _, l := range []uitest.Look{{}, {ASCII: true}} {
		th := uitest.Theme(l)
		view := c.View(th, 40, 9)
		lines := strings.Split(view, "\n")
		rule := []rune(lines[len(lines)-2])
		x := strings.IndexRune(string(rule), '^')
		if x < 0 {
			t.Fatalf("no sign on the axis:\n%s", view)
		}
		x = len([]rune(string(rule)[:x]))
		crossed := false
		for _, l := range lines[1 : len(lines)-2] {
			switch r := []rune(l); string(r[x]) {
			case th.Glyphs.Vertical:
			case th.Glyphs.Cross:
				crossed = true
			default:
				t.Errorf("%q stands in the cursor's line:\n%s", r[x], view)
			}
		}
		if !crossed {
			t.Errorf("no cross on the reading:\n%s", view)
		}
	}
	c.Cursor = at(3) // on no reading: a wanted date, say
	if view := c.View(uitest.Theme(uitest.Look{}), 40, 9); strings.Contains(view, "^") {
		t.Errorf("a cursor on no reading has the sign of one that is:\n%s", view)
	}
}

func TestAreasBreakAtGapsAndASingleOneIsSeen(t *testing.T) {
	area := func(minutes ...int) []chart.BandPoint {
		var out []chart.BandPoint
		for _, m := range minutes {
			out = append(out, chart.BandPoint{At: at(m), Low: 0, High: 2})
		}
		return out
	}
	cases := []struct {
		name    string
		minutes []int
		gap     time.Duration
		want    string
	}{
		{"whole", []int{0, 4, 7}, 0, "########"},
		{"a gap", []int{0, 1, 2, 6, 7}, 2 * time.Minute, "###   ##"},
		{"one alone, one cell more than its own so that it is seen", []int{3}, 0, "   ##   "},
		{"one alone at the right end", []int{7}, 0, "      ##"},
		{"alone before a gap", []int{0, 5, 6}, 2 * time.Minute, "##   ## "},
		{"alone after a gap", []int{0, 1, 6}, 2 * time.Minute, "##    ##"},
		{"outside", []int{12}, 0, "        "},
	}
	for _, c := range cases {
		ch := chart.Chart{Lo: 0, Hi: 2, From: at(0), To: at(7), Bands: []chart.Band{{Fill: chart.Solid, Gap: c.gap, Points: area(c.minutes...)}}}
		if got := plainRows(ch, 8, 1)[0]; got != c.want {
			t.Errorf("%s: drawn %q, want %q", c.name, got, c.want)
		}
	}
}
