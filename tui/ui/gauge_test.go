package ui_test

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"github.com/charmbracelet/x/exp/golden"
	"pgregory.net/rapid"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
	"example.org/headpond/tui/ui/uitest"
)

// The ranges are those of the design's default bands at 240 V: inside [228, 252], near [220, 254].
func TestBandGauge(t *testing.T) {
	open := math.Inf(1)
	bands := []struct {
		name     string
		in, near ui.Range
		values   []float64
	}{
		{"volts", ui.Range{Lo: 228, Hi: 252}, ui.Range{Lo: 220, Hi: 254}, []float64{0, 215, 220, 224, 228, 240, 252, 253, 254, 255, 400, math.NaN()}},
		{"no near part", ui.Range{Lo: 58.8, Hi: 61.2}, ui.Range{Lo: 58.8, Hi: 61.2}, []float64{58, 58.8, 60, 61.3}},
		{"only a low limit", ui.Range{Lo: -0.85, Hi: open}, ui.Range{Lo: -0.9, Hi: open}, []float64{-2, -0.9, -0.87, -0.85, 0, 5}},
		{"only a high limit", ui.Range{Lo: -open, Hi: 70}, ui.Range{Lo: -open, Hi: 85}, []float64{-40, 20, 70, 80, 90}},
		{"near without an end", ui.Range{Lo: 10, Hi: 20}, ui.Open(), []float64{-100, 9, 15, 25, 1e9}},
		{"no limits", ui.Open(), ui.Open(), []float64{5}},
	}
	for look, l := range map[string]uitest.Look{"blocks": {}, "ascii": {ASCII: true}, "dark": {Color: true, Background: ui.DarkBackground}} {
		t.Run(look, func(t *testing.T) {
			var b strings.Builder
			for _, band := range bands {
				fmt.Fprintf(&b, "%s\n", band.name)
				for _, v := range band.values {
					for _, w := range []int{30, 12, 4} {
						fmt.Fprintf(&b, "[%s] ", ui.BandGauge(uitest.Theme(l), v, band.in, band.near, w))
					}
					fmt.Fprintf(&b, "%g %s\n", v, ui.Place(v, band.in, band.near).Word())
				}
			}
			golden.RequireEqual(t, []byte(b.String()))
		})
	}
}

// The picture must never say other than the word: the mark stands in the part that belongs to the state.
func TestGaugeMarkStandsInItsPart(t *testing.T) {
	th := uitest.Theme(uitest.Look{ASCII: true})
	rapid.Check(t, func(t *rapid.T) {
		limit := rapid.Float64Range(-500, 500)
		lo := limit.Draw(t, "lo")
		in := ui.Range{Lo: lo, Hi: lo + rapid.Float64Range(0, 100).Draw(t, "in")}
		near := ui.Range{Lo: in.Lo - rapid.Float64Range(0, 50).Draw(t, "below"), Hi: in.Hi + rapid.Float64Range(0, 50).Draw(t, "above")}
		v := rapid.OneOf(limit, rapid.SampledFrom([]float64{in.Lo, in.Hi, near.Lo, near.Hi})).Draw(t, "v")
		w := rapid.IntRange(7, 60).Draw(t, "w")
		g := ui.BandGauge(th, v, in, near, w)
		if len(g) != w {
			t.Fatalf("gauge %q is %d wide, want %d", g, len(g), w)
		}
		at := strings.IndexAny(g, "#<>")
		if at < 0 || strings.Count(g, "#")+strings.Count(g, "<")+strings.Count(g, ">") != 1 {
			t.Fatalf("gauge %q has not one mark", g)
		}
		first, last := strings.Index(g, "|"), strings.LastIndex(g, "|")
		inner := strings.ContainsAny(around(g, at), "=")
		switch state := ui.Place(v, in, near); {
		case state == ui.Out && at > first && at < last:
			t.Fatalf("%v is out, but stands inside in %q", v, g)
		case state != ui.Out && (at < first || at > last):
			t.Fatalf("%v is %s, but stands outside in %q", v, state.Word(), g)
		case state == ui.Near && inner && !strings.Contains(around(g, at), "-") && !strings.Contains(around(g, at), "|"):
			t.Fatalf("%v is near, but stands in the inner part of %q", v, g)
		}
	})
}

// around returns the cells beside a mark.
func around(g string, at int) string { return g[max(0, at-1):at] + g[at+1:min(len(g), at+2)] }

func TestEveryPartOfTheGaugeHasACell(t *testing.T) {
	th := uitest.Theme(uitest.Look{ASCII: true})
	rapid.Check(t, func(t *rapid.T) {
		in := ui.Range{Lo: rapid.Float64Range(-100, 100).Draw(t, "lo")}
		in.Hi = in.Lo + math.Exp(rapid.Float64Range(-12, 8).Draw(t, "log in"))
		near := ui.Range{Lo: in.Lo - math.Exp(rapid.Float64Range(-12, 8).Draw(t, "log below")), Hi: in.Hi + math.Exp(rapid.Float64Range(-12, 8).Draw(t, "log above"))}
		w := rapid.IntRange(7, 70).Draw(t, "w")
		g := ui.BandGauge(th, math.NaN(), in, near, w)
		if !regexp.MustCompile(`^ +\|-+=+-+\| +$`).MatchString(g) || len(g) != w {
			t.Fatalf("gauge %q at %d has not all its parts", g, w)
		}
	})
}

func TestGaugeMarkMovesWithTheValue(t *testing.T) {
	th := uitest.Theme(uitest.Look{ASCII: true})
	in, near := ui.Range{Lo: 228, Hi: 252}, ui.Range{Lo: 220, Hi: 254}
	last := -1
	for v := 200.0; v < 280; v += 0.5 {
		at := strings.IndexAny(ui.BandGauge(th, v, in, near, 40), "#<>")
		if at < last {
			t.Fatalf("at %v the mark goes back from %d to %d", v, last, at)
		}
		last = at
	}
}

func TestGaugeHasItsWidthForAnyInput(t *testing.T) {
	for _, l := range uitest.Looks() {
		th := uitest.Theme(l)
		rapid.Check(t, func(t *rapid.T) {
			any64 := rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, math.MaxFloat64, -math.MaxFloat64, 5e-324}))
			in := ui.Range{Lo: any64.Draw(t, "inlo"), Hi: any64.Draw(t, "inhi")}
			near := ui.Range{Lo: any64.Draw(t, "nearlo"), Hi: any64.Draw(t, "nearhi")}
			w := rapid.IntRange(0, 50).Draw(t, "w")
			g := ui.BandGauge(th, any64.Draw(t, "v"), in, near, w)
			if n := text.Width(g); n != w {
				t.Fatalf("gauge %q is %d wide, want %d", g, n, w)
			}
		})
	}
}

func TestLimitsLeaveMissingSidesOpen(t *testing.T) {
	lo := 3.0
	r := ui.Limits(&lo, nil)
	if r.Lo != 3 || !math.IsInf(r.Hi, 1) {
		t.Errorf("range %+v", r)
	}
	if got := ui.Place(2, r, r); got != ui.Out {
		t.Errorf("2 against a low limit of 3 is %q", got.Word())
	}
	if got := ui.Place(3, r, r); got != ui.Good {
		t.Errorf("the limit itself is %q, want in: limits are inclusive", got.Word())
	}
}

func BenchmarkBandGauge(b *testing.B) {
	th := uitest.Theme(uitest.Look{Color: true})
	for b.Loop() {
		ui.BandGauge(th, 253, ui.Range{Lo: 228, Hi: 252}, ui.Range{Lo: 220, Hi: 254}, 30)
	}
}
