package now

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/clearing"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/plant/planttest"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

var clock = time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)

// house is a small plant of the tests' own, two sets on one penstock.
func house(t testing.TB, change ...string) *plant.Plant {
	t.Helper()
	text := `[site]
name = "Tern Hollow"
timezone = "UTC"
units = "metric"
[supply]
volts = 240
hertz = 60
[pond]
stage = [[-1.6, 8000], [0.4, 81000]]
[intake]
screen_m2 = 1.4
open_share = 0.4
[[penstock]]
name = "main"
length_m = 210
diameter_m = 0.30
roughness_mm = 0.01
minor_k = 2.1
[[penstock]]
name = "second"
length_m = 150
diameter_m = 0.25
roughness_mm = 0.01
minor_k = 2.1
`
	for _, u := range []string{"A\"\naxis_m = -14.6\nbest_flow_lps = 76", "B\"\naxis_m = -14.6\nbest_flow_lps = 41"} {
		text += "[[unit]]\nid = \"" + u + "\npenstock = \"main\"\nrated_kw = 6\nbest_head_m = 13.1\nbest_efficiency = 0.68\ngenerator_efficiency = 0.86\n"
	}
	text += "[ballast]\n[[ballast.element]]\nname = \"E1\"\nrated_kw = 10\n"
	for i := 0; i+1 < len(change); i += 2 {
		if !strings.Contains(text, change[i]) {
			t.Fatalf("the file has no %q", change[i])
		}
		text = strings.Replace(text, change[i], change[i+1], 1)
	}
	p, err := plant.Parse("house.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func round(p *plant.Plant, running ...string) *record.History {
	return &record.History{At: clock, Plant: p, Rounds: []record.Round{{Time: clock, Running: &running, Values: map[quantity.Key]float64{
		"pond_level_m": -0.2, "volts": 240, "hertz": 60, "load_kw": 2, "dump_kw": 3.5}}}}
}

func command(h *record.History, w int) string {
	c := uitest.Common(uitest.Look{}, w, 24, clock)
	if h.Plant != nil {
		c.Units = quantity.System(h.Plant.Site.Units)
	}
	return Text(assess.NowFacts(h), c, nil, w)
}

// see fails where a page lacks a part, lines and blanks aside.
func see(t *testing.T, page string, parts ...string) {
	t.Helper()
	flat := strings.Join(strings.Fields(page), " ")
	for _, part := range parts {
		if !strings.Contains(flat, part) {
			t.Errorf("%q is missing in\n%s", part, page)
		}
	}
}

// The line has all that the issue lists: level, screen loss and clear share, pipe loss, net head, flow, shaft, generator, consumers
// and ballast, and the efficiency. 0.2 m below zero to 14.6 m below it is 14.40 m gross.
func TestTheWayFromPondToPlug(t *testing.T) {
	page := command(round(house(t), "A"), 80)
	see(t, page, "Pond to plug", "pond -0.20 m, gross head 14.40 m > screen 0.00 m, taken as clean > pipe -0.79 m > net head 13.61 m, 78 L/s",
		"water 11.0 kW > screen 0.0 > pipe -0.6 > machine -3.3 > shaft 7.1 > generator -1.0 > plug 6.1 kW (55 %) > consumers 2.0, ballast 3.5 kW as read")
	for line := range strings.SplitSeq(page, "\n") {
		if strings.HasPrefix(strings.TrimSpace(line), ">") || strings.HasPrefix(strings.TrimSpace(line), "%") {
			t.Errorf("a line begins with a sign: %q", line)
		}
	}
}

// NIST SP 811: 14.40 m = 47.24 ft, 78 L/s = 1236 gpm; kW stays.
func TestTheWayInUSUnits(t *testing.T) {
	page := command(round(house(t, `"metric"`, `"us"`), "A"), 80)
	see(t, page, "pond -0.66 ft, gross head 47.24 ft", " gpm", "water 11.0 kW")
	_, way, _ := strings.Cut(page, "Pond to plug")
	for _, metric := range []string{" m,", " m ", "L/s"} {
		if strings.Contains(way, metric) {
			t.Errorf("%q stands in US units:\n%s", metric, way)
		}
	}
}

// A screen whose loss was read days ago stands on the way as a range with its age, in either system of units.
func TestTheWayThroughAScreenReadLongAgo(t *testing.T) {
	for units, want := range map[string]string{
		"metric": "screen perhaps -0.90 m to -2.50 m, read 5 days ago; the middle, -1.40 m, is taken > pipe",
		"us":     "screen perhaps -2.95 ft to -8.20 ft, read 5 days ago; the middle, -4.59 ft, is taken > pipe",
	} {
		h := round(house(t, `"metric"`, `"`+units+`"`), "A")
		facts := assess.NowFacts(h)
		loss := 1.4
		facts.Path.ScreenLossM = &loss
		facts.Path.OldScreen = &assess.OldScreen{Ago: 5 * 24 * time.Hour, LossM: clearing.Range{P10: 0.9, P50: 1.4, P90: 2.5}}
		c := uitest.Common(uitest.Look{}, 80, 24, clock)
		c.Units = quantity.System(h.Plant.Site.Units)
		page := Text(facts, c, nil, 80)
		see(t, page, want)
		if strings.Contains(page, "than the plant model gives") {
			t.Errorf("a guess is held against what was read:\n%s", page)
		}
	}
}

func TestTheWayWithoutAScreen(t *testing.T) {
	page := command(round(house(t, "screen_m2 = 1.4\nopen_share = 0.4\n", ""), "A"), 80)
	see(t, page, "gross head 14.40 m > pipe", "kW > pipe")
	if strings.Contains(page, "> screen") {
		t.Errorf("a screen that is not there:\n%s", page)
	}
}

// Two penstocks: the heads are told by unit, the power together.
func TestTheWayOfTwoPenstocks(t *testing.T) {
	p := house(t, "axis_m = -14.6\nbest_flow_lps = 41\npenstock = \"main\"", "axis_m = -16.1\nbest_flow_lps = 41\npenstock = \"second\"")
	page := command(round(p, "A", "B"), 80)
	see(t, page, "unit A: gross head 14.40 m > pipe", "unit B: gross head 15.90 m > pipe", "plug")
	if strings.Contains(page, "pond -0.20 m, gross") {
		t.Errorf("one gross head for two:\n%s", page)
	}
}

func TestNothingFlowsNoWay(t *testing.T) {
	if page := command(round(house(t)), 80); strings.Contains(page, "Pond to plug") {
		t.Errorf("nothing runs:\n%s", page)
	}
}

// A standing bus reads 0 V and 0 Hz, as it should: that it stands is told once, and its readings do not cry besides.
func TestAStandingPlantIsToldOnce(t *testing.T) {
	h := round(house(t))
	for _, k := range []quantity.Key{"volts", "hertz", "load_kw", "dump_kw"} {
		h.Rounds[0].Values[k] = 0
	}
	page := command(h, 80)
	see(t, page, "No unit runs")
	if strings.Contains(page, "Voltage 0 V is out") || strings.Contains(page, "Frequency 0") && strings.Contains(page, "out of band") {
		t.Errorf("a standing bus is called out of band:\n%s", page)
	}
}

func TestScreenStates(t *testing.T) {
	c := uitest.Common(uitest.Look{}, 80, 20, clock)
	var s ui.Screen = New(c, desk.Desk{}).SetSize(80, 20)
	see(t, s.View(), "Reading the book")
	s, _ = s.Update(desk.Loaded{Err: fmt.Errorf("the disk is gone")})
	see(t, s.View(), "The book could not be read: the disk is gone")
	h := round(house(t), "A")
	s, _ = s.Update(desk.Loaded{History: h, Facts: assess.NowFacts(h)})
	see(t, s.View(), "Last round 0 min ago", "Running: A.", "working it out")
	s, _ = s.Update(desk.Water{Err: fmt.Errorf("no stage table")})
	see(t, s.View(), "no stage table")
	for _, key := range []string{"a", "end", "home", "pgdown", "x"} {
		s = uitest.Press(t, s, key)
	}
	if errs := ui.CheckBindings(s.Bindings()); len(errs) > 0 {
		t.Error(errs)
	}
	uitest.FitsAtAnySize(t, s, uitest.Theme(uitest.Look{Color: true}))
}

// Any plant, any width: the page fits, and holds no number that is none.
func TestAnyPlantFits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := planttest.Random(t)
		h := round(p, planttest.Running(t, p)...)
		h.Rounds[0].Values["pond_level_m"] = planttest.Level(t)
		w := rapid.IntRange(40, 160).Draw(t, "w")
		page := command(h, w)
		if err := uitest.Fits(strings.TrimSuffix(page, "\n"), w, 1000); err != nil {
			t.Fatal(err)
		}
		for _, bad := range []string{"NaN", "Inf", "%!"} {
			if strings.Contains(page, bad) {
				t.Fatalf("%s in\n%s", bad, page)
			}
		}
	})
}

