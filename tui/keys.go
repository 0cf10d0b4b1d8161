package tui

import (
	"context"
	"strings"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/tui/ui"
)

// bindings are the keys of the whole program, beside those of the screen on show.
func (a App) bindings() []ui.Binding {
	list := make([]ui.Binding, 0, len(a.tabs)+3)
	for _, t := range a.tabs {
		list = append(list, ui.Binding{Action: "go." + t.name, Keys: []string{t.digit}, Short: t.screen.Title(), Long: "Show the " + t.screen.Title() + " screen", Hidden: true})
	}
	return append(list,
		ui.HelpBinding(),
		ui.Binding{Action: "go.next", Keys: []string{"tab"}, Short: "next", Long: "Show the next screen", Hidden: true},
		quitBinding(),
	)
}

func quitBinding() ui.Binding {
	return ui.Binding{Action: "quit", Keys: []string{"q", "ctrl+c"}, Short: "quit", Long: "Leave Headpond; drafts are kept"}
}

// keys treats the keys that arrived together one by one, as on a slow link or typed ahead: some may lead to another screen, where the
// rest are text. What is pasted is one.
func (a App) keys(msg tea.KeyMsg) (tea.Model, tea.Cmd) {
	if msg.Type != tea.KeyRunes || msg.Paste || len(msg.Runes) < 2 {
		return a.key(msg)
	}
	var cmds []tea.Cmd
	for i, r := range msg.Runes {
		one := tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{r}, Alt: msg.Alt && i == 0}
		if r == ' ' {
			one = tea.KeyMsg{Type: tea.KeySpace, Runes: []rune{r}}
		}
		next, cmd := a.key(one)
		cmds = append(cmds, cmd)
		app, ok := next.(App)
		if !ok {
			return next, tea.Batch(cmds...)
		}
		a = app
	}
	return a, tea.Batch(cmds...)
}

// key treats a key: the help page first, then the screen's own keys, then the program's.
func (a App) key(msg tea.KeyMsg) (tea.Model, tea.Cmd) {
	if msg.String() == "ctrl+c" && !msg.Paste {
		return a.quit()
	}
	if a.help != nil {
		next, cmd := a.help.Update(msg)
		if h, ok := next.(ui.Help); ok {
			a.help = &h
		}
		return a, cmd
	}
	a.notice = ui.Notice{}
	next, cmd := a.dispatch(msg)
	return a.remarked(msg, next, cmd)
}

// dispatch gives a key to the screen on show, or carries out what it means everywhere.
func (a App) dispatch(msg tea.KeyMsg) (tea.Model, tea.Cmd) {
	screen := a.tabs[a.at].screen
	typing := ui.Takes(screen, msg)
	if typing || ui.Found(msg, screen.Bindings(), false) || screen.Capturing() && !ui.Found(msg, a.bindings(), false) {
		return a.toScreen(msg)
	}
	if ui.Found(msg, a.bindings(), false) && !(screen.Capturing() && msg.Type == tea.KeyTab) {
		return a.act(msg)
	}
	return a.toScreen(msg)
}

// act carries out one of the program's own actions, by key or by name; any other name is the screen's.
func (a App) act(msg tea.Msg) (tea.Model, tea.Cmd) {
	action, cmd := ui.Act(msg, a.bindings(), false)
	a.help = nil
	switch {
	case action == ui.ActionHelp:
		h := ui.NewHelp(a.common.Theme, ui.HelpGroup{Title: a.tabs[a.at].screen.Title(), Bindings: a.tabs[a.at].screen.Bindings()}, ui.HelpGroup{Title: "Everywhere", Bindings: a.bindings()})
		sized, ok := h.SetSize(a.body()).(ui.Help)
		if ok {
			a.help = &sized
		}
		return a, nil
	case action == "quit":
		return a.quit()
	case action == "go.next":
		return a.goTo(a.tabs[(a.at+1)%len(a.tabs)].name, "")
	case strings.HasPrefix(action, "go."):
		return a.goTo(strings.TrimPrefix(action, "go."), "")
	case cmd != nil:
		return a, cmd
	}
	return a.toScreen(msg)
}

// flushWithin bounds the last writes of a program that is ending.
const flushWithin = 5 * time.Second

// quit puts every draft on disk and ends.
func (a App) quit() (tea.Model, tea.Cmd) {
	a.ending = true
	return a, tea.Sequence(func() tea.Msg { _ = a.Flush(); return nil }, tea.Quit)
}

// Flush puts every draft's newest state on disk. It is also called when the program ends by a signal or a closed window.
func (a App) Flush() error {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(a.ctx), flushWithin)
	defer cancel()
	var first error
	for _, t := range a.tabs {
		if k, ok := t.screen.(keeping); ok {
			if err := k.Flush(ctx); err != nil && first == nil {
				first = err
			}
		}
	}
	return first
}
