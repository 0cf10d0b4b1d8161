package demo

import (
	"context"
	"math/rand/v2"
	"slices"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/record"
)

// teller follows the plant from round to round, and writes down what the people of Tern Hollow do and read.
type teller struct {
	plant  *plant.Plant
	cal    calendar
	works  *works
	gauges *gauges
	walk   *rand.Rand
	notes  *notebook
	visits []visit
	story  *Story

	coming []incident // not in order

	rainRead  float64 // when the rain gauge was last emptied, s
	clearAtM  float64 // the screen loss at which the caretaker clears it next, m
	finalDone bool    // the last clearing of the story is done
	bothSince float64 // since when both sets run, s; -1 while they do not
	quiet     bool    // the sets are left as they are while something is looked into
	outKnown  bool    // a dead element is known: both sets together are not run
	failed    bool    // the element's story has begun
	spilled   bool    // the first spill of a wet spell was noted
	greased   map[string]float64
	tasks     []dayTask
}

// incident is something that happens at its time, between rounds.
type incident struct {
	at float64
	do func() error
}

func newTeller(seed uint64, cal calendar, p *plant.Plant) (*teller, error) {
	w, err := newWorks(p, cal, seed)
	if err != nil {
		return nil, err
	}
	t := &teller{
		plant: p, cal: cal, works: w, bothSince: -1,
		gauges:  &gauges{plant: p, r: stream(seed, streamGauges)},
		walk:    stream(seed, streamWalk),
		notes:   newNotebook(stream(seed, streamNotes)),
		greased: map[string]float64{large: startHoursA - 240, small: startHoursB - 110},
		tasks:   dayTasks(),
		story:   &Story{},
	}
	t.visits = visits(t.walk, cal)
	t.story.Revision = record.Revision{From: cal.time(cal.at(0, 6.5)), WrittenAt: cal.time(cal.at(0, 6.55)), By: imke, Text: PlantText()}
	t.nextThreshold()
	t.talk()
	t.at(cal.at(lastWeek+4, 18.9), t.sawTrip)
	return t, nil
}

// at makes something happen at a time of the story.
func (t *teller) at(s float64, do func() error) {
	t.coming = append(t.coming, incident{minutes(s), do})
}

// tell goes through the whole story.
func (t *teller) tell(ctx context.Context) error {
	for i := range t.visits {
		v := &t.visits[i]
		if err := t.until(ctx, v.at); err != nil {
			return err
		}
		if err := t.round(v); err != nil {
			return err
		}
	}
	return t.until(ctx, t.cal.end)
}

// until lets everything happen that comes up to a time, and moves the plant on to it.
func (t *teller) until(ctx context.Context, s float64) error {
	for {
		i := t.nextIncident()
		if i < 0 || t.coming[i].at > s {
			return t.works.advance(ctx, s)
		}
		next := t.coming[i]
		t.coming = slices.Delete(t.coming, i, i+1)
		if err := t.works.advance(ctx, next.at); err != nil {
			return err
		}
		if err := next.do(); err != nil {
			return err
		}
	}
}

func (t *teller) nextIncident() int {
	best := -1
	for i := range t.coming {
		if best < 0 || t.coming[i].at < t.coming[best].at {
			best = i
		}
	}
	return best
}

// event writes down something that happens now. It is written so many minutes later.
func (t *teller) event(e record.Event, minutesLater float64) {
	e.Time = t.cal.time(t.works.at)
	e.WrittenAt = t.cal.time(t.works.at + minutesLater*60)
	t.story.Events = append(t.story.Events, e)
}

// ran lists the running sets for an event.
func (t *teller) ran() []string { return slices.Clone(t.works.running) }

// visitAfter is the first visit later than a time.
func (t *teller) visitAfter(s float64) *visit {
	for i := range t.visits {
		if t.visits[i].at > s {
			return &t.visits[i]
		}
	}
	return &t.visits[len(t.visits)-1]
}
