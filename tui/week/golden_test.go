package weekview

import (
	"fmt"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/exp/golden"

	"example.org/headpond/model/record"
	"example.org/headpond/model/week"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

// screen is the Week screen with a review on it, without a book behind it.
func screen(tb testing.TB, look uitest.Look, w, h int, r *week.Review) Screen {
	tb.Helper()
	s := New(uitest.Common(look, w, h, clock), desk.Desk{}).SetSize(w, h)
	p := ternHollow(tb)
	s, _ = s.Update(desk.Loaded{Version: 1, History: &record.History{At: clock, Plant: p}})
	s, _ = s.(Screen).Arrive("")
	return give(s, desk.Review{Of: desk.ReviewOf{Version: 1, Span: week.Week, Full: true}, Review: r, Plant: p})
}

// give hands over a message and drops what it asks for.
func give(s ui.Screen, msg tea.Msg) Screen {
	next, _ := s.Update(msg)
	return next.(Screen)
}

func TestView(t *testing.T) {
	for _, size := range [][2]int{{80, 20}, {120, 36}} {
		for name, look := range uitest.Looks() {
			for _, k := range []struct {
				name string
				keys []string
			}{{"page", nil}, {"chart", []string{"c", "c", "left", "left"}}} {
				t.Run(fmt.Sprintf("%dx%d/%s/%s", size[0], size[1], name, k.name), func(t *testing.T) {
					s := uitest.Press(t, screen(t, look, size[0], size[1], sample()), k.keys...)
					golden.RequireEqual(t, []byte(ui.Clamp(uitest.Theme(look), s.View(), size[0], size[1])))
				})
			}
		}
	}
}

func TestText(t *testing.T) {
	for name, look := range map[string]uitest.Look{"plain": {}, "ascii": {ASCII: true}} {
		t.Run(name, func(t *testing.T) {
			golden.RequireEqual(t, []byte(Text(Report{Review: sample(), Plant: ternHollow(t)}, uitest.Common(look, 80, 24, clock), 80)))
		})
	}
}
