package logview

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/model/assess"
	"example.org/headpond/model/localtime"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/upkeep"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/form"
)

// amendable lists the columns of an entry that can be corrected: those that hold something first, in the page's order.
func (s Screen) amendable(it item) []string {
	var all []string
	switch it.kind {
	case aRound:
		all = append(record.Columns(s.unitsAt(it.at)), slices.Sorted(maps.Keys(it.round.Extra))...)
	case anEvent:
		all = append([]string{record.ColKind}, record.EventColumns()...)
	case aDone:
		all = it.done.Columns()
	case aChange, aRevision:
	}
	var held, blank []string
	for _, key := range all {
		if textOf(it, key) != "" {
			held = append(held, key)
		} else {
			blank = append(blank, key)
		}
	}
	return append(held, blank...)
}

func (s Screen) unitsAt(t time.Time) []string {
	if p := s.ledger.h.PlantAt(t); p != nil {
		return p.UnitIDs()
	}
	return nil
}

// textOf is a column of an entry in the CSV's form.
func textOf(it item, key string) string {
	switch it.kind {
	case aRound:
		if t := it.round.Text(key); t != "" {
			return t
		}
		return it.round.Extra[key]
	case anEvent:
		return it.event.Text(key)
	case aDone:
		return it.done.Text(key)
	case aChange, aRevision:
	}
	return ""
}

// columnWords are the columns as the first field offers them.
func columnWords(keys []string) []string {
	out := make([]string, len(keys))
	for i, k := range keys {
		out[i] = label(k)
	}
	return out
}

// columnWord is the word for a column, "" where it cannot be corrected.
func (s Screen) columnWord(f amendForm, key string) string {
	if key != "" && slices.Contains(f.keys, key) {
		return label(key)
	}
	return ""
}

// column is the chosen column, "" while none is.
func (f amendForm) column() string {
	word := f.value(fieldColumn)
	for _, k := range f.keys {
		if label(k) == word {
			return k
		}
	}
	return ""
}

// amendSpecs describes the correction's fields.
func (s Screen) amendSpecs(f amendForm) []form.Spec {
	specs := []form.Spec{
		{Key: fieldColumn, Label: "What to correct", Kind: form.Choice, Words: columnWords(f.keys)},
		s.valueSpec(f),
		{Key: fieldWhy, Label: "Why", Kind: form.Text, Limit: 500, Hint: "needed: it stays with the correction"},
		{Key: fieldBy, Label: "Corrected by", Kind: form.Text, Limit: 60},
	}
	return append(specs, buttons("Save this correction")...)
}

// valueSpec describes the new value's field for the chosen column.
func (s Screen) valueSpec(f amendForm) form.Spec {
	spec := form.Spec{Key: fieldValue, Label: "New value", Kind: form.Text, Hint: "- withdraws it", Limit: 2000}
	key := f.column()
	info, isReading := quantity.Lookup(quantity.Key(key).Name())
	switch {
	case key == "":
		spec.Hint = "first choose what to correct"
	case key == record.ColTime:
		spec.Hint, spec.Judge = "2026-03-08 06:30", s.judgeTime
	case key == record.ColKind:
		spec.Kind, spec.Words, spec.Hint = form.Choice, eventKinds(), ""
	case key == record.ColElement:
		spec.Kind, spec.Words = form.Choice, append(elementNames(s.ledger.h.PlantAt(f.it.at)), logbook.Withdrawn)
	case key == record.ColRunning || key == record.ColUnit:
		spec.Kind, spec.Last = form.Number, textOf(f.it, key)
		spec.Judge = s.judgeUnits(f.it.at, key == record.ColRunning)
	case f.it.kind == aDone && key == record.ColTask:
		spec.Hint = "another task's name; - takes it back"
	case f.it.kind == aDone && strings.HasPrefix(key, record.ColStep+"."):
		spec.Hint, spec.Judge = "done; skipped: why; not-ok: what was found; open", judgeTick
	case !isReading || f.it.kind != aRound:
	case !info.Number():
		spec.Kind, spec.Words = form.Choice, append(slices.Clone(info.Words), logbook.Withdrawn)
	default:
		spec.Kind, spec.Unit, spec.Judge = form.Number, string(info.ShowUnit(s.Units)), s.judgeNumber(f.it, quantity.Key(key), info)
		if v, ok := f.it.round.Value(quantity.Key(key)); ok {
			spec.Last = info.Show(v, s.Units)
		}
	}
	return spec
}

// judgeTick reads what came of a step.
func judgeTick(typed string) form.Verdict {
	if typed == logbook.Withdrawn {
		return form.Verdict{Remark: "withdrawn"}
	}
	if _, _, err := record.ParseTick(typed); err != nil {
		return form.Verdict{Err: err.Error()}
	}
	return form.Verdict{}
}

func eventKinds() []string {
	var out []string
	for _, k := range record.EventKinds() {
		out = append(out, string(k))
	}
	return out
}

func elementNames(p *plant.Plant) []string {
	var out []string
	if p != nil {
		for _, e := range p.Ballast.Elements {
			out = append(out, e.Name)
		}
	}
	return out
}

