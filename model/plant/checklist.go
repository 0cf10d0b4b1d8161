package plant

import (
	"fmt"
	"strings"
	"unicode"
)

// ListFor is the occasion of a checklist.
type ListFor string

// The occasions that have a checklist of their own wherever the file gives none. A list for anything else leaves it out.
const (
	ForStart     ListFor = "start"
	ForStop      ListFor = "stop"
	ForAfterTrip ListFor = "after-trip"
	ForClearing  ListFor = "clearing"
)

// ListFors lists the occasions in the order in which they are offered.
func ListFors() []ListFor { return []ListFor{ForStart, ForStop, ForAfterTrip, ForClearing} }

// Checklist is a list of steps that a person walks in order, one after the other.
type Checklist struct {
	Name     string
	For      ListFor // "" for a list of the plant's own
	Unit     string  // the unit that it is for; "" for the whole plant
	Cautions []string
	Steps    []string
}

// Bounds of a list: longer ones are not walked, they are skimmed.
const (
	maxListed   = 40
	maxSentence = 300 // characters
)

func checklistFields() []field[Checklist] {
	var occasions []string
	for _, f := range ListFors() {
		occasions = append(occasions, string(f))
	}
	return []field[Checklist]{
		{spec{key: "name", form: formText, required: true, example: `"Stopping for the night"`,
			what: "the list's name", find: "As you call it; it stands in the log when the list was walked."},
			func(c *Checklist, v value) { c.Name = v.text }},
		{spec{key: "for", form: formWord, words: occasions, example: `"stop"`, standard: "a list of your own beside the built-in ones",
			what: "the occasion whose built-in list it replaces", find: "\"headpond checklist --toml\" prints the built-in lists as a beginning."},
			func(c *Checklist, v value) { c.For = ListFor(v.text) }},
		{spec{key: "unit", form: formText, example: `"A"`, standard: "the whole plant", off: true,
			what: "the id of the unit that it is for", find: "As in [[unit]]."},
			func(c *Checklist, v value) { c.Unit = v.text }},
		{spec{key: "caution", form: formTexts, example: `["Shutting the main valve fast can burst the pipe: take your time."]`, standard: "no cautions are shown before the first step",
			what: "what can hurt someone on the way, each in quotation marks", find: "Your installer, your electrician, the makers' papers."},
			func(c *Checklist, v value) { c.Cautions = v.texts }},
		{spec{key: "step", form: formTexts, required: true, example: `["Tell the house.", "Shut the main valve slowly.", "Write down the hour meter."]`,
			what: "the steps in their order, each in quotation marks", find: "One thing to do or to look at in each; the list may run over several lines."},
			func(c *Checklist, v value) { c.Steps = v.texts }},
	}
}

// readTexts reads a list of sentences.
func (d *decoder) readTexts(t *table, s spec, n *node) (value, bool) {
	if n.kind == isText {
		d.add(n.off, join(t.path, s.key), "is one text", "a list of texts, also for one: [\"…\"]")
		return value{}, false
	}
	if n.kind != isArray || n.headed {
		d.wrongType(t, s, n)
		return value{}, false
	}
	switch count := len(n.items); {
	case count == 0:
		d.add(n.off, join(t.path, s.key), "is empty", s.expected())
		return value{}, false
	case count > maxListed:
		d.add(n.off, join(t.path, s.key), "has "+plural(count, "text"), fmt.Sprintf("at most %d: a longer list is two lists", maxListed))
		return value{}, false
	}
	var v value
	for i, item := range n.items {
		text, what := strings.TrimSpace(item.text), ""
		switch {
		case item.kind == isBroken:
			return value{}, false
		case item.kind != isText:
			what = "is " + item.kind.String()
		case text == "":
			what = "is empty"
		case strings.ContainsFunc(text, unicode.IsControl):
			what = "holds a control character"
		case len([]rune(text)) > maxSentence:
			what = fmt.Sprintf("is %d characters long", len([]rune(text)))
		}
		if what != "" {
			d.add(item.off, join(t.path, s.key), fmt.Sprintf("text %d %s", i+1, what), fmt.Sprintf("a sentence in quotation marks of at most %d characters", maxSentence))
			return value{}, false
		}
		v.texts = append(v.texts, text)
	}
	return v, true
}

func (d *decoder) checkChecklists(p *Plant, ts []*table) {
	d.unique(ts, "name", func(i int) string { return p.Checklists[i].Name })
	for i, t := range ts {
		if !t.has("unit") {
			continue
		}
		if id := p.Checklists[i].Unit; id != "" {
			if _, ok := p.UnitByID(id); !ok {
				d.problem(t, "unit", "no unit has the id "+quote(id), oneOf(p.UnitIDs(), "unit"))
			}
		}
	}
}
