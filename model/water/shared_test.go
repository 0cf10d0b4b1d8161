package water

import (
	"math/rand/v2"
	"testing"
	"time"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// chance is a source of chance with a seed.
func chance(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 1)) }

// luck is a member's chances.
func luck(seed uint64, m int) *chances { return newDice(seed).member(m) }

// written is a future that stands already.
type written struct{}

func (written) reach(int) {}

// whole draws a future to its end.
func whole(s stream, c *chances, state vec, days, flow []float64) {
	s.begin(c, state, days, flow).reach(len(days) - 1)
}

// july is a time in July 2026, by day and hour.
func july(day, hour int) time.Time { return time.Date(2026, 7, day, hour, 0, 0, 0, time.UTC) }

// entry is a round in a made-up log; "-" is not read.
type entry struct {
	at      time.Time
	level   float64 // NaN: not read
	running string  // "" not read, "none", "A", "A+B"
	more    map[string]float64
	words   map[string]string
}

// logOf makes a history of rounds and of events, of the plant with two machines.
func logOf(now time.Time, p *plant.Plant, entries []entry, events ...record.Event) *record.History {
	h := &record.History{At: now, Plant: p, Events: events}
	for _, e := range entries {
		r := record.Round{Time: e.at, Values: map[quantity.Key]float64{}, Words: map[quantity.Key]string{}}
		if e.level == e.level {
			r.Values["pond_level_m"] = e.level
		}
		for k, v := range e.more {
			r.Values[quantity.Key(k)] = v
		}
		for k, v := range e.words {
			r.Words[quantity.Key(k)] = v
		}
		if e.running != "" {
			run := []string{}
			if e.running != "none" {
				for _, id := range []string{"A", "B", "C"} {
					for _, c := range e.running {
						if string(c) == id {
							run = append(run, id)
						}
					}
				}
			}
			r.Running = &run
		}
		h.Rounds = append(h.Rounds, r)
	}
	return h
}

// seriesOf reads a history as Prepare does.
func seriesOf(t *testing.T, h *record.History, draws Draws) (series, *basin) {
	t.Helper()
	d, err := draws(h.Plant)
	if err != nil {
		t.Fatal(err)
	}
	b, err := newBasin(h.Plant, d)
	if err != nil {
		t.Fatal(err)
	}
	b.readEras(h, draws)
	return readSeries(h, b), b
}
