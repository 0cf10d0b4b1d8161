package logview

import (
	"slices"
	"strings"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/localtime"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// Line is a round or an event for Text.
type Line struct {
	Round  *record.Round
	Event  *record.Event
	Judged []assess.Judged // of the round; nil: Text judges it
}

// shortID is how much of an id is enough to name an entry: its time, to the millisecond.
const shortID = 10

// Text writes lines of the log for a command, in the order given, w cells wide; 0 is as wide as needed, with nothing cut, for
// what is not read from a screen. Each begins with as much of the entry's id as tells it from its neighbours.
func Text(a *assess.Assessor, lines []Line, c ui.Common, w int) string {
	if len(lines) == 0 {
		return "No entry.\n"
	}
	ww := wordsOf(c)
	otherYear, twice := false, false
	items := make([]item, len(lines))
	names := ledger{}
	for i, l := range lines {
		if l.Round != nil {
			items[i] = ofRound(l.Round)
		} else {
			items[i] = ofEvent(l.Event)
		}
		otherYear = otherYear || c.Local(items[i].at).Year() != c.Local(c.Now()).Year()
		twice = twice || localtime.Twice(items[i].at, c.Location)
		names.persons = append(names.persons, items[i].by)
	}
	clock := clockFor(max(w, 0), otherYear, twice)
	ids := shortIDs(items)
	cols := append([]ui.TableColumn{{Title: "id", Width: slices.Max(lengths(ids))}}, columns(ww, names.nameWidth(), clock)...)
	row := func(i int) ui.TableRow {
		var j judgement
		if items[i].kind == aRound {
			j = judgedLine(a, lines[i])
		}
		r := ww.row(items[i], j, clock)
		return ui.TableRow{Cells: append([]string{ids[i]}, r.Cells...), States: append([]ui.State{0}, r.States...), Wide: r.Wide, From: r.From + 1}
	}
	if w <= 0 {
		return whole(cols, len(items), row)
	}
	tb := ui.Table{Columns: cols, Len: len(items), Row: row}.SetSize(w+2, len(items)+1)
	tb.At = -1 // nothing is chosen
	var b strings.Builder
	for _, l := range strings.Split(tb.View(c.Theme), "\n") {
		b.WriteString(strings.TrimRight(strings.TrimPrefix(l, "  "), " ") + "\n")
	}
	return b.String()
}

// judgedLine judges a round unless that was done already.
func judgedLine(a *assess.Assessor, l Line) judgement {
	if l.Judged == nil {
		return judgeWith(a, *l.Round)
	}
	j := judgement{judged: l.Judged, worst: ui.StateOf(string(assess.Worst(l.Judged)))}
	if ids, known := a.Running(*l.Round); known {
		j.running = record.FormatRunning(ids)
	}
	return j
}

// whole writes rows under each other in columns of their usual width; a longer cell moves the rest of its line.
func whole(cols []ui.TableColumn, n int, row func(int) ui.TableRow) string {
	var b strings.Builder
	line := func(r ui.TableRow) {
		var parts []string
		for i, c := range cols {
			if r.Wide != "" && i >= r.From {
				parts = append(parts, text.Show(r.Wide))
				break
			}
			cell := text.Show(r.Cells[i])
			width := max(c.Width, len(c.Title))
			switch {
			case i == len(cols)-1:
			case c.Align == ui.Right:
				cell = text.PadLeft(cell, width)
			default:
				cell = text.PadRight(cell, width)
			}
			parts = append(parts, cell)
		}
		b.WriteString(strings.TrimRight(strings.Join(parts, "  "), " ") + "\n")
	}
	heads := ui.TableRow{Cells: make([]string, len(cols))}
	for i, c := range cols {
		heads.Cells[i] = c.Title
	}
	line(heads)
	for i := range n {
		line(row(i))
	}
	return b.String()
}

// shortIDs cuts ids as far as they still differ.
func shortIDs(items []item) []string {
	sorted := make([]string, len(items))
	for i, it := range items {
		sorted[i] = it.id
	}
	slices.Sort(sorted)
	n := shortID
	for i := 1; i < len(sorted); i++ {
		a, b := sorted[i-1], sorted[i]
		for n < len(a) && n < len(b) && a != b && a[:n] == b[:n] {
			n++
		}
	}
	out := make([]string, len(items))
	for i, it := range items {
		out[i] = it.id[:min(n, len(it.id))]
	}
	return out
}

func lengths(list []string) []int {
	out := make([]int, len(list))
	for i, s := range list {
		out[i] = len(s)
	}
	return out
}
