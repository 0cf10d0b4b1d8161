package week

import (
	"time"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// DayFacts is one local day, for charts.
type DayFacts struct {
	From         time.Time `json:"from"`
	To           time.Time `json:"to"`
	EnergyKWh    Energy    `json:"energy_kwh"`
	HoursCovered float64   `json:"hours_covered"`
	HoursStood   float64   `json:"hours_stood"`
	Rounds       int       `json:"rounds"`
	Clearings    int       `json:"clearings,omitempty"`
	Stops        int       `json:"stops,omitempty"` // that began on this day
	Trips        int       `json:"trips,omitempty"`
	HoursOut     float64   `json:"hours_out"` // of the quantity that was out of its band longest
	Extremes     []Extreme `json:"extremes,omitempty"`
}

// Extreme returns the day's extremes of a quantity.
func (d DayFacts) Extreme(quantity string) (Extreme, bool) { return extremeOf(d.Extremes, quantity) }

// Extreme returns the period's extremes of a quantity.
func (p *Period) Extreme(quantity string) (Extreme, bool) { return extremeOf(p.Extremes, quantity) }

func extremeOf(list []Extreme, quantity string) (Extreme, bool) {
	for _, e := range list {
		if e.Quantity == quantity {
			return e, true
		}
	}
	return Extreme{}, false
}

// Of returns the state times of a quantity.
func (s States) Of(quantity string) (QuantityState, bool) {
	for _, q := range s {
		if q.Quantity == quantity {
			return q, true
		}
	}
	return QuantityState{}, false
}

// Point is one round, for charts.
type Point struct {
	At
	Values       map[quantity.Key]float64 // as read; the round's own map, only for reading
	States       map[quantity.Key]string  // "in", "near", "out"; absent without a band
	GeneratedKW  *float64
	UsedKW       *float64
	DumpedKW     *float64
	Cleared      bool
	BrokenBefore bool // the first point, or a gap, a start, a stop or a trip lies before it: no line joins it to the one before
	Hole         *Hole
}

// Hole is the part of the time before a round of which neither it nor the round before tells what the machines did.
type Hole struct {
	From, To time.Time
}

// Mark is an event, for charts.
type Mark struct {
	At
	Kind  record.EventKind
	Units []string
	Text  string // in words: "trip of A (frost)"
}
