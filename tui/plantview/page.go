package plantview

import (
	"fmt"
	"strings"
	"time"

	"example.org/headpond/logbook/copies"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// report is a revision among the others.
type report struct {
	plant     *plant.Plant
	revisions []record.Revision
	at        int
	until     time.Time // when the next one came into force; zero for none
	inForce   bool
	checked   Check
}

func reportOf(h *record.History, at int, c Check) report {
	r := report{plant: h.Revisions[at].Plant, revisions: h.Revisions, at: at, inForce: at == inForce(h), checked: c}
	if at+1 < len(h.Revisions) {
		r.until = h.Revisions[at+1].From
	}
	return r
}

// page lays a report out; the screen and the command share it.
type page struct {
	report
	common ui.Common
	copied *copies.Status
	leads  bool // the description stands alone: a key leads to the check
}

// wideEnough is the width from which the description stands in two columns.
const wideEnough = 112

// head names the plant, says since when this description holds, and how the check went.
func (p page) head(w int) []string {
	r := p.revisions[p.at]
	t := p.common.Theme
	out := []string{t.Cut(" "+t.Strong.Render(text.Show(p.plant.Site.Name))+", "+text.Show(p.plant.Site.Timezone), w)}
	out = append(out, p.sentence(p.holds(r), ui.Unjudged, w)...)
	s, state := p.verdict()
	return append(out, p.sentence(s, state, w)...)
}

// holds says when a revision holds.
func (p page) holds(r record.Revision) string {
	s := "This description holds from " + p.moment(r.From)
	if !p.until.IsZero() {
		s = fmt.Sprintf("This description held from %s to %s", p.moment(r.From), p.moment(p.until))
		if p.inForce {
			s = fmt.Sprintf("This description holds from %s to %s", p.moment(r.From), p.moment(p.until))
		}
	}
	if p.at == 0 {
		s += " and, being the first, for all times before"
	}
	if r.By != "" {
		s += "; by " + text.Show(r.By)
	}
	if n := len(p.revisions); n > 1 {
		s += fmt.Sprintf("; %d of %d", p.at+1, n)
	}
	if !p.inForce {
		s += "; it is not the one in force"
	}
	return s + "."
}

// verdict sums the check up.
func (p page) verdict() (string, ui.State) {
	var parts []string
	state := ui.Good
	if n := p.checked.Beyond(); n > 0 {
		parts, state = append(parts, fmt.Sprintf("%d of %d numbers of safe operation %s beyond the limit", n, len(p.checked.Numbers), plural(n, "is", "are"))), ui.Near
	}
	if n := len(p.checked.Advice); n > 0 {
		parts, state = append(parts, fmt.Sprintf("%d %s worth a second look", n, plural(n, "thing is", "things are"))), max(state, ui.Near)
	}
	if p.checked.Err != nil {
		parts, state = append(parts, "the plant cannot be solved"), ui.Out
	}
	if len(parts) == 0 {
		return "The check found nothing to say.", state
	}
	s := "Check: " + strings.Join(parts, ", ")
	if p.leads {
		return s + " (c shows the check).", state
	}
	return s + ".", state
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

func (p page) moment(t time.Time) string { return p.common.Clock(t, "Mon 2 Jan 2006 15:04") }

// sentence wraps a sentence, with the state's sign in front where it has one.
func (p page) sentence(s string, state ui.State, w int) []string {
	sign := state.Sign()
	if sign != "" {
		sign += " "
	}
	var out []string
	for _, l := range text.Wrap(sign+s, max(10, w-2)) {
		out = append(out, " "+p.common.Theme.State(state).Render(l))
	}
	return out
}

// description lays the sections out, in two columns where there is room.
func (p page) description(w int) []string {
	left := []func(int) []string{p.supply, p.bands, p.pond, p.intake}
	right := []func(int) []string{p.penstocks, p.units, p.ballast, p.loads, p.gauges, p.upkeep, p.money, p.history}
	draw := func(parts []func(int) []string) func(int) string {
		return func(w int) string {
			var lines []string
			for _, part := range parts {
				lines = append(lines, part(w)...)
			}
			return strings.Join(lines, "\n")
		}
	}
	if w < wideEnough {
		return strings.Split(draw(append(left, right...))(w), "\n")
	}
	body := ui.Columns(p.common.Theme, w, 3, ui.Column{Min: 50, Weight: 1, Body: draw(left)}, ui.Column{Min: 50, Weight: 1, Body: draw(right)})
	return strings.Split(body, "\n")
}

// row is a labelled value of a section; one without a label goes on with the row above.
type row struct{ label, value string }

// labelWidth is the room of labels.
const labelWidth = 22

// section draws rows under a heading; the values wrap beside their labels. Without rows there is no section.
func (p page) section(title string, w int, rows ...row) []string {
	if len(rows) == 0 {
		return nil
	}
	out := []string{ui.Section(p.common.Theme, title, "", w)}
	label := min(labelWidth, max(6, 2*w/5))
	for _, r := range rows {
		if r.value == "" {
			r.value = "not given"
		}
		name := text.Show(r.label)
		for i, l := range text.Wrap(text.Show(r.value), max(8, w-label-2)) {
			if i > 0 {
				name = ""
			}
			out = append(out, " "+p.common.Theme.Fit(name, label)+" "+strings.TrimRight(l, " "))
		}
	}
	return out
}

// num writes a number of the file with its unit, in the plant's system.
func (p page) num(v float64, unit quantity.Unit, digits int) string {
	info := quantity.Info{Unit: unit, Digits: digits}
	return info.Show(v, p.common.Units) + text.NBSP + string(info.ShowUnit(p.common.Units))
}

// given is num for a number that the file may leave out.
func (p page) given(v *float64, unit quantity.Unit, digits int) string {
	if v == nil {
		return ""
	}
	return p.num(*v, unit, digits)
}

// plain writes a number as the file has it.
func plain(v float64) string { return quantity.Text(v) }
