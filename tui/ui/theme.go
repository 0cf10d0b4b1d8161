package ui

import (
	"github.com/charmbracelet/lipgloss"

	"example.org/headpond/tui/ui/text"
)

// Background is what the person has said of the terminal's background. Nothing is ever painted on it.
type Background int

// AnyBackground uses only looks that can be read on both.
const (
	AnyBackground Background = iota
	DarkBackground
	LightBackground
)

// SeriesCount is how many data series have a look of their own.
const SeriesCount = 4

// Theme holds the look of each role. A role never means anything by its colour alone: what it says is also a word or a
// sign. It is made once and passed by value.
type Theme struct {
	ASCII  bool // plain ASCII instead of lines, blocks and braille
	Glyphs Glyphs

	Good, Near, Out Style // a state's own text
	Title           Style // the screen's name
	Heading         Style // over a section
	Strong          Style // the value that is looked for
	Dim             Style // secondary text; never faint, for it must be read
	Key             Style // a key's name
	Selected        Style // the selected row, with the sign in front
	Input           Style // text being typed
	Ghost           Style // what stands in an empty field, in round brackets
	Caret           Style // the cell where typing goes
	Line            Style // rules, borders and axes: the only faint thing
	Fill            Style // the area of a range in a chart
	Series          [SeriesCount]Style
}

// NewTheme makes the theme for a renderer. Without colours every role is plain and the signs carry everything.
func NewTheme(r *lipgloss.Renderer, ascii bool, bg Background) Theme {
	p := paletteFor(bg)
	look := func(c colour, build func(lipgloss.Style) lipgloss.Style) Style {
		s := r.NewStyle()
		if c != own {
			s = s.Foreground(lipgloss.ANSIColor(c))
		}
		return freeze(build(s))
	}
	plain := func(s lipgloss.Style) lipgloss.Style { return s }
	bold := func(s lipgloss.Style) lipgloss.Style { return s.Bold(true) }
	t := Theme{
		ASCII: ascii, Glyphs: glyphs(ascii),
		Good: look(p.good, plain), Near: look(p.near, bold), Out: look(p.out, bold),
		Title: look(own, bold), Heading: look(own, bold), Strong: look(own, bold),
		Dim: look(own, plain), Key: look(p.key, bold),
		Selected: look(own, func(s lipgloss.Style) lipgloss.Style { return s.Reverse(true) }),
		Input:    look(own, bold), Ghost: look(own, plain),
		Caret: look(own, func(s lipgloss.Style) lipgloss.Style { return s.Reverse(true) }),
		Line:  look(own, func(s lipgloss.Style) lipgloss.Style { return s.Faint(true) }),
		Fill:  look(p.fill, plain),
	}
	for i, c := range p.series {
		t.Series[i] = look(c, plain)
	}
	return t
}

// colour is one of the terminal's 16 by number, or own for the terminal's own text colour.
type colour int

const (
	own           colour = -1
	red           colour = 1
	green         colour = 2
	yellow        colour = 3
	blue          colour = 4
	magenta       colour = 5
	cyan          colour = 6
	brightRed     colour = 9
	brightMagenta colour = 13
)

// palette gives the colours of one background.
type palette struct {
	good, near, out, key, fill colour
	series                     [SeriesCount]colour
}

// paletteFor picks colours by measured contrast (contrast_test.go): yellow, green and cyan cannot be read on white, blue
// cannot on black, red and magenta can on both. Bright colours other than red and magenta are left out: some palettes hold greys there.
func paletteFor(bg Background) palette {
	switch bg {
	case DarkBackground:
		return palette{good: green, near: yellow, out: brightRed, key: cyan, fill: cyan,
			series: [SeriesCount]colour{own, cyan, yellow, brightMagenta}}
	case LightBackground:
		return palette{good: own, near: magenta, out: red, key: blue, fill: blue,
			series: [SeriesCount]colour{own, blue, magenta, red}}
	case AnyBackground:
	}
	return palette{good: own, near: magenta, out: red, key: own, fill: own, series: [SeriesCount]colour{own, magenta, own, magenta}}
}

// State returns the look of a state's text.
func (t Theme) State(s State) Style {
	switch s {
	case Good:
		return t.Good
	case Near:
		return t.Near
	case Out:
		return t.Out
	case Unjudged:
	}
	return Style{}
}

// Verdict draws a state as its word with its sign: "in", "near !", "out !!".
func (t Theme) Verdict(s State) string { return t.State(s).Render(s.Word() + s.tail()) }

// Cut returns a line in at most w cells, ending in the theme's mark where it was cut.
func (t Theme) Cut(line string, w int) string { return text.Truncate(line, w, t.Glyphs.Cut) }

// Fit returns a line in exactly w cells, cut with the mark or filled on the right.
func (t Theme) Fit(line string, w int) string { return text.Fit(line, w, t.Glyphs.Cut) }

// FitLeft returns a line in exactly w cells, cut with the mark or filled on the left.
func (t Theme) FitLeft(line string, w int) string { return text.FitLeft(line, w, t.Glyphs.Cut) }
