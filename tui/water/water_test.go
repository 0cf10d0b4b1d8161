package waterview

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/exp/golden"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/demo"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/water"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
	"example.org/headpond/tui/ui/uitest"
)

var (
	halifax = time.FixedZone("ADT", -3*3600)
	clock   = time.Date(2026, 8, 14, 8, 0, 0, 0, halifax)
)

// facts are made up, so that a golden changes with the screen only and not with the forecast's method.
func facts() *water.Facts {
	h := func(p10, p50, p90 float64) *water.Hours { return &water.Hours{P10: &p10, P50: &p50, P90: &p90} }
	f := &water.Facts{At: clock, LevelM: -0.328, StopLevelM: -0.85, StopLevelFrom: "plant", UsableM3: 27512, CrestM: new(0.10),
		InflowLps: &water.Range{P10: 49.2, P50: 57.4, P90: 66.9}, LastLevel: &water.Reading{Time: clock.Add(-137 * time.Minute), Value: -0.33},
		Cautions: []string{"3 levels cannot be and were set aside, the last -0.170 m of 2026-06-10 17:28; correct them if they were mistyped."}}
	from, to := clock.AddDate(0, 0, -120), clock.Add(-137*time.Minute)
	f.RestsOn = water.RestsOn{Levels: 229, From: &from, To: &to}
	permit := func(h *water.Hours) *water.Permit {
		return &water.Permit{LowM: new(-0.90), LowHours: h, HighM: new(0.30), HighHours: &water.Hours{}}
	}
	f.Ways = []water.Way{
		{Run: []string{}, Outcome: water.Spills, SpillsShare: 0.9, EnergyKWh: &water.Range{}, Hours: &water.Hours{}, Permit: permit(&water.Hours{})},
		{Run: []string{"A"}, DrawLps: 77.4, KW: 5.98, Outcome: water.RunsOut, RunsOutShare: 1, Hours: h(168, 221, 402), EnergyKWh: &water.Range{P10: 981, P50: 1304, P90: 3970}, Permit: permit(&water.Hours{P10: new(2424.0)})},
		{Run: []string{"B"}, DrawLps: 43.2, KW: 2.96, Outcome: water.Lasts, RunsOutShare: 0.31, Hours: &water.Hours{P10: new(380.0)}, HoursAnyOutcome: &water.Hours{P10: new(380.0)}, EnergyKWh: &water.Range{P10: 1100, P50: 9000, P90: 26000}, Permit: permit(h(300, 420, 700))},
		{Run: []string{"A", "B"}, DrawLps: 114.7, KW: 7.9, Outcome: water.RunsOut, RunsOutShare: 0.97, Hours: h(60, 112, 151), EnergyKWh: &water.Range{P10: 741, P50: 860, P90: 1190}, Permit: permit(h(80, 130, 190))},
	}
	for i := -60; i <= 0; i++ { // twice a day, with a week that nobody wrote down
		if i < -36 || i > -22 {
			at := float64(i)
			f.History = append(f.History, water.LevelPoint{Time: to.Add(time.Duration(i) * 12 * time.Hour), LevelM: -0.33 - 0.007*at + 0.03*math.Sin(at/4)})
			f.Inflow = append(f.Inflow, water.InflowPoint{Time: to.Add(time.Duration(i) * 12 * time.Hour), Lps: water.Range{P50: 57 - 3*at}})
		}
	}
	f.History[3].LevelM, f.History[3].SetAside = 1.9, true
	for i := range f.Ways {
		fall := []float64{-0.008, 0.056, 0.02, 0.11}[i]
		for d := range 61 {
			level := func(share float64) float64 { return max(-0.85, -0.328-fall*share*float64(d)) }
			f.Ways[i].Fan = append(f.Ways[i].Fan, water.FanPoint{Time: clock.AddDate(0, 0, d), LevelM: water.Range{P10: min(level(1.4), level(0.6)), P50: level(1), P90: max(level(1.4), level(0.6))}})
		}
	}
	f.Permit = f.Ways[1].Permit
	return f
}

