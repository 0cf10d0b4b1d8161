package plantview

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/exp/golden"
	"pgregory.net/rapid"

	"example.org/headpond/model/demo"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

var (
	halifax = time.FixedZone("ADT", -3*3600)
	clock   = time.Date(2026, 8, 14, 8, 0, 0, 0, halifax)
)

// revision is the demo's plant with a change to its text.
func revision(tb testing.TB, id string, from time.Time, by string, changes ...string) record.Revision {
	tb.Helper()
	text := strings.NewReplacer(changes...).Replace(demo.PlantText())
	p, err := plant.Parse("plant.toml", []byte(text))
	if err != nil {
		tb.Fatal(err)
	}
	p.Location = halifax
	return record.Revision{ID: id, From: from, By: by, Text: text, Plant: p}
}

// history holds a first description without the small set, the present one, and one that is still to come.
func history(tb testing.TB) *record.History {
	tb.Helper()
	_, unitB, _ := strings.Cut(demo.PlantText(), "[[unit]]\nid = \"B\"")
	unitB, _, _ = strings.Cut("[[unit]]\nid = \"B\""+unitB, "# Four elements")
	h := &record.History{At: clock, Complete: true, Revisions: []record.Revision{
		revision(tb, "01A", clock.AddDate(-1, 0, 0), "Imke", unitB, "", `unit = "B"`, `unit = "A"`, "drive-end bearing, unit B", "non-drive-end bearing"),
		revision(tb, "01B", clock.AddDate(0, -2, 0), "Ro"),
		revision(tb, "01C", clock.AddDate(0, 1, 0), "", "controller_kw = 8.0", "controller_kw = 12.0", "bands = \"isolated\"", "bands = \"en50160-island\""),
	}}
	h.Plant = h.PlantAt(h.At)
	return h
}

func screen(look uitest.Look, w, h int, hist *record.History) ui.Screen {
	s := New(uitest.Common(look, w, h, clock), desk.Desk{}).SetSize(w, h)
	s, _ = s.Update(desk.Loaded{History: hist})
	return s
}

// flat is a view as one line, with single spaces.
func flat(s string) string { return strings.Join(strings.Fields(s), " ") }

func see(t *testing.T, view string, parts ...string) {
	t.Helper()
	for _, p := range parts {
		if !strings.Contains(flat(view), flat(p)) {
			t.Errorf("the view lacks %q:\n%s", p, view)
		}
	}
}

func TestEveryPartOfTheDescriptionIsShown(t *testing.T) {
	got := Text(history(t), uitest.Common(uitest.Look{}, 80, 24, clock), 80)
	// The numbers are those of the demo's file.
	see(t, got, "Tern Hollow, America/Halifax", "This description holds from Sun 14 Jun 2026 08:00 to Mon 14 Sep 2026 08:00; by Ro; 2 of 3.",
		"Common bus 240 V, 60 Hz", "Voltage trips below 204 or above 276 V", "Frequency trips below 54 or above 66 Hz",
		"Built-in set isolated:", "Voltage in 228 to 252 V, near 220 to 254 V", "ANSI C84.1", "Bearing in up to 60 °C, near up to 70 °C", "the bearing maker's sheet", "Pond level in -0.60 to 0.25 m, near -0.85 to 0.30 m",
		"Spillway's crest 0.10 m, 4.5 m long, coefficient 1.7", "Running stops at -0.85 m", "Always past the plant 6.0 L/s", "Seepage 1.5 L/s", "0.2 0.3 0.8 1.6 3 3.9 4.4 3.8 2.5 1.2 0.5 0.2 mm a day", "not below -0.90 m, not above 0.30 m", "Catchment 3.2 km²",
		"Mouth's centre line -1.55 m", "Mouth's diameter 0.35 m", "1.4 m² gross, 40 % of it open when clean, holes of 2.5 mm",
		"main 210 m of pipe, 0.30 m wide, roughness 0.01 mm, minor losses K 2.1; gauge below the main valve; pressure waves travel at 300 m/s",
		"A, large set 6 kW, 8 kVA on penstock main; axis at -14.6 m.", "Best at 76 L/s under 13.1 m, 68 % of the water's power at the shaft; generator 86 %.", "Runs away to 1.5 times its rated speed; voltage regulated; common bus.",
		"Controller diverts at most 8 kW", "Dump share of 100 % all of the generation", "Element E4 2 kW at 240 V", "workshop saw 1.6 kW, 9 kVA to start", "freezer 0.4 kW, 2 kVA to start, essential",
		"Intake pressure 1 kPa", "Pond level 0.005 m", "Every 500 h of unit A grease drive-end bearing, unit A", "Every 14 days walk the penstock", "A kWh used 0.13 CAD", "The plant cost 61500 CAD", "propane 7.1 kWh from a L, at 0.95 CAD",
		"14 Jun 2026 08:00 by Ro, 01B, shown here", "14 Aug 2025 08:00 by Imke, 01A")
}

