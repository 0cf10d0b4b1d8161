package assess

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/clearing"
	"example.org/headpond/model/demo"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// At the end of the demo's story the screen was cleared six days ago and is due; what it costs stands in Now, in its JSON, and
// in what wants attention, once.
func TestTheScreensCostIsToldOnce(t *testing.T) {
	n := Of(story(t, demo.Seed)).Now()
	if n.Screen == nil || n.Screen.Loss == nil || n.Screen.Loss.Next == nil || !n.Screen.Loss.Next.Due {
		t.Fatalf("%+v", n.Screen)
	}
	var items []string
	for _, a := range n.Attention {
		if strings.Contains(strings.ToLower(a.Text), "screen") {
			items = append(items, a.Text)
		}
	}
	if len(items) != 1 || !strings.HasPrefix(items[0], "Clear the screen: it costs 0.") || !strings.Contains(items[0], "seen partly blocked 2 h") {
		t.Errorf("%q", items)
	}
	data, err := json.Marshal(n)
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Screen struct {
			State string
			Loss  struct {
				Seen struct {
					From string
					Loss float64 `json:"loss_m"`
				}
				Next struct{ Due bool }
			}
		}
	}
	if err := json.Unmarshal(data, &got); err != nil {
		t.Fatal(err)
	}
	if got.Screen.Loss.Seen.From != "screen_loss_mm" || got.Screen.Loss.Seen.Loss < 0.3 || !got.Screen.Loss.Next.Due {
		t.Errorf("%+v", got)
	}
}

// Three evenings before its end the demo's screen costs hardly anything, and the day of the next clearing is told ahead.
func TestTheNextClearingIsToldAhead(t *testing.T) {
	h := story(t, demo.Seed)
	h.At = h.At.Add(-60 * time.Hour)
	for len(h.Rounds) > 0 && h.Rounds[len(h.Rounds)-1].Time.After(h.At) {
		h.Rounds = h.Rounds[:len(h.Rounds)-1]
	}
	var events []record.Event
	for _, e := range h.Events {
		if !e.Time.After(h.At) {
			events = append(events, e)
		}
	}
	h.Events = events
	n := Of(h).Now()
	if !calledAttention(n, "Clear the screen by Tue 18 Nov (") {
		t.Errorf("%+v", n.Attention)
	}
}

