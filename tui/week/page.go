package weekview

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/week"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// Report is what the page is drawn from.
type Report struct {
	Review *week.Review // nil where Err says why, or while it is being worked out
	Plant  *plant.Plant // for the bands in the charts; nil draws none
	Err    error

	Pending bool // the forecasts are still worked out, and with them what the verdict rests on
	LeftOut bool // nobody asked for the forecasts
}

// page lays the facts out; the screen and the command share it.
type page struct {
	report Report
	common ui.Common
	text   bool // a command's output: nothing is held back for room
}

// Text is the page for a command's output, w cells wide, with the charts of the power and of the pond at its end.
func Text(r Report, c ui.Common, w int) string {
	p := page{report: r, common: c, text: true}
	out := p.lines(w)
	for _, k := range []kind{powerChart, levelChart} {
		if r.Review == nil {
			break
		}
		if f := p.figure(k); len(f.stops) > 0 {
			out = join(out, []string{p.section(k.title(), w)}, strings.Split(f.chart.View(c.Theme, w, chartPrinted), "\n"))
		}
	}
	for i, l := range out {
		out[i] = c.Theme.Cut(l, w)
	}
	return strings.Join(out, "\n") + "\n"
}

// chartPrinted is the height of a chart in a command's output.
const chartPrinted = 12

// lines is the whole page but the charts: what the owner asks first stands first, and fits into a small window.
func (p page) lines(w int) []string {
	if p.report.Review == nil {
		return p.missing(w)
	}
	return join(p.head(w), p.decide(w), p.energy(w), p.bands(w), p.rest(w))
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
	if p.report.Err == nil {
		return p.sentence("Working out the review.", ui.Unjudged, w)
	}
	if errors.Is(p.report.Err, errStopped) {
		return p.sentence("No review: it was stopped. w, m and y work one out, of a week, a month or a year.", ui.Unjudged, w)
	}
	return join(p.sentence("There is no review yet: "+text.Show(p.report.Err.Error())+".", ui.Unjudged, w), []string{""},
		p.sentence("What is needed: a plant file, and rounds with the load and the dump share or the dumped power (key 2 takes a round).", ui.Unjudged, w))
}

// section is a heading with its rule.
func (p page) section(title string, w int) string { return ui.Section(p.common.Theme, title, "", w) }

// word names the period: "week".
func (p page) word() string { return string(p.report.Review.Span) }

// head says which time this is about, and how the plant was in one sentence.
func (p page) head(w int) []string {
	out := p.plain(p.common.Theme.Cut(p.period(false), max(10, 2*w)), w)
	verdict := p.verdict()
	for _, l := range p.sentence(verdict.Text, verdict.State, w) {
		out = append(out, p.common.Theme.Strong.Render(l))
	}
	return out
}

// period is which time the review is about, and how much of it is known: once with its year in what is filed and printed.
func (p page) period(filed bool) string {
	r := p.report.Review
	from, to := p.bounds(filed)
	return fmt.Sprintf("%s from %s to %s: %s, %s of %s known", upper(p.word()), from, to,
		count(r.Rounds, "round", "rounds"), strings.TrimSuffix(hours(r.HoursCovered), text.NBSP+"h"), hours(r.Hours))
}

// verdict is the review in one sentence.
func (p page) verdict() Item {
	r := p.report.Review
	state := ui.Good
	if !r.Well && len(r.Decisions) > 0 {
		state = ui.StateOfUrgency(r.Decisions[0].Urgency)
	}
	says := ended(upper(text.Show(r.Verdict)))
	missing := p.unforeseen()
	if missing != "" && state == ui.Good { // what the forecast brings may change it
		state = ui.Unjudged
	}
	return Item{Text: says + missing, State: state}
}

// unforeseen says why the forecasts are missing, "" where they are not.
func (p page) unforeseen() string {
	switch {
	case p.report.LeftOut:
		return " How long the water lasts was left out, as asked."
	case p.report.Pending && p.text: // a page stays as it was written
		return " How long the water lasts is not in this page: it was still being worked out when the page was written."
	case p.report.Pending:
		return " How long the water lasts is still being worked out."
	}
	return ""
}

// ended ends a sentence with one full stop.
func ended(s string) string { return strings.TrimRight(s, ".") + "." }

// decideLines is how many lines of a small window are given to what must be decided, so that what the plant gave stands on
// the first page; the rest comes after it.
const decideLines = 6

// decide lists what the owner must decide, most urgent first.
func (p page) decide(w int) []string {
	out, _ := p.decisions(w)
	return out
}

