package demo

import (
	"math"
	"slices"
	"time"

	"example.org/headpond/model/record"
)

// The levels at which the caretaker changes what runs, m on the gauge. The gaps between them keep the sets from being
// switched back and forth.
const (
	bothAboveM  = 0.07
	bothBelowM  = -0.01
	smallBelowM = -0.42
	largeAboveM = -0.28
	nightBelowM = -0.68 // below it nothing runs at night
)

// The night stop that spares the pond at the end of a dry spell.
const (
	nightFrom = 22.5 // clock, hours
	nightTo   = 5.75
)

// The last clearing of the story, and what the screen has come to at its end.
const (
	finalDays  = 6.4
	finalClear = 0.056
)

// nextThreshold is the screen loss at which the caretaker finds the next clearing worth the walk.
func (t *teller) nextThreshold() { t.clearAtM = 0.25 + 0.3*t.walk.Float64() }

// wantsClearing decides whether the screen is cleared on this round.
func (t *teller) wantsClearing(v *visit, m *moment) bool {
	final := t.cal.end-v.at < finalDays*day
	switch {
	case final && !t.finalDone:
		t.finalDone = true
		t.works.litter = t.finalRate(v)
		return true
	case final:
		return false
	case t.beforeFailure(v):
		return true // a clean screen and full power, on the eve of the trouble
	case len(m.running) == 0:
		return false
	case t.quiet && m.clear < 0.5:
		return true // with the sets in doubt, at least the water is to be as it should
	}
	at := t.clearAtM
	if len(m.running) == 1 && m.running[0] == small {
		at *= 0.6 // its flow shows less
	}
	routine := v.morning && m.clear < 0.3 && t.cal.time(v.at).Weekday() == time.Saturday
	return m.screenLossM > at && (v.morning || t.walk.Float64() < 0.5) || routine && t.walk.Float64() < 0.5
}

// finalRate is how fast the screen must shut from its last clearing on so that clearing is due at the story's end.
func (t *teller) finalRate(v *visit) float64 {
	last := t.visits[len(t.visits)-1].at
	return -math.Log(finalClear) / ((last - v.at) / day) * 1.02 // the flow is a little below the one that rates are for
}

// decide looks at the level after a round and changes what runs, some minutes later.
func (t *teller) decide(v *visit, m *moment) error {
	if v.last || t.quiet {
		return nil
	}
	if t.beforeFailure(v) {
		t.failElement(v)
		return nil
	}
	on := func(id string) bool { return slices.Contains(m.running, id) }
	later := v.at + (8+6*t.walk.Float64())*60
	switch both := on(large) && on(small); {
	case len(m.running) == 0:
		return nil
	case !both && on(large) && m.levelM > bothAboveM && !t.outKnown:
		t.at(later, t.start(v.by, small, "water to spare"))
	case both && m.levelM < bothBelowM:
		t.at(later, t.stop(v.by, small, "the pond is falling"))
	case !both && on(large) && m.levelM < smallBelowM:
		t.at(later, t.start(v.by, small, "to spare the pond"))
		t.at(later+4*60, t.stop(v.by, large, "to spare the pond"))
	case !both && on(small) && m.levelM < nightBelowM && !v.morning:
		t.at(t.cal.at(v.day, nightFrom), t.stop(v.by, small, "night stop, to spare the pond"))
		t.at(t.cal.at(v.day+1, nightTo), t.start(v.by, small, "end of the night stop"))
	case !both && on(small) && m.levelM > largeAboveM:
		t.at(later, t.start(v.by, large, "the pond is coming up"))
		t.at(later+5*60, t.stop(v.by, small, "the large set carries the house"))
	}
	return nil
}

// start puts a set on the bus.
func (t *teller) start(by, id, why string) func() error {
	return func() error {
		t.works.switchTo(append(t.ran(), id)...)
		t.bothSince = -1
		if len(t.works.running) > 1 {
			t.bothSince = t.works.at
		}
		t.event(record.Event{Kind: record.Start, Units: []string{id}, By: by, Cause: why}, 4)
		return nil
	}
}

// stop takes a set off the bus.
func (t *teller) stop(by, id, why string) func() error {
	return func() error {
		t.works.switchTo(slices.DeleteFunc(t.ran(), func(u string) bool { return u == id })...)
		t.bothSince = -1
		t.event(record.Event{Kind: record.Stop, Units: []string{id}, By: by, Cause: why}, 4)
		return nil
	}
}
