package ui

import (
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/model/localtime"
	"example.org/headpond/model/quantity"
)

// Common is what all screens share. It is passed by value; a screen keeps its copy and gets sizes by SetSize.
type Common struct {
	Theme    Theme
	Width    int // the whole window, in cells
	Height   int
	Units    quantity.System  // how values are shown and what a bare number typed means
	Now      func() time.Time // the clock; never nil
	Location *time.Location   // the plant's time zone; never nil
}

// ASCII reports whether plain ASCII is wanted.
func (c Common) ASCII() bool { return c.Theme.ASCII }

// Local returns an instant on the plant's clock.
func (c Common) Local(t time.Time) time.Time { return t.In(c.Location) }

// Clock writes an instant on the plant's clock in a layout, with the zone's name where that clock time happens twice.
func (c Common) Clock(t time.Time, layout string) string {
	return localtime.Show(t, c.Location, layout)
}

// Sized returns Common for a window of another size.
func (c Common) Sized(w, h int) Common {
	c.Width, c.Height = max(0, w), max(0, h)
	return c
}

// Screen is one part of the program. Screens are values: Update and SetSize return the changed one.
type Screen interface {
	Init() tea.Cmd
	// Update changes the state for a message and nothing else: work goes into the command.
	Update(msg tea.Msg) (Screen, tea.Cmd)
	// View draws into the size that was set. It may be called at any time and any size.
	View() string
	// SetSize tells the room that the screen has, without the title and the bottom line.
	SetSize(w, h int) Screen
	// Bindings lists the keys that work now, the most useful first; those that are off carry the reason.
	Bindings() []Binding
	// Capturing reports whether letters are being typed into something, so that no letter may act as a key.
	Capturing() bool
	Title() string
}

// Taker is a Screen that can tell more exactly which keys are text now: a field for numbers leaves "?" to the help.
type Taker interface {
	Takes(key tea.KeyMsg) bool
}

// Takes reports whether a key is text for the screen and therefore no command.
func Takes(s Screen, key tea.KeyMsg) bool {
	if !s.Capturing() {
		return false
	}
	if t, ok := s.(Taker); ok {
		return t.Takes(key)
	}
	return Printable(key)
}

// Notice is a message for the status line: one sentence, with its state. A screen sends it by Say.
type Notice struct {
	Text  string
	State State
}

// Say returns a command that shows a sentence on the status line.
func Say(state State, sentence string) tea.Cmd {
	return func() tea.Msg { return Notice{Text: sentence, State: state} }
}
