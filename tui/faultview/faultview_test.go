package faultview

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/exp/golden"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/headpond/model/demo"
	"example.org/headpond/model/faults"
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

// story is the demo's book at its end: the screen wants clearing, and a bearing grease.
func story(tb testing.TB) *record.History {
	tb.Helper()
	s, err := demo.History(1, clock, halifax)
	if err != nil {
		tb.Fatal(err)
	}
	s.Plant.Location = halifax
	return &record.History{At: clock, Plant: s.Plant, Rounds: s.Rounds, Events: s.Events, Complete: true}
}

func screen(tb testing.TB, look uitest.Look, w, h int, hist *record.History) ui.Screen {
	tb.Helper()
	s := New(uitest.Common(look, w, h, clock), desk.Desk{}).SetSize(w, h)
	s, cmd := s.Update(desk.Loaded{Version: 1, History: hist})
	if cmd == nil {
		tb.Fatal("a load asks for no causes")
	}
	s, _ = s.Update(cmd())
	return s
}

func TestView(t *testing.T) {
	h := story(t)
	for _, size := range [][2]int{{80, 20}, {120, 36}} {
		for name, look := range uitest.Looks() {
			t.Run(fmt.Sprintf("%dx%d/%s", size[0], size[1], name), func(t *testing.T) {
				s := screen(t, look, size[0], size[1], h)
				golden.RequireEqual(t, []byte(ui.Clamp(uitest.Theme(look), s.View(), size[0], size[1])))
			})
		}
	}
}

// facts is a small report with the words of every part.
func facts() *faults.Facts {
	num := func(v float64) *float64 { return &v }
	from := clock.Add(-48 * time.Hour)
	return &faults.Facts{
		At: clock, ReadingsUsed: 98, Rounds: 14, From: &from, To: &clock, Verdict: faults.CannotTell, Says: "The readings cannot tell: a and b.",
		Cautions: []string{"the last round is \x1b[2Jold"},
		Beside:   []faults.Beside{{Fault: faults.Bearing, Size: faults.Size{RiseC: num(18), Unit: "A"}, Since: &from}},
		Ranked: []faults.Cause{
			{Fault: faults.Air, Probability: 0.52, Size: faults.Size{LossM: num(1.23)}, Since: &from, FirstStep: "Open the air valve.", Caution: "Slowly.",
				Evidence: []faults.Evidence{
					{Quantity: "pressure_kpa", Read: 118.3, ExpectedHealthy: 131.2, ExpectedFault: 118.1, Readings: 14, Last: 117.2, Explains: true, Speaks: true},
					{Quantity: "A.kw", Read: 5.1, ExpectedHealthy: 5.2, ExpectedFault: 4.4, Readings: 12, Last: 5.3, Speaks: true},
					{Quantity: "volts", Read: 240, ExpectedHealthy: 240, ExpectedFault: 240, Explains: true}},
				TellApart: []faults.Apart{{From: faults.ScreenBlocked, By: "clear the screen and read again"}, {From: faults.None, By: "read again"}}},
			{Fault: faults.ScreenBlocked, Probability: 0.45, Size: faults.Size{ScreenOpen: num(0.052)}, FirstStep: "Clear it.", Caution: "Cold."},
			{Fault: faults.PressureGauge, Probability: 0.025, Size: faults.Size{OffsetKPa: num(-12)}, LeastSeen: &faults.Size{OffsetKPa: num(4)}, FirstStep: "Tap it.", Caution: "Cock."},
			{Fault: faults.None, Probability: 0.005},
		},
	}
}

// Evidence that is older than the last round says from when it is; what was read on the last round needs no such word.
func TestOldEvidenceTellsItsAge(t *testing.T) {
	f := facts()
	list := f.Ranked[0].Evidence
	list[0].LastTime, list[1].LastTime, list[2].LastTime = clock.Add(-15*time.Hour), clock.Add(-15*time.Hour), clock
	old := list[0]
	old.Quantity, old.LastTime = "dump_share_pct", clock.Add(-72*time.Hour)
	f.Ranked[0].Evidence = append(list, old)
	got := flat(Text(Report{Facts: f}, uitest.Common(uitest.Look{}, 80, 40, clock), 80))
	const want = "Last read Thu 13 Aug 17:00, 15 h ago: intake pressure, power A. Last read Tue 11 Aug 08:00, 3 days ago: dump share."
	if !strings.Contains(got, want) || strings.Count(got, "Last read") != 2 {
		t.Errorf("lacks %q: %s", want, got)
	}
}

