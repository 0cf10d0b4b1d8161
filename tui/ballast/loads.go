package ballast

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"example.org/headpond/model/electrical"
	"example.org/headpond/model/plant"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// loadColumn is the width of one load; two stand side by side where they have room.
const loadColumn = 38

// loads lists which of the plant's loads may be switched on now, with why not.
func (p page) loads(w int) []string {
	f, t := p.report.Facts, p.common.Theme
	out := []string{ui.Section(t, "Which load still fits, each alone", "", w)}
	switch {
	case f.Since != nil:
		return join(out, p.plain("Not known: other units run now than when the powers were read. Walk a round once they run again.", w))
	case f.LoadRoomKW == nil || f.LoadKW == nil:
		return join(out, p.plain("Not known: the consumer load and the dumped power are both needed.", w))
	case len(f.LoadsThatFit) == 0:
		return join(out, p.plain("The plant file lists no loads ([[load]]).", w))
	}
	n := max(1, (w-1)/loadColumn)
	width := max(10, (w-1)/n)
	rows := (len(f.LoadsThatFit) + n - 1) / n
	for y := range rows {
		line := " "
		for x := range n {
			if i := x*rows + y; i < len(f.LoadsThatFit) {
				line += t.Fit(p.load(f.LoadsThatFit[i], width-2), width)
			}
		}
		out = append(out, t.Cut(strings.TrimRight(line, " "), w))
	}
	return join(out, p.reasons(w))
}

// load is one load in w cells: the verdict as a word, its name, its power.
func (p page) load(l electrical.LoadFit, w int) string {
	t := p.common.Theme
	word, state := "fits", ui.Good
	switch {
	case l.Fits:
	case l.Why == electrical.WhyStarting:
		word, state = "NO start", ui.Near
	default:
		word, state = "NO room", ui.Near
	}
	const verdict, power, starts = 9, 9, 15
	tail := text.PadLeft(plainKW(l.KW)+" kW", power)
	if w >= verdict+power+starts+12 {
		start := ""
		if l.StartKVA != nil {
			start = "starts " + plainKW(*l.StartKVA) + " kVA"
		}
		tail += " " + text.PadLeft(start, starts)
	}
	name := t.Fit(text.Show(l.Name), max(4, w-verdict-text.Width(tail)))
	return t.State(state).Render(text.PadRight(word, verdict)) + name + tail
}

// reasons explains the words, as far as they were used.
func (p page) reasons(w int) []string {
	f := p.report.Facts
	room, start := false, false
	for _, l := range f.LoadsThatFit {
		room = room || l.Why == electrical.WhyRoom
		start = start || l.Why == electrical.WhyStarting
	}
	var out []string
	if room {
		out = join(out, p.plain("NO room: it takes more than the "+p.roomBelow()+" that is dumped now.", w))
	}
	if start {
		words := "NO start: what runs and what it takes while starting are together more than the running sets can give (1.5 times their kVA, rule of thumb, from memory)"
		if p.induction() {
			words += fmt.Sprintf(", or its starting kVA is more than the %s that is dumped, which an induction machine's excitation does not bear", kw(*f.LoadRoomKW))
		}
		out = join(out, p.plain(words+".", w))
	}
	return out
}

// roomBelow is the load room with as many digits as tell it from the loads that it is too small for: 1.2 kW do not fit into 1.18 kW.
func (p page) roomBelow() string {
	f := p.report.Facts
	for digits := 1; digits <= 3; digits++ {
		said := strconv.FormatFloat(*f.LoadRoomKW, 'f', digits, 64)
		shown, _ := strconv.ParseFloat(said, 64)
		if !slices.ContainsFunc(f.LoadsThatFit, func(l electrical.LoadFit) bool { return l.Why == electrical.WhyRoom && l.KW <= shown }) {
			return said + text.NBSP + "kW"
		}
	}
	return kw(*f.LoadRoomKW)
}

// induction reports whether induction machines with capacitors alone hold the bus.
func (p page) induction() bool {
	if p.report.Plant == nil {
		return false
	}
	var units []plant.Unit
	for _, id := range p.report.Facts.Running {
		if u, ok := p.report.Plant.UnitByID(id); ok {
			units = append(units, u)
		}
	}
	return len(units) > 0 && electrical.Excite(units) == plant.Capacitor
}

// plainKW writes a number of the plant file as it stands there.
func plainKW(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// cautions lists what the facts warn of, each once, and how to treat them.
func (p page) cautions(w int) []string {
	out := []string{ui.Section(p.common.Theme, "Cautions", "", w)}
	said := map[string]bool{}
	for _, c := range p.report.Facts.Cautions {
		if said[c] {
			continue
		}
		said[c] = true
		out = join(out, p.item(upper(text.Show(c)), w))
	}
	for _, c := range []string{
		"Ballast heaters and their housing burn. Line voltage kills, and the plant can start or keep turning with the consumers off: stop, isolate, lock out and prove dead before opening anything.",
		"These numbers are estimates from hand readings. They support, and never replace, the protection relays, the local electrical code and licensed electricians.",
	} {
		out = join(out, p.item(c, w))
	}
	return out
}

// item is one entry of a list.
func (p page) item(s string, w int) []string {
	if !strings.HasSuffix(s, ".") {
		s += "."
	}
	var out []string
	for i, l := range text.Wrap(s, max(10, w-4)) {
		mark := "   "
		if i == 0 {
			mark = " - "
		}
		out = append(out, mark+l)
	}
	return out
}
