package upkeepview

import (
	"example.org/headpond/model/plant"
	"example.org/headpond/tui/ui"
)

// Bindings lists the keys of what is on show.
func (s Screen) Bindings() []ui.Binding {
	switch s.mode {
	case doing, ending:
		return s.formBindings()
	case before:
		return s.beforeBindings()
	case walking:
		return s.walkBindings()
	case noting:
		return noteBindings()
	case early:
		return earlyBindings()
	case dropping:
		return dropBindings()
	case offering:
		return s.offerBindings()
	case listing:
	}
	return s.listBindings()
}

// Modes are the keys of what the screen shows besides its list, for the README.
func (s Screen) Modes() []ui.HelpGroup {
	return []ui.HelpGroup{
		{Title: "a task done, or the end of a checklist", Bindings: formKeys("")},
		{Title: "a checklist, step by step", Bindings: s.walkBindings()},
	}
}

func (s Screen) noWriting() string {
	switch {
	case s.desk.ReadOnly:
		return "this book is open to be looked at only"
	case s.history != nil && s.history.Plant == nil:
		return "the book holds no plant description yet"
	}
	return ""
}

func (s Screen) listBindings() []ui.Binding {
	off, none, never := s.noWriting(), "", "this was never done"
	short, long := "done", "Write down that the task was done; on a checklist, walk it step by step"
	r, ok := s.selected()
	switch {
	case !ok:
		none = "nothing is listed"
	case r.isList():
		short = "walk"
		if s.walks[r.list.Name].begun() {
			short = "go on"
		}
	}
	if ok && r.lastID() != "" {
		never = ""
	}
	if none != "" {
		off, never = none, none
	}
	return []ui.Binding{
		{Action: "upkeep.open", Keys: []string{"enter"}, Short: short, Long: long, Off: off},
		{Action: "upkeep.pick", Keys: []string{"down", "up"}, Short: "pick", Long: "Pick a task or a checklist", Off: none},
		{Action: "upkeep.last", Keys: []string{"c"}, Short: "last time", Long: "Show the entry of the last time in the Log, where it can be corrected or taken back", Off: never},
		{Action: "upkeep.scroll", Keys: []string{"pgdown", "pgup", "home", "end"}, Short: "scroll", Long: "See what is further down", Hidden: true},
	}
}

func (s Screen) formBindings() []ui.Binding {
	empty := ""
	if s.mode == doing && !s.typedAny() {
		empty = "nothing is typed yet"
	}
	return formKeys(empty)
}

func formKeys(empty string) []ui.Binding {
	return []ui.Binding{
		{Action: "upkeep.save", Keys: []string{"f2", "ctrl+o"}, Short: "save", Long: "Save it in the log; Enter on the line that says so does it too"},
		{Action: "upkeep.leave", Keys: []string{"esc"}, Short: "back", Long: "Go back; what is typed is kept as a draft"},
		{Action: "upkeep.drop", Keys: []string{"f8"}, Short: "throw away", Long: "Throw away what is typed and ticked; it asks first", Off: empty},
		{Action: "upkeep.field", Keys: []string{"enter", "down", "up"}, Short: "next, back", Long: "Enter and the arrows go from field to field, Tab goes round", Hidden: true},
	}
}

func (s Screen) beforeBindings() []ui.Binding {
	short, fresh := "begin", "nothing is ticked yet"
	if w := s.walks[s.open]; w.begun() {
		short, fresh = "go on", ""
	}
	return []ui.Binding{
		{Action: "upkeep.begin", Keys: []string{"enter"}, Short: short, Long: "Show the first step that is open"},
		{Action: "upkeep.leave", Keys: []string{"esc"}, Short: "back", Long: "Go back to the list; what is ticked is kept"},
		{Action: "upkeep.drop", Keys: []string{"f8", "t"}, Short: "throw away", Long: "Throw away what is ticked; it asks first", Off: fresh},
		{Action: "upkeep.scroll", Keys: []string{"down", "up", "pgdown", "pgup", "home", "end"}, Short: "scroll", Long: "See what is further down", Hidden: true},
	}
}

