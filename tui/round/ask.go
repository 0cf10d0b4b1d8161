package round

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"example.org/headpond/logbook"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/form"
	"example.org/headpond/tui/ui/text"
)

// Dialogue is a person who is asked line by line: for screen readers, and for links on which nothing can be redrawn.
type Dialogue struct {
	Ask func(ctx context.Context, prompt string) (string, error)
	Say func(line string)
}

// Errors that end the asking without a round to save.
var (
	ErrLeft    = errors.New("not saved; what was answered is kept as a draft, and the Round screen or headpond record goes on with it")
	ErrDropped = errors.New("not saved; the draft was thrown away")
	ErrNothing = errors.New("nothing was read, so nothing was saved")
)

// AskLines asks for a round in the Round screen's order, with its last and expected values and its judgements, and keeps the
// same draft: after each answer it is on disk, and what the screen left is gone on with here. preset fills fields in advance.
// The caller saves the round and drops the draft of the form Name with it, if that is still the one that is returned.
func AskLines(ctx context.Context, c ui.Common, d desk.Desk, l desk.Loaded, preset map[string]string, talk Dialogue) (record.Round, []byte, error) {
	a := &asker{s: New(c, d).(Screen).loaded(l), book: d.Book, talk: talk, kept: l.Drafts[Name].Data}
	r, err := a.round(ctx, preset)
	return r, a.kept, err
}

// round asks for a round from its first field to its end.
func (a *asker) round(ctx context.Context, preset map[string]string) (record.Round, error) {
	if !a.s.ready() {
		return record.Round{}, errors.New(strings.TrimSpace(a.s.View()))
	}
	talk := a.talk
	a.s.w = 80
	for key, value := range preset {
		a.put(key, value)
	}
	if len(preset) > 0 {
		if err := a.keep(ctx); err != nil {
			return record.Round{}, err
		}
	}
	if a.s.restored {
		talk.Say("A round begun " + a.s.Clock(a.s.begun, "Mon 2 Jan 15:04") + " was not saved. Its answers are kept: Enter leaves each as it is.")
	}
	if a.s.unread {
		talk.Say("A draft on the disk could not be read and is left out; what is answered now is kept.")
	}
	talk.Say("Enter: not read. = as last time. < one back. . to the end. ? help.")
	if err := a.walk(ctx, 0); err != nil {
		return record.Round{}, err
	}
	return a.finish(ctx)
}

// asker goes through the form's fields.
type asker struct {
	s    Screen
	book *logbook.Book
	talk Dialogue
	at   int
	last bool   // told to go to the end: only who walked the round is still asked
	kept []byte // the draft on disk
}

// fields are those that are asked for: all but the buttons.
func (a *asker) fields() []form.Field {
	var list []form.Field
	for _, f := range a.s.form.Fields() {
		if f.Kind != form.Button {
			list = append(list, f)
		}
	}
	return list
}

// walk asks for each field from one on. The list is made anew each time, since an answer may add fields.
func (a *asker) walk(ctx context.Context, from int) error {
	section := ""
	a.last = false
	for a.at = from; a.at < len(a.fields()); {
		f := a.fields()[a.at]
		if f.Section != section {
			section = f.Section
			a.talk.Say(section + ":")
		}
		answer, err := a.talk.Ask(ctx, prompt(f))
		if err != nil {
			return a.stopped(ctx, err)
		}
		if err := a.answer(ctx, f, strings.TrimSpace(answer)); err != nil {
			return err
		}
	}
	return nil
}

// stopped is the end by Ctrl-C or a closed terminal: what was answered is on disk already.
func (a *asker) stopped(ctx context.Context, err error) error {
	if len(a.s.values()) == 0 {
		return ErrNothing
	}
	return fmt.Errorf("%w (%w)", ErrLeft, err)
}

