package upkeepview

import (
	"context"
	"maps"
	"slices"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/model/checklist"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/form"
)

// openList shows a checklist's cautions first; a list whose words were being typed goes on there.
func (s Screen) openList(l checklist.List) Screen {
	s.open, s.mode, s.scroll = l.Name, before, ui.Scroll{}
	if w := s.walks[l.Name]; !w.begun() {
		s.walks = maps.Clone(s.walks)
		s.walks[l.Name] = newWalk(l, time.Time{})
	}
	return s
}

// set keeps the walk and puts it on disk.
func (s Screen) set(w walk) (Screen, tea.Cmd) {
	if w.Begun.IsZero() {
		w.Begun = s.Now()
	}
	s.walks = maps.Clone(s.walks)
	s.walks[s.open] = w
	if w.data() == nil {
		if _, kept := s.keepers[draftList+s.open]; !kept {
			return s, nil
		}
	}
	return s.put(draftList+s.open, w.data())
}

func (s Screen) beforeKey(key tea.KeyMsg, action string) (Screen, tea.Cmd) {
	switch action {
	case "upkeep.begin":
		w := s.walks[s.open]
		s.scroll = ui.Scroll{}
		switch {
		case w.Noting != "" && !w.ended():
			return s.note(w.Noting)
		case !w.begun():
			w.At, w.Begun = 0, s.Now()
		default:
			w.At = w.firstOpen()
		}
		return s.show(w)
	case "upkeep.leave":
		return s.left()
	case "upkeep.drop":
		s.was, s.mode = before, dropping
	case "upkeep.scroll":
		s.scroll, _ = s.scroll.Key(key, len(s.sheet()), s.h)
	}
	return s, nil
}

// show puts a walk's step on show, or its end page.
func (s Screen) show(w walk) (Screen, tea.Cmd) {
	s, cmd := s.set(w)
	s.scroll = ui.Scroll{}
	if s.mode = walking; w.ended() {
		s = s.end()
	}
	return s, cmd
}

func (s Screen) left() (Screen, tea.Cmd) {
	s.mode, s.scroll = listing, ui.Scroll{}
	s = s.picked(s.open)
	if s.walks[s.open].begun() {
		return s, s.keeper(draftList + s.open).Left("Every tick is kept: Enter on the list goes on with it")
	}
	return s, nil
}

func (s Screen) walkKey(action string) (Screen, tea.Cmd) {
	w := s.walks[s.open]
	switch action {
	case "upkeep.done":
		return s.show(w.tick(record.TickDone, w.Ticks[w.At].noteOf(record.TickDone), s.Now()))
	case "upkeep.skip":
		return s.note(record.TickSkipped)
	case "upkeep.notok":
		return s.note(record.TickNotOK)
	case "upkeep.note":
		return s.note(remark)
	case "upkeep.back":
		return s.show(w.step(-1))
	case "upkeep.next":
		return s.show(w.step(1))
	case "upkeep.end":
		return s.show(w.step(len(w.Ticks)))
	case "upkeep.cautions":
		s.mode, s.scroll = before, ui.Scroll{}
	case "upkeep.leave":
		return s.left()
	}
	return s, nil
}

// remark is Noting for a note that ticks nothing.
const remark record.TickState = "note"

// noteOf is the note that stays when a step is ticked anew: a remark stays, a reason for something else goes.
func (t tick) noteOf(state record.TickState) string {
	if t.State == state || t.State == record.TickOpen {
		return t.Note
	}
	return ""
}

// note asks for words to the step on show.
func (s Screen) note(state record.TickState) (Screen, tea.Cmd) {
	w := s.walks[s.open]
	label := map[record.TickState]string{record.TickSkipped: "Why it is skipped", record.TickNotOK: "What was found", remark: "Note"}[state]
	f := form.New(form.Spec{Key: fieldNote, Label: label, Kind: form.Text, Limit: 500})
	typed := w.Typed
	if w.Noting != state {
		typed = ""
		if t := w.Ticks[w.At]; state == remark || t.State == state || t.State == record.TickOpen {
			typed = t.Note
		}
	}
	w.Noting, w.Typed = state, typed
	if typed != "" {
		f, _ = f.SetValues(map[string]string{fieldNote: typed})
	}
	s, cmd := s.set(w)
	s.form, s.mode, s.scroll = f.Focus(fieldNote), noting, ui.Scroll{}
	return s.arranged(), cmd
}

func (s Screen) noteKey(key tea.KeyMsg, isKey bool, action string) (Screen, tea.Cmd) {
	w := s.walks[s.open]
	switch action {
	case "upkeep.accept":
		words := s.form.Values()[fieldNote]
		switch {
		case w.Noting == remark:
			return s.show(w.annotate(words))
		case words == "":
			return s, ui.Say(ui.Near, "Write a word or two: nobody else can know why")
		}
		return s.show(w.tick(w.Noting, words, s.Now()))
	case "upkeep.leave":
		if w.Typed != "" && w.Ticks[w.At].State == record.TickOpen {
			return s.show(w.annotate(w.Typed)) // not ticked, but not lost either
		}
		w.Noting, w.Typed = "", ""
		return s.show(w)
	}
	if !isKey {
		return s, nil
	}
	var e form.Event
	s.form, e = s.form.Update(key)
	if e.Kind != form.Changed {
		return s, nil
	}
	w.Typed = s.form.Values()[fieldNote]
	return s.set(w)
}

