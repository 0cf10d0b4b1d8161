package datapackage

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/csvfile"
	"example.org/headpond/model/record"
)

// colChecklist is the column of upkeep.csv that holds a checklist as it was walked, as JSON. It stands only in packages that hold
// one, so that others look as they always did.
const colChecklist = "checklist"

// walkCell and tickCell are that JSON.
type walkCell struct {
	For   string     `json:"for,omitempty"`
	Units []string   `json:"units,omitempty"`
	Begun string     `json:"begun"`
	Steps []tickCell `json:"steps"`
}

type tickCell struct {
	Step  string `json:"step"`
	State string `json:"state,omitempty"`
	Note  string `json:"note,omitempty"`
	At    string `json:"at,omitempty"`
}

func checklistField() Field {
	return Field{Name: colChecklist, Title: "Checklist", Type: "object",
		Description: "Where a checklist was walked: what it is for, its units, when it was begun, and each step with what came of it (done, skipped, not-ok, or nothing where it is open), a note and the time"}
}

// withChecklists reports whether a header of upkeep.csv has the column.
func withChecklists(header []string) bool { return slices.Contains(header, colChecklist) }

// walkText writes a walk as a cell, "" for none.
func walkText(w *record.Walk) string {
	if w == nil {
		return ""
	}
	c := walkCell{For: w.For, Units: w.Units, Begun: record.TimeText(w.Begun), Steps: []tickCell{}}
	for _, t := range w.Ticks {
		k := tickCell{Step: t.Step, State: string(t.State), Note: t.Note}
		if !t.At.IsZero() {
			k.At = record.TimeText(t.At)
		}
		c.Steps = append(c.Steps, k)
	}
	var b strings.Builder
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(c); err != nil {
		return "" // texts can always be written; the row's hash would tell otherwise
	}
	return strings.TrimSuffix(b.String(), "\n")
}

var errWalk = errors.New("its checklist is not JSON as headpond export writes it")

// readWalk is the inverse of walkText.
func readWalk(cell string) (*record.Walk, error) {
	if cell == "" {
		return nil, nil
	}
	var c walkCell
	dec := json.NewDecoder(bytes.NewReader([]byte(cell)))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&c); err != nil {
		return nil, errWalk
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return nil, errWalk
	}
	begun, err := time.Parse(time.RFC3339, c.Begun)
	if err != nil {
		return nil, fmt.Errorf("its checklist does not say when it was begun: %w", errWalk)
	}
	w := &record.Walk{For: c.For, Units: c.Units, Begun: begun}
	texts := append([]string{c.For}, c.Units...)
	for _, k := range c.Steps {
		t := record.Tick{Step: k.Step, State: record.TickState(k.State), Note: k.Note}
		if k.At != "" {
			if t.At, err = time.Parse(time.RFC3339, k.At); err != nil {
				return nil, fmt.Errorf("a step of its checklist has a time that is none: %w", errWalk)
			}
		}
		texts = append(texts, k.Step, k.State, k.Note)
		w.Ticks = append(w.Ticks, t)
	}
	for _, s := range texts {
		if !csvfile.Printable(s) {
			return nil, fmt.Errorf("its checklist holds a control or escape character: %w", errWalk)
		}
	}
	return w, nil
}

// hasWalk reports whether an entry needs the column.
func hasWalk(e logbook.Entry) bool { return e.Done != nil && e.Done.Walk != nil }
