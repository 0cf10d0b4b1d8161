package chart

import (
	"math"
	"slices"
	"time"

	"github.com/NimbleMarkets/ntcharts/canvas"
	"github.com/NimbleMarkets/ntcharts/canvas/graph"

	"example.org/headpond/tui/ui"
)

// cell is one character of the figure with its look.
type cell struct {
	glyph rune // 0 is a space
	style ui.Style
	rank  rank
}

// rank says what may be drawn over what.
type rank int

const (
	nothing rank = iota
	area         // a band's filling
	rule         // limits, now and the cursor
	curve        // a series
	sign         // a series' mark, a limit's name
)

// layer is one series or band: dots with one look.
type layer struct {
	dots  *graph.BrailleGrid
	style ui.Style
	plain rune // the glyph that stands for a dot in ASCII
	rank  rank
}

// plot is the picture within the axes. In braille a cell has 2 by 4 dots, in ASCII one.
type plot struct {
	t          ui.Theme
	w, h       int // cells
	dotW, dotH int // dots
	frame      *frame
	layers     []layer
	marks      []mark
	cells      []cell // row by row
}

// mark is a series' sign over its curve.
type mark struct {
	x, y  int // cell
	glyph rune
	style ui.Style
}

func newPlot(t ui.Theme, w, h int, f *frame) *plot {
	p := &plot{t: t, w: w, h: h, dotW: w, dotH: h, frame: f, cells: make([]cell, w*h)}
	if !t.ASCII {
		p.dotW, p.dotH = 2*w, 4*h
	}
	return p
}

// grid returns an empty layer's dots. In ASCII the grid is larger than needed: its upper left w by h dots stand for cells.
func (p *plot) grid() *graph.BrailleGrid { return graph.NewBrailleGrid(p.w, p.h, 0, 1, 0, 1) }

// place returns a point in dots, unrounded; it may lie outside.
func (p *plot) place(at time.Time, v float64) (x, y float64) {
	f := p.frame
	x = (seconds(at) - f.t0) / (f.t1 - f.t0) * float64(p.dotW-1)
	y = float64(p.dotH-1) - (v-f.lo)/(f.hi-f.lo)*float64(p.dotH-1)
	return x, y
}

// cellOf returns the cell of a dot.
func (p *plot) cellOf(x, y int) (cx, cy int) { return x * p.w / p.dotW, y * p.h / p.dotH }

// series draws a line through the readings, broken where one is missing or the time between is too long.
func (p *plot) series(i int, s Series, marked bool) {
	i = min(i, ui.SeriesCount-1)
	l := layer{dots: p.grid(), style: p.t.Series[i], plain: first(p.t.Glyphs.Marks[i]), rank: curve}
	points := s.Points
	if !slices.IsSortedFunc(points, byTime) {
		points = slices.Clone(points)
		slices.SortStableFunc(points, byTime)
	}
	var line polyline
	prev := time.Time{}
	for _, pt := range points {
		if !usable(pt.Value) || !sensible(pt.At) {
			line.flush(p, l, i, marked)
			prev = time.Time{}
			continue
		}
		if s.Gap > 0 && !prev.IsZero() && pt.At.Sub(prev) > s.Gap {
			line.flush(p, l, i, marked)
		}
		x, y := p.place(pt.At, pt.Value)
		line.add(x, y)
		prev = pt.At
	}
	line.flush(p, l, i, marked)
	p.layers = append(p.layers, l)
}

func byTime(a, b Point) int { return a.At.Compare(b.At) }

// first is a glyph as a rune: all glyphs are one.
func first(glyph string) rune {
	for _, r := range glyph {
		return r
	}
	return ' '
}

// xy is a point in dots.
type xy struct{ x, y float64 }

// polyline is an unbroken run of readings, thinned to what dots can show: in each column of dots the first, lowest, highest and
// last, so that a hundred thousand readings draw as fast as a few hundred.
type polyline struct {
	points    []xy
	column    float64
	low, high xy
	last      xy
	n         int
}