// history is Tern Hollow with a month of levels that fall by 11 mm a day while A runs.
func history(tb testing.TB) *record.History {
	tb.Helper()
	p, err := demo.Plant()
	if err != nil {
		tb.Fatal(err)
	}
	p.Location = halifax
	h := &record.History{At: clock, Plant: p, Complete: true}
	for d := 30; d >= 0; d-- {
		h.Rounds = append(h.Rounds, record.Round{ID: fmt.Sprint(d), Time: clock.Add(-time.Duration(d)*24*time.Hour - time.Hour), Running: &[]string{"A"},
			Values: map[quantity.Key]float64{quantity.Key(quantity.PondLevelM): -0.33 + 0.011*float64(d)}})
	}
	return h
}

// bench drives a screen and carries out its commands when the test says so.
type bench struct {
	tb    testing.TB
	s     ui.Screen
	under []tea.Cmd // commands whose answers have not come yet
	said  []string
}

func newBench(tb testing.TB, look uitest.Look, w, h int, hist *record.History, f *water.Facts) *bench {
	tb.Helper()
	b := &bench{tb: tb, s: New(uitest.Common(look, w, h, clock), desk.Desk{}).SetSize(w, h)}
	b.give(desk.Loaded{Version: 1, History: hist, Facts: assess.NowFacts(hist)})
	b.give(desk.Water{Version: 1, Facts: f})
	return b
}

func (b *bench) give(m tea.Msg) {
	var cmd tea.Cmd
	if b.s, cmd = b.s.Update(m); cmd != nil {
		b.under = append(b.under, cmd)
	}
}

// settle carries out every command until none is left.
func (b *bench) settle() {
	b.tb.Helper()
	for i := 0; len(b.under) > 0; i++ {
		if i > 50 {
			b.tb.Fatal("the screen never comes to rest")
		}
		cmd := b.under[0]
		b.under = b.under[1:]
		switch m := cmd().(type) {
		case ui.Notice:
			b.said = append(b.said, m.Text)
		default:
			b.give(m)
		}
	}
}

func (b *bench) press(names ...string) {
	b.tb.Helper()
	for _, n := range names {
		b.give(uitest.Key(b.tb, n))
	}
}

func (b *bench) typed(s string) {
	b.tb.Helper()
	for _, r := range s {
		b.press(string(r))
	}
}

func (b *bench) screen() Screen { return b.s.(Screen) }

// flat is the whole page without line ends, for sentences that are wrapped.
func (b *bench) flat() string { return flat(strings.Join(b.screen().page().lines(), "\n")) }

func flat(page string) string { return strings.Join(strings.Fields(page), " ") }

func (b *bench) has(want ...string) {
	b.tb.Helper()
	for _, w := range want {
		if !strings.Contains(b.flat(), w) {
			b.tb.Errorf("the page lacks %q:\n%s", w, strings.Join(b.screen().page().lines(), "\n"))
		}
	}
}

func TestView(t *testing.T) {
	for _, size := range [][2]int{{80, 20}, {120, 36}} {
		for name, look := range uitest.Looks() {
			t.Run(fmt.Sprintf("%dx%d/%s", size[0], size[1], name), func(t *testing.T) {
				b := newBench(t, look, size[0], size[1], history(t), facts())
				golden.RequireEqual(t, []byte(ui.Clamp(uitest.Theme(look), b.s.View(), size[0], size[1])))
			})
		}
	}
}

func TestTypingGolden(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20, history(t), facts())
	b.press("d")
	b.typed("28 Aug")
	golden.RequireEqual(t, []byte(b.s.View()))
}

func TestText(t *testing.T) {
	r := Report{Facts: facts(), Running: []string{"A"}}
	golden.RequireEqual(t, []byte(Text(r, uitest.Common(uitest.Look{}, 80, 24, clock), 80)))
}

func TestAPlantInCustomaryUnits(t *testing.T) {
	c := uitest.Common(uitest.Look{}, 80, 24, clock)
	c.Units = quantity.US
	got := flat(Text(Report{Facts: facts(), Running: []string{"A"}}, c, 80))
	// By hand: -0.328 m / 0.3048 = -1.08 ft; 27512 m³ / 1233.48 = 22.3 acre-ft; 57.4 L/s x 15.850323 = 910 gpm (NIST SP 811).
	for _, want := range []string{"Pond -1.08 ft", "22.3 acre-ft above the stop at -2.79 ft", "middle 910;", "gpm"} {
		if !strings.Contains(got, want) {
			t.Errorf("the page lacks %q: %s", want, got)
		}
	}
}

