package ballast

import (
	"fmt"
	"strings"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/electrical"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/chart"
	"example.org/headpond/tui/ui/text"
)

// page lays the facts out; the screen and the command share it.
type page struct {
	report Report
	common ui.Common
}

// wideEnough is the width from which the loads and cautions stand beside the rest.
const wideEnough = 112

func (p page) lines(w int) []string {
	if p.report.Facts == nil {
		return p.missing(w)
	}
	head := p.head(w)
	if w < wideEnough {
		return join(head, p.powers(w), p.rejections(w), p.loads(w), p.unitStops(w), p.otherWays(w), p.cautions(w))
	}
	body := ui.Columns(p.common.Theme, w, 3,
		ui.Column{Min: 68, Weight: 1, Body: func(w int) string {
			return strings.Join(join(p.powers(w), p.rejections(w), p.unitStops(w), p.otherWays(w)), "\n")
		}},
		ui.Column{Min: 40, Weight: 1, Body: func(w int) string { return strings.Join(join(p.loads(w), p.cautions(w)), "\n") }})
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
	out := p.sentence("Nothing can be said about the ballast yet: "+why+".", ui.Unjudged, w)
	if p.report.Plant == nil {
		return out
	}
	how := "Walk a round (key 2) and read at the panel the voltage, the consumer load, and the dump share or the dumped power. One such round is enough."
	return join(out, []string{""}, p.sentence(how, ui.Unjudged, w))
}

// head is what matters first: the load room, and whether the ballast could take everything.
func (p page) head(w int) []string {
	room, roomState := p.room()
	drop, dropState := p.drop()
	rests, age := p.rests(), ui.Unjudged
	if r := p.report; !r.Round.IsZero() && r.At.Sub(r.Round) > assess.RoundStale {
		age = ui.Near
	}
	first := p.sentence(room, roomState, w)
	if roomState == ui.Unjudged {
		for i, l := range first {
			first[i] = p.common.Theme.Strong.Render(l)
		}
	}
	if since := p.report.Facts.Since; since != nil { // what holds now before what held at the readings
		words := since.Words(p.common.Local(p.report.At))
		if len(since.Running) == 0 {
			words += ": nothing can be switched on and the ballast is idle"
		}
		return join(p.sentence(words+". All powers below were read before that.", ui.Near, w), p.sentence(rests, age, w))
	}
	return join(first, p.sentence(drop, dropState, w), p.sentence(rests, age, w))
}

// room says how much load may still be switched on, and which of the listed loads may not.
func (p page) room() (string, ui.State) {
	f := p.report.Facts
	switch {
	case f.Overload != nil && electrical.Shows(f.Overload.ShortKW):
		s, _ := p.settled(f.Overload.Settled)
		return fmt.Sprintf("Overload: consumers take %s more than is generated. Without relief: %s.", kw(f.Overload.ShortKW), s), ui.Out
	case f.DumpedKW != nil && electrical.Shows(-*f.DumpedKW):
		return fmt.Sprintf("Overload: consumers take %s more than is generated.", kw(-*f.DumpedKW)), ui.Out
	case f.LoadRoomKW == nil:
		return "How much more can be switched on is not known: the round has neither a dump share nor a dumped power that fits a load.", ui.Near
	}
	s := kw(*f.LoadRoomKW) + " more can be switched on"
	var not []string
	for _, l := range f.LoadsThatFit {
		if !l.Fits {
			not = append(not, text.Show(l.Name))
		}
	}
	switch {
	case len(f.LoadsThatFit) == 0:
		return s + ".", ui.Unjudged
	case len(not) == 0:
		return s + ": any one of the listed loads fits.", ui.Unjudged
	case len(not) == len(f.LoadsThatFit):
		return s + ": none of the listed loads fits.", ui.Near
	}
	return s + ", but not: " + strings.Join(not, ", ") + ".", ui.Unjudged
}

