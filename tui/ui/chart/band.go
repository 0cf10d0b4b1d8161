package chart

import (
	"math"
	"slices"
	"time"

	"github.com/NimbleMarkets/ntcharts/canvas"
)

// band fills the range between two lines, column by column of dots, with both edges drawn so that a sparse filling keeps its
// shape.
func (p *plot) band(b Band) {
	l := layer{dots: p.grid(), style: p.t.Fill, plain: b.Fill.plain(), rank: area}
	points := b.Points
	byAt := func(a, b BandPoint) int { return a.At.Compare(b.At) }
	if !slices.IsSortedFunc(points, byAt) {
		points = slices.Clone(points)
		slices.SortStableFunc(points, byAt)
	}
	var lowA, highA xy
	var prev time.Time
	run := 0
	for _, pt := range points {
		if !usable(pt.Low) || !usable(pt.High) || !sensible(pt.At) {
			p.alone(l, b.Fill, run, lowA, highA)
			run = 0
			continue
		}
		if run > 0 && b.Gap > 0 && pt.At.Sub(prev) > b.Gap {
			p.alone(l, b.Fill, run, lowA, highA)
			run = 0
		}
		var lowB, highB xy
		lowB.x, lowB.y = p.place(pt.At, math.Min(pt.Low, pt.High))
		highB.x, highB.y = p.place(pt.At, math.Max(pt.Low, pt.High))
		if run > 0 {
			p.fill(l, b.Fill, lowA, lowB, highA, highB)
			p.segment(l, lowA, lowB)
			p.segment(l, highA, highB)
		}
		lowA, highA, prev = lowB, highB, pt.At
		run++
	}
	p.alone(l, b.Fill, run, lowA, highA)
	p.layers = append(p.layers, l)
}

// alone draws a range that has no neighbour as an upright two dots wide, so that a single reading is seen.
func (p *plot) alone(l layer, f Fill, run int, low, high xy) {
	if run != 1 {
		return
	}
	beside := low
	if beside.x = low.x + 1; beside.x > float64(p.dotW-1) {
		beside.x = low.x - 1
	}
	a, b := xy{math.Min(low.x, beside.x), low.y}, xy{math.Max(low.x, beside.x), low.y}
	if low.x < 0 || low.x > float64(p.dotW-1) {
		return
	}
	p.fill(l, f, a, b, xy{a.x, high.y}, xy{b.x, high.y})
	p.segment(l, low, high)
}

// fill sets the dots between two pieces of line that begin and end at the same times.
func (p *plot) fill(l layer, f Fill, lowA, lowB, highA, highB xy) {
	xs, ok := span(lowA.x, lowB.x, p.dotW)
	if !ok {
		return
	}
	for x := xs.from; x <= xs.to; x++ {
		share := 0.0
		if lowB.x > lowA.x {
			share = (float64(x) - lowA.x) / (lowB.x - lowA.x)
		}
		ys, ok := span(highA.y+share*(highB.y-highA.y), lowA.y+share*(lowB.y-lowA.y), p.dotH)
		if !ok {
			continue
		}
		for y := ys.from; y <= ys.to; y++ {
			if p.t.ASCII || f.has(x, y) {
				l.dots.Set(canvas.Point{X: x, Y: y})
			}
		}
	}
}

// has reports whether a filling sets a dot.
func (f Fill) has(x, y int) bool {
	switch f {
	case Light:
		return x%2 == 0 && y%2 == 0
	case Medium:
		return (x+y)%2 == 0
	case Solid:
	}
	return true
}

// plain is the filling in ASCII.
func (f Fill) plain() rune {
	switch f {
	case Light:
		return '.'
	case Medium:
		return ':'
	case Solid:
	}
	return '#'
}

// sample is what the legend shows of a filling.
func (f Fill) sample(ascii bool) string {
	if ascii {
		return string(f.plain())
	}
	switch f {
	case Light:
		return "⠅"
	case Medium:
		return "⢕"
	case Solid:
	}
	return "⣿"
}
