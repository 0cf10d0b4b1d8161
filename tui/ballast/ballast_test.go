package ballast

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/exp/golden"
	"pgregory.net/rapid"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/demo"
	"example.org/headpond/model/electrical"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

var (
	halifax = time.FixedZone("ADT", -3*3600)
	clock   = time.Date(2026, 8, 14, 8, 0, 0, 0, halifax)
)

// history is Tern Hollow with one round 2 h 17 min ago.
func history(tb testing.TB, r record.Round, events ...record.Event) *record.History {
	tb.Helper()
	p, err := demo.Plant()
	if err != nil {
		tb.Fatal(err)
	}
	p.Location = halifax
	r.ID, r.Time, r.By = "01K2M0000000000000000000AA", clock.Add(-137*time.Minute), "Ro"
	return &record.History{At: clock, Plant: p, Rounds: []record.Round{r}, Events: events, Complete: true}
}

// running is a round with these readings while these units ran.
func running(units []string, values map[quantity.Key]float64) record.Round {
	return record.Round{Running: &units, Values: values}
}

// usual is one set on an ordinary morning: 1.7 kW used and 69 % of the generation dumped.
func usual() record.Round {
	return running([]string{"A"}, map[quantity.Key]float64{"volts": 239, "hertz": 60.1, "load_kw": 1.7, "dump_share_pct": 69, "pond_level_m": -0.32})
}

// heavy is both sets in the wet, with E3 dead.
func heavy(tb testing.TB) *record.History {
	r := running([]string{"A", "B"}, map[quantity.Key]float64{"volts": 240, "load_kw": 2.1, "dump_share_pct": 74, "pond_level_m": 0.05})
	return history(tb, r, record.Event{Kind: record.ElementOut, Element: "E3", Time: clock.Add(-48 * time.Hour)})
}

func screen(look uitest.Look, w, h int, hist *record.History) ui.Screen {
	s := New(uitest.Common(look, w, h, clock), desk.Desk{}).SetSize(w, h)
	s, _ = s.Update(desk.Loaded{Version: 1, History: hist, Facts: assess.NowFacts(hist)})
	return s
}

func TestView(t *testing.T) {
	for _, size := range [][2]int{{80, 20}, {120, 36}} {
		for name, look := range uitest.Looks() {
			t.Run(fmt.Sprintf("%dx%d/%s", size[0], size[1], name), func(t *testing.T) {
				s := screen(look, size[0], size[1], history(t, usual()))
				golden.RequireEqual(t, []byte(ui.Clamp(uitest.Theme(look), s.View(), size[0], size[1])))
			})
		}
	}
}

func TestText(t *testing.T) {
	for name, h := range map[string]*record.History{"usual": history(t, usual()), "heavy": heavy(t)} {
		t.Run(name, func(t *testing.T) {
			c := uitest.Common(uitest.Look{}, 80, 24, clock)
			golden.RequireEqual(t, []byte(Text(ReportOf(assess.Of(h)), c, 80)))
		})
	}
}

// The command and the screen draw the same page.
func TestTextIsTheScreensPage(t *testing.T) {
	for _, w := range []int{40, 80, 120} {
		h := heavy(t)
		got := Text(ReportOf(assess.Of(h)), uitest.Common(uitest.Look{}, w, 24, clock), w)
		want := strings.Join(screen(uitest.Look{}, w, 20, h).(Screen).lines(), "\n") + "\n"
		if got != want {
			t.Errorf("at %d the command says\n%s\nand the screen\n%s", w, got, want)
		}
	}
}

// By hand: four elements of 2 kW at 240 V take 4 x 2 x (239/240)^2 = 7.93 kW at 239 V. 1.7 kW used and 69 % dumped make
// 1.7/0.31 = 5.48 kW generated, 3.78 kW dumped; 4.15 kW free; 2.45 kW to spare, 45 %; one element less leaves 0.47 kW.
func TestTheNumbersAreThoseWorkedByHand(t *testing.T) {
	got := Text(ReportOf(assess.Of(history(t, usual()))), uitest.Common(uitest.Look{}, 80, 24, clock), 80)
	for _, want := range []string{
		"3.8 kW more can be switched on", "with 2.4 kW to\n", "spare (45 %", "takes at most 7.9 kW now (rated 8.0 kW)",
		"used 1.7 kW", "dumped 3.8 kW", "to spare 2.4 kW", "5.5 kW generated", "Takes 3.8 of 7.9 kW now", "limited by its elements",
		"without E1     2.0 kW   6.0 kW   0.5 kW  60.0 Hz, 240 V  stays on", "05:43, 2 h 17 min old",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("the page lacks %q:\n%s", want, got)
		}
	}
}

