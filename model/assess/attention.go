package assess

import (
	"fmt"
	"math"
	"slices"
	"time"

	"example.org/headpond/model/electrical"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/tolerance"
	"example.org/headpond/model/upkeep"
	"example.org/headpond/model/water"
)

// When things want attention. Our own choices, from what one caretaker can do about them.
const (
	roundStale    = 26 * time.Hour      // a daily round has been missed
	waterSoon     = 3 * 24 * time.Hour  // the stop level is near enough to act today
	waterComing   = 14 * 24 * time.Hour // near enough to plan for
	tripRemembers = 7 * 24 * time.Hour
)

// attention lists what wants attention, most urgent first.
func (a *Assessor) attention(n *Now) []Attention {
	var list []Attention
	topic := TopicRunning
	add := func(u Urgency, screen, format string, args ...any) {
		list = append(list, Attention{Urgency: u, Screen: screen, Text: fmt.Sprintf(format, args...), Topic: topic})
	}
	how := func(keys, command string) {
		last := &list[len(list)-1]
		last.Keys, last.Command = keys, command
	}
	a.standing(n, add)
	topic = TopicReadings
	a.readingsAttention(n, add, how)
	topic = TopicBallast
	a.ballastAttention(n, add)
	topic = TopicScreen
	a.screenAttention(n, add)
	topic = TopicUpkeep
	for _, t := range n.Upkeep {
		add(UrgentDue, "upkeep", "%s", upkeepSentence(t, n.At))
	}
	topic = TopicRound
	switch {
	case n.Round == nil && n.Ahead != nil:
		const day = "Mon 2 Jan 2006"
		until := n.At.Add(-time.Second) // a midnight is the end of the day before
		add(UrgentNote, "log", "No round is dated up to %s: the first in the book is of %s", until.In(a.h.Plant.Location).Format(day), n.Ahead.In(a.h.Plant.Location).Format(day+" 15:04"))
	case n.Round == nil:
		add(UrgentNote, "round", "No round has been written yet")
		how(": press 2 to walk one", ": headpond record writes one")
	case n.At.Sub(n.Round.Time) > roundStale:
		add(UrgentDue, "round", "No round for %s", Span(n.At.Sub(n.Round.Time)))
	}
	return sortAttention(list)
}

type adder func(u Urgency, screen, format string, args ...any)

// hinter says of what was added last by which keys of the screens, and by which command, it is mended.
type hinter func(keys, command string)

// standing tells when everything stands, and of a trip of the last week.
func (a *Assessor) standing(n *Now, add adder) {
	trip := lastEvent(a.h.Events, record.Trip)
	switch {
	case n.Stopped && trip != nil && trip.Time.Equal(lastChange(a.h.Events, trip.Time)):
		add(UrgentOut, "log", "%s tripped %s ago%s and no unit runs", tripped(trip), Span(n.At.Sub(trip.Time)), because(trip.Cause))
	case n.Stopped:
		add(UrgentNear, "log", "No unit runs")
	case trip != nil && n.At.Sub(trip.Time) <= tripRemembers:
		add(UrgentNote, "log", "%s tripped %s ago%s; it has been started again", tripped(trip), Span(n.At.Sub(trip.Time)), because(trip.Cause))
	}
}

func lastEvent(events []record.Event, kind record.EventKind) *record.Event {
	for i := len(events) - 1; i >= 0; i-- {
		if events[i].Kind == kind {
			return &events[i]
		}
	}
	return nil
}

// lastChange is the time of the last start, stop or trip, or t when there is none.
func lastChange(events []record.Event, t time.Time) time.Time {
	for i := len(events) - 1; i >= 0; i-- {
		switch events[i].Kind {
		case record.Start, record.Stop, record.Trip:
			return events[i].Time
		case record.ElementOut, record.ElementIn, record.Alarm, record.Repair, record.NoteEvent:
		}
	}
	return t
}

// tripped names what a trip took off the line.
func tripped(e *record.Event) string {
	if len(e.Units) == 0 {
		return "The plant"
	}
	return "Unit " + join(e.Units)
}

