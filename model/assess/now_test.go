package assess

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/tolerance"
	"example.org/headpond/model/water"
)

// calm is a history with nothing to say: one fresh round, everything in band, the screen clear.
func calm(t testing.TB) *record.History {
	t.Helper()
	h := history(bench(t), &[]string{"A"}, vals{"volts": 240, "hertz": 60, "load_kw": 3, "dump_kw": 2.4, "pond_level_m": -0.2})
	h.Rounds[0].Time = noon.Add(-2 * time.Hour)
	h.Rounds[0].Words = map[quantity.Key]string{"screen": "clear"}
	h.Revisions = []record.Revision{{From: noon.AddDate(0, 0, -1), Plant: h.Plant}}
	return h
}

func TestACalmPlantWantsNothing(t *testing.T) {
	if got := NowFacts(calm(t)).Attention; len(got) != 0 {
		t.Errorf("%+v", got)
	}
}

func TestWhatWantsAttention(t *testing.T) {
	every := func(days float64) []plant.Task { return []plant.Task{{Task: "check the crest", EveryDays: &days}} }
	for _, c := range []struct {
		name    string
		change  func(*record.History)
		urgency Urgency
		text    string
	}{
		{"a reading out of band", func(h *record.History) { h.Rounds[0].Values["hertz"] = 56.5 }, UrgentOut, "Frequency 56.5 Hz is out of band: below 57.0 Hz"},
		{"a reading near its edge", func(h *record.History) { h.Rounds[0].Values["volts"] = 253 }, UrgentNear, "Voltage 253 V is near the edge: above 252 V"},
		{"two ways that disagree", func(h *record.History) { h.Rounds[0].Values["dump_share_pct"] = 80 }, UrgentNear, "Generation is 5.4 kW by load and dumped power but 15.0 kW by the dump share"},
		{"an element out of service", func(h *record.History) {
			h.Events = append(h.Events, record.Event{Time: noon.Add(-time.Hour), Kind: record.ElementOut, Element: "E3"})
		}, UrgentNear, "Ballast element out of service: E3"},
		{"too little ballast for a rejection", func(h *record.History) {
			h.Rounds[0].Values["load_kw"] = 7
		}, UrgentOut, "the ballast would be 1.4 kW short: the sets would speed up to about"},
		{"hardly any load room", func(h *record.History) { h.Rounds[0].Values["dump_kw"] = 0.1 }, UrgentNear, "Only 0.1 kW is left for more load"},
		{"a blocked screen", func(h *record.History) { h.Rounds[0].Words["screen"] = "blocked" }, UrgentOut, "The screen was blocked 2 h ago"},
		{"a partly blocked screen", func(h *record.History) { h.Rounds[0].Words["screen"] = "partly" }, UrgentDue, "partly blocked"},
		{"upkeep that is overdue", func(h *record.History) {
			h.Plant.Upkeep = every(30)
			h.Revisions[0].From = noon.AddDate(0, 0, -33)
		}, UrgentDue, "Check the crest: overdue by 3 days"},
		{"upkeep that is due", func(h *record.History) {
			h.Plant.Upkeep = every(30)
			h.Revisions[0].From = noon.AddDate(0, 0, -28)
		}, UrgentDue, "Check the crest: due in 2 days"},
		{"no round for a day", func(h *record.History) { h.Rounds[0].Time = noon.Add(-27 * time.Hour) }, UrgentDue, "No round for 27 h"},
		{"no round at all", func(h *record.History) { h.Rounds = nil }, UrgentNote, "No round has been written yet"},
		{"a trip, and nothing runs", func(h *record.History) {
			h.Events = append(h.Events, record.Event{Time: noon.Add(-30 * time.Minute), Kind: record.Trip, Cause: "overspeed"})
		}, UrgentOut, "The plant tripped 30 min ago (overspeed) and no unit runs"},
		{"a trip, started again", func(h *record.History) {
			h.Events = append(h.Events, record.Event{Time: noon.Add(-5 * time.Hour), Kind: record.Trip}, record.Event{Time: noon.Add(-4 * time.Hour), Kind: record.Start, Units: []string{"A"}})
		}, UrgentNote, "it has been started again"},
		{"stopped on purpose", func(h *record.History) {
			h.Events = append(h.Events, record.Event{Time: noon.Add(-time.Hour), Kind: record.Stop})
		}, UrgentNear, "No unit runs"},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := calm(t)
			c.change(h)
			got := NowFacts(h).Attention
			for _, a := range got {
				if a.Urgency == c.urgency && strings.Contains(a.Text, c.text) {
					return
				}
			}
			t.Errorf("want %s %q, got %+v", c.urgency, c.text, got)
		})
	}
}

func TestAClearedScreenWantsNothing(t *testing.T) {
	h := calm(t)
	h.Rounds[0].Words["screen"], h.Rounds[0].Words["screen_cleared"] = "blocked", "yes"
	n := NowFacts(h)
	if len(n.Attention) != 0 || n.Screen == nil || n.Screen.LastCleared == nil || *n.Screen.ClearedHours != 2 {
		t.Errorf("%+v, %+v", n.Attention, n.Screen)
	}
}

func TestTheMostUrgentComesFirst(t *testing.T) {
	h := calm(t)
	h.Rounds[0].Values["volts"], h.Rounds[0].Values["hertz"] = 253, 50
	h.Rounds[0].Words["screen"] = "partly"
	var order []Urgency
	for _, a := range NowFacts(h).Attention {
		order = append(order, a.Urgency)
	}
	if fmt.Sprint(order) != "[out near due]" {
		t.Errorf("%v", order)
	}
}

