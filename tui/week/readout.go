package weekview

import (
	"fmt"
	"slices"
	"strings"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/water"
	"example.org/headpond/model/week"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// readout says in words what stands under the cursor: first what the chart shows, then the rest of the round.
func (p page) readout(f figure, s stop) (first string, state ui.State, more string) {
	switch {
	case s.d != nil:
		return p.dayWords(f, s)
	case s.f != nil:
		return p.foretold(s.f), ui.Unjudged, "A forecast: nine in ten outcomes lie above the lower level, and nine in ten below the higher."
	}
	at := p.clock(s.p.Time) + ": "
	if f.kind == powerChart {
		return at + powers(s.p), ui.Unjudged, p.others(s, "")
	}
	var parts []string
	for _, k := range p.keys(f.kind.quantity()) {
		if v, ok := s.p.Values[k]; ok {
			parts = append(parts, p.judged(s.p, k, v))
			state = max(state, ui.StateOf(s.p.States[k]))
		}
	}
	return at + strings.Join(parts, ", "), state, p.others(s, f.kind.quantity())
}

// foretold is a level that is yet to come, with its range.
func (p page) foretold(x *water.FanPoint) string {
	show := func(v float64) string { return p.reading(level, rounded2(v)) }
	return fmt.Sprintf("%s: pond level about %s (%s to %s)", p.clock(x.Time), show(x.LevelM.P50), show(x.LevelM.P10), show(x.LevelM.P90))
}

// judged is one reading with its state as a word and a sign: "voltage 226 V near !".
func (p page) judged(pt *week.Point, k quantity.Key, v float64) string {
	s := ui.StateOf(pt.States[k])
	words := []string{label(k), strings.ReplaceAll(p.reading(k, v), text.NBSP, " "), s.Word(), s.Sign()}
	return strings.Join(slices.DeleteFunc(words, func(w string) bool { return w == "" }), " ")
}

// powers are what was generated, used and dumped.
func powers(pt *week.Point) string {
	var parts []string
	add := func(name string, kw *float64) {
		if kw != nil {
			parts = append(parts, name+" "+strings.ReplaceAll(power(*kw), text.NBSP, " "))
		}
	}
	add("used", pt.UsedKW)
	add("dumped", pt.DumpedKW)
	add("of", pt.GeneratedKW)
	if len(parts) == 0 {
		return "no power"
	}
	return strings.ReplaceAll(strings.Join(parts, ", "), ", of ", ", generated ")
}

// others are the round's other readings of the charts, and what happened before it.
func (p page) others(s stop, but quantity.Name) string {
	var parts []string
	for _, m := range s.e {
		parts = append(parts, p.common.Local(m.Time).Format("15:04")+" "+text.Show(m.Text))
	}
	if s.c {
		parts = append(parts, "screen cleared")
	}
	if but != "" && (s.p.UsedKW != nil || s.p.DumpedKW != nil) {
		parts = append(parts, powers(s.p))
	}
	for k := powerChart + 1; k < kinds; k++ {
		n := k.quantity()
		if v, ok := s.p.Values[quantity.Key(n)]; ok && n != but {
			parts = append(parts, p.judged(s.p, quantity.Key(n), v))
		}
	}
	return strings.Join(parts, "; ")
}

// dayWords is a day under the cursor.
func (p page) dayWords(f figure, s stop) (first string, state ui.State, more string) {
	d := s.d
	at := p.day(d.From) + ": "
	happened := []string{count(d.Rounds, "round", "rounds"), hours(d.HoursCovered) + " known"}
	for _, x := range []struct {
		n         int
		one, many string
	}{{d.Trips, "trip", "trips"}, {d.Clearings, "screen clearing", "screen clearings"}} {
		if x.n > 0 {
			happened = append(happened, count(x.n, x.one, x.many))
		}
	}
	more = strings.Join(happened, "; ")
	if f.kind == powerChart {
		var parts []string
		for _, x := range []struct {
			name string
			r    *week.Range
		}{{"generated", d.EnergyKWh.Generated}, {"used", d.EnergyKWh.Used}, {"dumped", d.EnergyKWh.Dumped}} {
			if x.r != nil {
				parts = append(parts, x.name+" "+energy(d.EnergyKWh, *x.r))
			}
		}
		return at + strings.Join(parts, ", "), ui.Unjudged, more
	}
	e, _ := d.Extreme(string(s.k))
	one := func(v week.ValueAt, word string) string {
		st := ui.StateOf(word)
		state = max(state, st)
		return strings.TrimRight(p.reading(s.k, v.Value)+" "+st.Word()+" "+st.Sign(), " ")
	}
	low, high := one(e.Low, e.LowState), one(e.High, e.HighState)
	return at + fmt.Sprintf("%s from %s to %s", label(s.k), low, high), state, more
}

// under draws what stands under the cursor in so many lines, so that nothing moves while the cursor does.
func (p page) under(f figure, s stop, ok bool, w, lines int) []string {
	var out []string
	switch {
	case ok:
		first, state, more := p.readout(f, s)
		for _, l := range p.sentence(first, state, w) {
			out = append(out, p.common.Theme.Strong.Render(l))
		}
		out = join(out, p.plain(more, w))
	case len(f.stops) == 0:
	case p.byDays():
		out = p.plain("Left and Right walk along the days; Enter shows the week that ends with one.", w)
	default:
		out = p.plain("Left and Right walk along the rounds; Enter opens one in the Log.", w)
	}
	for len(out) < lines {
		out = append(out, "")
	}
	if len(out) > lines && lines > 0 {
		out = out[:lines]
		out[lines-1] = p.common.Theme.Cut(text.PadRight(out[lines-1], max(0, w))+" ", w) // so that the cut shows
	}
	return out[:lines]
}
