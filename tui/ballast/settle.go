package ballast

import (
	"fmt"
	"math"
	"strings"

	"example.org/headpond/model/electrical"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// settled says where frequency and voltage settle and whether that is within the trip settings. The state is Good within
// them, Out beyond or without a balance, Unjudged where it cannot be told.
func (p page) settled(s electrical.Settled) (string, ui.State) {
	where, trip, state := p.where(s), "", ui.Unjudged
	switch {
	case s.WithinTrip == nil:
		if s.Hertz != nil {
			trip = "no trip settings are given"
		}
	case *s.WithinTrip:
		trip, state = "within the trip settings", ui.Good
	default:
		trip, state = "beyond the trip settings", ui.Out
	}
	if s.Collapse || s.Runaway {
		state = ui.Out
	}
	if trip == "" {
		return where, state
	}
	return where + ", " + trip, state
}

// where says where frequency and voltage settle.
func (p page) where(s electrical.Settled) string {
	switch {
	case s.Collapse && s.RunawayHertz != nil:
		return fmt.Sprintf("the supply is lost and the sets run up to about %.0f%sHz", *s.RunawayHertz, text.NBSP)
	case s.Collapse:
		return "nothing balances and the supply is lost"
	case s.Hertz == nil:
		return "where it settles is not known"
	}
	out := p.hertz(*s.Hertz)
	if s.Volts != nil {
		at := ""
		if s.VoltsAtLeast {
			at = "at least "
		}
		out += fmt.Sprintf(", %s%.0f%sV", at, *s.Volts, text.NBSP)
	}
	if s.Runaway {
		return "runaway: " + out
	}
	return out
}

// fast reports whether a bus settles above its rated frequency. A ballast that is short at a low voltage takes all at the rated one.
func (p page) fast(s electrical.Settled) bool {
	pl := p.report.Plant
	return s.Hertz == nil || pl == nil || *s.Hertz > pl.Supply.Hertz
}

// hertz gives a held frequency to a tenth, and one that is estimated away from it to a whole.
func (p page) hertz(v float64) string {
	if pl := p.report.Plant; pl != nil && math.Abs(v-pl.Supply.Hertz) < 0.5 {
		return fmt.Sprintf("%.1f%sHz", v, text.NBSP)
	}
	return fmt.Sprintf("%.0f%sHz", v, text.NBSP)
}

// Columns of the tables of what happens, in cells.
const (
	caseWidth   = 12
	powerWidth  = 9
	settleWidth = 15
)

// rejections is the table of a full rejection as things are and with each element dead.
func (p page) rejections(w int) []string {
	f, t := p.report.Facts, p.common.Theme
	out := []string{ui.Section(t, "If all consumers drop off now"+p.trips(), "", w)}
	if len(f.Elements) == 0 {
		return append(out, " The plant describes no ballast element.")
	}
	out = append(out, t.Heading.Render(t.Cut(row("", "takes", "capacity", "to spare", "settles at"), w)))
	if f.Rejection != nil {
		out = append(out, p.caseRow("as it is", "", &f.CapacityKW, &f.Rejection.MarginKW, f.Rejection.Settled, w))
	} else {
		out = append(out, p.caseRow("as it is", "", &f.CapacityKW, nil, electrical.Settled{}, w))
	}
	for _, e := range f.Elements {
		name := text.Show(e.Name)
		if !e.Working {
			out = append(out, t.Cut(t.Near.Render(" "+name+" is out of work (!): rated "+kw(e.RatedKW)), w))
			continue
		}
		for _, o := range f.ElementOut {
			if o.Element == e.Name {
				out = append(out, p.caseRow("without "+name, kw(e.TakesKW), &o.CapacityKW, o.MarginKW, o.Settled, w))
			}
		}
	}
	return out
}

// trips names the trip settings, for the heading.
func (p page) trips() string {
	pl := p.report.Plant
	if pl == nil || pl.Supply.TripHertz == nil && pl.Supply.TripVolts == nil {
		return ""
	}
	var parts []string
	if h := pl.Supply.TripHertz; h != nil {
		parts = append(parts, fmt.Sprintf("%g-%g Hz", h[0], h[1]))
	}
	if v := pl.Supply.TripVolts; v != nil {
		parts = append(parts, fmt.Sprintf("%g-%g V", v[0], v[1]))
	}
	return " (trips: " + strings.Join(parts, ", ") + ")"
}

// row puts the cells of one case in their columns.
func row(name, takes, capacity, spare, settles string) string {
	return " " + text.PadRight(name, caseWidth) + text.PadLeft(takes, powerWidth) + text.PadLeft(capacity, powerWidth) +
		text.PadLeft(spare, powerWidth) + "  " + text.PadRight(settles, settleWidth)
}

func (p page) caseRow(name, takes string, capacity, margin *float64, s electrical.Settled, w int) string {
	t := p.common.Theme
	shown := func(v *float64) string {
		if v == nil {
			return ""
		}
		return kw(*v)
	}
	spare := shown(margin)
	where, word, state := p.short(s)
	if margin != nil && *margin < 0 && state == ui.Good && p.fast(s) {
		word, state = "too fast !", ui.Near
	}
	line := row(t.Fit(name, caseWidth-1), takes, shown(capacity), spare, where)
	return t.Cut(strings.ReplaceAll(line, text.NBSP, " ")+" "+t.State(state).Render(word), w)
}

// short is settled in the few cells of a table: where, and the verdict with its sign.
func (p page) short(s electrical.Settled) (where, word string, state ui.State) {
	_, state = p.settled(s)
	switch {
	case s.Collapse:
		where = "supply is lost"
	case s.Hertz == nil:
		return "not known", "", ui.Unjudged
	default:
		where = p.where(electrical.Settled{Hertz: s.Hertz, Volts: s.Volts})
		if s.VoltsAtLeast && s.Volts != nil {
			where = fmt.Sprintf("%s, ≥%.0f%sV", p.hertz(*s.Hertz), *s.Volts, text.NBSP)
		}
	}
	switch {
	case s.Runaway:
		word = "runaway !!"
	case s.WithinTrip != nil && *s.WithinTrip:
		word = "stays on"
	case s.WithinTrip != nil:
		word = "trips !!"
	case s.Collapse:
		word = "!!"
	}
	return where, word, state
}

// unitStops says what happens when one of several running units stops and the consumers stay.
func (p page) unitStops(w int) []string {
	f := p.report.Facts
	if len(f.UnitStop) == 0 {
		return nil
	}
	out := []string{ui.Section(p.common.Theme, "If one unit stops and the consumers stay", "", w)}
	for _, u := range f.UnitStop {
		s, state := p.settled(u.Settled)
		line := fmt.Sprintf("%s stops: the rest gives %s, ", text.Show(u.Unit), kw(u.GenerationKW))
		if u.ShortKW != nil {
			line += fmt.Sprintf("%s too little; %s.", kw(*u.ShortKW), s)
		} else {
			line += fmt.Sprintf("enough; %s would be left for more load; %s.", kw(u.LoadRoomKW), s)
		}
		out = append(out, p.sentence(line, state, w)...)
	}
	return out
}

// otherWays is the table of a full rejection in the other ways of running, as the plant model has their generation.
func (p page) otherWays(w int) []string {
	f, t := p.report.Facts, p.common.Theme
	if len(f.Other) == 0 {
		return nil
	}
	out := []string{ui.Section(t, "The same in other ways of running, by the plant model", "", w),
		t.Heading.Render(t.Cut(row("running", "gives", "", "to spare", "settles at"), w))}
	for _, o := range f.Other {
		name := text.Show(record.FormatRunning(o.Run))
		if o.Rejection == nil {
			continue
		}
		line := p.caseRow(name, kw(o.GenerationKW), nil, &o.Rejection.MarginKW, o.Rejection.Settled, w)
		out = append(out, line)
		if worst := least(o.ElementOut); worst != nil {
			out = append(out, p.caseRow(" without "+text.Show(worst.Element), "", nil, worst.MarginKW, worst.Settled, w))
		}
	}
	return out
}

// least is the row with the least to spare, nil for none.
func least(rows []electrical.ElementOut) *electrical.ElementOut {
	var worst *electrical.ElementOut
	for i := range rows {
		m := rows[i].MarginKW
		if m != nil && (worst == nil || *m < *worst.MarginKW) {
			worst = &rows[i]
		}
	}
	return worst
}
