package faultview

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"pgregory.net/rapid"

	"example.org/headpond/model/demo/demotest"
	"example.org/headpond/model/faults"
	"example.org/headpond/model/quantity"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
	"example.org/headpond/tui/ui/uitest"
)

// flat is a text without its breaks, so that wrapped sentences can be looked for.
func flat(s string) string {
	return strings.Join(strings.Fields(strings.ReplaceAll(s, text.NBSP, " ")), " ")
}

// genSize draws a size of one fault, in some part of the plant.
func genSize(t *rapid.T) faults.Size {
	v := rapid.Float64Range(0.01, 0.99).Draw(t, "size")
	big := 100 * v
	minus := -big
	s := rapid.SampledFrom([]faults.Size{{}, {ScreenOpen: &v}, {ValveK: &big}, {LossM: &v}, {LeakLps: &big}, {EfficiencyShare: &v}, {SlipShare: &v}, {Element: "E1 or E2", LostKW: &v},
		{OverKW: &v}, {ShortKW: &minus}, {Volts: &big}, {Hertz: &big}, {OffsetKPa: &minus}, {OffsetM: &v}, {LevelM: &minus}, {RiseC: &big}, {SpreadHertz: &v}}).Draw(t, "of")
	s.Unit = rapid.SampledFrom([]string{"", "A"}).Draw(t, "unit")
	s.Penstock = rapid.SampledFrom([]string{"", "east"}).Draw(t, "penstock")
	return s
}

// genFacts draws a report: all faults, with probabilities that sum to 1.
func genFacts(t *rapid.T) *faults.Facts {
	f := &faults.Facts{At: clock, ReadingsUsed: 40, Rounds: 7, Says: "The readings say this.", Verdict: rapid.SampledFrom([]faults.Verdict{faults.Sound, faults.Likely, faults.CannotTell}).Draw(t, "verdict")}
	sum := 0.0
	for _, id := range faults.IDs() {
		c := faults.Cause{Fault: id, Probability: rapid.Float64Range(0.0001, 1).Draw(t, "weight"), Size: genSize(t), FirstStep: "Begin with " + string(id) + ".", Caution: "Beware of " + string(id) + "."}
		if rapid.Bool().Draw(t, "sharp") {
			c.Probability *= c.Probability * c.Probability * c.Probability
		}
		for _, k := range []string{"volts", "hertz", "pressure_kpa", "A.bearing_c"} {
			if rapid.Bool().Draw(t, k) {
				c.Evidence = append(c.Evidence, faults.Evidence{Quantity: k, Read: rapid.Float64Range(-50, 700).Draw(t, "read"), ExpectedHealthy: 100, ExpectedFault: 90,
					Readings: rapid.IntRange(1, 14).Draw(t, "n"), Explains: rapid.Bool().Draw(t, "explains"), Speaks: rapid.Bool().Draw(t, "speaks")})
			}
		}
		sum += c.Probability
		f.Ranked = append(f.Ranked, c)
	}
	for i := range f.Ranked {
		f.Ranked[i].Probability /= sum
	}
	slices.SortStableFunc(f.Ranked, func(a, b faults.Cause) int {
		if a.Probability > b.Probability {
			return -1
		}
		return 1
	})
	return f
}

// Whatever the causes are: the ranking shows those from one in a hundred up, seven at most, and what is left over is counted, so that
// the parts are the whole; whoever goes through them is told of each its first step and its caution.
func TestTheRankingIsWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := genFacts(t)
		list := shown(f)
		if len(list) > listedMost || len(list) < listedMin {
			t.Fatalf("%d causes are shown", len(list))
		}
		for i, c := range f.Ranked {
			if in := i < len(list); in != (i < listedMin || i < listedMost && c.Probability >= listedFrom) {
				t.Fatalf("cause %d with %g is shown: %v", i, c.Probability, in)
			}
		}
		var s ui.Screen = Screen{Common: uitest.Common(uitest.Look{}, 80, 400, clock), facts: f}.SetSize(80, 400)
		for i, c := range list {
			view := flat(s.View())
			for _, want := range []string{flat(percent(c.Probability)) + " " + c.Fault.Label(), "First: " + c.FirstStep, "Careful: " + c.Caution, fmt.Sprintf("the %d others together", len(f.Ranked)-len(list))} {
				if !strings.Contains(view, want) {
					t.Fatalf("cause %d: the page lacks %q:\n%s", i, want, s.View())
				}
			}
			for k, other := range list {
				if k != i && strings.Contains(view, "First: "+other.FirstStep) {
					t.Fatalf("with cause %d picked the page tells of cause %d", i, k)
				}
			}
			for _, e := range c.Evidence {
				if word := "not explained"; !e.Explains && !strings.Contains(view, word) {
					t.Fatalf("evidence against it is not told: %+v\n%s", e, s.View())
				}
			}
			s, _ = s.Update(tea.KeyMsg{Type: tea.KeyDown})
		}
	})
}

