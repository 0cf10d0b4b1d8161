package upkeepview

import (
	"fmt"
	"strings"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/record"
	"example.org/headpond/model/upkeep"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// lastTimes is how many times a task's page goes back.
const lastTimes = 5

// about tells of the picked row what the list has no room for.
func (p page) about(r row, w int) []string {
	out := []string{ui.Section(p.common.Theme, p.common.Theme.Cut(text.Show(r.name()), max(1, w-4)), "", w)}
	add := func(s string, look ui.Style) { out = append(out, indent(s, w, " ", look)...) }
	normal := ui.Style{}
	if r.isList() {
		for _, s := range p.aboutList(r) {
			add(s, normal)
		}
		if len(r.list.Cautions) > 0 {
			add("Careful: "+text.Show(r.list.Cautions[0]), p.common.Theme.Near)
		}
		return out
	}
	for _, s := range p.aboutTask(r.task) {
		add(s, normal)
	}
	if r.task.Caution != "" {
		add("Careful: "+text.Show(r.task.Caution)+".", p.common.Theme.Near)
	}
	return out
}

func (p page) aboutList(r row) []string {
	var out []string
	if w := p.walks[r.list.Name]; w.begun() {
		out = append(out, fmt.Sprintf("Begun %s, %d of %s ticked. Enter goes on with it.", p.moment(w.Begun), w.ticked(), plural(len(w.Ticks), "step", "steps")))
	}
	if r.last != nil {
		how, then := "Last walked ", "."
		if endedEarly(r.last) {
			how, then = "Ended early ", ". That does not count as walked."
		}
		out = append(out, how+p.moment(r.last.Time)+by(r.last.By)+": "+r.last.Walk.Summary()+then)
	}
	origin := "From the plant's file."
	if r.list.BuiltIn {
		origin = "Built in. headpond checklist --toml prints it for the plant's file, where you can alter it."
	}
	return append(out, origin)
}

func (p page) aboutTask(t upkeep.Task) []string {
	var out []string
	switch {
	case t.EveryHours != nil && t.RanHours != nil:
		of := ""
		if t.Unit != "" {
			of = " of unit " + text.Show(t.Unit)
		}
		out = append(out, fmt.Sprintf("Every %.0f running hours%s: %.0f h since %s.", *t.EveryHours, of, *t.RanHours, p.since(t)))
		if t.HoursADay != nil && t.DueAbout != nil {
			out = append(out, fmt.Sprintf("At the %.0f h a day of the last 30 days it comes about %s.", *t.HoursADay, p.day(*t.DueAbout)))
		}
	case t.EveryDays != nil && t.DueTime != nil:
		out = append(out, fmt.Sprintf("Every %s: due %s, counted from %s.", assess.Span(days(*t.EveryDays)), p.day(*t.DueTime), p.since(t)))
	}
	list := upkeep.Done(p.history, t.Task)
	if n := len(list); n > lastTimes {
		list = list[:lastTimes]
	}
	var times []string
	for _, d := range list {
		s := p.when(d.Time, d.By)
		if d.Note != "" {
			s += ": " + text.Show(firstLine(d.Note))
		}
		times = append(times, s)
	}
	if len(times) > 0 {
		out = append(out, "Done "+strings.Join(times, "; ")+".")
	}
	return out
}

// since says from when a task counts.
func (p page) since(t upkeep.Task) string {
	if t.Last != nil {
		return p.moment(*t.Last)
	}
	return p.day(t.Since) + ", for it was never done"
}

// endedEarly reports whether a list was saved before its steps were all walked.
func endedEarly(d *record.Done) bool {
	return d != nil && d.EndedEarly()
}

func by(name string) string {
	if name == "" {
		return ""
	}
	return " by " + text.Show(name)
}

func firstLine(s string) string {
	line, _, _ := strings.Cut(s, "\n")
	return line
}

// tickLook is the look and the words of what came of a step.
func (s Screen) tickLook(state record.TickState) (ui.Style, string) {
	switch state {
	case record.TickDone:
		return s.Theme.Good, "done"
	case record.TickSkipped:
		return s.Theme.Near, "skipped " + ui.Near.Sign()
	case record.TickNotOK:
		return s.Theme.Out, "not ok " + ui.Out.Sign()
	case record.TickOpen:
	}
	return ui.Style{}, "to do"
}
