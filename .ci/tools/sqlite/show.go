package main

import "fmt"

// show prints the tables in Markdown, as they stand in DEVELOPERS.md, and then how each question grew.
func show(tables []*table) {
	for _, t := range tables {
		fmt.Printf("\n%d years: %d rounds; the book %.1f MB, SQLite %.1f MB (%s)\n\n", t.years, t.rounds, t.bookMB, t.sqliteMB, t.sqliteVersion)
		fmt.Println("| question | headpond, ms | SQLite, opened for each, ms | SQLite, kept open, ms | ratio to the same way | ratio to the better |")
		fmt.Println("|---|---|---|---|---|---|")
		for _, r := range t.rows {
			kept, better := "–", r.opened
			if r.kept > 0 {
				kept, better = digits(r.kept), min(r.kept, r.opened)
			}
			fmt.Printf("| %s | %s | %s | %s | %.2f | %.2f |\n", r.name, digits(r.book), digits(r.opened), kept, r.book/r.opened, r.book/better)
		}
	}
	if len(tables) < 2 {
		return
	}
	first, last := tables[0], tables[len(tables)-1]
	fmt.Printf("\nFrom %d to %d years, %.0f times as many rounds, each takes so many times as long:\n\n", first.years, last.years, float64(last.rounds)/float64(first.rounds))
	fmt.Println("| question | headpond | SQLite, opened for each | SQLite, kept open |")
	fmt.Println("|---|---|---|---|")
	for i, r := range first.rows {
		l := last.rows[i]
		kept := "–"
		if r.kept > 0 {
			kept = fmt.Sprintf("%.1f", l.kept/r.kept)
		}
		fmt.Printf("| %s | %.1f | %.1f | %s |\n", r.name, l.book/r.book, l.opened/r.opened, kept)
	}
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
