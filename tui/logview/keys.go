package logview

import (
	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/tui/ui"
)

// Bindings lists the keys that work now.
func (s Screen) Bindings() []ui.Binding {
	switch {
	case s.mode == amending:
		return s.amend.bindings("the correction")
	case s.mode == telling:
		return s.event.bindings("the event")
	case s.mode == reading:
		return s.entryBindings()
	case s.finder.open != noFinder:
		return []ui.Binding{
			{Action: "log.found", Keys: []string{"enter"}, Short: "keep it", Long: "Keep this filter"},
			{Action: "log.unfound", Keys: []string{"esc"}, Short: "take it back", Long: "Go back to the filter that was there before"},
		}
	}
	return s.listBindings()
}

// Modes are the keys of what the screen shows besides the list, for the README: an open entry, what is typed into a filter, and
// the forms.
func (s Screen) Modes() []ui.HelpGroup {
	typing := s
	typing.mode, typing.finder.open = listing, findText
	typed := s.event.draftForm
	typed.carried = map[string]string{"note": "typed"} // so that no key is off
	return []ui.HelpGroup{
		{Title: "an open entry", Bindings: s.entryBindings()},
		{Title: "a filter that is typed", Bindings: typing.Bindings()},
		{Title: "a correction or an event", Bindings: typed.bindings("the correction or the event")},
	}
}

func (s Screen) listBindings() []ui.Binding {
	none, unfiltered := "", ""
	if s.selected().id == "" {
		none = "nothing is listed"
	}
	if !s.filter.any() {
		unfiltered = "everything is shown already"
	}
	return []ui.Binding{
		{Action: "log.stop", Keys: []string{"esc"}, Short: "stop", Long: "Stop reading or judging older entries", Off: s.idle(), Hidden: s.idle() != ""},
		{Action: "log.open", Keys: []string{"enter"}, Short: "open", Long: "Show everything that is known of this entry", Off: none},
		{Action: "log.correct", Keys: []string{"c"}, Short: "correct", Long: "Correct this entry; the old value stays in the book", Off: s.noCorrection(s.selected())},
		{Action: "log.event", Keys: []string{"e"}, Short: "new event", Long: "Write down what happened: a start, stop, trip, alarm, repair or note, or a ballast element out or back", Off: s.noWriting()},
		{Action: "log.find", Keys: []string{"/"}, Short: "find", Long: "Show only entries in which these words stand"},
		{Action: "log.kind", Keys: []string{"k"}, Short: "kind", Long: "Show only rounds, then only events, corrections, upkeep, plant descriptions, then everything"},
		{Action: "log.person", Keys: []string{"p"}, Short: "person", Long: "Show only what one person wrote, then the next, then everybody"},
		{Action: "log.out", Keys: []string{"b"}, Short: "out of band", Long: "Show only rounds with a reading out of band, or all again"},
		{Action: "log.dates", Keys: []string{"d"}, Short: "dates", Long: "Show only entries between two dates"},
		{Action: "log.clear", Keys: []string{"x"}, Short: "show all", Long: "Take every filter away", Off: unfiltered},
		{Action: "log.older", Keys: []string{"o"}, Short: "older", Long: "Read the older entries too; going down past the last one does it as well", Off: s.noOlder()},
		{Action: "log.round", Keys: []string{"r"}, Short: "new round", Long: "Walk a round", Off: s.noWriting()},
		{Action: "log.move", Keys: []string{"down", "up", "pgdown", "pgup", "home", "end"}, Short: "move", Long: "Choose another entry", Hidden: true},
	}
}

func (s Screen) entryBindings() []ui.Binding {
	return []ui.Binding{
		{Action: "log.correct", Keys: []string{"c"}, Short: "correct this value", Long: "Correct the chosen value; the old one stays in the book", Off: s.noCorrection(s.page.it)},
		{Action: "log.newer", Keys: []string{"left"}, Short: "newer", Long: "Show the entry above this one in the list"},
		{Action: "log.next", Keys: []string{"right"}, Short: "older", Long: "Show the entry below this one in the list"},
		{Action: "log.back", Keys: []string{"esc", "enter"}, Short: "back", Long: "Go back to the list"},
		{Action: "log.event", Keys: []string{"e"}, Short: "new event", Long: "Write down what happened", Off: s.noWriting()},
		{Action: "log.choose", Keys: []string{"down", "up", "pgdown", "pgup", "home", "end"}, Short: "choose", Long: "Choose a value, and see what is further down", Hidden: true},
	}
}

// idle says why there is nothing to stop, "" where there is.
func (s Screen) idle() string {
	if s.older.job == nil && !s.scan.running() {
		return "nothing is under way"
	}
	return ""
}

// noWriting says why nothing can be written, "" where it can.
func (s Screen) noWriting() string {
	switch {
	case s.desk.ReadOnly:
		return "this book is open to be looked at only"
	case s.ledger == nil:
		return "the book is being read"
	case s.ledger.h.Plant == nil:
		return "the book holds no plant description yet"
	}
	return ""
}

// noCorrection says why an entry cannot be corrected, "" where it can.
func (s Screen) noCorrection(it item) string {
	switch {
	case s.noWriting() != "":
		return s.noWriting()
	case it.id == "":
		return "nothing is listed"
	case it.kind == aRevision:
		return "a plant description is not corrected: load a new one, with headpond plant load FILE"
	}
	return ""
}

// act finds what a key or a chosen action asks for, and hands it to what is on show.
func (s Screen) act(msg tea.Msg) (Screen, tea.Cmd) {
	key, isKey := msg.(tea.KeyMsg)
	typing := isKey && s.Takes(key)
	action, cmd := ui.Act(msg, s.Bindings(), typing)
	switch {
	case s.mode == amending:
		return s.amendKey(key, isKey, action, cmd)
	case s.mode == telling:
		return s.eventKey(key, isKey, action, cmd)
	case s.mode == reading:
		return s.pageKey(key, action, cmd)
	case s.finder.open != noFinder:
		if action == "" && !isKey {
			return s, cmd
		}
		return s.finderKey(key, action)
	}
	return s.listKey(msg, action, cmd)
}
