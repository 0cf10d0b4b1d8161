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
		line.add(x, y, float64(p.dotW-1))
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

// polyline is an unbroken run of readings, thinned to what dots can show: for each column of dots where the line enters it,
// where it leaves it, and how far up and down it goes within. A hundred thousand readings draw as fast as a few hundred.
type polyline struct {
	columns []dotColumn
	n       int
}

type dotColumn struct {
	x           float64 // rounded
	enter, exit xy
	top, bottom float64 // in dots, which count downwards
}

// add adds a reading. Readings outside the columns 0 to end, however little, are not counted into the columns at the ends.
func (l *polyline) add(x, y, end float64) {
	pt := xy{x, y}
	l.n++
	c := math.Round(x)
	switch {
	case x < 0:
		c = math.Floor(x)
	case x > end:
		c = math.Ceil(x)
	}
	if len(l.columns) == 0 || c != l.columns[len(l.columns)-1].x {
		l.columns = append(l.columns, dotColumn{x: c, enter: pt, exit: pt, top: y, bottom: y})
		return
	}
	last := &l.columns[len(l.columns)-1]
	last.exit, last.top, last.bottom = pt, math.Min(last.top, y), math.Max(last.bottom, y)
}

// flush draws the run and begins a new one. A single reading has no line and gets its mark, or it would be one dot.
func (l *polyline) flush(p *plot, to layer, series int, marked bool) {
	every := float64(p.dotW) / math.Max(1, float64(p.w)/12)
	next := every * (0.5 + float64(series)/ui.SeriesCount)
	for i, c := range l.columns {
		p.upright(to, c)
		if i == 0 {
			continue
		}
		a, b := l.columns[i-1].exit, c.enter
		p.segment(to, a, b)
		for marked && !p.t.ASCII && next <= math.Min(b.x, float64(p.dotW)) {
			if next >= a.x {
				p.addMark(xy{next, a.y + (next-a.x)/(b.x-a.x)*(b.y-a.y)}, series)
			}
			next += every
		}
	}
	if l.n == 1 {
		p.addMark(l.columns[0].enter, series)
	}
	l.columns, l.n = l.columns[:0], 0
}

// upright sets the dots of one column that the line passes over.
func (p *plot) upright(l layer, c dotColumn) {
	x, ok := span(c.x, c.x, p.dotW)
	y, seen := span(math.Round(c.top), math.Round(c.bottom), p.dotH)
	if !ok || !seen {
		return
	}
	for i := y.from; i <= y.to; i++ {
		l.dots.Set(canvas.Point{X: x.from, Y: i})
	}
}

// dotSpan is a run of dots, both ends included.
type dotSpan struct{ from, to int }

// span returns the dots from lo to hi that are among 0 to n-1; ok is false where there are none. It is the one place where
// places become loop bounds: a NaN or a number that no int holds would make a loop without end.
func span(lo, hi float64, n int) (s dotSpan, ok bool) {
	if last := float64(n - 1); !(lo <= hi && lo <= last && hi >= 0) {
		return s, false
	}
	return dotSpan{int(math.Ceil(math.Max(0, lo))), int(math.Floor(math.Min(float64(n-1), hi)))}, true
}

// addMark remembers a mark for a place in dots, if that is within the plot.
func (p *plot) addMark(at xy, series int) {
	if !(at.x >= 0 && at.y >= 0 && at.x <= float64(p.dotW-1) && at.y <= float64(p.dotH-1)) {
		return
	}
	cx, cy := p.cellOf(int(math.Round(at.x)), int(math.Round(at.y)))
	p.marks = append(p.marks, mark{x: cx, y: cy, glyph: first(p.t.Glyphs.Marks[series]), style: p.t.Series[series]})
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
