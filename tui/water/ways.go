package waterview

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/water"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/chart"
	"example.org/headpond/tui/ui/text"
)

// table lists the ways of running side by side.
func (p page) table(w int) []string {
	f := p.facts()
	columns := []ui.TableColumn{
		{Title: "running"},
		{Title: "to the stop level"},
		{Title: "a day", Align: ui.Right},
		{Title: "energy to the stop", Align: ui.Right},
		{Title: "then", Rank: 2},
		{Title: "draws", Align: ui.Right, Rank: 3},
		{Title: "stop reached", Rank: 4},
	}
	refills := slices.ContainsFunc(f.Ways, leavesOut)
	if refills {
		columns = slices.Insert(columns, 2, ui.TableColumn{Title: "refills counted", Rank: 1})
	}
	compare := p.supposes() != "" && p.report.Facts != nil && p.answer != nil
	if compare {
		columns = append(columns[:2:2], append([]ui.TableColumn{{Title: "as it is", Rank: 0}}, columns[2:]...)...)
	}
	tb := ui.Table{Columns: columns, Len: len(f.Ways), Row: func(i int) ui.TableRow { return p.row(i, compare, refills) }, Empty: "There is no way of running to show."}
	tb = tb.SetSize(w, len(f.Ways)+1).Select(p.picked())
	if p.text {
		tb.At = -1 // paper has no selection
	}
	return strings.Split(tb.View(p.common.Theme), "\n")
}

// leavesOut reports whether the time to the stop level leaves out outcomes that are worth a word.
func leavesOut(w water.Way) bool { return w.TellsDrySpell() && w.Outcome == water.RunsOut }

// withRefills is how long a way lasts over all outcomes, where that is not what is told first.
func withRefills(w water.Way) string {
	if !leavesOut(w) || w.HoursAnyOutcome == nil || w.Standing.Reckoned() {
		return ""
	}
	return assess.WaterRange(w.HoursAnyOutcome)
}

func (p page) row(i int, compare, refills bool) ui.TableRow {
	way := p.facts().Ways[i]
	cells := []string{wayName(way.Run, way.Plan), span(way)}
	if compare {
		cells = append(cells, p.asItIs(way))
	}
	if refills {
		cells = append(cells, withRefills(way))
	}
	day, energy, draws := "", "", ""
	if kWh, ok := way.PerDayKWh(); ok && kWh > 0 {
		day = about(kWh) + " kWh"
	}
	if e := way.EnergyKWh; e != nil && e.P90 > 0 {
		energy = aboutRange(e.P10, e.P90) + " kWh"
	}
	if way.DrawLps > 0 {
		draws = p.flow(way.DrawLps) + strings.ReplaceAll(p.flowUnit(), text.NBSP, " ")
	}
	reached := ""
	if way.Outcome == water.RunsOut && !way.Standing.Reckoned() {
		reached = p.dates(way.Hours)
	}
	return ui.TableRow{Cells: append(cells, day, energy, outcome(way), draws, reached), States: []ui.State{ui.Unjudged, p.urgency(way)}}
}

// asItIs is how long the same way lasts without the supposition.
func (p page) asItIs(way water.Way) string {
	for _, w := range p.report.Facts.Ways {
		if wayName(w.Run, w.Plan) == wayName(way.Run, way.Plan) {
			return span(w)
		}
	}
	return ""
}

// span is WaterSpan in the fewest words: the column beside it says what comes then.
func span(w water.Way) string {
	s := assess.WaterSpan(w)
	switch {
	case s == "":
		return "not known yet"
	case w.Standing.Reckoned():
		return s
	case w.TellsDrySpell() && w.Outcome != water.RunsOut:
		return outcome(w) + "; dry " + assess.WaterRange(w.Hours)
	}
	return s
}

// outcome is what comes of a way, in a word or two.
func outcome(w water.Way) string {
	switch w.Outcome {
	case water.Lasts:
		return "lasts"
	case water.RunsOut:
		return "runs out"
	case water.Spills:
		return "spills"
	}
	return ""
}

// details are the words about the picked way, the permit, the cautions and what all rests on.
func (p page) details(w int) []string {
	f := p.facts()
	var out []string
	if i := p.picked(); i < len(f.Ways) {
		way := f.Ways[i]
		out = append(out, ui.Section(p.common.Theme, p.with(way), "", w))
		out = join(out, p.way(way, w), p.permit(way, w))
	}
	out = join(out, p.inflow(w))
	out = append(out, ui.Section(p.common.Theme, "Rests on", "", w))
	out = join(out, p.plain(p.rests(), w))
	out = append(out, ui.Section(p.common.Theme, "Cautions", "", w))
	for _, c := range f.Cautions {
		out = join(out, p.item(text.Show(c), w))
	}
	return join(out, p.item("A forecast from hand readings: it supports, and never replaces, the water permit and a look at the pond.", w))
}