func TestEveryPartHasItsWords(t *testing.T) {
	s := ui.Screen(Screen{Common: uitest.Common(uitest.Look{}, 80, 40, clock), facts: facts()}).SetSize(80, 40)
	first := s.View()
	for _, want := range []string{ // lines as they are wrapped at 80
		" !  The readings cannot tell: a and b.", "Beside it: hot bearing, unit A, about 18 K above its usual, since Wed 12 Aug",
		"From 98 readings of 14 rounds, Wed 12 Aug 08:00 to Fri 14 Aug 08:00", "52 %  air in the penstock", "takes about 1.23 m of head",
		"45 %  blocked screen", "5.2 % of it clear", "shows 12 kPa too little", "< 1 %  the one other", "Air in the penstock: takes about 1.23 m of head",
		"Shows since Wed 12 Aug 08:00", "mean of 12-14  last read   if sound  with this",
		"118.3 kPa  117.2 kPa  131.2 kPa  118.1 kPa  explained", "4.40 kW  not explained !", "As on a sound plant: voltage.",
		"Or blocked screen? To tell: clear the screen and read again.", "Or nothing is wrong? To tell: read again.", "First: Open the air valve.",
		"Careful: Slowly.", `The last round is \x1b[2Jold`, "never replace", footCaution,
	} {
		if !strings.Contains(strings.ReplaceAll(first, "\u00a0", " "), want) {
			t.Errorf("the page lacks %q:\n%s", want, first)
		}
	}
	third := uitest.Press(t, s, "down", "down").View()
	for _, want := range []string{"Pressure gauge: shows 12 kPa too little", "these readings would show it from this size on: shows 4 kPa too much. A change shows sooner."} {
		if !strings.Contains(strings.Join(strings.Fields(strings.ReplaceAll(third, "\u00a0", " ")), " "), want) {
			t.Errorf("the third cause's page lacks %q:\n%s", want, third)
		}
	}
	if back := uitest.Press(t, s, "down", "up", "up").View(); back != first {
		t.Error("going down and up again changes the page")
	}
}

func TestTextTellsOfAllInTheRunning(t *testing.T) {
	c := uitest.Common(uitest.Look{}, 80, 24, clock)
	got := Text(Report{Facts: facts()}, c, 80)
	for _, want := range []string{"Air in the penstock: takes", "Blocked screen: about", "Cautions"} {
		if !strings.Contains(got, want) {
			t.Errorf("the text lacks %q:\n%s", want, got)
		}
	}
	if strings.Contains(got, "Pressure gauge: shows") {
		t.Error("a cause of 2 % is told of at length")
	}
	golden.RequireEqual(t, []byte(got))
	if err := Text(Report{Err: errors.New("no round")}, c, 80); !strings.Contains(err, "No cause can be looked for yet: no round.") {
		t.Errorf("%q", err)
	}
}

// The sizes in either system; psi and feet by NIST SP 811.
func TestSizesInWords(t *testing.T) {
	num := func(v float64) *float64 { return &v }
	for _, c := range []struct {
		s    faults.Size
		want string
	}{
		{faults.Size{ScreenOpen: num(0.31)}, "about 31 % of it clear"},
		{faults.Size{ValveK: num(24.2)}, "loss coefficient about 24"},
		{faults.Size{ValveK: num(2.34), Penstock: "east"}, "penstock east, loss coefficient about 2.3"},
		{faults.Size{LeakLps: num(12.34)}, "about 12.3 L/s"},
		{faults.Size{EfficiencyShare: num(0.82), Unit: "B"}, "unit B, about 82 % of its power left"},
		{faults.Size{SlipShare: num(0.06)}, "about 6.0 % slip"},
		{faults.Size{Element: "E1 or E2", LostKW: num(2)}, "E1 or E2 (2.0 kW)"},
		{faults.Size{OverKW: num(0.4)}, "0.4 kW too much"},
		{faults.Size{OverKW: num(-0.4)}, "0.4 kW to spare"},
		{faults.Size{ShortKW: num(0.6)}, "0.6 kW too little"},
		{faults.Size{Volts: num(226)}, "holds 226 V"},
		{faults.Size{Hertz: num(57.94)}, "holds 57.9 Hz"},
		{faults.Size{OffsetM: num(0.25)}, "shows 0.25 m too much"},
		{faults.Size{LevelM: num(-0.91)}, "stands at -0.91 m"},
		{faults.Size{SpreadHertz: num(1.2)}, "wanders by about 1.2 Hz"},
		{faults.Size{}, ""},
	} {
		p := page{common: uitest.Common(uitest.Look{}, 80, 24, clock)}
		if got := strings.ReplaceAll(p.size(faults.Cause{Size: c.s, Probability: 1}), "\u00a0", " "); got != c.want {
			t.Errorf("%+v is told as %q, want %q", c.s, got, c.want)
		}
	}
	for v, want := range map[float64]string{0: "< 1", 0.004: "< 1", 0.014: "1", 0.5: "50", 0.994: "> 99", 1: "> 99"} {
		if got := strings.TrimSuffix(percent(v), "\u00a0%"); got != want {
			t.Errorf("%g is %s %%, want %s", v, got, want)
		}
	}
}