// prompt says what is asked for and all that helps to answer, in one line.
func prompt(f form.Field) string {
	label := f.Label
	if f.Unit != "" {
		label += ", " + f.Unit
	}
	var help []string
	if v := f.Value(); v != "" {
		help = append(help, "kept "+text.Show(v))
	}
	if len(f.Words) > 0 {
		help = append(help, strings.Join(f.Words, ", "))
	}
	if f.Last != "" {
		help = append(help, "last "+text.Show(f.Last))
	}
	if f.Expect != "" {
		help = append(help, "expected "+f.Expect)
	}
	if f.Hint != "" {
		help = append(help, f.Hint)
	}
	if f.Key == record.ColBy {
		help = append([]string{"who walked the round"}, help...)
	}
	if len(help) > 0 {
		label += " (" + strings.Join(help, "; ") + ")"
	}
	return "  " + label + ": "
}

// answer takes one answer and decides where to go on.
func (a *asker) answer(ctx context.Context, f form.Field, answer string) error {
	switch answer {
	case "":
		a.next()
		return nil
	case "?":
		a.help(f)
		return nil
	case "<":
		a.at, a.last = max(0, a.at-1), false
		return nil
	case ".":
		a.toEnd()
		return nil
	case "-":
		a.put(f.Key, "")
		a.next()
		if f.Value() != "" {
			a.talk.Say("    " + f.Label + " not read")
		}
		return a.keep(ctx)
	case "=":
		if f.Last == "" {
			a.talk.Say("  There is no last value to take.")
			return nil
		}
		answer = f.Last
	}
	if key, value, ok := a.other(f, answer); ok {
		a.take(key, value)
		return a.keep(ctx)
	}
	if f.Key == record.ColBy && slices.Contains([]string{"y", "yes", "n", "no"}, strings.ToLower(answer)) {
		a.talk.Say("  Whether to save is asked next. Here a name is expected, or Enter for none.")
		return nil
	}
	if a.take(f.Key, answer) {
		a.next()
	}
	return a.keep(ctx)
}

// next goes on to the next question, or to the end where there is none but this one.
func (a *asker) next() {
	if a.at++; a.last {
		a.at = len(a.fields())
	}
}

func (a *asker) help(f form.Field) {
	a.talk.Say("  Enter not read, or as it is kept; = the last value; - takes an answer away; < one back; . to the end, to save")
	a.talk.Say("  Another reading may be given by its name, such as air_c=12. Ctrl-C stops; the answers are kept.")
	if info, ok := quantity.Lookup(quantity.Key(f.Key).Name()); ok {
		a.talk.Say("  Expected here: " + info.Expected(a.s.Units))
	}
}

// other recognises key=value for another reading than the one that is asked for.
func (a *asker) other(f form.Field, answer string) (key, value string, ok bool) {
	key, value, ok = strings.Cut(answer, "=")
	if !ok || f.Kind == form.Text {
		return "", "", false
	}
	k, _, err := quantity.ParseKey(key, a.s.history.Plant.UnitIDs())
	return string(k), value, err == nil
}

// toEnd goes to the end, by way of who walked the round where that was not said yet.
func (a *asker) toEnd() {
	by := a.place(record.ColBy)
	if by <= a.at || a.s.text(record.ColBy) != "" {
		a.at = len(a.fields())
		return
	}
	a.at, a.last = by, true
}

// take sets a field where the text is a value, reads it back as it stands, and reports whether it was taken.
func (a *asker) take(key, value string) bool {
	if info, ok := quantity.Lookup(quantity.Key(key).Name()); ok && !info.Number() {
		word, err := quantity.ParseWord(info, value)
		if err != nil {
			a.talk.Say("  " + text.Show(err.Error()))
			return false
		}
		value = word
	}
	before := a.s.text(key)
	a.put(key, value)
	f, ok := a.s.form.Field(key)
	if !ok {
		return false
	}
	v := f.Verdict()
	if v.Err != "" {
		a.talk.Say("  " + text.Show(fmt.Sprintf("%q is not taken: %s", value, v.Err)))
		a.put(key, before)
		return false
	}
	a.talk.Say("    " + a.readBack(f))
	return true
}

