package round

import (
	"encoding/json"
	"slices"
	"time"

	"example.org/headpond/model/localtime"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// draft is the form as it is kept on disk at every keystroke. Begun is when the first reading was typed: a draft that is
// found again after a power cut was read then, not when it is found.
type draft struct {
	Begun  time.Time         `json:"begun"`
	Focus  string            `json:"focus"`
	Units  quantity.System   `json:"units"` // what bare numbers in Values mean
	Values map[string]string `json:"values"`
}

// encode gives the draft's bytes, nil for an empty form.
func (s Screen) encode() []byte {
	values := s.values()
	if len(values) == 0 {
		return nil
	}
	focus, _ := s.form.Focused()
	data, err := json.Marshal(draft{Begun: s.begun, Focus: focus.Key, Units: s.Units, Values: values})
	if err != nil { // a map of strings can always be written
		return nil
	}
	return data
}

// values are the texts of all fields, those that are not shown now included.
func (s Screen) values() map[string]string {
	out := map[string]string{}
	for k, v := range s.carried {
		out[k] = v
	}
	for k, v := range s.form.Values() {
		out[k] = v
	}
	return out
}

// restore fills the form from a draft that was found on disk.
func (s Screen) restore(data []byte) Screen {
	var d draft
	if json.Unmarshal(data, &d) != nil || len(d.Values) == 0 {
		s.unread = true
		return s.rebuild()
	}
	s.begun = d.Begun
	if d.Units != "" {
		s.Units = d.Units
	}
	if d.Values[record.ColTime] == "" && !d.Begun.IsZero() {
		d.Values[record.ColTime] = localtime.Minute(d.Begun, s.Location)
	}
	s.carried = d.Values
	s.restored = true
	s = s.rebuild()
	s.form = s.form.Focus(d.Focus)
	return s
}

// read turns the texts into a round, leaving out what cannot be read; first is the first field that cannot.
func (s Screen) read() (r record.Round, first string, err error) {
	ids := s.history.Plant.UnitIDs()
	r.Time = s.Now()
	if !s.begun.IsZero() {
		r.Time = s.begun
	}
	fail := func(key string, e error) {
		if err == nil {
			first, err = key, e
		}
	}
	values := s.values()
	if t := values[record.ColTime]; t != "" {
		at, e := localtime.Moment(t, s.Now(), s.Location)
		if e != nil {
			fail(record.ColTime, e)
		} else {
			r.Time = at
		}
	}
	for _, key := range record.Columns(ids) {
		text, ok := values[key]
		if !ok || key == record.ColTime {
			continue
		}
		if e := r.Set(key, text, ids, s.Units); e != nil {
			fail(key, e)
		}
	}
	r.Time = r.Time.In(s.Location)
	return r, first, err
}

// questions are what must be confirmed before a round is kept: readings that look like slips, and a time that has not come.
func (s Screen) questions(r record.Round) []question {
	var out []question
	for _, q := range s.assessor.Questions(r) {
		out = append(out, question{field: string(q.Key), text: q.Text + ".", reading: true})
	}
	if early := localtime.NotYet(r.Time, s.Now(), s.Location); early.Question != "" {
		out = append(out, question{field: record.ColTime, text: early.Question, yesterday: early.Yesterday})
	}
	return out
}

// question is one thing to be confirmed and the field that it is about.
type question struct {
	field, text string
	reading     bool
	yesterday   time.Time // what a yes means, where it asks about yesterday
}

// beyond are the questions of which none of the fields was asked about before.
func beyond(qs, asked []question) []question {
	return slices.DeleteFunc(slices.Clone(qs), func(q question) bool {
		return slices.ContainsFunc(asked, func(a question) bool { return a.field == q.field })
	})
}

// yesterday is the time that a yes to the questions means, zero where none asks about yesterday.
func yesterday(qs []question) time.Time {
	for _, q := range qs {
		if !q.yesterday.IsZero() {
			return q.yesterday
		}
	}
	return time.Time{}
}

// ofReadings reports whether any of the questions is about a reading, whose answer the round keeps.
func ofReadings(qs []question) bool {
	return slices.ContainsFunc(qs, func(q question) bool { return q.reading })
}
