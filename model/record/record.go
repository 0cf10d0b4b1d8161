// Package record holds what people write down, as plain values: rounds, events, upkeep done and corrections. It knows
// neither how they are stored nor how they are shown.
package record

import (
	"time"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
)

// Round is one walk through the plant. What was not read is absent from the maps: blank is never zero.
type Round struct {
	ID        string // 26-character ULID of the entry; "" while not yet kept
	Time      time.Time
	WrittenAt time.Time // when it was written down; later than Time for a back-filled round
	By        string
	Running   *[]string // unit ids read as running; nil when it was not read, empty when none ran
	Values    map[quantity.Key]float64
	Words     map[quantity.Key]string
	Typed     map[quantity.Key]string // what was typed, where it was in another unit or not plausible and confirmed
	Extra     map[string]string       // text of unknown CSV columns, kept with the row
	Confirmed bool                    // implausible values were confirmed by the person
	Note      string
	Changes   []Change // the corrections that were applied, oldest first
}

// Value returns a number and whether it was read.
func (r Round) Value(k quantity.Key) (float64, bool) {
	v, ok := r.Values[k]
	return v, ok
}

// Word returns a word such as "partly" and whether it was read.
func (r Round) Word(k quantity.Key) (string, bool) {
	w, ok := r.Words[k]
	return w, ok
}

// Change is one key's correction by an amendment. The old value stays visible.
type Change struct {
	Amendment string // id of the amendment
	Key       string // CSV column, or "time", "by", "running", "note"
	Old       string // as text in the CSV's form; "" where it was not read
	New       string // "" where the reading was withdrawn
	By        string
	At        time.Time // when the correction was written
	Why       string
}

// EventKind is what happened.
type EventKind string

// The kinds of event of the contract.
const (
	Start      EventKind = "start"
	Stop       EventKind = "stop"
	Trip       EventKind = "trip"
	ElementOut EventKind = "element-out"
	ElementIn  EventKind = "element-back"
	Alarm      EventKind = "alarm"
	Repair     EventKind = "repair"
	NoteEvent  EventKind = "note"
)

// EventKinds lists the kinds in the order in which they are offered.
func EventKinds() []EventKind {
	return []EventKind{Start, Stop, Trip, ElementOut, ElementIn, Alarm, Repair, NoteEvent}
}

// Event is something that happened between rounds.
type Event struct {
	ID        string
	Time      time.Time
	WrittenAt time.Time
	Kind      EventKind
	Units     []string // the units that it concerns; empty for all, where the kind allows it
	Element   string   // ballast element of element-out and element-back
	Cause     string
	By        string
	Note      string
	Changes   []Change
}

// Done is one upkeep task done, or a checklist that was walked.
type Done struct {
	ID        string
	Time      time.Time
	WrittenAt time.Time
	Task      string // "" where a correction took it back: it counts for nothing then
	By        string
	Note      string
	Walk      *Walk // the steps of a checklist; nil for an upkeep task
	Changes   []Change
}

// Revision is a plant description and when it came into force.
type Revision struct {
	ID        string
	From      time.Time // the first revision also holds for all earlier times
	WrittenAt time.Time
	By        string
	Text      string       // the TOML file as it was loaded, to the byte
	Plant     *plant.Plant // Text parsed
}

// History is what the book says up to a moment: the only thing that the computing packages are given.
type History struct {
	At        time.Time    // "now" for everything that is computed
	Plant     *plant.Plant // the revision in force at At
	Revisions []Revision   // oldest first
	Rounds    []Round      // effective values after corrections, oldest first, none later than At
	Events    []Event      // oldest first, none later than At
	Done      []Done       // oldest first, none later than At
	Complete  bool         // false where older entries were left in the book
	Begun     time.Time    // of the book's oldest round, also one that was left in the book; zero where there is none
	Earlier   *Earlier     // from before the first of Rounds, where it was asked for; nil where it was not or nothing is there
	Later     *Later       // dated after At, where it was asked for; nil where it was not or nothing is
	Ahead     time.Time    // of the first round that is dated after At; zero where there is none
	Cautions  []string     // for instance: rounds dated in the future were left out
	Damage    int          // how many of Cautions, the first ones, tell of damage in the book
}

// Later is what is dated after a history's At: it has no part in any answer, and is listed so that a wrong time can be corrected.
type Later struct {
	Rounds []Round // oldest first
	Events []Event // oldest first
	Done   []Done  // oldest first
}

// Next is the time of the first of them, at which it comes into force.
func (l *Later) Next() time.Time {
	var next time.Time
	see := func(t time.Time) {
		if next.IsZero() || t.Before(next) {
			next = t
		}
	}
	for _, r := range l.Rounds {
		see(r.Time)
	}
	for _, e := range l.Events {
		see(e.Time)
	}
	for _, d := range l.Done {
		see(d.Time)
	}
	return next
}

// Earlier is what is read of the time before a history's own rounds, for sums that reach further back than anything else
// does: the running hours since a bearing was greased. Rounds say what ran and what the hour meters showed, and nothing more.
type Earlier struct {
	Rounds  []Round  // oldest first
	Events  []Event  // starts, stops and trips, oldest first
	Counted *Counted // what was counted before of all that is older still; nil where everything that is needed stands above
}

// PlantAt returns the revision in force at a time; the first one holds for all earlier times. It is nil only when the
// book has no plant.
func (h *History) PlantAt(t time.Time) *plant.Plant {
	if len(h.Revisions) == 0 {
		return h.Plant
	}
	p := h.Revisions[0].Plant
	for _, r := range h.Revisions[1:] {
		if r.From.After(t) {
			break
		}
		p = r.Plant
	}
	return p
}

// Last returns the latest round, or false when there is none.
func (h *History) Last() (Round, bool) {
	if len(h.Rounds) == 0 {
		return Round{}, false
	}
	return h.Rounds[len(h.Rounds)-1], true
}

// LastWith returns the latest round that holds any of the keys.
func (h *History) LastWith(keys ...quantity.Key) (Round, bool) {
	for i := len(h.Rounds) - 1; i >= 0; i-- {
		for _, k := range keys {
			if _, ok := h.Rounds[i].Values[k]; ok {
				return h.Rounds[i], true
			}
			if _, ok := h.Rounds[i].Words[k]; ok {
				return h.Rounds[i], true
			}
		}
	}
	return Round{}, false
}