// In the ranking a size stands whole or not at all, but in the smallest windows; no line is wider than the window.
func TestNoHalfSizesInTheRanking(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := genFacts(t)
		w := rapid.IntRange(narrow, 120).Draw(t, "width")
		p := page{report: Report{Facts: f}, common: uitest.Common(uitest.Look{}, w, 24, clock), picked: rapid.IntRange(-1, 1).Draw(t, "picked")}
		lines := p.list(w)
		for i, c := range shown(f) {
			line, size := lines[i+1], p.size(c)
			if text.Width(line) > w {
				t.Fatalf("%q is wider than %d", line, w)
			}
			_, after, _ := strings.Cut(line, c.Fault.Label())
			if rest := strings.TrimSpace(after); rest != "" && rest != strings.TrimSpace(size) {
				t.Fatalf("at %d cells the size %q stands as %q", w, size, rest)
			}
		}
	})
}

// The command tells of every cause in the running what the screen tells when it is picked, in the same words.
func TestTheCommandAndTheScreenAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := genFacts(t)
		c := uitest.Common(uitest.Look{}, 80, 400, clock)
		c.Units = rapid.SampledFrom([]quantity.System{quantity.Metric, quantity.US}).Draw(t, "units")
		printed := Text(Report{Facts: f}, c, 80)
		for i, x := range shown(f) {
			told := strings.Join(page{report: Report{Facts: f}, common: c, picked: i}.cause(x, 80), "\n")
			if in := strings.Contains(printed, told); in != (i == 0 || x.Probability >= toldFrom) {
				t.Fatalf("cause %d with %g is printed: %v\n%s\nin\n%s", i, x.Probability, in, told, printed)
			}
		}
	})
}

// Sizes of a plant in US units, by hand: 1 ft = 0.3048 m, 1 gpm = 0.0630902 L/s, 1 psi = 6.894757 kPa (NIST SP 811), and a
// difference of 1 K is one of 1.8 °F.
func TestSizesInUSUnits(t *testing.T) {
	num := func(v float64) *float64 { return &v }
	p := page{common: uitest.Common(uitest.Look{}, 80, 24, clock)}
	p.common.Units = quantity.US
	for want, s := range map[string]faults.Size{
		"takes about 10.00 ft of head":             {LossM: num(3.048)},
		"about 100 gpm":                            {LeakLps: num(6.30902)},
		"shows 2.0 psi too little":                 {OffsetKPa: num(-13.789514)},
		"shows 1.00 ft too much":                   {OffsetM: num(0.3048)},
		"stands at -2.00 ft":                       {LevelM: num(-0.6096)},
		"unit A, about 36 °F above its usual":      {RiseC: num(20), Unit: "A"},
		"holds 226 V":                              {Volts: num(226)},
		"about 31 % of it clear":                   {ScreenOpen: num(0.31)},
		"penstock east, loss coefficient about 24": {ValveK: num(24.2), Penstock: "east"},
	} {
		if got := flat(p.size(faults.Cause{Size: s, Probability: 1})); got != want {
			t.Errorf("%+v is told as %q, want %q", s, got, want)
		}
	}
	got := flat(p.within(&faults.SizeRange{Low: faults.Size{RiseC: num(10)}, High: faults.Size{RiseC: num(20)}}))
	if want := "Four times in five between 18 °F and 36 °F."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	row := flat(p.row(faults.Evidence{Quantity: "A.bearing_c", Read: 60, ExpectedHealthy: 40, ExpectedFault: 60, Readings: 2, Last: 60}, cellsFor(nil, false, 80), 80))
	if !strings.Contains(row, "140.0 °F 104.0 °F 140.0 °F") {
		t.Errorf("a bearing of 60 °C against 40 °C stands as %q", row)
	}
}

