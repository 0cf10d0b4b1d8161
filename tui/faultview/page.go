package faultview

import (
	"fmt"
	"math"
	"strings"
	"time"

	"example.org/headpond/model/faults"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// page lays the causes out; the screen and the command share it.
type page struct {
	report Report
	common ui.Common
	picked int // the cause that is told of; -1 for all that are in the running
}

// What is shown of the ranking: causes from this probability up, and never fewer than two; and in a command's text the
// evidence of those from this one up.
const (
	listedFrom = 0.01
	listedMost = 7
	listedMin  = 2
	toldFrom   = 0.10
)

// shown is the head of the ranking.
func shown(f *faults.Facts) []faults.Cause {
	if f == nil {
		return nil
	}
	n := 0
	for n < len(f.Ranked) && n < listedMost && (n < listedMin || f.Ranked[n].Probability >= listedFrom) {
		n++
	}
	return f.Ranked[:n]
}

// wideEnough is the width from which the evidence stands beside the ranking.
const wideEnough = 116

func (p page) lines(w int) []string {
	f := p.report.Facts
	if f == nil {
		return p.missing(w)
	}
	head := join(p.sentence(text.Show(f.Says), p.state(), w), p.beside(w), p.sentence(p.rests(), ui.Unjudged, w))
	if p.picked < 0 {
		out := join(head, p.list(w))
		for i, c := range shown(f) {
			if i == 0 || c.Probability >= toldFrom {
				out = join(out, p.cause(c, w))
			}
		}
		return join(out, p.cautions(w))
	}
	list := shown(f)
	c := list[min(p.picked, len(list)-1)]
	if w < wideEnough {
		return join(head, p.list(w), p.cause(c, w), p.cautions(w))
	}
	body := ui.Columns(p.common.Theme, w, 3,
		ui.Column{Min: 46, Weight: 1, Body: func(w int) string { return strings.Join(join(p.list(w), p.cautions(w)), "\n") }},
		ui.Column{Min: 66, Weight: 2, Body: func(w int) string { return strings.Join(p.cause(c, w), "\n") }})
	return join(head, strings.Split(body, "\n"))
}

func join(parts ...[]string) []string {
	var out []string
	for _, p := range parts {
		out = append(out, p...)
	}
	return out
}

// missing says what there is not, and how to get it.
func (p page) missing(w int) []string {
	why := "there are no facts yet"
	if p.report.Err != nil {
		why = text.Show(p.report.Err.Error())
	}
	return join(p.sentence("No cause can be looked for yet: "+why+".", ui.Unjudged, w), []string{""},
		p.sentence("A week of ordinary rounds is enough: pond level, intake pressure, voltage, frequency, load, and the dump share or the dumped power.", ui.Unjudged, w))
}

func (p page) state() ui.State {
	switch f := p.report.Facts; f.Verdict {
	case faults.Sound:
		return ui.Good
	case faults.Likely:
		return ui.Out
	case faults.CannotTell:
	}
	return ui.Near
}

// beside tells of second causes, which other readings show.
func (p page) beside(w int) []string {
	var out []string
	for _, b := range p.report.Facts.Beside {
		s := "Beside it: " + b.Fault.Label()
		if size := p.size(faults.Cause{Fault: b.Fault, Size: b.Size, Probability: 1}); size != "" {
			s += ", " + size
		}
		if b.Since != nil {
			s += ", since " + p.clock(*b.Since)
		}
		out = join(out, p.sentence(s+".", ui.Near, w))
	}
	return out
}

// rests says which rounds all this comes from.
func (p page) rests() string {
	f := p.report.Facts
	s := fmt.Sprintf("From %d readings of %d %s", f.ReadingsUsed, f.Rounds, plural(f.Rounds, "round", "rounds"))
	if f.From != nil && f.To != nil {
		s += fmt.Sprintf(", %s to %s", p.clock(*f.From), p.clock(*f.To))
	}
	return s + "."
}

func (p page) clock(t time.Time) string { return p.common.Local(t).Format("Mon 2 Jan 15:04") }

// narrow is the width of a window so small that any part of a size is better than none.
const narrow = 40

// list is the ranking: probability, cause, size.
func (p page) list(w int) []string {
	out := []string{ui.Section(p.common.Theme, "Causes, likeliest first", "", w)}
	rest, n := 1.0, len(p.report.Facts.Ranked)
	for i, c := range shown(p.report.Facts) {
		rest -= c.Probability
		n--
		mark := " "
		if i == p.picked {
			mark = p.common.Theme.Glyphs.Select
		}
		line := fmt.Sprintf("%s%s  %s", mark, text.PadLeft(percent(c.Probability), 6), text.PadRight(c.Fault.Label(), 23))
		// Half a size says nothing; beside the list stands the whole of the picked one's.
		if size := p.size(c); size != "" && (text.Width(line)+1+text.Width(size) <= w || w < narrow) {
			line += " " + size
		}
		line = p.common.Theme.Cut(line, w)
		if i == p.picked {
			line = p.common.Theme.Selected.Render(p.common.Theme.Fit(line, w))
		}
		out = append(out, line)
	}
	if n > 0 {
		out = append(out, p.common.Theme.Cut(fmt.Sprintf(" %s  %s", text.PadLeft(percent(math.Max(0, rest)), 6), others(n)), w))
	}
	return out
}

func others(n int) string {
	if n == 1 {
		return "the one other"
	}
	return fmt.Sprintf("the %d others together", n)
}

// percent shows a probability with no more than it deserves: never quite 0 or 100.
func percent(v float64) string {
	switch {
	case v < 0.01:
		return "< 1" + text.NBSP + "%"
	case v > 0.99:
		return "> 99" + text.NBSP + "%"
	}
	return fmt.Sprintf("%.0f%s%%", 100*v, text.NBSP)
}

// cautions says what was left out, and what all estimates are.
func (p page) cautions(w int) []string {
	out := []string{ui.Section(p.common.Theme, "Cautions", "", w)}
	list := append([]string{}, p.report.Facts.Cautions...)
	list = append(list, "These are estimates from hand readings. They support, and never replace, the protection relays, the local electrical code, and licensed electricians and engineers.")
	for _, c := range list {
		for i, l := range text.Wrap(upper(text.Show(c)), max(10, w-4)) {
			lead := "   "
			if i == 0 {
				lead = " - "
			}
			out = append(out, lead+l)
		}
	}
	return out
}

// careful is a caution in its own look.
func (p page) careful(s string, w int) []string {
	var out []string
	for _, l := range text.Wrap("Careful: "+s, max(10, w-2)) {
		out = append(out, " "+p.common.Theme.Near.Render(l))
	}
	return out
}

// sentence wraps a sentence behind its state's sign.
func (p page) sentence(s string, state ui.State, w int) []string {
	const indent = 4
	sign := text.PadRight(state.Sign(), indent-1)
	var out []string
	for i, l := range text.Wrap(s, max(10, w-indent)) {
		if i > 0 {
			sign = strings.Repeat(" ", indent-1)
		}
		out = append(out, " "+p.common.Theme.State(state).Render(sign+l))
	}
	return out
}

// plain wraps a sentence under a heading.
func (p page) plain(s string, w int) []string {
	var out []string
	for _, l := range text.Wrap(s, max(10, w-2)) {
		out = append(out, " "+l)
	}
	return out
}
