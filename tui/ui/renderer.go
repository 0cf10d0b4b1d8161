package ui

import (
	"io"

	"github.com/charmbracelet/lipgloss"
	"github.com/muesli/termenv"

	_ "example.org/headpond/tui/quiet" // must be initialised before bubbletea, see there
)

// ColorMode is the person's wish about colours.
type ColorMode int

// The wishes of --color. ColorAuto looks at the environment (NO_COLOR, CLICOLOR, CLICOLOR_FORCE, TERM) and at whether the
// writer is a terminal.
const (
	ColorAuto ColorMode = iota
	ColorAlways
	ColorNever
)

// NewRenderer makes the one renderer of a program run, for the writer that is really written to. At most the terminal's own
// 16 colours are used, and the terminal is asked nothing. environ may be nil for the process's own environment.
func NewRenderer(w io.Writer, mode ColorMode, environ termenv.Environ) *lipgloss.Renderer {
	var opts []termenv.OutputOption
	if environ != nil {
		opts = append(opts, termenv.WithEnvironment(environ))
	}
	r := lipgloss.NewRenderer(w, opts...)
	r.SetHasDarkBackground(true)
	profile := termenv.Ascii
	switch mode {
	case ColorAlways:
		profile = termenv.ANSI
	case ColorAuto:
		// Profiles count downwards: TrueColor is 0 and Ascii, no colour, the last.
		profile = max(termenv.ANSI, r.Output().EnvColorProfile())
	case ColorNever:
	}
	r.SetColorProfile(profile)
	return r
}