func TestTheWayThatRunsComesFirstAndAnotherCanBePicked(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20, history(t), facts())
	b.has("Running A, as now: 7 to 17 days to the stop level, most likely about 9 days.", "Gives 980 to 4000 kWh to the stop level, middle 1300.",
		"Stop level reached 21 Aug to 31 Aug; as likely before as after 23 Aug.", "Permit: low level -0.90 m is reached in fewer than half")
	b.press("down")
	b.has("Running B: it most likely lasts; 31 of 100 outcomes reach the stop level, the first ten in 16 days", "within the forecast, middle 9000", "is reached in 13 to 29 days, 26 Aug to 12 Sep", "x with B, middle")
	b.press("down", "down", "down")
	b.has("!! Running A+B: 3 to 6 days", "97 of 100 outcomes reach it", "x with A+B, middle")
	if view := b.s.View(); !strings.Contains(view, "> A+B") {
		t.Errorf("the picked way is out of sight:\n%s", view)
	}
	b.press("up", "up", "up", "up")
	b.has("Nothing running: it fills and spills over the crest", "x with none, middle")
}

func TestAPickedWayStaysPickedWhenTheBookChanges(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20, history(t), facts())
	b.press("down")
	b.give(desk.Loaded{Version: 2, History: history(t), Facts: assess.NowFacts(history(t))})
	b.has("Running B:") // and the old forecast stands until the new one comes
	f := facts()
	f.LevelM = -0.41
	b.give(desk.Water{Version: 2, Facts: f})
	b.has("Running B:", "Pond -0.41 m")
	b.give(desk.Water{Version: 1, Facts: facts()})
	b.has("Pond -0.41 m")
}

func TestAWantedDateIsAnsweredWhileItIsTyped(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20, history(t), facts())
	b.press("d")
	b.typed("1")
	b.has("Must last until", "Working out the answer", "Running A, as now: 7 to 17 days")
	b.typed("4")
	b.settle()
	u := b.screen().answer.Until
	if u == nil || !u.Date.Equal(time.Date(2026, 8, 29, 0, 0, 0, 0, halifax)) {
		t.Fatalf("14 days from 14 August are answered with %+v", u)
	}
	b.has("Until Fri 28 Aug", fmt.Sprintf("%.0f of 100 outcomes", 100*u.Holds), "at Fri 28 Aug 23:59")
	b.press("enter")
	if b.s.Capturing() || b.screen().want.until.IsZero() {
		t.Error("Enter does not keep the date")
	}
	b.press("d")
	b.typed("x") // no date: the last answer stays, Enter does not take it
	b.press("enter")
	b.settle()
	if !b.s.Capturing() || len(b.said) == 0 || !strings.Contains(b.said[0], "Not taken") {
		t.Errorf("a text that is no date is taken, said %q", b.said)
	}
	b.has("Until Fri 28 Aug")
	b.press("esc")
	b.has("Until Fri 28 Aug")
	b.press("x")
	b.settle()
	if b.screen().answer != nil || b.screen().want.any() || strings.Contains(b.flat(), "Until Fri") {
		t.Error("x does not bring back the forecast as it is")
	}
}

func TestEscPutsTheQuestionBack(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20, history(t), facts())
	b.press("b")
	b.typed("3")
	b.press("enter")
	b.press("b")
	b.typed("0")
	if q := b.screen().want; q.bypassLps != 30 {
		t.Fatalf("while typing the question is %+v", q)
	}
	b.press("esc")
	if q := b.screen().want; !q.bypass || q.bypassLps != 3 {
		t.Errorf("after Esc the question is %+v", q)
	}
	b.press("b", "backspace")
	if q := b.screen().want; q.any() {
		t.Errorf("an empty field still asks %+v", q)
	}
}