// decisions returns the first decisions and those that had no room among them.
func (p page) decisions(w int) (first, more []string) {
	list := p.report.Review.Decisions
	first = []string{p.section("To decide", w)}
	for i, d := range list {
		item := p.decision(d, w)
		left := len(list) - i
		if !p.text && i > 0 && len(first)+len(item) > decideLines && len(more) == 0 && (left > 1 || len(first)+len(item) > decideLines+1) {
			first = append(first, fmt.Sprintf("         and %d more, further down", left))
			more = []string{p.section("Also to decide", w)}
		}
		if len(more) > 0 {
			more = append(more, item...)
			continue
		}
		first = append(first, item...)
	}
	return first, more
}

// decision is one of them: its urgency as a word and a sign, the sentence, and the screen that tells more.
func (p page) decision(d week.Decision, w int) []string {
	const indent = 9
	s := upper(text.Show(strings.TrimRight(d.Text, ".")))
	if see := s + " (see " + upper(text.Show(d.Screen)) + ")"; d.Screen != "" && len(text.Wrap(see, max(10, w-indent))) == len(text.Wrap(s, max(10, w-indent))) {
		s = see // a line for it alone would push out what matters more
	}
	word := p.common.Theme.State(ui.StateOfUrgency(d.Urgency)).Render(text.PadRight(ui.UrgencyMark(d.Urgency), indent-2))
	var out []string
	for i, l := range text.Wrap(s, max(10, w-indent)) {
		lead := strings.Repeat(" ", indent)
		if i == 0 {
			lead = " " + word + " "
		}
		out = append(out, lead+l)
	}
	return out
}

// nameCells is the width of the names in front of the table of energies.
const nameCells = 13

// energy is what the plant gave, beside the period before.
func (p page) energy(w int) []string {
	r := p.report.Review
	t := p.common.Theme
	out := []string{p.section(t.Cut(p.row("What it gave", "this "+p.word(), p.before(), w), w-2), w)}
	for _, x := range p.energies() {
		now, then := p.energyOf(&r.Period, x.now, true), p.energyOf(r.Before, x.then, r.Before != nil)
		if text.Width(then) > energyCells(w) {
			then, _, _ = strings.Cut(then, " (") // the range would be cut
		}
		out = append(out, t.Cut(" "+p.row(x.name, now, then, w), w))
	}
	return append(out, t.Cut(" "+p.row("available", p.available(&r.Period), p.availableOf(r.Before), w), w))
}

// before heads the column of the period before.
func (p page) before() string {
	if p.report.Review.Before == nil {
		return "no " + p.word() + " before in the log"
	}
	return "the " + p.word() + " before"
}

// energyRow is one energy of this period and of the one before.
type energyRow struct {
	name      string
	now, then *week.Range
}

func (p page) energies() []energyRow {
	r, was := p.report.Review, week.Period{}
	if r.Before != nil {
		was = *r.Before
	}
	return []energyRow{
		{"generated", r.EnergyKWh.Generated, was.EnergyKWh.Generated},
		{"used", r.EnergyKWh.Used, was.EnergyKWh.Used},
		{"dumped", r.EnergyKWh.Dumped, was.EnergyKWh.Dumped},
	}
}

// energyCells is the width of one period's column.
func energyCells(w int) int { return max(12, min(30, (w-nameCells-3)/2)) }

func (p page) row(name, now, then string, w int) string {
	return strings.TrimRight(text.PadRight(name, nameCells)+text.PadRight(now, energyCells(w))+"  "+then, " ")
}

// energyOf is an energy of a period; where it should be known and is not, that is said.
func (p page) energyOf(x *week.Period, r *week.Range, wanted bool) string {
	switch {
	case r != nil && x != nil:
		return strings.ReplaceAll(energy(x.EnergyKWh, *r), text.NBSP, " ")
	case wanted:
		return "not known"
	}
	return ""
}

// available is the availability with the stops and trips of a period. One that only lasts on from before counts there.
func (p page) available(x *week.Period) string {
	var parts []string
	if x.Availability != nil {
		parts = append(parts, percent(*x.Availability))
	}
	stops, trips := 0, 0
	for _, s := range x.Stops {
		switch {
		case s.Time.Before(x.From):
		case s.Kind == "trip":
			trips++
		default:
			stops++
		}
	}
	parts = append(parts, count(trips, "trip", "trips"), count(stops, "stop", "stops"))
	return strings.ReplaceAll(strings.Join(parts, ", "), text.NBSP, " ")
}

func (p page) availableOf(x *week.Period) string {
	if x == nil {
		return ""
	}
	return p.available(x)
}

