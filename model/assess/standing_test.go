package assess

import (
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/tolerance"
	"example.org/headpond/model/water"
)

// What is only reckoned calls for a reading of the level, and never stands as a fact.
func TestAReckonedStopCallsForAReading(t *testing.T) {
	facts := func(at water.Standing, hours float64, age time.Duration, outcome water.Outcome) *water.Facts {
		return &water.Facts{At: noon, StopLevelM: -0.85, LevelM: -0.68, LastLevel: &water.Reading{Time: noon.Add(-age), Value: -0.37}, Ways: []water.Way{
			{Run: []string{"A"}, Outcome: outcome, Standing: at, Hours: &water.Hours{P10: new(0.0), P50: &hours}}}}
	}
	day := 24 * time.Hour
	for _, c := range []struct {
		f       *water.Facts
		urgency Urgency
		text    string
	}{
		{facts(water.ReadAtStop, 0, time.Hour, water.RunsOut), UrgentOut, "The pond is at or below the stop level of -0.85 m"},
		{facts(water.ProbablyAtStop, 0, 2*day, water.RunsOut), UrgentNear, "By now the pond is probably at its stop level of -0.85 m: the level was read 2 days ago, -0.37 m; read it again"},
		{facts(water.PerhapsAtStop, 0, 16*day, water.RunsOut), UrgentNear, "By now the pond is perhaps at its stop level of -0.85 m: the level was read 16 days ago, -0.37 m; read it again"},
		{facts(water.PerhapsAtStop, 12, 47*day, water.RunsOut), UrgentNear, "By now the pond is perhaps at its stop level of -0.85 m: the level was read 47 days ago, -0.37 m; read it again"},
		{facts(water.PerhapsAtStop, 12, 90*day, water.Spills), UrgentNear, "By now the pond is perhaps at its stop level of -0.85 m: the level was read 90 days ago, -0.37 m; read it again"},
		{facts("", 30, 2*day, water.RunsOut), UrgentOut, "With A running the pond reaches its stop level in about 30 h, perhaps 0 min"},
		{facts("", 30, 4*day, water.RunsOut), UrgentNear, "With A running the pond reaches its stop level in about 30 h, perhaps 0 min; the level was read 4 days ago: read it"},
	} {
		got := NowFacts(calm(t)).WithWater(c.f).Attention
		if len(got) != 1 || got[0].Urgency != c.urgency || got[0].Text != c.text {
			t.Errorf("%+v, want %s %q", got, c.urgency, c.text)
		}
	}
}

func TestTheWordsOfAReckonedStop(t *testing.T) {
	for at, want := range map[water.Standing][2]string{
		water.ReadAtStop:     {"at the stop level", "at or below the stop level now"},
		water.ProbablyAtStop: {"probably at the stop level", "by now probably at the stop level"},
		water.PerhapsAtStop:  {"perhaps at the stop level", "by now perhaps at the stop level"},
	} {
		for _, outcome := range []water.Outcome{water.RunsOut, water.Spills, water.Lasts} {
			w := water.Way{Run: []string{"A"}, Outcome: outcome, Standing: at, Hours: &water.Hours{P10: new(0.0), P50: new(0.0), P90: new(90.0)}}
			if span, lasts := WaterSpan(w), WaterLasts(w); span != want[0] || lasts != want[1] {
				t.Errorf("%s, %s: %q, %q", at, outcome, span, lasts)
			}
		}
	}
}

// Damage puts every other line in doubt, so that it stands before all of them, also where the plant's description cannot be read.
func TestDamageStandsFirst(t *testing.T) {
	h := calm(t)
	h.Rounds[0].Values["hertz"] = 50
	h.Cautions, h.Damage = []string{"3 damaged entries were left out, the first is X: run headpond check", "a round dated in the future was left out"}, 1
	n := NowFacts(h)
	if got := n.Attention; got[0].Urgency != UrgentOut || !strings.HasPrefix(got[0].Text, "3 damaged entries") || !strings.HasPrefix(got[1].Text, "Frequency 50.0 Hz") {
		t.Errorf("%+v", got)
	}
	low := &water.Facts{StopLevelM: -0.85, Ways: []water.Way{{Run: []string{"A"}, Outcome: water.RunsOut, Hours: &water.Hours{P10: new(0.0), P50: new(0.0)}}}}
	if got := n.WithWater(low).Attention; !strings.HasPrefix(got[0].Text, "3 damaged entries") {
		t.Errorf("with the water: %+v", got)
	}
	for _, a := range n.Attention {
		if strings.Contains(a.Text, "in the future") && a.Urgency != UrgentDue {
			t.Errorf("a caution that is no damage: %+v", a)
		}
	}
	h.Plant, h.Revisions = nil, nil
	if got := NowFacts(h).Attention; len(got) != 1 || !strings.HasPrefix(got[0].Text, "3 damaged entries") {
		t.Errorf("without a plant: %+v", got)
	}
}

// Where all rounds are dated later than now, that is what is said, not that there is none.
func TestRoundsAheadOfTheClockAreSaid(t *testing.T) {
	h := calm(t)
	h.Rounds, h.Ahead = nil, noon.AddDate(7, 0, 0)
	n := NowFacts(h)
	last := n.Attention[len(n.Attention)-1]
	first := h.Ahead.In(h.Plant.Location).Format("Mon 2 Jan 2006 15:04")
	if n.Ahead == nil || !strings.HasPrefix(last.Text, "No round is dated up to ") || !strings.HasSuffix(last.Text, "the first in the book is of "+first) || last.Keys != "" {
		t.Errorf("%+v", last)
	}
	h.Ahead = time.Time{}
	n = NowFacts(h)
	if last = n.Attention[len(n.Attention)-1]; last.Text != "No round has been written yet" || !strings.Contains(last.Keys, "press 2") || strings.Contains(last.Command, "press") {
		t.Errorf("%+v", last)
	}
}

// A reading is told beside the limit that it crossed, written so that the sentence is true.
func TestTheLimitThatWasCrossedIsNamed(t *testing.T) {
	info, _ := quantity.Lookup(quantity.PressureKPa)
	band := tolerance.Around(132.2268, 1) // in 128.26 to 136.19, near 124.29 to 140.16: 3 % and twice that, by hand
	for v, want := range map[float64]string{
		123: "is out of band: below 124 kPa", 124: "is out of band: below 124.3 kPa", 126: "is near the edge: below 128 kPa", 128: "is near the edge: below 128.3 kPa",
		128.2: "is near the edge: below 128.3 kPa", 137: "is near the edge: above 136 kPa", 141: "is out of band: above 140 kPa",
	} {
		j := Judged{Quantity: "pressure_kpa", Value: v, State: band.State(v), Limits: band.Limits(), Info: info}
		if got := sentence(j, quantity.Metric); !strings.HasSuffix(got, want) {
			t.Errorf("%g: %q, want %q", v, got, want)
		}
	}
	for v, want := range map[float64]string{128: "128.3 to 136", 127: "128 to 136", 130: "128 to 136", 136: "128 to 136", 136.2: "128 to 136"} {
		if got := BandWordsBeside(band, v, info, quantity.Metric); got != want {
			t.Errorf("beside %g: %q, want %q", v, got, want)
		}
	}
}
