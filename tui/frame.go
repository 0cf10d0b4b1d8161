package tui

import (
	"strings"
	"unicode"
	"unicode/utf8"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// Lines of a frame that are not the screen's: the title, the tabs with a rule under them, the status and the keys.
const (
	headLines = 2
	footLines = 2
)

// sized lays the program out for a window.
func (a App) sized(w, h int) App {
	a.common = a.common.Sized(w, h)
	a.tabs = append([]tab(nil), a.tabs...)
	bw, bh := a.body()
	for i := range a.tabs {
		a.tabs[i].screen = a.tabs[i].screen.SetSize(bw, bh)
	}
	if a.help != nil {
		if s, ok := a.help.SetSize(bw, bh).(ui.Help); ok {
			a.help = &s
		}
	}
	return a
}

// body is the room of a screen.
func (a App) body() (w, h int) {
	return a.common.Width, max(0, a.common.Height-headLines-footLines)
}

// View draws the frame, never larger than the window.
func (a App) View() string {
	w, h := a.common.Width, a.common.Height
	t := a.common.Theme
	if small, is := ui.TooSmall(t, w, h, ui.MinWidth, ui.MinHeight); is {
		return small
	}
	var s ui.Screen = a.tabs[a.at].screen
	if a.help != nil {
		s = *a.help
	}
	bw, bh := a.body()
	body := ui.Clamp(t, s.View(), bw, bh)
	if missing := bh - 1 - strings.Count(body, "\n"); missing > 0 {
		body += strings.Repeat("\n", missing)
	}
	status := a.statusLines()
	if over := len(status) - 1; over > 0 { // a long notice lies over the last lines of the screen until the next key
		kept := strings.Split(body, "\n")
		body = strings.Join(kept[:max(0, len(kept)-over)], "\n")
	}
	lines := []string{a.titleLine(), a.tabLine(), body, strings.Join(status, "\n"), ui.BottomLine(t, leavable{s}, w)}
	return ui.Clamp(t, strings.Join(lines, "\n"), w, h)
}

// leavable adds to a screen's own keys the one that everybody looks for.
type leavable struct{ ui.Screen }

// Bindings are the screen's, and how to quit.
func (l leavable) Bindings() []ui.Binding {
	return append(append([]ui.Binding{}, l.Screen.Bindings()...), quitBinding())
}

// Takes passes on what the screen itself takes as text.
func (l leavable) Takes(key tea.KeyMsg) bool { return ui.Takes(l.Screen, key) }

// titleLine names the plant and tells the time.
func (a App) titleLine() string {
	t := a.common.Theme
	left := text.Show(a.plant)
	if left == "" {
		left = "Headpond"
	}
	if a.title != "" {
		left += " (" + text.Show(a.title) + ")"
	}
	right := a.common.Clock(a.common.Now(), "Mon 2 Jan 2006 15:04")
	room := a.common.Width - text.Width(right) - 2
	return t.Title.Render(t.Fit(" "+left, max(0, room))) + " " + right
}

// tabLine lists the screens; the one on show stands in reverse and between signs.
func (a App) tabLine() string {
	t := a.common.Theme
	parts := make([]string, 0, len(a.tabs))
	for i, tb := range a.tabs {
		name := tb.digit + " " + tb.screen.Title()
		if i == a.at {
			parts = append(parts, t.Selected.Render(t.Glyphs.Select+name+" "))
			continue
		}
		parts = append(parts, " "+name+" ")
	}
	line := strings.Join(parts, "")
	if text.Width(line) > a.common.Width { // the digits lead everywhere, and the open screen is named
		for i, tb := range a.tabs {
			if i != a.at {
				parts[i] = " " + tb.digit + " "
			}
		}
		line = strings.Join(parts, "")
	}
	if n := a.common.Width - text.Width(line); n > 0 {
		line += t.Line.Render(strings.Repeat(t.Glyphs.Horizontal, n))
	}
	return line
}

// statusLines show the last notice with its sign, the whole of it where half of the screen is enough.
func (a App) statusLines() []string {
	t := a.common.Theme
	if a.ending {
		return []string{" Keeping drafts and leaving"}
	}
	if a.notice.Text == "" {
		return []string{""}
	}
	sign := a.notice.State.Sign()
	if sign != "" {
		sign += " "
	}
	_, room := a.body()
	lines := text.Wrap(text.Show(sign+a.notice.Text), max(1, a.common.Width-2))
	if n := max(1, room/2); len(lines) > n {
		lines = append(lines[:n-1], strings.Join(lines[n-1:], " "))
	}
	for i, l := range lines {
		lines[i] = t.State(a.notice.State).Render(t.Cut(" "+l, a.common.Width))
	}
	return lines
}

// message is an error for people, in one line.
func message(err error) string { return strings.ReplaceAll(err.Error(), "\n", " ") }

func savedSentence(s desk.Saved) string {
	out := "Saved: " + s.What
	for _, c := range s.Cautions {
		if r, n := utf8.DecodeRuneInString(c); n > 0 { // each is a sentence of its own here
			out += ". " + string(unicode.ToUpper(r)) + c[n:]
		}
	}
	return out
}

func failedSentence(f desk.Failed) string {
	return f.Doing + " failed: " + message(f.Err)
}
