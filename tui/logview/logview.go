// Package logview is the Log screen: rounds and events, upkeep done, plant revisions and corrections, newest first, with
// filters; each entry with everything that is known of it; and the forms that correct an entry and write an event.
//
// A correction never overwrites: the old value, who changed it, when and why stay in the book and are shown with the entry.
package logview

import (
	"context"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/model/quantity"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// Name is the name by which other screens ask for this one.
const Name = "log"

// NewEvent is the argument with which another screen asks for the form of a new event.
const NewEvent = "event"

// mode is what of the screen is on show.
type mode int

const (
	listing mode = iota
	reading      // an entry is open
	amending
	telling // an event is written
)

// Screen is the Log screen.
type Screen struct {
	ui.Common
	desk   desk.Desk
	mode   mode
	ledger *ledger // nil until the book was read
	err    error
	filter filter
	shown  []int // places in the ledger's items
	table  ui.Table
	finder finder
	page   page // the open entry
	amend  amendForm
	event  eventForm
	older  older
	scan   scan
	mark   uint64 // how many entries the book holds, corrections included
	want   string // id of an entry to be shown once it is here
	pick   string // key of an item to be chosen once it is here
	w, h   int
}

// New makes the screen; it fills when a desk.Loaded comes.
func New(c ui.Common, d desk.Desk) ui.Screen {
	s := Screen{Common: c, desk: d, older: older{tick: tick}}
	s.amend.draftForm, s.event.draftForm = newDraftForm(d, formAmend), newDraftForm(d, formEvent)
	return s
}

// Init does nothing: the App loads the book.
func (s Screen) Init() tea.Cmd { return nil }

// Title names the screen.
func (s Screen) Title() string { return "Log" }

// Capturing reports whether letters are being typed into something.
func (s Screen) Capturing() bool {
	f, ok := s.typing()
	return ok && !f.question()
}

// Takes reports whether a key is text for what is being typed into.
func (s Screen) Takes(key tea.KeyMsg) bool {
	f, ok := s.typing()
	return ok && !f.question() && f.form.Takes(key)
}

// typing returns the form that has the keys, if any.
func (s Screen) typing() (draftForm, bool) {
	switch {
	case s.mode == amending:
		return s.amend.draftForm, true
	case s.mode == telling:
		return s.event.draftForm, true
	case s.mode == listing && s.finder.open != noFinder:
		return draftForm{form: s.finder.form}, true
	}
	return draftForm{}, false
}

// SetSize sets the screen's room.
func (s Screen) SetSize(w, h int) ui.Screen { s.w, s.h = w, h; return s.arranged() }

// arranged gives every part its room.
func (s Screen) arranged() Screen {
	s.finder.form = s.finder.form.SetSize(s.w, len(s.finder.form.Fields()))
	s.table = s.table.SetSize(s.w, max(0, s.h-len(s.head())))
	s.amend.form = s.amend.form.SetSize(s.w, max(0, s.h-amendHead))
	s.event.form = s.event.form.SetSize(s.w, max(0, s.h-eventHead))
	return s
}

// Update takes the book's news, the answers of the disk, and keys.
func (s Screen) Update(msg tea.Msg) (ui.Screen, tea.Cmd) {
	next, cmd := s.update(msg)
	return next.arranged(), cmd
}

func (s Screen) update(msg tea.Msg) (Screen, tea.Cmd) {
	switch msg := msg.(type) {
	case desk.Loaded:
		next, cmd := s.loaded(msg)
		next, more := next.seen(msg)
		return next, tea.Batch(cmd, more)
	case allRead:
		return s.allRead(msg)
	case olderTick:
		return s.ticked(msg)
	case scanned:
		return s.scanned(msg)
	case desk.DraftKept:
		return s.kept(msg)
	case amended:
		return s.amended(msg)
	case eventSaved:
		return s.eventSaved(msg)
	case desk.Failed:
		s.amend.saving, s.event.saving = false, false
		if msg.Draft != nil {
			var one, two tea.Cmd
			s.amend.keeper, one = s.amend.keeper.Update(*msg.Draft)
			s.event.keeper, two = s.event.keeper.Update(*msg.Draft)
			return s, tea.Batch(one, two)
		}
	case tea.KeyMsg, ui.Run:
		if s.ledger != nil {
			return s.act(msg)
		}
	}
	return s, nil
}

// loaded takes what the book says. Where everything was asked for, that is read anew, and the former list stands until then.
func (s Screen) loaded(l desk.Loaded) (Screen, tea.Cmd) {
	if s.err = l.Err; l.Err != nil {
		return s, nil
	}
	first := s.ledger == nil
	if p := l.History.Plant; p != nil {
		s.Units, s.Location = quantity.System(p.Site.Units), p.Location
	}
	s.mark = l.Mark
	if first {
		s.amend = s.amend.restored(s.desk.Book, l.Drafts[formAmend])
		s.event = s.event.restored(s.desk.Book, l.Drafts[formEvent], s.Now(), s.Location)
	}
	if s.older.wanted && !first {
		return s.readAll()
	}
	return s.show(newLedger(l.History))
}

// show puts another ledger in place of the present one. The same item stays selected, and the same entry open.
func (s Screen) show(l *ledger) (Screen, tea.Cmd) {
	if s.pick == "" && s.table.At > 0 {
		s.pick = s.selected().key()
	}
	s.ledger = l
	s = s.chosen().picked()
	if s.mode == reading || s.mode == amending {
		if it, ok := l.find(s.page.it.id); ok {
			s.page.it = it
		}
	}
	s.amend = s.amend.refreshed(s)
	s.event = s.event.refreshed(s)
	s, cmd := s.startScan()
	if !s.scan.running() {
		s.pick = "" // it is not among what is shown
	}
	if s.want == "" {
		return s, cmd
	}
	next, more := s.open(s.want)
	return next, tea.Batch(cmd, more)
}

// picked chooses the item that waits to be shown, once it is.
func (s Screen) picked() Screen {
	if s.pick == "" {
		return s
	}
	s = s.choose(s.pick)
	if s.selected().key() == s.pick {
		s.pick = ""
	}
	return s
}

// chosen applies the filter anew and keeps the selection within what is left.
func (s Screen) chosen() Screen {
	if s.ledger == nil {
		return s
	}
	at := s.selected()
	s.shown = s.filter.choose(s.ledger)
	s.table.Len = len(s.shown)
	return s.choose(at.key())
}

// choose selects an item by its key, if it is shown.
func (s Screen) choose(key string) Screen {
	if key != "" {
		for i, n := range s.shown {
			if s.ledger.items[n].key() == key {
				s.table = s.table.Select(i)
				return s
			}
		}
	}
	s.table = s.table.Select(s.table.At)
	return s
}

// selected is the item under the mark; the zero item where there is none.
func (s Screen) selected() item {
	if s.ledger == nil || s.table.At >= len(s.shown) || s.table.At < 0 || s.shown[s.table.At] >= len(s.ledger.items) {
		return item{}
	}
	return s.ledger.items[s.shown[s.table.At]]
}

// open shows an entry by its id, reading the whole book first where it is not among what was read.
func (s Screen) open(id string) (Screen, tea.Cmd) {
	it, ok := s.ledger.find(id)
	switch {
	case ok && it.kind == aRevision:
		s.want = ""
		return s, desk.Go("plant", it.id)
	case ok:
		s.want, s.mode = "", reading
		s.page = newPage(it)
		return s.choose(it.key()), nil
	case !s.ledger.h.Complete && s.older.job == nil:
		s.want, s.older.wanted = id, true
		return s.readAll()
	case !s.ledger.h.Complete:
		s.want = id
		return s, nil
	}
	s.want = ""
	return s, ui.Say(ui.Near, "The book has no entry "+text.Show(id))
}

// Arrive is told why another screen leads here: to the form of a new event, to an entry by its id, or for no reason.
func (s Screen) Arrive(arg string) (ui.Screen, tea.Cmd) {
	var cmd tea.Cmd
	switch {
	case arg == "":
		return s, nil
	case s.ledger == nil:
		s.want = arg
	case arg == NewEvent:
		s, cmd = s.startEvent()
	case s.mode == amending || s.mode == telling:
		return s, ui.Say(ui.Unjudged, "A form is open: save it or leave it first")
	default:
		s, cmd = s.open(arg)
	}
	return s.arranged(), cmd
}

// Flush puts the newest state of both drafts on disk at once.
func (s Screen) Flush(ctx context.Context) error {
	err := s.amend.keeper.Flush(ctx)
	if other := s.event.keeper.Flush(ctx); err == nil {
		err = other
	}
	return err
}

// View draws what is on show.
func (s Screen) View() string {
	view := ""
	switch {
	case s.err != nil:
		view = strings.Join(text.Wrap("The book could not be read: "+text.Show(s.err.Error()), max(1, s.w)), "\n")
	case s.ledger == nil:
		view = " Reading the book"
	case s.mode == reading:
		view = s.page.view(s)
	case s.mode == amending:
		view = s.amendView()
	case s.mode == telling:
		view = s.eventView()
	default:
		view = s.listView()
	}
	return ui.Clamp(s.Theme, view, s.w, s.h)
}
