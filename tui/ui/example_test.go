package ui_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

// pond is the screen of the package's documentation.
type pond struct {
	ui.Common
	table ui.Table
	level float64
	w, h  int
}

func (p pond) Init() tea.Cmd   { return nil }
func (p pond) Title() string   { return "Pond" }
func (p pond) Capturing() bool { return false }

func (p pond) Bindings() []ui.Binding {
	return []ui.Binding{
		{Action: "pond.open", Keys: []string{"enter"}, Short: "open", Long: "Show the round that the level comes from"},
		{Action: "pond.rain", Keys: []string{"r"}, Short: "rain", Long: "Ask what rain would do", Off: "the catchment's area is not known"},
	}
}

func (p pond) SetSize(w, h int) ui.Screen {
	p.w, p.h = w, h
	p.table = p.table.SetSize(w, max(0, h-2))
	return p
}

func (p pond) Update(msg tea.Msg) (ui.Screen, tea.Cmd) {
	action, cmd := ui.Act(msg, p.Bindings(), false)
	if action == "pond.open" {
		return p, ui.Say(ui.Unjudged, fmt.Sprintf("This is round %d.", p.table.At+1))
	}
	if key, ok := msg.(tea.KeyMsg); ok && cmd == nil {
		p.table, _ = p.table.Key(key)
	}
	return p, cmd
}

func (p pond) View() string {
	in := ui.Range{Lo: -0.85, Hi: 0.1}
	gauge := ui.BandGauge(p.Theme, p.level, in, ui.Range{Lo: -0.9, Hi: 0.3}, min(p.w, 30)) + fmt.Sprintf("  %.2f m", p.level)
	return ui.Clamp(p.Theme, ui.Section(p.Theme, "Level", gauge, p.w)+"\n"+p.table.View(p.Theme), p.w, p.h)
}

func examplePond() pond {
	common := uitest.Common(uitest.Look{ASCII: true}, 46, 9, time.Date(2026, 8, 14, 7, 30, 0, 0, time.UTC))
	levels := []string{"-0.34", "-0.33", "-0.33", "-0.31", "-0.30"}
	return pond{Common: common, level: -0.34, table: ui.Table{
		Columns: []ui.TableColumn{{Title: "Round", Width: 12}, {Title: "Level m", Align: ui.Right, Width: 7}},
		Len:     len(levels),
		Row: func(i int) ui.TableRow {
			return ui.TableRow{Cells: []string{fmt.Sprintf("%d Aug 06:30", 14-i), levels[i]}}
		},
	}}
}

// A screen is drawn, driven by keys, and has its keys on the bottom line.
func Example() {
	var s ui.Screen = examplePond()
	s = s.SetSize(46, 6)
	s, _ = s.Update(tea.KeyMsg{Type: tea.KeyDown})
	_, open := s.Update(tea.KeyMsg{Type: tea.KeyEnter})
	_, rain := s.Update(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("r")})
	for line := range strings.Lines(s.View()) {
		fmt.Println(strings.TrimRight(line, " \n"))
	}
	fmt.Println(ui.BottomLine(uitest.Theme(uitest.Look{ASCII: true}), s, 46))
	fmt.Println(open().(ui.Notice).Text)
	fmt.Println(rain().(ui.Notice).Text)
	// Output:
	// Level ----------------------------------------
	//    |---========#======----|     -0.34 m
	//   Round         Level m
	//   14 Aug 06:30    -0.34
	// > 13 Aug 06:30    -0.33
	//   3 more below
	// Enter open  ? help
	// This is round 2.
	// Rain is off: the catchment's area is not known
}

func TestTheExampleScreenKeepsTheRules(t *testing.T) {
	p := examplePond()
	for _, err := range ui.CheckBindings(p.Bindings()) {
		t.Error(err)
	}
	uitest.FitsAtAnySize(t, p, p.Theme)
}
