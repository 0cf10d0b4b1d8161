package chart_test

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/exp/golden"
	"pgregory.net/rapid"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/chart"
)

var drawn = chart.SVG{ID: "c1", Title: "Voltage", Desc: "Three readings.", W: 640, H: 240}

// places are the coordinates in an SVG's attributes.
var places = regexp.MustCompile(`(?: x| y| cx| cy)="([^"]*)"| d="([^"]*)"`)

// sound checks that an SVG is well formed, has no two elements of one id, and only numbers for places, none far outside.
func sound(s string, o chart.SVG) error {
	d := xml.NewDecoder(strings.NewReader(s))
	ids := map[string]bool{}
	for {
		t, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		if el, ok := t.(xml.StartElement); ok {
			for _, a := range el.Attr {
				if a.Name.Local == "id" && ids[a.Value] {
					return fmt.Errorf("two elements have the id %s", a.Value)
				} else if a.Name.Local == "id" {
					ids[a.Value] = true
				}
			}
		}
	}
	number := regexp.MustCompile(`-?[0-9]+(?:\.[0-9]+)?`)
	for _, m := range places.FindAllStringSubmatch(s, -1) {
		rest := number.ReplaceAllStringFunc(m[1]+m[2], func(n string) string {
			if v, err := strconv.ParseFloat(n, 64); err != nil || math.Abs(v) > 4*(o.W+o.H) {
				return "far"
			}
			return ""
		})
		if strings.Trim(rest, "MLHVZvh ") != "" {
			return fmt.Errorf("a place that is none: %q", m[0])
		}
	}
	return nil
}

func TestAnyChartIsASoundSVG(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := anyChart().Draw(t, "chart")
		s := c.Draw(drawn)
		if err := sound(s, drawn); err != nil {
			t.Fatalf("%v in\n%s", err, s)
		}
		for _, want := range []string{`role="img"`, `<title id="c1-t">Voltage</title>`, `<desc id="c1-d">Three readings.</desc>`} {
			if !strings.Contains(s, want) {
				t.Fatalf("it lacks %s", want)
			}
		}
	})
}

// pictured is a chart in which each part of the drawing has something to do.
func pictured() chart.Chart {
	at := func(h int) time.Time { return time.Date(2026, 11, 20, h, 0, 0, 0, time.UTC) }
	return chart.Chart{
		Unit: "V", From: at(0), To: at(24),
		Series: []chart.Series{
			{Name: "A", Gap: 5 * time.Hour, Points: []chart.Point{{At: at(1), Value: 238}, {At: at(4), Value: 241}, {At: at(12), Value: 240}, {At: at(13), Value: math.NaN()}, {At: at(14), Value: 251}}},
			{Name: `B & "C"`, Points: []chart.Point{{At: at(2), Value: 236}, {At: at(20), Value: 236}}},
		},
		Bands:  []chart.Band{{Name: "range", Fill: chart.Medium, Points: []chart.BandPoint{{At: at(3), Low: 230, High: 234}, {At: at(6), Low: 231, High: 235}}}},
		Limits: []chart.Limit{{Name: "! above", Value: 250, State: ui.Near}, {Name: "!! above", Value: 250.2, State: ui.Out}},
		Events: []chart.Event{{At: at(10), Sign: 'T', Name: "trip"}},
		Flags:  []chart.Flag{{At: at(14), Value: 251, State: ui.Out}},
		Now:    at(22),
	}
}

func TestSVGGolden(t *testing.T) { golden.RequireEqual(t, []byte(pictured().Draw(drawn))) }

func TestSVGBreaksALineWhereNothingIsKnown(t *testing.T) {
	s := pictured().Draw(drawn)
	lines := regexp.MustCompile(`class="series s1" d="([^"]*)"`).FindAllStringSubmatch(s, -1)
	if len(lines) != 1 || strings.Count(lines[0][1], "L") != 1 {
		t.Errorf("the line of A is %q: it should join the first two readings and no other", lines)
	}
	if n := strings.Count(s, `class="mark s1"`); n != 4 {
		t.Errorf("%d readings of A have a mark, want all 4", n)
	}
}

func TestSVGPutsValuesAndTimesWhereTheyBelong(t *testing.T) {
	// By hand: the plot is 640 - 58 - 14 = 568 wide and 240 - 22 - 30 = 188 high; 12:00 of 24 h is its middle, 58 + 284 = 342; 5 of 0 to
	// 10 is half its height, 22 + 94 = 116.
	noon := time.Date(2026, 11, 20, 12, 0, 0, 0, time.UTC)
	c := chart.Chart{From: noon.Add(-12 * time.Hour), To: noon.Add(12 * time.Hour), Lo: 0, Hi: 10, Series: []chart.Series{{Points: []chart.Point{{At: noon, Value: 5}}}}}
	if s := c.Draw(drawn); !strings.Contains(s, `cx="342.0" cy="116.0"`) {
		t.Errorf("the middle is not in the middle:\n%s", s)
	}
}

func TestSVGNamesDoNotStandOnEachOther(t *testing.T) {
	ys := regexp.MustCompile(`class="name [a-z]+" x="[^"]*" y="([^"]*)"`).FindAllStringSubmatch(pictured().Draw(drawn), -1)
	if len(ys) != 2 {
		t.Fatalf("%d names", len(ys))
	}
	a, _ := strconv.ParseFloat(ys[0][1], 64)
	b, _ := strconv.ParseFloat(ys[1][1], 64)
	if math.Abs(a-b) < 14 {
		t.Errorf("the names of two limits stand %.1f apart, less than a line", math.Abs(a-b))
	}
}

func TestTheLegendNamesWhatIsDrawn(t *testing.T) {
	got := fmt.Sprint(pictured().Legend())
	if want := `[{band medium range } {series s1 A } {series s2 B & "C" } {sign trip T}]`; got != want {
		t.Errorf("the legend is %s, want %s", got, want)
	}
	if s := pictured().Draw(drawn); strings.Contains(s, `B & "C"`) {
		t.Error("a name is not escaped")
	}
	empty := chart.Chart{Empty: "Nothing <here>."}.Draw(drawn)
	if err := sound(empty, drawn); err != nil || !strings.Contains(empty, "Nothing &lt;here&gt;.") {
		t.Errorf("an empty chart: %v\n%s", err, empty)
	}
}