func TestWhatIsMissingIsSaid(t *testing.T) {
	for name, h := range map[string]*record.History{"no plant": {At: clock}, "no rounds": {At: clock, Plant: story(t).Plant}} {
		if got := screen(t, uitest.Look{}, 80, 20, h).View(); !strings.Contains(got, "No cause can be looked for yet") || !strings.Contains(got, "A week of ordinary rounds") {
			t.Errorf("%s: %q", name, got)
		}
	}
	s, _ := New(uitest.Common(uitest.Look{}, 80, 20, clock), desk.Desk{}).SetSize(80, 20).Update(desk.Loaded{Err: errors.New("the book is locked")})
	if got := s.View(); !strings.Contains(got, "the book is locked") {
		t.Errorf("a book that cannot be read gives %q", got)
	}
	waiting, _ := New(uitest.Common(uitest.Look{}, 80, 20, clock), desk.Desk{}).SetSize(80, 20).Update(desk.Loaded{Version: 1, History: story(t)})
	if got := waiting.View(); !strings.Contains(got, "Working out the causes") {
		t.Errorf("while it works it shows %q", got)
	}
}

func TestAnswersToOlderLoadsAreDropped(t *testing.T) {
	s := screen(t, uitest.Look{}, 80, 20, story(t))
	before := s.View()
	s, _ = s.Update(ranked{version: 0, err: errors.New("old")})
	if s.View() != before {
		t.Error("an answer to an older load was taken")
	}
}

func TestKeysLeadOn(t *testing.T) {
	s := screen(t, uitest.Look{}, 80, 20, story(t))
	for key, want := range map[string]desk.GoTo{"r": {Screen: "round"}, "l": {Screen: "log"}} {
		_, cmd := s.Update(uitest.Key(t, key))
		if cmd == nil {
			t.Fatalf("%s does nothing", key)
		}
		if got, ok := cmd().(desk.GoTo); !ok || got != want {
			t.Errorf("%s gives %#v, want %#v", key, cmd(), want)
		}
	}
	if got := uitest.Press(t, s, "end").View(); !strings.Contains(got, "engineers") {
		t.Errorf("the last page lacks its end:\n%s", got)
	}
	if errs := ui.CheckBindings(s.Bindings()); len(errs) > 0 {
		t.Error(errs)
	}
	readOnly := New(uitest.Common(uitest.Look{}, 80, 20, clock), desk.Desk{ReadOnly: true})
	if _, cmd := readOnly.Update(uitest.Key(t, "r")); cmd != nil {
		if _, ok := cmd().(desk.GoTo); ok {
			t.Error("a read-only book leads to a new round")
		}
	}
}

func TestAnySizeFits(t *testing.T) {
	h := story(t)
	full := screen(t, uitest.Look{}, 80, 20, h)
	rapid.Check(t, func(r *rapid.T) {
		w, height := rapid.IntRange(1, 160).Draw(r, "w"), rapid.IntRange(1, 60).Draw(r, "h")
		s := full.SetSize(w, height)
		for range rapid.IntRange(0, 3).Draw(r, "downs") {
			s, _ = s.Update(tea.KeyMsg{Type: tea.KeyDown})
		}
		if err := uitest.Fits(ui.Clamp(uitest.Theme(uitest.Look{}), s.View(), w, height), w, height); err != nil {
			r.Fatal(err)
		}
	})
}

