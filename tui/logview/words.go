package logview

import (
	"strconv"
	"strings"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/localtime"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui"
)

// words writes what the log holds as sentences, in the plant's units and on its clock. The zero value writes what is searched
// through: times as they are, values in their own units.
type words struct {
	units quantity.System
	now   time.Time
	loc   *time.Location
}

func wordsOf(c ui.Common) words { return words{units: c.Units, now: c.Now(), loc: c.Location} }

// moment tells a time: "Fri 14 Aug 07:55", with the year where it is not the present one.
func (w words) moment(t time.Time) string {
	if w.loc == nil {
		return t.Format("2006-01-02 15:04")
	}
	if t.In(w.loc).Year() == w.now.In(w.loc).Year() {
		return localtime.Show(t, w.loc, "Mon 2 Jan 15:04")
	}
	return localtime.Show(t, w.loc, "Mon 2 Jan 2006 15:04")
}

// word names the kind of an item in one word, an event's by what happened.
func (it item) word() string {
	switch it.kind {
	case aRound:
		return "round"
	case anEvent:
		return strings.ReplaceAll(string(it.event.Kind), "-", " ") // as texts have it: "element out"
	case aChange:
		return "correction"
	case aDone:
		if it.done.Walk != nil {
			return "checklist"
		}
		return "upkeep"
	case aRevision:
		return "plant"
	}
	return ""
}

// named is an entry as it is spoken of: "round of Fri 14 Aug 07:55", "trip of A of Fri 14 Aug 06:40".
func (it item) named(w words) string {
	switch it.kind {
	case anEvent:
		return happened(*it.event) + " of " + w.moment(it.at)
	case aDone:
		return it.word() + " of " + w.moment(it.at)
	case aRound, aChange, aRevision:
	}
	return it.word() + " of " + w.moment(it.at)
}

// happened is what happened to what: "trip of A".
func happened(e record.Event) string { return e.What() }

// sentence says what an item holds besides its numbers. For a round these are its words and its note.
func (it item) sentence(w words) string {
	switch it.kind {
	case aRound:
		return join(append([]string{it.round.Note}, append(seen(*it.round), corrected(it))...)...)
	case anEvent:
		e := it.event
		s := happened(*e)
		if e.Cause != "" {
			s += " (" + e.Cause + ")"
		}
		return join(s, e.Note, corrected(it))
	case aChange:
		parts := make([]string, len(it.changes))
		for i, c := range it.changes {
			parts[i] = w.change(c)
		}
		s := "correction: " + strings.Join(parts, "; ") + " (" + it.entry().named(w) + ")"
		if why := it.changes[0].Why; why != "" {
			s += ": " + why
		}
		return s
	case aDone:
		return join(doneWords(it.done), it.done.Note, corrected(it))
	case aRevision:
		name := ""
		if p := it.revision.Plant; p != nil {
			name = " of " + p.Site.Name
		}
		return "plant description" + name + " holds from here on"
	}
	return ""
}

// doneWords says what was done: a task, or a checklist with what came of its steps.
func doneWords(d *record.Done) string {
	switch {
	case d.Task == "":
		return "upkeep taken back"
	case d.Walk != nil:
		return "checklist " + d.Task + ": " + d.Walk.Summary()
	}
	return "upkeep done: " + d.Task
}

// corrected marks an entry that was corrected since.
func corrected(it item) string {
	if len(it.corrections()) > 0 {
		return "corrected since"
	}
	return ""
}

// seen is what was seen at a round and is worth a word: a screen that was not clear or was cleared, ice, a valve not open.
func seen(r record.Round) []string {
	var out []string
	word := func(n quantity.Name) string { w, _ := r.Word(quantity.Key(n)); return w }
	switch w := word(quantity.Screen); w {
	case "", "clear":
	case "partly":
		out = append(out, "screen partly")
	default:
		out = append(out, "screen "+w)
	}
	if word(quantity.ScreenCleared) == "yes" {
		out = append(out, "screen cleared")
	}
	if w := word(quantity.Ice); w != "" && w != "none" {
		out = append(out, "ice: "+w)
	}
	if w := word(quantity.Valve); w != "" && w != "open" {
		out = append(out, "main valve "+w)
	}
	return out
}

// odd lists the readings that are not in band: "Frequency 57.5 Hz near".
func (w words) odd(j judgement) []string {
	var out []string
	for _, state := range []ui.State{ui.Out, ui.Near} {
		for _, x := range j.judged {
			if ui.StateOf(string(x.State)) == state {
				out = append(out, short(quantity.Key(x.Quantity))+" "+w.value(x.Info, x.Value)+" "+state.Word())
			}
		}
	}
	return out
}

// short is a reading's name where there is little room: "pressure", "bearing A".
func short(k quantity.Key) string {
	name := strings.TrimPrefix(assess.LabelOf(k), "Intake ")
	return strings.ToLower(name[:1]) + name[1:]
}

// value is a number with its unit.
func (w words) value(info quantity.Info, v float64) string {
	return strings.TrimSpace(info.Show(v, w.units) + " " + string(info.ShowUnit(w.units)))
}

// change says what a correction did to one column: "Voltage was 2411 V, now 241 V".
func (w words) change(c record.Change) string {
	was, is := "was not read", "now withdrawn"
	if c.Old != "" {
		was = "was " + w.column(c.Key, c.Old)
	}
	if c.New != "" {
		is = "now " + w.column(c.Key, c.New)
	}
	return label(c.Key) + " " + was + ", " + is
}

// column is a column's text in the CSV's form, for people.
func (w words) column(key, kept string) string {
	if key == record.ColTime {
		if t, err := time.Parse(time.RFC3339, kept); err == nil {
			return w.moment(t)
		}
		return kept
	}
	info, ok := quantity.Lookup(quantity.Key(key).Name())
	if !ok || !info.Number() {
		return kept
	}
	v, err := strconv.ParseFloat(kept, 64)
	if err != nil {
		return kept
	}
	return w.value(info, v)
}

// label is a column as a person calls it.
func label(key string) string {
	switch key {
	case record.ColTime:
		return "Time"
	case record.ColBy:
		return "By"
	case record.ColRunning:
		return "Running"
	case record.ColNote:
		return "Note"
	case record.ColKind:
		return "Kind"
	case record.ColUnit:
		return "Unit"
	case record.ColElement:
		return "Ballast element"
	case record.ColCause:
		return "Cause"
	case record.ColTask:
		return "Task"
	}
	if n, ok := strings.CutPrefix(key, record.ColStep+"."); ok {
		return "Step " + n
	}
	return assess.LabelOf(quantity.Key(key))
}

// Times of writing that are told: a round is written within the hour that it is walked.
const soon = time.Hour

// late says how much later an entry was written down: "written 2 days later", "" where it was written at its time.
func late(at, written time.Time) string {
	switch d := written.Sub(at); {
	case written.IsZero():
		return ""
	case d >= soon:
		return "written " + assess.Span(d) + " later"
	case d < -time.Minute:
		return "written " + assess.Span(d) + " before its own time"
	}
	return ""
}

// join puts the parts that say something into one line.
func join(parts ...string) string {
	var kept []string
	for _, p := range parts {
		if p != "" {
			kept = append(kept, p)
		}
	}
	return strings.Join(kept, "; ")
}
