package ui_test

import (
	"slices"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/exp/golden"
	"pgregory.net/rapid"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

// fakeScreen is a screen with given bindings, which may be typing, and may leave "?" to the help meanwhile.
type fakeScreen struct {
	bindings []ui.Binding
	typing   bool
}

func (f fakeScreen) Init() tea.Cmd                       { return nil }
func (f fakeScreen) Update(tea.Msg) (ui.Screen, tea.Cmd) { return f, nil }
func (f fakeScreen) View() string                        { return "" }
func (f fakeScreen) SetSize(int, int) ui.Screen          { return f }
func (f fakeScreen) Bindings() []ui.Binding              { return f.bindings }
func (f fakeScreen) Capturing() bool                     { return f.typing }
func (f fakeScreen) Title() string                       { return "Fake" }

// takerScreen leaves "?" to the help while typing.
type takerScreen struct{ fakeScreen }

func (takerScreen) Takes(key tea.KeyMsg) bool { return ui.Printable(key) && key.String() != "?" }

func roundBindings() []ui.Binding {
	return []ui.Binding{
		{Action: "round.next", Keys: []string{"enter", "down"}, Short: "next", Long: "Go to the next field"},
		{Action: "round.save", Keys: []string{"s", "f2"}, Short: "save", Long: "Keep the round in the book"},
		{Action: "round.same", Keys: []string{"="}, Short: "same", Long: "Take over the last value"},
		{Action: "round.time", Keys: []string{"t"}, Short: "time", Long: "Set the time of the round", Off: "the round is already kept"},
		{Action: "round.leave", Keys: []string{"esc"}, Short: "leave", Long: "Leave the round; the draft is kept"},
		{Action: "round.top", Keys: []string{"home"}, Short: "first field", Long: "Go to the first field", Hidden: true},
	}
}

func TestActFindsTheActionOfAKey(t *testing.T) {
	cases := []struct {
		name   string
		msg    tea.Msg
		typing bool
		want   string
	}{
		{"first key", uitest.Key(t, "enter"), false, "round.next"},
		{"second key", uitest.Key(t, "f2"), false, "round.save"},
		{"letter", uitest.Key(t, "s"), false, "round.save"},
		{"letter while it is text", uitest.Key(t, "s"), true, ""},
		{"no such key", uitest.Key(t, "x"), false, ""},
		{"pasted letter", uitest.Paste("s"), false, ""},
		{"Alt and a letter", tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("s"), Alt: true}, false, ""},
		{"by name, from the help page", ui.Run{Action: "round.same"}, true, "round.same"},
		{"another message", tea.WindowSizeMsg{}, false, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, cmd := ui.Act(c.msg, roundBindings(), c.typing)
			if got != c.want || cmd != nil {
				t.Errorf("action %q (command %v), want %q", got, cmd != nil, c.want)
			}
		})
	}
}

func TestAnActionThatIsOffSaysWhy(t *testing.T) {
	got, cmd := ui.Act(uitest.Key(t, "t"), roundBindings(), false)
	if got != "" || cmd == nil {
		t.Fatalf("action %q, command %v; want only a command", got, cmd != nil)
	}
	if n, ok := cmd().(ui.Notice); !ok || n.Text != "Time is off: the round is already kept" {
		t.Errorf("notice %#v", n)
	}
	if !ui.Found(uitest.Key(t, "t"), roundBindings(), false) {
		t.Error("a key that is off is not found, so another part of the screen would take it")
	}
}

