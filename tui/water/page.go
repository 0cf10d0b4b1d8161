package waterview

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/water"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/form"
	"example.org/headpond/tui/ui/text"
)

// Report is what the page is drawn from.
type Report struct {
	Facts   *water.Facts // nil where Err says why, or while they are being worked out
	Running []string     // what runs now; nil while it is not known
	WhatIf  water.WhatIf // what a command's facts suppose
	Err     error
}

// page lays the facts out; the screen and the command share it.
type page struct {
	report Report
	common ui.Common
	w, h   int
	text   bool // a command's output: as long as it needs to be

	want, got  question
	answer     *water.Facts // to got
	waiting    bool         // for the answer to want
	failed     error
	field      *form.Field // being typed into
	pickedName string
}

// wideEnough is the width from which words stand beside the chart and the table.
const wideEnough = 112

// facts are the answer to what is asked, else those as things are.
func (p page) facts() *water.Facts {
	switch {
	case p.answer != nil:
		return p.answer
	case p.report.Facts != nil:
		return p.report.Facts
	}
	return &water.Facts{}
}

// picked is the place of the way that the chart and the words are about: the one picked, else what runs now, else the
// first in which anything runs.
func (p page) picked() int {
	ways := p.facts().Ways
	by := func(name string) int {
		return slices.IndexFunc(ways, func(w water.Way) bool { return wayName(w.Run, w.Plan) == name })
	}
	if i := by(p.pickedName); p.pickedName != "" && i >= 0 {
		return i
	}
	if i := by(wayName(p.report.Running, nil)); p.report.Running != nil && i >= 0 {
		return i
	}
	return max(0, slices.IndexFunc(ways, func(w water.Way) bool { return len(w.Run) > 0 || w.Plan != nil }))
}

func (p page) lines() []string {
	lines, _ := p.layout()
	return lines
}

// layout returns the page's lines and the line of the first way in the table.
func (p page) layout() (lines []string, row int) {
	if p.report.Facts == nil && p.answer == nil {
		return p.missing(), 0
	}
	head := join(p.head(), p.asked())
	if p.w >= wideEnough {
		return p.wide(head)
	}
	table := p.table(p.w)
	figure := p.figure(p.w, p.chartHeight(len(head)+len(table)+3))
	row = len(head) + len(figure) + 1
	return join(head, figure, table, p.details(p.w)), row
}

// wide puts the words beside the chart and the table.
func (p page) wide(head []string) (lines []string, row int) {
	var figure []string
	body := ui.Columns(p.common.Theme, p.w, 3,
		ui.Column{Min: 68, Weight: 1, Body: func(w int) string {
			table := p.table(w)
			figure = p.figure(w, p.chartHeight(len(head)+len(table)))
			return strings.Join(join(figure, table), "\n")
		}},
		ui.Column{Min: 40, Weight: 0, Body: func(w int) string { return strings.Join(p.details(w), "\n") }})
	return join(head, strings.Split(body, "\n")), len(head) + len(figure) + 1
}

// The chart's height, in lines: what the rest leaves, within these.
const (
	chartLeast   = 7
	chartMost    = 28
	chartPrinted = 12
)

func (p page) chartHeight(rest int) int {
	if p.text {
		return chartPrinted
	}
	return max(chartLeast, min(p.h-rest, chartMost))
}

func join(parts ...[]string) []string {
	var out []string
	for _, p := range parts {
		out = append(out, p...)
	}
	return out
}

// missing says what there is not, and how to get it. The model's errors say both.
func (p page) missing() []string {
	if p.report.Err == nil {
		return p.sentence("Working out how long the water lasts.", ui.Unjudged, p.w)
	}
	why := "How long the water lasts cannot be told yet: " + text.Show(p.report.Err.Error()) + "."
	return join(p.sentence(why, ui.Unjudged, p.w), []string{""},
		p.sentence("What is needed: a plant file with a stage table, and the staff gauge read on two days at least, with what ran (key 2 takes a round).", ui.Unjudged, p.w))
}

