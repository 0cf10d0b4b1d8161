package ui

import (
	"fmt"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/tui/ui/text"
)

// Align says on which side a column's cells stand.
type Align int

// Numbers stand right, words left.
const (
	Left Align = iota
	Right
)

// TableColumn describes one column.
type TableColumn struct {
	Title string
	Align Align
	Width int  // cells wanted; 0 measures the rows on show, which is steady only where they are alike
	Min   int  // never narrower; below it the column is left out; 0 is its title's width
	Rank  int  // columns of the highest rank are left out first; rank 0 never is
	Grow  bool // takes the room to spare
}

// TableRow is one row: plain cells (colour codes would be cut wrongly), its state, and states of single cells where they
// differ. Cells go through text.Show by themselves.
type TableRow struct {
	Cells  []string
	State  State
	States []State // by cell; may be shorter than Cells
	// Wide is a text that stands from column From on in place of the cells there: a sentence among rows of numbers.
	Wide string
	From int
}

// Table shows rows of which only the visible ones are asked for, so that any number is fast. It is a value.
type Table struct {
	Columns []TableColumn
	Len     int
	Row     func(i int) TableRow // called for 0 ≤ i < Len, for the rows on show only
	At      int                  // the selected row
	Empty   string               // the sentence that stands where there are no rows
	scroll  Scroll
	w, h    int
}

// SetSize sets the room, the heading line included.
func (tb Table) SetSize(w, h int) Table { tb.w, tb.h = w, h; return tb.Select(tb.At) }

// Select moves the selection to a row, or to the nearest that there is, and the window with it.
func (tb Table) Select(i int) Table {
	tb.At = max(0, min(i, tb.Len-1))
	tb.scroll = tb.scroll.Reveal(tb.At, tb.At, tb.Len, tb.body())
	return tb
}

// body is the height under the heading.
func (tb Table) body() int { return max(0, tb.h-1) }

// Key moves the selection for the arrow and paging keys and reports whether the key was one.
func (tb Table) Key(key tea.KeyMsg) (Table, bool) {
	page := max(1, tb.body()-2)
	switch key.Type {
	case tea.KeyUp:
		return tb.Select(tb.At - 1), true
	case tea.KeyDown:
		return tb.Select(tb.At + 1), true
	case tea.KeyPgUp:
		return tb.Select(tb.At - page), true
	case tea.KeyPgDown:
		return tb.Select(tb.At + page), true
	case tea.KeyHome:
		return tb.Select(0), true
	case tea.KeyEnd:
		return tb.Select(tb.Len - 1), true
	default:
		return tb, false
	}
}

// View draws the heading and the rows on show. The selected row is in reverse video and has a ">" in front.
func (tb Table) View(t Theme) string {
	if tb.w <= 0 || tb.h <= 0 {
		return ""
	}
	if tb.Len <= 0 || tb.Row == nil {
		return t.Cut(tb.Empty, tb.w)
	}
	from, to, above, below := tb.scroll.room(tb.Len, tb.body())
	rows := make([]TableRow, 0, to-from)
	for i := from; i < to; i++ {
		rows = append(rows, tb.safeRow(i))
	}
	cols := tb.fitColumns(rows)
	lines := []string{t.Heading.Render(t.Cut(tb.heading(t, cols), tb.w))}
	if above {
		lines = append(lines, t.Dim.Render(t.Cut(fmt.Sprintf("  %d more above", from), tb.w)))
	}
	for i, r := range rows {
		lines = append(lines, tb.line(t, cols, r, from+i == tb.At))
	}
	if below {
		lines = append(lines, t.Dim.Render(t.Cut(fmt.Sprintf("  %d more below", tb.Len-to), tb.w)))
	}
	return strings.Join(lines, "\n")
}

// safeRow asks for a row and makes its cells harmless.
func (tb Table) safeRow(i int) TableRow {
	r := tb.Row(i)
	cells := make([]string, len(tb.Columns))
	for c := range cells {
		if c < len(r.Cells) {
			cells[c] = text.Show(r.Cells[c])
		}
	}
	r.Cells, r.Wide = cells, text.Show(r.Wide)
	if r.Wide != "" {
		for c := max(0, r.From); c < len(cells); c++ {
			cells[c] = "" // or it would widen a column in which it is not drawn
		}
	}
	return r
}

func (tb Table) heading(t Theme, cols []fitted) string {
	titles := make([]string, len(tb.Columns))
	for i, c := range tb.Columns {
		titles[i] = c.Title
	}
	return "  " + strings.Join(tb.cells(t, cols, titles), columnGap)
}

// cells fits the kept columns' texts to their widths.
func (tb Table) cells(t Theme, cols []fitted, texts []string) []string {
	out := make([]string, len(cols))
	for i, c := range cols {
		if tb.Columns[c.index].Align == Right {
			out[i] = t.FitLeft(texts[c.index], c.width)
		} else {
			out[i] = t.Fit(texts[c.index], c.width)
		}
	}
	return out
}

// wide returns the columns before a row's wide text, and the text in the room that is left.
func (tb Table) wide(t Theme, cols []fitted, r TableRow) ([]fitted, string) {
	n := 0
	for n < len(cols) && cols[n].index < r.From {
		n++
	}
	room := tb.w - 2
	if n > 0 {
		room -= total(cols[:n]) + len(columnGap)
	}
	return cols[:n], t.Cut(r.Wide, max(0, room))
}

func (tb Table) line(t Theme, cols []fitted, r TableRow, selected bool) string {
	wide := ""
	if r.Wide != "" {
		cols, wide = tb.wide(t, cols, r)
	}
	cells := tb.cells(t, cols, r.Cells)
	if wide != "" {
		cells, cols = append(cells, wide), append(cols[:len(cols):len(cols)], fitted{index: r.From})
	}
	if selected {
		return t.Selected.Render(t.Fit(t.Glyphs.Select+" "+strings.Join(cells, columnGap), tb.w))
	}
	for i, c := range cols {
		state := r.State
		if c.index < len(r.States) && r.States[c.index] != Unjudged {
			state = r.States[c.index]
		}
		cells[i] = t.State(state).Render(cells[i])
	}
	return t.Cut("  "+strings.Join(cells, columnGap), tb.w)
}
