package demo

import (
	"math"
	"math/rand/v2"
	"time"
)

// The streams of chance. Each part of the story draws from its own, so that a change in one leaves the others as they were.
const (
	streamWeather uint64 = iota + 1
	streamDemand
	streamWander
	streamGauges
	streamWalk
	streamNotes
)

func stream(seed, part uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, part)) }

// days is the length of the story.
const days = 120

const (
	hour = 3600.0 // s
	day  = 86400.0
)

// calendar turns the story's time, seconds after its start, into the plant's clock and back. Day 0 begins at local
// midnight; a day on which the clocks change has 23 or 25 hours, and everything that people do keeps to the clock.
type calendar struct {
	start time.Time // local midnight of day 0
	end   float64   // the story's end, s
	loc   *time.Location
}

func newCalendar(end time.Time, loc *time.Location) calendar {
	local := end.In(loc)
	y, m, d := local.Date()
	start := time.Date(y, m, d-days, 0, 0, 0, 0, loc)
	return calendar{start: start, end: local.Sub(start).Seconds(), loc: loc}
}

// time is the moment s seconds after the start, on the plant's clock.
func (c calendar) time(s float64) time.Time {
	return c.start.Add(time.Duration(math.Round(s)) * time.Second)
}

// at is when the clock shows a time of day, in hours, on a day of the story. An hour that a clock change leaves out is
// one beside it.
func (c calendar) at(day int, clock float64) float64 {
	y, m, d := c.start.Date()
	h := int(clock)
	min := int(math.Round((clock - float64(h)) * 60))
	return time.Date(y, m, d+day, h, min, 0, 0, c.loc).Sub(c.start).Seconds()
}

// clock is the time of day, in hours, and the day of the week.
func (c calendar) clock(s float64) (float64, time.Weekday) {
	t := c.time(s)
	h, m, sec := t.Clock()
	return float64(h) + float64(m)/60 + float64(sec)/3600, t.Weekday()
}

// day is the number of the story's day, counted in days of 24 hours: near enough for weather and rates.
func (c calendar) day(s float64) int { return max(0, int(s/day)) }

// yearDay is the day of the year, 1 to 366.
func (c calendar) yearDay(n int) float64 { return float64(c.start.AddDate(0, 0, n).YearDay()) }

// series is a value that wanders about zero, known at every hour and straight between. Its neighbours an hour apart are
// correlated by keep; its standard deviation is sd.
type series []float64

func wander(r *rand.Rand, hours int, keep, sd float64) series {
	s := make(series, hours)
	x := r.NormFloat64()
	push := math.Sqrt(1 - keep*keep)
	for i := range s {
		s[i] = sd * x
		x = keep*x + push*r.NormFloat64()
	}
	return s
}

// at is the value s seconds after the start.
func (v series) at(s float64) float64 {
	x := s / hour
	i := int(x)
	if x < 0 || i >= len(v)-1 {
		return v[min(max(i, 0), len(v)-1)]
	}
	return v[i] + (x-float64(i))*(v[i+1]-v[i])
}
