package assess

import (
	"maps"
	"testing"
	"time"

	"example.org/headpond/model/demo"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// story is the demo's history to an evening in November, its corrections applied.
func story(t testing.TB, seed uint64) *record.History {
	t.Helper()
	loc, err := time.LoadLocation("America/Halifax")
	if err != nil {
		t.Fatal(err)
	}
	s, err := demo.History(seed, time.Date(2025, 11, 18, 20, 15, 0, 0, loc), loc)
	if err != nil {
		t.Fatal(err)
	}
	h := &record.History{At: s.End, Plant: s.Plant, Complete: true, Events: s.Events, Done: s.Done}
	rev := s.Revision
	rev.Plant = s.Plant
	h.Revisions = []record.Revision{rev}
	for _, r := range s.Rounds {
		r.Values, r.Words = maps.Clone(r.Values), maps.Clone(r.Words)
		h.Rounds = append(h.Rounds, r)
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
