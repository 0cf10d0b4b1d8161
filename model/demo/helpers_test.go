package demo

import (
	"context"
	"fmt"
	"maps"
	"sync"
	"testing"
	"time"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// halifax is the plant's own clock.
func halifax(t testing.TB) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation("America/Halifax")
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

// endOf reads a local time as the end of a story.
func endOf(t testing.TB, local string) time.Time {
	t.Helper()
	at, err := time.ParseInLocation("2006-01-02 15:04", local, halifax(t))
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// ends are story ends in every season, at odd hours, and around the clock changes of 2025 and 2026 in Halifax (9 March 2025,
// 2 November 2025, 8 March 2026; the IANA time zone data).
func ends() []string {
	return []string{
		"2025-11-18 20:15", "2026-02-10 09:40", "2026-05-20 12:00", "2026-08-05 23:59", "2024-02-29 18:30", "2026-01-01 00:00",
		"2025-03-09 12:00", "2025-03-09 03:30", "2025-11-02 12:00", "2025-11-02 01:15", "2026-03-08 02:05", "2025-07-08 14:30",
		"2025-11-25 16:00", "2026-04-22 07:00",
	}
}

// stories are those told so far, by seed and end. Tests only read them.
var stories sync.Map

// told tells a story and fails the test where it cannot be told.
func told(t testing.TB, seed uint64, local string) *Story {
	t.Helper()
	key := fmt.Sprint(seed, local)
	if s, ok := stories.Load(key); ok {
		return s.(*Story)
	}
	s, err := History(seed, endOf(t, local), halifax(t))
	if err != nil {
		t.Fatalf("seed %d, end %s: %v", seed, local, err)
	}
	stories.Store(key, s)
	return s
}

// toldBy also gives the teller, who knows the weather.
func toldBy(t testing.TB, seed uint64, local string) (*teller, *Story) {
	t.Helper()
	p, err := Plant()
	if err != nil {
		t.Fatal(err)
	}
	end := endOf(t, local)
	tell, err := newTeller(seed, newCalendar(end, halifax(t)), p)
	if err != nil {
		t.Fatal(err)
	}
	if err := tell.tell(context.Background()); err != nil {
		t.Fatal(err)
	}
	return tell, tell.finish(seed, end)
}

// history puts a story into the form that the computing packages take, its corrections applied.
func history(t testing.TB, s *Story) *record.History {
	t.Helper()
	h := &record.History{At: s.End, Plant: s.Plant, Complete: true, Events: s.Events, Done: s.Done}
	rev := s.Revision
	rev.Plant = s.Plant
	h.Revisions = []record.Revision{rev}
	for _, r := range s.Rounds {
		h.Rounds = append(h.Rounds, copyOf(r))
	}
	for _, a := range s.Amendments {
		for k, text := range a.Changes {
			if text == "-" {
				text = ""
			}
			if err := h.Rounds[a.Round].Set(k, text, s.Plant.UnitIDs(), quantity.Metric); err != nil {
				t.Fatal(err)
			}
		}
	}
	return h
}

func copyOf(r record.Round) record.Round {
	r.Values, r.Words, r.Typed = maps.Clone(r.Values), maps.Clone(r.Words), maps.Clone(r.Typed)
	return r
}

// kinds counts the story's events by kind.
func kinds(s *Story) map[record.EventKind]int {
	n := map[record.EventKind]int{}
	for _, e := range s.Events {
		n[e.Kind]++
	}
	return n
}
