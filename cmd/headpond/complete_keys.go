package main

import (
	"context"
	"slices"
	"strings"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/model/assess"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

func completeRound(ctx context.Context, s *session, args []string, typed string) []string {
	return s.keyed(ctx, record.Columns(s.units()), args, typed)
}

func completeExpect(ctx context.Context, s *session, args []string, typed string) []string {
	return s.keyed(ctx, []string{string(quantity.PondLevelM), record.ColRunning, keyScreenOpen, string(quantity.WaterC)}, args, typed)
}

// completeEvent offers the kinds first, then the keys that say something in an event of that kind.
func completeEvent(ctx context.Context, s *session, args []string, typed string) []string {
	if len(args) == 0 {
		var kinds []string
		for _, k := range record.EventKinds() {
			kinds = append(kinds, string(k))
		}
		return kinds
	}
	kind := record.EventKind(args[0])
	keys := slices.DeleteFunc(record.EventColumns(), func(key string) bool { return fits(kind, key) != nil })
	return s.keyed(ctx, keys, args[1:], typed)
}

// completeAmend offers the newest entries first, then the keys of the chosen one.
func completeAmend(ctx context.Context, s *session, args []string, typed string) []string {
	if s.book == nil {
		return nil
	}
	if len(args) == 0 {
		return s.newest(ctx)
	}
	keys := record.Columns(s.units())
	switch e, err := s.book.Entry(ctx, args[0]); {
	case err != nil:
	case e.Event != nil:
		kind := e.Event.Kind
		keys = slices.DeleteFunc(record.EventColumns(), func(key string) bool { return fits(kind, key) != nil })
	case e.Done != nil:
		keys = []string{record.ColTime, record.ColBy, record.ColNote}
	}
	return s.keyed(ctx, keys, args[1:], typed)
}

// completeTasks offers the tasks of the description.
func completeTasks(_ context.Context, s *session, args []string, _ string) []string {
	if len(args) > 0 {
		return nil // the task's own further words
	}
	var names []string
	for _, t := range s.tasks() {
		names = append(names, t.Task)
	}
	return names
}

// keyed offers the keys that do not stand yet, each with its =, or what may follow the = that is typed already.
func (s *session) keyed(ctx context.Context, keys, args []string, typed string) []string {
	if key, _, ok := strings.Cut(typed, "="); ok {
		var offers []string
		for _, value := range s.valuesOf(ctx, key) {
			offers = append(offers, key+"="+value)
		}
		return offers
	}
	var offers []string
	for _, key := range keys {
		stands := slices.ContainsFunc(args, func(arg string) bool {
			given, _, _ := strings.Cut(arg, "=")
			return strings.EqualFold(given, key)
		})
		if !stands {
			offers = append(offers, key+"="+"\t"+s.aboutKey(key))
		}
	}
	return offers
}

// aboutKey says what a key is, beside it in shells that show that.
func (s *session) aboutKey(key string) string {
	switch key {
	case record.ColTime:
		return "when: 07:30, yesterday 18:00"
	case record.ColBy:
		return "who"
	case record.ColRunning:
		return "units that run, joined by +, or none"
	case record.ColNote, record.ColCause:
		return "in your own words"
	case record.ColUnit:
		return "units that it concerns, joined by +"
	case record.ColElement:
		return "ballast element"
	case keyScreenOpen:
		return "share of the screen that is open, 0 to 1"
	}
	k, q, err := quantity.ParseKey(key, s.units())
	if err != nil {
		return ""
	}
	if q.Number() {
		return assess.LabelOf(k) + ", " + string(q.Unit)
	}
	return assess.LabelOf(k) + ": " + strings.Join(q.Words, ", ")
}

// valuesOf lists what may follow a key's =, as far as that is a choice.
func (s *session) valuesOf(ctx context.Context, key string) []string {
	switch strings.ToLower(key) {
	case record.ColRunning:
		return waysToRun(s.units())
	case record.ColUnit:
		return s.units()
	case record.ColBy:
		return s.people(ctx)
	case record.ColElement:
		return s.elements()
	}
	if _, q, err := quantity.ParseKey(key, s.units()); err == nil {
		return q.Words
	}
	return nil
}

// elements are the names of the ballast elements.
func (s *session) elements() []string {
	if s.plant == nil {
		return nil
	}
	var names []string
	for _, e := range s.plant.Ballast.Elements {
		names = append(names, e.Name)
	}
	return names
}

// recently is how far back the shell is offered people and entries.
const recently = 30 * 24 * time.Hour

// people are those who signed a round lately, the latest first.
func (s *session) people(ctx context.Context) []string {
	var names []string
	for _, r := range slices.Backward(s.lately(ctx).Rounds) {
		if r.By != "" && !slices.Contains(names, r.By) {
			names = append(names, r.By)
		}
	}
	return names
}

// lately is what was written down lately; nothing where the book cannot be read.
func (s *session) lately(ctx context.Context) *record.History {
	if s.book == nil {
		return &record.History{}
	}
	h, err := s.history(ctx, logbook.HistoryOptions{From: s.now().Add(-recently)})
	if err != nil {
		return &record.History{}
	}
	return h
}

// newest are the ids of the last entries with what they are, the newest first.
func (s *session) newest(ctx context.Context) []string {
	const most = 20
	type entry struct {
		at    time.Time
		offer string
	}
	h := s.lately(ctx)
	var list []entry
	for _, r := range h.Rounds {
		list = append(list, entry{r.Time, r.ID + "\tround of " + shortTime(r.Time, s.loc) + byWords(r.By)})
	}
	for _, e := range h.Events {
		list = append(list, entry{e.Time, e.ID + "\t" + eventWords(e) + ", " + shortTime(e.Time, s.loc)})
	}
	for _, d := range h.Done {
		list = append(list, entry{d.Time, d.ID + "\t" + d.Task + ", " + shortTime(d.Time, s.loc)})
	}
	slices.SortStableFunc(list, func(a, b entry) int { return b.at.Compare(a.at) })
	var offers []string
	for _, e := range list[:min(most, len(list))] {
		offers = append(offers, e.offer)
	}
	return offers
}
