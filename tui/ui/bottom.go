package ui

import (
	"strings"
	"unicode/utf8"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/tui/ui/text"
)

// ActionHelp is the action of HelpBinding.
const ActionHelp = "help"

// HelpBinding is the binding that every screen has.
func HelpBinding() Binding {
	return Binding{
		Action: ActionHelp, Keys: []string{"?", "f1"}, Short: "help",
		Long: "List all keys of this screen; type to find one, Enter does it",
	}
}

// BottomLine draws the keys that work now in one line of at most w cells. Those that are off, or whose only keys are letters
// while letters are text, are left out. What has no room is left out too, the last first; the help key always stands at the end,
// and says "more" when anything was left out for room.
func BottomLine(t Theme, s Screen, w int) string {
	isText := func(key string) bool { return Takes(s, asKey(key)) }
	help, _ := HelpBinding().shown(isText)
	helpName := KeyName(help)
	const gap = "  "

	var items []string
	used, left := 0, 0
	reserve := text.Width(helpName + " more")
	for _, b := range s.Bindings() {
		key, ok := b.shown(isText)
		if !ok || b.Off != "" || b.Hidden || b.Action == ActionHelp {
			continue
		}
		n := text.Width(KeyName(key)) + 1 + text.Width(b.Short) + len(gap)
		if left > 0 || used+n+reserve > w {
			left++
			continue
		}
		used += n
		items = append(items, t.Key.Render(KeyName(key))+" "+b.Short)
	}
	word := " help"
	if left > 0 {
		word = " more"
	}
	if text.Width(helpName+word) > w {
		return t.Key.Render(t.Cut(helpName, w))
	}
	return strings.Join(append(items, t.Key.Render(helpName)+word), gap)
}

// asKey returns the message that a key's name stands for, as far as it matters to tell text from commands.
func asKey(name string) tea.KeyMsg {
	switch {
	case name == " ":
		return tea.KeyMsg{Type: tea.KeySpace, Runes: []rune(" ")}
	case utf8.RuneCountInString(name) == 1:
		return tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(name)}
	}
	return tea.KeyMsg{Type: tea.KeyF20}
}