// The trapezoids of the stage table, by hand: (8000+46000)/2·0.8 = 21600; +(46000+74000)/2·0.8 = 69600; +(74000+81000)/2·0.4 =
// 100600 m³. At the crest, 0.10 m: 69600 + 0.1·(74000+75750)/2 = 77087.5. The widths follow the volumes.
func TestTheStageFigureIsTheExactVolume(t *testing.T) {
	got := Text(history(t), uitest.Common(uitest.Look{}, 80, 24, clock), 80)
	see(t, got, "Water stored above -1.60 m", "101000 m³, 81000 m²", "0.10 m crest", "77100 m³", "69600 m³, 74000 m²", "21600 m³, 46000 m²", "0 m³, 8000 m²", "-0.85 m stop", "-0.90 m permit", "0.30 m permit")
	last := 1 << 20
	rows := 0
	for _, l := range strings.Split(got, "\n") {
		if strings.Contains(l, "m³") {
			n := strings.Count(l, "█")
			if n > last {
				t.Errorf("a lower level has more water: %q", l)
			}
			last, rows = n, rows+1
		}
	}
	if rows != 8 {
		t.Errorf("%d levels, want 4 of the table and 4 that matter", rows)
	}
}

func TestUSUnits(t *testing.T) {
	h := history(t)
	h.Revisions = []record.Revision{revision(t, "01A", clock.AddDate(-1, 0, 0), "Ro", `units = "metric"`, `units = "us"`)}
	c := uitest.Common(uitest.Look{}, 80, 24, clock)
	c.Units = "us"
	// NIST SP 811: 0.10 m = 0.328 ft, 76 L/s = 1204.6 gpm, 1.4 m² = 15.07 ft², 100600 m³ = 81.56 acre-ft, 210 m = 689 ft.
	see(t, Text(h, c, 80), "Spillway's crest 0.33 ft", "Best at 1205 gpm", "15.1 ft² gross", "81.6 acre-ft, 20.0 acres", "689 ft of pipe")
}

func TestWhatTheFileLeavesOutIsSaid(t *testing.T) {
	h := history(t)
	p := *h.Revisions[1].Plant
	p.Pond, p.Supply.TripVolts, p.Intake, p.Money, p.Gauge, p.Upkeep, p.Loads = plant.Pond{}, nil, plant.Intake{}, nil, nil, nil, nil
	h.Revisions[1].Plant = &p
	got := Text(h, uitest.Common(uitest.Look{}, 80, 24, clock), 80)
	see(t, got, "Voltage trips not given", "Running stops at not given", "Screen not given", "Stage table not given: neither volumes nor days left can be told", "Evaporation none is reckoned")
	for _, part := range []string{"Money", "Gauges", "Upkeep, by", "Loads", "Permit's", "NaN"} {
		if strings.Contains(got, part) {
			t.Errorf("%q stands there with nothing under it:\n%s", part, got)
		}
	}
}

func TestOtherKindsOfMachines(t *testing.T) {
	h := history(t)
	p := *h.Revisions[1].Plant
	p.Units = append([]plant.Unit(nil), p.Units...)
	p.Units[0].Curve = []plant.CurveRow{{NetHeadM: 10, FlowLps: 60, KWElectric: 3.5}, {NetHeadM: 14, FlowLps: 80, KWElectric: 6.1}}
	p.Units[1].Excitation, p.Units[1].Bus, p.Units[1].TailwaterM = plant.Capacitor, "own", -15.1
	p.Penstocks = append([]plant.Penstock(nil), p.Penstocks...)
	p.Penstocks[0].Gauge, p.Penstocks[0].WaveSpeedMS = plant.AboveValve, nil
	p.Ballast.ShareOf, p.Ballast.ControllerKW = plant.ShareOfBallast, nil
	p.Ballast.Elements = append([]plant.Element(nil), p.Ballast.Elements...)
	p.Ballast.Elements[2].Working = false
	h.Revisions[1].Plant = &p
	see(t, Text(h, uitest.Common(uitest.Look{}, 80, 24, clock), 80), "Measured in 2 rows, from 60.0 L/s and 3.5 kW at 10.0 m to 80.0 L/s and 6.1 kW at 14.0 m.", "induction machine with capacitors", "bus of its own", "tailwater at -15.1 m",
		"gauge above the main valve", "of what the ballast can take", "no limit given", "Element E3 2 kW at 240 V, out of work at commissioning")
}

