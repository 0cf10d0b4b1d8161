package plantview

import (
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// uncopied says why no copy can be made here, "" where one can.
func (s Screen) uncopied() string {
	if s.desk.Copies == nil || s.desk.ReadOnly {
		return "no copies of this book are kept"
	}
	return ""
}

// copies says how old the last copies of the book are, and where they lie. While that is not known there is no such section.
func (p page) copies(w int) []string {
	if p.copied == nil {
		return nil
	}
	out := []string{ui.Section(p.common.Theme, "Copies of the book", "", w)}
	for _, line := range p.copied.Lines() {
		out = append(out, p.sentence(text.Show(line)+".", ui.Unjudged, w)...)
	}
	if caution := p.copied.Caution(); caution != "" {
		out = append(out, p.sentence(text.Show(caution)+".", ui.Near, w)...)
	}
	return out
}
