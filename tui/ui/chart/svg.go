package chart

import (
	"cmp"
	"fmt"
	"html"
	"math"
	"slices"
	"strings"
	"time"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// SVG is how a chart is drawn for a browser: its names and its size in the units of its own coordinates.
type SVG struct {
	ID          string // unique in its page, letters and digits; the ids of its parts begin with it
	Title, Desc string // what it shows, and what can be seen in it, for those who cannot see it
	W, H        float64
}

// Room round the plot of an SVG, in its own units.
const (
	svgLeft, svgRight, svgTop, svgBottom = 58.0, 14.0, 22.0, 30.0
	svgLabel                             = 16.0 // the height of a label
	svgLetter                            = 9.0  // the most that a letter of a label is wide
)

// Draw writes the chart as an SVG element. Everything has a class ("limit out", "series s1", "band solid") and no colour of its own: the
// page's style gives those. Text from outside is escaped. The legend is left to the page: Legend lists it.
func (c Chart) Draw(o SVG) string {
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="chart" viewBox="0 0 %.0f %.0f" role="img" aria-labelledby="%s-t %s-d">`, o.W, o.H, o.ID, o.ID)
	fmt.Fprintf(&b, "\n<title id=\"%s-t\">%s</title>\n<desc id=\"%s-d\">%s</desc>\n", o.ID, escaped(o.Title), o.ID, escaped(o.Desc))
	from, to, ok := c.window()
	if !ok {
		fmt.Fprintf(&b, "<text class=\"empty\" x=\"%.0f\" y=\"%.0f\" text-anchor=\"middle\">%s</text>\n</svg>\n", o.W/2, o.H/2, escaped(c.emptySentence()))
		return b.String()
	}
	lo, hi := c.levels(from, to)
	p := &svgPlot{Builder: &b, o: o, lo: lo, hi: hi, t0: seconds(from), t1: seconds(to), w: o.W - svgLeft - svgRight, h: o.H - svgTop - svgBottom}
	fmt.Fprintf(&b, "<defs><clipPath id=\"%s-c\"><rect x=\"%.0f\" y=\"%.0f\" width=\"%.0f\" height=\"%.0f\"/></clipPath>", o.ID, svgLeft, svgTop, p.w, p.h)
	fmt.Fprintf(&b, "<pattern id=\"%s-h\" class=\"hatch\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\"><rect width=\"6\" height=\"6\"/><path d=\"M0 0V6\"/></pattern></defs>\n", o.ID)
	p.axes(c, from, to)
	fmt.Fprintf(&b, "<g clip-path=\"url(#%s-c)\">\n", o.ID)
	for _, band := range c.Bands {
		p.band(band)
	}
	for _, l := range c.Limits {
		p.limit(l)
	}
	for _, e := range c.Events {
		p.upright("event", e.At, from, to)
	}
	p.upright("now", c.Now, from, to)
	for i, s := range c.Series {
		p.series(i, s)
	}
	b.WriteString("</g>\n")
	p.names(c, from, to)
	b.WriteString("</svg>\n")
	return b.String()
}

// escaped makes text from outside harmless, in a browser as in a terminal.
func escaped(s string) string { return html.EscapeString(text.Show(s)) }

func (c Chart) emptySentence() string {
	if c.Empty == "" {
		return "Nothing to draw yet."
	}
	return c.Empty
}

// svgPlot turns times and values into places.
type svgPlot struct {
	*strings.Builder
	o              SVG
	lo, hi, t0, t1 float64
	w, h           float64
}

func (p *svgPlot) x(t time.Time) float64 {
	return svgLeft + p.w*clamp((seconds(t)-p.t0)/(p.t1-p.t0), -1, 2)
}
func (p *svgPlot) y(v float64) float64 {
	return svgTop + p.h*(1-clamp((v-p.lo)/(p.hi-p.lo), -1, 2))
}

// clamp keeps what lies far outside of the picture from becoming a number that no browser can draw.
func clamp(v, lo, hi float64) float64 { return math.Max(lo, math.Min(hi, v)) }

// axes draws the values' lines with their labels, and the times below.
func (p *svgPlot) axes(c Chart, from, to time.Time) {
	bottom := svgTop + p.h
	ticks, _ := valueTicks(p.lo, p.hi, 6)
	for _, k := range ticks {
		y := bottom - p.h*k.at
		fmt.Fprintf(p, "<path class=\"grid\" d=\"M%.1f %.1fH%.1f\"/><text class=\"tick\" x=\"%.1f\" y=\"%.1f\" text-anchor=\"end\">%s</text>\n", svgLeft, y, svgLeft+p.w, svgLeft-6, y+5, k.label)
	}
	x, anchor := svgLeft-6, "end"
	if len(c.Unit) > 4 {
		x, anchor = 2, "start" // it would begin outside
	}
	fmt.Fprintf(p, "<text class=\"unit\" x=\"%.1f\" y=\"13\" text-anchor=\"%s\">%s</text>\n", x, anchor, escaped(c.Unit))
	fmt.Fprintf(p, "<path class=\"axis\" d=\"M%.1f %.1fH%.1f\"/>\n", svgLeft, bottom, svgLeft+p.w)
	end := -math.MaxFloat64
	for _, k := range timeTicks(from, to, int(p.w/svgLetter)) {
		x := svgLeft + p.w*k.at
		fmt.Fprintf(p, "<path class=\"axis\" d=\"M%.1f %.1fv5\"/>", x, bottom)
		if half := svgLetter / 2 * float64(len(k.label)); x-half > end && x+half < p.o.W {
			fmt.Fprintf(p, "<text class=\"tick\" x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\">%s</text>", x, bottom+20, escaped(k.label))
			end = x + half + 4
		}
		p.WriteByte('\n')
	}
}

// runs splits a line or an area where it is broken: no value, no time, or too long a time between.
func runs[P any](points []P, at func(P) time.Time, known func(P) bool, gap time.Duration) [][]P {
	points = slices.Clone(points)
	slices.SortStableFunc(points, func(a, b P) int { return at(a).Compare(at(b)) })
	var out [][]P
	open := false
	for _, pt := range points {
		switch {
		case !known(pt) || !sensible(at(pt)):
			open = false
			continue
		case open && gap > 0:
			last := out[len(out)-1]
			open = at(pt).Sub(at(last[len(last)-1])) <= gap
		}
		if !open {
			out = append(out, nil)
		}
		out[len(out)-1] = append(out[len(out)-1], pt)
		open = true
	}
	return out
}

// series draws a line with a mark at each reading, so that a single one is seen.
func (p *svgPlot) series(i int, s Series) {
	class := fmt.Sprintf("s%d", min(i, ui.SeriesCount-1)+1)
	dense := len(s.Points) > 120 // the marks would hide the line
	for _, run := range runs(s.Points, func(p Point) time.Time { return p.At }, func(p Point) bool { return usable(p.Value) }, s.Gap) {
		d := ""
		for j, pt := range run {
			d += fmt.Sprintf("%c%.1f %.1f", "ML"[min(j, 1)], p.x(pt.At), p.y(pt.Value))
		}
		if len(run) > 1 {
			fmt.Fprintf(p, "<path class=\"series %s\" d=\"%s\"/>\n", class, d)
		}
		if dense && len(run) > 1 {
			continue
		}
		for _, pt := range run {
			fmt.Fprintf(p, "<circle class=\"mark %s\" cx=\"%.1f\" cy=\"%.1f\" r=\"2.4\"/>", class, p.x(pt.At), p.y(pt.Value))
		}
		p.WriteByte('\n')
	}
}

// band fills the range between two lines; a range that has no neighbour becomes an upright.
func (p *svgPlot) band(b Band) {
	class, fill := b.Fill.class(), ""
	if b.Fill == Medium {
		fill = fmt.Sprintf(" fill=\"url(#%s-h)\"", p.o.ID)
	}
	known := func(p BandPoint) bool { return usable(p.Low) && usable(p.High) }
	for _, run := range runs(b.Points, func(p BandPoint) time.Time { return p.At }, known, b.Gap) {
		d, back := "", ""
		for j, pt := range run {
			x := p.x(pt.At)
			d += fmt.Sprintf("%c%.1f %.1f", "ML"[min(j, 1)], x, p.y(math.Max(pt.Low, pt.High)))
			back = fmt.Sprintf("L%.1f %.1f", x, p.y(math.Min(pt.Low, pt.High))) + back
		}
		if len(run) == 1 {
			x, pt := p.x(run[0].At), run[0]
			d, back = fmt.Sprintf("M%.1f %.1fH%.1fV%.1fH%.1f", x-2, p.y(pt.High), x+2, p.y(pt.Low), x-2), ""
		}
		fmt.Fprintf(p, "<path class=\"band %s\"%s d=\"%s%sZ\"/>\n", class, fill, d, back)
	}
}

// class names a filling for the page's style.
func (f Fill) class() string {
	switch f {
	case Solid:
		return "solid"
	case Medium:
		return "medium"
	case Light:
	}
	return "light"
}

// stateClass names a state for the page's style.
func stateClass(s ui.State) string {
	if w := s.Word(); w != "" {
		return w
	}
	return "plain"
}

func (p *svgPlot) limit(l Limit) {
	if !usable(l.Value) || l.Value < p.lo || l.Value > p.hi {
		return
	}
	fmt.Fprintf(p, "<path class=\"limit %s\" d=\"M%.1f %.1fH%.1f\"/>\n", stateClass(l.State), svgLeft, p.y(l.Value), svgLeft+p.w)
}

// upright draws a line at an instant.
func (p *svgPlot) upright(class string, at, from, to time.Time) {
	if !at.IsZero() && within(at, from, to) {
		fmt.Fprintf(p, "<path class=\"%s\" d=\"M%.1f %.1fv%.1f\"/>\n", class, p.x(at), svgTop, p.h)
	}
}

// names writes what the lines are: the limits' names at the right, each in a row of its own, the events' signs on top and those
// of readings that were near or out of band above them.
func (p *svgPlot) names(c Chart, from, to time.Time) {
	limits := slices.Clone(c.Limits)
	slices.SortStableFunc(limits, func(a, b Limit) int { return cmp.Compare(b.Value, a.Value) })
	last := -math.MaxFloat64
	for _, l := range limits {
		if l.Name == "" || !usable(l.Value) || l.Value < p.lo || l.Value > p.hi {
			continue
		}
		y := math.Max(p.y(l.Value)-3, math.Max(last+svgLabel, svgTop+svgLabel-3))
		last = y
		fmt.Fprintf(p, "<text class=\"name %s\" x=\"%.1f\" y=\"%.1f\" text-anchor=\"end\">%s</text>\n", stateClass(l.State), svgLeft+p.w-3, y, escaped(l.Name))
	}
	for _, e := range c.Events {
		if !e.At.IsZero() && within(e.At, from, to) && printable(e.Sign) {
			fmt.Fprintf(p, "<text class=\"sign\" x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\">%s</text>\n", p.x(e.At), svgTop-5, escaped(string(e.Sign)))
		}
	}
	if !c.Now.IsZero() && within(c.Now, from, to) {
		fmt.Fprintf(p, "<text class=\"sign\" x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\">%s</text>\n", p.x(c.Now), svgTop-5, escaped(c.nowName()))
	}
	for _, g := range c.Flags {
		if usable(g.Value) && sensible(g.At) && within(g.At, from, to) && g.Value >= p.lo && g.Value <= p.hi {
			fmt.Fprintf(p, "<text class=\"flag %s\" x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\">%s</text>\n", stateClass(g.State), p.x(g.At), math.Max(svgTop+9, p.y(g.Value)-6), g.State.Sign())
		}
	}
}

// Legend is one thing that a chart shows, with the class that Draw gives it ("series s1", "band solid", "sign").
type Legend struct {
	Class, Name string
	Sign        string // of an event
}

// Legend lists what the chart shows.
func (c Chart) Legend() []Legend {
	var out []Legend
	for _, b := range c.Bands {
		if b.Name != "" && len(b.Points) > 0 {
			out = append(out, Legend{Class: "band " + b.Fill.class(), Name: text.Show(b.Name)})
		}
	}
	for i, s := range c.Series {
		if s.Name != "" && len(s.Points) > 0 {
			out = append(out, Legend{Class: fmt.Sprintf("series s%d", min(i, ui.SeriesCount-1)+1), Name: text.Show(s.Name)})
		}
	}
	for _, name := range eventNames(c.Events) {
		sign, rest, _ := strings.Cut(name, " ")
		out = append(out, Legend{Class: "sign", Name: rest, Sign: sign})
	}
	return out
}
