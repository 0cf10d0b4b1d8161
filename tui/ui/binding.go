package ui

import (
	"slices"
	"strings"
	"unicode/utf8"

	tea "github.com/charmbracelet/bubbletea"
)

// Binding is one action of a screen with its keys and its words. The bottom line, the help page, the README's table and what
// the keys do all come from the same list.
type Binding struct {
	Action string   // stable name, "round.save"
	Keys   []string // as tea.KeyMsg.String() names them, the one to show first
	Short  string   // for the bottom line: "save"
	Long   string   // for the help page: a sentence without its point
	Off    string   // why it cannot be done now; "" while it can
	Hidden bool     // on the help page only
}

// Run asks for an action by its name: it is sent when an action is chosen on the help page.
type Run struct{ Action string }

// Printable reports whether a key would put text into a field. A paste is text whatever it holds.
func Printable(key tea.KeyMsg) bool {
	return (key.Type == tea.KeyRunes || key.Type == tea.KeySpace) && !key.Alt
}

// Act finds what a message asks for: a key of a binding, or Run. typing says that the screen takes the message as text
// (ui.Takes), so that no key matches. The action is "" where nothing matches, or where the action is off: then the command
// says the reason on the status line.
func Act(msg tea.Msg, bindings []Binding, typing bool) (action string, cmd tea.Cmd) {
	b, ok := find(msg, bindings, typing)
	switch {
	case !ok:
		return "", nil
	case b.Off != "":
		return "", Say(Unjudged, capital(b.Short)+" is off: "+b.Off)
	}
	return b.Action, nil
}

// Found reports whether a message asks for any of the bindings, whether it is off or not.
func Found(msg tea.Msg, bindings []Binding, typing bool) bool {
	_, ok := find(msg, bindings, typing)
	return ok
}

func find(msg tea.Msg, bindings []Binding, typing bool) (Binding, bool) {
	for _, b := range bindings {
		switch m := msg.(type) {
		case Run:
			if m.Action == b.Action {
				return b, true
			}
		case tea.KeyMsg:
			if !typing && b.pressed(m) {
				return b, true
			}
		}
	}
	return Binding{}, false
}

// pressed reports whether a key is one of the binding's. A paste never is, nor is anything with Alt.
func (b Binding) pressed(key tea.KeyMsg) bool {
	return !key.Paste && !key.Alt && slices.Contains(b.Keys, key.String())
}

// shown returns the first key that is a command now and not text. ok is false where none is.
func (b Binding) shown(isText func(key string) bool) (key string, ok bool) {
	for _, k := range b.Keys {
		if !isText(k) {
			return k, true
		}
	}
	return "", false
}

// KeyNames returns the names of a binding's keys as people know them: "Enter, F2".
func (b Binding) KeyNames() string {
	names := make([]string, len(b.Keys))
	for i, k := range b.Keys {
		names[i] = KeyName(k)
	}
	return strings.Join(names, ", ")
}

// KeyName returns a key as it stands on a keyboard: "pgdown" is "PgDn", "shift+tab" is "Shift-Tab", a letter itself.
func KeyName(key string) string {
	switch key {
	case " ":
		return "Space"
	case "pgup":
		return "PgUp"
	case "pgdown":
		return "PgDn"
	case "delete":
		return "Del"
	}
	if utf8.RuneCountInString(key) == 1 {
		return key
	}
	parts := strings.Split(key, "+")
	for i, p := range parts {
		parts[i] = capital(p)
	}
	return strings.Join(parts, "-")
}

// capital makes the first letter of ASCII words large.
func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
