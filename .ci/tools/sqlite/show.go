package main

import (
	"fmt"
	"strings"
)

// show prints two tables in Markdown: by the clock, and in processor time. Each cell has the book's time, SQLite's with its file
// opened for each question, and SQLite's with its file kept open, where there is that way.
func show(tables []*table) {
	for _, t := range tables {
		fmt.Printf("%d years: %d rounds; the book %.1f MB, SQLite %.1f MB (version %s)\n", t.years, t.rounds, t.bookMB, t.sqliteMB, t.sqliteVersion)
	}
	showOne("By the clock", tables, func(r row) medians { return r.clock })
	showOne("Processor time", tables, func(r row) medians { return r.processor })
}

func showOne(title string, tables []*table, of func(row) medians) {
	fmt.Printf("\n%s, ms: headpond / SQLite opened each time / SQLite kept open\n\n| question |", title)
	for _, t := range tables {
		fmt.Printf(" %d years | ratio |", t.years)
	}
	first, last := tables[0], tables[len(tables)-1]
	fmt.Printf(" growth, %.0f times the rounds |\n|---|%s---|\n", float64(last.rounds)/float64(first.rounds), strings.Repeat("---|---|", len(tables)))
	for i, r := range first.rows {
		fmt.Printf("| %s |", r.name)
		for _, t := range tables {
			m := of(t.rows[i])
			fmt.Printf(" %s | %s |", m.cells(digits), medians{1, m.book / m.opened, over(m.book, m.kept)}.ratios())
		}
		a, z := of(r), of(last.rows[i])
		growth := medians{z.book / a.book, z.opened / a.opened, over(z.kept, a.kept)}
		fmt.Printf(" %s |\n", growth.cells(func(x float64) string { return fmt.Sprintf("%.1f", x) }))
	}
}

// over is a ratio, 0 where one side was not measured.
func over(a, b float64) float64 {
	if a == 0 || b == 0 {
		return 0
	}
	return a / b
}

// cells are the ways that were measured.
func (m medians) cells(digits func(float64) string) string {
	text := digits(m.book) + " / " + digits(m.opened)
	if m.kept > 0 {
		text += " / " + digits(m.kept)
	}
	return text
}

// ratios are the book's time over SQLite's in each way.
func (m medians) ratios() string {
	text := fmt.Sprintf("%.2f", m.opened)
	if m.kept > 0 {
		text += fmt.Sprintf(", %.2f", m.kept)
	}
	return text
}

// digits shows milliseconds with three figures.
func digits(ms float64) string {
	switch {
	case ms < 1:
		return fmt.Sprintf("%.3f", ms)
	case ms < 10:
		return fmt.Sprintf("%.2f", ms)
	case ms < 100:
		return fmt.Sprintf("%.1f", ms)
	}
	return fmt.Sprintf("%.0f", ms)
}