func TestTheCheckHasItsFormulasAndSources(t *testing.T) {
	s := screen(uitest.Look{}, 80, 200, history(t))
	see(t, s.View(), "Check: 1 of 16 numbers of safe operation is beyond the limit, 1 thing is worth a second look (c shows the check).")
	s = uitest.Press(t, s, "c")
	view := s.View()
	see(t, view, "Worth a second look", "ballast: the working elements", "BEYOND ! Ballast over the largest generation", "By P = Σ Pr (V/Vr)²; margin 1.15; A. Harvey",
		"ok Water over the intake at the stop level", "By S = 0.7245 V √D (m, s; lateral approach); J. L. Gordon", "(from memory)", "Joukowsky: Δh = a v / g", "never replace")
	if strings.Index(view, "BEYOND") > strings.Index(view, "ok       Water") {
		t.Error("what is beyond its limit does not come first")
	}
	if strings.Contains(view, "Common bus") || strings.Contains(view, "c shows the check") {
		t.Error("the description is still there")
	}
	see(t, uitest.Press(t, s, "c").View(), "Common bus")
}

// The command that checks a file prints what the screen shows of it, in the plant's units: 144 kPa is 20.9 psi (NIST SP 811).
func TestTheCheckOfAFileIsTheScreens(t *testing.T) {
	p := *history(t).Revisions[1].Plant
	c := uitest.Common(uitest.Look{}, 80, 24, clock)
	screens := uitest.Press(t, screen(uitest.Look{}, 80, 400, history(t)), "c").View()
	command := CheckText(CheckOf(&p), c, 80)
	same, sum, ok := strings.Cut(command, "\nIn sum ")
	if !ok || !strings.Contains(sum, "1 worth a second look: ballast.") || !strings.Contains(sum, "1 beyond a limit: Ballast over the largest generation.") {
		t.Errorf("the command does not end with the sum of the check: %q", sum)
	}
	for line := range strings.SplitSeq(strings.TrimRight(same, "\n"), "\n") {
		if !strings.Contains(screens, line) {
			t.Errorf("only the command says %q", line)
		}
	}
	p.Site.Units, c.Units = "us", "us"
	us := CheckText(CheckOf(&p), c, 80)
	see(t, us, "Static pressure at the machine (main): 20.9 psi", "By p = ρ g (level − axis); hydrostatics")
	for _, metric := range []string{" m/s", " kPa", " L/s", " m²", " m over", " m on top"} {
		if strings.Contains(us, metric) {
			t.Errorf("a plant in US units is told %q:\n%s", metric, us)
		}
	}
}

func TestAPlantThatCannotBeSolvedStillHasItsAdvice(t *testing.T) {
	h := history(t)
	p := *h.Revisions[1].Plant
	p.Penstocks = nil
	h.Revisions[1].Plant = &p
	got := Text(h, uitest.Common(uitest.Look{}, 80, 24, clock), 80)
	see(t, got, "!! Check:", "the plant cannot be solved", "Worth a second look", "!! The plant cannot be solved:")
}

func TestRevisionsAreChosen(t *testing.T) {
	s := screen(uitest.Look{}, 80, 120, history(t))
	see(t, s.View(), "2 of 3.", "B, small set")
	s = uitest.Press(t, s, "right")
	see(t, s.View(), "This description holds from Mon 14 Sep 2026 08:00; 3 of 3; it is not the one in force.", "diverts at most 12 kW", "en50160-island:", "EN 50160")
	_, cmd := s.Update(uitest.Key(t, "right"))
	if n, ok := cmd().(ui.Notice); !ok || !strings.Contains(n.Text, "newest description") {
		t.Errorf("past the newest: %#v", cmd())
	}
	s = uitest.Press(t, s, "left", "left", "left")
	see(t, s.View(), "This description held from Thu 14 Aug 2025 08:00 to Sun 14 Jun 2026 08:00 and, being the first, for all times before; by Imke; 1 of 3; it is not the one in force.")
	if strings.Contains(s.View(), "small set") {
		t.Error("the first description had no small set")
	}
}

// The revision on show stays when the book changes; who looks at the one in force goes on to the next.
func TestTheRevisionOnShowWhenTheBookChanges(t *testing.T) {
	old := uitest.Press(t, screen(uitest.Look{}, 80, 120, history(t)), "left")
	present := screen(uitest.Look{}, 80, 120, history(t))
	h := history(t)
	h.At = clock.AddDate(0, 2, 0)
	old, _ = old.Update(desk.Loaded{History: h})
	present, _ = present.Update(desk.Loaded{History: h})
	see(t, old.View(), "1 of 3")
	see(t, present.View(), "3 of 3.")
}