func TestADeadElementAndAShortBallastAreSaidInWords(t *testing.T) {
	got := Text(ReportOf(assess.Of(heavy(t))), uitest.Common(uitest.Look{}, 80, 24, clock), 80)
	for _, want := range []string{"the ballast is 2.1 kW short", "beyond the trip settings", "E3 is out of work (!)", "trips !!", "right of the line: 2.1 kW too much",
		"If one unit stops", "A stops", "B stops", "Out of work: E3"} {
		if !strings.Contains(strings.ReplaceAll(got, "\n    ", " "), want) {
			t.Errorf("the page lacks %q:\n%s", want, got)
		}
	}
	if strings.Contains(got, "without E3") {
		t.Error("a dead element has a row of what happens without it")
	}
}

// report is a page of made-up facts.
func report(change func(*electrical.Facts)) string {
	f := &electrical.Facts{RatedKW: 8, CapacityKW: 8, LimitedBy: electrical.ByElements, Volts: new(240.0), Running: []string{"A"},
		GenerationKW: new(6.0), LoadKW: new(2.0), DumpedKW: new(4.0), RemainingKW: new(4.0), LoadRoomKW: new(4.0),
		GenerationFrom: "meters", LoadFrom: "meters", DumpedFrom: "meters",
		Rejection: &electrical.Rejection{MarginKW: 2, MarginPct: new(33.3), Settled: electrical.Settled{Hertz: new(60.0), Volts: new(240.0)}},
		Elements:  []electrical.Element{{Name: "E1", RatedKW: 8, Working: true, TakesKW: 8, RatedVolts: 240}}}
	change(f)
	p := &plant.Plant{Supply: plant.Supply{Volts: 240, Hertz: 60}}
	return Text(Report{Facts: f, Plant: p, At: clock, Round: clock.Add(-time.Hour)}, uitest.Common(uitest.Look{}, 80, 24, clock), 80)
}

