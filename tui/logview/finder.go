package logview

import (
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/model/localtime"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/form"
	"example.org/headpond/tui/ui/text"
)

// Finders: the fields of a filter that is typed, over the list.
const (
	noFinder = iota
	findText
	findDates
)

// The finders' fields.
const (
	fieldFind = "find"
	fieldFrom = "from"
	fieldTo   = "to"
)

// finder filters as it is typed into.
type finder struct {
	open   int
	form   form.Form
	before filter // to go back to
}

func newFinder(which int, s Screen) finder {
	f := finder{open: which, before: s.filter}
	judge := func(read func(string, time.Time, *time.Location) (time.Time, error)) func(string) form.Verdict {
		return func(typed string) form.Verdict {
			t, err := read(typed, s.Now(), s.Location)
			if err != nil {
				return form.Verdict{Err: err.Error()}
			}
			return form.Verdict{Remark: wordsOf(s.Common).moment(t)}
		}
	}
	if which == findText {
		f.form = form.New(form.Spec{Key: fieldFind, Label: "Find", Kind: form.Text})
		f.form, _ = f.form.SetValues(map[string]string{fieldFind: s.filter.text})
		f.form = f.form.Focus(fieldFind)
		return f
	}
	f.form = form.New(
		form.Spec{Key: fieldFrom, Label: "From", Kind: form.Text, Judge: judge(localtime.Start)},
		form.Spec{Key: fieldTo, Label: "To, included", Kind: form.Text, Judge: judge(localtime.End)})
	return f
}

// lines draws the fields, and under them what may be typed or what is wrong.
func (f finder) lines(t ui.Theme, w int) []string {
	var out []string
	focused, _ := f.form.Focused()
	for _, x := range f.form.Fields() {
		out = append(out, x.View(t, w, x.Key == focused.Key))
	}
	help := "Words that stand in it: of notes, causes, tasks, names, or an id."
	if f.open == findDates {
		help = "2026-08-01, yesterday, -7d, 2026-08-01 06:30; blank leaves that side open."
	}
	v := focused.Verdict()
	switch {
	case v.Err != "":
		return append(out, t.Out.Render(t.Cut(" ! "+text.Show(v.Err), w)))
	case v.Remark != "":
		return append(out, t.Cut(" is "+v.Remark, w))
	}
	return append(out, t.Dim.Render(t.Cut(" "+help, w)))
}

// finderKey treats a key while a finder is open. The arrows and pages move in the list while words are typed.
func (s Screen) finderKey(key tea.KeyMsg, action string) (Screen, tea.Cmd) {
	switch {
	case action == "log.found":
		return s.found()
	case action == "log.unfound":
		s.finder.open = noFinder
		return s.refilter(s.finder.before)
	case s.finder.open == findText && (key.Type == tea.KeyUp || key.Type == tea.KeyDown || key.Type == tea.KeyPgUp || key.Type == tea.KeyPgDown):
		s.table, _ = s.table.Key(key)
		return s, nil
	}
	var e form.Event
	s.finder.form, e = s.finder.form.Update(key)
	switch e.Kind {
	case form.Changed:
		return s.refilter(s.finder.apply(s.filter, s))
	case form.Ignored, form.Moved, form.Refused, form.Pressed:
	}
	return s, nil
}

// found ends the typing, unless a date cannot be read. From reaching behind what was read asks for the older entries.
func (s Screen) found() (Screen, tea.Cmd) {
	focused, _ := s.finder.form.Focused()
	if s.finder.open == findDates && focused.Key == fieldFrom && focused.Verdict().Err == "" {
		s.finder.form = s.finder.form.Focus(fieldTo)
		return s, nil
	}
	if bad, is := s.finder.form.FirstError(); is {
		s.finder.form = s.finder.form.Focus(bad.Key)
		return s, ui.Say(ui.Out, "Not a time: "+bad.Verdict().Err)
	}
	s.finder.open = noFinder
	if from := s.filter.from; !from.IsZero() && from.Before(s.ledger.from) && s.noOlder() == "" {
		s.older.wanted = true
		return s.readAll()
	}
	return s, nil
}

// apply is the filter with what is typed. A date that cannot be read yet leaves that side open.
func (f finder) apply(old filter, s Screen) filter {
	values := f.form.Values()
	if f.open == findText {
		old.text = values[fieldFind]
		return old
	}
	old.from, old.to = time.Time{}, time.Time{}
	if t, err := localtime.Start(values[fieldFrom], s.Now(), s.Location); err == nil {
		old.from = t
	}
	if t, err := localtime.End(values[fieldTo], s.Now(), s.Location); err == nil {
		old.to = t
	}
	return old
}
