package upkeepview

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/checklist"
	"example.org/headpond/model/record"
	"example.org/headpond/model/upkeep"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// row is one line that can be picked: a task or a checklist.
type row struct {
	task upkeep.Task
	list checklist.List
	last *record.Done // when the list was last walked
}

func (r row) isList() bool { return r.list.Name != "" }

func (r row) name() string {
	if r.isList() {
		return r.list.Name
	}
	return r.task.Task
}

// lastID is the entry of the last time, "" for none.
func (r row) lastID() string {
	switch {
	case !r.isList():
		return r.task.LastID
	case r.last != nil:
		return r.last.ID
	}
	return ""
}

// rowsOf lists tasks, the most urgent first, then checklists; those that were begun under a name that the plant no longer has
// come last.
func rowsOf(f upkeep.Facts, h *record.History, lists []checklist.List, walks map[string]walk) []row {
	var out []row
	for _, t := range f.Tasks {
		out = append(out, row{task: t})
	}
	known := map[string]bool{}
	for _, l := range lists {
		known[l.Name] = true
		out = append(out, row{list: l, last: lastWalk(h, l.Name)})
	}
	for _, name := range slices.Sorted(maps.Keys(walks)) {
		if w := walks[name]; !known[name] && w.begun() {
			out = append(out, row{list: w.List, last: lastWalk(h, name)})
		}
	}
	return out
}

func lastWalk(h *record.History, name string) *record.Done {
	if h == nil {
		return nil
	}
	for i := len(h.Done) - 1; i >= 0; i-- {
		if d := &h.Done[i]; d.Walk != nil && strings.EqualFold(d.Task, name) {
			return d
		}
	}
	return nil
}

func (s Screen) rows() []row { return rowsOf(s.facts, s.history, s.lists, s.walks) }

func (s Screen) selected() (row, bool) {
	rows := s.rows()
	if s.at >= len(rows) {
		return row{}, false
	}
	return rows[s.at], true
}

// lines draw the list, and tell on which line each row stands.
func (s Screen) lines() (lines []string, marks []int) {
	switch {
	case s.err != nil:
		return text.Wrap("The book could not be read: "+text.Show(s.err.Error()), max(10, s.w)), nil
	case s.history == nil:
		return []string{" Reading the book"}, nil
	}
	return page{common: s.Common, facts: s.facts, history: s.history, rows: s.rows(), walks: s.walks, dones: s.dones, picked: s.at}.lines(s.w)
}

// Text is the same page for a command's output, w cells wide.
func Text(h *record.History, f upkeep.Facts, lists []checklist.List, c ui.Common, w int) string {
	lines, _ := page{common: c, facts: f, history: h, rows: rowsOf(f, h, lists, nil), picked: -1}.lines(w)
	return strings.Join(lines, "\n") + "\n"
}

// page lays the list out; the screen and the command share it.
type page struct {
	common  ui.Common
	facts   upkeep.Facts
	history *record.History
	rows    []row
	walks   map[string]walk
	dones   map[string]doneDraft
	picked  int  // -1: none, for a command
	whole   bool // names are wrapped, not cut
}

// wideEnough is the width from which what is known of the picked row stands beside the list.
const wideEnough = 112

func (p page) lines(w int) (lines []string, marks []int) {
	p.whole = p.picked < 0 || w >= wideEnough // the picked row's page does not need the room below
	lines = append(lines, p.headline(w)...)
	if p.picked < 0 || w < wideEnough {
		list, marks := p.list(w, len(lines))
		lines = append(lines, list...)
		if p.picked >= 0 && p.picked < len(p.rows) {
			lines = append(lines, p.about(p.rows[p.picked], w)...)
		}
		return append(lines, p.foot(w)...), marks
	}
	var left []string
	body := ui.Columns(p.common.Theme, w, 3,
		ui.Column{Min: 78, Weight: 1, Body: func(w int) string {
			left, marks = p.list(w, len(lines))
			return strings.Join(left, "\n")
		}},
		ui.Column{Min: 31, Weight: 2, Body: func(w int) string {
			var right []string
			if p.picked < len(p.rows) {
				right = p.about(p.rows[p.picked], w)
			}
			return strings.Join(append(append(right, ""), p.foot(w)...), "\n")
		}})
	return append(lines, strings.Split(body, "\n")...), marks
}

// headline says first what there is to do.
func (p page) headline(w int) []string {
	count := map[upkeep.State]int{}
	for _, t := range p.facts.Tasks {
		count[t.State]++
	}
	var parts []string
	state := ui.Good
	if n := count[upkeep.Due]; n > 0 {
		state = ui.Near
		parts = append(parts, fmt.Sprintf("%d due", n))
	}
	if n := count[upkeep.Overdue]; n > 0 {
		state = ui.Out
		parts = append([]string{fmt.Sprintf("%d overdue", n)}, parts...)
	}
	say := strings.Join(parts, ", ")
	switch {
	case len(p.facts.Tasks) == 0:
		say, state = "The plant's description lists no upkeep tasks ([[upkeep]]).", ui.Unjudged
	case say == "":
		say = "Nothing is due."
	case len(p.facts.Tasks) > count[upkeep.Due]+count[upkeep.Overdue]:
		say += fmt.Sprintf("; %d in time.", count[upkeep.OK])
	default:
		say += "."
	}
	if begun := p.begun(); len(begun) > 0 {
		say += " Begun and not ended: " + strings.Join(begun, ", ") + "."
		if state == ui.Good || state == ui.Unjudged {
			state = ui.Near
		}
	}
	return indent(say, w, " "+text.PadRight(state.Sign(), 3), p.common.Theme.State(state))
}