// Where consumers and ballast were read to take another power than the model gives, a sentence says so; a gauge's error is none.
func TestPowersReadApartFromTheModelsAreSaid(t *testing.T) {
	for dump, want := range map[float64]string{ // the model gives 6.1 kW, the consumers took 2.0 kW
		3.5: "Consumers and ballast took 5.5 kW when they were read, 3 h ago: 0.6 kW less than the plant model gives.",
		4.9: "Consumers and ballast took 6.9 kW when they were read, 3 h ago: 0.8 kW more than the plant model gives.",
		4.0: "", 4.3: "",
	} {
		h := round(house(t), "A")
		h.Rounds[0].Time = clock.Add(-3 * time.Hour)
		h.Rounds[0].Values["dump_kw"] = dump
		page := command(h, 80)
		if want != "" {
			see(t, page, want)
		} else if strings.Contains(page, "Consumers and ballast took") {
			t.Errorf("%.1f kW dumped is within the gauges' errors:\n%s", dump, page)
		}
	}
}

// A last round of the hour that comes twice has its zone (Halifax, 1 November 2026, 05:00 UTC: IANA time zone database).
func TestTheLastRoundOfTheHourThatComesTwice(t *testing.T) {
	loc, err := time.LoadLocation("America/Halifax")
	if err != nil {
		t.Fatal(err)
	}
	for at, want := range map[string]string{"2026-11-01T04:30:00Z": "01:30 ADT", "2026-11-01T05:30:00Z": "01:30 AST", "2026-11-01T03:30:00Z": "00:30."} {
		x, err := time.Parse(time.RFC3339, at)
		if err != nil {
			t.Fatal(err)
		}
		h := round(house(t), "A")
		h.Rounds[0].Time, h.At = x, x.Add(2*time.Hour)
		c := uitest.Common(uitest.Look{}, 80, 24, h.At.In(loc))
		see(t, Text(assess.NowFacts(h), c, nil, 80), "Last round 2 h ago, "+want)
	}
}
