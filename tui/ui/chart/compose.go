package chart

import (
	"math"
	"slices"
	"strings"
	"time"

	"github.com/NimbleMarkets/ntcharts/canvas/runes"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// merge turns the layers' dots into cells: dots add up, the look is that of the frontmost. Marks come last.
func (p *plot) merge() {
	for _, l := range p.layers {
		if p.t.ASCII {
			p.mergePlain(l)
		} else {
			p.mergeBraille(l)
		}
	}
	for _, m := range p.marks {
		p.put(m.x, m.y, cell{m.glyph, m.style, sign})
	}
}

func (p *plot) mergeBraille(l layer) {
	for y, row := range l.dots.BraillePatterns() {
		for x, r := range row {
			if r == runes.BrailleBlockOffset || y >= p.h || x >= p.w {
				continue
			}
			c := &p.cells[y*p.w+x]
			*c = cell{runes.CombineBraillePatterns(c.glyph, r), l.style, l.rank}
		}
	}
}

// mergePlain reads the upper left w by h dots back out of the patterns: the grid has no other way to ask for a dot.
func (p *plot) mergePlain(l layer) {
	// The places of a braille cell's dots in the order that Unicode numbers them.
	dotX := [8]int{0, 0, 0, 1, 1, 1, 0, 1}
	dotY := [8]int{0, 1, 2, 0, 1, 2, 3, 3}
	for py, row := range l.dots.BraillePatterns() {
		for px, r := range row {
			if r == runes.BrailleBlockOffset {
				continue
			}
			var dots runes.PatternDots
			runes.SetPatternDots(r, &dots)
			for i, on := range dots {
				x, y := 2*px+dotX[i], 4*py+dotY[i]
				if on && x < p.w && y < p.h {
					p.cells[y*p.w+x] = cell{l.plain, l.style, l.rank}
				}
			}
		}
	}
}

// put draws a cell unless something of a higher rank stands there.
func (p *plot) put(x, y int, c cell) {
	if x < 0 || y < 0 || x >= p.w || y >= p.h {
		return
	}
	if at := &p.cells[y*p.w+x]; at.rank <= c.rank {
		*at = c
	}
}

// limit draws a level across the plot with its name where the line has room for it.
func (p *plot) limit(l Limit, f *frame) {
	if !usable(l.Value) || l.Value < f.lo || l.Value > f.hi {
		return
	}
	y := p.row(l.Value)
	look := p.t.State(l.State)
	for x := range p.w {
		p.put(x, y, cell{first(p.t.Glyphs.Horizontal), look, rule})
	}
	name := strings.TrimSpace(l.Name + " " + number(l.Value, max(f.digits, digitsOf(l.Value))))
	label := []rune(" " + text.Show(name) + " ")
	odd := func(r rune) bool { return text.Width(string(r)) != 1 }
	if slices.ContainsFunc(label, odd) || len(label) > p.w-2 {
		return // a name with wide or joined characters, or a narrow plot: the axis has the value
	}
	start := p.freeRun(y, len(label))
	for i, r := range label {
		p.put(start+i, y, cell{r, look, sign})
	}
}

// digitsOf is how many decimals a limit is given with, up to three.
func digitsOf(v float64) int {
	for d := range 3 {
		if math.Abs(v-math.Round(v*math.Pow10(d))/math.Pow10(d)) < 1e-9*math.Max(1, math.Abs(v)) {
			return d
		}
	}
	return 3
}

// freeRun returns the rightmost place on a row where n cells hold no curve; without one, the place at the right end.
func (p *plot) freeRun(y, n int) int {
	free := 0
	for x := p.w - 2; x > 0; x-- {
		if p.cells[y*p.w+x].rank >= curve {
			free = 0
			continue
		}
		if free++; free == n {
			return x
		}
	}
	return max(0, p.w-1-n)
}

// row returns the cell row of a value.
func (p *plot) row(v float64) int {
	_, y := p.place(time.Time{}, v)
	_, cy := p.cellOf(0, int(math.Round(y)))
	return max(0, min(cy, p.h-1))
}

// vertical draws a line at an instant.
func (p *plot) vertical(at, from, to time.Time) {
	if at.IsZero() || at.Before(from) || at.After(to) {
		return
	}
	cx := p.columnOf(at)
	for y := range p.h {
		p.put(cx, y, cell{first(p.t.Glyphs.Vertical), ui.Style{}, rule})
	}
}

// line draws one row of the plot, neighbours of one look together.
func (p *plot) line(b *strings.Builder, y int) {
	row := p.cells[y*p.w : (y+1)*p.w]
	for x := 0; x < len(row); {
		end := x
		var run strings.Builder
		for end < len(row) && row[end].style == row[x].style {
			if row[end].glyph == 0 {
				run.WriteByte(' ')
			} else {
				run.WriteRune(row[end].glyph)
			}
			end++
		}
		b.WriteString(row[x].style.Render(run.String()))
		x = end
	}
}

// blank centres a sentence in an otherwise empty figure.
func blank(t ui.Theme, sentence string, w, h int) string {
	lines := make([]string, h)
	for i, l := range text.Wrap(sentence, w) {
		if y := (h-1)/2 + i; y < h {
			lines[y] = l
		}
	}
	for i, l := range lines {
		lines[i] = t.Fit(l, w)
	}
	return strings.Join(lines, "\n")
}
