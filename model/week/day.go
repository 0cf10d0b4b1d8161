package week

import (
	"math"
	"time"
)

// Version changes whenever Day or Carry are worked out differently, so that roll-ups of another version are made again.
const Version = 4

// Day is what one local day, or a part of it, adds to a review: sums that add, extremes that compare, and lists. It is what
// the logbook keeps as roll-ups; the numbers in the tags are never used for anything else.
type Day struct {
	From int64 `cbor:"1,keyasint"` // ms since 1970, inclusive
	To   int64 `cbor:"2,keyasint"` // exclusive
	// Needs is the time of the last entry that the day depends on, or up to which one might still come that changes it, ms.
	Needs int64 `cbor:"3,keyasint"`

	Sums     map[string]Sum       `cbor:"4,keyasint,omitempty"` // by track: Generated, Used, Dumped, a unit's id
	States   map[string]StateTime `cbor:"5,keyasint,omitempty"` // by quantity
	Lows     map[string]Seen      `cbor:"6,keyasint,omitempty"` // lowest reading by quantity
	Highs    map[string]Seen      `cbor:"7,keyasint,omitempty"`
	Firsts   map[string]Seen      `cbor:"8,keyasint,omitempty"` // first and last pond level
	Lasts    map[string]Seen      `cbor:"9,keyasint,omitempty"`
	Counts   map[string]int       `cbor:"10,keyasint,omitempty"` // readings by quantity, and of limits broken
	Units    map[string]UnitTime  `cbor:"11,keyasint,omitempty"`
	Rounds   int                  `cbor:"12,keyasint,omitempty"`
	Last     *Seen                `cbor:"13,keyasint,omitempty"` // the last round
	Stood    float64              `cbor:"14,keyasint,omitempty"` // h, all common-bus units known to stand
	Tripped  float64              `cbor:"15,keyasint,omitempty"` // h of it after a trip
	Known    float64              `cbor:"16,keyasint,omitempty"` // h, all common-bus units known
	RatedKWh float64              `cbor:"17,keyasint,omitempty"` // what the rated common-bus sets would give in the covered time
	RainMM   float64              `cbor:"18,keyasint,omitempty"`
	Stops    []StopRow            `cbor:"19,keyasint,omitempty"` // that began on this day
	Open     []StopRow            `cbor:"20,keyasint,omitempty"` // that had begun before it and lasted at its beginning
	Ons      []OnRow              `cbor:"21,keyasint,omitempty"` // units that began to run
	Clears   []ClearRow           `cbor:"22,keyasint,omitempty"`
	Hours    [24]uint8            `cbor:"23,keyasint"` // rounds by local clock hour
}

// The tracks that are summed beside the units' own.
const (
	Generated = "generated"
	Used      = "used"
	Dumped    = "dumped"
)

// Sum is an energy and what is not known of it.
type Sum struct {
	KWh     float64 `cbor:"1,keyasint,omitempty"`
	Hours   float64 `cbor:"2,keyasint,omitempty"`  // covered
	Gauge   float64 `cbor:"3,keyasint,omitempty"`  // reading errors, kWh, one standard deviation: a gauge that is off stays off, so they add
	Var     float64 `cbor:"4,keyasint,omitempty"`  // what may have happened between the readings of this day, kWh²
	Between float64 `cbor:"5,keyasint,omitempty"`  // the same of whole days before, kWh, added day after day
	Head    float64 `cbor:"6,keyasint,omitempty"`  // how a meter's difference from before the beginning divides, kWh
	Tail    float64 `cbor:"7,keyasint,omitempty"`  // the same at the end
	Metered float64 `cbor:"8,keyasint,omitempty"`  // h of Hours that a meter's total tells
	PeakKW  float64 `cbor:"9,keyasint,omitempty"`  // the highest power read
	Shared  float64 `cbor:"10,keyasint,omitempty"` // the readings' own being off the mean, kWh, which adds up (spread.go)
}

