package ui

import "example.org/headpond/tui/ui/text"

// columnGap stands between two columns.
const columnGap = "  "

// fitted is a column that is shown, with its width.
type fitted struct{ index, width int }

// fitColumns gives each column its wanted width where all have room. Otherwise it narrows the growing columns, then the
// others by turns down to their smallest width, and where that is not enough leaves out the column of the highest rank (of
// those the last) and tries again.
func (tb Table) fitColumns(rows []TableRow) []fitted {
	cols := make([]fitted, len(tb.Columns))
	for i := range tb.Columns {
		cols[i] = fitted{index: i, width: tb.wanted(i, rows)}
	}
	room := tb.w - 2 // the selection sign
	for {
		spare := room - total(cols)
		if spare >= 0 {
			return tb.widen(cols, spare)
		}
		if tb.narrow(cols, -spare) {
			return cols
		}
		drop := tb.leastWanted(cols)
		if drop < 0 {
			return cols // the line will be cut, with its mark
		}
		cols = append(cols[:drop:drop], cols[drop+1:]...)
		for i, c := range cols {
			cols[i].width = tb.wanted(c.index, rows)
		}
	}
}

// wanted is a column's width where there is room enough.
func (tb Table) wanted(i int, rows []TableRow) int {
	c := tb.Columns[i]
	w := max(c.Width, tb.least(i))
	if c.Width > 0 {
		return w
	}
	for _, r := range rows {
		w = max(w, text.Width(r.Cells[i]))
	}
	return w
}

// least is the narrowest that a column may be.
func (tb Table) least(i int) int {
	if c := tb.Columns[i]; c.Min > 0 {
		return c.Min
	}
	return text.Width(tb.Columns[i].Title)
}

// total is the width of columns with the gaps between.
func total(cols []fitted) int {
	n := max(0, len(cols)-1) * len(columnGap)
	for _, c := range cols {
		n += c.width
	}
	return n
}

// widen shares room to spare among the growing columns.
func (tb Table) widen(cols []fitted, spare int) []fitted {
	var growing []int
	for i, c := range cols {
		if tb.Columns[c.index].Grow {
			growing = append(growing, i)
		}
	}
	for k, i := range growing {
		part := spare / (len(growing) - k)
		cols[i].width += part
		spare -= part
	}
	return cols
}

// narrow takes n cells from columns that are wider than their least, growing ones first, and reports whether it could. The
// columns are changed only then.
func (tb Table) narrow(cols []fitted, n int) bool {
	could := 0
	for _, c := range cols {
		could += c.width - tb.least(c.index)
	}
	if could < n {
		return false
	}
	for _, growing := range []bool{true, false} {
		for i, c := range cols {
			if tb.Columns[c.index].Grow == growing {
				take := min(n, c.width-tb.least(c.index))
				cols[i].width -= take
				n -= take
			}
		}
	}
	return true
}

// leastWanted returns the position of the column to leave out next, -1 where none may be.
func (tb Table) leastWanted(cols []fitted) int {
	drop, rank := -1, 0
	for i, c := range cols {
		if r := tb.Columns[c.index].Rank; r > 0 && r >= rank {
			drop, rank = i, r
		}
	}
	return drop
}