// The numbers are the sizes' own, by hand.
func TestARangeIsSaidInTheSizesOwnUnit(t *testing.T) {
	num := func(v float64) *float64 { return &v }
	for _, c := range []struct {
		low, high faults.Size
		units     quantity.System
		want      string
	}{
		{faults.Size{ScreenOpen: num(0.061)}, faults.Size{ScreenOpen: num(0.044)}, "", "Four times in five between 4.4 % and 6.1 % of it clear."},
		{faults.Size{ValveK: num(18)}, faults.Size{ValveK: num(25.4)}, "", "Four times in five between 18 and 25."},
		{faults.Size{LossM: num(1.1)}, faults.Size{LossM: num(1.4)}, "", "Four times in five between 1.10 m and 1.40 m of head."},
		{faults.Size{LeakLps: num(9)}, faults.Size{LeakLps: num(14)}, "", "Four times in five between 9.0 L/s and 14.0 L/s."},
		{faults.Size{EfficiencyShare: num(0.9)}, faults.Size{EfficiencyShare: num(0.82)}, "", "Four times in five between 82 % and 90 % of its power left."},
		{faults.Size{SlipShare: num(0.05)}, faults.Size{SlipShare: num(0.12)}, "", "Four times in five between 5.0 % and 12 % slip."},
		{faults.Size{Volts: num(226)}, faults.Size{Volts: num(221)}, "", "Four times in five between 221 V and 226 V."},
		{faults.Size{Hertz: num(58.1)}, faults.Size{Hertz: num(57.9)}, "", "Four times in five between 57.9 Hz and 58.1 Hz."},
		{faults.Size{OffsetKPa: num(-9)}, faults.Size{OffsetKPa: num(-14)}, "", "Four times in five between 9 kPa and 14 kPa."},
		{faults.Size{OffsetKPa: num(-6.9)}, faults.Size{OffsetKPa: num(-13.8)}, quantity.US, "Four times in five between 1.0 psi and 2.0 psi."},
		{faults.Size{OffsetM: num(0.2)}, faults.Size{OffsetM: num(0.35)}, "", "Four times in five between 0.20 m and 0.35 m."},
		{faults.Size{RiseC: num(14)}, faults.Size{RiseC: num(22)}, "", "Four times in five between 14 K and 22 K."},
		{faults.Size{SpreadHertz: num(0.6)}, faults.Size{SpreadHertz: num(1.9)}, "", "Four times in five between 0.6 Hz and 1.9 Hz."},
		{faults.Size{Volts: num(226.2)}, faults.Size{Volts: num(226.3)}, "", ""}, // no wider than what is shown
		{faults.Size{Element: "E1", LostKW: num(2)}, faults.Size{Element: "E1", LostKW: num(2)}, "", ""},
	} {
		p := page{common: uitest.Common(uitest.Look{}, 80, 24, clock)}
		p.common.Units = c.units
		if got := strings.ReplaceAll(p.within(&faults.SizeRange{Low: c.low, High: c.high}), "\u00a0", " "); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
	if got := (page{}).within(nil); got != "" {
		t.Errorf("no range says %q", got)
	}
}

// One look at the screen tells it from all that take head elsewhere: said once, not four times.
func TestRivalsThatOneObservationTellsApartAreNamedTogether(t *testing.T) {
	got := apart([]faults.Apart{{From: faults.ValvePart, By: "clear it"}, {From: faults.PressureGauge, By: "tap it"}, {From: faults.Air, By: "clear it"}, {From: faults.None, By: "clear it"}, {From: faults.Leak, By: "walk"}})
	want := []observation{{"main valve part closed, air in the penstock or nothing is wrong", "clear it"}, {"pressure gauge", "tap it"}, {"leaking penstock", "walk"}}
	if diff := cmp.Diff(want, got, cmp.AllowUnexported(observation{})); diff != "" {
		t.Error(diff)
	}
	if len(apart(nil)) != 0 {
		t.Error("no rivals, and something is said")
	}
}

// A mean is never called read, a single reading is no mean, and a narrow window loses the last reading before anything else.
func TestTheHeadingSaysWhatWasRead(t *testing.T) {
	row := func(n int) []faults.Evidence { return []faults.Evidence{{Readings: n}} }
	for _, c := range []struct {
		list  []faults.Evidence
		sound bool
		w     int
		want  string
	}{
		{row(1), false, 80, "read if sound with this"},
		{row(3), false, 80, "mean of 3 last read if sound with this"},
		{row(3), true, 66, "mean of 3 last read if sound"},
		{row(3), false, 50, "mean of 3 if sound with this"},
		{append(row(3), row(2)...), false, 66, "mean of 2-3 last read if sound with this"},
	} {
		if got := strings.Join(strings.Fields(cellsFor(c.list, c.sound, c.w).heading(c.list)), " "); got != c.want {
			t.Errorf("%d readings at %d: %q, want %q", c.list[0].Readings, c.w, got, c.want)
		}
	}
}

// The verdict may begin with a trip's note, which somebody wrote: nothing of it may act on the terminal.
func TestATripsNoteIsHarmless(t *testing.T) {
	f := facts()
	f.Says = "The plant tripped 6 min ago, under-frequency (\x1b[2Jsaw\u202e). By the rounds: nothing."
	got := Text(Report{Facts: f}, uitest.Common(uitest.Look{}, 80, 24, clock), 80)
	if strings.Contains(got, "\x1b[2J") || strings.ContainsRune(got, '\u202e') || !strings.Contains(got, "saw") {
		t.Errorf("%q", got)
	}
}