// head is what matters first: how long it lasts the picked way, then the pond, then what flows in and out.
func (p page) head() []string {
	f := p.facts()
	var out []string
	if i := p.picked(); i < len(f.Ways) {
		w := f.Ways[i]
		lasts := assess.WaterLasts(w)
		if lasts == "" {
			lasts = "how long is not known yet"
		}
		out = p.sentence(p.with(w)+": "+lasts+".", p.urgency(w), p.w)
		for i, l := range out {
			out[i] = p.common.Theme.Strong.Render(l)
		}
		if s := withRefills(w); s != "" {
			out = join(out, p.sentence("Refills counted, as in the chart: "+s+".", ui.Unjudged, p.w))
		}
	}
	return join(out, p.sentence(p.pond(), ui.Unjudged, p.w), p.sentence(p.flows(), ui.Unjudged, p.w))
}

// with begins a sentence about a way of running.
func (p page) with(w water.Way) string {
	s := "Running " + text.Show(wayName(w.Run, w.Plan))
	if len(w.Run) == 0 && w.Plan == nil {
		s = "Nothing running"
	}
	if w.Plan == nil && p.report.Running != nil && slices.Equal(w.Run, p.report.Running) {
		s += ", as now"
	}
	return s
}

// urgency is the state of a way that ends soon: as Now has it, three days and a fortnight.
func (p page) urgency(w water.Way) ui.State {
	if w.Outcome != water.RunsOut || w.Hours == nil || w.Hours.P10 == nil || len(w.Run) == 0 && w.Plan == nil {
		return ui.Unjudged
	}
	age, read := p.facts().LevelAge()
	reckoned := w.Standing.Reckoned() || read && age > water.LevelOld
	switch h := *w.Hours.P10; {
	case h <= soonHours && reckoned: // what is only reckoned says that the gauge must be read
		return ui.Near
	case h <= soonHours:
		return ui.Out
	case h <= comingHours:
		return ui.Near
	}
	return ui.Unjudged
}

// When a way that ends calls for attention, h: near enough to act today, and near enough to plan for.
const (
	soonHours   = 3 * 24
	comingHours = 14 * 24
)

// pond says how the pond stands.
func (p page) pond() string {
	f := p.facts()
	s := "Pond " + p.level(f.LevelM)
	age, known := f.LevelAge()
	old := known && age > water.LevelTells
	if old {
		s += " as reckoned"
	}
	if l := f.LastLevel; l != nil {
		read := ""
		if old || math.Abs(l.Value-f.LevelM) >= apart {
			read = p.levelRead(l.Value) + " "
		}
		s += fmt.Sprintf(" (read %s%s ago)", read, assess.Span(f.At.Sub(l.Time)))
	}
	stop := "the stop at " + p.level(f.StopLevelM)
	if f.StopLevelFrom != "plant" {
		stop += " (rule of thumb)"
	}
	switch at := p.atStop(); {
	case at.Reckoned():
		return s + ", " + string(at) + " at or below " + stop + " by now; read the gauge."
	case at == water.ReadAtStop, f.UsableM3 <= 0:
		return s + ", at or below " + stop + "."
	}
	return s + ", " + p.common.Units.ShowVolume(f.UsableM3, text.NBSP) + " above " + stop + "."
}

// atStop is what is known of whether the pond stands at its stop level: as the picked way has it, so that no two lines differ.
func (p page) atStop() water.Standing {
	f := p.facts()
	if i := p.picked(); i < len(f.Ways) && f.Ways[i].Standing != "" {
		return f.Ways[i].Standing
	}
	if _, known := f.LevelAge(); !known {
		return ""
	}
	return f.AtStop()
}

// apart is from which difference, m, a level that was read is told beside the estimate.
const apart = 0.02

