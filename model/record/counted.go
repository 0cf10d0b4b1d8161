package record

import (
	"slices"
	"time"

	"example.org/headpond/model/quantity"
)

// Counting says what running hours are counted of: from when on, by which hour meter, and by which units where it does not tell.
type Counting struct {
	Meter quantity.Key
	Units []string  // the time counts in which any of them runs
	From  time.Time // where the counting begins
	Look  time.Time // how far before it a reading of the meter may stand that still tells something
}

// Same reports whether two are the same counting.
func (c Counting) Same(o Counting) bool {
	return c.Meter == o.Meter && c.From.Equal(o.From) && c.Look.Equal(o.Look) && slices.Equal(c.Units, o.Units)
}

// Count is how far a counting has come by an instant, with all that going on from there needs.
type Count struct {
	Counting

	Readings  int       // of the meter, one before From included
	Last      time.Time // when the meter was last read; zero where it was not
	LastHours float64   // what it then showed

	Hours  float64 // up to the last reading
	Known  bool    // the log tells all of that
	Jumped bool    // the meter fell or jumped

	Open      float64 // hours since the last reading by rounds and events, which the next reading may replace
	OpenKnown bool

	Before      float64 // where the last reading stands before From: the hours by rounds and events between the two
	BeforeKnown bool
}

// Counted is what was counted of everything before an instant, so that it need not be read again.
type Counted struct {
	Until   time.Time          // what happened at this instant, or later, is not in it
	Running map[string]Running // of every unit just before
	Counts  []Count
}

// Find returns how far a counting had come.
func (c *Counted) Find(g Counting) (Count, bool) {
	for _, n := range c.Counts {
		if n.Same(g) {
			return n, true
		}
	}
	return Count{}, false
}

// Events are what brings a timeline that begins at Until into the state just before. They come before all else of that instant.
func (c *Counted) Events() []Event {
	var list []Event
	for unit, state := range c.Running {
		switch state {
		case On:
			list = append(list, Event{Time: c.Until, Kind: Start, Units: []string{unit}})
		case Off:
			list = append(list, Event{Time: c.Until, Kind: Stop, Units: []string{unit}})
		case Unknown:
		}
	}
	return list
}
