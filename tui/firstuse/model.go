package firstuse

import (
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// Model is the root model: the screen in its frame.
type Model struct {
	screen screen
	common ui.Common
	help   *ui.Help
	notice ui.Notice
	done   func(Result)
}

// New makes the program. done is told what was chosen, once, before the program ends; it is not called when the person leaves.
func New(o Options, done func(Result)) Model {
	return Model{screen: newScreen(o), common: o.Common, done: done}.sized(o.Common.Width, o.Common.Height)
}

// Init does nothing.
func (m Model) Init() tea.Cmd { return nil }

// Lines of the frame: the title, the status and the keys.
const frameLines = 3

func (m Model) sized(w, h int) Model {
	m.common = m.common.Sized(w, h)
	body := max(0, m.common.Height-frameLines)
	if s, ok := m.screen.SetSize(m.common.Width, body).(screen); ok {
		m.screen = s
	}
	if m.help != nil {
		if x, ok := m.help.SetSize(m.common.Width, body).(ui.Help); ok {
			m.help = &x
		}
	}
	return m
}

func (m Model) bindings() []ui.Binding {
	return []ui.Binding{ui.HelpBinding(), {Action: "quit", Keys: []string{"q", "ctrl+c"}, Short: "quit", Long: "Leave Headpond; nothing was written that was not said"}}
}

// Update dispatches: the window and the frame's keys here, the rest to the screen.
func (m Model) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	switch msg := msg.(type) {
	case tea.WindowSizeMsg:
		return m.sized(msg.Width, msg.Height), nil
	case tea.KeyMsg:
		return m.key(msg)
	case ui.Run:
		return m.act(msg, false)
	case ui.CloseHelp:
		m.help = nil
		return m, nil
	case ui.Notice:
		m.notice = msg
		return m, nil
	case chosen:
		done := m.done
		return m, tea.Sequence(func() tea.Msg { done(msg.Result); return nil }, tea.Quit)
	}
	return m.toScreen(msg)
}

func (m Model) key(key tea.KeyMsg) (tea.Model, tea.Cmd) {
	if key.String() == "ctrl+c" && !key.Paste {
		return m, tea.Quit
	}
	if m.help != nil {
		next, cmd := m.help.Update(key)
		if h, ok := next.(ui.Help); ok {
			m.help = &h
		}
		return m, cmd
	}
	m.notice = ui.Notice{}
	typing := ui.Takes(m.screen, key)
	if !typing && ui.Found(key, m.bindings(), false) {
		return m.act(key, typing)
	}
	if !m.screen.Capturing() && !ui.Found(key, m.screen.Bindings(), false) {
		m.notice = ui.Notice{Text: "There is no key " + ui.KeyName(key.String()) + " here: ? lists them"}
		if key.Paste {
			m.notice.Text = "Nothing here takes what is pasted: ? lists the keys"
		}
	}
	return m.toScreen(key)
}

// act carries out one of the frame's own actions; any other is the screen's.
func (m Model) act(msg tea.Msg, typing bool) (tea.Model, tea.Cmd) {
	action, _ := ui.Act(msg, m.bindings(), typing)
	m.help = nil
	switch action {
	case ui.ActionHelp:
		h := ui.NewHelp(m.common.Theme, ui.HelpGroup{Title: m.screen.Title(), Bindings: m.screen.Bindings()}, ui.HelpGroup{Title: "Everywhere", Bindings: m.bindings()})
		m.help = &h
		return m.sized(m.common.Width, m.common.Height), nil
	case "quit":
		return m, tea.Quit
	}
	return m.toScreen(msg)
}

func (m Model) toScreen(msg tea.Msg) (tea.Model, tea.Cmd) {
	next, cmd := m.screen.Update(msg)
	if s, ok := next.(screen); ok {
		m.screen = s
	}
	return m, cmd
}

// View draws the frame, never larger than the window.
func (m Model) View() string {
	w, h := m.common.Width, m.common.Height
	t := m.common.Theme
	if small, is := ui.TooSmall(t, w, h, ui.MinWidth, ui.MinHeight); is {
		return small
	}
	var s ui.Screen = m.screen
	if m.help != nil {
		s = *m.help
	}
	room := max(0, h-frameLines)
	body := ui.Clamp(t, s.View(), w, room)
	if missing := room - 1 - strings.Count(body, "\n"); missing > 0 {
		body += strings.Repeat("\n", missing)
	}
	notice := ""
	if m.notice.Text != "" {
		notice = t.State(m.notice.State).Render(" " + strings.TrimSpace(m.notice.State.Sign()+" "+text.Show(m.notice.Text)))
	}
	title := ui.Section(t, " Headpond", "", w)
	return ui.Clamp(t, strings.Join([]string{title, body, notice, ui.BottomLine(t, leavable{s, m.bindings()}, w)}, "\n"), w, h)
}

// leavable adds the frame's keys to a screen's own.
type leavable struct {
	ui.Screen
	more []ui.Binding
}

// Bindings are the screen's and the frame's.
func (l leavable) Bindings() []ui.Binding {
	return append(append([]ui.Binding{}, l.Screen.Bindings()...), l.more...)
}

// Takes passes on what the screen itself takes as text.
func (l leavable) Takes(key tea.KeyMsg) bool { return ui.Takes(l.Screen, key) }