// judgeTime says which moment a text means.
func (s Screen) judgeTime(typed string) form.Verdict {
	t, err := s.moment(typed)
	switch {
	case err != nil:
		return form.Verdict{Err: err.Error()}
	case t.After(s.Now()):
		return form.Verdict{State: ui.Near, Remark: "in the future: " + wordsOf(s.Common).moment(t)}
	}
	return form.Verdict{Remark: wordsOf(s.Common).moment(t)}
}

// moment reads the time of an entry. A day alone is none.
func (s Screen) moment(typed string) (time.Time, error) {
	return localtime.Moment(typed, s.Now(), s.Location)
}

// judgeUnits reads unit ids; none is one of them where units run.
func (s Screen) judgeUnits(at time.Time, none bool) func(string) form.Verdict {
	ids := s.unitsAt(at)
	return func(typed string) form.Verdict {
		got, err := record.ParseRunning(typed, ids)
		switch {
		case typed == logbook.Withdrawn:
			return form.Verdict{Remark: "withdrawn"}
		case err != nil || got != nil && len(*got) == 0 && !none:
			return form.Verdict{Err: "expected " + strings.Join(ids, ", ") + ", or several joined by +"}
		}
		return form.Verdict{}
	}
}

// judgeNumber says how a new value would stand.
func (s Screen) judgeNumber(it item, k quantity.Key, info quantity.Info) func(string) form.Verdict {
	units, p := s.Units, s.ledger.h.PlantAt(it.at)
	band, banded := s.ledger.assessor.Band(*it.round, k)
	return func(typed string) form.Verdict {
		if typed == logbook.Withdrawn {
			return form.Verdict{Remark: "withdrawn: not read"}
		}
		v, err := quantity.ParseValue(info, typed, units)
		if err != nil {
			return form.Verdict{Err: "expected " + info.Expected(units) + ", or - to withdraw it"}
		}
		if p != nil {
			if lo, hi, ok := assess.Plausible(p, k, v.Kept); !ok {
				return form.Verdict{State: ui.Out, Remark: fmt.Sprintf("not plausible, %s to %s expected", info.ShowEstimate(lo, units), info.ShowEstimate(hi, units))}
			}
		}
		if !banded {
			return form.Verdict{}
		}
		return form.Verdict{State: ui.StateOf(string(band.State(v.Kept))), Remark: "band " + assess.BandWords(band, info, units)}
	}
}

// Errors of a correction that lacks a part.
var (
	errNoColumn = errors.New("choose what to correct")
	errNoValue  = errors.New("write the new value, or - to withdraw the old one")
	errNoWhy    = errors.New("write why, it stays with the correction")
)

// readAmend turns the form into what the book is asked to change, with the questions that must be answered first. field is
// where an error stands.
func (s Screen) readAmend() (changes map[string]string, questions []assess.Question, field string, err error) {
	f := s.amend
	key, value := f.column(), f.value(fieldValue)
	switch {
	case key == "":
		return nil, nil, fieldColumn, errNoColumn
	case value == "":
		return nil, nil, fieldValue, errNoValue
	case f.value(fieldWhy) == "":
		return nil, nil, fieldWhy, errNoWhy
	}
	kept, questions, err := s.canonical(f.it, key, value)
	return map[string]string{key: kept}, questions, fieldValue, err
}

// canonical brings a typed value into the column's own text.
func (s Screen) canonical(it item, key, value string) (kept string, questions []assess.Question, err error) {
	if key == record.ColTime {
		t, err := s.moment(value)
		return record.TimeText(t), nil, err
	}
	p := s.ledger.h.PlantAt(it.at)
	switch {
	case p == nil:
		return value, nil, errors.New("the book holds no plant description")
	case it.kind == anEvent:
		kept, err = canonicalEvent(*it.event, key, value, p)
		return kept, nil, err
	case it.kind == aDone:
		if key == record.ColTask && it.done.Walk == nil && value != logbook.Withdrawn {
			if value, err = taskNamed(p, value); err != nil {
				return "", nil, err
			}
		}
		kept, err = it.done.Canonical(key, value)
		return kept, nil, err
	case value == logbook.Withdrawn, it.kind != aRound:
		return value, nil, nil
	}
	if _, extra := it.round.Extra[key]; extra {
		return value, nil, nil
	}
	next := record.Round{Time: it.at}
	if err := next.Set(key, value, p.UnitIDs(), s.Units); err != nil {
		return "", nil, err
	}
	return next.Text(key), s.ledger.assessor.Questions(next), nil
}

// taskNamed is a task of the plant by its name.
func taskNamed(p *plant.Plant, typed string) (string, error) {
	var names []string
	for _, t := range p.Upkeep {
		name := upkeep.Name(p, t)
		if strings.EqualFold(name, typed) {
			return name, nil
		}
		names = append(names, name)
	}
	return "", fmt.Errorf("it is no task of this plant; expected one of %s, or - to take it back", strings.Join(names, "; "))
}

// canonicalEvent also looks whether the event still has what its kind needs.
func canonicalEvent(e record.Event, key, value string, p *plant.Plant) (string, error) {
	kept := value
	switch {
	case key == record.ColKind:
		k, err := record.ParseEventKind(value)
		if err != nil {
			return "", err
		}
		e.Kind, kept = k, string(k)
	case value == logbook.Withdrawn:
		if err := e.Set(key, "", p); err != nil {
			return "", err
		}
	default:
		if err := e.Set(key, value, p); err != nil {
			return "", err
		}
		kept = e.Text(key)
	}
	return kept, e.Check()
}
