package faults

import (
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// Each thing that can keep the last round out is said by name, and no other.
func TestWhyThereIsNoRoundToGoBy(t *testing.T) {
	at := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	p := &plant.Plant{Location: time.UTC}
	round := func(ago time.Duration) []record.Round {
		return []record.Round{{Time: at.Add(-ago), Values: map[quantity.Key]float64{"volts": 240}}}
	}
	revision := func(from time.Time, p *plant.Plant) record.Revision { return record.Revision{From: from, Plant: p} }
	old := []record.Revision{revision(at.AddDate(-1, 0, 0), p)}
	repair := func(ago time.Duration) []record.Event {
		return []record.Event{{Kind: record.Repair, Time: at.Add(-ago)}}
	}
	for name, c := range map[string]struct {
		h    record.History
		want string
	}{
		"nothing":             {record.History{Revisions: old}, "within 45 days; the next one tells"},
		"an old one":          {record.History{Revisions: old, Rounds: round(60 * 24 * time.Hour)}, "the last one is of 26 Sep 2026 12:00"},
		"an old one, repair":  {record.History{Revisions: old, Rounds: round(60 * 24 * time.Hour), Events: repair(time.Hour)}, "the last one is of 26 Sep"},
		"a repair":            {record.History{Revisions: old, Rounds: round(2 * time.Hour), Events: repair(76 * time.Minute)}, "since the repair of 25 Nov 10:44"},
		"a repair before":     {record.History{Revisions: old, Rounds: round(time.Hour), Events: repair(2 * time.Hour)}, "that can be gone by"},
		"another description": {record.History{Revisions: append(old[:1:1], revision(at.Add(-time.Minute), &plant.Plant{Location: time.UTC})), Rounds: round(time.Hour)}, "under the plant description in force"},
	} {
		c.h.At = at
		c.h.Plant = c.h.Revisions[len(c.h.Revisions)-1].Plant
		w := &work{h: &c.h, plant: c.h.Plant}
		if got := w.noRounds().Error(); !strings.Contains(got, c.want) || !strings.HasPrefix(got, "no round with readings has been written ") {
			t.Errorf("%s: %s, want %q", name, got, c.want)
		}
	}
}
