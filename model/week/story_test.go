package week

import (
	"maps"
	"testing"
	"time"

	"example.org/headpond/model/demo"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

func halifax(t testing.TB) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation("America/Halifax")
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

// story is the demo's history to an evening in November, its corrections applied.
func story(t testing.TB, seed uint64) *record.History {
	t.Helper()
	loc := halifax(t)
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
		r.ID = "R" + r.Time.UTC().Format("20060102T150405")
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

// chunked works out the whole days of a log piece by piece, each from nothing but the carry of the one before and the entries
// from its beginning to what its last day needs.
func chunked(t testing.TB, h *record.History, daysEach int) []Day {
	t.Helper()
	loc := h.Plant.Location
	first, err := NewLedger(h, nil)
	if err != nil {
		t.Fatal(err)
	}
	all := CutDays(at(first.start).In(loc), h.At, loc)
	var out []Day
	var carry *Carry
	for len(all) > 0 {
		part := all[:min(daysEach, len(all))]
		all = all[len(part):]
		stretch := *h
		if carry != nil {
			stretch.Rounds, stretch.Events = nil, nil
			for _, r := range h.Rounds {
				if !r.Time.Before(at(carry.At)) && !r.Time.After(part[len(part)-1].To.Add(MeterLimit)) {
					stretch.Rounds = append(stretch.Rounds, r)
				}
			}
			for _, e := range h.Events {
				if !e.Time.Before(at(carry.At)) {
					stretch.Events = append(stretch.Events, e)
				}
			}
		}
		l, err := NewLedger(&stretch, carry)
		if err != nil {
			t.Fatal(err)
		}
		days := l.Days(part)
		out = append(out, days...)
		c := l.CarryAt(days)
		carry = &c
	}
	return out
}