func TestReadingsComeFromTheLastRoundThatHasThem(t *testing.T) {
	h := calm(t)
	old := record.Round{Time: noon.Add(-14 * time.Hour), Running: &[]string{"A"}, Values: vals{"volts": 253, "bearing_c": 44}}
	ancient := record.Round{Time: noon.AddDate(0, 0, -15), Values: vals{"air_c": 3}}
	h.Rounds = append([]record.Round{ancient, old}, h.Rounds...)
	n := NowFacts(h)
	found := map[string]Reading{}
	for _, r := range n.Readings {
		found[r.Quantity] = r
	}
	if r := found["volts"]; r.Value != 240 || r.Old {
		t.Errorf("volts %+v", r)
	}
	if r := found["bearing_c"]; r.Value != 44 || !r.Old || !r.Time.Equal(old.Time) {
		t.Errorf("bearing %+v", r)
	}
	if _, ok := found["air_c"]; ok {
		t.Error("a reading of 15 days ago is shown as if it told of now")
	}
	for _, a := range n.Attention {
		if strings.Contains(a.Text, "253") {
			t.Errorf("attention to a reading that has been read again: %s", a.Text)
		}
	}
}

func TestWaterCallsForAttention(t *testing.T) {
	hours := func(v float64) *float64 { return &v }
	facts := func(p10, p50 float64) *water.Facts {
		return &water.Facts{StopLevelM: -0.85, Ways: []water.Way{
			{Run: []string{"A"}, Outcome: water.RunsOut, Hours: &water.Hours{P10: hours(p10), P50: hours(p50)}},
			{Run: []string{"B"}, Outcome: water.RunsOut, Hours: &water.Hours{P10: hours(1), P50: hours(2)}}}}
	}
	for _, c := range []struct {
		p10, p50 float64
		want     Urgency
	}{{0, 0, UrgentOut}, {71, 200, UrgentOut}, {73, 200, UrgentNear}, {335, 900, UrgentNear}, {337, 900, ""}} {
		got := NowFacts(calm(t)).WithWater(facts(c.p10, c.p50)).Attention
		switch {
		case c.want == "" && len(got) != 0, c.want != "" && (len(got) != 1 || got[0].Urgency != c.want):
			t.Errorf("p10 %g h: %+v, want %q", c.p10, got, c.want)
		}
	}
	rainy := facts(71, 200)
	rainy.Ways[0].FilledFirst = new(0.4)
	if got := NowFacts(calm(t)).WithWater(rainy).Attention; len(got) != 1 || !strings.HasSuffix(got[0].Text, "perhaps 3 days, unless rain fills it first") {
		t.Errorf("rain may fill it: %+v", got)
	}
	us := calm(t)
	us.Plant.Site.Units = "us" // −0.85 m are −2.79 ft (NIST SP 811)
	if got := NowFacts(us).WithWater(facts(0, 0)).Attention; len(got) != 1 || got[0].Text != "The pond is at or below the stop level of -2.79 ft" {
		t.Errorf("in US units: %+v", got)
	}
}

func TestSpan(t *testing.T) {
	for _, c := range []struct {
		d    time.Duration
		want string
	}{
		{0, "0 min"}, {59 * time.Minute, "59 min"}, {60 * time.Minute, "1 h"}, {80 * time.Minute, "1 h 20 min"}, {9*time.Hour + 59*time.Minute, "9 h 59 min"},
		{10*time.Hour + 20*time.Minute, "10 h"}, {47 * time.Hour, "47 h"}, {48 * time.Hour, "2 days"}, {-26 * time.Hour, "26 h"}, {251 * time.Hour, "10 days"},
	} {
		if got := Span(c.d); got != c.want {
			t.Errorf("Span(%s) = %q, want %q", c.d, got, c.want)
		}
	}
}

func TestBallastRestsOnOneRoundAndTheElementsOfNow(t *testing.T) {
	h := calm(t)
	h.Events = append(h.Events, record.Event{Time: noon.Add(-time.Hour), Kind: record.ElementOut, Element: "E1"})
	f, err := Of(h).Ballast()
	if err != nil {
		t.Fatal(err)
	}
	// Three 2 kW elements at their rated 240 V take 6 kW; 5.4 kW are generated and 2.4 kW dumped.
	for _, x := range []struct {
		what      string
		got, want float64
	}{{"rated", f.RatedKW, 8}, {"capacity", f.CapacityKW, 6}, {"remaining", *f.RemainingKW, 3.6}, {"margin", f.Rejection.MarginKW, 0.6}, {"load room", *f.LoadRoomKW, 2.4}} {
		if d := x.got - x.want; d > 1e-9 || d < -1e-9 {
			t.Errorf("%s = %g kW, want %g", x.what, x.got, x.want)
		}
	}
	if f.GenerationFrom != string(FromLoadDump) || f.DumpedFrom != string(FromMeters) || f.LoadFrom != string(FromMeters) {
		t.Errorf("from %s, %s, %s", f.GenerationFrom, f.DumpedFrom, f.LoadFrom)
	}
	if _, err := Of(&record.History{At: noon, Plant: h.Plant}).Ballast(); err != errNoRound {
		t.Errorf("without a round: %v", err)
	}
}

func TestWorst(t *testing.T) {
	list := func(states ...tolerance.State) (out []Judged) {
		for _, s := range states {
			out = append(out, Judged{State: s})
		}
		return out
	}
	if Worst(list("", "in", "near")) != tolerance.Near || Worst(list("out", "in")) != tolerance.Out || Worst(list("")) != "" || Worst(nil) != "" {
		t.Error("the worst state is not the worst")
	}
}