// way tells when the stop level is reached and what the way gives.
func (p page) way(way water.Way, w int) []string {
	var out []string
	f := p.facts()
	if d := p.dates(way.Hours); d != "" && way.Outcome == water.RunsOut && !way.Standing.Reckoned() {
		s := "Stop level reached " + d
		if leavesOut(way) {
			s += " unless filled first"
		}
		if h := way.Hours.P50; h != nil && *h > 0 && *h <= farHours {
			middle := p.dates(&water.Hours{P10: h, P90: h})
			s += "; as likely before as after " + middle
		}
		out = join(out, p.plain(s+".", w))
	}
	if t := way.HoldsUntil; t != nil && t.After(f.At) && t.Sub(f.At) <= farHours*time.Hour {
		out = join(out, p.plain("Can be planned with until "+p.common.Local(*t).Format("Mon 2 Jan 15:04")+", as it holds that long in 80 of 100 outcomes.", w))
	}
	if way.Outcome == water.RunsOut && way.RunsOutShare > 0 && way.RunsOutShare < 0.995 {
		out = join(out, p.plain(fmt.Sprintf("%.0f of 100 outcomes reach it within the forecast.", 100*way.RunsOutShare), w))
	}
	if e := way.EnergyKWh; e != nil && e.P90 > 0 {
		until := "to the stop level"
		if way.Outcome != water.RunsOut {
			until = "within the forecast"
		}
		if way.TellsDrySpell() {
			until += ", refills counted"
		}
		out = join(out, p.plain(fmt.Sprintf("Gives %s%skWh %s, middle %s.", aboutRange(e.P10, e.P90), text.NBSP, until, about(e.P50)), w))
	}
	return out
}

// permit tells when the permit's levels are reached.
func (p page) permit(way water.Way, w int) []string {
	if way.Permit == nil {
		return nil
	}
	var out []string
	tell := func(which string, level *float64, h *water.Hours) {
		if level == nil {
			return
		}
		s, state := p.reached(h, p.readPast(which, *level))
		out = join(out, p.marked("Permit: "+which+" level "+p.level(*level)+" "+s+".", state, w))
	}
	tell("low", way.Permit.LowM, way.Permit.LowHours)
	tell("high", way.Permit.HighM, way.Permit.HighHours)
	return out
}

// readPast reports whether a level of the last day or so was read past a permit's.
func (p page) readPast(which string, level float64) bool {
	f := p.facts()
	age, ok := f.LevelAge()
	if !ok || age > water.LevelTells {
		return false
	}
	if which == "low" {
		return f.LastLevel.Value <= level
	}
	return f.LastLevel.Value >= level
}

func (p page) reached(h *water.Hours, read bool) (string, ui.State) {
	switch {
	case h == nil || h.P10 == nil:
		return "is not likely to be reached", ui.Unjudged
	case *h.P10 <= 0 && read:
		return "is passed now", ui.Out
	case *h.P10 <= 0:
		return "is perhaps passed by now; read the gauge", ui.Near
	case h.P50 == nil:
		return fmt.Sprintf("is reached in fewer than half of the outcomes, the first ten of 100 in %s", assess.SpanOf(*h.P10)), ui.Unjudged
	}
	state := ui.Unjudged
	if *h.P10 <= comingHours {
		state = ui.Near
	}
	return fmt.Sprintf("is reached in %s, %s", assess.SpanRange(h.P10, h.P90), p.dates(h)), state
}

// inflow draws how the inflow went, as the filter saw it.
func (p page) inflow(w int) []string {
	points := p.facts().Inflow
	if len(points) < 3 || w < 30 {
		return nil
	}
	last := points[len(points)-1].Time
	from := last.Add(-inflowShown)
	width := min(w-4, 48)
	sums, counts := make([]float64, width), make([]float64, width)
	lo, hi := points[len(points)-1].Lps.P50, points[len(points)-1].Lps.P50
	for _, x := range points {
		if x.Time.Before(from) {
			continue
		}
		i := min(width-1, int(float64(x.Time.Sub(from))/float64(inflowShown)*float64(width)))
		sums[i], counts[i] = sums[i]+x.Lps.P50, counts[i]+1
		lo, hi = min(lo, x.Lps.P50), max(hi, x.Lps.P50)
	}
	for i := range sums {
		sums[i] /= counts[i] // NaN without any: a gap
	}
	out := []string{ui.Section(p.common.Theme, "Inflow of the last 30 days", "", w)}
	out = append(out, " "+chart.Sparkline(p.common.Theme, sums, ui.Range{Lo: 0, Hi: hi}, width))
	return join(out, p.plain(fmt.Sprintf("From %s to %s%s, %s now.", p.flow(lo), p.flow(hi), p.flowUnit(), p.flow(points[len(points)-1].Lps.P50)), w))
}

// inflowShown is how much of the inflow's past is drawn.
const inflowShown = 30 * 24 * time.Hour

// rests says how much of the log the forecast rests on.
func (p page) rests() string {
	r := p.facts().RestsOn
	levels := fmt.Sprintf("%d levels", r.Levels)
	if r.Levels == 1 {
		levels = "1 level"
	}
	if r.From == nil || r.To == nil {
		return levels + "."
	}
	return fmt.Sprintf("%s read from %s to %s.", levels, p.common.Local(*r.From).Format("2 Jan"), p.common.Local(*r.To).Format("2 Jan 2006 15:04"))
}

// plain wraps a sentence under a heading.
func (p page) plain(s string, w int) []string { return p.marked(s, ui.Unjudged, w) }

// marked is plain with the sign of a state in front.
func (p page) marked(s string, state ui.State, w int) []string {
	if sign := state.Sign(); sign != "" {
		s = sign + " " + s
	}
	var out []string
	for _, l := range text.Wrap(s, max(10, w-2)) {
		out = append(out, " "+p.common.Theme.State(state).Render(l))
	}
	return out
}

// item is one entry of a list.
func (p page) item(s string, w int) []string {
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
