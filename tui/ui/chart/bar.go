package chart

import (
	"math"
	"strings"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// Bar is one horizontal bar with its label before and its value, already written with its unit, behind.
type Bar struct {
	Label string
	Value float64
	Shown string // "4.2 kW"
	State ui.State
}

// Bars draws bars under each other into w cells, all on the scale from 0 to full. A value above full ends in ">", one below
// zero is "<"; a missing one (NaN) has no bar.
func Bars(t ui.Theme, full float64, w int, bars ...Bar) string {
	labelW, shownW := 0, 0
	for _, b := range bars {
		labelW, shownW = max(labelW, text.Width(text.Show(b.Label))), max(shownW, text.Width(b.Shown))
	}
	labelW = min(labelW, max(0, w/3))
	room := w - labelW - shownW - 2
	lines := make([]string, len(bars))
	for i, b := range bars {
		line := t.Fit(text.Show(b.Label), labelW)
		if room >= 4 {
			line += " " + t.State(b.State).Render(text.PadRight(run(t, b.Value, full, room), room))
		}
		lines[i] = t.Cut(line+" "+t.FitLeft(b.Shown, shownW), w)
	}
	return strings.Join(lines, "\n")
}

// run is a bar alone, to half a cell.
func run(t ui.Theme, value, full float64, w int) string {
	switch {
	case w < 1 || !usable(value) || !usable(full) || value == 0:
		return ""
	case value < 0:
		return "<"
	case full <= 0 || value > full*(1+1e-9):
		return strings.Repeat(t.Glyphs.Full, w-1) + ">"
	}
	halves := min(2*w, max(1, int(math.Round(value/full*float64(2*w)))))
	bar := strings.Repeat(t.Glyphs.Full, halves/2)
	if halves%2 == 1 {
		bar += t.Glyphs.Left
	}
	return bar
}

// Part is one part of a stacked bar.
type Part struct {
	Name  string
	Value float64
	Shown string // "4.2 kW"
	State ui.State
}

// StackedBar draws parts one after another on the scale from 0 to full, each with its own glyph, and under the bar what each glyph is,
// wrapped to w cells. The rest up to full stays blank before the closing line. Parts that together pass full squeeze the
// scale and the closing line moves in, so that the excess shows behind it. A part of nothing, less than nothing or unknown
// has no cells, but still its words.
func StackedBar(t ui.Theme, full float64, w int, parts ...Part) string {
	if w < 3 {
		return t.Cut(t.Glyphs.Vertical, w)
	}
	values := make([]float64, len(parts))
	sum := 0.0
	for i, p := range parts {
		if usable(p.Value) && p.Value > 0 {
			values[i] = p.Value
			sum += p.Value
		}
	}
	if !usable(full) || full <= 0 {
		full = sum
	}
	scale := math.Max(sum, full)
	cells := strings.Builder{}
	room := w - 2
	used, at, closing := 0, 0.0, room
	if scale > 0 {
		closing = int(math.Round(full / scale * float64(room)))
	}
	for i, v := range values {
		at += v
		end := used
		if v > 0 {
			end = max(used+1, int(math.Round(at/scale*float64(room))))
		}
		end = min(end, room)
		piece := strings.Repeat(partGlyph(t, i), end-used)
		cells.WriteString(t.State(parts[i].State).Render(piece))
		used = end
	}
	cells.WriteString(strings.Repeat(" ", room-used))
	bar := text.Cut(cells.String(), 0, closing) + t.Glyphs.Vertical + text.Cut(cells.String(), closing, room)
	return t.Glyphs.Vertical + bar + "\n" + strings.Join(partNames(t, w, parts), "\n")
}

// partGlyph tells the parts apart; from the fifth on they repeat.
func partGlyph(t ui.Theme, i int) string {
	return [...]string{t.Glyphs.Full, t.Glyphs.Left, t.Glyphs.Lower, t.Glyphs.Horizontal}[i%4]
}

// partNames lists the parts with their glyphs, as many to a line as have room.
func partNames(t ui.Theme, w int, parts []Part) []string {
	var lines []string
	line := ""
	for i, p := range parts {
		item := partGlyph(t, i) + " " + strings.TrimSpace(text.Show(p.Name)+" "+text.Show(p.Shown))
		item = t.Cut(item, w)
		if line != "" && text.Width(line)+3+text.Width(item) > w {
			lines, line = append(lines, line), ""
		}
		if line != "" {
			line += "   "
		}
		line += item
	}
	return append(lines, line)
}
