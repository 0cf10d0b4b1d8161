// Package upkeepview is the Upkeep screen: which tasks are due, written down as done, and the checklists, walked step by step.
package upkeepview

import (
	"context"
	"maps"
	"slices"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/logbook"
	"example.org/headpond/model/checklist"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/upkeep"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/form"
)

// Name is the name by which other screens ask for this one.
const Name = "upkeep"

type mode int

const (
	listing  mode = iota
	doing         // a task is written down as done
	before        // a checklist's cautions, before its first step
	walking       // one step is on show
	noting        // words for a step are typed
	ending        // all steps on one page, before they are saved
	early         // asked whether to save a list whose last steps were not walked
	dropping      // asked whether to throw a draft away
	offering      // the list is saved; the event that belongs to it is offered
)

// Screen is the Upkeep screen.
type Screen struct {
	ui.Common
	desk    desk.Desk
	mode    mode
	history *record.History // nil until the book was read
	facts   upkeep.Facts
	lists   []checklist.List
	err     error

	at      int // the row that is picked
	scroll  ui.Scroll
	open    string // name of the task or list that is on show
	form    form.Form
	walks   map[string]walk        // checklists that were begun, by name
	dones   map[string]doneDraft   // tasks that are being written down, by name
	keepers map[string]desk.Keeper // by the draft's name
	saving  bool
	was     mode // where dropping came from
	offer   offer
	w, h    int
}

// New makes the screen; it fills when a desk.Loaded comes.
func New(c ui.Common, d desk.Desk) ui.Screen { return Screen{Common: c, desk: d} }

// Init does nothing: the App loads the book.
func (s Screen) Init() tea.Cmd { return nil }

// Title names the screen.
func (s Screen) Title() string { return "Upkeep" }

// Capturing is true where something is typed.
func (s Screen) Capturing() bool { return s.mode == doing || s.mode == noting || s.mode == ending }

// Takes leaves the keys that are no text to the bindings.
func (s Screen) Takes(key tea.KeyMsg) bool { return s.Capturing() && s.form.Takes(key) }

// SetSize sets the screen's room.
func (s Screen) SetSize(w, h int) ui.Screen {
	s.w, s.h = w, h
	return s.arranged()
}

// arranged gives the open form its room.
func (s Screen) arranged() Screen {
	if s.Capturing() {
		s.form = s.form.SetSize(s.w, max(0, s.h-len(s.formHead())))
	}
	return s
}

// Arrive picks the task or checklist that another screen asks for.
func (s Screen) Arrive(arg string) (ui.Screen, tea.Cmd) {
	if arg != "" && s.mode == listing {
		s = s.picked(arg)
	}
	return s, nil
}

// picked picks a row by its name; an unknown name picks nothing else.
func (s Screen) picked(name string) Screen {
	for i, r := range s.rows() {
		if strings.EqualFold(r.name(), name) {
			s.at = i
			return s.revealed()
		}
	}
	return s
}

// Update takes the book's news, the disk's answers, and keys.
func (s Screen) Update(msg tea.Msg) (ui.Screen, tea.Cmd) {
	next, cmd := s.update(msg)
	return next.arranged(), cmd
}

func (s Screen) update(msg tea.Msg) (Screen, tea.Cmd) {
	switch msg := msg.(type) {
	case desk.Loaded:
		return s.loaded(msg).seen(msg)
	case desk.DraftKept:
		return s.kept(msg)
	case doneSaved:
		return s.doneSaved(msg)
	case walkSaved:
		return s.walkSaved(msg)
	case offerSaved:
		return s.offerSaved(msg)
	case desk.Failed:
		s.saving = false
		if msg.Draft != nil {
			return s.answered(*msg.Draft)
		}
	case tea.KeyMsg, ui.Run:
		if s.history != nil {
			return s.act(msg)
		}
	}
	return s, nil
}

// loaded takes what the book says. Drafts of its own it takes once: afterwards its own state is newer than the disk's.
func (s Screen) loaded(l desk.Loaded) Screen {
	if s.err = l.Err; l.Err != nil {
		return s
	}
	first := s.history == nil
	if p := l.History.Plant; p != nil {
		s.Units, s.Location = quantity.System(p.Site.Units), p.Location
	}
	name := ""
	if r, ok := s.selected(); ok {
		name = r.name()
	}
	s.history, s.facts, s.lists = l.History, upkeep.Report(l.History), checklist.Lists(l.History.Plant)
	if first {
		s = s.restored(l.Drafts)
	}
	s.at = max(0, min(s.at, len(s.rows())-1))
	return s.picked(name)
}

// The drafts' names: one for each task and each checklist, so that none stands in another's way.
const (
	draftTask = "upkeep: "
	draftList = "checklist: "
)

// restored takes the drafts that were found on disk.
func (s Screen) restored(drafts map[string]logbook.Draft) Screen {
	s.walks, s.dones, s.keepers = map[string]walk{}, map[string]doneDraft{}, map[string]desk.Keeper{}
	for name, d := range drafts {
		if rest, ok := strings.CutPrefix(name, draftList); ok {
			if w, ok := decodeWalk(d.Data); ok && w.List.Name == rest {
				s.walks[rest], s.keepers[name] = w, desk.NewKeeper(s.desk.Book, name, d.Data)
			}
		}
		if rest, ok := strings.CutPrefix(name, draftTask); ok {
			if f, ok := decodeDone(d.Data); ok {
				s.dones[rest], s.keepers[name] = f, desk.NewKeeper(s.desk.Book, name, d.Data)
			}
		}
	}
	return s
}

