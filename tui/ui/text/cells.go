package text

import (
	"strings"

	"github.com/charmbracelet/x/ansi"
)

// Width returns how many terminal cells a line takes, counted by grapheme; colour codes take none.
func Width(s string) int {
	if plainASCII(s) {
		return len(s)
	}
	return ansi.StringWidth(s)
}

// plainASCII reports whether each byte is one printable cell, by far the most frequent case.
func plainASCII(s string) bool {
	for i := range len(s) {
		if s[i] < 0x20 || s[i] > 0x7e {
			return false
		}
	}
	return true
}

// Truncate returns s in at most w cells. A cut is between graphemes and ends in mark, so that it is seen; where not even
// the mark has room, the mark is cut. Colour codes in s are kept, those after the cut too, so that colours end.
func Truncate(s string, w int, mark string) string {
	if w <= 0 {
		return ""
	}
	if Width(s) <= w {
		return s
	}
	if Width(mark) >= w {
		s, mark = mark, ""
	}
	return cut(s, w, mark)
}

// cut is ansi.Truncate, held to what Width measures: the two count a few clusters differently (an emoji selector after an
// ASCII letter), and a line that is one cell too wide breaks the whole screen.
func cut(s string, w int, mark string) string {
	for n := w; n > 0; n-- {
		if c := ansi.Truncate(s, n, mark); Width(c) <= w {
			return c
		}
	}
	return ""
}

// PadRight fills s with spaces on its right to w cells. It never cuts.
func PadRight(s string, w int) string { return s + spaces(w-Width(s)) }

// PadLeft fills s with spaces on its left to w cells. It never cuts.
func PadLeft(s string, w int) string { return spaces(w-Width(s)) + s }

// Centre puts s in the middle of w cells. It never cuts.
func Centre(s string, w int) string {
	gap := w - Width(s)
	return spaces(gap/2) + s + spaces(gap-gap/2)
}

// Fit returns s in exactly w cells, cut with the mark or filled on the right.
func Fit(s string, w int, mark string) string { return PadRight(Truncate(s, w, mark), w) }

// FitLeft returns s in exactly w cells, cut with the mark or filled on the left, as a number stands in a column.
func FitLeft(s string, w int, mark string) string { return PadLeft(Truncate(s, w, mark), w) }

// Cut returns the cells from (inclusive) to (exclusive) of a line, colours kept.
func Cut(s string, from, to int) string {
	if to <= from {
		return ""
	}
	return ansi.Cut(s, from, to)
}

// spaces is n spaces, none for a negative n.
func spaces(n int) string { return strings.Repeat(" ", max(0, n)) }