// end opens the end page.
func (s Screen) end() Screen {
	w := s.walks[s.open]
	f := form.New(
		form.Spec{Key: fieldBy, Label: "By", Kind: form.Text, Limit: 60, Hint: "who walked it"},
		form.Spec{Key: fieldNote, Label: "Note", Kind: form.Text, Limit: 2000},
		form.Spec{Key: fieldSave, Label: "Save it in the log", Kind: form.Button},
		form.Spec{Key: fieldSteps, Label: "Back to the steps", Kind: form.Button},
		form.Spec{Key: fieldDrop, Label: "Throw it away", Kind: form.Button})
	f, _ = f.SetValues(map[string]string{fieldBy: w.By, fieldNote: w.Note})
	s.form, s.mode = f, ending
	return s.arranged()
}

func (s Screen) endKey(key tea.KeyMsg, isKey bool, action string) (Screen, tea.Cmd) {
	w := s.walks[s.open]
	switch action {
	case "upkeep.save":
		return s.finish()
	case "upkeep.leave":
		return s.show(w.step(-1))
	case "upkeep.drop":
		s.was, s.mode, s.scroll = ending, dropping, ui.Scroll{}
		return s, nil
	}
	if !isKey {
		return s, nil
	}
	var e form.Event
	s.form, e = s.form.Update(key)
	switch {
	case e.Kind == form.Changed:
		v := s.form.Values()
		w.By, w.Note = v[fieldBy], v[fieldNote]
		return s.set(w)
	case e.Kind == form.Pressed && e.Key == fieldSave:
		return s.finish()
	case e.Kind == form.Pressed && e.Key == fieldSteps:
		if i := w.firstOpen(); i < len(w.Ticks) {
			w.At = i
			return s.show(w)
		}
		return s.show(w.step(-1))
	case e.Kind == form.Pressed && e.Key == fieldDrop:
		s.was, s.mode, s.scroll = ending, dropping, ui.Scroll{}
	}
	return s, nil
}

// walkSaved answers the saving of a checklist.
type walkSaved struct {
	done     record.Done
	list     checklist.List
	cautions []string
}

// finish saves the walk. One that leaves steps out is asked about first: a stopping list that never reached the valve leaves a set
// that may still turn.
func (s Screen) finish() (Screen, tea.Cmd) {
	w := s.walks[s.open]
	if s.saving || w.ticked() == 0 || w.firstOpen() == len(w.Ticks) {
		return s.saveWalk()
	}
	s.mode, s.scroll = early, ui.Scroll{}
	return s, nil
}

// earlyKey takes the answer whether to save a list that was ended early. The key that asks never answers.
func (s Screen) earlyKey(key tea.KeyMsg, action string) (Screen, tea.Cmd) {
	switch action {
	case "upkeep.yes":
		return s.end().saveWalk()
	case "upkeep.no":
		w := s.walks[s.open]
		w.At = w.firstOpen()
		return s.show(w)
	case "upkeep.scroll":
		s.scroll, _ = s.scroll.Key(key, len(s.sheet()), s.h)
	}
	return s, nil
}

// saveWalk puts the walk into the log; its draft goes in the same transaction.
func (s Screen) saveWalk() (Screen, tea.Cmd) {
	w := s.walks[s.open]
	switch {
	case s.saving:
		return s, nil
	case w.ticked() == 0:
		return s, ui.Say(ui.Near, "Not saved: no step is ticked yet")
	}
	s.saving = true
	d, name, book := w.done(s.Location), draftList+s.open, s.desk.Book
	k, cmd := s.keeper(name).Then("Saving the checklist", func(ctx context.Context, own [][]byte) (tea.Msg, error) {
		saved, err := book.AddDone(ctx, d, name, own...)
		return walkSaved{saved.Entry, w.List, saved.Cautions}, err
	})
	return s.with(name, k), tea.Batch(ui.Say(ui.Unjudged, "Saving"), cmd)
}

func (s Screen) walkSaved(m walkSaved) (Screen, tea.Cmd) {
	name := draftList + m.list.Name
	s.walks = maps.Clone(s.walks)
	delete(s.walks, m.list.Name)
	s = s.with(name, s.keeper(name).Dropped())
	s.saving = false
	if s.mode == ending && s.open == m.list.Name {
		s.mode, s.scroll = listing, ui.Scroll{}
		s = s.picked(m.list.Name)
		if s.offer = s.offerOf(m.list, m.done); s.offer.any() {
			s.mode = offering
		}
	}
	return s, func() tea.Msg {
		return desk.Saved{ID: m.done.ID, What: m.list.Name + ": " + m.done.Walk.Summary(), Cautions: slices.Clone(m.cautions)}
	}
}
