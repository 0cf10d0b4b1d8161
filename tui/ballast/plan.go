package ballast

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/model/electrical"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// plan is which loads are ticked, to see whether they fit together. It is an idea, no entry: nothing of it is kept.
type plan struct {
	on     bool // the list with its ticks is on show
	at     int  // the load that is picked
	ticked map[int]bool
}

// picks are the places of the ticked loads.
func (pl plan) picks() []int { return slices.Sorted(maps.Keys(pl.ticked)) }

// tick ticks the picked load, or takes its tick away; the map of an older screen stays as it was.
func (pl plan) tick() plan {
	next := maps.Clone(pl.ticked)
	if next == nil {
		next = map[int]bool{}
	}
	if next[pl.at] {
		delete(next, pl.at)
	} else {
		next[pl.at] = true
	}
	pl.ticked = next
	return pl
}

// planBindings are the keys of the list with its ticks.
func (s Screen) planBindings() []ui.Binding {
	none := ""
	if len(s.plan.ticked) == 0 {
		none = "nothing is ticked"
	}
	return []ui.Binding{
		{Action: "ballast.tick", Keys: []string{"enter", " "}, Short: "tick", Long: "Tick the picked load, or take its tick away"},
		{Action: "ballast.pick", Keys: []string{"down", "up"}, Short: "pick", Long: "Pick a load"},
		{Action: "ballast.none", Keys: []string{"x"}, Short: "untick all", Long: "Take every tick away", Off: none},
		{Action: "ballast.plan", Keys: []string{"esc", "t"}, Short: "back", Long: "Go back to the whole page"},
	}
}

// planKey treats a key of the list with its ticks.
func (s Screen) planKey(msg tea.Msg, action string) Screen {
	switch action {
	case "ballast.tick":
		s.plan = s.plan.tick()
	case "ballast.none":
		s.plan.ticked = nil
	case "ballast.plan":
		s.plan.on, s.scroll = false, ui.Scroll{}
		return s
	case "ballast.pick":
		if key, ok := msg.(tea.KeyMsg); ok && key.Type == tea.KeyUp {
			s.plan.at--
		} else {
			s.plan.at++
		}
		s.plan.at = max(0, min(s.plan.at, s.loads()-1))
	}
	lines := s.lines()
	mark := len(lines) - s.loads() + s.plan.at
	s.scroll = s.scroll.Reveal(mark, mark, len(lines), s.body())
	if s.plan.at == 0 {
		s.scroll = ui.Scroll{}
	}
	return s
}

// loads is how many loads can be ticked.
func (s Screen) loads() int {
	if s.report.Facts == nil || s.report.Plant == nil {
		return 0
	}
	return len(s.report.Facts.LoadsThatFit)
}

// planned lists every load in a line with its tick, and over them what the ticked ones come to; the loads are the last lines.
func (p page) planned(pl plan, w int) []string {
	f, t := p.report.Facts, p.common.Theme
	out := []string{ui.Section(t, "Which loads fit together", "", w)}
	said, state := p.sum(pl)
	out = join(out, p.sentence(said, state, w), []string{ui.Section(t, "Loads, each judged alone", "", w)})
	for i, l := range f.LoadsThatFit {
		box, mark := "[ ] ", " "
		if pl.ticked[i] {
			box = "[x] "
		}
		if i == pl.at {
			mark = t.Glyphs.Select
		}
		line := mark + box + p.load(l, max(20, min(w, 76)-6))
		if line = t.Cut(line, w); i == pl.at {
			line = t.Selected.Render(t.Fit(line, w))
		}
		out = append(out, line)
	}
	return out
}

// sum says what the ticked loads come to.
func (p page) sum(pl plan) (string, ui.State) {
	f := p.report.Facts
	s, ok := f.Together(p.report.Plant, pl.picks())
	if !ok {
		return fmt.Sprintf("%s can be switched on. Tick loads with Enter: what they come to together stands here.", kw(*f.LoadRoomKW)), ui.Unjudged
	}
	said := fmt.Sprintf("Together %s of the %s that can be switched on: ", plainSum(s.KW), kw(*f.LoadRoomKW))
	switch s.Why {
	case electrical.WhyRoom:
		return said + fmt.Sprintf("NO room, %s too much.", lack(-s.LeftKW)), ui.Out
	case electrical.WhyStarting:
		return said + fmt.Sprintf("NO start, %s cannot start beside what runs.", text.Show(s.Refuses)), ui.Out
	}
	said += fmt.Sprintf("they fit, %s is left.", kw(max(0, s.LeftKW)))
	if len(s.Order) > 1 {
		var names []string
		for _, n := range s.Order {
			names = append(names, text.Show(n))
		}
		said += " Switch on one after the other: " + strings.Join(names, ", ") + "."
	}
	return said, ui.Good
}

// plainSum is a sum of numbers of the plant file, without the dust of adding them.
func plainSum(v float64) string {
	return strings.TrimSuffix(fmt.Sprintf("%.2f", v), "0") + text.NBSP + "kW"
}

// Modes are the keys of what the screen shows besides its page, for the README.
func (s Screen) Modes() []ui.HelpGroup {
	s.plan.ticked = map[int]bool{0: true}
	return []ui.HelpGroup{{Title: "ticking loads", Bindings: s.planBindings()}}
}
