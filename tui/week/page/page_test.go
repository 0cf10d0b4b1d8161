package page

import (
	"context"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/exp/golden"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/demobook"
	"example.org/headpond/model/demo"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/water"
	"example.org/headpond/model/week"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	weekview "example.org/headpond/tui/week"
)

// demoReports are the demo's last week, month and year.
func demoReports(tb testing.TB) (map[week.Span]weekview.Report, ui.Common) {
	tb.Helper()
	p, err := demo.Plant()
	if err != nil {
		tb.Fatal(err)
	}
	now := time.Date(2026, 11, 21, 0, 0, 0, 0, p.Location)
	clock := func() time.Time { return now }
	story, err := demo.History(demo.Seed, now, p.Location)
	if err != nil {
		tb.Fatal(err)
	}
	o := logbook.Options{Clock: clock, Location: p.Location, Writer: [16]byte{7}}
	book, err := demobook.Write(context.Background(), filepath.Join(tb.TempDir(), "demo.book"), story, o)
	if err != nil {
		tb.Fatal(err)
	}
	d := desk.Desk{Book: book, Now: clock, Location: p.Location, Forecast: water.Options{Members: 50}}
	out := map[week.Span]weekview.Report{}
	for _, span := range []week.Span{week.Week, week.Month, week.Year} {
		r := d.Reviewed(context.Background(), desk.ReviewOf{Span: span, End: now, Full: true})
		if r.Err != nil {
			tb.Fatal(r.Err)
		}
		out[span] = weekview.Report{Review: r.Review, Plant: r.Plant}
	}
	return out, ui.Common{Units: quantity.Metric, Now: clock, Location: p.Location}
}

func written(tb testing.TB, r weekview.Report, c ui.Common) string {
	tb.Helper()
	var b strings.Builder
	if err := Write(&b, r, c); err != nil {
		tb.Fatal(err)
	}
	if err := sound(b.String()); err != nil {
		tb.Fatal(err)
	}
	return b.String()
}

// sound checks what every page must be: well formed, loading nothing, running nothing, and readable without its pictures.
func sound(s string) error {
	if !strings.HasPrefix(s, "<!DOCTYPE html>\n<html lang=\"en\">") {
		return errors.New("no document type or no language")
	}
	d := xml.NewDecoder(strings.NewReader(s))
	d.Strict = true
	ids, svgs, titles, descs, mains, level := map[string]bool{}, 0, 0, 0, 0, 0
	for {
		t, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		el, ok := t.(xml.StartElement)
		if !ok {
			continue
		}
		name := el.Name.Local
		switch name {
		case "script", "link", "img", "iframe", "object", "embed", "form", "image", "use", "foreignObject":
			return errors.New("an element that loads or runs something: " + name)
		case "svg":
			svgs++
		case "desc":
			descs++
		case "title":
			titles++
		case "main":
			mains++
		case "h1", "h2", "h3":
			n := int(name[1] - '0')
			if n > level+1 {
				return errors.New("a heading that skips a level: " + name)
			}
			level = n
		}
		for _, a := range el.Attr {
			switch {
			case a.Name.Local == "id" && ids[a.Value]:
				return errors.New("two elements have the id " + a.Value)
			case a.Name.Local == "id":
				ids[a.Value] = true
			case strings.HasPrefix(a.Name.Local, "on"), a.Name.Local == "src", a.Name.Local == "href", a.Name.Local == "srcset":
				return errors.New("an attribute that loads or runs something: " + a.Name.Local)
			}
		}
	}
	charts := strings.Count(s, `role="img"`)
	switch {
	case mains != 1:
		return errors.New("not one main part")
	case charts == 0 || descs != charts || titles != charts+1: // the document's own title is the one more
		return errors.New("a chart without a title or a description")
	case charts != strings.Count(s, "<figure>"):
		return errors.New("a chart that stands in no figure")
	case regexp.MustCompile(`url\((?:[^#]|#[^)]*[^)a-z0-9-])`).MatchString(s), strings.Contains(s, "@import"):
		return errors.New("the style loads something")
	case strings.Contains(s, "NaN"), strings.Contains(s, "Inf"):
		return errors.New("a number that is none")
	}
	return nil
}

// A page that was written before the forecast had come says so, for nobody sees later that it is missing; the verdict is then not told as
// a good one.
func TestAPageWithoutTheForecastSaysSo(t *testing.T) {
	reports, c := demoReports(t)
	const says = "How long the water lasts is not in this page"
	whole := reports[week.Week]
	if strings.Contains(written(t, whole, c), says) {
		t.Error("a page with the forecast says that it has none")
	}
	whole.Pending = true
	if page := written(t, whole, c); !strings.Contains(page, says) || strings.Contains(page, "is still being worked out") {
		t.Error("a page without the forecast does not say so, or as if it were a screen")
	}
}

func TestPageGolden(t *testing.T) {
	reports, c := demoReports(t)
	golden.RequireEqual(t, []byte(written(t, reports[week.Week], c)))
}

