package chart

import (
	"math"
	"time"
)

// timeStep is a distance between time marks that people count in.
type timeStep struct {
	seconds float64 // nearly, to choose by
	label   int     // widest label in cells
	every   int     // so many of the unit
	unit    stepUnit
}

type stepUnit int

const (
	minutes stepUnit = iota
	days
	weeks
	months
	years
)

const (
	minute = 60.0
	day    = 24 * 60 * minute
	year   = 365.2425 * day
)

// timeSteps lists the distances from fine to coarse; years go on from there.
func timeSteps() []timeStep {
	var steps []timeStep
	for _, n := range []int{1, 5, 10, 15, 30, 60, 120, 180, 360, 720} {
		steps = append(steps, timeStep{float64(n) * minute, 6, n, minutes})
	}
	for _, n := range []int{1, 2} {
		steps = append(steps, timeStep{float64(n) * day, 6, n, days})
	}
	for _, n := range []int{1, 2} {
		steps = append(steps, timeStep{float64(n) * 7 * day, 6, n, weeks})
	}
	for _, n := range []int{1, 2, 3, 6} {
		steps = append(steps, timeStep{float64(n) * year / 12, 4, n, months})
	}
	for _, n := range []int{1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000} {
		steps = append(steps, timeStep{float64(n) * year, 4, n, years})
	}
	return steps
}

// timeTicks returns marks at local times that people count in (full hours, midnights, Mondays, first of month), as close as
// w cells of axis allow.
func timeTicks(from, to time.Time, w int) []tick {
	span := seconds(to) - seconds(from)
	steps := timeSteps()
	step := steps[len(steps)-1]
	for _, s := range steps {
		if span/s.seconds*float64(s.label+2) <= float64(w) {
			step = s
			break
		}
	}
	var ticks []tick
	dated := false
	last := from.Add(-time.Nanosecond)
	for i := 0; i < 2*w+50; i++ {
		at := step.nth(from, i)
		if at.After(to) {
			break
		}
		if !at.After(last) || at.Before(from) {
			continue // before the window, or the hour that a clock change repeats
		}
		last = at
		label, rank := step.text(at)
		dated = dated || rank > 0
		ticks = append(ticks, tick{at: (seconds(at) - seconds(from)) / span, label: label, rank: rank})
	}
	if !dated && step.unit == minutes && len(ticks) > 0 {
		ticks[0].label = from.Format("2 Jan") + " " + ticks[0].label
		ticks[0].rank = 1
	}
	return ticks
}

// nth returns the i-th mark from just before an instant on, counted on the local clock.
func (s timeStep) nth(from time.Time, i int) time.Time {
	y, m, d := from.Date()
	loc := from.Location()
	switch s.unit {
	case minutes:
		start := (from.Hour()*60 + from.Minute()) / s.every
		return time.Date(y, m, d, 0, (start+i)*s.every, 0, 0, loc)
	case days:
		return time.Date(y, m, d-(d-1)%s.every+i*s.every, 0, 0, 0, 0, loc)
	case weeks:
		monday := d - (int(from.Weekday())+6)%7
		return time.Date(y, m, monday+7*i*s.every, 0, 0, 0, 0, loc)
	case months:
		return time.Date(y, m-(m-1)%time.Month(s.every)+time.Month(i*s.every), 1, 0, 0, 0, 0, loc)
	case years:
	}
	return time.Date(y-y%s.every+i*s.every, 1, 1, 0, 0, 0, 0, loc)
}

// text labels a mark; the start of a larger unit is named by it and ranks higher.
func (s timeStep) text(t time.Time) (string, int) {
	switch s.unit {
	case minutes:
		if t.Hour() == 0 && t.Minute() == 0 {
			return t.Format("2 Jan"), 1
		}
		return t.Format("15:04"), 0
	case days, weeks:
		return t.Format("2 Jan"), 0
	case months:
		if t.Month() == time.January {
			return t.Format("2006"), 1
		}
		return t.Format("Jan"), 0
	case years:
	}
	return t.Format("2006"), 0
}

// column returns the cell of a place from 0 to 1 among w, and false outside.
func column(at float64, w int) (int, bool) {
	if at < 0 || at > 1 || math.IsNaN(at) || w < 1 {
		return 0, false
	}
	return int(math.Round(at * float64(w-1))), true
}
