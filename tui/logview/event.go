package logview

import (
	"context"
	"errors"
	"strings"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/logbook"
	"example.org/headpond/model/localtime"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/form"
)

// eventHead is the lines over the event's form.
const eventHead = 3

// eventForm writes an event.
type eventForm struct{ draftForm }

// eventSaved answers the saving of an event.
type eventSaved struct {
	event    record.Event
	cautions []string
}

// restored takes a draft that was found on disk. Without a time of its own the event happened when the draft was begun, not
// when it is found.
//
// The time is written in the plant's zone, in which it will be read.
func (f eventForm) restored(book *logbook.Book, d logbook.Draft, now time.Time, plant *time.Location) eventForm {
	k, ok := decode(d.Data)
	if !ok {
		return f
	}
	f.keeper = desk.NewKeeper(book, formEvent, d.Data)
	f.begun, f.carried, f.draftForm.kept = k.Begun, k.Values, true
	if k.Values[record.ColTime] == "" && !k.Begun.IsZero() && !k.Begun.After(now) {
		f.carried[record.ColTime] = localtime.Minute(k.Begun, plant)
	}
	return f
}

// refreshed makes the open form anew after a load: the plant may have other units.
func (f eventForm) refreshed(s Screen) eventForm {
	if s.mode == telling {
		f.draftForm = f.rebuilt(s.eventSpecs(f))
	}
	return f
}

// startEvent opens the form.
func (s Screen) startEvent() (Screen, tea.Cmd) {
	if why := s.noWriting(); why != "" {
		return s, ui.Say(ui.Unjudged, "A new event is off: "+why)
	}
	s.mode = telling
	s.event.draftForm = s.event.rebuilt(s.eventSpecs(s.event))
	return s, nil
}

// eventKind is the chosen kind; ok is false while none is.
func (f eventForm) eventKind() (record.EventKind, bool) {
	k, err := record.ParseEventKind(f.value(record.ColKind))
	return k, err == nil
}

// eventSpecs describes the fields that the chosen kind has.
func (s Screen) eventSpecs(f eventForm) []form.Spec {
	specs := []form.Spec{{Key: record.ColKind, Label: "What happened", Kind: form.Choice, Words: eventKinds()}}
	kind, chosen := f.eventKind()
	if chosen {
		specs = append(specs, s.kindSpecs(kind)...)
	}
	specs = append(specs,
		form.Spec{Key: record.ColTime, Label: "Time", Kind: form.Text, Hint: "blank is now; or 06:40, yesterday 18:00, -2h", Judge: s.judgeTime},
		form.Spec{Key: record.ColNote, Label: "Note", Kind: form.Text, Limit: 2000},
		form.Spec{Key: record.ColBy, Label: "By", Kind: form.Text, Limit: 60})
	return append(specs, buttons("Save this event")...)
}

// kindSpecs are the fields of one kind of event: which unit or ballast element, and the cause.
func (s Screen) kindSpecs(kind record.EventKind) []form.Spec {
	cause := form.Spec{Key: record.ColCause, Label: "Cause", Kind: form.Text, Limit: 500}
	p := s.ledger.h.Plant
	switch kind {
	case record.NoteEvent:
		return nil
	case record.ElementOut, record.ElementIn:
		return []form.Spec{{Key: record.ColElement, Label: "Ballast element", Kind: form.Choice, Words: elementNames(p)}, cause}
	case record.Start, record.Stop, record.Trip, record.Alarm, record.Repair:
	}
	ids := p.UnitIDs()
	hint := strings.Join(ids, ", ")
	if len(ids) > 1 {
		hint += ", or " + strings.Join(ids, "+")
	}
	if kind == record.Stop || kind == record.Trip {
		hint += "; blank: all"
	}
	return []form.Spec{{Key: record.ColUnit, Label: "Unit", Kind: form.Number, Hint: hint, Judge: s.judgeUnits(s.Now(), false)}, cause}
}