// begun lists the checklists that are on their way: "Stopping (2 of 12)".
func (p page) begun() []string {
	var out []string
	for _, name := range slices.Sorted(maps.Keys(p.walks)) {
		if w := p.walks[name]; w.begun() {
			out = append(out, fmt.Sprintf("%s (%d of %d)", text.Show(name), w.ticked(), len(w.Ticks)))
		}
	}
	return out
}

// list draws the rows under their headings.
func (p page) list(w, above int) (lines []string, marks []int) {
	t, lists := p.common.Theme, false
	if len(p.facts.Tasks) > 0 {
		lines = append(lines, ui.Section(t, "Tasks", "", w))
	}
	for i, r := range p.rows {
		if r.isList() && !lists {
			lists = true
			lines = append(lines, ui.Section(t, "Checklists", "", w))
		}
		marks = append(marks, above+len(lines))
		for j, line := range p.line(r, w-1) {
			switch {
			case i == p.picked && j == 0:
				line = t.Selected.Render(t.Fit(t.Glyphs.Select+line, w))
			default:
				line = " " + line
			}
			lines = append(lines, t.Cut(line, w))
		}
	}
	return lines, marks
}

// The cells of the columns beside the name.
const (
	stateCells = 10
	whenCells  = 18
	lastCells  = 13
	nameLeast  = 16
)

// cells lay a row out. On a narrow screen a name that is too long is cut, since it stands whole under the list; else it is wrapped.
func (p page) cells(w int, state, name, when, last string) []string {
	t := p.common.Theme
	room := w - stateCells - 1 - whenCells - 1
	withLast := room-lastCells-1 >= nameLeast
	if withLast {
		room -= lastCells + 1
	}
	room = max(nameLeast, room)
	names := []string{t.Cut(text.Show(name), room)}
	if p.whole {
		names = text.Wrap(text.Show(name), room)
	}
	line := text.PadRight(state, stateCells) + " " + text.PadRight(names[0], room) + " " + text.PadRight(when, whenCells)
	if withLast {
		line += " " + t.Cut(last, lastCells)
	}
	out := []string{strings.TrimRight(line, " ")}
	for _, more := range names[1:] {
		out = append(out, strings.Repeat(" ", stateCells+3)+more)
	}
	return out
}

// line is one row: how it stands, what it is, when it is due, when it was last done.
func (p page) line(r row, w int) []string {
	t := p.common.Theme
	if r.isList() {
		state, when := "", plural(len(r.list.Steps), "step", "steps")
		if walk := p.walks[r.list.Name]; walk.begun() {
			state, when = t.Near.Render("begun !"), fmt.Sprintf("%d of %d ticked", walk.ticked(), len(walk.Ticks))
		}
		last := "never walked"
		if r.last != nil {
			last = p.when(r.last.Time, r.last.By)
		}
		if endedEarly(r.last) {
			last = "ended early " + ui.Near.Sign()
		}
		return p.cells(w, state, r.list.Name, when, last)
	}
	state, word := ui.Good, "in time"
	switch r.task.State {
	case upkeep.Due:
		state, word = ui.Near, "due "+ui.Near.Sign()
	case upkeep.Overdue:
		state, word = ui.Out, "overdue "+ui.Out.Sign()
	case upkeep.OK:
	}
	name := r.task.Task
	if _, typed := p.dones[name]; typed {
		name = "(draft) " + name
	}
	last := "never done"
	if r.task.Last != nil {
		last = p.when(*r.task.Last, r.task.LastBy)
	}
	return p.cells(w, t.State(state).Render(word), name, p.due(r.task), last)
}

// due says when a task comes round: "12 days over", "in 112 h running".
func (p page) due(t upkeep.Task) string {
	switch {
	case t.DueHours != nil && *t.DueHours < 0:
		return fmt.Sprintf("%.0f h running over", -*t.DueHours)
	case t.DueHours != nil:
		return fmt.Sprintf("in %.0f h running", *t.DueHours)
	case t.DueTime != nil && t.DueTime.Before(p.facts.At):
		return assess.Span(p.facts.At.Sub(*t.DueTime)) + " over"
	case t.DueTime != nil:
		return "in " + assess.Span(t.DueTime.Sub(p.facts.At))
	}
	return ""
}

// when is a day and a name: "14 Aug, Ro".
func (p page) when(t time.Time, by string) string {
	s := p.day(t)
	if by != "" {
		s += ", " + text.Show(by)
	}
	return s
}

// moment is a day and a time: "Fri 14 Aug 07:55".
func (p page) moment(t time.Time) string { return moment(p.common, p.facts.At, t) }

func moment(c ui.Common, now, t time.Time) string {
	t = c.Local(t)
	if t.Year() != c.Local(now).Year() {
		return t.Format("Mon 2 Jan 2006 15:04")
	}
	return t.Format("Mon 2 Jan 15:04")
}

// days is so many days as a span.
func days(n float64) time.Duration { return time.Duration(n * 24 * float64(time.Hour)) }

func (p page) day(t time.Time) string {
	t = p.common.Local(t)
	if t.Year() != p.common.Local(p.facts.At).Year() {
		return t.Format("2 Jan 2006")
	}
	return t.Format("2 Jan")
}

// foot is the caution that belongs to all work on the plant.
func (p page) foot(w int) []string {
	return indent(workCaution, w, " ", p.common.Theme.Near)
}

const workCaution = "Stop, isolate, lock out and prove dead before opening anything; guards stay on while a shaft turns. Electrical work is for a licensed electrician."

// indent wraps a sentence behind a lead; lines after the first stand under its words.
func indent(sentence string, w int, lead string, look ui.Style) []string {
	var out []string
	for _, l := range text.Wrap(sentence, max(10, w-text.Width(lead))) {
		out = append(out, look.Render(lead+l))
		lead = strings.Repeat(" ", text.Width(lead))
	}
	return out
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