func because(cause string) string {
	if cause == "" {
		return ""
	}
	return " (" + cause + ")"
}

// readingsAttention tells of every reading out of band or near its edge. A bus that stands is told once, as standing.
func (a *Assessor) readingsAttention(n *Now, add adder, how hinter) {
	system := quantity.System(a.h.Plant.Site.Units)
	slips := map[string]bool{}
	if last, ok := a.h.Last(); ok {
		for _, q := range a.Doubts(last) {
			slips[string(q.Key)] = true
			add(UrgentOut, "log", "%s: it looks like a typing error and is left out; an amendment corrects it", q.Text)
			how(" (3, then c)", " (headpond amend)")
		}
	}
	for _, r := range n.Readings {
		if slips[r.Quantity] && !r.Old {
			continue // told already
		}
		if r.Old || r.Value == 0 && r.Expected != nil && *r.Expected == 0 { // a bus that stands
			continue
		}
		switch r.State {
		case tolerance.Out:
			add(UrgentOut, "log", "%s", sentence(r.Judged, system))
		case tolerance.Near:
			add(UrgentNear, "log", "%s", sentence(r.Judged, system))
		case tolerance.In:
		}
	}
	if pw := a.Power(); pw != nil {
		for _, c := range pw.Cautions {
			add(UrgentNear, "ballast", "%s", upperFirst(c))
		}
	}
}

func (a *Assessor) ballastAttention(n *Now, add adder) {
	var dead []string
	working := a.h.ElementsWorking(a.h.At)
	for _, e := range a.h.Plant.Ballast.Elements {
		if !working[e.Name] {
			dead = append(dead, e.Name)
		}
	}
	if len(dead) > 0 {
		add(UrgentNear, "ballast", "Ballast %s out of service: %s", plural(len(dead), "element", "elements"), join(dead))
	}
	b := n.Ballast
	if b == nil || b.Since != nil && len(b.Since.Running) == 0 { // what stands takes nothing and gives nothing
		return
	}
	if b.Since != nil {
		add(UrgentNote, "ballast", "%s: load and ballast were read before that; walk a round", b.Since.Words(n.At))
		return
	}
	if b.RemainingKW != nil && electrical.Shows(-*b.RemainingKW) {
		add(UrgentOut, "ballast", "The ballast takes %.1f kW more than it can: the frequency is not held", -*b.RemainingKW)
	}
	if words, speedsUp := b.RejectionWords(); speedsUp {
		add(UrgentOut, "ballast", "%s", upperFirst(words))
	} else if words != "" {
		add(UrgentNear, "ballast", "%s", upperFirst(words))
	}
	if words := b.OverloadWords(); words != "" {
		add(UrgentOut, "ballast", "%s", upperFirst(words))
		return
	}
	if b.LoadRoomKW != nil && *b.LoadRoomKW < fullShare*value(b.GenerationKW) {
		add(UrgentNear, "ballast", "Only %.1f kW is left for more load", *b.LoadRoomKW)
	}
}

// fullShare is the share of the generation below which the load room is called small. Our own choice.
const fullShare = 0.05

func value(v *float64) float64 {
	if v == nil {
		return 0
	}
	return *v
}

func upkeepSentence(t upkeep.Task, at time.Time) string {
	text := upperFirst(t.Task)
	switch {
	case t.DueHours != nil && *t.DueHours < 0:
		return fmt.Sprintf("%s: overdue by %.0f running hours", text, -*t.DueHours)
	case t.DueHours != nil:
		return fmt.Sprintf("%s: due in %.0f running hours", text, *t.DueHours)
	case t.DueTime != nil && t.DueTime.Before(at):
		return fmt.Sprintf("%s: overdue by %s", text, Span(at.Sub(*t.DueTime)))
	case t.DueTime != nil:
		return fmt.Sprintf("%s: due in %s", text, Span(t.DueTime.Sub(at)))
	}
	return text
}