func (l *polyline) add(x, y float64) {
	pt := xy{x, y}
	if c := math.Round(x); l.n == 0 || c != l.column {
		l.closeColumn()
		l.points = append(l.points, pt)
		l.column, l.low, l.high = c, pt, pt
	}
	if y < l.low.y {
		l.low = pt
	}
	if y > l.high.y {
		l.high = pt
	}
	l.last = pt
	l.n++
}

// closeColumn adds what the column has beyond its first point.
func (l *polyline) closeColumn() {
	if l.n == 0 {
		return
	}
	first := l.points[len(l.points)-1]
	for _, pt := range []xy{l.low, l.high, l.last} {
		if pt != first {
			l.points = append(l.points, pt)
		}
	}
}

// flush draws the run and begins a new one. A single reading has no line and gets its mark, or it would be one dot.
func (l *polyline) flush(p *plot, to layer, series int, marked bool) {
	l.closeColumn()
	if l.n == 1 || len(l.points) == 1 {
		p.dot(to, l.points[0])
		p.addMark(l.points[0], series)
	}
	every := float64(p.dotW) / math.Max(1, float64(p.w)/12)
	next := every * (0.5 + float64(series)/ui.SeriesCount)
	for i := 1; i < len(l.points); i++ {
		a, b := l.points[i-1], l.points[i]
		p.segment(to, a, b)
		for marked && !p.t.ASCII && b.x >= next && b.x > a.x {
			if next >= a.x {
				share := (next - a.x) / (b.x - a.x)
				p.addMark(xy{next, a.y + share*(b.y-a.y)}, series)
			}
			next += every
			if next > float64(p.dotW) {
				break
			}
		}
	}
	*l = polyline{points: l.points[:0]}
}

// addMark remembers a mark for a place in dots, if that is within the plot.
func (p *plot) addMark(at xy, series int) {
	if at.x < 0 || at.y < 0 || at.x > float64(p.dotW-1) || at.y > float64(p.dotH-1) {
		return
	}
	cx, cy := p.cellOf(int(math.Round(at.x)), int(math.Round(at.y)))
	p.marks = append(p.marks, mark{x: cx, y: cy, glyph: first(p.t.Glyphs.Marks[series]), style: p.t.Series[series]})
}

// dot sets one dot if it is within the plot.
func (p *plot) dot(l layer, at xy) {
	if at.x >= 0 && at.y >= 0 && at.x <= float64(p.dotW-1) && at.y <= float64(p.dotH-1) {
		l.dots.Set(canvas.Point{X: int(math.Round(at.x)), Y: int(math.Round(at.y))})
	}
}

// segment draws the part of a straight line that is within the plot.
func (p *plot) segment(l layer, a, b xy) {
	a, b, ok := clip(a, b, float64(p.dotW-1), float64(p.dotH-1))
	if !ok {
		return
	}
	for _, pt := range graph.GetLinePoints(rounded(a), rounded(b)) {
		l.dots.Set(pt)
	}
}

func rounded(a xy) canvas.Point {
	return canvas.Point{X: int(math.Round(a.x)), Y: int(math.Round(a.y))}
}

// clip cuts a line to the box 0…w by 0…h (Liang and Barsky's method); ok is false where it misses the box. It comes before
// the line is rounded to dots: a far outlier would otherwise be walked dot by dot.
func clip(a, b xy, w, h float64) (xy, xy, bool) {
	dx, dy := b.x-a.x, b.y-a.y
	t0, t1 := 0.0, 1.0
	for _, e := range [4][2]float64{{-dx, a.x}, {dx, w - a.x}, {-dy, a.y}, {dy, h - a.y}} {
		switch d, q := e[0], e[1]; {
		case d == 0 && q < 0, math.IsNaN(d), math.IsNaN(q):
			return a, b, false
		case d < 0:
			t0 = math.Max(t0, q/d)
		case d > 0:
			t1 = math.Min(t1, q/d)
		}
	}
	if t0 > t1 {
		return a, b, false
	}
	return xy{a.x + t0*dx, a.y + t0*dy}, xy{a.x + t1*dx, a.y + t1*dy}, true
}
