package chart

import (
	"slices"
	"time"

	tea "github.com/charmbracelet/bubbletea"
)

// cursorSign stands on the time axis under a cursor that is on a reading.
const cursorSign = "^"

// Times returns the instants that the cursor can stand on: those of all readings, and of all areas that have no line of
// their own, within the time shown, in order, each once.
func (c Chart) Times() []time.Time {
	from, to, ok := c.window()
	if !ok {
		return nil
	}
	var all []time.Time
	for _, s := range c.Series {
		for _, p := range s.Points {
			if usable(p.Value) && within(p.At, from, to) {
				all = append(all, p.At)
			}
		}
	}
	if len(all) > 0 {
		return sortedOnce(all)
	}
	for _, b := range c.Bands {
		for _, p := range b.Points {
			if usable(p.Low) && usable(p.High) && within(p.At, from, to) {
				all = append(all, p.At)
			}
		}
	}
	return sortedOnce(all)
}

// Step moves a cursor by so many readings, and stops at the ends. A zero cursor starts at the last reading.
func (c Chart) Step(cursor time.Time, by int) time.Time {
	return Cursor{At: cursor}.step(c.Times(), by).At
}

// Cursor is a place among instants, moved by keys. The zero Cursor stands nowhere, and the first key puts it on the last.
type Cursor struct{ At time.Time }

// Key moves the cursor among instants in order and reports whether the key was one of its own: Left and Right to the
// neighbours, PgUp and PgDn by a page's time, Home and End to the ends. Where an instant is gone, the next one counts.
func (k Cursor) Key(key tea.KeyMsg, times []time.Time, page time.Duration) (Cursor, bool) {
	if len(times) == 0 {
		times = []time.Time{k.At} // nowhere to go, but still the cursor's key
	}
	switch key.Type {
	case tea.KeyLeft:
		return k.step(times, -1), true
	case tea.KeyRight:
		return k.step(times, 1), true
	case tea.KeyHome:
		return Cursor{At: times[0]}, true
	case tea.KeyEnd:
		return Cursor{At: times[len(times)-1]}, true
	case tea.KeyPgUp:
		return k.leap(times, -1, page), true
	case tea.KeyPgDown:
		return k.leap(times, 1, page), true
	default:
		return k, false
	}
}

// Nearest moves the cursor to the instant nearest to it: after its instants have changed, or from another figure. A zero
// Cursor stays nowhere.
func (k Cursor) Nearest(times []time.Time) Cursor {
	if k.At.IsZero() || len(times) == 0 {
		return Cursor{}
	}
	best := times[0]
	for _, t := range times {
		if t.Sub(k.At).Abs() < best.Sub(k.At).Abs() {
			best = t
		}
	}
	return Cursor{At: best}
}

// step moves by so many instants.
func (k Cursor) step(times []time.Time, by int) Cursor {
	if len(times) == 0 {
		return k
	}
	if k.At.IsZero() {
		return Cursor{At: times[len(times)-1]}
	}
	at, on := slices.BinarySearchFunc(times, k.At, time.Time.Compare)
	if !on && by > 0 {
		by-- // the next instant is one step away already
	}
	return Cursor{At: times[max(0, min(at+by, len(times)-1))]}
}

// leap moves back (-1) or on (1) by a time, and by one instant at least.
func (k Cursor) leap(times []time.Time, way int, by time.Duration) Cursor {
	next := k.step(times, way)
	if k.At.IsZero() {
		return next
	}
	far := Cursor{At: k.At.Add(time.Duration(way) * by)}.Nearest(times)
	if far.At.Compare(next.At) == way {
		return far
	}
	return next
}