func TestAnotherBypassAndRainAreComparedWithThingsAsTheyAre(t *testing.T) {
	h := history(t)
	base, err := assess.Of(h).Water(context.Background(), water.Options{Fan: true})
	if err != nil {
		t.Fatal(err)
	}
	b := newBench(t, uitest.Look{}, 120, 36, h, base)
	energy := func() float64 { return b.screen().page().facts().Ways[1].EnergyKWh.P50 }
	as := energy()
	b.press("b")
	b.typed("0")
	b.press("enter")
	b.settle()
	b.has("What if the bypass is 0.0 L/s: all numbers here suppose it.", "as it is")
	without := energy()
	b.press("r")
	b.typed("30 mm")
	b.press("enter")
	b.settle()
	b.has("What if the bypass is 0.0 L/s and 30 mm of rain fall within a day", "Of the supposed rain")
	if rain := energy(); !(as < without && without < rain) {
		t.Errorf("kWh to the stop level: %.0f as it is, %.0f without bypass, %.0f with rain too", as, without, rain)
	}
}

// One forecast at a time: a filtered log is not for several at once. What is asked meanwhile follows, the newest only.
func TestOnlyTheNewestQuestionIsAskedNext(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20, history(t), facts())
	b.press("b")
	b.typed("123")
	if len(b.under) != 1 {
		t.Fatalf("%d forecasts are under way at once", len(b.under))
	}
	first := b.under[0]
	b.under = nil
	m, ok := first().(answer)
	if !ok || m.asked.bypassLps != 1 || !errors.Is(m.err, context.Canceled) {
		t.Fatalf("the first forecast was not stopped by the second question: %+v", m)
	}
	b.give(m)
	if len(b.under) != 1 {
		t.Fatalf("after the first answer %d forecasts are under way", len(b.under))
	}
	b.settle()
	if s := b.screen(); s.answer == nil || s.got.bypassLps != 123 || s.waiting() {
		t.Errorf("the answer is to %+v, waiting %v", s.got, s.waiting())
	}
}

func TestAWorkingAnswerCanBeStopped(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20, history(t), facts())
	b.press("b")
	b.typed("2")
	b.press("enter")
	if !ui.Found(uitest.Key(t, "esc"), b.s.Bindings(), false) {
		t.Fatal("Esc is no key while an answer is worked out")
	}
	b.press("esc")
	b.settle()
	b.has("Stopped: the newest question has no answer.", "Running A, as now")
	if b.screen().answer != nil {
		t.Error("a stopped forecast answered all the same")
	}
	b.press("b")
	b.typed("5")
	b.settle()
	if s := b.screen(); s.answer == nil || s.got.bypassLps != 25 {
		t.Errorf("after a stop nothing more is answered: %+v", s.got)
	}
}

func TestANewLogAsksAnew(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20, history(t), facts())
	b.press("b")
	b.typed("2")
	b.press("enter")
	b.settle()
	old := b.screen().answer
	h := history(t)
	h.Rounds[len(h.Rounds)-1].Values[quantity.Key(quantity.PondLevelM)] = -0.40
	b.give(desk.Loaded{Version: 2, History: h, Facts: assess.NowFacts(h)})
	b.has("Working out the answer")
	b.settle()
	if s := b.screen(); s.answer == old || s.answer == nil || s.waiting() || s.answer.LevelM > -0.34 {
		t.Errorf("the answer is still the older log's: %+v", s.answer)
	}
}

func TestAnAnswerThatFailsIsSaidAndTheLastStays(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20, history(t), facts())
	b.press("b")
	b.typed("2")
	b.under = nil
	b.give(answer{version: 1, asked: b.screen().want, err: errors.New("the pond cannot be followed")})
	b.has("The newest question has no answer: the pond cannot be followed.", "Running A, as now")
}

func TestRainIsOffWithoutACatchment(t *testing.T) {
	h := history(t)
	h.Plant.Pond.CatchmentKM2 = nil
	b := newBench(t, uitest.Look{}, 80, 20, h, facts())
	b.press("r")
	b.settle()
	if b.s.Capturing() || len(b.said) != 1 || !strings.Contains(b.said[0], "catchment_km2") {
		t.Errorf("rain without a catchment: typing %v, said %q", b.s.Capturing(), b.said)
	}
}