// No text of a report acts on the terminal, at any width, on the screen or printed: names of units, penstocks and elements are the
// plant file's, and a trip's cause somebody wrote.
func TestHostileTextIsHarmless(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		evil := func(name string) string { return demotest.Evil(name, rapid.IntRange(0, 40).Draw(t, name)) }
		f := facts()
		one := 1.0
		f.Says, f.Cautions = evil("says"), []string{evil("caution")}
		f.Beside[0].Size.Unit = evil("beside")
		f.Ranked[0].Size = faults.Size{Element: evil("element"), LostKW: &one, Unit: evil("unit"), Penstock: evil("penstock"), Gauge: evil("gauge")}
		f.Ranked[0].FirstStep, f.Ranked[0].Caution = evil("step"), evil("beware")
		f.Ranked[0].TellApart[0].By = evil("by")
		f.Ranked[0].Evidence[0].Quantity = evil("quantity") + ".kw"
		w, h := rapid.IntRange(1, 140).Draw(t, "w"), rapid.IntRange(1, 50).Draw(t, "h")
		s := Screen{Common: uitest.Common(uitest.Look{}, w, h, clock), facts: f}.SetSize(w, h)
		for _, out := range []string{s.View(), Text(Report{Facts: f}, uitest.Common(uitest.Look{}, w, h, clock), w), Text(Report{Err: errors.New(evil("why"))}, uitest.Common(uitest.Look{}, w, h, clock), w)} {
			if err := uitest.Harmless(out, true); err != nil {
				t.Fatal(err)
			}
		}
	})
}

// The verdict's sign says how it stands: nothing by colour alone.
func TestTheVerdictHasItsSign(t *testing.T) {
	for verdict, want := range map[faults.Verdict]ui.State{faults.Sound: ui.Good, faults.Likely: ui.Out, faults.CannotTell: ui.Near} {
		f := facts()
		f.Verdict = verdict
		first, _, _ := strings.Cut(Text(Report{Facts: f}, uitest.Common(uitest.Look{}, 80, 24, clock), 80), "\n")
		if !strings.HasPrefix(strings.TrimSpace(first), strings.TrimSpace(want.Sign())) {
			t.Errorf("%s begins with %q, want the sign %q", verdict, first, want.Sign())
		}
	}
}

// While a new load is worked out the old causes stay on show; an answer with fewer of them moves the picked one to the last; a book that
// cannot be read is said, and forgotten when it can be again.
func TestTheCausesStayUntilNewOnesCome(t *testing.T) {
	s := ui.Screen(Screen{Common: uitest.Common(uitest.Look{}, 80, 40, clock), facts: facts(), version: 1}).SetSize(80, 40)
	s = uitest.Press(t, s, "down", "down", "down")
	if !strings.Contains(flat(s.View()), "Pressure gauge: shows 12 kPa too little") {
		t.Fatalf("the third cause is not picked:\n%s", s.View())
	}
	before := s.View()
	s, cmd := s.Update(desk.Loaded{Version: 2, History: story(t)})
	if cmd == nil || s.View() != before {
		t.Error("the old causes are gone before new ones have come")
	}
	few := facts()
	few.Ranked = few.Ranked[:2]
	s, _ = s.Update(ranked{version: 2, facts: few})
	if view := flat(s.View()); !strings.Contains(view, "Blocked screen: about 5.2 % of it clear") || strings.Contains(view, "others together") {
		t.Errorf("of two causes the last should be picked:\n%s", s.View())
	}
	s, _ = s.Update(desk.Loaded{Version: 3, Err: errors.New("the disk is gone")})
	if !strings.Contains(s.View(), "The book could not be read: the disk is gone") {
		t.Errorf("%s", s.View())
	}
	s, _ = s.Update(desk.Loaded{Version: 4, History: story(t)})
	if strings.Contains(s.View(), "could not be read") || !strings.Contains(s.View(), "blocked screen") {
		t.Errorf("once it can be read again:\n%s", s.View())
	}
	s, _ = s.Update(ranked{version: 4, err: errors.New("no rounds")})
	if !strings.Contains(flat(s.View()), "No cause can be looked for yet: no rounds.") {
		t.Errorf("%s", s.View())
	}
	if binding := s.Bindings()[0]; binding.Off == "" {
		t.Error("a cause can be picked where there is none")
	}
}
