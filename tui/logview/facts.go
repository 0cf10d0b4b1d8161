package logview

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// fact is one column of an entry, as its page shows it.
type fact struct {
	key      string
	label    string
	value    string
	state    ui.State
	band     string
	expected string
	wide     bool // no number: the value has the room of all columns
}

func wordFact(key, value string) fact {
	return fact{key: key, label: label(key), value: value, wide: true}
}

// facts lists the columns of an entry that hold something.
func (s Screen) facts(it item) []fact {
	w := wordsOf(s.Common)
	out := []fact{wordFact(record.ColTime, w.moment(it.at))}
	add := func(key, value string) {
		if value != "" {
			out = append(out, wordFact(key, value))
		}
	}
	switch it.kind {
	case aRound:
		return s.roundFacts(it.round)
	case anEvent:
		for _, key := range []string{record.ColKind, record.ColUnit, record.ColElement, record.ColCause} {
			add(key, it.event.Text(key))
		}
	case aDone:
		add(record.ColTask, it.done.Task)
		if walk := it.done.Walk; walk != nil {
			out = append(out, fact{key: "begun", label: "Begun", value: w.moment(walk.Begun), wide: true})
		}
	case aChange, aRevision:
	}
	add(record.ColBy, it.by)
	add(record.ColNote, it.note())
	if it.kind == aDone && it.done.Walk != nil {
		for i, t := range it.done.Walk.Ticks {
			out = append(out, s.tickFact(i, t))
		}
	}
	return out
}

// tickFact is a step of a checklist: what came of it and when, then its words.
func (s Screen) tickFact(i int, t record.Tick) fact {
	said := t.State.Word()
	if !t.At.IsZero() {
		said += " " + s.Clock(t.At, "15:04")
	}
	if t.Note != "" {
		said += ": " + t.Note
	}
	return fact{key: record.StepColumn(i), label: label(record.StepColumn(i)), value: said + " (" + t.Step + ")", wide: true}
}

// note is the note of an entry that has one.
func (it item) note() string {
	switch it.kind {
	case aRound:
		return it.round.Note
	case anEvent:
		return it.event.Note
	case aDone:
		return it.done.Note
	case aChange, aRevision:
	}
	return ""
}

// roundFacts lists who and when, then the readings in walking order with what is said of each, then the note.
func (s Screen) roundFacts(r *record.Round) []fact {
	w, j := wordsOf(s.Common), s.ledger.judge(r)
	out := []fact{wordFact(record.ColTime, w.moment(r.Time))}
	if r.By != "" {
		out = append(out, wordFact(record.ColBy, r.By))
	}
	switch {
	case r.Running != nil:
		out = append(out, wordFact(record.ColRunning, record.FormatRunning(*r.Running)))
	case j.running != "":
		out = append(out, wordFact(record.ColRunning, j.running+" (as before; not read in this round)"))
	}
	out = append(out, readingFacts(r, j, w)...)
	for _, key := range slices.Sorted(maps.Keys(r.Extra)) {
		out = append(out, fact{key: key, label: key, value: r.Extra[key], wide: true})
	}
	if r.Note != "" {
		out = append(out, wordFact(record.ColNote, r.Note))
	}
	return out
}

func readingFacts(r *record.Round, j judgement, w words) []fact {
	var out []fact
	for _, k := range readingKeys(r, j) {
		if word, ok := r.Word(k); ok {
			out = append(out, wordFact(string(k), word))
			continue
		}
		v, _ := r.Value(k)
		info, _ := quantity.Lookup(k.Name())
		f := fact{key: string(k), label: assess.LabelOf(k), value: w.value(info, v)}
		for _, x := range j.judged {
			if x.Quantity != string(k) {
				continue
			}
			f.state = ui.StateOf(string(x.State))
			if x.State != "" {
				f.band = assess.BandWords(x.Band(), info, w.units)
			}
			if x.Expected != nil {
				f.expected = info.ShowEstimate(*x.Expected, w.units)
			}
		}
		out = append(out, f)
	}
	return out
}

