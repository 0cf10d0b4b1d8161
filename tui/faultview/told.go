package faultview

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/faults"
	"example.org/headpond/model/quantity"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// cause tells of one cause: its size, the evidence, its rivals, what to do, and the caution.
func (p page) cause(c faults.Cause, w int) []string {
	title := upper(c.Fault.Label())
	if size := p.size(c); size != "" {
		title += ": " + size
	}
	out := []string{ui.Section(p.common.Theme, strings.ReplaceAll(title, text.NBSP, " "), "", w)}
	known := p.within(c.Range)
	if c.Since != nil {
		known = strings.TrimSpace(known + " Shows since " + p.clock(*c.Since) + ".")
	}
	if known != "" {
		out = join(out, p.plain(known, w))
	}
	out = join(out, p.plain("First: "+c.FirstStep, w), p.evidence(c, w))
	for _, a := range apart(c.TellApart) {
		out = join(out, p.plain("Or "+a.rivals+"? To tell: "+a.by+".", w))
	}
	out = join(out, p.careful(c.Caution, w))
	if c.LeastSeen != nil && c.Probability < toldFrom {
		least := c
		least.Size = *c.LeastSeen
		out = join(out, p.plain("Had it always been so, these readings would show it from this size on: "+p.size(least)+". A change shows sooner.", w))
	}
	return out
}

// observation is what tells a cause from one rival or several.
type observation struct{ rivals, by string }

// apart gathers the rivals that one observation tells a cause from.
func apart(list []faults.Apart) []observation {
	var out []observation
	var names [][]string
	for _, a := range list {
		name := a.From.Label()
		if a.From == faults.None {
			name = "nothing is wrong"
		}
		i := slices.IndexFunc(out, func(o observation) bool { return o.by == a.By })
		if i < 0 {
			out, names = append(out, observation{by: a.By}), append(names, nil)
			i = len(out) - 1
		}
		names[i] = append(names[i], name)
	}
	for i, n := range names {
		last := len(n) - 1
		out[i].rivals = n[last]
		if last > 0 {
			out[i].rivals = strings.Join(n[:last], ", ") + " or " + n[last]
		}
	}
	return out
}

// The cells of the evidence's columns.
const labelCells, valueCells = 17, 10

// evidence is a row for each kind of reading that says something, and the names of those that do not.
func (p page) evidence(c faults.Cause, w int) []string {
	var out, silent []string
	for _, e := range c.Evidence {
		if !e.Speaks && e.Explains {
			silent = append(silent, lowerFirst(assess.LabelOf(quantity.Key(e.Quantity))))
			continue
		}
		out = append(out, p.row(e, c.Fault == faults.None, w))
	}
	if len(out) > 0 {
		head := fmt.Sprintf(" %s %s %s %s", text.PadRight("", labelCells), text.PadLeft("read", valueCells), text.PadLeft("if sound", valueCells), text.PadLeft("with this", valueCells))
		if c.Fault == faults.None {
			head = fmt.Sprintf(" %s %s %s", text.PadRight("", labelCells), text.PadLeft("read", valueCells), text.PadLeft("if sound", valueCells))
		}
		out = append([]string{p.common.Theme.Dim.Render(p.common.Theme.Cut(head, w))}, out...)
	}
	if len(silent) > 0 {
		out = join(out, p.plain("As on a sound plant: "+strings.Join(silent, ", ")+".", w))
	}
	return out
}

// row is one kind of reading.
func (p page) row(e faults.Evidence, sound bool, w int) string {
	k := quantity.Key(e.Quantity)
	info, _ := quantity.Lookup(k.Name())
	unit := info.ShowUnit(p.common.Units)
	digits := info
	if math.Abs(e.Read) < 500 {
		digits.Digits++ // a mean of several readings deserves one more than a gauge
	}
	show := func(v float64) string {
		return text.PadLeft(fmt.Sprintf("%s %s", digits.ShowEstimate(v, p.common.Units), unit), valueCells)
	}
	line := fmt.Sprintf(" %s %s %s", text.PadRight(text.Truncate(assess.LabelOf(k), labelCells, "."), labelCells), show(e.Read), show(e.ExpectedHealthy))
	if !sound {
		line += " " + show(e.ExpectedFault)
	}
	verdict, state := "explained", ui.Unjudged
	if !e.Explains {
		verdict, state = "not explained "+ui.Near.Sign(), ui.Near
	}
	return p.common.Theme.State(state).Render(p.common.Theme.Cut(line+"  "+verdict, w))
}
