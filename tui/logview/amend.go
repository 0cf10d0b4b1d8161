package logview

import (
	"context"
	"errors"
	"fmt"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/logbook"
	"example.org/headpond/model/assess"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/form"
	"example.org/headpond/tui/ui/text"
)

// The correction's fields.
const (
	fieldColumn = "column"
	fieldValue  = "value"
	fieldWhy    = "why"
	fieldBy     = "by"
)

// amendHead is the lines over the correction's form.
const amendHead = 4

// amendForm corrects one entry.
type amendForm struct {
	draftForm
	entry string // id of the entry that the draft corrects; "" for none
	what  string // that entry, as it is spoken of
	it    item   // the entry, once it is here
	keys  []string
}

// amended answers the saving of a correction.
type amended struct {
	entry    string
	what     string
	changes  []record.Change
	cautions []string
	already  bool // the entry says so already: nothing was added
}

// restored takes a draft that was found on disk. It is opened when it is asked for.
func (f amendForm) restored(book *logbook.Book, d logbook.Draft) amendForm {
	if k, ok := decode(d.Data); ok && k.Entry != "" {
		f.keeper = desk.NewKeeper(book, formAmend, d.Data)
		f.entry, f.what, f.begun, f.carried, f.kept = k.Entry, k.What, k.Begun, k.Values, true
	}
	return f
}

// waiting is the entry for which a correction was begun and not saved, "" where there is none.
func (f amendForm) waiting() string {
	if !f.has() {
		return ""
	}
	return f.what
}

// refreshed takes the entry from a new load.
func (f amendForm) refreshed(s Screen) amendForm {
	if f.it.id == "" || s.mode != amending {
		return f
	}
	if it, ok := s.ledger.find(f.it.id); ok {
		f.it = it
		f.draftForm = f.rebuilt(s.amendSpecs(f))
	}
	return f
}

// startAmend opens the correction of an entry, at one of its columns where that is known. One that was begun for another entry
// comes first.
func (s Screen) startAmend(it item, key string) (Screen, tea.Cmd) {
	var cmd tea.Cmd
	f := s.amend
	if f.waiting() != "" && f.entry != it.id {
		other, ok := s.ledger.find(f.entry)
		if !ok {
			return s.fetchAmended()
		}
		it, key = other, ""
		cmd = ui.Say(ui.Near, "This correction was begun before: save it, or throw it away with F8")
	}
	if f.entry != it.id {
		f.draftForm = f.emptied()
	}
	f.entry, f.what, f.it = it.id, it.named(wordsOf(s.Common)), it
	f.keys = s.amendable(it)
	if key == "" && f.waiting() == "" && it.kind == aRound {
		key = s.firstOdd(it)
	}
	s.mode, s.page.it = amending, it
	if f.waiting() == "" {
		f.form = form.New()
		f.draftForm = f.rebuilt(s.amendSpecs(f))
		f.preset = preset{}
		if label := s.columnWord(f, key); label != "" {
			f.form, _ = f.form.SetValues(map[string]string{fieldColumn: label})
			f.preset = preset{fieldColumn, label}
		}
	}
	f.draftForm = f.rebuilt(s.amendSpecs(f))
	if f.value(fieldColumn) != "" {
		f.form = f.form.Focus(fieldValue)
	}
	s.amend = f
	return s, cmd
}

// fetchAmended reads the whole book for the entry of a draft that is older than what was read.
func (s Screen) fetchAmended() (Screen, tea.Cmd) {
	if s.noOlder() != "" {
		if s.older.job != nil {
			return s, nil
		}
		return s, ui.Say(ui.Near, "The entry that the kept correction is for is not in this book")
	}
	s.older.wanted, s.want = true, s.amend.entry
	return s.readAll()
}

// firstOdd is the first reading of a round that is out of band or near it, "" where all are in.
func (s Screen) firstOdd(it item) string {
	for _, state := range []ui.State{ui.Out, ui.Near} {
		for _, j := range s.ledger.judge(it.round).judged {
			if ui.StateOf(string(j.State)) == state {
				return j.Quantity
			}
		}
	}
	return ""
}

// amendKey treats a key of the correction.
func (s Screen) amendKey(key tea.KeyMsg, isKey bool, action string, cmd tea.Cmd) (Screen, tea.Cmd) {
	if cmd != nil {
		return s, cmd
	}
	var d did
	var field string
	s.amend.draftForm, d, field = s.amend.draftForm.key(key, isKey, action)
	switch d {
	case changed:
		return s.amendChanged(field)
	case save, saveConfirmed, saveYesterday:
		return s.saveAmend(d == saveConfirmed)
	case leave:
		s.mode = reading
		if s.amend.waiting() == "" {
			return s, nil
		}
		s.amend.draftForm.kept = true
		return s, s.amend.keeper.Left("Draft kept: c goes on with it")
	case drop:
		s.amend.draftForm = s.amend.emptied()
		s.amend.entry, s.mode = "", reading
		var cmd tea.Cmd
		s.amend.keeper, cmd = s.amend.keeper.Put(nil)
		return s, tea.Batch(cmd, ui.Say(ui.Unjudged, "The correction was thrown away; the entry is as it was"))
	case nothing:
	}
	return s, nil
}

