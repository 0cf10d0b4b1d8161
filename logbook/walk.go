package logbook

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"example.org/headpond/model/record"
)

// walkBody is a checklist that was walked, as key 51 of an entry of upkeep done. The numbers are those of FORMAT.md.
type walkBody struct {
	For   string     `cbor:"1,keyasint,omitempty"`
	Units []string   `cbor:"2,keyasint,omitempty"`
	Begun stamp      `cbor:"3,keyasint"`
	Ticks []tickBody `cbor:"4,keyasint,omitempty"`
}

// tickBody is one step.
type tickBody struct {
	Step  string `cbor:"1,keyasint"`
	State string `cbor:"2,keyasint,omitempty"`
	Note  string `cbor:"3,keyasint,omitempty"`
	At    *stamp `cbor:"4,keyasint,omitempty"`
}

// walkOf turns a walk into what is kept of it. Nothing walked is nothing kept.
func walkOf(w *record.Walk) (*walkBody, error) {
	if w == nil {
		return nil, nil
	}
	begun, err := stampOf(w.Begun)
	if err != nil {
		return nil, err
	}
	b := &walkBody{For: clean(w.For), Begun: begun}
	if len(w.Units) > 0 {
		b.Units = cleanList(w.Units)
	}
	for i, t := range w.Ticks {
		if strings.TrimSpace(t.Step) == "" {
			return nil, invalid(fmt.Sprintf("step %d of the checklist has no words", i+1), "what is to be done")
		}
		k := tickBody{Step: clean(t.Step), State: clean(string(t.State)), Note: clean(t.Note)}
		if !t.At.IsZero() {
			at, err := stampOf(t.At)
			if err != nil {
				return nil, err
			}
			k.At = &at
		}
		b.Ticks = append(b.Ticks, k)
	}
	return b, nil
}

// walk gives the record's form. Nothing of it is shared with the body, since corrections are written into it.
func (b *walkBody) walk(loc *time.Location) *record.Walk {
	if b == nil {
		return nil
	}
	w := &record.Walk{For: b.For, Units: slices.Clone(b.Units), Begun: b.Begun.clockTime(loc)}
	for _, k := range b.Ticks {
		t := record.Tick{Step: k.Step, State: record.TickState(k.State), Note: k.Note}
		if k.At != nil {
			t.At = k.At.clockTime(loc)
		}
		w.Ticks = append(w.Ticks, t)
	}
	return w
}

// stepText is the column of a step, "" where the entry has no such step.
func stepText(w *record.Walk, key string) string {
	if w == nil {
		return ""
	}
	if i, ok := record.StepOf(key, len(w.Ticks)); ok {
		return w.Ticks[i].Text()
	}
	return ""
}

// setStep corrects what came of a step; Withdrawn opens it. Its time stays: it is when the person stood there.
func setStep(w *record.Walk, key, text string) error {
	i, ok := record.StepOf(key, len(w.Ticks))
	if !ok {
		return invalid(key+" is no step of this checklist", fmt.Sprintf("%s to %s", record.StepColumn(0), record.StepColumn(len(w.Ticks)-1)))
	}
	if text == Withdrawn {
		text = "open"
	}
	state, note, err := record.ParseTick(text)
	if err != nil {
		return invalid(fmt.Sprintf("%s = %q", key, text), `"done", "skipped: why", "not-ok: what was found" or "open"`)
	}
	w.Ticks[i].State, w.Ticks[i].Note = state, note
	return nil
}
