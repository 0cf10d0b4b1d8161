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
