package form

import (
	"strings"

	"github.com/charmbracelet/bubbles/cursor"
	"github.com/charmbracelet/bubbles/key"
	"github.com/charmbracelet/bubbles/textinput"
	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// line is a text with the place where typing goes, counted in runes.
type line struct {
	text string
	pos  int
}

// edit applies a key to a line by bubbles' text input. The input is made anew for each key, so that a line is a plain value:
// an input that is kept shares its buffer with every copy of it.
func (l line) edit(k tea.KeyMsg, limit int) line {
	in := textinput.New()
	in.Cursor.SetMode(cursor.CursorStatic)
	in.KeyMap = keyMap()
	in.CharLimit = limit
	in.SetValue(l.text)
	in.SetCursor(l.pos)
	in.Focus()
	in, _ = in.Update(k)
	return line{text: in.Value(), pos: in.Position()}
}

// keyMap is what edits within a field. bubbles' own map is not used: it has Alt, and keys that terminals keep for themselves,
// and it reads the clipboard by a program of its own.
func keyMap() textinput.KeyMap {
	return textinput.KeyMap{
		CharacterForward:        key.NewBinding(key.WithKeys("right")),
		CharacterBackward:       key.NewBinding(key.WithKeys("left")),
		WordForward:             key.NewBinding(key.WithKeys("ctrl+right")),
		WordBackward:            key.NewBinding(key.WithKeys("ctrl+left")),
		DeleteWordBackward:      key.NewBinding(key.WithKeys("ctrl+w")),
		DeleteBeforeCursor:      key.NewBinding(key.WithKeys("ctrl+u")),
		DeleteCharacterBackward: key.NewBinding(key.WithKeys("backspace", "ctrl+h")),
		DeleteCharacterForward:  key.NewBinding(key.WithKeys("delete")),
		LineStart:               key.NewBinding(key.WithKeys("home")),
		LineEnd:                 key.NewBinding(key.WithKeys("end")),
	}
}

// view draws the line in exactly w cells, scrolled so that the typing place is seen, with the caret where focused. Without
// colours the caret is a sign of its own: "_" at the end, "|" before the character where typing goes.
func (l line) view(t ui.Theme, w int, focused bool) string {
	if w <= 0 {
		return ""
	}
	runes := []rune(l.text)
	pos := max(0, min(l.pos, len(runes)))
	if !focused {
		return t.Input.Render(t.Fit(text.Show(l.text), w))
	}
	before, at, after := text.Show(string(runes[:pos])), "", ""
	if pos < len(runes) {
		at, after = text.Show(string(runes[pos:pos+1])), text.Show(string(runes[pos+1:]))
	}
	caret := t.Caret.Render(at)
	switch {
	case t.Caret.Plain() && at == "":
		caret = "_"
	case t.Caret.Plain():
		caret = "|" + at
	case at == "":
		caret = t.Caret.Render(" ")
	}
	// A mark at the left says that the line goes on there, as the one at the right does.
	if room := w - text.Width(caret); text.Width(before) > room {
		cutMark := t.Glyphs.Cut
		before = cutMark + text.Cut(before, text.Width(before)-max(0, room-text.Width(cutMark)), text.Width(before))
	}
	used := text.Width(before) + text.Width(caret)
	return text.Truncate(t.Input.Render(before)+caret+t.Input.Render(t.Fit(after, max(0, w-used))), w, "")
}

// oneLine tells why pasted text cannot go into one field; "" where it can.
func oneLine(s string) string {
	if strings.ContainsAny(s, "\n\r\t") {
		return "not pasted: several lines or columns, and a paste fills one field only"
	}
	return ""
}
