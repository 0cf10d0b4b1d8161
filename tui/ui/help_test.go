package ui_test

import (
	"reflect"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/exp/golden"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

func helpGroups() []ui.HelpGroup {
	return []ui.HelpGroup{
		{Title: "Round", Bindings: roundBindings()},
		{Title: "Everywhere", Bindings: []ui.Binding{
			{Action: "quit", Keys: []string{"q"}, Short: "quit", Long: "End the program; drafts are kept"},
			ui.HelpBinding(),
		}},
	}
}

func TestHelpView(t *testing.T) {
	sizes := map[string][2]int{"60x20": {60, 20}, "80x24": {80, 24}, "100x30": {100, 30}, "40x10": {40, 10}}
	for look, l := range uitest.Looks() {
		for size, wh := range sizes {
			t.Run(look+"/"+size, func(t *testing.T) {
				h := ui.NewHelp(uitest.Theme(l), helpGroups()...).SetSize(wh[0], wh[1])
				h = uitest.Press(t, h, "down", "down", "down")
				golden.RequireEqual(t, []byte(h.View()))
			})
		}
	}
}

func TestHelpIsFilteredByTyping(t *testing.T) {
	cases := []struct {
		typed string
		want  []string // the short words that are left
	}{
		{"", []string{"next", "save", "same", "time", "leave", "first field", "quit", "help"}},
		{"draft", []string{"leave", "quit"}},
		{"f2", []string{"save"}},
		{"KEPT draft", []string{"leave", "quit"}},
		{"zzz", nil},
	}
	for _, c := range cases {
		t.Run(c.typed, func(t *testing.T) {
			h := ui.NewHelp(uitest.Theme(uitest.Look{}), helpGroups()...).SetSize(100, 40)
			view := uitest.Type(t, h, c.typed).View()
			for _, b := range append(roundBindings(), helpGroups()[1].Bindings...) {
				shown := strings.Contains(view, b.Long)
				if want := contains(c.want, b.Short); shown != want {
					t.Errorf("%q shown %v, want %v in\n%s", b.Short, shown, want, view)
				}
			}
			if c.want == nil && !strings.Contains(view, "No key or action") {
				t.Errorf("nothing found, nothing said:\n%s", view)
			}
		})
	}
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

// messages runs a command and what it holds, in order.
func messages(cmd tea.Cmd) []tea.Msg {
	if cmd == nil {
		return nil
	}
	msg := cmd()
	v := reflect.ValueOf(msg)
	if v.IsValid() && v.Kind() == reflect.Slice && v.Type().Elem() == reflect.TypeFor[tea.Cmd]() {
		var all []tea.Msg
		for i := range v.Len() {
			all = append(all, messages(v.Index(i).Interface().(tea.Cmd))...)
		}
		return all
	}
	return []tea.Msg{msg}
}

func TestEnterOnHelpClosesItAndRunsTheAction(t *testing.T) {
	h := ui.NewHelp(uitest.Theme(uitest.Look{}), helpGroups()...).SetSize(80, 24)
	_, cmd := uitest.Type(t, h, "keep the").Update(uitest.Key(t, "enter"))
	if got := messages(cmd); len(got) != 2 || got[0] != (ui.CloseHelp{}) || got[1] != (ui.Run{Action: "round.save"}) {
		t.Errorf("messages %#v, want CloseHelp and then Run", got)
	}
	_, cmd = uitest.Type(t, h, "time of").Update(uitest.Key(t, "enter"))
	if got := messages(cmd); len(got) != 1 || got[0].(ui.Notice).Text != "Time is off: the round is already kept" {
		t.Errorf("messages %#v, want the reason why it is off", got)
	}
}

func TestEscEmptiesTheFilterThenLeaves(t *testing.T) {
	h := uitest.Type(t, ui.NewHelp(uitest.Theme(uitest.Look{}), helpGroups()...).SetSize(80, 24), "zzz")
	h, cmd := h.Update(uitest.Key(t, "esc"))
	if cmd != nil || strings.Contains(h.View(), "zzz") {
		t.Fatalf("first Esc: command %v, view\n%s", cmd != nil, h.View())
	}
	if _, cmd = h.Update(uitest.Key(t, "esc")); len(messages(cmd)) != 1 {
		t.Error("second Esc does not leave")
	}
}

func TestHelpKeepsTheChoiceInSight(t *testing.T) {
	var h ui.Screen = ui.NewHelp(uitest.Theme(uitest.Look{}), helpGroups()...)
	h = h.SetSize(50, 8)
	for i := range 20 {
		if !strings.Contains(h.View(), "\n> ") {
			t.Fatalf("after %d times down the choice is out of sight:\n%s", i, h.View())
		}
		h = uitest.Press(t, h, "down")
	}
	h = uitest.Press(t, h, "pgup", "pgup", "pgup", "pgup", "backspace")
	if !strings.Contains(h.View(), "> Enter") {
		t.Errorf("PgUp does not lead back to the first action:\n%s", h.View())
	}
}

func TestHelpFitsAtAnySize(t *testing.T) {
	th := uitest.Theme(uitest.Look{Color: true})
	uitest.FitsAtAnySize(t, uitest.Press(t, ui.NewHelp(th, helpGroups()...), "down", "down"), th)
}

func TestTypedControlCharactersReachTheFilterHarmlessly(t *testing.T) {
	h := ui.NewHelp(uitest.Theme(uitest.Look{}), helpGroups()...).SetSize(80, 24)
	h, _ = h.Update(uitest.Paste("\x1b[2J\n"))
	if err := uitest.Fits(h.View(), 80, 24); err != nil {
		t.Error(err)
	}
}

func TestMarkdownListsAllKeys(t *testing.T) {
	groups := helpGroups()
	groups[0].Bindings[2].Keys = []string{"|"}
	golden.RequireEqual(t, []byte(ui.Markdown(groups...)))
}

// A page that is pasted into the filter is cut, and what is left of it can be taken back key by key.
func TestAPastedPageIsCut(t *testing.T) {
	h := ui.NewHelp(uitest.Theme(uitest.Look{}), helpGroups()...).SetSize(100, 40)
	h, _ = h.Update(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(strings.Repeat("é", 5000)), Paste: true})
	if n := strings.Count(h.View(), "é"); n != 60 {
		t.Errorf("%d of the letters stand in the filter", n)
	}
	for range 60 {
		h = uitest.Press(t, h, "backspace")
	}
	if !strings.Contains(h.View(), "quit") {
		t.Errorf("the filter is not empty:\n%s", h.View())
	}
}
