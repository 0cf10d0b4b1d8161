package demo

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/record"
)

// Seed is the seed of the story that `headpond demo` tells.
const Seed = 4

// Story is a logbook's content as plain values. No entry has an ID yet; each has its time of writing, none later than End.
type Story struct {
	Seed       uint64
	End        time.Time
	Plant      *plant.Plant
	Revision   record.Revision // the plant file, loaded on the first morning
	Rounds     []record.Round  // as they were first written, oldest first
	Events     []record.Event  // oldest first
	Done       []record.Done   // oldest first
	Amendments []Amendment     // oldest first

	found []moment // what was so when each round began
	truth []moment // and after the screen was cleared, where it was: what was read, before any mistake
}

// Amendment is a correction of one of the story's rounds.
type Amendment struct {
	Round   int               // index into Story.Rounds
	Changes map[string]string // columns and their new text, "-" withdraws
	Why, By string
	At      time.Time // when it was written
}

// History tells 120 days of Tern Hollow's logbook up to a time: two rounds a day, the last one two to three hours before
// the end, on the plant's clock in loc. The same seed and end give the same story. The season of the end decides what
// drifts onto the screen, how much evaporates and whether there is ice; the run of the weather is the same in all seasons:
// a usual month, a wet spell, a long dry spell, its end, and a last dry fortnight.
//
// It fails only for an end that no clock shows (before the year 1970), or by a flaw of this program.
func History(seed uint64, end time.Time, loc *time.Location) (*Story, error) {
	if end.AddDate(0, 0, -days-2).Unix() < 0 {
		return nil, fmt.Errorf("a demo history cannot end at %s; expected a time after May 1970", end.Format(time.RFC3339))
	}
	if loc == nil {
		return nil, errors.New("a demo history needs the time zone of its clock")
	}
	p, err := Plant()
	if err != nil {
		return nil, err
	}
	t, err := newTeller(seed, newCalendar(end, loc), p)
	if err != nil {
		return nil, err
	}
	if err := t.tell(context.Background()); err != nil {
		return nil, err
	}
	t.mistakes()
	return t.finish(seed, end.In(loc)), nil
}

// finish puts everything in order of time.
func (t *teller) finish(seed uint64, end time.Time) *Story {
	s := t.story
	s.Seed, s.End, s.Plant = seed, end, t.plant
	slices.SortStableFunc(s.Events, func(a, b record.Event) int { return a.Time.Compare(b.Time) })
	slices.SortStableFunc(s.Done, func(a, b record.Done) int { return a.Time.Compare(b.Time) })
	slices.SortStableFunc(s.Amendments, func(a, b Amendment) int {
		return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Round, b.Round))
	})
	return s
}
