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
	out = join(out, p.plain("First: "+text.Show(c.FirstStep), w), p.evidence(c, w))
	for _, a := range apart(c.TellApart) {
		out = join(out, p.plain("Or "+a.rivals+"? To tell: "+text.Show(a.by)+".", w))
	}
	out = join(out, p.careful(text.Show(c.Caution), w))
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

// Widths from which the evidence has its full columns, and from which it has the last reading beside the mean.
const (
	evidenceFull = 79
	evidenceLast = 58
)

// cells are the widths of the evidence's columns, and the words of its verdict, for a width.
type cells struct {
	label, value int
	fits, fails  string
	last         bool // the newest reading stands beside the mean
	sound        bool // the cause is a sound plant: there is nothing to compare it with
}

// cellsFor lays the columns out: a single reading is its own mean.
func cellsFor(list []faults.Evidence, sound bool, w int) cells {
	c := cells{label: 17, value: 10, fits: "explained", fails: "not explained", sound: sound}
	if w < evidenceFull {
		c = cells{label: 15, value: 9, fits: "fits", fails: "no fit", sound: sound}
	}
	c.last = w >= evidenceLast && slices.ContainsFunc(list, func(e faults.Evidence) bool { return e.Readings > 1 })
	return c
}

// evidence is a row for each kind of reading that says something, and the names of those that do not.
func (p page) evidence(c faults.Cause, w int) []string {
	var silent []string
	var telling []faults.Evidence
	for _, e := range c.Evidence {
		if !e.Speaks && e.Explains {
			silent = append(silent, lowerFirst(text.Show(assess.LabelOf(quantity.Key(e.Quantity)))))
			continue
		}
		telling = append(telling, e)
	}
	var out []string
	if len(telling) > 0 {
		cs := cellsFor(telling, c.Fault == faults.None, w)
		out = append(out, p.common.Theme.Dim.Render(p.common.Theme.Cut(cs.heading(telling), w)))
		for _, e := range telling {
			out = append(out, p.row(e, cs, w))
		}
	}
	if len(silent) > 0 {
		out = join(out, p.plain("As on a sound plant: "+strings.Join(silent, ", ")+".", w))
	}
	for _, s := range p.older(c) {
		out = join(out, p.plain(s, w))
	}
	return out
}

// older says which of the evidence was not read on the last round, and how old it is.
func (p page) older(c faults.Cause) []string {
	f := p.report.Facts
	var out []string
	var list []faults.Evidence
	for _, e := range c.Evidence {
		if f.To != nil && !e.LastTime.IsZero() && e.LastTime.Before(*f.To) {
			list = append(list, e)
		}
	}
	slices.SortStableFunc(list, func(a, b faults.Evidence) int { return b.LastTime.Compare(a.LastTime) })
	for len(list) > 0 {
		at := list[0].LastTime
		var names []string
		for len(list) > 0 && list[0].LastTime.Equal(at) {
			names = append(names, lowerFirst(text.Show(assess.LabelOf(quantity.Key(list[0].Quantity)))))
			list = list[1:]
		}
		out = append(out, fmt.Sprintf("Last read %s, %s ago: %s.", p.clock(at), assess.Span(f.At.Sub(at)), strings.Join(names, ", ")))
	}
	return out
}

// heading says over how many readings the means go, since nobody read a mean: "mean of 3", or "mean of 2-3".
func (c cells) heading(list []faults.Evidence) string {
	least, most := list[0].Readings, list[0].Readings
	for _, e := range list {
		least, most = min(least, e.Readings), max(most, e.Readings)
	}
	first := fmt.Sprintf("mean of %d", most)
	switch {
	case most <= 1:
		first = "read"
	case least < most:
		first = fmt.Sprintf("mean of %d-%d", least, most)
	}
	out := " " + text.PadLeft(first, c.label+1+c.value)
	if c.last {
		out += " " + text.PadLeft("last read", c.value)
	}
	out += " " + text.PadLeft("if sound", c.value)
	if !c.sound {
		out += " " + text.PadLeft("with this", c.value)
	}
	return out
}

// row is one kind of reading.
func (p page) row(e faults.Evidence, c cells, w int) string {
	k := quantity.Key(e.Quantity)
	info, _ := quantity.Lookup(k.Name())
	unit := info.ShowUnit(p.common.Units)
	digits := info
	if math.Abs(e.Read) < 500 {
		digits.Digits++ // a mean of several readings deserves one more than a gauge
	}
	value := func(s string) string { return " " + text.PadLeft(fmt.Sprintf("%s %s", s, unit), c.value) }
	show := func(v float64) string { return value(digits.ShowEstimate(v, p.common.Units)) }
	line := " " + text.PadRight(text.Truncate(text.Show(assess.LabelOf(k)), c.label, "."), c.label) + show(e.Read)
	if c.last {
		line += value(info.Show(e.Last, p.common.Units)) // as it was read
	}
	line += show(e.ExpectedHealthy)
	if !c.sound {
		line += show(e.ExpectedFault)
	}
	verdict, state := c.fits, ui.Unjudged
	if !e.Explains {
		verdict, state = c.fails+" "+ui.Near.Sign(), ui.Near
	}
	return p.common.Theme.State(state).Render(p.common.Theme.Cut(line+"  "+verdict, w))
}
