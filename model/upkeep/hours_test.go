package upkeep

import (
	"fmt"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// meter is a round on which a unit's hour meter was read, "" for the plant's own.
func meter(at float64, unit string, v float64) record.Round {
	return record.Round{ID: fmt.Sprint("m", at), Time: day(at), Values: map[quantity.Key]float64{quantity.NewKey(unit, quantity.Hours): v}}
}

func runs(at float64, units ...string) record.Round {
	return record.Round{ID: fmt.Sprint("r", at), Time: day(at), Running: &units}
}

func units(ids ...string) *plant.Plant {
	p := &plant.Plant{}
	for _, id := range ids {
		p.Units = append(p.Units, plant.Unit{ID: id})
	}
	return p
}

// All expected hours are worked by hand from the days and the meter's readings of each case.
func TestHoursByHand(t *testing.T) {
	for _, c := range []struct {
		name   string
		units  []string
		rounds []record.Round
		events []record.Event
		unit   string
		since  float64
		want   Ran
	}{
		{"rounds alone, on all the time", []string{"A"}, []record.Round{runs(0, "A")}, nil, "A", 2, Ran{18 * 24, true, false}},
		{"another unit", []string{"A", "B"}, []record.Round{runs(0, "A")}, nil, "B", 2, Ran{0, true, false}},
		{"no unit: the longest of any", []string{"A", "B"}, []record.Round{runs(0, "A"), runs(5, "A", "B"), runs(8, "B")}, nil, "", 0, Ran{15 * 24, true, false}},
		{"a stop and a start", []string{"A"}, []record.Round{runs(0, "A")}, []record.Event{{Time: day(5), Kind: record.Trip}, {Time: day(7), Kind: record.Start, Units: []string{"A"}}}, "A", 0, Ran{18 * 24, true, false}},
		{"unknown at first", []string{"A"}, []record.Round{runs(10, "A")}, nil, "A", 0, Ran{10 * 24, false, false}},
		{"meter over the whole stretch", []string{"A"}, []record.Round{runs(0, "A"), meter(0, "A", 100), meter(20, "A", 400)}, nil, "A", 0, Ran{300, true, false}},
		{"meter beats rounds between its readings", []string{"A"}, []record.Round{runs(0, "A"), meter(5, "A", 100), meter(15, "A", 200)}, nil, "A", 0, Ran{5*24 + 100 + 5*24, true, false}},
		{"meter where nobody said what ran", []string{"A"}, []record.Round{meter(0, "A", 100), meter(20, "A", 160)}, nil, "A", 0, Ran{60, true, false}},
		{"a task done between two readings", []string{"A"}, []record.Round{runs(0, "A"), meter(4, "A", 100), meter(10, "A", 220)}, []record.Event{}, "A", 6, Ran{120 - 48 + 240, true, false}},
		{"between two readings, nobody said what ran", []string{"A"}, []record.Round{meter(4, "A", 100), meter(10, "A", 160), meter(20, "A", 160)}, nil, "A", 7, Ran{30, true, false}},
		{"a reading too long before does not count", []string{"A"}, []record.Round{runs(0, "A"), meter(0, "A", 100), meter(10, "A", 150)}, nil, "A", 9, Ran{11 * 24, true, false}},
		{"one reading tells nothing", []string{"A"}, []record.Round{runs(0, "A"), meter(5, "A", 100)}, nil, "A", 0, Ran{480, true, false}},
		{"a replaced meter", []string{"A"}, []record.Round{runs(0, "A"), meter(0, "A", 9000), meter(10, "A", 5), meter(20, "A", 65)}, nil, "A", 0, Ran{240 + 60, true, true}},
		{"a slip of the pen upward and back", []string{"A"}, []record.Round{runs(0, "A"), meter(0, "A", 100), meter(10, "A", 9200), meter(20, "A", 300)}, nil, "A", 0, Ran{480, true, true}},
		{"no faster than the clock: an hour too much is rounding", []string{"A"}, []record.Round{runs(0, "A"), meter(0, "A", 100), meter(1, "A", 125)}, nil, "A", 0, Ran{25 + 19*24, true, false}},
		{"the plant's one meter for its one unit", []string{"A"}, []record.Round{meter(0, "", 10), meter(20, "", 90)}, nil, "A", 0, Ran{80, true, false}},
		{"the plant's meter is no unit's where there are two", []string{"A", "B"}, []record.Round{runs(0, "A"), meter(0, "", 10), meter(20, "", 90)}, nil, "A", 0, Ran{480, true, false}},
		{"no unit: the plant's meter", []string{"A", "B"}, []record.Round{runs(0, "A"), meter(0, "", 10), meter(20, "", 90)}, nil, "", 0, Ran{80, true, false}},
		{"no unit, the meter's ends from any unit", []string{"A", "B"}, []record.Round{runs(0, "A"), meter(5, "", 10), meter(10, "", 90), runs(12, "B")}, nil, "", 0, Ran{120 + 80 + 240, true, false}},
		{"a time after the end", []string{"A"}, []record.Round{runs(0, "A")}, nil, "A", 25, Ran{0, true, false}},
		{"a time after the end, with a meter", []string{"A"}, []record.Round{runs(0, "A"), meter(18, "A", 100), meter(22, "A", 190)}, nil, "A", 21, Ran{0, true, false}},
	} {
		h := &record.History{At: day(20), Plant: units(c.units...), Rounds: c.rounds, Events: c.events}
		got := RunningHours(h, c.unit, day(c.since))
		if math.Abs(got.Hours-c.want.Hours) > 1e-9 || got.Known != c.want.Known || got.Jumped != c.want.Jumped {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
}

// What a history brings from before its own rounds counts as if it stood among them.
func TestEarlierCounts(t *testing.T) {
	all := []record.Round{runs(0, "A"), meter(1, "A", 5), runs(6), meter(7, "A", 125), runs(9, "A"), runs(15, "A")}
	trip := record.Event{ID: "e", Time: day(5), Kind: record.Trip}
	whole := &record.History{At: day(20), Plant: units("A"), Rounds: all, Events: []record.Event{trip}}
	part := &record.History{At: day(20), Plant: units("A"), Rounds: all[4:], Earlier: &record.Earlier{Rounds: all[:4], Events: []record.Event{trip}}}
	a, b := RunningHours(whole, "A", day(0)), RunningHours(part, "A", day(0))
	if a != b || a.Hours != 24+120+11*24 {
		t.Errorf("the whole %+v, in two parts %+v", a, b)
	}
	if c := RunningHours(&record.History{At: day(20), Plant: units("A"), Rounds: all[4:]}, "A", day(0)); c.Known || c.Hours != 11*24 {
		t.Errorf("without what is earlier: %+v", c)
	}
}

// drawLog draws a log of one unit over thirty days, told by rounds, events and an hour meter that counts what truly ran; the truth
// is a state for every hour. Every change is told, at its very hour.
func drawLog(t *rapid.T, withMeter bool) (h *record.History, truth []bool) {
	const hours = 30 * 24
	truth = make([]bool, hours)
	state := rapid.Bool().Draw(t, "at first")
	h = &record.History{At: day(30), Plant: units("A"), Complete: true}
	tell := func(hour int) {
		at := start.Add(time.Duration(hour) * time.Hour)
		if state && rapid.Bool().Draw(t, "by event") {
			h.Events = append(h.Events, record.Event{ID: fmt.Sprint("e", hour), Time: at, Kind: record.Start, Units: []string{"A"}})
			return
		}
		ids := []string{}
		if state {
			ids = []string{"A"}
		}
		h.Rounds = append(h.Rounds, record.Round{ID: fmt.Sprint("r", hour), Time: at, Running: &ids})
	}
	tell(0)
	changes := rapid.SliceOfNDistinct(rapid.IntRange(1, hours-1), 0, 8, rapid.ID).Draw(t, "changes")
	at := map[int]bool{}
	for _, c := range changes {
		at[c] = true
	}
	total := 1000.0
	for hour := range hours {
		if at[hour] {
			state = !state
			tell(hour)
		}
		if withMeter && hour%50 == 7 {
			h.Rounds = append(h.Rounds, record.Round{ID: fmt.Sprint("m", hour), Time: start.Add(time.Duration(hour) * time.Hour),
				Values: map[quantity.Key]float64{quantity.NewKey("A", quantity.Hours): total}})
		}
		if truth[hour] = state; state {
			total++
		}
	}
	return h, truth
}

// The hours of any stretch are those that the truth has, counted hour by hour, with and without a meter.
func TestHoursAreTheTruths(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h, truth := drawLog(t, rapid.Bool().Draw(t, "meter"))
		since := rapid.IntRange(0, len(truth)).Draw(t, "since")
		want := 0.0
		for _, on := range truth[since:] {
			if on {
				want++
			}
		}
		got := RunningHours(h, "A", start.Add(time.Duration(since)*time.Hour))
		if math.Abs(got.Hours-want) > 1e-6 || !got.Known || got.Jumped {
			t.Fatalf("%+v, the truth has %g h", got, want)
		}
	})
}

// Hours grow with time and never by more than the clock, and a later beginning never counts more.
func TestHoursGrowWithTheClock(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h, _ := drawLog(t, rapid.Bool().Draw(t, "meter"))
		since := start.Add(time.Duration(rapid.IntRange(0, 500).Draw(t, "since")) * time.Hour)
		a := rapid.IntRange(0, 1000).Draw(t, "end")
		b := a + rapid.IntRange(0, 300).Draw(t, "later")
		c := newCounter(&record.History{At: start.Add(2000 * time.Hour), Plant: h.Plant, Rounds: h.Rounds, Events: h.Events})
		at := func(hour int) float64 { return c.ran("A", since, start.Add(time.Duration(hour)*time.Hour)).Hours }
		if x, y := at(a), at(b); y < x-1e-9 || y-x > float64(b-a)+1e-9 {
			t.Fatalf("%g h at %d, %g h at %d", x, a, y, b)
		}
		if x, y := c.ran("A", since, h.At).Hours, c.ran("A", since.Add(5*time.Hour), h.At).Hours; y > x+1e-9 {
			t.Fatalf("%g h since then, %g h since later", x, y)
		}
	})
}
