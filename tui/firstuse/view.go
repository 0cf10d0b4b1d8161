package firstuse

import (
	"fmt"
	"strings"

	"example.org/headpond/model/plant"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// line is a line of the menu.
type line struct{ name, what string }

func menu() []line {
	return []line{
		{"Load a plant file", "Your plant is described in a file already: it is checked, and a logbook is made with it."},
		{"Write a starting file", "A new file with every question about a plant, each with where to find the answer, to fill in with a tape measure and the name plates."},
		{"Look round the demo", "An invented plant with 120 days of rounds. It is thrown away at the end, and nothing of yours is touched."},
	}
}

// Bindings lists the keys that work now.
func (s screen) Bindings() []ui.Binding {
	back := ui.Binding{Action: "first.back", Keys: []string{"esc"}, Short: "back", Long: "Go back to the three choices"}
	scroll := ui.Binding{Action: "first.move", Keys: []string{"down", "up", "pgdown", "pgup", "home", "end"}, Short: "scroll", Long: "See what is further down", Hidden: len(s.lines()) <= s.h}
	busy := ""
	if s.working {
		busy = "a file is being read or written"
	}
	switch s.step {
	case choosing:
		scroll.Short, scroll.Long, scroll.Hidden = "choose", "Go from choice to choice", true
		return []ui.Binding{
			{Action: "first.choose", Keys: []string{"enter"}, Short: "choose", Long: "Do what the mark stands at"},
			{Action: "first.load", Keys: []string{"1"}, Short: "load", Long: "Load a plant file and make a logbook with it"},
			{Action: "first.new", Keys: []string{"2"}, Short: "write", Long: "Write a starting file to fill in"},
			{Action: "first.demo", Keys: []string{"3"}, Short: "demo", Long: "Look round the demo"},
			scroll,
		}
	case loadPath:
		return []ui.Binding{{Action: "first.path", Keys: []string{"enter"}, Short: "read it", Long: "Read this file and check it", Off: busy}, back}
	case newPath:
		return []ui.Binding{{Action: "first.path", Keys: []string{"enter"}, Short: "write it", Long: "Write the starting file under this name", Off: busy}, back}
	case mending:
		return []ui.Binding{
			{Action: "first.again", Keys: []string{"r", "enter"}, Short: "read again", Long: "Read the file again, once it is mended", Off: busy},
			{Action: "first.other", Keys: []string{"o"}, Short: "other file", Long: "Name another file"}, back, scroll,
		}
	case ready:
		return []ui.Binding{{Action: "first.make", Keys: []string{"enter"}, Short: "make the logbook", Long: "Make a logbook with this plant and open it"},
			{Action: "first.again", Keys: []string{"r"}, Short: "read again", Long: "Read the file again, once it is changed", Off: busy}, back, scroll}
	case written:
		return []ui.Binding{{Action: "first.filled", Keys: []string{"enter"}, Short: "it is filled in: load it", Long: "Read the file, once it is filled in", Off: busy}, back, scroll}
	}
	return nil
}

// View draws the step on show.
func (s screen) View() string { return s.scroll.View(s.o.Common.Theme, s.lines(), s.w, s.h) }

func (s screen) lines() []string {
	switch s.step {
	case choosing:
		return s.menuLines()
	case loadPath:
		return s.pathLines("Which plant file? It is read and checked; it is not changed.")
	case newPath:
		return s.pathLines("Where shall the starting file go? A file that is there already is never written over.")
	case mending:
		return s.problemLines()
	case ready:
		return s.readyLines()
	case written:
		return s.writtenLines()
	}
	return nil
}

// para wraps a paragraph with a margin.
func (s screen) para(p string) []string {
	var out []string
	for _, l := range text.Wrap(text.Show(p), max(8, s.w-2)) {
		out = append(out, " "+l)
	}
	return out
}

func (s screen) menuLines() []string {
	t := s.o.Common.Theme
	out := append([]string{""}, s.para("There is no logbook yet. It will be made at "+s.o.Book+" once you have loaded a plant file; until then nothing is written.")...)
	for i, l := range menu() {
		name := fmt.Sprintf("%d %s", i+1, l.name)
		head := "   " + t.Strong.Render(name)
		if i == s.at {
			head = " " + t.Selected.Render(t.Glyphs.Select+" "+name+" ")
		}
		out = append(out, "", head)
		for _, w := range text.Wrap(l.what, max(8, s.w-6)) {
			out = append(out, "     "+w)
		}
	}
	return out
}

func (s screen) pathLines(question string) []string {
	t := s.o.Common.Theme
	out := append([]string{""}, s.para(question)...)
	out = append(out, "", s.form.View(t))
	switch {
	case s.working:
		out = append(out, "", " One moment")
	case s.failed != "":
		out = append(out, "")
		for _, l := range s.para("! " + s.failed + ".") {
			out = append(out, t.Out.Render(l))
		}
	}
	return out
}

func (s screen) problemLines() []string {
	t := s.o.Common.Theme
	n := len(s.problems.List)
	head := fmt.Sprintf("%d %s in %s. The file was not changed. Mend it with any editor, then r reads it again.", n, plural(n, "problem", "problems"), s.path)
	var out []string
	for _, l := range s.para(head) {
		out = append(out, t.Strong.Render(l))
	}
	if s.working {
		out = append(out, " One moment")
	}
	out = append(out, ui.Section(t, "line:column", "", s.w))
	for _, p := range s.problems.List {
		out = append(out, s.problem(p)...)
	}
	return out
}

// problem is one problem: its place in front, the words beside.
func (s screen) problem(p plant.Problem) []string {
	const place = 8
	at := fmt.Sprintf("%d:%d", p.Line, p.Column)
	words := strings.TrimPrefix(p.String(), at+": ")
	var out []string
	for _, l := range text.Wrap(text.Show(words), max(8, s.w-place-2)) {
		out = append(out, " "+text.PadRight(at, place)+" "+l)
		at = ""
	}
	return out
}

func (s screen) readyLines() []string {
	t := s.o.Common.Theme
	p := s.plant
	var out []string
	for _, l := range s.para(fmt.Sprintf("%s: nothing is wrong with this description of %s.", s.path, p.Site.Name)) {
		out = append(out, t.Strong.Render(l))
	}
	out = append(out, s.para(fmt.Sprintf("%d %s (%s), %d %s, %s. Enter makes the logbook at %s with it.", len(p.Units), plural(len(p.Units), "unit", "units"),
		strings.Join(p.UnitIDs(), ", "), len(p.Ballast.Elements), plural(len(p.Ballast.Elements), "ballast element", "ballast elements"), p.Site.Timezone, s.o.Book))...)
	advice := plant.Advice(p)
	if len(advice) == 0 {
		return out
	}
	out = append(out, "", ui.Section(t, "Allowed, but worth a second look", "", s.w))
	for _, a := range advice {
		for i, l := range text.Wrap(text.Show(a.String()), max(8, s.w-5)) {
			lead := " " + t.Near.Render("!") + "  "
			if i > 0 {
				lead = "    "
			}
			out = append(out, lead+l)
		}
	}
	return out
}

func (s screen) writtenLines() []string {
	t := s.o.Common.Theme
	where := ""
	if s.o.InFolder != nil {
		where = s.o.InFolder(s.path)
	}
	out := []string{""}
	for _, l := range text.Wrap(text.Show(s.path)+" is written"+where+".", max(8, s.w-2)) {
		out = append(out, t.Strong.Render(t.Cut(" "+l, s.w)))
	}
	out = append(out, "")
	for i, p := range []string{
		"Open it in any editor. Each key says what it is and where to find it: tape measure, staff gauge, name plates, settings of the relay and the controller.",
		"Replace every value by your plant's own; what you cannot find yet and may be left out says so. The values in the file are those of no real plant.",
		"Come back and press Enter here, or choose 1 the next time: the file is checked, everything that is wrong is shown at once, and the logbook is made.",
	} {
		for k, l := range text.Wrap(p, max(8, s.w-6)) {
			lead := fmt.Sprintf("  %d  ", i+1)
			if k > 0 {
				lead = "     "
			}
			out = append(out, lead+l)
		}
	}
	if s.working {
		out = append(out, "", " One moment")
	}
	return out
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}