func TestTakesAsksTheScreenWhatIsText(t *testing.T) {
	plain, typing := fakeScreen{}, fakeScreen{typing: true}
	cases := []struct {
		name   string
		screen ui.Screen
		key    tea.KeyMsg
		want   bool
	}{
		{"letter, not typing", plain, uitest.Key(t, "a"), false},
		{"letter, typing", typing, uitest.Key(t, "a"), true},
		{"space, typing", typing, uitest.Key(t, " "), true},
		{"Enter, typing", typing, uitest.Key(t, "enter"), false},
		{"question mark, typing", typing, uitest.Key(t, "?"), true},
		{"question mark in a field for numbers", takerScreen{typing}, uitest.Key(t, "?"), false},
		{"question mark, not typing, such a screen", takerScreen{plain}, uitest.Key(t, "?"), false},
		{"paste, typing", typing, uitest.Paste("19 psi"), true},
	}
	for _, c := range cases {
		if got := ui.Takes(c.screen, c.key); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

func TestKeyNamesAreThoseOnTheKeyboard(t *testing.T) {
	for key, want := range map[string]string{"enter": "Enter", "pgdown": "PgDn", "pgup": "PgUp", "shift+tab": "Shift-Tab", "f10": "F10",
		"ctrl+r": "Ctrl-R", " ": "Space", "?": "?", "a": "a", "A": "A", "delete": "Del", "+": "+", "esc": "Esc"} {
		if got := ui.KeyName(key); got != want {
			t.Errorf("KeyName(%q) = %q, want %q", key, got, want)
		}
	}
}

func TestCheckBindingsFindsWhatWouldNotWorkEverywhere(t *testing.T) {
	good := ui.Binding{Action: "a", Keys: []string{"enter"}, Short: "do", Long: "Do it"}
	with := func(keys ...string) ui.Binding { b := good; b.Keys = keys; return b }
	cases := []struct {
		name string
		in   []ui.Binding
		want string // part of the one error; "" for none
	}{
		{"good", []ui.Binding{good}, ""},
		{"good with doubles", []ui.Binding{with("x", "f3", "ctrl+r")}, ""},
		{"letter f alone is a letter", []ui.Binding{with("f")}, ""},
		{"no words", []ui.Binding{{Action: "a", Keys: []string{"x"}}}, "lacks"},
		{"no key", []ui.Binding{with()}, "lacks"},
		{"a point at the end", []ui.Binding{{Action: "a", Keys: []string{"x"}, Short: "do", Long: "Do it."}}, "point"},
		{"only an F key", []ui.Binding{with("f3")}, "some keyboards lack"},
		{"only Ctrl", []ui.Binding{with("ctrl+r")}, "some keyboards lack"},
		{"Alt", []ui.Binding{with("x", "alt+x")}, "Alt"},
		{"flow control", []ui.Binding{with("x", "ctrl+s")}, "stop and go on"},
		{"multiplexer's key", []ui.Binding{with("x", "ctrl+b")}, "multiplexers"},
		{"bracket", []ui.Binding{with("x", "[")}, "AltGr"},
		{"one key twice", []ui.Binding{with("x"), {Action: "b", Keys: []string{"x"}, Short: "b", Long: "B"}}, `means both "a" and "b"`},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			errs := ui.CheckBindings(c.in)
			if c.want == "" {
				if len(errs) > 0 {
					t.Errorf("complains: %v", errs)
				}
				return
			}
			if !slices.ContainsFunc(errs, func(e error) bool { return strings.Contains(e.Error(), c.want) }) {
				t.Errorf("errors %v, want one with %q", errs, c.want)
			}
		})
	}
}

func TestOwnBindingsPassTheCheck(t *testing.T) {
	help := ui.NewHelp(uitest.Theme(uitest.Look{}))
	for _, bs := range [][]ui.Binding{roundBindings(), {ui.HelpBinding()}, help.Bindings()} {
		for _, err := range ui.CheckBindings(bs) {
			t.Error(err)
		}
	}
}

func TestBottomLine(t *testing.T) {
	cases := []struct {
		name   string
		screen ui.Screen
		w      int
	}{
		{"80", fakeScreen{bindings: roundBindings()}, 80},
		{"40", fakeScreen{bindings: roundBindings()}, 40},
		{"24", fakeScreen{bindings: roundBindings()}, 24},
		{"8", fakeScreen{bindings: roundBindings()}, 8},
		{"1", fakeScreen{bindings: roundBindings()}, 1},
		{"typing", fakeScreen{bindings: roundBindings(), typing: true}, 80},
		{"typing a number", takerScreen{fakeScreen{bindings: roundBindings(), typing: true}}, 80},
		{"no bindings", fakeScreen{}, 80},
	}
	var out strings.Builder
	for _, c := range cases {
		out.WriteString(c.name + ": " + ui.BottomLine(uitest.Theme(uitest.Look{}), c.screen, c.w) + "\n")
	}
	golden.RequireEqual(t, []byte(out.String()))
}

func TestBottomLineFitsAndEndsWithTheHelpKey(t *testing.T) {
	th := uitest.Theme(uitest.Look{Color: true})
	rapid.Check(t, func(t *rapid.T) {
		var bs []ui.Binding
		for range rapid.IntRange(0, 12).Draw(t, "n") {
			bs = append(bs, ui.Binding{Action: "a", Keys: []string{rapid.SampledFrom([]string{"enter", "x", "pgdown"}).Draw(t, "key")},
				Short: rapid.StringMatching(`[a-zé漢 ]{1,14}`).Draw(t, "short")})
		}
		typing, w := rapid.Bool().Draw(t, "typing"), rapid.IntRange(1, 120).Draw(t, "w")
		line := ui.BottomLine(th, fakeScreen{bindings: bs, typing: typing}, w)
		if err := uitest.Fits(line, w, 1); err != nil {
			t.Fatal(err)
		}
		key := "?"
		if typing {
			key = "F1"
		}
		if w >= 7 && !strings.HasSuffix(line, th.Key.Render(key)+" help") && !strings.HasSuffix(line, th.Key.Render(key)+" more") {
			t.Fatalf("line %q does not end with the help key", line)
		}
	})
}