// amendChanged keeps the draft; another column means other values.
func (s Screen) amendChanged(field string) (Screen, tea.Cmd) {
	if s.amend.begun.IsZero() {
		s.amend.begun = s.Now()
	}
	if field == fieldColumn {
		s.amend.form, _ = s.amend.form.SetValues(map[string]string{fieldValue: ""})
		s.amend.draftForm = s.amend.rebuilt(s.amendSpecs(s.amend))
	}
	var cmd tea.Cmd
	s.amend.draftForm, cmd = s.amend.keep(draft{Entry: s.amend.entry, What: s.amend.what, Units: s.Units})
	return s, cmd
}

// saveAmend checks the form and puts the correction into the book. The draft goes with it in one transaction.
func (s Screen) saveAmend(confirmed bool) (Screen, tea.Cmd) {
	f := s.amend
	if f.saving {
		return s, nil
	}
	changes, questions, field, err := s.readAmend()
	if err != nil {
		s.amend.form = f.form.Focus(field)
		return s, ui.Say(ui.Out, "Not saved yet: "+fieldSentence(err))
	}
	if len(questions) > 0 && !confirmed {
		for _, q := range questions {
			s.amend.asking = append(s.amend.asking, q.Text+".")
		}
		s.amend.askedAt = fieldValue
		return s, nil
	}
	book, entry, what, why, by := s.desk.Book, f.entry, f.what, f.value(fieldWhy), f.value(fieldBy)
	var cmd tea.Cmd
	s.amend.saving = true
	s.amend.keeper, cmd = f.keeper.Then("Saving the correction", func(ctx context.Context, own [][]byte) (tea.Msg, error) {
		saved, err := book.Amend(ctx, entry, changes, why, by, formAmend, own...)
		m := amended{entry: entry, what: what, changes: saved.Entry, cautions: saved.Cautions}
		if errors.Is(err, logbook.ErrNoChange) {
			m.already, err = true, nil
		}
		return m, err
	})
	return s, tea.Batch(cmd, ui.Say(ui.Unjudged, "Saving"))
}

// amended ends the correction.
func (s Screen) amended(m amended) (Screen, tea.Cmd) {
	if s.amend.entry == m.entry {
		s.amend.keeper = s.amend.keeper.Dropped()
		s.amend.draftForm = s.amend.emptied()
		s.amend.entry = ""
		if s.mode == amending {
			s.mode = reading
		}
	}
	if m.already {
		return s, ui.Say(ui.Unjudged, "The entry says so already, so nothing was added")
	}
	w := wordsOf(s.Common)
	var parts []string
	for _, c := range m.changes {
		parts = append(parts, w.change(c))
	}
	what := fmt.Sprintf("correction: %s (%s)", strings.Join(parts, "; "), m.what)
	return s, func() tea.Msg { return desk.Saved{ID: m.entry, What: what, Cautions: m.cautions} }
}

// amendView draws the correction under what is known of the value.
func (s Screen) amendView() string {
	f, t := s.amend, s.Theme
	if f.question() {
		return f.questionView(t, s.w)
	}
	lines := []string{" " + t.Heading.Render(text.Show("Correcting the "+f.what)), " The old value stays in the book, with who changed it, when and why.", "", f.status(t)}
	if key := f.column(); key != "" {
		lines[2] = " " + text.Show(s.present(f, key))
	}
	return strings.Join(lines, "\n") + "\n" + f.form.View(t)
}

// present says what a column holds now and how that stands.
func (s Screen) present(f amendForm, key string) string {
	w := wordsOf(s.Common)
	kept := textOf(f.it, key)
	if kept == "" {
		return label(key) + " was not written. Write the value to add it."
	}
	out := label(key) + " is now " + w.column(key, kept)
	if f.it.kind != aRound {
		return out + "."
	}
	for _, j := range s.ledger.judge(f.it.round).judged {
		if j.Quantity != key {
			continue
		}
		if st := ui.StateOf(string(j.State)); st != ui.Unjudged {
			out += ": " + strings.TrimSpace(st.Word()+" "+st.Sign())
			if band := assess.BandWords(j.Band(), j.Info, s.Units); band != "" {
				out += " (band " + band + ")"
			}
		}
		if j.Expected != nil {
			out += ", expected " + j.Info.ShowEstimate(*j.Expected, s.Units)
		}
	}
	return out + "."
}