func TestWhatIsMissingIsSaidWithTheWayToGetIt(t *testing.T) {
	c := uitest.Common(uitest.Look{}, 80, 20, clock)
	s := New(c, desk.Desk{}).SetSize(80, 20)
	if got := s.View(); !strings.Contains(got, "Working out how long") {
		t.Errorf("before the forecast: %q", got)
	}
	s, _ = s.Update(desk.Water{Err: water.ErrNoLevels})
	if got := flat(s.View()); !strings.Contains(got, "no pond level yet") || !strings.Contains(got, "two days at least") {
		t.Errorf("without levels: %q", got)
	}
	s, _ = s.Update(desk.Loaded{Err: errors.New("the book is locked")})
	if got := s.View(); !strings.Contains(got, "the book is locked") {
		t.Errorf("a locked book: %q", got)
	}
	_, cmd := s.Update(uitest.Key(t, "d"))
	if cmd == nil {
		t.Fatal("d without a forecast says nothing")
	}
	if n, ok := cmd().(ui.Notice); !ok || !strings.Contains(n.Text, "is off") {
		t.Errorf("d without a forecast gives %#v", cmd())
	}
}

func TestALogThatIsTooThinSaysSo(t *testing.T) {
	h := history(t)
	h.Rounds = h.Rounds[30:]
	f, err := assess.Of(h).Water(context.Background(), water.Options{Fan: true})
	if err != nil {
		t.Fatal(err)
	}
	b := newBench(t, uitest.Look{}, 80, 20, h, f)
	b.has("Running A, as now: how long is not known yet.", "Inflow not known yet", "not known yet", "1 level read", "one day")
	if strings.Contains(b.flat(), "NaN") {
		t.Error("a number that is none is shown")
	}
}

func TestEveryWayHasItsWords(t *testing.T) {
	p := &water.Plan{Unit: "A", From: "06:00", To: "14:30"}
	cases := []struct {
		run         []string
		plan        *water.Plan
		name, words string
	}{
		{[]string{"A", "B"}, nil, "A+B", "A and B"},
		{[]string{}, nil, "none", ""},
		{[]string{}, p, "A 06:00-14:30", "A from 06:00 to 14:30 every day"},
		{[]string{"B"}, p, "B + A 06:00-14:30", "B all day and A from 06:00 to 14:30 every day"},
	}
	for _, c := range cases {
		if got := wayName(c.run, c.plan); got != c.name {
			t.Errorf("name %q, want %q", got, c.name)
		}
		if got := wayWords(c.run, c.plan); got != c.words {
			t.Errorf("words %q, want %q", got, c.words)
		}
	}
}

func TestWhatHoldsForSureAndWhatDoesNot(t *testing.T) {
	cases := []struct {
		u    water.Until
		want string
	}{
		{water.Until{Date: clock.AddDate(0, 0, 5), Run: []string{"B"}, Holds: 0.914, EnergyKWh: 355}, "Until Wed 19 Aug 08:00 run B: about 360 kWh, holds in 91 of 100 outcomes."},
		{water.Until{Date: clock.AddDate(0, 0, 5), Run: []string{}, Holds: 0.55}, "nothing holds for sure; the best is no unit at all, which holds in 55 of 100 outcomes."},
	}
	for _, c := range cases {
		f := facts()
		f.Until = &c.u
		got := flat(Text(Report{Facts: f}, uitest.Common(uitest.Look{}, 80, 24, clock), 80))
		if !strings.Contains(got, c.want) {
			t.Errorf("the page lacks %q: %s", c.want, got)
		}
	}
}

func TestACommandsSuppositionIsSaid(t *testing.T) {
	r := Report{Facts: facts(), WhatIf: water.WhatIf{BypassLps: new(12.0), RainMM: 25}}
	if got := flat(Text(r, uitest.Common(uitest.Look{}, 80, 24, clock), 80)); !strings.Contains(got, "What if the bypass is 12.0 L/s and 25 mm of rain fall within a day") {
		t.Errorf("what --bypass and --rain suppose is not said: %s", got)
	}
}

func TestTheBookAndTheScreenSayTheSame(t *testing.T) {
	for _, w := range []int{40, 80, 120} {
		b := newBench(t, uitest.Look{}, w, 20, history(t), facts())
		got := flat(Text(Report{Facts: facts(), Running: []string{"A"}}, uitest.Common(uitest.Look{}, w, 24, clock), w))
		for _, l := range b.screen().page().head() {
			if want := flat(l); !strings.Contains(got, want) {
				t.Errorf("at %d the command lacks %q", w, want)
			}
		}
	}
}