func TestEveryFateOfTheBusHasItsWords(t *testing.T) {
	cases := []struct {
		name   string
		change func(*electrical.Facts)
		want   string
	}{
		{"overload within the trip settings", func(f *electrical.Facts) {
			f.DumpedKW, f.LoadRoomKW = new(-0.8), new(0.0)
			f.Overload = &electrical.Overload{ShortKW: 0.8, Settled: electrical.Settled{Hertz: new(57.2), Volts: new(228.0), WithinTrip: new(true)}}
		}, " !! Overload: consumers take 0.8 kW more than is generated. Without relief: 57 Hz, 228 V, within the trip settings."},
		{"overload that nothing balances", func(f *electrical.Facts) {
			f.Overload = &electrical.Overload{ShortKW: 0.8, Settled: electrical.Settled{Collapse: true, WithinTrip: new(false)}}
		}, "nothing balances and the supply is lost, beyond the trip settings"},
		{"overload without a model", func(f *electrical.Facts) { f.DumpedKW = new(-0.5) }, "Overload: consumers take 0.5 kW more"},
		{"lost excitation", func(f *electrical.Facts) {
			f.Overload = &electrical.Overload{ShortKW: 1, Settled: electrical.Settled{Collapse: true, RunawayHertz: new(88.4)}}
		}, "the supply is lost and the sets run up to about 88 Hz"},
		{"no ballast at all", func(f *electrical.Facts) {
			f.Rejection = &electrical.Rejection{MarginKW: -6, Settled: electrical.Settled{Runaway: true, Hertz: new(88.0), Volts: new(240.0)}}
		}, "6.0 kW short: runaway: 88 Hz, 240 V, no trip settings are given"},
		{"volts that are a lower bound", func(f *electrical.Facts) {
			f.Rejection = &electrical.Rejection{MarginKW: -1, Settled: electrical.Settled{Hertz: new(70.0), Volts: new(280.0), VoltsAtLeast: true, WithinTrip: new(false)}}
		}, "70 Hz, at least 280 V, beyond the trip settings"},
		{"a bus that cannot be told", func(f *electrical.Facts) { f.Rejection = &electrical.Rejection{MarginKW: -1} }, "1.0 kW short: where it settles is not known"},
		{"generation that is not known", func(f *electrical.Facts) { f.GenerationKW, f.Rejection = nil, nil }, "because the generation is not"},
		{"load room that is not known", func(f *electrical.Facts) { f.DumpedKW, f.RemainingKW, f.LoadRoomKW = nil, nil, nil }, "How much more can be switched on is not known"},
		{"a standing plant", func(f *electrical.Facts) { f.GenerationKW, f.Running = new(0.0), []string{} }, "Nothing is generated"},
		{"a ballast that would have to take more than it can", func(f *electrical.Facts) { f.RemainingKW = new(-0.7) }, "take 0.7 kW more than it can"},
		{"a controller's limit", func(f *electrical.Facts) {
			f.LimitedBy, f.ControllerKW, f.ElementsKW = electrical.ByController, new(8.0), 8.2
		}, "limited by the controller (elements 8.2 kW)"},
		{"units that are not known", func(f *electrical.Facts) { f.Running = nil }, "which units ran is not known"},
		{"no elements", func(f *electrical.Facts) { f.Elements = nil }, "The plant describes no ballast element."},
		{"no loads", func(*electrical.Facts) {}, "The plant file lists no loads"},
		{"loads that do not fit", func(f *electrical.Facts) {
			f.LoadsThatFit = []electrical.LoadFit{{Name: "range", KW: 5, Why: electrical.WhyRoom}, {Name: "saw", KW: 1.6, StartKVA: new(9.0), Why: electrical.WhyStarting}, {Name: "lamp", KW: 0.06, Fits: true, Why: electrical.WhyOK}}
		}, "4.0 kW more can be switched on, but not: range, saw."},
		{"a load that misses the room by less than is shown", func(f *electrical.Facts) {
			f.LoadRoomKW = new(1.18)
			f.LoadsThatFit = []electrical.LoadFit{{Name: "saw", KW: 1.2, Why: electrical.WhyRoom}}
		}, "NO room: it takes more than the 1.18 kW that is dumped now."},
		{"only loads that do not fit", func(f *electrical.Facts) {
			f.LoadsThatFit = []electrical.LoadFit{{Name: "range", KW: 5, Why: electrical.WhyRoom}}
		}, "none of the listed loads fits"},
		{"a caution, once", func(f *electrical.Facts) {
			f.Cautions = []string{"the voltage was not read", "the voltage was not read"}
		}, " - The voltage was not read.\n - Ballast heaters"},
		{"a hostile name", func(f *electrical.Facts) { f.Elements[0].Name, f.Elements[0].Working = "E\x1b[2J", false }, `E\x1b[2J is out of work`},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got := report(c.change)
			if flat := strings.ReplaceAll(got, "\n    ", " "); !strings.Contains(flat, c.want) {
				t.Errorf("the page lacks %q:\n%s", c.want, got)
			}
			if strings.ContainsRune(got, 0x1b) || strings.Contains(got, "NaN") {
				t.Errorf("the page holds an escape or no number: %q", got)
			}
		})
	}
}

func TestWhatIsMissingIsSaidWithTheWayToGetIt(t *testing.T) {
	noRound := history(t, running([]string{"A"}, map[quantity.Key]float64{"pond_level_m": -0.3}))
	cases := []struct {
		name string
		h    *record.History
		want string
	}{
		{"no round with a power", noRound, "Walk a round"},
		{"no plant", &record.History{At: clock}, "headpond plant load FILE"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := screen(uitest.Look{}, 80, 20, c.h)
			if got := s.View(); !strings.Contains(got, c.want) {
				t.Errorf("the screen lacks %q:\n%s", c.want, got)
			}
			if _, cmd := s.Update(uitest.Key(t, "l")); cmd == nil {
				t.Error("the key for the round says nothing")
			} else if n, ok := cmd().(ui.Notice); !ok || !strings.Contains(n.Text, "is off") {
				t.Errorf("the key for the round without one gives %#v", cmd())
			}
		})
	}
	s, _ := New(uitest.Common(uitest.Look{}, 80, 20, clock), desk.Desk{}).SetSize(80, 20).Update(desk.Loaded{Err: fmt.Errorf("the book is locked")})
	if got := s.View(); !strings.Contains(got, "the book is locked") {
		t.Errorf("a book that cannot be read gives %q", got)
	}
}

