package upkeepview

import (
	"fmt"
	"strings"
	"time"

	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// clock tells a time.
func (s Screen) clock(t time.Time) string { return moment(s.Common, s.Now(), t) }

// sheet draws what stands in place of the list and is no form.
func (s Screen) sheet() []string {
	switch s.mode {
	case before:
		return s.beforeLines()
	case walking:
		return s.walkLines()
	case early:
		return s.earlyLines()
	case dropping:
		return s.dropLines()
	case offering:
		return s.offerLines()
	case listing, doing, noting, ending:
	}
	return nil
}

// beforeLines are the cautions of a list, which come before its first step.
func (s Screen) beforeLines() []string {
	w := s.walks[s.open]
	title := w.List.Name
	if w.List.Unit != "" {
		title += ", unit " + w.List.Unit
	}
	out := []string{ui.Section(s.Theme, text.Show(title)+": cautions first", "", s.w)}
	for _, c := range w.List.Cautions {
		out = append(out, indent(text.Show(c), s.w, " !  ", s.Theme.Near)...)
	}
	if len(w.List.Cautions) == 0 {
		out = append(out, s.paragraph("This list, from the plant's file, gives no cautions. Line voltage kills; belts and shafts catch; water pulls.")...)
	}
	out = append(out, "")
	switch {
	case w.begun():
		out = append(out, indent(fmt.Sprintf("Begun %s; %d of %s ticked. Enter goes on at step %d.", s.clock(w.Begun), w.ticked(),
			plural(len(w.Ticks), "step", "steps"), min(w.firstOpen()+1, len(w.Ticks))), s.w, " ", s.Theme.Strong)...)
	default:
		out = append(out, indent(fmt.Sprintf("%s. Enter begins.", plural(len(w.Ticks), "step", "steps")), s.w, " ", s.Theme.Strong)...)
	}
	return out
}

// Room of a step's words, in cells.
const (
	stepMargin = 4
	stepMost   = 66
)

// walkLines draw the step on show; a wide window has all steps beside it.
func (s Screen) walkLines() []string {
	if s.w < wideEnough {
		return s.stepLines(s.h, false)
	}
	const gap, most = 3, 74
	left := s
	left.w = most
	body := ui.Columns(s.Theme, s.w, gap,
		ui.Column{Min: most, Body: func(int) string { return strings.Join(left.stepLines(s.h, true), "\n") }},
		ui.Column{Min: 30, Weight: 1, Body: func(w int) string { return strings.Join(s.allSteps(w, s.h), "\n") }})
	return strings.Split(body, "\n")
}

// allSteps lists every step in a line, the one on show marked, as far as h lines reach.
func (s Screen) allSteps(w, h int) []string {
	walk := s.walks[s.open]
	lines := make([]string, len(walk.Ticks))
	for i, t := range walk.Ticks {
		look, word := s.tickLook(t.State)
		mark := " "
		if i == walk.At {
			mark = s.Theme.Glyphs.Select
		}
		line := fmt.Sprintf("%s%s %2d. %s", mark, look.Render(text.PadRight(word, 9)), i+1, text.Show(walk.List.Steps[i]))
		if line = s.Theme.Cut(line, w); i == walk.At {
			line = s.Theme.Selected.Render(s.Theme.Fit(line, w))
		}
		lines[i] = line
	}
	out := []string{ui.Section(s.Theme, "All steps", "", w)}
	view := ui.Scroll{}.Reveal(walk.At, walk.At, len(lines), max(1, h-1)).View(s.Theme, lines, w, max(1, h-1))
	return append(out, strings.Split(view, "\n")...)
}

// stepLines draw one step large, in h lines: where it stands in the list, its words alone in the middle, what came of it, and its
// neighbours.
func (s Screen) stepLines(h int, beside bool) []string {
	w := s.walks[s.open]
	head := s.stepHead(w)
	var words []string
	for _, l := range text.Wrap(text.Show(w.List.Steps[w.At]), max(10, min(stepMost, s.w-2*stepMargin))) {
		words = append(words, strings.Repeat(" ", min(stepMargin, max(0, s.w-10)))+s.Theme.Strong.Render(l))
	}
	foot := s.stepFoot(w, beside)
	t := w.Ticks[w.At]
	look, word := s.tickLook(t.State)
	came := " Not ticked yet. Enter: done."
	if t.State != record.TickOpen {
		came = " " + look.Render(word) + ", " + s.Common.Local(t.At).Format("15:04")
	}
	switch {
	case t.Note != "" && t.State == record.TickOpen:
		came += " Noted: " + text.Show(t.Note)
	case t.Note != "":
		came += ": " + text.Show(t.Note)
	}
	var state []string
	for _, l := range text.Wrap(strings.TrimSpace(came), max(10, s.w-2*stepMargin)) {
		state = append(state, strings.Repeat(" ", min(stepMargin, max(0, s.w-10)))+l)
	}
	body := append(append([]string{}, words...), append([]string{""}, state...)...)
	room := h - len(head) - len(foot) - len(body)
	gap := func(n int) []string { return make([]string, max(0, n)) }
	out := append([]string{}, head...)
	out = append(out, gap((room+1)/2)...)
	out = append(out, body...)
	out = append(out, gap(room/2)...)
	return append(out, foot...)
}

// stepHead says where in the list the step stands.
func (s Screen) stepHead(w walk) []string {
	title := fmt.Sprintf("%s: step %d of %d", text.Show(w.List.Name), w.At+1, len(w.Ticks))
	said := fmt.Sprintf(" %d ticked, begun %s", w.ticked(), s.clock(w.Begun))
	if k := s.keeper(draftList + s.open); k.Err() != nil {
		return []string{ui.Section(s.Theme, title, "", s.w), s.Theme.Out.Render(s.Theme.Cut(" !! The ticks are not on disk: "+text.Show(k.Err().Error()), s.w))}
	}
	return []string{ui.Section(s.Theme, title, "", s.w), s.Theme.Cut(said, s.w)}
}

// stepFoot shows the steps before and after, where not all stand beside, and the list's first caution, which concerns all of it.
func (s Screen) stepFoot(w walk, beside bool) []string {
	var out []string
	if s.h < 12 {
		return out
	}
	near := func(i int, name string) {
		if i < 0 || i >= len(w.Ticks) {
			out = append(out, " "+text.PadRight(name, 7)+"-")
			return
		}
		_, word := s.tickLook(w.Ticks[i].State)
		line := fmt.Sprintf(" %s%d. ", text.PadRight(name, 7), i+1)
		out = append(out, s.Theme.Cut(line+text.Fit(text.Show(w.List.Steps[i]), max(10, s.w-text.Width(line)-len("skipped !")-2), s.Theme.Glyphs.Cut)+"  "+word, s.w))
	}
	if !beside {
		out = append(out, ui.Section(s.Theme, "Before and after", "", s.w))
		near(w.At-1, "before")
		near(w.At+1, "after")
	}
	if len(w.List.Cautions) > 0 && s.h >= 16 {
		out = append(out, indent(text.Show(w.List.Cautions[0]), s.w, " !  ", s.Theme.Near)...)
	}
	return out
}

// earlyLines name every step that was not walked, before the list is saved without them.
func (s Screen) earlyLines() []string {
	w := s.walks[s.open]
	out := []string{ui.Section(s.Theme, text.Show(w.List.Name)+": save it as ended early?", "", s.w)}
	out = append(out, " y yes, save it as it is     n no, go on with the steps", "")
	open := len(w.Ticks) - w.ticked()
	said := fmt.Sprintf("%d of %s not walked. The list then does not count as walked:", open, plural(len(w.Ticks), "step was", "steps were"))
	out = append(out, indent(said, s.w, " "+text.PadRight(ui.Near.Sign(), 3), s.Theme.Near)...)
	for i, t := range w.Ticks {
		if t.State == record.TickOpen {
			out = append(out, indent(text.Show(w.List.Steps[i]), s.w, fmt.Sprintf(" %2d. ", i+1), ui.Style{})...)
		}
	}
	return out
}

func (s Screen) dropLines() []string {
	what := "everything that is ticked and typed for this checklist"
	if s.was == doing {
		what = "everything that is typed here"
	}
	return append([]string{""}, append(s.paragraph("Throw away "+what+"?"), "", " y yes, throw it away     n no, go back")...)
}

// formHead stands over a form.
func (s Screen) formHead() []string {
	switch s.mode {
	case doing:
		return s.doneHead()
	case noting:
		return s.noteHead()
	case ending:
		return s.endHead()
	case listing, before, walking, early, dropping, offering:
	}
	return nil
}

// formView draws a form under its head. In a low window the head gives way.
func (s Screen) formView() string {
	head := s.formHead()
	if most := s.h - formLeast; len(head) > most {
		head = head[:max(0, most)]
	}
	f := s.form.SetSize(s.w, max(0, s.h-len(head)))
	if len(head) == 0 {
		return f.View(s.Theme)
	}
	for i := range head {
		head[i] = s.Theme.Cut(head[i], s.w)
	}
	return strings.Join(head, "\n") + "\n" + f.View(s.Theme)
}

// formLeast is the least height of a form.
const formLeast = 4

func (s Screen) doneHead() []string {
	out := []string{ui.Section(s.Theme, s.Theme.Cut("Done: "+text.Show(s.open), max(1, s.w-2)), "", s.w)}
	p := page{common: s.Common, facts: s.facts, history: s.history}
	for _, t := range s.facts.Tasks {
		if t.Task == s.open {
			for _, l := range p.aboutTask(t) {
				out = append(out, indent(l, s.w, " ", ui.Style{})...)
			}
		}
	}
	return append(out, s.kepts(draftTask+s.open, s.typedAny()), "")
}

// kepts says how a draft stands.
func (s Screen) kepts(name string, any bool) string {
	switch k := s.keeper(name); {
	case s.saving:
		return " Saving"
	case k.Err() != nil:
		return s.Theme.Out.Render(" !! The draft is not on disk: " + text.Show(k.Err().Error()))
	case any:
		return " Kept as a draft at every key."
	}
	return ""
}

func (s Screen) noteHead() []string {
	w := s.walks[s.open]
	out := append(s.stepHead(w), "")
	for _, l := range text.Wrap(text.Show(w.List.Steps[w.At]), max(10, min(stepMost, s.w-2*stepMargin))) {
		out = append(out, strings.Repeat(" ", min(stepMargin, max(0, s.w-10)))+s.Theme.Strong.Render(l))
	}
	return append(out, "", s.kepts(draftList+s.open, w.Typed != ""), "")
}

// endHead lists what came of the steps: those that are not done first, since they are what a reader looks for.
func (s Screen) endHead() []string {
	w := s.walks[s.open]
	sum := w.done(s.Location).Walk
	state := ui.Good
	switch {
	case sum.Count(record.TickNotOK) > 0:
		state = ui.Out
	case sum.Count(record.TickDone) < len(sum.Ticks):
		state = ui.Near
	}
	out := []string{ui.Section(s.Theme, text.Show(w.List.Name)+": the end", "", s.w)}
	out = append(out, indent(sum.Summary()+".", s.w, " "+text.PadRight(state.Sign(), 3), s.Theme.State(state))...)
	for i, t := range w.Ticks {
		if t.State == record.TickDone && t.Note == "" {
			continue
		}
		look, word := s.tickLook(t.State)
		line := fmt.Sprintf(" %2d. %s  ", i+1, look.Render(text.PadRight(word, 9)))
		said := text.Show(w.List.Steps[i])
		if t.Note != "" {
			said = text.Show(t.Note) + " (" + said + ")"
		}
		out = append(out, s.Theme.Cut(line+said, s.w))
	}
	const fields = 8
	if most := s.h - fields; len(out) > most && most > 2 {
		hidden := len(out) - most + 1
		out = append(out[:most-1], fmt.Sprintf("     %d more steps like these", hidden))
	}
	return append(out, "", s.kepts(draftList+s.open, true))
}