// Widths of the table of bands.
const (
	bandCells  = 18 // the names
	shareCells = 8
	valueCells = 12
)

// bandsWide is the width from which the lowest and the highest reading stand in the table of bands as well.
const bandsWide = bandCells + 4*shareCells + 2*valueCells

// bands is how long each quantity was in its band, with the lowest and the highest reading.
func (p page) bands(w int) []string {
	r := p.report.Review
	head := text.PadRight("Time in band", bandCells)
	for _, s := range []string{"in", "near !", "out !!", "before"} {
		head += text.PadLeft(s, shareCells)
	}
	if w >= bandsWide {
		head += text.PadLeft("lowest", valueCells) + text.PadLeft("highest", valueCells)
	}
	out := []string{p.section(p.common.Theme.Cut(head, w-2), w)}
	if len(r.States) == 0 {
		return append(out, p.plain("No reading with a band was written down.", w)...)
	}
	for _, q := range worstFirst(r.States) {
		out = append(out, p.common.Theme.Cut(p.band(q, w), w))
	}
	if f := p.frequency(); f.Text != "" {
		out = join(out, p.sentence(f.Text, f.State, w))
	}
	return out
}

// worstFirst puts the quantities that left their bands first, the longest out foremost, then the voltage and the frequency,
// then the others in walking order.
func worstFirst(states week.States) week.States {
	rank := func(q week.QuantityState) int {
		switch quantity.Key(q.Quantity).Name() {
		case quantity.Volts, quantity.Hertz:
			return 0
		}
		return 1
	}
	out := slices.Clone(states)
	slices.SortStableFunc(out, func(a, b week.QuantityState) int {
		return cmp.Or(cmp.Compare(b.OutShare, a.OutShare), cmp.Compare(b.NearShare, a.NearShare), cmp.Compare(rank(a), rank(b)))
	})
	return out
}

// band is one quantity's row. Where some of its time was out, so says the row's look, with the sign at the share.
func (p page) band(q week.QuantityState, w int) string {
	k := quantity.Key(q.Quantity)
	share := func(v float64, s ui.State) string {
		cell := text.PadLeft(percent(v), shareCells)
		if v > 0 {
			cell = p.common.Theme.State(s).Render(cell)
		}
		return cell
	}
	row := " " + text.PadRight(text.Truncate(assess.LabelOf(k), bandCells-1, "."), bandCells-1)
	row += share(q.InShare, ui.Unjudged) + share(q.NearShare, ui.Near) + share(q.OutShare, ui.Out)
	row += text.PadLeft(p.inBefore(q.Quantity), shareCells)
	if e, ok := p.report.Review.Extreme(q.Quantity); ok && w >= bandsWide {
		row += p.extreme(k, e.Low, e.LowState) + p.extreme(k, e.High, e.HighState)
	}
	return row
}

// inBefore is how much of the period before a quantity was in its band.
func (p page) inBefore(q string) string {
	if b := p.report.Review.Before; b != nil {
		if then, ok := b.States.Of(q); ok && then.Hours > 0 {
			return percent(then.InShare)
		}
	}
	return ""
}

// extreme is a value with the sign of its state.
func (p page) extreme(k quantity.Key, v week.ValueAt, state string) string {
	s := ui.StateOf(state)
	sign := s.Sign()
	if sign != "" {
		sign = " " + sign
	}
	return p.common.Theme.State(s).Render(text.PadLeft(p.reading(k, v.Value)+sign, valueCells))
}

// frequency is EN 50160's reading of the week's frequency.
func (p page) frequency() Item {
	f := p.report.Review.Frequency
	if f == nil {
		return Item{}
	}
	verdict, state := "kept", ui.Unjudged
	if !f.Within95 || !f.WithinAll {
		verdict, state = "not kept", ui.Near
	}
	s := fmt.Sprintf("EN 50160, 95%s%% of a week within %s to %s: %s, %s of the time read", text.NBSP,
		rounded(f.Low, 0.1), strings.ReplaceAll(p.reading(quantity.Key(quantity.Hertz), f.High), text.NBSP, " "), verdict, percent(f.Share))
	if !f.WithinAll {
		s += "; a reading was beyond ±15" + text.NBSP + "%"
	}
	return Item{Text: s, State: state}
}

// sentence wraps a sentence behind its state's sign.
func (p page) sentence(s string, state ui.State, w int) []string {
	const indent = 4
	sign := text.PadRight(state.Sign(), indent-1)
	if state.Sign() == "" {
		return p.plain(s, w)
	}
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
