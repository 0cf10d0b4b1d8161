// Package ui is what all screens share: looks by role, key bindings and their help, layout, tables and the band gauge. It
// knows nothing of a plant or a logbook. Its sub-packages hold the rest: text (harmless text and cell widths), chart (time
// series, bars, sparklines), form (entry fields), and uitest (for tests of screens).
//
// A screen is a value of one shape:
//
//	type pond struct {
//		ui.Common
//		table ui.Table
//		w, h  int
//	}
//
//	func (p pond) Init() tea.Cmd   { return nil }
//	func (p pond) Title() string   { return "Pond" }
//	func (p pond) Capturing() bool { return false }
//
//	func (p pond) Bindings() []ui.Binding {
//		return []ui.Binding{
//			{Action: "pond.open", Keys: []string{"enter"}, Short: "open", Long: "Show the round that the level comes from"},
//			{Action: "pond.rain", Keys: []string{"r"}, Short: "rain", Long: "Ask what rain would do", Off: p.noCatchment()},
//		}
//	}
//
//	func (p pond) SetSize(w, h int) ui.Screen {
//		p.w, p.h = w, h
//		p.table = p.table.SetSize(w, h-2)
//		return p
//	}
//
//	func (p pond) Update(msg tea.Msg) (ui.Screen, tea.Cmd) {
//		action, cmd := ui.Act(msg, p.Bindings(), false)
//		switch action {
//		case "pond.open":
//			return p.open()
//		}
//		if key, ok := msg.(tea.KeyMsg); ok && cmd == nil {
//			p.table, _ = p.table.Key(key)
//		}
//		return p, cmd
//	}
//
//	func (p pond) View() string {
//		gauge := ui.BandGauge(p.Theme, p.level, p.in, p.near, 30)
//		return ui.Section(p.Theme, "Level", gauge, p.w) + "\n" + p.table.View(p.Theme)
//	}
//
// The program's root model owns the window: it gives each screen its size, asks ui.Takes before it treats a letter as a
// command, draws ui.BottomLine, opens ui.Help, shows ui.Notice, passes every frame through ui.Clamp, and stands in a
// ui.Guard.
package ui
