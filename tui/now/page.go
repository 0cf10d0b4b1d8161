package now

import (
	"fmt"
	"math"
	"strings"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// page lays the facts out; the screen and the command share it.
type page struct {
	facts    *assess.Now
	common   ui.Common
	waterErr error
	drafts   []string
	all      bool // nothing is held back for room
	printed  bool // a command's output: commands are named, not keys
	h        int  // the window's lines
}

// wideEnough is the width from which the readings stand beside the rest, one a line with its band gauge.
const wideEnough = 116

// attentionLines is how many lines are given to what wants attention at least, before the rest is counted; where the window has
// room for more beside what is left, it has that.
const attentionLines = 6

func (p page) lines(w int) []string {
	head := p.head(w)
	if w < wideEnough {
		return join(head, p.attention(w), p.left(w), p.pairs(w), p.plug(w), p.screenSection(w))
	}
	body := ui.Columns(p.common.Theme, w, 3,
		ui.Column{Min: 54, Weight: 1, Body: func(w int) string {
			return strings.Join(join(p.attention(w), p.left(w), p.plug(w), p.screenSection(w)), "\n")
		}},
		ui.Column{Min: gaugeless + 2 + 11, Weight: 1, Body: func(w int) string { return strings.Join(p.readings(w), "\n") }})
	return join(head, strings.Split(body, "\n"))
}

func join(parts ...[]string) []string {
	var out []string
	for _, p := range parts {
		out = append(out, p...)
	}
	return out
}

// head says how old everything below is, and what runs.
func (p page) head(w int) []string {
	f := p.facts
	s := " No round has been written yet."
	if f.Ahead != nil {
		s = " No round is dated up to now."
	}
	if f.Round != nil {
		s = fmt.Sprintf(" Last round %s ago, %s", assess.Span(f.At.Sub(f.Round.Time)), p.clock(f.Round.Time))
		if f.Round.By != "" {
			s += ", by " + text.Show(f.Round.By)
		}
		s += "."
	}
	switch {
	case f.Stopped:
		s += " No unit runs."
	case f.Running == nil:
		s += " It is not known which units run."
	default:
		s += " Running: " + record.FormatRunning(f.Running) + "."
	}
	out := wrap(s, w)
	for _, form := range p.drafts {
		where := "3"
		switch {
		case form == "round":
			where = "2"
		case strings.HasPrefix(form, "upkeep: "), strings.HasPrefix(form, "checklist: "):
			where = "8"
		}
		what := form
		if form == "amend" {
			what = "correction"
		}
		for _, l := range wrap(" A draft ("+text.Show(what)+") that was not saved is kept: press "+where+" to go on with it.", w) {
			out = append(out, p.common.Theme.Strong.Render(l))
		}
	}
	return out
}

// clock tells a time on the plant's clock, with the day where it is not today.
func (p page) clock(t time.Time) string {
	now, local := p.common.Local(p.facts.At), p.common.Local(t)
	if now.Format(time.DateOnly) == local.Format(time.DateOnly) {
		return p.common.Clock(t, "15:04")
	}
	return p.common.Clock(t, "Mon 2 Jan 15:04")
}

func (p page) attention(w int) []string {
	out := []string{ui.Section(p.common.Theme, "Wants attention", "", w)}
	list := p.facts.Attention
	if len(list) == 0 {
		for _, l := range text.Wrap("Nothing: every reading is in band and no work is due.", max(10, w-3)) {
			out = append(out, "   "+l)
		}
		return out
	}
	return append(out, p.told(w)...)
}

// told is the list in the lines that it has: whole, or folded by topics, or cut with the topics that are left named.
func (p page) told(w int) []string {
	list, folded, room := p.brief(w)
	var out []string
	for i, a := range list {
		item := p.item(a, w)
		more, last := p.more(list[i:], folded, w), p.more(list[i+1:], folded, w)
		if i > 0 && len(out)+len(item)+len(last) > room { // the first is told however small the window is
			return append(out, more...)
		}
		out = append(out, item...)
	}
	return append(out, p.more(nil, folded, w)...)
}

// brief is what wants attention, folded where it does not fit otherwise, how many things are folded, and the lines that it has.
func (p page) brief(w int) (list []assess.Attention, folded, room int) {
	if p.all {
		return p.facts.Attention, 0, math.MaxInt
	}
	room = max(attentionLines-1, p.h-len(p.head(w))-len(p.left(w))-2) // its heading and the count of what is further down
	list, folded = p.facts.Brief(func(list []assess.Attention) bool {
		lines := 0
		for _, a := range list {
			lines += len(p.item(a, w))
		}
		if len(list) < len(p.facts.Attention) {
			lines += len(p.more(nil, 1, w))
		}
		return lines <= room
	})
	return list, folded, room
}

// more says how many things have no sentence of their own, what those are about that are not told at all, and the key that tells
// everything.
func (p page) more(left []assess.Attention, folded, w int) []string {
	var s string
	switch {
	case len(left) == 0 && folded == 0:
		return nil
	case len(left) == 0:
		s = "press a for each of them"
	default:
		s = fmt.Sprintf("and %d more (%s): press a", len(left)+folded, assess.Topics(left))
	}
	return p.indented(s, w)
}

// indented wraps words under those of an item.
func (p page) indented(s string, w int) []string {
	var out []string
	for _, l := range text.Wrap(s, max(10, w-9)) {
		out = append(out, strings.Repeat(" ", 9)+l)
	}
	return out
}

// item is one thing that wants attention: its urgency as a word and a sign, and the words, the second line indented.
func (p page) item(a assess.Attention, w int) []string {
	t := p.common.Theme
	state := ui.StateOfUrgency(a.Urgency)
	word := t.State(state).Render(text.Fit(ui.UrgencyMark(a.Urgency), 7, ""))
	how := a.Keys
	if p.printed {
		how = a.Command
	}
	out := p.indented(text.Show(a.Text)+how, w)
	out[0] = " " + word + " " + strings.TrimLeft(out[0], " ")
	return out
}

// columns are the widths of a reading's parts; its state or its age stands behind them.
type columns struct{ name, value, expected int }

// Widths of a reading's parts at least, and of what stands behind them.
const (
	stateWidth = 6
	agedWidth  = 11 // "10 days old", from the expected value's place on
	gaugeWidth = 24
	gaugeless  = 1 + 18 + 10 + 9 + 2 + stateWidth // a line without its gauge, at its usual width
)

// columnsOf is what readings take: no label, value or expected value of theirs is cut.
func (p page) columnsOf(list []assess.Reading, least columns) columns {
	for _, r := range list {
		least.name = max(least.name, text.Width(assess.LabelOf(quantity.Key(r.Quantity)))+1)
		least.value = max(least.value, text.Width(show(r.Info, r.Value, p.common.Units)))
		least.expected = max(least.expected, text.Width(p.expected(r))+1)
		if r.Old {
			least.expected = max(least.expected, agedWidth-2-stateWidth)
		}
	}
	return least
}

// width is that of a line without its gauge.
func (c columns) width() int { return 1 + c.name + c.value + c.expected + 2 + stateWidth }

// shown leaves out what says nothing of how the plant is now: meters that only count up, and the pressures around a
// clearing.
func (p page) shown() []assess.Reading {
	var out []assess.Reading
	for _, r := range p.facts.Readings {
		if r.Info.Total || r.Info.Name == quantity.PressureBefore || r.Info.Name == quantity.PressureAfter {
			continue
		}
		out = append(out, r)
	}
	return out
}

// readings lists every reading with its expected value, its state as a word, and where it stands in its band.
func (p page) readings(w int) []string {
	t := p.common.Theme
	out := []string{ui.Section(t, "Readings", "", w)}
	list := p.shown()
	if len(list) == 0 {
		return append(out, p.noReadings(w)...)
	}
	c := p.columnsOf(list, columns{name: 18, value: 10, expected: 9})
	gauge := min(gaugeWidth, w-c.width()-2)
	out = append(out, t.Cut(" "+text.PadRight("", c.name)+text.PadLeft("read", c.value)+text.PadLeft("expected", c.expected)+"  state", w))
	for _, r := range list {
		row := p.reading(r, c)
		if !r.Old && r.State != "" && gauge >= 9 {
			b := r.Band()
			row += "  " + ui.BandGauge(t, r.Value, ui.Limits(b.InMin, b.InMax), ui.Limits(b.NearMin, b.NearMax), gauge)
		}
		out = append(out, strings.TrimRight(t.Cut(row, w), " "))
	}
	return out
}

// noReadings says why none is shown: none was read yet, or all are so old that they tell nothing of now.
func (p page) noReadings(w int) []string {
	s := "None yet."
	if r := p.facts.Round; r != nil {
		s = fmt.Sprintf("The last are %s old, too old to tell of now; 3 shows them.", assess.Span(p.facts.At.Sub(r.Time)))
		if p.printed {
			s = strings.Replace(s, "3 shows", "headpond rounds shows", 1)
		}
	}
	var out []string
	for _, l := range text.Wrap(s, max(10, w-3)) {
		out = append(out, "   "+l)
	}
	return out
}

// pairs lists the readings two to a line, without the gauges, for a narrow window; one to a line where two have no room.
func (p page) pairs(w int) []string {
	t := p.common.Theme
	list := p.shown()
	if len(list) == 0 {
		return append([]string{ui.Section(t, "Readings: read, expected, state", "", w)}, p.noReadings(w)...)
	}
	rows := (len(list) + 1) / 2
	least := columns{name: 12, value: 7, expected: 5}
	left, right := p.columnsOf(list[:rows], least), p.columnsOf(list[rows:], least)
	spare := w - 1 - left.width() - right.width()
	if spare < 0 {
		return p.readings(w)
	}
	half := left.width() + spare/2
	out := []string{ui.Section(t, "Readings: read, expected, state", "", w)}
	for i := range rows {
		row := t.Fit(p.reading(list[i], left), half)
		if i+rows < len(list) {
			row += " " + p.reading(list[i+rows], right)
		}
		out = append(out, strings.TrimRight(t.Cut(row, w), " "))
	}
	return out
}

// reading is one reading: name, value, what it should be, and its state, or for an old one its age.
func (p page) reading(r assess.Reading, c columns) string {
	t := p.common.Theme
	row := " " + t.Fit(assess.LabelOf(quantity.Key(r.Quantity)), c.name)
	row += t.FitLeft(show(r.Info, r.Value, p.common.Units), c.value)
	if r.Old {
		return row + text.PadRight("  "+age(p.facts.At.Sub(r.Time)), c.expected+2+stateWidth)
	}
	s := ui.StateOf(string(r.State))
	return row + text.PadLeft(p.expected(r), c.expected) + "  " + t.State(s).Render(text.PadRight(strings.TrimSpace(s.Word()+" "+s.Sign()), stateWidth))
}

// expected is what a reading should be, without its unit; "" where nothing is expected, and for an old one.
func (p page) expected(r assess.Reading) string {
	if r.Expected == nil || r.Old {
		return ""
	}
	return r.Info.ShowEstimate(*r.Expected, p.common.Units)
}

// age is how old a reading is, in the place of the expected value and the state.
func age(d time.Duration) string {
	switch {
	case d < time.Hour:
		return fmt.Sprintf("%.0f min old", d.Minutes())
	case d < 48*time.Hour:
		return fmt.Sprintf("%.0f h old", d.Hours())
	}
	return fmt.Sprintf("%.0f days old", d.Hours()/24)
}

// show is a value with its unit.
func show(q quantity.Info, v float64, s quantity.System) string {
	return q.Show(v, s) + " " + string(q.ShowUnit(s))
}

func wrap(s string, w int) []string { return text.Wrap(s, max(10, w)) }
