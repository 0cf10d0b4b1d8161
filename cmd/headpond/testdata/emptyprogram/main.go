// Command emptyprogram draws one line by the same library as Headpond's screens and does nothing else: what Headpond's start
// is measured against.
package main

import (
	_ "example.org/headpond/tui/quiet"

	tea "github.com/charmbracelet/bubbletea"
)

type empty struct{}

func (empty) Init() tea.Cmd { return nil }

func (e empty) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	if _, ok := msg.(tea.KeyMsg); ok {
		return e, tea.Quit
	}
	return e, nil
}

func (empty) View() string { return "READY" }

func main() {
	if _, err := tea.NewProgram(empty{}, tea.WithAltScreen(), tea.WithFPS(30)).Run(); err != nil {
		panic(err)
	}
}
