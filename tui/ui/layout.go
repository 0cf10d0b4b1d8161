package ui

import (
	"fmt"
	"strings"

	"example.org/headpond/tui/ui/text"
)

// The smallest window that the screens are laid out for. Below it one sentence stands instead.
const (
	MinWidth  = 40
	MinHeight = 10
)

// Clamp makes a view fit a window: no line wider than w, no more than h lines. A line that was cut ends in the theme's mark;
// where lines were cut, the last says how many. It is the last step of every frame, since bubbletea would drop a tall view's
// top lines and cut wide ones without a mark. With ASCII it also leaves no other character.
func Clamp(t Theme, view string, w, h int) string {
	if w <= 0 || h <= 0 {
		return ""
	}
	if t.ASCII {
		view = text.ASCII(view)
	}
	lines := strings.Split(view, "\n")
	if n := len(lines); n > h {
		lines = lines[:h]
		if h > 1 {
			lines[h-1] = fmt.Sprintf("%d more below", n-h+1)
		} else {
			lines[0] = text.PadRight(lines[0], w) + " " // so that its cut shows
		}
	}
	for i, l := range lines {
		lines[i] = t.Cut(l, w)
	}
	return strings.Join(lines, "\n")
}

// TooSmall returns the sentence that stands instead of a view that needs more room, wrapped to the window, and whether it is
// needed.
func TooSmall(t Theme, w, h, needW, needH int) (view string, tooSmall bool) {
	if w >= needW && h >= needH {
		return "", false
	}
	s := fmt.Sprintf("This window is %d by %d. It must be at least %d by %d. Nothing is lost.", max(0, w), max(0, h), needW, needH)
	return Clamp(t, strings.Join(text.Wrap(s, w), "\n"), w, h), true
}

// Section draws a heading with a rule to the full width, and the body under it.
func Section(t Theme, title, body string, w int) string {
	head := t.Cut(title, w)
	rule := ""
	if n := w - text.Width(head) - 1; n > 0 {
		rule = " " + t.Line.Render(strings.Repeat(t.Glyphs.Horizontal, n))
	}
	head = t.Heading.Render(head) + rule
	if body == "" {
		return head
	}
	return head + "\n" + body
}

// Stack puts views under each other with an empty line between; empty views leave no line.
func Stack(views ...string) string {
	var kept []string
	for _, v := range views {
		if v != "" {
			kept = append(kept, v)
		}
	}
	return strings.Join(kept, "\n\n")
}

// Column is one of several views side by side.
type Column struct {
	Min    int                // the narrowest width at which it can be read
	Weight int                // its part of the room to spare; 0 takes none
	Body   func(w int) string // draws it into w cells
}

// Columns puts views side by side with gap cells between where all have their smallest width, and under each other with the
// full width where not.
func Columns(t Theme, w, gap int, cols ...Column) string {
	need, weight := gap*(len(cols)-1), 0
	for _, c := range cols {
		need += c.Min
		weight += c.Weight
	}
	if need > w {
		views := make([]string, len(cols))
		for i, c := range cols {
			views[i] = c.Body(max(0, w))
		}
		return Stack(views...)
	}
	spare := w - need
	blocks, widths := make([][]string, len(cols)), make([]int, len(cols))
	for i, c := range cols {
		widths[i] = c.Min
		if c.Weight > 0 {
			part := spare * c.Weight / weight
			widths[i], spare, weight = c.Min+part, spare-part, weight-c.Weight
		}
		blocks[i] = strings.Split(c.Body(widths[i]), "\n")
	}
	return beside(t, gap, blocks, widths)
}

// beside joins blocks line by line, each line fitted to its block's width.
func beside(t Theme, gap int, blocks [][]string, widths []int) string {
	height := 0
	for _, b := range blocks {
		height = max(height, len(b))
	}
	rows := make([]string, height)
	for y := range rows {
		var row strings.Builder
		for i, b := range blocks {
			line := ""
			if y < len(b) {
				line = b[y]
			}
			if i > 0 {
				row.WriteString(strings.Repeat(" ", gap))
			}
			row.WriteString(t.Fit(line, widths[i]))
		}
		rows[y] = strings.TrimRight(row.String(), " ")
	}
	return strings.Join(rows, "\n")
}
