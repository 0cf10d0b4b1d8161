// Package quiet keeps a program that links bubbletea v1 from stalling on a terminal that answers no questions.
//
// While it is initialised, bubbletea asks the terminal for its background colour, in every command, and waits five seconds
// where nothing answers: a serial line, a relayed or browser terminal, a test's pseudo-terminal. The question is asked
// through lipgloss, which does not ask when it has been told. This package tells it, and asks nothing itself.
//
// It works because Go initialises packages that are ready in the order of their import paths, and this path sorts before
// github.com/charmbracelet/bubbletea. It must therefore import nothing that imports bubbletea, and the module's path must
// go on sorting before that one. Importing it anywhere in the program is enough; package ui does.
package quiet

import "github.com/charmbracelet/lipgloss"

// init answers in the terminal's place. The answer itself changes nothing: no style here depends on the background
// unless a person has set it.
func init() { lipgloss.SetHasDarkBackground(true) }
