package logview

import (
	"slices"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// page is an open entry: its values in a table of which one is chosen, and under or beside it what else is known.
type page struct {
	it     item
	at     int // the chosen value
	scroll ui.Scroll
}

func newPage(it item) page { return page{it: it} }

// Columns of an entry's table, and the width from which the rest stands beside it.
const (
	factLabel = iota
	factValue
	factState
	factBand
	factExpected

	besideFrom = 116
	tableMin   = 72
)

func factColumns(wide bool) []ui.TableColumn {
	label := 20
	if wide {
		label = 22
	}
	return []ui.TableColumn{
		factLabel:    {Title: "reading", Width: label, Min: 12, Grow: true},
		factValue:    {Title: "value", Align: ui.Right, Width: 12},
		factState:    {Title: "state", Width: 7},
		factBand:     {Title: "in band", Align: ui.Right, Width: 16, Rank: 2},
		factExpected: {Title: "expected", Align: ui.Right, Width: 9, Rank: 1},
	}
}

// view draws the page.
func (p page) view(s Screen) string {
	lines, _ := p.lines(s)
	return p.scroll.View(s.Theme, lines, s.w, s.h)
}

// lines lays the page out and tells on which line the chosen value stands.
func (p page) lines(s Screen) (lines []string, chosen int) {
	facts := s.facts(p.it)
	head := s.pageHead(p.it)
	table := func(w int) string {
		tb := ui.Table{Columns: factColumns(w > tableMin), Len: len(facts), Row: func(i int) ui.TableRow { return facts[i].row() }}
		return tb.SetSize(w, len(facts)+1).Select(p.at).View(s.Theme)
	}
	rest := func(w int) string { return strings.Join(s.rest(p.it, w), "\n") }
	body := table(s.w) + "\n" + rest(s.w)
	if s.w >= besideFrom {
		body = ui.Columns(s.Theme, s.w, 3, ui.Column{Min: tableMin, Weight: 1, Body: table}, ui.Column{Min: 38, Weight: 2, Body: rest})
	}
	return append(head, strings.Split(body, "\n")...), len(head) + 1 + p.at
}

// row draws a fact as a table's row. What is no number has the room of all columns.
func (f fact) row() ui.TableRow {
	if f.wide {
		return ui.TableRow{Cells: []string{f.label}, Wide: f.value, From: factValue}
	}
	verdict := strings.TrimSpace(f.state.Word() + " " + f.state.Sign())
	return ui.TableRow{Cells: []string{f.label, f.value, verdict, f.band, f.expected}, States: []ui.State{0, f.state, f.state}}
}

// pageKey treats a key while an entry is open.
func (s Screen) pageKey(key tea.KeyMsg, action string, cmd tea.Cmd) (Screen, tea.Cmd) {
	switch action {
	case "log.back":
		s.mode = listing
	case "log.correct":
		facts := s.facts(s.page.it)
		return s.startAmend(s.page.it, facts[min(s.page.at, len(facts)-1)].key)
	case "log.event":
		return s.startEvent()
	case "log.newer":
		return s.neighbour(-1)
	case "log.next":
		return s.neighbour(1)
	case "log.choose":
		s.page = s.page.move(s, key)
	}
	return s, cmd
}

// move chooses another value with the arrows, and scrolls on where there is none in that direction or with the other keys.
func (p page) move(s Screen, key tea.KeyMsg) page {
	lines, chosen := p.lines(s)
	last := len(s.facts(p.it)) - 1
	inSight := p.scroll.Reveal(chosen, chosen, len(lines), s.h) == p.scroll
	to := p.at
	switch {
	case key.Type == tea.KeyDown && inSight:
		to++
	case key.Type == tea.KeyUp && inSight:
		to--
	}
	if to == p.at || to < 0 || to > last {
		p.scroll, _ = p.scroll.Key(key, len(lines), s.h)
		return p
	}
	chosen += to - p.at
	p.at = to
	if to == 0 {
		p.scroll = ui.Scroll{} // the head too
	}
	p.scroll = p.scroll.Reveal(chosen, chosen, len(lines), s.h)
	return p
}

// neighbour opens the entry above or below in the list. Corrections are passed over: they are shown with their entry.
func (s Screen) neighbour(by int) (Screen, tea.Cmd) {
	for i := s.table.At + by; i >= 0 && i < len(s.shown); i += by {
		it := s.ledger.items[s.shown[i]]
		if it.kind == aChange || it.kind == aRevision {
			continue
		}
		s.table = s.table.Select(i)
		s.page = newPage(it)
		return s, nil
	}
	end := "the newest"
	if by > 0 {
		end = "the oldest"
	}
	return s, ui.Say(ui.Unjudged, "This is "+end+" entry of the list")
}

// pageHead names the entry, with how it stands and when it was written down if that was later.
func (s Screen) pageHead(it item) []string {
	w := wordsOf(s.Common)
	name := it.named(w)
	title := strings.ToUpper(name[:1]) + name[1:]
	if it.by != "" {
		title += ", by " + it.by
	}
	state := ui.Unjudged
	if it.kind == aRound {
		state = s.ledger.judge(it.round).worst
	}
	line := " " + s.Theme.Strong.Render(text.Show(title))
	if state != ui.Unjudged {
		line += ": " + s.Theme.Verdict(state)
	}
	out := []string{line}
	if l := late(it.at, it.writtenAt()); l != "" {
		out = append(out, " "+strings.ToUpper(l[:1])+l[1:]+", "+w.moment(it.writtenAt())+".")
	}
	if s.ledger.notYet(it) {
		for _, l := range text.Wrap("Its time has not come yet, so no answer rests on it. If the time is wrong, c corrects it.", max(10, s.w-2)) {
			out = append(out, " "+s.Theme.Near.Render(l))
		}
	}
	if all := it.corrections(); len(all) > 0 {
		var names []string
		for _, c := range all {
			if n := text.Show(label(c.Key)); !slices.Contains(names, n) {
				names = append(names, n)
			}
		}
		out = append(out, s.Theme.Cut(" Corrected since: "+strings.Join(names, ", ")+". The old values stand under Corrections.", s.w))
	}
	return out
}
