package upkeepview

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/model/localtime"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/form"
)

// The forms' own fields.
const (
	fieldTime  = "time"
	fieldBy    = "by"
	fieldNote  = "note"
	fieldSave  = "save"
	fieldDrop  = "drop"
	fieldSteps = "steps"
)

// doneDraft is a task that is being written down as done.
type doneDraft struct {
	Begun  time.Time         `json:"begun"` // when the first character was typed: the task was done then, where no time is given
	Values map[string]string `json:"values"`
}

func decodeDone(data []byte) (doneDraft, bool) {
	var d doneDraft
	err := json.Unmarshal(data, &d)
	return d, err == nil && len(d.Values) > 0
}

// doneSaved answers the saving.
type doneSaved struct {
	done     record.Done
	cautions []string
}

// openTask opens the form for a task.
func (s Screen) openTask(name string) Screen {
	s.open, s.mode = name, doing
	blank := "now"
	if begun := s.dones[name].Begun; !begun.IsZero() {
		blank = s.clock(begun) + ", when begun"
	}
	f := form.New(
		form.Spec{Key: fieldBy, Label: "By", Kind: form.Text, Limit: 60, Hint: "who did it"},
		form.Spec{Key: fieldTime, Label: "When", Kind: form.Text, Hint: "blank is " + blank + "; or 06:40, -2h", Judge: s.judgeTime},
		form.Spec{Key: fieldNote, Label: "Note", Kind: form.Text, Limit: 2000, Hint: "what was found"},
		form.Spec{Key: fieldSave, Label: "Write it down as done", Kind: form.Button},
		form.Spec{Key: fieldDrop, Label: "Throw it away", Kind: form.Button})
	s.form, _ = f.SetValues(s.dones[name].Values)
	return s.arranged()
}

// typedAny reports whether the form holds anything.
func (s Screen) typedAny() bool { return len(s.form.Values()) > 0 }

func (s Screen) judgeTime(typed string) form.Verdict {
	t, err := s.moment(typed)
	switch {
	case err != nil:
		return form.Verdict{Err: err.Error()}
	case t.After(s.Now()):
		return form.Verdict{State: ui.Near, Remark: "in the future: " + s.clock(t)}
	}
	return form.Verdict{Remark: s.clock(t)}
}

// moment reads the time of an entry. A day alone is none.
func (s Screen) moment(typed string) (time.Time, error) {
	t, kind, err := localtime.Parse(typed, s.Now(), s.Location)
	if err == nil && kind == localtime.Date {
		err = fmt.Errorf("%q is a whole day; expected a time of day with it, such as %s 07:30", typed, t.Format(time.DateOnly))
	}
	return t.In(s.Location), err
}

func (s Screen) doneKey(key tea.KeyMsg, isKey bool, action string) (Screen, tea.Cmd) {
	switch action {
	case "upkeep.save":
		return s.saveDone()
	case "upkeep.leave":
		s.mode = listing
		if s.typedAny() {
			return s, s.keeper(draftTask + s.open).Left("Draft kept: Enter on the task goes on with it")
		}
		return s, nil
	case "upkeep.drop":
		s.was, s.mode, s.scroll = doing, dropping, ui.Scroll{}
		return s, nil
	}
	if !isKey {
		return s, nil
	}
	var e form.Event
	s.form, e = s.form.Update(key)
	switch {
	case e.Kind == form.Changed:
		return s.keepDone()
	case e.Kind == form.Pressed && e.Key == fieldSave:
		return s.saveDone()
	case e.Kind == form.Pressed && e.Key == fieldDrop && s.typedAny():
		s.was, s.mode, s.scroll = doing, dropping, ui.Scroll{}
	}
	return s, nil
}

// keepDone puts the form on disk; an empty one is nothing to keep.
func (s Screen) keepDone() (Screen, tea.Cmd) {
	d := s.dones[s.open]
	if d.Begun.IsZero() {
		d.Begun = s.Now()
	}
	d.Values = s.form.Values()
	s.dones = maps.Clone(s.dones)
	if len(d.Values) == 0 {
		delete(s.dones, s.open)
		return s.put(draftTask+s.open, nil)
	}
	s.dones[s.open] = d
	data, _ := json.Marshal(d) // texts and a time can always be written
	return s.put(draftTask+s.open, data)
}

// saveDone writes the task down; its draft goes in the same transaction.
func (s Screen) saveDone() (Screen, tea.Cmd) {
	if s.saving {
		return s, nil
	}
	v := s.form.Values()
	d := record.Done{Task: s.open, By: v[fieldBy], Note: v[fieldNote], Time: s.Now().In(s.Location)}
	if begun := s.dones[s.open].Begun; !begun.IsZero() {
		d.Time = begun.In(s.Location)
	}
	if typed := v[fieldTime]; typed != "" {
		t, err := s.moment(typed)
		if err != nil {
			s.form = s.form.Focus(fieldTime)
			return s, ui.Say(ui.Out, "Not saved yet: "+err.Error())
		}
		d.Time = t
	}
	s.saving = true
	name, book := draftTask+s.open, s.desk.Book
	k, cmd := s.keeper(name).Then("Saving the upkeep", func(ctx context.Context, own [][]byte) (tea.Msg, error) {
		saved, err := book.AddDone(ctx, d, name, own...)
		return doneSaved{saved.Entry, saved.Cautions}, err
	})
	return s.with(name, k), tea.Batch(ui.Say(ui.Unjudged, "Saving"), cmd)
}

func (s Screen) doneSaved(m doneSaved) (Screen, tea.Cmd) {
	name := draftTask + m.done.Task
	s.dones = maps.Clone(s.dones)
	delete(s.dones, m.done.Task)
	s = s.with(name, s.keeper(name).Dropped())
	s.saving = false
	if s.mode == doing && s.open == m.done.Task {
		s.mode = listing
	}
	cautions := m.cautions
	if m.done.Time.After(s.Now()) {
		cautions = append(cautions, "It is dated in the future and left out of every answer until then; if that is a slip, correct it with headpond amend "+m.done.ID)
	}
	return s, func() tea.Msg {
		return desk.Saved{ID: m.done.ID, What: "upkeep done: " + m.done.Task, Cautions: cautions}
	}
}
