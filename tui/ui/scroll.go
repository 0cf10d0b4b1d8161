package ui

import (
	"fmt"
	"strings"

	tea "github.com/charmbracelet/bubbletea"
)

// Scroll is a window's place over more lines than fit. The zero value stands at the top.
type Scroll struct{ Top int }

// room returns the lines from (inclusive) to (exclusive) that are shown of total in a window h high, and whether lines above
// and below are hidden. From three lines up, a hint takes the place of the window's first or last line, and its line counts as hidden.
func (s Scroll) room(total, h int) (from, to int, above, below bool) {
	top := s.within(total, h).Top
	from, to = top, min(total, top+max(0, h))
	if h < 3 {
		return from, to, false, false
	}
	above, below = from > 0, to < total
	if above {
		from++
	}
	if below {
		to--
	}
	return from, to, above, below
}

// within moves the window back where it stands past either end.
func (s Scroll) within(total, h int) Scroll {
	return Scroll{Top: max(0, min(s.Top, total-max(1, h)))}
}

// Reveal moves the window as little as needed to show the lines first to last (inclusive); where they do not fit together,
// first is shown.
func (s Scroll) Reveal(first, last, total, h int) Scroll {
	hint := 0
	if h >= 3 {
		hint = 1
	}
	s = s.within(total, h)
	if from, to, _, _ := s.room(total, h); first >= from && last < to {
		return s
	}
	if _, to, _, _ := s.room(total, h); last >= to {
		s.Top = last + 1 + hint - h // the last line above the hint below
		if last == total-1 {
			s.Top = total - h
		}
		s = s.within(total, h)
	}
	if from, _, _, _ := s.room(total, h); first < from {
		s.Top = first - hint
		if first == 0 {
			s.Top = 0
		}
	}
	return s.within(total, h)
}

// Key moves the window for the scrolling keys and reports whether the key was one.
func (s Scroll) Key(key tea.KeyMsg, total, h int) (Scroll, bool) {
	page := max(1, h-2)
	switch key.Type {
	case tea.KeyUp:
		s.Top--
	case tea.KeyDown:
		s.Top++
	case tea.KeyPgUp:
		s.Top -= page
	case tea.KeyPgDown:
		s.Top += page
	case tea.KeyHome:
		s.Top = 0
	case tea.KeyEnd:
		s.Top = total
	default:
		return s, false
	}
	return s.within(total, h), true
}

// View draws the window's lines, each cut to w cells, with "N more above" and "N more below" where lines are hidden.
func (s Scroll) View(t Theme, lines []string, w, h int) string {
	if w <= 0 || h <= 0 {
		return ""
	}
	from, to, above, below := s.room(len(lines), h)
	var out []string
	if above {
		out = append(out, t.Dim.Render(t.Cut(fmt.Sprintf("%d more above", from), w)))
	}
	for _, l := range lines[from:to] {
		out = append(out, t.Cut(l, w))
	}
	if below {
		out = append(out, t.Dim.Render(t.Cut(fmt.Sprintf("%d more below", len(lines)-to), w)))
	}
	return strings.Join(out, "\n")
}
