// Package chart draws figures in a terminal: time series with limits, gaps and ranges, bars, and sparklines. Each has a form in
// plain ASCII, nothing depends on colour, and no value (NaN and infinities included) and no size can upset it.
package chart

import (
	"math"
	"time"

	"example.org/headpond/tui/ui"
)

// Point is one reading. A NaN or infinite value means that it is missing, which breaks the line.
type Point struct {
	At    time.Time
	Value float64
}

// Series is a line through readings in time.
type Series struct {
	Name   string
	Points []Point
	Gap    time.Duration // a longer time between two readings breaks the line; 0 never does
}

// BandPoint is a range at one time; NaN on either side means that it is missing.
type BandPoint struct {
	At        time.Time
	Low, High float64
}

// Band is a filled range in time: the fan of a forecast, or one layer of stacked areas.
type Band struct {
	Name   string
	Points []BandPoint
	Fill   Fill
	Gap    time.Duration // a longer time between two points breaks the area; 0 never does
}

// Fill tells areas apart without colour.
type Fill int

// From sparse to solid.
const (
	Light Fill = iota
	Medium
	Solid
)

// Limit is a level drawn across the chart with its name and value.
type Limit struct {
	Name  string
	Value float64
	State ui.State // what it means to pass it; gives the colour only
}

// Event is something that happened, drawn as a broken line at its time with its sign on top; the legend tells the sign.
type Event struct {
	At   time.Time
	Sign rune
	Name string // events of one sign have one name
}

// Flag is a reading that wants to be seen: the sign of its state is drawn over it.
type Flag struct {
	At    time.Time
	Value float64
	State ui.State
}

// Chart is a figure over time. The zero Chart is empty.
type Chart struct {
	Series   []Series // the first ui.SeriesCount have marks of their own
	Bands    []Band   // behind the series, the first at the back
	Limits   []Limit
	Events   []Event
	Flags    []Flag
	Unit     string         // of the values
	From, To time.Time      // the time shown; zero is where the data begins or ends
	Lo, Hi   float64        // the values shown; equal is what data and limits need
	Location *time.Location // of the time axis; nil is UTC
	Now      time.Time      // a vertical line where the past ends; zero is none
	NowName  string         // what that line is called; "" is "now"
	Cursor   time.Time      // a vertical line with the values there; zero is none. On a reading it gets a sign below
	Empty    string         // the sentence that stands where there is nothing to draw
}

// View draws the chart into w by h cells, exactly. Below 12 by 5 cells the axes go, the picture stays.
func (c Chart) View(t ui.Theme, w, h int) string {
	if w <= 0 || h <= 0 {
		return ""
	}
	from, to, ok := c.window()
	if !ok {
		return c.emptyView(t, w, h)
	}
	lo, hi := c.levels(from, to)
	f := newFrame(t, w, h, from, to, lo, hi)
	p := newPlot(t, f.plotW, f.plotH, f)
	for _, b := range c.Bands {
		p.band(b)
	}
	for i, s := range c.Series {
		p.series(i, s, len(c.Series) > 1)
	}
	p.merge()
	for _, e := range c.Events { // before the limits, whose names look for room beside the signs
		p.event(e, from, to)
	}
	for _, l := range c.Limits {
		p.limit(l, f)
	}
	p.vertical(c.Now, from, to)
	for _, g := range c.Flags {
		p.flag(g, from, to)
	}
	p.vertical(c.Cursor, from, to)
	p.cross(c)
	return f.join(p, c)
}

// zone is the time axis's zone.
func (c Chart) zone() *time.Location {
	if c.Location == nil {
		return time.UTC
	}
	return c.Location
}

// nowName is what stands at the line where the past ends.
func (c Chart) nowName() string {
	if c.NowName == "" {
		return "now"
	}
	return c.NowName
}

// emptyView puts the sentence in the middle.
func (c Chart) emptyView(t ui.Theme, w, h int) string {
	sentence := c.Empty
	if sentence == "" {
		sentence = "Nothing to draw yet."
	}
	return blank(t, sentence, w, h)
}

// usable reports whether a value can be drawn. The bound keeps differences finite; no reading comes near it.
func usable(v float64) bool { return math.Abs(v) < 1e100 }

// sensible reports whether a time is one that a calendar can label.
func sensible(t time.Time) bool { return !t.IsZero() && t.Year() >= 1 && t.Year() <= 9999 }

// window returns the time shown. ok is false where neither data nor the caller gives one.
func (c Chart) window() (from, to time.Time, ok bool) {
	from, to = c.span()
	data := !from.IsZero()
	if sensible(c.From) {
		from = c.From
	}
	if sensible(c.To) {
		to = c.To
	}
	if !data && len(c.Limits) == 0 || from.IsZero() || to.IsZero() {
		return from, to, false
	}
	if seconds(to)-seconds(from) < 1 { // one instant, or the caller's ends the wrong way round
		from, to = from.Add(-time.Hour), from.Add(time.Hour)
	}
	return from.In(c.zone()), to.In(c.zone()), true
}

// span returns the first and the last time of what can be drawn; zero where there is nothing.
func (c Chart) span() (from, to time.Time) {
	see := func(t time.Time) {
		if !sensible(t) {
			return
		}
		if from.IsZero() || t.Before(from) {
			from = t
		}
		if to.IsZero() || t.After(to) {
			to = t
		}
	}
	for _, s := range c.Series {
		for _, p := range s.Points {
			if usable(p.Value) {
				see(p.At)
			}
		}
	}
	for _, b := range c.Bands {
		for _, p := range b.Points {
			if usable(p.Low) && usable(p.High) {
				see(p.At)
			}
		}
	}
	return from, to
}

// within reports whether an instant is among those shown.
func within(t, from, to time.Time) bool { return !t.Before(from) && !t.After(to) }

// levels returns the values shown: the caller's, or those of the data within the time and of the limits, with a little room.
func (c Chart) levels(from, to time.Time) (lo, hi float64) {
	if usable(c.Lo) && usable(c.Hi) && c.Lo < c.Hi && !tooClose(c.Lo, c.Hi) {
		return c.Lo, c.Hi
	}
	lo, hi = math.Inf(1), math.Inf(-1)
	see := func(v float64) {
		if usable(v) {
			lo, hi = math.Min(lo, v), math.Max(hi, v)
		}
	}
	for _, s := range c.Series {
		for _, p := range s.Points {
			if within(p.At, from, to) {
				see(p.Value)
			}
		}
	}
	for _, b := range c.Bands {
		for _, p := range b.Points {
			if within(p.At, from, to) {
				see(p.Low)
				see(p.High)
			}
		}
	}
	for _, l := range c.Limits {
		see(l.Value)
	}
	switch {
	case lo > hi:
		return 0, 1
	case tooClose(lo, hi):
		pad := math.Max(math.Abs(lo)*0.02, 0.5)
		return lo - pad, hi + pad
	}
	pad := (hi - lo) * 0.04
	return lo - pad, hi + pad
}

// tooClose reports whether two values are too near each other to make a scale of: dividing by their difference would leave
// nothing of a reading, or overflow.
func tooClose(lo, hi float64) bool {
	return hi-lo <= math.Max(1e-12, 1e-9*math.Max(math.Abs(lo), math.Abs(hi)))
}