func TestEverySpanGivesAPage(t *testing.T) {
	reports, c := demoReports(t)
	for span, r := range reports {
		s := written(t, r, c)
		for _, want := range []string{"To decide", "What it gave", "Time in band", "Pond level", "Cautions", "never replace", Mark, policy} {
			if !strings.Contains(s, want) {
				t.Errorf("the %s's page lacks %q", span, want)
			}
		}
		if n := strings.Count(s, "<details>"); n != 5 {
			t.Errorf("the %s's page has %d tables beside its five charts", span, n)
		}
	}
	c.Units = quantity.US
	if s := written(t, reports[week.Week], c); !strings.Contains(s, "\u00a0psi") || !strings.Contains(s, "\u00a0ft") {
		t.Error("a page in the units of the United States does not show them")
	}
}

func TestTextFromOutsideStaysText(t *testing.T) {
	reports, c := demoReports(t)
	r := *reports[week.Week].Review
	const evil = `</p><script>alert(1)</script><a href="https://example.org" onclick='x'>` + "\x1b[2J\u202e"
	r.Plant, r.Verdict = evil, evil
	r.Decisions = []week.Decision{{Text: evil, Urgency: "out"}}
	r.Stops = []week.Stop{{Kind: evil, Units: []string{evil}, Cause: evil, By: evil, Note: evil}}
	r.Money = &week.Money{Currency: evil, Saved: &week.Range{Value: 1, Low: 1, High: 2}}
	r.Units = []week.UnitRun{{Unit: evil, Name: evil}}
	r.Cautions = []string{evil}
	s := written(t, weekview.Report{Review: &r, Plant: reports[week.Week].Plant}, c)
	for _, bad := range []string{"<script", "<a ", "\x1b", "\u202e"} {
		if strings.Contains(s, bad) {
			t.Errorf("the page holds %q", bad)
		}
	}
}

func TestThinReviewsGiveAPage(t *testing.T) {
	now := time.Date(2026, 11, 21, 0, 0, 0, 0, time.UTC)
	c := ui.Common{Units: quantity.Metric, Now: func() time.Time { return now }, Location: time.UTC}
	empty := week.Period{From: now.AddDate(0, 0, -7), To: now, Hours: 168}
	one := empty
	v := 240.0
	one.Points = []week.Point{{At: week.At{ID: "R1", Time: now.Add(-time.Hour)}, Values: map[quantity.Key]float64{"volts": v, "pond_level_m": -0.3}, UsedKW: &v}}
	odd := one
	odd.Points = []week.Point{{At: week.At{Time: now}, Values: map[quantity.Key]float64{"volts": math.NaN(), "hertz": math.Inf(1)}}}
	odd.EnergyKWh.Generated = &week.Range{Value: math.NaN(), Low: math.Inf(-1), High: math.Inf(1)}
	for name, p := range map[string]week.Period{"nothing was read": empty, "one round": one, "numbers that are none": odd} {
		t.Run(name, func(t *testing.T) {
			written(t, weekview.Report{Review: &week.Review{Plant: "Tern Hollow", Span: week.Week, Period: p, Verdict: "too little to say"}}, c)
		})
	}
	if err := Write(io.Discard, weekview.Report{Err: errors.New("no plant")}, c); err == nil || !strings.Contains(err.Error(), "no plant") {
		t.Errorf("without a review: %v", err)
	}
}

// Contrast by WCAG 2.2 (relative luminance and contrast ratio as defined there): black on white is 21 to 1, #767676 on white just over 4.5.
func TestContrast(t *testing.T) {
	for _, x := range []struct {
		a, b string
		want float64
	}{{"#000000", "#ffffff", 21}, {"#767676", "#ffffff", 4.54}, {"#777777", "#ffffff", 4.48}} {
		if got := contrast(t, x.a, x.b); math.Abs(got-x.want) > 0.005 {
			t.Errorf("contrast of %s on %s is %.3f, published %.2f", x.a, x.b, got, x.want)
		}
	}
	for name, s := range map[string]scheme{"light": light(), "dark": dark()} {
		hex := map[string]string{}
		for _, c := range s {
			hex[c.name] = c.hex
		}
		for _, ground := range []string{"ground", "card"} {
			for _, word := range []string{"text", "muted", "near", "out", "in"} {
				if got := contrast(t, hex[word], hex[ground]); got < 4.5 {
					t.Errorf("%s: %s on %s has a contrast of %.2f, below 4.5", name, word, ground, got)
				}
			}
			for _, line := range []string{"s1", "s2", "s3", "s4", "area", "hatch", "fan"} {
				if got := contrast(t, hex[line], hex[ground]); got < 3 {
					t.Errorf("%s: %s on %s has a contrast of %.2f, below 3", name, line, ground, got)
				}
			}
		}
	}
}

func contrast(tb testing.TB, a, b string) float64 {
	tb.Helper()
	la, lb := luminance(tb, a), luminance(tb, b)
	return (math.Max(la, lb) + 0.05) / (math.Min(la, lb) + 0.05)
}

func luminance(tb testing.TB, hex string) float64 {
	tb.Helper()
	n, err := strconv.ParseUint(strings.TrimPrefix(hex, "#"), 16, 32)
	if err != nil || len(hex) != 7 {
		tb.Fatalf("%q is no colour", hex)
	}
	part := func(shift uint) float64 {
		v := float64(n>>shift&255) / 255
		if v <= 0.04045 {
			return v / 12.92
		}
		return math.Pow((v+0.055)/1.055, 2.4)
	}
	return 0.2126*part(16) + 0.7152*part(8) + 0.0722*part(0)
}