// flows says what flows in, with its range, beside what the picked way draws.
func (p page) flows() string {
	f := p.facts()
	s := "Inflow not known yet"
	if q := f.InflowLps; q != nil {
		lo, hi := p.flow(q.P10), p.flow(q.P90)
		s = fmt.Sprintf("Inflow %s to %s%s, middle %s", lo, hi, p.flowUnit(), p.flow(q.P50))
		if lo == hi {
			s = "Inflow about " + lo + p.flowUnit()
		}
	}
	if i := p.picked(); i < len(f.Ways) && f.Ways[i].DrawLps > 0 {
		w := f.Ways[i]
		s += fmt.Sprintf("; %s draws %s%s for %.1f%skW", text.Show(wayName(w.Run, w.Plan)), p.flow(w.DrawLps), p.flowUnit(), w.KW, text.NBSP)
	}
	return s + "."
}

// asked shows the field being typed, what the numbers suppose, and the answer about the wanted date.
func (p page) asked() []string {
	var out []string
	if p.field != nil {
		out = append(out, p.common.Theme.Cut(p.field.View(p.common.Theme, p.w, true), p.w))
	}
	if s := p.supposes(); s != "" {
		out = join(out, p.sentence(s, ui.Near, p.w))
	}
	if u := p.facts().Until; u != nil && (p.text || !p.want.until.IsZero()) {
		s, state := p.until(u)
		out = join(out, p.sentence(s, state, p.w))
	}
	return join(out, p.working())
}

// working says how the newest question stands. While something is typed its line is always there, so that nothing else
// moves with each key.
func (p page) working() []string {
	switch {
	case errors.Is(p.failed, errStopped):
		return p.sentence("Stopped: the newest question has no answer.", ui.Near, p.w)
	case p.failed != nil:
		return p.sentence("The newest question has no answer: "+text.Show(p.failed.Error())+".", ui.Near, p.w)
	case p.waiting && p.field == nil:
		return p.sentence("Working out the answer (Esc stops it); what stands here is the last.", ui.Unjudged, p.w)
	case p.waiting:
		return p.sentence("Working out the answer; what stands here is the last.", ui.Unjudged, p.w)
	case p.field != nil:
		return []string{""}
	}
	return nil
}

// supposes says under which supposition the numbers hold.
func (p page) supposes() string {
	w := p.report.WhatIf
	if p.answer != nil {
		w = p.got.whatIf()
	}
	var parts []string
	if b := w.BypassLps; b != nil {
		parts = append(parts, "the bypass is "+p.flowFine(*b))
	}
	if w.RainMM != 0 {
		rain, _ := quantity.Lookup(quantity.RainMM)
		parts = append(parts, rain.Show(w.RainMM, p.common.Units)+text.NBSP+string(rain.ShowUnit(p.common.Units))+" of rain fall within a day")
	}
	if len(parts) == 0 {
		return ""
	}
	return "What if " + strings.Join(parts, " and ") + ": all numbers here suppose it."
}

// until says what can be run until the wanted date.
func (p page) until(u *water.Until) (string, ui.State) {
	run := "no unit at all"
	if len(u.Run) > 0 || u.Plan != nil {
		run = text.Show(wayWords(u.Run, u.Plan))
	}
	when := dayWords(p.common.Local(u.Date), p.common.Local(p.facts().At))
	if u.Holds < sure {
		return fmt.Sprintf("Until %s nothing holds for sure; the best is %s, which holds in %.0f of 100 outcomes.", when, run, 100*u.Holds), ui.Near
	}
	return fmt.Sprintf("Until %s run %s: about %s%skWh, holds in %.0f of 100 outcomes.", when, run, about(u.EnergyKWh), text.NBSP, 100*u.Holds), ui.Good
}

// sure is the share of outcomes in which a plan must hold to be called one that holds (the contract's).
const sure = 0.8

// sentence wraps a sentence with its state's sign in front.
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
