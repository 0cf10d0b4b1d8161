package upkeepview

import (
	"encoding/json"
	"slices"
	"time"

	"example.org/headpond/model/checklist"
	"example.org/headpond/model/record"
)

// walk is a checklist on its way: what is kept on disk after every key. It holds the list's own words, so that a list that is
// begun stays the same when the plant's file changes.
type walk struct {
	List   checklist.List   `json:"list"`
	Begun  time.Time        `json:"begun"`
	At     int              `json:"at"` // the step on show; the number of steps for the end page
	Ticks  []tick           `json:"ticks"`
	Noting record.TickState `json:"noting,omitempty"` // what is being explained
	Typed  string           `json:"typed,omitempty"`  // the words so far
	By     string           `json:"by,omitempty"`
	Note   string           `json:"note,omitempty"`
}

// tick is what came of one step.
type tick struct {
	State record.TickState `json:"state,omitempty"`
	Note  string           `json:"note,omitempty"`
	At    time.Time        `json:"at,omitzero"`
}

func newWalk(l checklist.List, now time.Time) walk {
	return walk{List: l, Begun: now, Ticks: make([]tick, len(l.Steps))}
}

// decodeWalk reads what was kept.
func decodeWalk(data []byte) (walk, bool) {
	var w walk
	if json.Unmarshal(data, &w) != nil || len(w.List.Steps) == 0 || len(w.Ticks) != len(w.List.Steps) || w.List.Name == "" {
		return walk{}, false
	}
	w.At = max(0, min(w.At, len(w.Ticks)))
	return w, true
}

// data is what is kept on disk. A list of which nothing was ticked or typed is nothing to keep.
func (w walk) data() []byte {
	if !w.begun() {
		return nil
	}
	data, _ := json.Marshal(w) // texts and times can always be written
	return data
}

// begun reports whether anything was ticked or typed.
func (w walk) begun() bool {
	return w.ticked() > 0 || w.Typed != "" || w.Note != "" || slices.ContainsFunc(w.Ticks, func(t tick) bool { return t.Note != "" })
}

// ticked is how many steps have been ticked.
func (w walk) ticked() int {
	n := 0
	for _, t := range w.Ticks {
		if t.State != record.TickOpen {
			n++
		}
	}
	return n
}

// ended reports whether the end page is on show.
func (w walk) ended() bool { return w.At >= len(w.Ticks) }

// tick marks the step on show and goes on to the next.
func (w walk) tick(state record.TickState, note string, now time.Time) walk {
	w.Ticks = slices.Clone(w.Ticks)
	w.Ticks[w.At] = tick{State: state, Note: note, At: now}
	w.At++
	w.Noting, w.Typed = "", ""
	return w
}

// annotate writes a note to the step on show without ticking it.
func (w walk) annotate(note string) walk {
	w.Ticks = slices.Clone(w.Ticks)
	w.Ticks[w.At].Note = note
	w.Noting, w.Typed = "", ""
	return w
}

// step moves without ticking.
func (w walk) step(by int) walk {
	w.At = max(0, min(w.At+by, len(w.Ticks)))
	return w
}

// firstOpen is the first step that is not ticked, or the end page.
func (w walk) firstOpen() int {
	for i, t := range w.Ticks {
		if t.State == record.TickOpen {
			return i
		}
	}
	return len(w.Ticks)
}

// done is the entry that is kept in the log. Its time is that of the last tick: a list that is saved the next morning was walked
// the evening before.
func (w walk) done(loc *time.Location) record.Done {
	d := record.Done{Time: w.Begun.In(loc), Task: w.List.Name, By: w.By, Note: w.Note}
	d.Walk = &record.Walk{For: string(w.List.For), Begun: w.Begun.In(loc)}
	if w.List.Unit != "" {
		d.Walk.Units = []string{w.List.Unit}
	}
	for i, t := range w.Ticks {
		k := record.Tick{Step: w.List.Steps[i], State: t.State, Note: t.Note}
		if !t.At.IsZero() {
			k.At = t.At.In(loc)
			if k.At.After(d.Time) {
				d.Time = k.At
			}
		}
		d.Walk.Ticks = append(d.Walk.Ticks, k)
	}
	return d
}
