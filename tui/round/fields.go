package round

import (
	"fmt"
	"strings"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/localtime"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/tolerance"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/form"
)

// The form's own keys beside the columns of a round.
const (
	keySave = "save"
	keyAll  = "all"
)

// usualRounds is how many of the last rounds tell which fields this plant's caretaker usually reads.
const usualRounds = 30

// always are shown whether they were read lately or not: what a round is for.
func always() []quantity.Name {
	return []quantity.Name{quantity.PondLevelM, quantity.Screen, quantity.ScreenCleared, quantity.PressureKPa, quantity.Volts, quantity.Hertz, quantity.LoadKW}
}

// keys lists the readings that the form shows, in walking order.
func (s Screen) keys() []quantity.Key {
	p := s.history.Plant
	want := map[quantity.Key]bool{}
	for _, n := range always() {
		want[quantity.Key(n)] = true
	}
	for _, r := range s.recent() {
		for k := range r.Values {
			want[k] = true
		}
		for k := range r.Words {
			want[k] = true
		}
	}
	if !want[quantity.Key(quantity.DumpKW)] {
		want[quantity.Key(quantity.DumpSharePct)] = true
	}
	for _, k := range []quantity.Name{quantity.PressureBefore, quantity.PressureAfter} {
		if s.text(string(quantity.ScreenCleared)) == "yes" {
			want[quantity.Key(k)] = true
		} else if s.text(string(k)) == "" {
			delete(want, quantity.Key(k)) // read at a clearing only: not between the others
		}
	}
	var out []quantity.Key
	for _, k := range quantity.Keys(p.UnitIDs()) {
		if s.all || want[k] || s.text(string(k)) != "" {
			out = append(out, k)
		}
	}
	return out
}

func (s Screen) recent() []record.Round {
	r := s.history.Rounds
	return r[max(0, len(r)-usualRounds):]
}

// text is what stands in a field, "" where there is no such field.
func (s Screen) text(key string) string {
	f, ok := s.form.Field(key)
	if !ok {
		return s.carried[key]
	}
	return f.Value()
}

// specs describes every field, in walking order, then who and when, then the buttons.
func (s Screen) specs() []form.Spec {
	var specs []form.Spec
	running := false
	for _, k := range s.keys() {
		info, _ := quantity.Lookup(k.Name())
		if info.Where >= quantity.AtMachine && !running {
			specs, running = append(specs, s.runningSpec()), true
		}
		specs = append(specs, s.readingSpec(k, info))
	}
	if !running {
		specs = append(specs, s.runningSpec())
	}
	const last = "Who and when"
	specs = append(specs,
		form.Spec{Key: record.ColNote, Section: last, Label: "Note", Kind: form.Text, Limit: 2000},
		form.Spec{Key: record.ColBy, Section: last, Label: "By", Kind: form.Text, Last: s.lastBy()},
		form.Spec{Key: record.ColTime, Section: last, Label: "Time", Kind: form.Text, Hint: "now; or 06:30, yesterday 18:00, -2h", Judge: s.judgeTime},
		form.Spec{Key: keySave, Section: last, Label: "Save this round", Kind: form.Button},
	)
	if !s.all {
		specs = append(specs, form.Spec{Key: keyAll, Section: last, Label: "Show every reading", Kind: form.Button, Hint: "also those seldom read"})
	}
	return specs
}

func (s Screen) runningSpec() form.Spec {
	ids := s.history.Plant.UnitIDs()
	hint := "none, or " + strings.Join(ids, "+")
	spec := form.Spec{Key: record.ColRunning, Section: quantity.AtMachine.String(), Label: "Running", Kind: form.Number, Hint: hint,
		Judge: func(text string) form.Verdict {
			if _, err := record.ParseRunning(text, ids); err != nil {
				return form.Verdict{Err: "expected " + hint}
			}
			return form.Verdict{}
		}}
	if now, ok := s.assessor.Running(record.Round{Time: s.Now()}); ok {
		spec.Last = record.FormatRunning(now)
	}
	return spec
}