func TestKeysAreSound(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20, history(t), facts())
	if errs := ui.CheckBindings(b.s.Bindings()); len(errs) > 0 {
		t.Error(errs)
	}
	if !strings.Contains(ui.BottomLine(uitest.Theme(uitest.Look{}), b.s, 80), "d until a date") {
		t.Error("the bottom line hides the date")
	}
	b.press("d")
	if errs := ui.CheckBindings(b.s.Bindings()); len(errs) > 0 {
		t.Error(errs)
	}
	if !ui.Takes(b.s, uitest.Key(t, "q")) || !ui.Takes(b.s, uitest.Key(t, "1")) || ui.Takes(b.s, uitest.Key(t, "?")) {
		t.Error("letters and digits must be text while a date is typed, the help's key not")
	}
	b.press("esc", "pgdown")
	if got := b.s.View(); !strings.Contains(got, "more above") {
		t.Errorf("PgDn does not scroll:\n%s", got)
	}
	b.give(ui.Run{Action: "water.bypass"})
	if !b.s.Capturing() {
		t.Error("an action chosen on the help page does nothing")
	}
}

func TestItFitsAtAnySize(t *testing.T) {
	theme := uitest.Theme(uitest.Look{Color: true})
	b := newBench(t, uitest.Look{Color: true}, 80, 20, history(t), facts())
	uitest.FitsAtAnySize(t, b.s, theme)
	b.press("r")
	b.typed("12")
	b.settle()
	uitest.FitsAtAnySize(t, b.s, theme)
	uitest.FitsAtAnySize(t, New(uitest.Common(uitest.Look{}, 80, 20, clock), desk.Desk{}), theme)
}

func TestTextFromOutsideIsHarmless(t *testing.T) {
	f := facts()
	f.Ways[1].Run = []string{"A\x1b[2J"}
	f.Cautions = []string{"odd \x1b]52;c;x\a"}
	got := Text(Report{Facts: f, Running: f.Ways[1].Run}, uitest.Common(uitest.Look{}, 80, 24, clock), 80)
	if strings.ContainsRune(got, 0x1b) || strings.ContainsRune(got, 7) {
		t.Errorf("an escape gets through: %q", got)
	}
	for _, l := range strings.Split(got, "\n") {
		if n := text.Width(l); n > 80 {
			t.Errorf("a line of %d cells: %q", n, l)
		}
	}
}

// A pond that empties in hours is shown in hours.
func TestASmallPondHasAShortWindow(t *testing.T) {
	f := facts()
	for i := range f.Ways {
		f.Ways[i].Hours = &water.Hours{P10: new(8.0), P50: new(10.0), P90: new(13.0)}
		f.Ways[i].Outcome = water.RunsOut
	}
	p := page{report: Report{Facts: f, Running: []string{"A"}}, common: uitest.Common(uitest.Look{}, 80, 24, clock), w: 80, h: 20}
	from, to := p.window()
	if to.Sub(clock) != windowMin || clock.Sub(from) != windowMin {
		t.Errorf("the window is %s to %s", from, to)
	}
	if got := flat(strings.Join(p.lines(), " ")); !strings.Contains(got, "8 to 13 h to the stop level") || !strings.Contains(got, "Fri 16:00 to Fri 21:00") {
		t.Errorf("hours are not told in hours: %s", got)
	}
}

func TestPlantsWithoutLimitsDrawOnlyTheStop(t *testing.T) {
	f := facts()
	f.CrestM, f.Permit = nil, nil
	for i := range f.Ways {
		f.Ways[i].Permit = nil
	}
	got := Text(Report{Facts: f}, uitest.Common(uitest.Look{}, 80, 24, clock), 80)
	if strings.Contains(got, "permit low") || strings.Contains(got, "crest") || !strings.Contains(got, "stop -0.85") {
		t.Errorf("limits that the plant does not have:\n%s", got)
	}
	var none *plant.Plant
	if (Screen{history: &record.History{Plant: none}}).rainOff() == "" {
		t.Error("rain is offered without a plant")
	}
}

func BenchmarkView(b *testing.B) {
	s := newBench(b, uitest.Look{Color: true}, 120, 36, history(b), facts()).s
	for b.Loop() {
		_ = s.View()
	}
}