// plus adds the sum of a later stretch to that of an earlier one. What lies between readings is independent within a day but
// adds up day after day: rounds are walked at the same hours, and what they miss they miss daily. A meter's difference that
// ends in one day and goes on in the next is known for both together.
func (s Sum) plus(n Sum) Sum {
	s.KWh += n.KWh
	s.Hours += n.Hours
	s.Gauge += n.Gauge
	s.Shared += n.Shared
	s.Between += n.between()
	s.Metered += n.Metered
	s.Tail = n.Tail
	s.PeakKW = max(s.PeakKW, n.PeakKW)
	return s
}

// begin is a sum of one day as the first of several.
func (s Sum) begin() Sum {
	s.Between, s.Var = s.between(), 0
	return s
}

func (s Sum) between() float64 { return s.Between + math.Sqrt(s.Var) }

// sd is the standard deviation of the sum, kWh.
func (s Sum) sd() float64 {
	return math.Hypot(math.Hypot(s.Gauge, s.Shared), math.Hypot(s.between(), math.Hypot(s.Head, s.Tail)))
}

// Range is the sum with its range. None of it lies below 0: nothing is generated or dumped below nothing, though a meter of what
// was used that counts more than was read to be generated leaves less than nothing to be dumped.
func (s Sum) Range() Range {
	half := sigmas * s.sd()
	return Range{Value: max(0, s.KWh), Low: max(0, s.KWh-half), High: max(0, s.KWh+half)}
}

// StateTime is how long a quantity stood where, h.
type StateTime struct {
	In   float64 `cbor:"1,keyasint,omitempty"`
	Near float64 `cbor:"2,keyasint,omitempty"`
	Out  float64 `cbor:"3,keyasint,omitempty"`
	N    int     `cbor:"4,keyasint,omitempty"` // readings
}

// Seen is a value, the round that read it, and its state.
type Seen struct {
	V     float64 `cbor:"1,keyasint,omitempty"`
	At    int64   `cbor:"2,keyasint"`
	ID    string  `cbor:"3,keyasint,omitempty"`
	State string  `cbor:"4,keyasint,omitempty"`
	Set   string  `cbor:"5,keyasint,omitempty"` // what ran, where that matters
}

// UnitTime is what a unit did.
type UnitTime struct {
	On      float64 `cbor:"1,keyasint,omitempty"` // h
	Unknown float64 `cbor:"2,keyasint,omitempty"` // h
	Starts  int     `cbor:"3,keyasint,omitempty"`
}

// StopRow is the beginning of a stop.
type StopRow struct {
	At    int64    `cbor:"1,keyasint"`
	ID    string   `cbor:"2,keyasint,omitempty"`
	Kind  string   `cbor:"3,keyasint"`
	Units []string `cbor:"4,keyasint"`
	All   bool     `cbor:"5,keyasint,omitempty"`
	Cause string   `cbor:"6,keyasint,omitempty"`
	By    string   `cbor:"7,keyasint,omitempty"`
	Note  string   `cbor:"8,keyasint,omitempty"`
}

// OnRow is when units began to run.
type OnRow struct {
	At    int64    `cbor:"1,keyasint"`
	Units []string `cbor:"2,keyasint"`
}

// ClearRow is a clearing of the screen.
type ClearRow struct {
	At     int64    `cbor:"1,keyasint"`
	ID     string   `cbor:"2,keyasint,omitempty"`
	By     string   `cbor:"3,keyasint,omitempty"`
	Before *float64 `cbor:"4,keyasint,omitempty"`
	After  *float64 `cbor:"5,keyasint,omitempty"`
	KW     *float64 `cbor:"6,keyasint,omitempty"`
}

func hoursOf(fromMS, toMS int64) float64 {
	return float64(toMS-fromMS) / float64(time.Hour.Milliseconds())
}