func (s Screen) readingSpec(k quantity.Key, info quantity.Info) form.Spec {
	spec := form.Spec{Key: string(k), Section: info.Where.String(), Label: assess.LabelOf(k), Words: info.Words, Last: s.last(k, info)}
	if !info.Number() {
		spec.Kind = form.Choice
		return spec
	}
	spec.Unit = string(info.ShowUnit(s.Units))
	if e, ok := s.expected[k]; ok {
		spec.Expect = info.ShowEstimate(e, s.Units)
	}
	units, p := s.Units, s.history.Plant
	band, banded := s.band(k)
	if banded {
		spec.Hint = "band " + bandText(band, info, units)
	}
	expect := spec.Expect
	spec.Judge = func(text string) form.Verdict {
		v, err := quantity.ParseValue(info, text, units)
		if err != nil {
			return form.Verdict{Err: "expected " + info.Expected(units)}
		}
		return verdict(p, k, info, v, band, banded, expect, units)
	}
	return spec
}

// verdict is what is said of a number as it is typed.
func verdict(p *plant.Plant, k quantity.Key, info quantity.Info, v quantity.Value, band tolerance.Band, banded bool, expect string, units quantity.System) form.Verdict {
	var parts []string
	out := form.Verdict{}
	if lo, hi, ok := assess.Plausible(p, k, v.Kept); !ok {
		out.State = ui.Out
		parts = append(parts, fmt.Sprintf("not plausible, %s to %s expected", info.ShowEstimate(lo, units), info.ShowEstimate(hi, units)))
	} else if banded {
		out.State = ui.StateOf(string(band.State(v.Kept)))
	}
	if unit := string(info.ShowUnit(units)); converted(v, info, unit) {
		parts = append(parts, "= "+info.Show(v.Kept, units)+" "+unit)
	}
	if expect != "" {
		parts = append(parts, "expect "+expect)
	}
	if banded {
		parts = append(parts, "band "+bandBeside(band, v.Kept, info, units))
	}
	out.Remark = strings.Join(parts, ", ")
	return out
}

// converted reports whether a value was typed in another unit than the one that it is shown in.
func converted(v quantity.Value, info quantity.Info, shown string) bool {
	if v.Typed == "" {
		return string(info.Unit) != shown
	}
	return !strings.HasSuffix(v.Typed, " "+shown)
}

// bandText writes the good limits of a band: "228-252", "above 57", "below 80".
func bandText(b tolerance.Band, info quantity.Info, s quantity.System) string {
	switch {
	case b.InMin != nil && b.InMax != nil:
		return info.ShowEstimate(*b.InMin, s) + " to " + info.ShowEstimate(*b.InMax, s)
	case b.InMin != nil:
		return "from " + info.ShowEstimate(*b.InMin, s)
	case b.InMax != nil:
		return "up to " + info.ShowEstimate(*b.InMax, s)
	}
	return "open"
}

// bandBeside is bandText beside a value: a limit that the value lies beyond has as many digits as show it.
func bandBeside(b tolerance.Band, value float64, info quantity.Info, s quantity.System) string {
	if b.InMin != nil && value < *b.InMin || b.InMax != nil && value > *b.InMax {
		return assess.BandWordsBeside(b, value, info, s)
	}
	return bandText(b, info, s)
}

// last is the last value of a reading as it would be typed, "" where there is none.
func (s Screen) last(k quantity.Key, info quantity.Info) string {
	switch k.Name() {
	case quantity.ScreenCleared, quantity.PressureBefore, quantity.PressureAfter:
		return "" // what was done another time is no reading that could stand
	}
	r, ok := s.history.LastWith(k)
	if !ok {
		return ""
	}
	if w, ok := r.Word(k); ok {
		return w
	}
	v, _ := r.Value(k)
	return info.Show(v, s.Units)
}

func (s Screen) lastBy() string {
	for i := len(s.history.Rounds) - 1; i >= 0; i-- {
		if by := s.history.Rounds[i].By; by != "" {
			return by
		}
	}
	return ""
}

func (s Screen) band(k quantity.Key) (tolerance.Band, bool) {
	if b, ok := s.assessor.Bands(s.history.Plant).For(k); ok {
		return b, true
	}
	if e, ok := s.expected[k]; ok && k.Name() == quantity.PressureKPa {
		return tolerance.Around(e, s.history.Plant.ReadingError(k)), true
	}
	return tolerance.Band{}, false
}

func (s Screen) judgeTime(text string) form.Verdict {
	t, err := localtime.Moment(text, s.Now(), s.Location)
	switch {
	case err != nil:
		return form.Verdict{Err: err.Error()}
	case t.After(s.Now()):
		return form.Verdict{State: ui.Near, Remark: "in the future"}
	}
	return form.Verdict{Remark: s.Clock(t, "Mon 2 Jan 15:04")}
}
