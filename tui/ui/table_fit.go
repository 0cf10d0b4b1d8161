package ui

import "example.org/headpond/tui/ui/text"

// columnGap stands between two columns.
const columnGap = "  "

// fitted is a column that is shown, with its width.
type fitted struct{ index, width int }

// fitColumns gives each column its wanted width where all have room. Otherwise it narrows the growing columns; where that is
// not enough it leaves out the column of the highest rank (of those the last) and tries again; only when none may be left out
// does it narrow the others. A whole time is worth more than half a time and half a name.
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
		drop := tb.leastWanted(cols)
		if tb.narrow(cols, -spare, drop < 0) || drop < 0 {
			return cols // where even that was not enough, the line will be cut, with its mark
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

// narrow takes n cells from the growing columns, down to their least, and reports whether that was enough; the columns are
// changed only then. With all set it takes what it can from every column.
func (tb Table) narrow(cols []fitted, n int, all bool) bool {
	could := 0
	for _, c := range cols {
		if all || tb.Columns[c.index].Grow {
			could += c.width - tb.least(c.index)
		}
	}
	if could < n && !all {
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
	return n <= 0
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
