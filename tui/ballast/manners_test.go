package ballast

import (
	"errors"
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

// press sends keys and returns what the last of them said, or the screen that it asked for.
func press(t *testing.T, s ui.Screen, names ...string) (ui.Screen, string) {
	t.Helper()
	s, msg := uitest.Ask(t, s, names...)
	switch m := msg.(type) {
	case ui.Notice:
		return s, m.Text
	case desk.GoTo:
		return s, "to " + m.Screen + " " + m.Arg
	}
	return s, ""
}

func sees(t *testing.T, s ui.Screen, parts ...string) {
	t.Helper()
	flat := strings.Join(strings.Fields(s.View()), " ")
	for _, p := range parts {
		if !strings.Contains(flat, p) {
			t.Errorf("%q is missing in\n%s", p, s.View())
		}
	}
}

// A key that can do nothing says why, and nothing changes.
func TestAKeyThatIsOffSaysWhy(t *testing.T) {
	unread := running([]string{"A"}, map[quantity.Key]float64{"volts": 240, "pond_level_m": 0})
	for _, c := range []struct {
		h         *record.History
		keys, why string
	}{
		{&record.History{At: clock, Plant: history(t, usual()).Plant}, "t", "no load can be judged yet"},
		{&record.History{At: clock, Plant: history(t, usual()).Plant}, "l", "no round with a reading of power has been written yet"},
		{history(t, unread), "t", "no load can be judged yet"},
		{&record.History{At: clock}, "l", "no round with a reading of power has been written yet"},
	} {
		s := screen(uitest.Look{}, 80, 20, c.h)
		before := s.View()
		s, said := press(t, s, c.keys)
		if !strings.HasSuffix(said, " is off: "+c.why) || s.View() != before {
			t.Errorf("%s: %q, want %q:\n%s", c.keys, said, c.why, s.View())
		}
	}
	c := uitest.Common(uitest.Look{}, 80, 20, clock)
	s := New(c, desk.Desk{ReadOnly: true}).SetSize(80, 20)
	h := history(t, usual())
	s, _ = s.Update(desk.Loaded{History: h, Facts: assess.NowFacts(h)})
	if _, said := press(t, s, "r"); !strings.Contains(said, "looked at only") {
		t.Errorf("a package: %q", said)
	}
	if _, said := press(t, s, "l"); said != "to log 01K2M0000000000000000000AA" {
		t.Errorf("its round: %q", said)
	}
}

func TestABookThatFailsAndComesBack(t *testing.T) {
	s := screen(uitest.Look{}, 80, 20, history(t, usual()))
	before := s.View()
	s, _ = s.Update(desk.Loaded{Err: errors.New("the disk\x1b[2J is gone")})
	sees(t, s, "The book could not be read: the disk")
	if strings.Contains(s.View(), "\x1b") {
		t.Errorf("%q", s.View())
	}
	h := history(t, usual())
	s, _ = s.Update(desk.Loaded{History: h, Facts: assess.NowFacts(h)})
	if s.View() != before {
		t.Errorf("it does not come back:\n%s", s.View())
	}
	fresh := New(uitest.Common(uitest.Look{}, 80, 20, clock), desk.Desk{}).SetSize(80, 20)
	sees(t, fresh, "Reading the book")
}

// The picked load goes from end to end and no further, is in sight in a low window, and its tick comes and goes.
func TestPickingStopsAtTheEnds(t *testing.T) {
	s := screen(uitest.Look{}, 80, 8, history(t, usual()))
	s, _ = press(t, s, "t")
	sees(t, s, "Which loads fit together", "Tick loads with Enter")
	s, _ = press(t, s, "up")
	sees(t, s, ">[ ]")
	n := s.(Screen).loads()
	for range n + 3 {
		s, _ = press(t, s, "down")
		if !strings.Contains(s.View(), ">[ ]") {
			t.Fatalf("the picked load is out of sight:\n%s", s.View())
		}
	}
	last := s.(Screen).report.Facts.LoadsThatFit[n-1].Name
	sees(t, s, ">[ ] fits "+last)
	if s.(Screen).plan.at != n-1 {
		t.Errorf("picked %d of %d", s.(Screen).plan.at, n)
	}
	_, said := press(t, s, "x")
	if !strings.HasSuffix(said, "is off: nothing is ticked") {
		t.Errorf("%q", said)
	}
	s, _ = press(t, s, " ")
	sees(t, s, ">[x] fits "+last)
	s, _ = press(t, s, "enter")
	sees(t, s, ">[ ] fits "+last)
}

// Ticks stay while the page is looked at between, and a round that no longer tells the load room ends the ticking.
func TestTicksStayUntilTheirGroundIsGone(t *testing.T) {
	s := screen(uitest.Look{}, 80, 20, history(t, usual()))
	s, _ = press(t, s, "t", "enter", "esc")
	sees(t, s, "more can be switched on")
	s, _ = press(t, s, "t")
	sees(t, s, "[x]", "Together 0.4 kW of the 3.8 kW")
	h := history(t, running([]string{"A"}, map[quantity.Key]float64{"volts": 240, "pond_level_m": 0}))
	s, _ = s.Update(desk.Loaded{History: h, Facts: assess.NowFacts(h)})
	if strings.Contains(s.View(), "[x]") || s.(Screen).plan.on {
		t.Errorf("the ticks stand on nothing:\n%s", s.View())
	}
	h = history(t, usual())
	s, _ = s.Update(desk.Loaded{History: h, Facts: assess.NowFacts(h)})
	s, _ = press(t, s, "t")
	sees(t, s, "Tick loads with Enter")
}

// A paste, and a key that is bound to nothing, are no ticks and no answers.
func TestOtherKeysChangeNothing(t *testing.T) {
	for _, on := range []bool{false, true} {
		s := screen(uitest.Look{}, 80, 20, history(t, usual()))
		if on {
			s, _ = press(t, s, "t")
		}
		before := s.View()
		s, said := press(t, s, "z", "f2", "tab", "left")
		s, _ = s.Update(uitest.Paste("t"))
		if s.View() != before || said != "" || s.Capturing() {
			t.Errorf("ticking %v, said %q:\n%s", on, said, s.View())
		}
	}
}

// Powers are kW and volts are V in both systems of units: nothing of the page changes with them.
func TestTheUnitsOfThePlantChangeNoPower(t *testing.T) {
	h := history(t, usual())
	metric := pageOf(h, 80)
	h.Plant.Site.Units = "us"
	if us := pageOf(h, 80); us != metric {
		t.Errorf("%s\nand in metric units\n%s", us, metric)
	}
}

// In a narrow window every sentence is whole, and the caution that never scrolls away gives way only where there is no room.
func TestANarrowWindowLosesNoSentence(t *testing.T) {
	for _, w := range []int{40, 60} {
		s := screen(uitest.Look{ASCII: true}, w, 120, history(t, usual()))
		sees(t, s, "3.8 kW more can be switched on: any one of the listed loads fits.", "with 2.4 kW to spare (45 % of the generation).",
			"Heaters and housing burn; line voltage kills. Relays protect, not these numbers.", "prove dead before opening anything.")
	}
	s := screen(uitest.Look{}, 80, 11, history(t, usual()))
	if strings.Contains(s.View(), "Relays protect") {
		t.Errorf("the caution takes the room of the page:\n%s", s.View())
	}
	s, _ = press(t, s, "end")
	sees(t, s, "licensed electricians.")
}

// Readings of the hour that comes twice have their zone; those of another year have it too.
func TestWhenThePowersWereRead(t *testing.T) {
	loc, err := time.LoadLocation("America/Halifax")
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 11, 1, 5, 30, 0, 0, time.UTC) // half past one again (IANA time zone database)
	for later, want := range map[time.Duration]string{
		time.Hour:            "From the readings of 01:30 AST, 1 h old",
		30 * time.Hour:       "From the readings of Sun 1 Nov 01:30 AST, 30 h old",
		90 * 24 * time.Hour:  "From the readings of Sun 1 Nov 2026 01:30 AST, 90 days old",
		-30 * time.Minute:    "From the readings of 01:30 AST, at 239 V",
		26*time.Hour + 1:     "Sun 1 Nov 01:30 AST, 26 h old",
		10 * 24 * time.Hour:  "Sun 1 Nov 01:30 AST, 10 days old",
		59*time.Minute + 1e9: "01:30 AST, 59 min old",
	} {
		h := history(t, usual())
		h.Rounds[0].Time, h.At = at, at.Add(later)
		r := ReportOf(assess.Of(h))
		r.Round, r.At = at, at.Add(later)
		c := uitest.Common(uitest.Look{}, 100, 24, r.At.In(loc))
		if page := strings.Join(strings.Fields(Text(r, c, 100)), " "); !strings.Contains(page, want) {
			t.Errorf("%v later: %q is missing in\n%s", later, want, page)
		}
	}
}