// readBack says a field as it was understood: its label, the value with its unit, and how that stands.
func (a *asker) readBack(f form.Field) string {
	v := f.Verdict()
	value, remark := f.Value(), v.Remark
	info, reading := quantity.Lookup(quantity.Key(f.Key).Name())
	switch {
	case reading && info.Number():
		if n, err := quantity.ParseValue(info, value, a.s.Units); err == nil {
			if value = n.Typed; value == "" {
				value = info.Show(n.Kept, a.s.Units) + " " + string(info.ShowUnit(a.s.Units))
			}
		}
	case f.Key == record.ColTime && v.State == ui.Unjudged && remark != "": // the day that was understood
		value, remark = remark, ""
	}
	said := f.Label + " " + value
	var judged []string
	if word := v.State.Word(); word != "" {
		judged = append(judged, strings.TrimSpace(word+" "+v.State.Sign()))
	}
	if remark != "" {
		judged = append(judged, remark)
	}
	if len(judged) > 0 {
		said += ", " + strings.Join(judged, ": ")
	}
	return text.Show(said)
}

// put sets a field's text, one that is not shown included, and works out anew what is expected.
func (a *asker) put(key, value string) {
	if a.s.begun.IsZero() {
		a.s.begun = a.s.Now()
	}
	var hidden []string
	if a.s.form, hidden = a.s.form.SetValues(map[string]string{key: value}); len(hidden) == 0 {
		if key == string(quantity.ScreenCleared) {
			a.s = a.s.rebuild()
		} else {
			a.s = a.s.refresh()
		}
		return
	}
	carried := map[string]string{key: value}
	for k, v := range a.s.carried {
		if k != key {
			carried[k] = v
		}
	}
	a.s.carried = carried
	a.s = a.s.rebuild()
}

// keep puts the draft on disk.
func (a *asker) keep(ctx context.Context) error {
	data := a.s.encode()
	if data == nil {
		return a.book.DropDraft(ctx, Name, a.kept)
	}
	err := a.book.SaveDraft(ctx, Name, data)
	if err == nil {
		a.kept = data
	}
	return err
}

// finish reads the answers together and asks whether to save them.
func (a *asker) finish(ctx context.Context) (record.Round, error) {
	for {
		r, first, err := a.s.read()
		switch {
		case err != nil:
			a.talk.Say("  " + text.Show(sentence(err)))
			if err := a.walk(ctx, a.place(first)); err != nil {
				return r, err
			}
			continue
		case r.Empty():
			return r, ErrNothing
		}
		listed := a.whole(r)
		answers := fmt.Sprintf("%d answers", listed)
		if listed == 1 {
			answers = "1 answer"
		}
		answer, err := a.talk.Ask(ctx, fmt.Sprintf("Save this round of %s with %s? y, n (keeps the draft), drop, or < to go back [y]: ",
			a.s.Clock(r.Time, "Mon 2 Jan 15:04"), answers))
		if err != nil {
			return r, a.stopped(ctx, err)
		}
		switch strings.ToLower(strings.TrimSpace(answer)) {
		case "", "y", "yes":
			return r, nil
		case "n", "no":
			return r, ErrLeft
		case "drop":
			if err := a.book.DropDraft(ctx, Name, a.kept); err != nil {
				return r, err
			}
			return r, ErrDropped
		case "<":
			if err := a.walk(ctx, max(0, len(a.fields())-1)); err != nil {
				return r, err
			}
		}
	}
}

// whole reads the round back before it is saved, and returns how many answers that are.
func (a *asker) whole(r record.Round) (listed int) {
	who := "nobody named"
	if r.By != "" {
		who = "by " + text.Show(r.By)
	}
	a.talk.Say("The whole round, " + a.s.Clock(r.Time, "Mon 2 Jan 15:04") + ", " + who + ":")
	for _, f := range a.fields() {
		if f.Value() == "" || f.Key == record.ColTime { // the round's time stands in the question, and may have come with the draft
			continue
		}
		listed++
		if f.Key != record.ColBy {
			a.talk.Say("  " + a.readBack(f))
		}
	}
	return listed
}

// place is where a field stands in the order of asking, 0 where it is not asked for.
func (a *asker) place(key string) int {
	for i, f := range a.fields() {
		if f.Key == key {
			return i
		}
	}
	return 0
}