// put asks for a draft to be on disk; nil throws it away.
func (s Screen) put(name string, data []byte) (Screen, tea.Cmd) {
	k, cmd := s.keeper(name).Put(data)
	return s.with(name, k), cmd
}

func (s Screen) keeper(name string) desk.Keeper {
	if k, ok := s.keepers[name]; ok {
		return k
	}
	return desk.NewKeeper(s.desk.Book, name, nil)
}

// with keeps a keeper; the maps of an older Screen stay as they were.
func (s Screen) with(name string, k desk.Keeper) Screen {
	s.keepers = maps.Clone(s.keepers)
	s.keepers[name] = k
	return s
}

// kept passes the disk's answer on.
func (s Screen) kept(m desk.DraftKept) (Screen, tea.Cmd) {
	s, cmd := s.answered(m)
	if _, ours := s.keepers[m.Form]; ours && m.Err != nil {
		cmd = tea.Batch(cmd, ui.Say(ui.Out, "The draft could not be kept: "+m.Err.Error()))
	}
	return s, cmd
}

func (s Screen) answered(m desk.DraftKept) (Screen, tea.Cmd) {
	k, ours := s.keepers[m.Form]
	if !ours {
		return s, nil
	}
	k, cmd := k.Update(m)
	return s.with(m.Form, k), cmd
}

// seen tells the keepers what a load found of their drafts.
func (s Screen) seen(l desk.Loaded) (Screen, tea.Cmd) {
	if l.Err != nil {
		return s, nil
	}
	var cmds []tea.Cmd
	for _, name := range slices.Sorted(maps.Keys(s.keepers)) {
		_, there := l.Drafts[name]
		k, cmd := s.keepers[name].Seen(there)
		s, cmds = s.with(name, k), append(cmds, cmd)
	}
	return s, tea.Batch(cmds...)
}

// Flush puts the newest state of every draft on disk at once.
func (s Screen) Flush(ctx context.Context) error {
	var first error
	for _, name := range slices.Sorted(maps.Keys(s.keepers)) {
		if err := s.keepers[name].Flush(ctx); first == nil {
			first = err
		}
	}
	return first
}

// act treats a key by what is on show.
func (s Screen) act(msg tea.Msg) (Screen, tea.Cmd) {
	key, isKey := msg.(tea.KeyMsg)
	action, cmd := ui.Act(msg, s.Bindings(), isKey && s.Takes(key))
	if cmd != nil {
		return s, cmd
	}
	switch s.mode {
	case listing:
		return s.listKey(key, action)
	case doing:
		return s.doneKey(key, isKey, action)
	case before:
		return s.beforeKey(key, action)
	case walking:
		return s.walkKey(action)
	case noting:
		return s.noteKey(key, isKey, action)
	case ending:
		return s.endKey(key, isKey, action)
	case early:
		return s.earlyKey(key, action)
	case dropping:
		return s.dropKey(action)
	case offering:
		return s.offerKey(key, action)
	}
	return s, nil
}

func (s Screen) listKey(key tea.KeyMsg, action string) (Screen, tea.Cmd) {
	r, ok := s.selected()
	switch action {
	case "upkeep.open":
		if ok && r.isList() {
			return s.openList(r.list), nil
		}
		return s.openTask(r.task.Task), nil
	case "upkeep.pick":
		by := 1
		if key.Type == tea.KeyUp {
			by = -1
		}
		s.at = max(0, min(s.at+by, len(s.rows())-1))
		return s.revealed(), nil
	case "upkeep.last":
		return s, desk.Go("log", r.lastID())
	case "upkeep.scroll":
		lines, _ := s.lines()
		s.scroll, _ = s.scroll.Key(key, len(lines), s.h)
	}
	return s, nil
}

// revealed scrolls so that the picked row is seen, and the head with the first one.
func (s Screen) revealed() Screen {
	lines, marks := s.lines()
	if s.at >= len(marks) {
		return s
	}
	if s.at == 0 {
		s.scroll = ui.Scroll{}
	}
	s.scroll = s.scroll.Reveal(marks[s.at], marks[s.at], len(lines), s.h)
	return s
}

// dropKey takes the answer to the question. The key that asks never answers.
func (s Screen) dropKey(action string) (Screen, tea.Cmd) {
	switch action {
	case "upkeep.yes":
		name := draftList + s.open
		if s.was == doing {
			name = draftTask + s.open
			s.dones = maps.Clone(s.dones)
			delete(s.dones, s.open)
		} else {
			s.walks = maps.Clone(s.walks)
			delete(s.walks, s.open)
		}
		s.mode = listing
		s, cmd := s.put(name, nil)
		return s, tea.Batch(cmd, ui.Say(ui.Unjudged, "The draft was thrown away"))
	case "upkeep.no":
		s.mode = s.was
	}
	return s, nil
}

// View draws what is on show.
func (s Screen) View() string {
	switch s.mode {
	case doing, noting, ending:
		return s.formView()
	case before, walking, early, dropping, offering:
		lines := s.sheet()
		return s.scroll.View(s.Theme, lines, s.w, s.h)
	case listing:
	}
	lines, _ := s.lines()
	return s.scroll.View(s.Theme, lines, s.w, s.h)
}