func TestTheLogAsksForARevision(t *testing.T) {
	s := screen(uitest.Look{}, 80, 120, history(t)).(Screen)
	next, _ := s.Arrive("01A")
	see(t, next.View(), "1 of 3")
	next, _ = next.(Screen).Arrive("")
	see(t, next.View(), "1 of 3")
	_, cmd := s.Arrive("01Z")
	if n, ok := cmd().(ui.Notice); !ok || !strings.Contains(n.Text, "no plant description 01Z") {
		t.Errorf("an unknown one: %#v", cmd())
	}
	early, _ := New(uitest.Common(uitest.Look{}, 80, 120, clock), desk.Desk{}).SetSize(80, 120).(Screen).Arrive("01A")
	early, _ = early.Update(desk.Loaded{History: history(t)})
	see(t, early.View(), "1 of 3")
}

func TestWithoutABookOrAPlant(t *testing.T) {
	s := New(uitest.Common(uitest.Look{}, 80, 20, clock), desk.Desk{}).SetSize(80, 20)
	see(t, s.View(), "Reading the book")
	s, _ = s.Update(desk.Loaded{Err: fmt.Errorf("the book is locked")})
	see(t, s.View(), "the book is locked")
	s, _ = s.Update(desk.Loaded{History: &record.History{At: clock}})
	see(t, s.View(), "headpond plant load FILE")
	for _, key := range []string{"c", "left", "right", "end"} {
		s = uitest.Press(t, s, key)
	}
	if got := Text(&record.History{At: clock}, uitest.Common(uitest.Look{}, 80, 20, clock), 80); !strings.Contains(got, "no plant description") {
		t.Errorf("the command says %q", got)
	}
}

func TestNamesFromTheFileAreHarmless(t *testing.T) {
	h := history(t)
	p := *h.Revisions[1].Plant
	p.Site.Name = "T\x1b[2Jern"
	p.Loads = []plant.Load{{Name: "saw\x07\u202e", KW: 1}}
	p.Upkeep = []plant.Task{{Task: "a\nb", EveryDays: new(3.0)}}
	p.Bands = []plant.Band{{Quantity: "volts", Source: "\x1b]0;x\x07"}}
	h.Revisions[1].Plant = &p
	if got := Text(h, uitest.Common(uitest.Look{}, 80, 24, clock), 80); strings.ContainsAny(got, "\x1b\x07") || strings.ContainsRune(got, '\u202e') {
		t.Errorf("it acts: %q", got)
	}
}

func TestBindingsWorkEverywhere(t *testing.T) {
	for _, s := range []ui.Screen{screen(uitest.Look{}, 80, 20, history(t)), New(uitest.Common(uitest.Look{}, 80, 20, clock), desk.Desk{})} {
		if errs := ui.CheckBindings(s.Bindings()); len(errs) > 0 {
			t.Error(errs)
		}
	}
}

func TestGoldens(t *testing.T) {
	for name, keys := range map[string][]string{"description": nil, "pond": {"pgdown"}, "check": {"c"}} {
		for lookName, look := range uitest.Looks() {
			for _, size := range []struct{ w, h int }{{80, 20}, {120, 36}} {
				t.Run(fmt.Sprintf("%s-%s-%dx%d", name, lookName, size.w, size.h+4), func(t *testing.T) {
					s := uitest.Press(t, screen(look, size.w, size.h, history(t)), keys...)
					golden.RequireEqual(t, []byte(ui.Clamp(uitest.Theme(look), s.View(), size.w, size.h)))
				})
			}
		}
	}
}

func TestItFitsAtAnySize(t *testing.T) {
	for _, keys := range [][]string{nil, {"c"}} {
		s := uitest.Press(t, screen(uitest.Look{Color: true}, 80, 20, history(t)), keys...)
		uitest.FitsAtAnySize(t, s, uitest.Theme(uitest.Look{Color: true}))
	}
}

func TestTheTextFitsAnyUsualWidth(t *testing.T) {
	h := history(t)
	rapid.Check(t, func(t *rapid.T) {
		w := rapid.IntRange(30, 200).Draw(t, "w")
		if err := uitest.Fits(strings.TrimSuffix(Text(h, uitest.Common(uitest.Look{}, w, 24, clock), w), "\n"), w, 1000); err != nil {
			t.Fatal(err)
		}
	})
}

func BenchmarkView(b *testing.B) {
	s := screen(uitest.Look{Color: true}, 120, 36, history(b))
	for b.Loop() {
		_ = s.View()
	}
}

func BenchmarkCheck(b *testing.B) {
	p := history(b).Revisions[1].Plant
	for b.Loop() {
		CheckOf(p)
	}
}
