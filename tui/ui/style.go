package ui

import (
	"strings"

	"github.com/charmbracelet/lipgloss"
)

// reset ends every look that lipgloss writes.
const reset = "\x1b[0m"

// Style is one role's look, frozen from a lipgloss style for the renderer's own writer. The zero Style changes nothing.
// Drawing with it costs two joined strings, where lipgloss would lay the text out anew each time.
type Style struct{ open string }

// freeze takes down what lipgloss writes before a text.
func freeze(s lipgloss.Style) Style {
	const probe = "x"
	open, _, _ := strings.Cut(s.Render(probe), probe)
	return Style{open: open}
}

// Plain reports whether the style changes nothing, so that a sign has to say what the look would have said.
func (s Style) Plain() bool { return s.open == "" }

// Render draws text in the style. Each line is closed on its own, since the screen is redrawn line by line; a look inside
// the text ends at its own end, and this one goes on after it.
func (s Style) Render(text string) string {
	if s.open == "" || text == "" {
		return text
	}
	if strings.Contains(text, reset) {
		text = strings.ReplaceAll(strings.TrimSuffix(text, reset), reset, reset+s.open)
	}
	if strings.Contains(text, "\n") {
		text = strings.ReplaceAll(text, "\n", reset+"\n"+s.open)
	}
	return s.open + text + reset
}
