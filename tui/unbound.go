package tui

import (
	"fmt"
	"slices"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/tui/ui"
)

// remarked adds to what a key did a word where it did not what it seems to be meant for: a screen's digit that went into a field,
// and a key that nothing here is bound to. a is the program before the key, next the one after it.
func (a App) remarked(msg tea.KeyMsg, next tea.Model, cmd tea.Cmd) (tea.Model, tea.Cmd) {
	after, ok := next.(App)
	if !ok {
		return next, cmd
	}
	screen := a.tabs[a.at].screen
	after.wrote = ui.Takes(screen, msg)
	switch {
	case after.notice.Text != "":
	case after.wrote:
		after = after.digitAsText(a, msg)
	case cmd == nil && a.unbound(msg) && screen.View() == after.tabs[after.at].screen.View():
		after.notice = ui.Notice{Text: a.nothing(msg)}
	}
	return after, cmd
}

// digitAsText says of the digit of another screen, as the first character into a field, that it is text, once on each screen.
func (a App) digitAsText(before App, msg tea.KeyMsg) App {
	at := slices.IndexFunc(a.tabs, func(t tab) bool { return t.digit == msg.String() })
	if at < 0 || at == a.at || before.wrote || msg.Paste || slices.Contains(a.hinted, a.tabs[a.at].name) || !a.escapes() {
		return a
	}
	a.hinted = append(slices.Clone(a.hinted), a.tabs[a.at].name)
	digit := a.tabs[at].digit
	a.notice = ui.Notice{Text: fmt.Sprintf("%s is text here: Esc leaves the form, then %s shows %s", digit, digit, a.tabs[at].screen.Title())}
	return a
}

// escapes reports whether Esc does anything on the screen on show.
func (a App) escapes() bool {
	return ui.Found(tea.KeyMsg{Type: tea.KeyEsc}, a.tabs[a.at].screen.Bindings(), false)
}

// unbound reports whether a key is bound to nothing: neither here nor everywhere, nor does it move or edit.
func (a App) unbound(msg tea.KeyMsg) bool {
	screen := a.tabs[a.at].screen
	everyday := []tea.KeyType{tea.KeyUp, tea.KeyDown, tea.KeyLeft, tea.KeyRight, tea.KeyPgUp, tea.KeyPgDown, tea.KeyHome, tea.KeyEnd}
	if screen.Capturing() {
		everyday = append(everyday, tea.KeyEnter, tea.KeyTab, tea.KeyShiftTab, tea.KeyBackspace, tea.KeyDelete,
			tea.KeyCtrlLeft, tea.KeyCtrlRight, tea.KeyCtrlW, tea.KeyCtrlU)
	}
	return !ui.Found(msg, screen.Bindings(), false) && !ui.Found(msg, a.bindings(), false) && !slices.Contains(everyday, msg.Type)
}

// nothing says that a key did nothing, and what helps.
func (a App) nothing(msg tea.KeyMsg) string {
	switch typing := a.tabs[a.at].screen.Capturing(); {
	case msg.Paste:
		return "Nothing here takes what is pasted: ? lists the keys"
	case typing && a.escapes():
		return ui.KeyName(msg.String()) + " does nothing in this form: Esc leaves it"
	case typing:
		return ui.KeyName(msg.String()) + " does nothing here"
	}
	return "There is no key " + ui.KeyName(msg.String()) + " here: ? lists them"
}
