package uitest_test

import (
	"testing"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/tui/ui/uitest"
)

func TestKeyGivesTheMessageThatHasTheName(t *testing.T) {
	for _, name := range []string{"enter", "esc", "tab", "shift+tab", "up", "down", "left", "right", "pgup", "pgdown", "home", "end",
		"delete", "backspace", "f1", "f12", "ctrl+c", "ctrl+r", " ", "a", "?", "é"} {
		if got := uitest.Key(t, name).String(); got != name {
			t.Errorf("Key(%q) is the key %q", name, got)
		}
	}
}

// The checker must itself find what it looks for.
func TestFitsFindsEachFault(t *testing.T) {
	cases := []struct {
		name, view string
		ok         bool
	}{
		{"fits", "abcd\n\x1b[1;31mab\x1b[0m", true},
		{"too wide", "abcde", false},
		{"too wide by a wide character", "abc漢", false},
		{"too high", "a\nb\nc", false},
		{"control character", "a\x07", false},
		{"an escape that is no colour", "\x1b[2J", false},
		{"a broken escape", "\x1b[", false},
		{"C1", "a\u009b", false},
	}
	for _, c := range cases {
		if err := uitest.Fits(c.view, 4, 2); (err == nil) != c.ok {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

func TestPasteIsAPaste(t *testing.T) {
	if k := uitest.Paste("ab"); !k.Paste || k.Type != tea.KeyRunes || k.String() != "[ab]" {
		t.Errorf("paste %#v", k)
	}
}

// The finder of what acts on a terminal must itself find each kind of it.
func TestHarmlessFindsEachFault(t *testing.T) {
	cases := []struct {
		name, s string
		colors  bool
		ok      bool
	}{
		{"text", "Ré 4 °C 漢字 👩\u200d👧\n", false, true},
		{"a colour", "\x1b[1;31mx\x1b[0m\x1b[m", true, true},
		{"a colour where none is allowed", "\x1b[1mx", false, false},
		{"a colour of 256", "\x1b[38;5;9mx", true, false},
		{"clearing", "\x1b[2J m", true, false},
		{"a title", "\x1b]0;x\a", true, false},
		{"a lone escape", "\x1b", true, false},
		{"return", "a\rb", true, false},
		{"DEL", "a\x7f", true, false},
		{"C1", "a\u009b", true, false},
		{"C1 as a byte", "a\x9b", true, false},
		{"reordering", "a\u202e", true, false},
		{"hidden", "a\u200b", true, false},
		{"line separator", "a\u2028", true, false},
		{"noncharacter", "a\ufffe", true, false},
	}
	for _, c := range cases {
		if err := uitest.Harmless(c.s, c.colors); (err == nil) != c.ok {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}