// drop says what happens if all consumers drop off now.
func (p page) drop() (string, ui.State) {
	f := p.report.Facts
	r := f.Rejection
	switch {
	case r == nil:
		return "Whether the ballast could take everything is not known, because the generation is not.", ui.Near
	case f.GenerationKW != nil && *f.GenerationKW == 0:
		return "Nothing is generated, so nothing would come to the ballast.", ui.Unjudged
	}
	s, state := p.settled(r.Settled)
	if words, speedsUp := f.RejectionWords(); words != "" && !speedsUp {
		return upper(words) + ".", ui.Near
	}
	if r.MarginKW >= 0 {
		out := fmt.Sprintf("If all consumers drop off now, the ballast takes everything, with %s to spare", kw(r.MarginKW))
		if r.MarginPct != nil && *r.MarginPct < 1000 { // next to nothing is generated: a share of it tells nothing
			out += fmt.Sprintf(" (%.0f %% of the generation)", *r.MarginPct)
		}
		if state == ui.Out {
			return out + ", but: " + s + ".", state
		}
		return out + ".", ui.Good
	}
	return fmt.Sprintf("If all consumers drop off now, the ballast is %s short: %s.", lack(-r.MarginKW), s), p.speeding(r.Settled)
}

// speeding is the state of a bus whose ballast is too small: Near where it overspeeds within the trip settings.
func (p page) speeding(s electrical.Settled) ui.State {
	if _, state := p.settled(s); state == ui.Good {
		return ui.Near
	}
	return ui.Out
}

// rests says which readings all this comes from and how old they are.
func (p page) rests() string {
	f, r := p.report.Facts, p.report
	s := "From the readings of "
	switch {
	case r.Round.IsZero():
		s = "From the last readings"
	default:
		s += p.clock(r.Round)
		if age := r.At.Sub(r.Round); age >= 0 {
			s += ", " + assess.Span(age) + " old"
		}
	}
	if f.Volts != nil {
		s += fmt.Sprintf(", at %.0f%sV", *f.Volts, text.NBSP)
	}
	switch {
	case f.Running == nil:
		s += "; which units ran is not known"
	case len(f.Running) == 0:
		s += "; no unit of the common bus ran"
	default:
		s += "; running " + text.Show(record.FormatRunning(f.Running))
	}
	return s + "."
}

// clock tells a time on the plant's clock, with the day where it is not today.
func (p page) clock(t time.Time) string {
	now, local := p.common.Local(p.report.At), p.common.Local(t)
	switch {
	case now.Format(time.DateOnly) == local.Format(time.DateOnly):
		return p.common.Clock(t, "15:04")
	case now.Year() == local.Year():
		return p.common.Clock(t, "Mon 2 Jan 15:04")
	}
	return p.common.Clock(t, "Mon 2 Jan 2006 15:04")
}

// powers draws the bar of what is used, dumped and to spare up to the capacity, and says the same in words.
func (p page) powers(w int) []string {
	f := p.report.Facts
	title := fmt.Sprintf("Ballast: takes at most %s now (rated %s%s)", kw(f.CapacityKW), kw(f.RatedKW), dead(f.Elements))
	out := []string{ui.Section(p.common.Theme, strings.ReplaceAll(title, text.NBSP, " "), "", w)}
	parts := []chart.Part{part("used", f.LoadKW), part("dumped", f.DumpedKW)}
	beyond := ""
	if r := f.Rejection; r != nil {
		if r.MarginKW >= 0 {
			parts = append(parts, part("to spare", &r.MarginKW))
		} else {
			beyond = "right of the line: " + lack(-r.MarginKW) + " too much"
		}
	}
	bar := chart.StackedBar(p.common.Theme, f.CapacityKW, max(3, w-2), parts...)
	lines := strings.Split(bar, "\n")
	if last := lines[len(lines)-1] + "   " + beyond; beyond != "" && text.Width(last)+1 <= w {
		lines[len(lines)-1], beyond = last, ""
	}
	for _, l := range lines {
		out = append(out, " "+strings.ReplaceAll(l, text.NBSP, " "))
	}
	if beyond != "" {
		out = join(out, p.plain(upper(beyond)+".", w))
	}
	return join(out, p.words(w))
}

