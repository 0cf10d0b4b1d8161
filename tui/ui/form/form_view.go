package form

import (
	"strings"

	"example.org/headpond/tui/ui"
)

// SetSize sets the form's room.
func (f Form) SetSize(w, h int) Form { f.w, f.h = max(0, w), max(0, h); return f.reveal() }

// row is one line of a form: a heading or a field.
type row struct {
	heading string
	field   int // -1 for a heading or an empty line
}

// rows lays the form out: headings with an empty line before each but the first, where the room allows; a form that does not
// fit goes without the empty lines, to show more of itself.
func (f Form) rows() []row {
	rows := f.layout(true)
	if len(rows) > f.h-1 { // whatever is said below: the fields stay where they are
		rows = f.layout(false)
	}
	return rows
}

func (f Form) layout(airy bool) []row {
	rows := make([]row, 0, len(f.fields)+8)
	section := ""
	for i, x := range f.fields {
		if x.Section != section {
			if len(rows) > 0 && (airy || x.Section == "") {
				rows = append(rows, row{field: -1})
			}
			if section = x.Section; section != "" {
				rows = append(rows, row{heading: section, field: -1})
			}
		}
		rows = append(rows, row{field: i})
	}
	return rows
}

// body is the height of the fields' window. Below it stands the focused field's whole remark, so that it has its place in a
// narrow window too; where it takes more than a line, as why a text is no value may, the fields' last lines give way.
func (f Form) body() int { return f.h - len(f.below(ui.Theme{})) }

// below is the focused field's whole remark. A small window has room for its beginning, the smallest for none.
func (f Form) below(t ui.Theme) []string {
	field, ok := f.Focused()
	if f.h < 4 || !ok {
		return nil
	}
	lines := field.said(t, f.w)
	if room := max(1, f.h/2-1); len(lines) > room {
		lines = append(lines[:room-1], t.Cut(strings.Join(lines[room-1:], " "), f.w))
	}
	return lines
}

// reveal scrolls so that the focused field is seen, with its heading where it is the first under it.
func (f Form) reveal() Form {
	rows := f.rows()
	for i, r := range rows {
		if r.field == f.at {
			first := i
			if i > 0 && rows[i-1].heading != "" && f.body() > 4 {
				first = i - 1
			}
			f.scroll = f.scroll.Reveal(first, i, len(rows), f.body())
		}
	}
	return f
}

// View draws the form into its room.
func (f Form) View(t ui.Theme) string {
	f = f.reveal() // what is said may take more lines than it did
	rows := f.rows()
	lines := make([]string, len(rows))
	for i, r := range rows {
		switch {
		case r.field >= 0:
			lines[i] = f.fields[r.field].View(t, f.w, r.field == f.at)
		case r.heading != "":
			lines[i] = ui.Section(t, r.heading, "", f.w)
		}
	}
	view := f.scroll.View(t, lines, f.w, f.body())
	said := f.below(t)
	if len(said) == 0 {
		return view
	}
	if missing := f.body() - 1 - strings.Count(view, "\n"); missing > 0 {
		view += strings.Repeat("\n", missing)
	}
	return view + "\n" + strings.Join(said, "\n")
}
