// Package uitest helps to test screens: themes with a stated profile, keys by name, and checks that each screen must pass.
package uitest

import (
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/muesli/termenv"
	"pgregory.net/rapid"

	"example.org/headpond/model/quantity"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// Look is a terminal that goldens are drawn for. The zero value is plain with lines and blocks, as NO_COLOR gives.
type Look struct {
	Color      bool
	ASCII      bool
	Background ui.Background
}

// Looks are the four that each screen's goldens cover, by the name of the golden's sub-test.
func Looks() map[string]Look {
	return map[string]Look{
		"dark":    {Color: true, Background: ui.DarkBackground},
		"light":   {Color: true, Background: ui.LightBackground},
		"nocolor": {},
		"ascii":   {ASCII: true},
	}
}

// Theme returns the theme of a look; the profile is set outright, so that no environment changes a golden.
func Theme(l Look) ui.Theme {
	r := lipgloss.NewRenderer(io.Discard)
	r.SetHasDarkBackground(l.Background == ui.DarkBackground)
	r.SetColorProfile(termenv.Ascii)
	if l.Color {
		r.SetColorProfile(termenv.ANSI)
	}
	return ui.NewTheme(r, l.ASCII, l.Background)
}

// Common returns what screens share, with a clock that stands still at the given instant, in its zone.
func Common(l Look, w, h int, now time.Time) ui.Common {
	return ui.Common{
		Theme: Theme(l), Width: w, Height: h, Units: quantity.Metric,
		Now: func() time.Time { return now }, Location: now.Location(),
	}
}

// Key returns the message of a key by its name in bindings: "enter", "f2", "shift+tab", " ", "x". It fails the test for a
// name that is none.
func Key(tb testing.TB, name string) tea.KeyMsg {
	tb.Helper()
	if name == " " {
		return tea.KeyMsg{Type: tea.KeySpace, Runes: []rune(" ")}
	}
	if r := []rune(name); len(r) == 1 {
		return tea.KeyMsg{Type: tea.KeyRunes, Runes: r}
	}
	for k := tea.KeyF20 - 20; k <= 127; k++ {
		if m := (tea.KeyMsg{Type: k}); m.String() == name && k != tea.KeyRunes {
			return m
		}
	}
	tb.Fatalf("%q is no key's name", name)
	return tea.KeyMsg{}
}

// Paste returns the message of a bracketed paste.
func Paste(s string) tea.KeyMsg {
	return tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(s), Paste: true}
}

// Press sends keys by name to a screen; the commands are dropped.
func Press(tb testing.TB, s ui.Screen, names ...string) ui.Screen {
	tb.Helper()
	for _, n := range names {
		s, _ = s.Update(Key(tb, n))
	}
	return s
}

// Ask is Press that carries the last key's command out and returns its message, nil where it has none.
func Ask(tb testing.TB, s ui.Screen, names ...string) (ui.Screen, tea.Msg) {
	tb.Helper()
	var cmd tea.Cmd
	for _, n := range names {
		s, cmd = s.Update(Key(tb, n))
	}
	if cmd == nil {
		return s, nil
	}
	return s, cmd()
}

// Type sends text rune by rune, as a keyboard does.
func Type(tb testing.TB, s ui.Screen, typed string) ui.Screen {
	tb.Helper()
	for _, r := range typed {
		s = Press(tb, s, string(r))
	}
	return s
}

// Fits tells whether a view is within a window: no line too wide, not too many lines, no control character but the colours'.
func Fits(view string, w, h int) error {
	lines := strings.Split(view, "\n")
	if len(lines) > max(1, h) {
		return fmt.Errorf("view is %d lines high, the window %d", len(lines), h)
	}
	for i, l := range lines {
		if n := text.Width(l); n > max(0, w) {
			return fmt.Errorf("line %d is %d wide, the window %d: %q", i+1, n, w, l)
		}
		for _, r := range colourless(l) {
			if r < 0x20 || r >= 0x7f && r < 0xa0 {
				return fmt.Errorf("line %d holds the control character %U: %q", i+1, r, l)
			}
		}
	}
	return nil
}

// colourless takes colour codes out of a line and nothing else.
func colourless(l string) string {
	var b strings.Builder
	for {
		head, rest, ok := strings.Cut(l, "\x1b[")
		b.WriteString(head)
		if !ok {
			return b.String()
		}
		end := strings.IndexByte(rest, 'm')
		if end < 0 || strings.Trim(rest[:end], "0123456789;") != "" {
			b.WriteByte(0x1b)
			l = rest
			continue
		}
		l = rest[end+1:]
	}
}

// FitsAtAnySize checks a screen at sizes from 1×1 up: its own view after SetSize, and the bottom line.
func FitsAtAnySize(t *testing.T, s ui.Screen, theme ui.Theme) {
	t.Helper()
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(1, 200).Draw(t, "w"), rapid.IntRange(1, 70).Draw(t, "h")
		if err := Fits(s.SetSize(w, h).View(), w, h); err != nil {
			t.Fatalf("%s at %d×%d: %v", s.Title(), w, h, err)
		}
		if err := Fits(ui.BottomLine(theme, s, w), w, 1); err != nil {
			t.Fatalf("bottom line of %s at %d: %v", s.Title(), w, err)
		}
	})
}