func TestClearingWords(t *testing.T) {
	loc := time.FixedZone("AST", -4*3600)
	now := time.Date(2025, 11, 18, 20, 0, 0, 0, loc)
	in := func(d time.Duration) *time.Time { t := now.Add(d).UTC(); return &t }
	const day = 24 * time.Hour
	next := func(a, b, c time.Duration) *clearing.Next {
		return &clearing.Next{Criterion: clearing.Cost, P10: in(a), P50: in(b), P90: in(c)}
	}
	due := next(0, 0, day)
	due.Due = true
	for _, c := range []struct {
		next *clearing.Next
		want string
	}{
		{nil, ""}, {&clearing.Next{P10: in(day)}, ""}, {due, "now"},
		{next(day, 2*day, 4*day), "by Thu 20 Nov (Wed 19 to Sat 22 Nov)"},
		{next(10*day, 13*day, 20*day), "by Mon 1 Dec (Fri 28 Nov to Mon 8 Dec)"},
		{next(time.Hour, 2*time.Hour, 3*time.Hour), "today"},
		{next(time.Hour, 3*time.Hour, 30*time.Hour), "today (Tue 18 to Thu 20 Nov)"},
		{next(25*time.Hour, 26*time.Hour, 27*time.Hour), "by Wed 19 Nov"},
	} {
		if got := ClearBy(c.next, now, loc); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
	for _, c := range []struct {
		kw   clearing.Range
		want string
	}{
		{clearing.Range{P10: 0.31, P50: 0.4, P90: 0.52}, "costs 0.4 kW (0.3 to 0.5), 7 % of the power"}, {clearing.Range{P10: 0.38, P50: 0.4, P90: 0.42}, "costs 0.4 kW, 7 % of the power"},
		{clearing.Range{P10: 0, P50: 0.01, P90: 0.2}, "costs less than 0.2 kW"}, {clearing.Range{P90: 0.03}, ""},
	} {
		f := &clearing.Facts{Now: &clearing.Now{LostKW: c.kw, LostShare: clearing.Range{P50: 0.07}}}
		if got := CostOf(f, now); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
	cost := &clearing.Now{LostKW: clearing.Range{P10: 0.3, P50: 0.4, P90: 0.5}, LostShare: clearing.Range{P50: 0.07}}
	for _, c := range []struct {
		f    *clearing.Facts
		want string
	}{
		{nil, ""},
		{&clearing.Facts{CannotTell: "no unit runs"}, "its loss cannot be told: no unit runs"},
		{&clearing.Facts{Now: cost, Next: due}, "costs 0.4 kW (0.3 to 0.5), 7 % of the power; clear it now"},
		{&clearing.Facts{Now: &clearing.Now{}, Next: &clearing.Next{P10: in(2 * day)}, CannotTell: "too little was read"}, "costs nothing that shows; hardly due before Thu 20 Nov (too little was read)"},
		{&clearing.Facts{Now: &clearing.Now{}, Next: &clearing.Next{}, CannotTell: "it does not grow"}, "costs nothing that shows; it does not grow"},
	} {
		if got := ScreenOutlook(c.f, now, loc); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

// What the caretaker saw and what the readings tell become one item, as urgent as the worse of the two.
func TestScreenAttention(t *testing.T) {
	now := noon
	soon := func(d time.Duration) *time.Time { t := now.Add(d); return &t }
	facts := func(share float64, c clearing.Criterion, due bool, in time.Duration) *clearing.Facts {
		return &clearing.Facts{
			Now:  &clearing.Now{LostKW: clearing.Range{P10: 6 * share, P50: 6 * share, P90: 6 * share}, LostShare: clearing.Range{P50: share}},
			Next: &clearing.Next{Criterion: c, Says: "air may be drawn", Due: due, P10: soon(in), P50: soon(in), P90: soon(in)},
		}
	}
	for _, c := range []struct {
		name    string
		state   string
		facts   *clearing.Facts
		urgency Urgency
		want    string
	}{
		{"due by cost", "clear", facts(0.07, clearing.Cost, true, 0), UrgentDue, "Clear the screen: it costs 0.4 kW, 7 % of the power"},
		{"it costs much", "partly", facts(0.2, clearing.Cost, true, 0), UrgentNear, "Clear the screen: it costs 1.2 kW, 20 % of the power; seen partly blocked 2 h ago"},
		{"air", "clear", facts(0.02, clearing.Air, true, 0), UrgentNear, "Clear the screen: it costs 0.1 kW, 2 % of the power; air may be drawn"},
		{"in two days", "clear", facts(0.02, clearing.Cost, false, 48*time.Hour), UrgentDue, "Clear the screen by Wed 3 Jun: it costs 0.1 kW, 2 % of the power"},
		{"in four days", "clear", facts(0.02, clearing.Cost, false, 96*time.Hour), "", ""},
		{"in four days, but seen", "partly", facts(0.02, clearing.Cost, false, 96*time.Hour), UrgentDue, "The screen was partly blocked 2 h ago: clear it on the next round"},
		{"seen, but nothing shows", "partly", facts(0.0001, clearing.Cost, false, 96*time.Hour), UrgentNote, "The screen was partly blocked 2 h ago, which costs nothing that shows: look at it again on the next round"},
		{"seen, and the gauges cannot tell", "partly", nil, UrgentDue, "The screen was partly blocked 2 h ago: clear it on the next round"},
		{"blocked", "blocked", facts(0.2, clearing.Cost, true, 0), UrgentOut, "The screen was blocked 2 h ago: clear it when it is safe; it costs 1.2 kW, 20 % of the power"},
	} {
		a := Of(calm(t))
		seen := now.Add(-2 * time.Hour)
		n := &Now{At: now, Screen: &ScreenFacts{State: c.state, Seen: &seen, Loss: c.facts}}
		var got []Attention
		a.screenAttention(n, func(u Urgency, screen, format string, args ...any) {
			got = append(got, Attention{Urgency: u, Text: fmt.Sprintf(format, args...), Screen: screen})
		})
		switch {
		case c.want == "" && len(got) == 0:
		case len(got) != 1 || got[0].Urgency != c.urgency || got[0].Text != c.want:
			t.Errorf("%s: %+v, want %s %q", c.name, got, c.urgency, c.want)
		}
	}
}

// Without a described screen, or before any round, nothing is said of its loss.
func TestNoScreenNoLoss(t *testing.T) {
	h := calm(t)
	h.Plant.Intake.ScreenM2 = nil
	if s := NowFacts(h).Screen; s == nil || s.Loss != nil {
		t.Errorf("%+v", s)
	}
	h = calm(t)
	h.Rounds = nil
	if s := NowFacts(h).Screen; s != nil {
		t.Errorf("%+v", s)
	}
	if f := Of(&record.History{At: noon}).Clearing(); f.CannotTell == "" {
		t.Error("no plant, and no reason")
	}
}

// A valve that is part shut takes head of its own, and a frequency far off tells the sets' speed.
func TestWhatTheScreenIsReadIn(t *testing.T) {
	a := Of(calm(t))
	r := record.Round{Time: noon, Running: &[]string{"A"}, Values: vals{"hertz": 62.7}, Words: map[quantity.Key]string{}}
	if st, ok := a.screenState(r); !ok || math.Abs(st.Case.Speed-1.045) > 1e-12 || st.Case.PondLevelM != -0.2 {
		t.Errorf("%+v, %v", st.Case, ok)
	}
	r.Values["hertz"] = 60.3
	if st, _ := a.screenState(r); st.Case.Speed != 0 {
		t.Errorf("an ordinary frequency counts as a speed of %g", st.Case.Speed)
	}
	r.Words["valve"] = "part"
	if _, ok := a.screenState(r); ok {
		t.Error("a valve that is part shut is taken as open")
	}
}

func BenchmarkNow(b *testing.B) {
	h := story(b, demo.Seed)
	for b.Loop() {
		Of(h).Now()
	}
}

// What nobody has read for days is told by what was read, and the estimate by its range alone; the demo's own screen, left for
// five days, cost what it cost on the last round (TestTheDemosEndIsDue has that figure from the story).
func TestAnOldReadingIsToldFirst(t *testing.T) {
	told := clearing.Sight{Time: noon, From: clearing.FromLevels, LossM: 0.96}
	f := &clearing.Facts{
		Now:  &clearing.Now{LossM: clearing.Range{P10: 0.9, P50: 4, P90: 11}, LostKW: clearing.Range{P10: 0.6, P50: 3, P90: 4.4}, LostShare: clearing.Range{P50: 0.6}},
		Seen: &clearing.Seen{Sight: told, LostKW: 0.7}, Readings: []clearing.Sight{told},
	}
	for _, c := range []struct {
		age        time.Duration
		cost, loss string
	}{
		{5 * 24 * time.Hour, "cost 0.7 kW when last read 5 days ago, now perhaps 0.6 to 4.4 kW", "lost 960 mm of head by the level difference across it 5 days ago; now perhaps 900 to 11000 mm"},
		{30 * time.Hour, "costs 3.0 kW (0.6 to 4.4), 60 % of the power", "loses 4000 mm"},
	} {
		if got := CostOf(f, noon.Add(c.age)); got != c.cost {
			t.Errorf("%q, want %q", got, c.cost)
		}
		if got := ScreenLoss(f, noon.Add(c.age), quantity.Metric); !strings.HasPrefix(got, c.loss) {
			t.Errorf("%q, want %q", got, c.loss)
		}
	}
	f.Readings = nil // it was cleared on that round: what it had cost before is no matter
	if got := CostOf(f, noon.Add(5*24*time.Hour)); !strings.HasPrefix(got, "costs ") {
		t.Errorf("%q", got)
	}
}
