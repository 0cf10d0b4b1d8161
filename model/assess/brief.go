package assess

import (
	"fmt"
	"slices"
	"strings"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/upkeep"
)

// Topic is what something that wants attention is about, in a word or two for a list: "ballast, upkeep".
type Topic string

// The topics.
const (
	TopicBook     Topic = "the book or the clock"
	TopicRunning  Topic = "what runs"
	TopicReadings Topic = "readings"
	TopicBallast  Topic = "ballast"
	TopicWater    Topic = "water"
	TopicScreen   Topic = "clearing the screen"
	TopicUpkeep   Topic = "upkeep"
	TopicRound    Topic = "the next round"
	TopicCopies   Topic = "copies of the book"
)

// Brief is what wants attention for a small place: where the list does not fit, what is of the same urgency and topic is folded
// into one sentence, the least urgent first and no more of it than it takes. It returns the list, and how many of all things
// have no sentence of their own in it.
func (n *Now) Brief(fits func([]Attention) bool) (list []Attention, folded int) {
	list = slices.Clone(n.Attention)
	for i := len(list) - 1; i >= 0 && !fits(list); i-- {
		last := list[i]
		same := func(a Attention) bool { return a.Urgency == last.Urgency && a.Topic == last.Topic }
		var group []Attention
		for _, a := range list[:i+1] {
			if same(a) {
				group = append(group, a)
			}
		}
		if len(group) < 2 {
			continue
		}
		first := slices.IndexFunc(list, same)
		list[first].Text, list[first].Keys, list[first].Command = n.fold(group), "", ""
		folded += len(group) - 1
		list = slices.Concat(list[:first+1], slices.DeleteFunc(slices.Clone(list[first+1:]), same))
		i = min(i, len(list))
	}
	return list, folded
}

// fold tells several things of one urgency and topic in a sentence: "2 upkeep tasks are overdue and 1 is due, the first: grease
// the bearing", "Intake pressure 123 kPa, Voltage 212 V and Frequency 56.0 Hz are out of band".
func (n *Now) fold(group []Attention) string {
	if s := n.foldTasks(group); s != "" {
		return s
	}
	if s := n.foldReadings(group); s != "" {
		return s
	}
	return fmt.Sprintf("%s; and %d more of this kind", group[0].Text, len(group)-1)
}

// foldTasks is "" where a thing is no upkeep task.
func (n *Now) foldTasks(group []Attention) string {
	first, overdue, due := "", 0, 0
	for _, a := range group {
		i := slices.IndexFunc(n.Upkeep, func(t upkeep.Task) bool { return upkeepSentence(t, n.At) == a.Text })
		if i < 0 {
			return ""
		}
		if first == "" {
			first = n.Upkeep[i].Task
		}
		if n.Upkeep[i].State == upkeep.Overdue {
			overdue++
		} else {
			due++
		}
	}
	count := func(tasks int) string {
		return fmt.Sprintf("%d upkeep %s", tasks, plural(tasks, "task is", "tasks are"))
	}
	switch {
	case due == 0:
		return count(overdue) + " overdue, the first: " + first
	case overdue == 0:
		return count(due) + " due, the first: " + first
	}
	return fmt.Sprintf("%s overdue and %d due, the first: %s", count(overdue), due, first)
}

// foldReadings is "" where a thing is no reading beside its band.
func (n *Now) foldReadings(group []Attention) string {
	var names []string
	for _, a := range group {
		i := slices.IndexFunc(n.Readings, func(r Reading) bool { return !r.Old && sentence(r.Judged, n.units) == a.Text })
		if i < 0 {
			return ""
		}
		r := n.Readings[i]
		names = append(names, fmt.Sprintf("%s %s %s", LabelOf(quantity.Key(r.Quantity)), r.Info.Show(r.Value, n.units), r.Info.ShowUnit(n.units)))
	}
	state := "out of band"
	if group[0].Urgency == UrgentNear {
		state = "near the edge"
	}
	return join(names) + " are " + state
}

// Topics names what a list is about, by urgency and each once: "near: water; due: upkeep, clearing the screen".
func Topics(list []Attention) string {
	var out []string
	for _, u := range []Urgency{UrgentOut, UrgentNear, UrgentDue, UrgentNote} {
		var topics []string
		for _, a := range list {
			if s := string(a.Topic); a.Urgency == u && s != "" && !slices.Contains(topics, s) {
				topics = append(topics, s)
			}
		}
		if len(topics) > 0 {
			out = append(out, string(u)+": "+strings.Join(topics, ", "))
		}
	}
	return strings.Join(out, "; ")
}