// waterAttention tells when the way of running that is in force ends soon.
func waterAttention(f *water.Facts, running []string, s quantity.System) []Attention {
	var list []Attention
	for _, w := range f.Ways {
		if w.Plan != nil || len(w.Run) == 0 || !slices.Equal(w.Run, running) {
			continue
		}
		if w.Standing.Reckoned() {
			list = append(list, Attention{Urgency: UrgentNear, Text: reckonedAtStop(f, w.Standing, s), Screen: "water", Topic: TopicWater})
			continue
		}
		if w.Outcome != water.RunsOut || w.Hours == nil || w.Hours.P50 == nil {
			continue
		}
		left := time.Duration(*w.Hours.P50 * float64(time.Hour))
		early := left
		if w.Hours.P10 != nil {
			early = time.Duration(*w.Hours.P10 * float64(time.Hour))
		}
		with, rest := record.FormatRunning(w.Run), ""
		if w.LeavesOut() {
			rest = ", unless rain fills it first"
		}
		soon := UrgentOut
		if age, ok := f.LevelAge(); ok && age > water.LevelOld { // what is reckoned so far says that the gauge must be read, no more
			soon, rest = UrgentNear, rest+"; the level was read "+Span(age)+" ago: read it"
		}
		switch {
		case left <= 0:
			list = append(list, Attention{Urgency: UrgentOut, Text: "The pond is at or below the stop level of " + levelText(f.StopLevelM, s), Screen: "water", Topic: TopicWater})
		case early <= waterSoon:
			list = append(list, Attention{Urgency: soon, Text: fmt.Sprintf("With %s running the pond reaches its stop level in about %s, perhaps %s%s", with, Span(left), Span(early), rest), Screen: "water", Topic: TopicWater})
		case early <= waterComing:
			list = append(list, Attention{Urgency: UrgentNear, Text: fmt.Sprintf("With %s running the pond reaches its stop level in about %s, perhaps %s%s", with, Span(left), Span(early), rest), Screen: "water", Topic: TopicWater})
		}
	}
	return list
}

// reckonedAtStop says that the pond is supposed to be at its stop level by now, from which level, and what to do about it.
func reckonedAtStop(f *water.Facts, at water.Standing, s quantity.System) string {
	text := fmt.Sprintf("By now the pond is %s at its stop level of %s: ", at, levelText(f.StopLevelM, s))
	age, ok := f.LevelAge()
	if !ok {
		return text + "read the level"
	}
	return text + fmt.Sprintf("the level was read %s ago, %s; read it again", Span(age), levelText(f.LastLevel.Value, s))
}

// levelText writes a pond level in the plant's units.
func levelText(m float64, s quantity.System) string {
	info := quantity.Info{Unit: quantity.Metre, Digits: 2}
	return info.ShowEstimate(m, s) + " " + string(info.ShowUnit(s))
}

// sortAttention orders by urgency and keeps the order within one.
func sortAttention(list []Attention) []Attention {
	order := map[Urgency]int{UrgentOut: 0, UrgentNear: 1, UrgentDue: 2, UrgentNote: 3}
	out := append([]Attention{}, list...)
	slices.SortStableFunc(out, func(x, y Attention) int { return order[x.Urgency] - order[y.Urgency] })
	return out
}

// Span says a length of time with as much detail as it deserves: "40 min", "5 h 20 min", "2 days", "11 days".
func Span(d time.Duration) string {
	if d < 0 {
		d = -d
	}
	minutes := int(math.Round(d.Minutes()))
	hours := int(math.Round(d.Hours()))
	switch {
	case minutes < 60:
		return fmt.Sprintf("%d min", minutes)
	case minutes < 10*60 && minutes%60 != 0:
		return fmt.Sprintf("%d h %d min", minutes/60, minutes%60)
	case hours < 48:
		return fmt.Sprintf("%d h", hours)
	}
	days := int(math.Round(d.Hours() / 24))
	return fmt.Sprintf("%d days", days)
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

func join(names []string) string {
	out := ""
	for i, n := range names {
		switch {
		case i == 0:
		case i == len(names)-1:
			out += " and "
		default:
			out += ", "
		}
		out += n
	}
	return out
}

func upperFirst(s string) string {
	if s == "" || s[0] < 'a' || s[0] > 'z' {
		return s
	}
	return string(s[0]-'a'+'A') + s[1:]
}