// readingKeys lists what was read, in walking order; what the plant's revision of that time does not know comes last.
func readingKeys(r *record.Round, j judgement) []quantity.Key {
	units := map[string]bool{}
	for k := range r.Values {
		units[k.Unit()] = true
	}
	for k := range r.Words {
		units[k.Unit()] = true
	}
	delete(units, "")
	var out []quantity.Key
	for _, k := range quantity.Keys(slices.Sorted(maps.Keys(units))) {
		_, number := r.Values[k]
		_, word := r.Words[k]
		if number || word {
			out = append(out, k)
		}
	}
	for _, k := range slices.Sorted(maps.Keys(r.Values)) { // of a newer version's catalogue
		if !slices.Contains(out, k) {
			out = append(out, k)
		}
	}
	return out
}

// rest is what is known of an entry beside its values: the whole note, what was typed, the corrections, the id.
func (s Screen) rest(it item, width int) []string {
	var out []string
	section := func(title string, paragraphs ...string) {
		if len(paragraphs) == 0 {
			return
		}
		out = append(out, ui.Section(s.Theme, title, "", width))
		for _, p := range paragraphs {
			for _, l := range text.ShowLines(p) {
				out = append(out, indented(l, width)...)
			}
		}
	}
	const beside = 40 // a note that is no longer is read whole in the table
	if n := it.note(); len(n) > beside || strings.Contains(n, "\n") {
		section("Note", n)
	}
	if it.kind == aRound {
		section("As it was typed", s.typed(it.round)...)
	}
	if it.kind == aDone && it.done.Walk != nil {
		section("Steps", steps(it.done.Walk)...)
	}
	section("Corrections, oldest first", s.corrections(it)...)
	return append(out, s.Theme.Dim.Render(s.Theme.Cut(" Id "+text.Show(it.id), width)))
}

// steps are the steps of a checklist in full, with what came of each.
func steps(w *record.Walk) []string {
	out := make([]string, len(w.Ticks))
	for i, t := range w.Ticks {
		out[i] = fmt.Sprintf("%d. %s %s", i+1, t.Step, capital(t.State.Word()))
		if t.Note != "" {
			out[i] += ": " + t.Note
		}
		out[i] += "."
	}
	return out
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// indented wraps a paragraph; its lines after the first stand further in.
func indented(p string, width int) []string {
	var out []string
	for i, l := range text.Wrap(p, max(10, width-3)) {
		lead := " "
		if i > 0 {
			lead = "   "
		}
		out = append(out, lead+l)
	}
	return out
}

// typed says what was typed where that was in another unit, and that values which are not plausible were confirmed.
func (s Screen) typed(r *record.Round) []string {
	var out []string
	for _, k := range quantityKeys(r.Typed) {
		out = append(out, fmt.Sprintf("%s: %s", assess.LabelOf(k), r.Typed[k]))
	}
	if r.Confirmed {
		out = append(out, "Values that are not plausible were asked about and confirmed.")
	}
	return out
}

func quantityKeys(m map[quantity.Key]string) []quantity.Key { return slices.Sorted(maps.Keys(m)) }

// corrections says what each correction altered, when, by whom and why.
func (s Screen) corrections(it item) []string {
	w := wordsOf(s.Common)
	var out, changes []string
	all := it.corrections()
	for i, c := range all {
		changes = append(changes, w.change(c))
		if i+1 < len(all) && all[i+1].Amendment == c.Amendment {
			continue
		}
		line := strings.Join(changes, "; ") + ". " + w.moment(c.At)
		if d := c.At.Sub(it.at); d >= soon {
			line += ", " + assess.Span(d) + " later"
		}
		if c.By != "" {
			line += ", by " + c.By
		}
		if c.Why != "" {
			line += ": " + c.Why
		}
		out, changes = append(out, line), nil
	}
	return out
}
