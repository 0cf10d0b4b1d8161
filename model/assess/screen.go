package assess

import (
	"fmt"
	"math"
	"time"

	"example.org/headpond/model/clearing"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// ScreenFacts is what is known of the screen: how it was seen, and what the readings tell of its loss.
type ScreenFacts struct {
	State        string          `json:"state,omitempty"` // as last seen: clear, partly, blocked or iced
	Seen         *time.Time      `json:"seen,omitempty"`
	LastCleared  *time.Time      `json:"last_cleared,omitempty"`
	ClearedHours *float64        `json:"cleared_hours_ago,omitempty"`
	Loss         *clearing.Facts `json:"loss,omitempty"` // absent where the plant file describes no screen
}

// screen returns what is known of the screen; nil where nothing is.
func (a *Assessor) screen() *ScreenFacts {
	f := &ScreenFacts{}
	for i := len(a.h.Rounds) - 1; i >= 0 && (f.Seen == nil || f.LastCleared == nil); i-- {
		r := a.h.Rounds[i]
		if w, ok := r.Word(quantity.Key(quantity.Screen)); ok && f.Seen == nil {
			t := r.Time
			f.State, f.Seen = w, &t
		}
		if clearing.Cleared(r) && f.LastCleared == nil {
			t, hours := r.Time, a.h.At.Sub(r.Time).Hours()
			f.LastCleared, f.ClearedHours = &t, &hours
		}
	}
	if a.h.Plant.Intake.ScreenM2 != nil && len(a.h.Rounds) > 0 {
		f.Loss = a.Clearing()
	}
	if f.Seen == nil && f.LastCleared == nil && f.Loss == nil {
		return nil
	}
	return f
}

// Clearing answers what the screen costs and when it should next be cleared. What cannot be told is absent from the facts,
// which then say why.
func (a *Assessor) Clearing() *clearing.Facts {
	switch {
	case a.h.Plant == nil:
		return &clearing.Facts{Readings: []clearing.Sight{}, CannotTell: errNoPlant.Error()}
	case a.clearing == nil:
		a.clearing = clearing.Report(a.clearingInput())
	}
	return a.clearing
}

func (a *Assessor) clearingInput() clearing.Input {
	return clearing.Input{History: a.h, Timeline: a.Timeline(a.h.Plant), State: a.screenState}
}

// fastShare is how far the frequency may be off the rated one before the sets are solved at the speed that it tells.
const fastShare = 0.02

// screenState is a round as the solver sees it. A valve that is not open hides the screen from the gauge.
func (a *Assessor) screenState(r record.Round) (clearing.State, bool) {
	running, known := a.Running(r)
	if !known {
		return clearing.State{}, false
	}
	if w, ok := r.Word(quantity.Key(quantity.Valve)); ok && w != "open" {
		return clearing.State{}, false
	}
	m, c, err := a.caseOf(r, running)
	if err != nil {
		return clearing.State{}, false
	}
	if hz, ok := r.Value(quantity.Key(quantity.Hertz)); ok {
		if n := hz / m.Plant().Supply.Hertz; math.Abs(n-1) > fastShare && n > 0.5 && n < 1.6 {
			c.Speed = n
		}
	}
	return clearing.State{Model: m, Case: c}, true
}

// clearSoon is how near the likely time of the next clearing must be to be called to attention: a caretaker who walks daily
// can still choose the day.
const clearSoon = 3 * 24 * time.Hour

// heavyShare is the share of the power that a screen may cost before it is more than work that is due. Our own choice.
const heavyShare = 3 * clearing.CostShare

// screenAttention tells how the screen was seen, what it costs, and by when it should be cleared. A screen that was cleared
// since, or on that very round, is no matter.
func (a *Assessor) screenAttention(n *Now, add adder) {
	s := n.Screen
	if s == nil {
		return
	}
	standing := s.Seen != nil && (s.LastCleared == nil || s.LastCleared.Before(*s.Seen))
	seen := ""
	if standing && s.State != "clear" {
		seen = "; seen " + screenWord(s.State) + " " + Span(n.At.Sub(*s.Seen)) + " ago"
	}
	due, urgency := a.clearingSentence(s.Loss, n.At)
	switch {
	case standing && (s.State == "blocked" || s.State == "iced"):
		text := fmt.Sprintf("The screen was %s %s ago: clear it when it is safe", s.State, Span(n.At.Sub(*s.Seen)))
		if cost := CostOf(s.Loss, n.At); cost != "" {
			text += "; it " + cost
		}
		add(UrgentOut, "round", "%s", text)
	case due != "":
		add(urgency, "round", "%s", due+seen)
	case standing && s.State == "partly" && s.Loss != nil && s.Loss.Now != nil && CostOf(s.Loss, n.At) == "":
		add(UrgentNote, "round", "The screen was partly blocked %s ago, which costs nothing that shows: look at it again on the next round", Span(n.At.Sub(*s.Seen)))
	case standing && s.State == "partly":
		add(UrgentDue, "round", "The screen was partly blocked %s ago: clear it on the next round", Span(n.At.Sub(*s.Seen)))
	}
}

func screenWord(state string) string {
	if state == "partly" {
		return "partly blocked"
	}
	return state
}

// clearingSentence asks for a clearing, "" where none is near.
func (a *Assessor) clearingSentence(f *clearing.Facts, at time.Time) (string, Urgency) {
	if f == nil || f.Next == nil || f.Now == nil || f.Next.P50 == nil || f.Next.P50.Sub(at) > clearSoon {
		return "", ""
	}
	text, urgency := "Clear the screen", UrgentDue
	if !f.Next.Due {
		text += " " + ClearBy(f.Next, at, a.h.Plant.Location)
	}
	if cost := CostOf(f, at); cost != "" {
		text += ": it " + cost
	}
	if f.Next.Criterion != clearing.Cost {
		text += "; " + f.Next.Says
	}
	if f.Next.Due && (f.Next.Criterion != clearing.Cost || f.Now.LostShare.P50 > heavyShare) {
		urgency = UrgentNear
	}
	return text, urgency
}

// unreadTime is how old the last reading of the screen's loss may be for the estimate of the present to be told first: rounds
// come once or twice a day. Our own choice.
const unreadTime = 36 * time.Hour

// lastRead returns the last reading since the screen was cleared, where it is so old that it must be told before anything that
// is worked out from it; nil otherwise.
func lastRead(f *clearing.Facts, at time.Time) *clearing.Seen {
	n := len(f.Readings)
	if f.Seen == nil || n == 0 || !f.Readings[n-1].Time.Equal(f.Seen.Time) || at.Sub(f.Seen.Time) <= unreadTime {
		return nil
	}
	return f.Seen
}

// CostOf says what the screen costs now: "costs 0.4 kW (0.3 to 0.5), 7 % of the power". Where its loss has not been read for long
// it says what was read, and how far it may have gone since: "cost 0.7 kW when last read 5 days ago, now perhaps 0.6 to 4.4 kW".
// It is "" where that is not known, and where it is too little to be shown.
func CostOf(f *clearing.Facts, at time.Time) string {
	if f == nil || f.Now == nil {
		return ""
	}
	kw := f.Now.LostKW
	lo, mid, hi := fmt.Sprintf("%.1f", kw.P10), fmt.Sprintf("%.1f", kw.P50), fmt.Sprintf("%.1f", kw.P90)
	if hi == "0.0" {
		return ""
	}
	if s := lastRead(f, at); s != nil {
		return fmt.Sprintf("cost %.1f kW when last read %s ago, now perhaps %s to %s kW", max(0, s.LostKW), Span(at.Sub(s.Time)), lo, hi)
	}
	switch {
	case mid == "0.0":
		return "costs less than " + hi + " kW"
	case lo == hi:
		return fmt.Sprintf("costs %s kW, %.0f %% of the power", mid, 100*f.Now.LostShare.P50)
	}
	return fmt.Sprintf("costs %s kW (%s to %s), %.0f %% of the power", mid, lo, hi, 100*f.Now.LostShare.P50)
}

// ClearBy says by when the screen should be cleared, on the plant's clock: "now", "today", "by Thu 20 Nov (Wed 19 to Sat 22
// Nov)". It is "" where the readings do not tell the time.
func ClearBy(n *clearing.Next, at time.Time, loc *time.Location) string {
	const day = "Mon 2 Jan"
	switch {
	case n == nil || n.P50 == nil:
		return ""
	case n.Due:
		return "now"
	}
	if loc == nil {
		loc = at.Location()
	}
	early, likely, late := n.P10.In(loc), n.P50.In(loc), n.P90.In(loc)
	by := "by " + likely.Format(day)
	if likely.Format(time.DateOnly) == at.In(loc).Format(time.DateOnly) {
		by = "today"
	}
	if early.Format(time.DateOnly) == late.Format(time.DateOnly) {
		return by
	}
	from := early.Format(day)
	if early.Month() == late.Month() {
		from = early.Format("Mon 2")
	}
	return fmt.Sprintf("%s (%s to %s)", by, from, late.Format(day))
}

// ScreenOutlook says in a few words what the screen costs and when clearing is due, or why that cannot be told. It is "" where
// there is nothing to say.
func ScreenOutlook(f *clearing.Facts, at time.Time, loc *time.Location) string {
	if f == nil {
		return ""
	}
	if f.Now == nil {
		return "its loss cannot be told: " + f.CannotTell
	}
	text := CostOf(f, at)
	if text == "" {
		text = "costs nothing that shows"
	}
	by := ClearBy(f.Next, at, loc)
	switch {
	case by == "" && f.Next != nil && f.Next.P10 != nil:
		if loc == nil {
			loc = at.Location()
		}
		text += "; hardly due before " + f.Next.P10.In(loc).Format("Mon 2 Jan") + " (" + f.CannotTell + ")"
	case by == "":
		text += "; " + f.CannotTell
	default:
		text += "; clear it " + by
	}
	return text
}