func (s Screen) walkBindings() []ui.Binding {
	return []ui.Binding{
		{Action: "upkeep.done", Keys: []string{"enter"}, Short: "done", Long: "This step is done; the next one comes"},
		{Action: "upkeep.skip", Keys: []string{"s"}, Short: "skip", Long: "Skip this step; why is asked"},
		{Action: "upkeep.notok", Keys: []string{"x"}, Short: "not ok", Long: "Something is wrong here; what was found is asked"},
		{Action: "upkeep.note", Keys: []string{"n"}, Short: "note", Long: "Write a note to this step without ticking it"},
		{Action: "upkeep.back", Keys: []string{"left", "up"}, Short: "back", Long: "Look at the step before; a tick can be made anew"},
		{Action: "upkeep.next", Keys: []string{"right", "down"}, Short: "next", Long: "Look at the next step without ticking this one", Hidden: true},
		{Action: "upkeep.end", Keys: []string{"e", "f2"}, Short: "end", Long: "Go to the end of the list, to save it in the log"},
		{Action: "upkeep.cautions", Keys: []string{"c"}, Short: "cautions", Long: "Show the list's cautions again", Hidden: true},
		{Action: "upkeep.leave", Keys: []string{"esc"}, Short: "leave", Long: "Leave the list; every tick is kept, and Enter goes on with it"},
	}
}

func noteBindings() []ui.Binding {
	return []ui.Binding{
		{Action: "upkeep.accept", Keys: []string{"enter", "f2", "ctrl+o"}, Short: "keep", Long: "Keep these words with the step"},
		{Action: "upkeep.leave", Keys: []string{"esc"}, Short: "back", Long: "Go back to the step without ticking it; the words stay with it as a note"},
	}
}

func earlyBindings() []ui.Binding {
	return []ui.Binding{
		{Action: "upkeep.yes", Keys: []string{"y"}, Short: "save as ended early", Long: "Save the list as ended early; it does not count as walked"},
		{Action: "upkeep.no", Keys: []string{"n", "esc", "enter"}, Short: "no, go on", Long: "Go on at the first step that is not done"},
		{Action: "upkeep.scroll", Keys: []string{"down", "up", "pgdown", "pgup", "home", "end"}, Short: "scroll", Long: "See what is further down", Hidden: true},
	}
}

func dropBindings() []ui.Binding {
	return []ui.Binding{
		{Action: "upkeep.yes", Keys: []string{"y"}, Short: "yes", Long: "Throw it away"},
		{Action: "upkeep.no", Keys: []string{"n", "esc", "enter"}, Short: "no, go back", Long: "Keep it and go back"},
	}
}

func (s Screen) offerBindings() []ui.Binding {
	out := []ui.Binding{}
	if s.offer.kind() != "" || s.offer.list.For == plant.ForClearing {
		out = append(out, ui.Binding{Action: "upkeep.yes", Keys: []string{"y"}, Short: "write it down", Long: "Write this into the log as an entry of its own"})
	}
	if len(s.offer.choices) > 1 {
		out = append(out, ui.Binding{Action: "upkeep.units", Keys: []string{"right", "left"}, Short: "which unit", Long: "Choose which units it was"})
	}
	switch s.offer.list.For {
	case plant.ForClearing:
		out = append(out, ui.Binding{Action: "upkeep.round", Keys: []string{"r"}, Short: "walk a round", Long: "Open the Round, where the clearing stands with the pressures before and after"})
	case plant.ForAfterTrip:
		out = append(out, ui.Binding{Action: "upkeep.event", Keys: []string{"e"}, Short: "write the trip", Long: "Open the Log's form of an event, for the trip with its time and cause"})
	case plant.ForStart, plant.ForStop:
	}
	return append(out, ui.Binding{Action: "upkeep.no", Keys: []string{"n", "esc", "enter"}, Short: "no", Long: "Write nothing more down"})
}
