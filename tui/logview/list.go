package logview

import (
	"fmt"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/logbook"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// listView draws the list under its head.
func (s Screen) listView() string {
	tb := s.table
	clock := clockFor(s.w, s.ledger.otherYear, s.ledger.twice)
	w := wordsOf(s.Common)
	tb.Columns = columns(w, s.ledger.nameWidth(), clock)
	tb.Empty = s.empty()
	tb.Row = func(i int) ui.TableRow {
		it := s.ledger.items[s.shown[i]]
		var j judgement
		if it.kind == aRound {
			j = s.ledger.judge(it.round)
		}
		row := w.row(it, j, clock)
		if s.ledger.notYet(it) {
			const mark = "NOT COME YET"
			row.Cells[colRemarks] = join(mark, row.Cells[colRemarks])
			if row.Wide != "" {
				row.Wide = join(mark, row.Wide)
			}
		}
		return row
	}
	return strings.Join(append(s.head(), tb.View(s.Theme)), "\n")
}

// empty is the sentence where no item is shown.
func (s Screen) empty() string {
	switch {
	case s.scan.running():
		return " None yet."
	case !s.filter.any() && s.ledger.h.Complete:
		return " Nothing has been written yet: r walks a round, e writes an event."
	case !s.ledger.h.Complete:
		return " Nothing of this kind since " + wordsOf(s.Common).moment(s.ledger.from) + ": o looks further back, x shows everything."
	}
	return " Nothing in the book is of this kind: x shows everything."
}

// head is what stands over the list: what is shown, what is under way, which drafts are kept, and the fields of a filter that
// is being typed.
func (s Screen) head() []string {
	if s.ledger == nil {
		return nil
	}
	out := []string{" " + text.Show(s.summary())}
	line := func(look ui.Style, sentence string) {
		for _, l := range text.Wrap(text.Show(sentence), max(10, s.w-2)) {
			out = append(out, " "+look.Render(l))
		}
	}
	t := s.Theme
	if s.older.job != nil {
		line(t.Strong, s.older.progress())
	}
	if s.scan.running() {
		line(t.Strong, s.scan.progress())
	}
	if what := s.amend.waiting(); what != "" {
		line(t.Strong, "A correction of the "+what+" was not saved and is kept: c goes on with it.")
	}
	if s.event.has() {
		line(t.Strong, "An event that was not saved is kept: e goes on with it.")
	}
	for _, c := range s.ledger.h.Cautions {
		line(t.Near, "! "+c)
	}
	if s.finder.open != noFinder {
		out = append(out, s.finder.lines(t, s.w)...)
	}
	return out
}

// summary says what the list holds: "243 entries of the last 120 days, newest first".
func (s Screen) summary() string {
	l := s.ledger
	reach := ""
	if !l.h.Complete {
		reach = fmt.Sprintf(" of the last %d days", logbook.DefaultDays)
	}
	if !s.filter.any() {
		return fmt.Sprintf("%d %s%s, newest first.", len(l.items), plural(len(l.items), "entry", "entries"), reach)
	}
	return fmt.Sprintf("%d of %d entries%s: %s.", len(s.shown), len(l.items), reach, s.filter.words(wordsOf(s.Common)))
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// listKey treats a key of the list.
func (s Screen) listKey(msg tea.Msg, action string, cmd tea.Cmd) (Screen, tea.Cmd) {
	switch action {
	case "log.open":
		return s.openSelected()
	case "log.correct":
		return s.startAmend(s.selected().entry(), "")
	case "log.event":
		return s.startEvent()
	case "log.find":
		s.finder = newFinder(findText, s)
	case "log.dates":
		s.finder = newFinder(findDates, s)
	case "log.kind":
		return s.refilter(s.filter.nextKind())
	case "log.person":
		return s.refilter(s.filter.nextPerson(s.ledger.persons))
	case "log.out":
		f := s.filter
		f.out = !f.out
		return s.refilter(f)
	case "log.clear":
		return s.refilter(filter{})
	case "log.older":
		s.older.wanted = true
		return s.readAll()
	case "log.stop":
		return s.stopReading()
	case "log.round":
		return s, desk.Go("round", "")
	case "log.move", "":
		if key, ok := msg.(tea.KeyMsg); ok && cmd == nil {
			return s.move(key)
		}
	}
	return s, cmd
}

// openSelected shows the selected entry; a plant revision is shown by the Plant screen.
func (s Screen) openSelected() (Screen, tea.Cmd) {
	it := s.selected()
	if it.id == "" {
		return s, nil
	}
	if it.kind == aRevision {
		return s, desk.Go("plant", it.id)
	}
	s.mode, s.page = reading, newPage(it.entry())
	return s, nil
}

// move moves the selection; at the end of what was read, older entries are asked for.
func (s Screen) move(key tea.KeyMsg) (Screen, tea.Cmd) {
	var moved bool
	s.pick = ""
	s.table, moved = s.table.Key(key)
	atEnd := s.table.At >= len(s.shown)-1
	if down := key.Type == tea.KeyDown || key.Type == tea.KeyPgDown || key.Type == tea.KeyEnd; moved && down && atEnd && s.noOlder() == "" {
		s.older.wanted = true
		return s.readAll()
	}
	return s, nil
}

// refilter shows what another filter leaves.
func (s Screen) refilter(f filter) (Screen, tea.Cmd) {
	s.filter = f
	return s.chosen().startScan()
}