// dead names the elements that are out of work, for the heading.
func dead(list []electrical.Element) string {
	var names []string
	for _, e := range list {
		if !e.Working {
			names = append(names, text.Show(e.Name))
		}
	}
	if len(names) == 0 {
		return ""
	}
	return "; out of work: " + strings.Join(names, ", ")
}

func part(name string, v *float64) chart.Part {
	if v == nil {
		return chart.Part{Name: name, Shown: "not known"}
	}
	return chart.Part{Name: name, Value: *v, Shown: kw(*v)}
}

// words says where the powers come from, what is left, and what sets the capacity.
func (p page) words(w int) []string {
	f := p.report.Facts
	out := p.plain(p.sources(), w)
	switch {
	case f.RemainingKW == nil:
		return join(out, p.plain("Capacity: "+p.limit()+".", w))
	case electrical.Shows(-*f.RemainingKW):
		return join(out, p.plain(fmt.Sprintf("The ballast would have to take %s more than it can; %s.", kw(-*f.RemainingKW), p.limit()), w))
	}
	return join(out, p.plain(fmt.Sprintf("Takes %.1f of %s now; %s.", max(0, *f.DumpedKW), kw(f.CapacityKW), p.limit()), w))
}

// limit says what sets the capacity.
func (p page) limit() string {
	f := p.report.Facts
	switch {
	case len(f.Elements) == 0:
		return "no ballast element is described"
	case f.LimitedBy == electrical.ByController && f.ControllerKW != nil:
		return fmt.Sprintf("limited by the controller (elements %s)", kw(f.ElementsKW))
	case f.ControllerKW != nil:
		return fmt.Sprintf("limited by its elements (controller %s)", kw(*f.ControllerKW))
	}
	return "limited by its elements"
}

// sources says by what each power is known: "5.3 kW generated and 2.4 kW dumped, by the dump share; 2.9 kW used, as read."
func (p page) sources() string {
	f := p.report.Facts
	var order []string
	what := map[string][]string{}
	add := func(v *float64, from, verb string) {
		if v == nil {
			return
		}
		if len(what[from]) == 0 {
			order = append(order, from)
		}
		what[from] = append(what[from], kw(max(0, *v))+" "+verb) // an overload is told above
	}
	add(f.GenerationKW, f.GenerationFrom, "generated")
	add(f.LoadKW, f.LoadFrom, "used")
	add(f.DumpedKW, f.DumpedFrom, "dumped")
	var parts []string
	for _, from := range order {
		by := "by " + assess.From(from).Words()
		if assess.From(from) == assess.FromMeters {
			by = "as read"
		}
		parts = append(parts, and(what[from])+", "+by)
	}
	if f.GenerationKW == nil {
		parts = append(parts, "what is generated is not known")
	}
	return upper(strings.Join(parts, "; ")) + "."
}

// and joins a few things: "a, b and c".
func and(list []string) string {
	if len(list) < 2 {
		return strings.Join(list, "")
	}
	return strings.Join(list[:len(list)-1], ", ") + " and " + list[len(list)-1]
}

// sentence wraps a sentence with its state's sign in front.
func (p page) sentence(s string, state ui.State, w int) []string {
	const indent = 4
	sign := text.PadRight(state.Sign(), indent-1)
	var out []string
	for i, l := range text.Wrap(s, max(10, w-indent)) {
		if i > 0 {
			sign = strings.Repeat(" ", indent-1)
		}
		style := p.common.Theme.State(state)
		out = append(out, " "+style.Render(sign+l))
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

// kw is a power with its unit, to what gauges give.
func kw(v float64) string {
	s := fmt.Sprintf("%.1f", v)
	if s == "-0.0" {
		s = "0.0"
	}
	return s + text.NBSP + "kW"
}

// lack is a power that is missing; one that rounds to nothing is still missing.
func lack(v float64) string {
	if v < 0.05 {
		return "under " + kw(0.1)
	}
	return kw(v)
}

func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
