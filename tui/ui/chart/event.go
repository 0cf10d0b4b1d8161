package chart

import (
	"math"
	"time"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// event draws a broken line at an instant with the sign on top.
func (p *plot) event(e Event, from, to time.Time) {
	if e.At.IsZero() || !within(e.At, from, to) {
		return
	}
	cx := p.columnOf(e.At)
	for y := 0; y < p.h; y += 2 {
		p.put(cx, y, cell{first(p.t.Glyphs.Vertical), p.t.Line, rule})
	}
	if printable(e.Sign) {
		p.put(cx, 0, cell{e.Sign, ui.Style{}, sign})
	}
}

// printable reports whether a sign fills one cell and can be drawn anywhere.
func printable(r rune) bool { return r > ' ' && r <= '~' }

// columnOf returns the column of cells of an instant that is shown.
func (p *plot) columnOf(at time.Time) int {
	x, _ := p.place(at, p.frame.lo)
	cx, _ := p.cellOf(int(math.Round(x)), 0)
	return cx
}

// flag draws the sign of a state over a reading.
func (p *plot) flag(g Flag, from, to time.Time) {
	if !usable(g.Value) || !sensible(g.At) || !within(g.At, from, to) || g.Value < p.frame.lo || g.Value > p.frame.hi {
		return
	}
	for i, r := range g.State.Sign() {
		p.put(p.columnOf(g.At)+i, p.row(g.Value), cell{r, p.t.State(g.State), sign})
	}
}

// cross marks what is under the cursor, in reverse and with a sign of its own.
func (p *plot) cross(c Chart) {
	values, at, ok := c.under()
	if !ok {
		return
	}
	for _, v := range values {
		if v >= p.frame.lo && v <= p.frame.hi {
			p.put(p.columnOf(at), p.row(v), cell{first(p.t.Glyphs.Cross), p.t.Selected, sign})
		}
	}
}

// under returns the readings under the cursor: of the lines, and where no line has one there, the areas' upper ends. ok is false where none is.
func (c Chart) under() (values []float64, at time.Time, ok bool) {
	from, to, shown := c.window()
	if !shown || c.Cursor.IsZero() || !within(c.Cursor, from, to) {
		return nil, c.Cursor, false
	}
	for _, s := range c.Series {
		if v, ok := valueAt(s, c.Cursor); ok {
			values = append(values, v)
		}
	}
	if len(values) > 0 {
		return values, c.Cursor, true
	}
	for _, b := range c.Bands {
		if p, ok := bandAt(b, c.Cursor); ok {
			values = append(values, math.Max(p.Low, p.High))
		}
	}
	return values, c.Cursor, len(values) > 0
}

// eventNames tells each sign once.
func eventNames(events []Event) []string {
	var items []string
	told := map[rune]bool{}
	for _, e := range events {
		if e.Name != "" && printable(e.Sign) && !told[e.Sign] {
			told[e.Sign] = true
			items = append(items, string(e.Sign)+" "+text.Show(e.Name))
		}
	}
	return items
}