// eventKey treats a key of the event's form.
func (s Screen) eventKey(key tea.KeyMsg, isKey bool, action string, cmd tea.Cmd) (Screen, tea.Cmd) {
	if cmd != nil {
		return s, cmd
	}
	var d did
	var field string
	s.event.draftForm, d, field = s.event.draftForm.key(key, isKey, action)
	switch d {
	case changed:
		if s.event.begun.IsZero() {
			s.event.begun = s.Now()
		}
		if field == record.ColKind {
			s.event.draftForm = s.event.rebuilt(s.eventSpecs(s.event))
		}
		s.event.draftForm, cmd = s.event.keep(draft{Units: s.Units})
		return s, cmd
	case save, saveConfirmed:
		return s.saveEvent(d == saveConfirmed)
	case saveYesterday:
		at := localtime.Minute(s.event.early.Yesterday, s.Location)
		s.event.form, _ = s.event.form.SetValues(map[string]string{record.ColTime: at})
		var keep tea.Cmd
		s.event.draftForm, keep = s.event.keep(draft{Units: s.Units})
		s, cmd = s.saveEvent(false)
		return s, tea.Batch(keep, cmd)
	case leave:
		s.mode = listing
		if !s.event.has() {
			return s, nil
		}
		s.event.draftForm.kept = true
		return s, s.event.keeper.Left("Draft kept: e goes on with it")
	case drop:
		s.event.draftForm = s.event.emptied()
		s.mode = listing
		s.event.keeper, cmd = s.event.keeper.Put(nil)
		return s, tea.Batch(cmd, ui.Say(ui.Unjudged, "The draft was thrown away"))
	case nothing:
	}
	return s, nil
}

// errNoKind stands where no kind is chosen.
var errNoKind = errors.New("choose what happened")

// readEvent turns the form into an event. field is where an error stands.
func (s Screen) readEvent() (e record.Event, field string, err error) {
	f := s.event
	kind, ok := f.eventKind()
	if !ok {
		return e, record.ColKind, errNoKind
	}
	e.Kind, e.Time = kind, s.Now()
	if !f.begun.IsZero() {
		e.Time = f.begun
	}
	if typed := f.value(record.ColTime); typed != "" {
		if e.Time, err = s.moment(typed); err != nil {
			return e, record.ColTime, err
		}
	}
	p := s.ledger.h.PlantAt(e.Time)
	for _, x := range f.form.Fields() { // what is shown: a unit typed for another kind is not this event's
		if x.Kind == form.Button || x.Key == record.ColKind || x.Key == record.ColTime {
			continue
		}
		if err := e.Set(x.Key, x.Value(), p); err != nil {
			return e, x.Key, err
		}
	}
	e.Time = e.Time.In(s.Location)
	if err = e.Check(); err != nil {
		var lacks *record.FieldError
		if errors.As(err, &lacks) {
			field = lacks.Key
		}
	}
	return e, field, err
}

// saveEvent puts the event into the book; the draft goes in the same transaction.
func (s Screen) saveEvent(confirmed bool) (Screen, tea.Cmd) {
	if s.event.saving {
		return s, nil
	}
	e, field, err := s.readEvent()
	if err != nil {
		s.event.form = s.event.form.Focus(field)
		return s, ui.Say(ui.Out, "Not saved yet: "+fieldSentence(err))
	}
	if early := localtime.NotYet(e.Time, s.Now(), s.Location); early.Question != "" && !confirmed {
		s.event.asking, s.event.askedAt, s.event.early = []string{early.Question}, record.ColTime, early
		return s, nil
	}
	book := s.desk.Book
	var cmd tea.Cmd
	s.event.saving = true
	s.event.keeper, cmd = s.event.keeper.Then("Saving the event", func(ctx context.Context, own [][]byte) (tea.Msg, error) {
		kept, err := book.AddEvent(ctx, e, formEvent, own...)
		return eventSaved{kept.Entry, kept.Cautions}, err
	})
	return s, tea.Batch(cmd, ui.Say(ui.Unjudged, "Saving"))
}

// eventSaved ends the form and leads back to the list, where the event will be chosen once the book is read anew.
func (s Screen) eventSaved(m eventSaved) (Screen, tea.Cmd) {
	s.event.keeper = s.event.keeper.Dropped()
	s.event.draftForm = s.event.emptied()
	if s.mode == telling {
		s.mode = listing
	}
	s.pick = m.event.ID
	what := ofEvent(&m.event).named(wordsOf(s.Common))
	cautions := m.cautions
	if m.event.Time.After(s.Now()) {
		cautions = append(cautions, "It is dated in the future and left out of every answer until then; if that is a slip, correct it with headpond amend "+m.event.ID)
	}
	return s, func() tea.Msg { return desk.Saved{ID: m.event.ID, What: what, Cautions: cautions} }
}

// eventView draws the form.
func (s Screen) eventView() string {
	f, t := s.event, s.Theme
	if f.question() {
		return f.questionView(t, s.w)
	}
	head := []string{" " + t.Heading.Render("What happened"), "", f.status(t)}
	return strings.Join(head, "\n") + "\n" + f.form.View(t)
}