func TestKeysLeadToTheRoundAndFurtherDown(t *testing.T) {
	s := screen(uitest.Look{}, 80, 20, history(t, usual()))
	for key, want := range map[string]desk.GoTo{"r": {Screen: "round"}, "l": {Screen: "log", Arg: "01K2M0000000000000000000AA"}} {
		_, cmd := s.Update(uitest.Key(t, key))
		if cmd == nil {
			t.Fatalf("%s does nothing", key)
		}
		if got, ok := cmd().(desk.GoTo); !ok || got != want {
			t.Errorf("%s gives %#v, want %#v", key, cmd(), want)
		}
	}
	if !strings.Contains(s.View(), "more below") || strings.Contains(s.View(), "licensed") {
		t.Errorf("the first page should go on below:\n%s", s.View())
	}
	if got := uitest.Press(t, s, "end").View(); !strings.Contains(got, "licensed") || !strings.Contains(got, footCaution) {
		t.Errorf("the last page lacks its end:\n%s", got)
	}
	if again, _ := uitest.Press(t, s, "end").(Screen).Arrive(""); again.View() != s.View() {
		t.Errorf("it is shown again where it was left, not from its top:\n%s", again.View())
	}
	if errs := ui.CheckBindings(s.Bindings()); len(errs) > 0 {
		t.Error(errs)
	}
}

func TestOldReadingsAreMarked(t *testing.T) {
	h := history(t, usual())
	h.At = clock.Add(72 * time.Hour)
	got := Text(ReportOf(assess.Of(h)), uitest.Common(uitest.Look{}, 80, 24, h.At), 80)
	if !strings.Contains(got, " !  From the readings of Fri 14 Aug 05:43, 3 days old") {
		t.Errorf("three days are not marked:\n%s", got)
	}
}

func TestItFitsAtAnySize(t *testing.T) {
	for name, h := range map[string]*record.History{"heavy": heavy(t), "no plant": {At: clock}} {
		t.Run(name, func(t *testing.T) {
			uitest.FitsAtAnySize(t, screen(uitest.Look{Color: true}, 80, 20, h), uitest.Theme(uitest.Look{Color: true}))
		})
	}
	uitest.FitsAtAnySize(t, New(uitest.Common(uitest.Look{}, 80, 20, clock), desk.Desk{}), uitest.Theme(uitest.Look{}))
}

// Whatever is read, the page is drawn, and nothing that is no number reaches it.
func TestAnyReadingsGiveAPage(t *testing.T) {
	p, err := demo.Plant()
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		values := map[quantity.Key]float64{}
		for _, k := range []quantity.Key{"volts", "load_kw", "dump_share_pct", "dump_kw", "A.kw", "pond_level_m"} {
			if rapid.Bool().Draw(t, string(k)+" read") {
				values[k] = rapid.Float64Range(-10, 300).Draw(t, string(k))
			}
		}
		r := record.Round{Time: clock.Add(-time.Hour), Values: values}
		if rapid.Bool().Draw(t, "running read") {
			r.Running = new(rapid.SampledFrom([][]string{{}, {"A"}, {"B"}, {"A", "B"}}).Draw(t, "running"))
		}
		h := &record.History{At: clock, Plant: p, Rounds: []record.Round{r}}
		w := rapid.IntRange(20, 140).Draw(t, "w")
		got := Text(ReportOf(assess.Of(h)), uitest.Common(uitest.Look{}, w, 24, clock), w)
		if err := uitest.Fits(got, w, 200); err != nil && w >= 40 {
			t.Fatal(err)
		}
		if strings.Contains(got, "NaN") || strings.Contains(got, "Inf") || strings.Contains(got, "%!") {
			t.Fatalf("no number in:\n%s", got)
		}
	})
}

func BenchmarkView(b *testing.B) {
	s := screen(uitest.Look{Color: true}, 120, 36, heavy(b))
	for b.Loop() {
		_ = s.View()
	}
}
