package now

import (
	"errors"
	"strings"
	"testing"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/copies"
	"example.org/headpond/model/assess"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

// given is the screen after some messages.
func given(t *testing.T, w, h int, msgs ...any) ui.Screen {
	t.Helper()
	var s ui.Screen = New(uitest.Common(uitest.Look{}, w, h, clock), desk.Desk{}).SetSize(w, h)
	for _, m := range msgs {
		s, _ = s.Update(m)
	}
	return s
}

func loaded(h *record.History, drafts ...string) desk.Loaded {
	l := desk.Loaded{History: h, Facts: assess.NowFacts(h), Drafts: map[string]logbook.Draft{}}
	for _, d := range drafts {
		l.Drafts[d] = logbook.Draft{Data: []byte("x")}
	}
	return l
}

func hides(t *testing.T, view string, parts ...string) {
	t.Helper()
	for _, p := range parts {
		if strings.Contains(view, p) {
			t.Errorf("%q stands in\n%s", p, view)
		}
	}
}

// Every kept draft is named with the key that goes on with it; one that was saved, thrown away or begun since is followed at once.
func TestDraftsAreOfferedWithTheirKeys(t *testing.T) {
	h := round(house(t), "A")
	s := given(t, 80, 30, loaded(h, "round", "amend", "event", "upkeep: grease A\x1b[2J", "checklist: start"))
	see(t, s.View(), "A draft (round) that was not saved is kept: press 2 to go on with it.", "A draft (correction) that was not saved is kept: press 3",
		"A draft (event) that was not saved is kept: press 3", "A draft (upkeep: grease A", "press 8", "A draft (checklist: start)")
	hides(t, s.View(), "\x1b")
	s, _ = s.Update(desk.DraftKept{Form: "round"})
	hides(t, s.View(), "A draft (round)")
	s, _ = s.Update(desk.DraftKept{Form: "round", Data: []byte("{}")})
	see(t, s.View(), "A draft (round) that was not saved")
	s, _ = s.Update(desk.DraftKept{Form: "event", Err: errors.New("no disk")})
	see(t, s.View(), "A draft (event) that was not saved")
	s, _ = s.Update(loaded(h))
	hides(t, s.View(), "A draft")
}

// Without a round, without a plant, and before anything was read, the page says what there is not; no key does harm.
func TestAnEmptyBook(t *testing.T) {
	p := house(t)
	p.Location = time.UTC
	for name, c := range map[string]struct {
		h    *record.History
		want []string
	}{
		"no round": {&record.History{At: clock, Plant: p}, []string{"No round has been written yet.", "It is not known which units run.", "No round has been written yet: press 2 to walk one", "no round with a reading of power yet", "None yet."}},
		"no plant": {&record.History{At: clock}, []string{"No round has been written yet."}},
	} {
		s := given(t, 80, 30, loaded(c.h))
		see(t, s.View(), c.want...)
		for _, key := range []string{"a", "down", "end", "home", "x", "esc"} {
			s = uitest.Press(t, s, key)
		}
		for _, size := range [][2]int{{40, 8}, {60, 20}, {120, 40}} {
			if err := uitest.Fits(s.SetSize(size[0], size[1]).View(), size[0], size[1]); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
}

// The key for a round leads to its form, and that is all that keys do elsewhere: a paste is none.
func TestKeysLeadToTheRound(t *testing.T) {
	s := given(t, 80, 20, loaded(round(house(t), "A")))
	_, cmd := s.Update(uitest.Key(t, "r"))
	if to, ok := cmd().(desk.GoTo); !ok || to.Screen != "round" {
		t.Errorf("r leads to %+v", cmd())
	}
	before := s.View()
	for _, msg := range []any{uitest.Paste("r"), uitest.Key(t, "z"), uitest.Key(t, "tab")} {
		next, cmd := s.Update(msg)
		if cmd != nil || next.View() != before {
			t.Errorf("%v does something", msg)
		}
	}
	_, cmd = s.Update(uitest.Key(t, "a"))
	if n, ok := cmd().(ui.Notice); !ok || !strings.Contains(n.Text, "everything is listed already") {
		t.Errorf("a on a calm plant says %+v", cmd())
	}
}

// A page longer than the window is read to its end and back, and begins at its top when everything is asked for.
func TestALongPageIsReadToItsEnd(t *testing.T) {
	s := given(t, 80, 20, loaded(troubled(t)))
	top := s.View()
	see(t, top, "more below")
	s = uitest.Press(t, s, "end")
	see(t, s.View(), "more above", "for information; source on the Plant screen")
	if back := uitest.Press(t, s, "home"); back.View() != top {
		t.Errorf("home does not lead back:\n%s", back.View())
	}
	if all := uitest.Press(t, s, "a"); !strings.Contains(all.View(), "Last round 0 min ago") {
		t.Errorf("what wants attention is out of sight:\n%s", all.View())
	}
	if still := uitest.Press(t, s, "down", "pgdown", "end"); still.View() != s.View() {
		t.Errorf("it scrolls beyond its end:\n%s", still.View())
	}
}

// A book that fails is said harmlessly, and the page comes back as it was; a forecast that fails is said in its place alone.
func TestWhatFailsIsSaidInItsPlace(t *testing.T) {
	h := round(house(t), "A")
	s := given(t, 80, 30, loaded(h))
	before := s.View()
	s, _ = s.Update(desk.Loaded{Err: errors.New("line one\x1b[2J\nline two")})
	see(t, s.View(), "The book could not be read: line one", "line two")
	hides(t, s.View(), "\x1b")
	s, _ = s.Update(loaded(h))
	if s.View() != before {
		t.Errorf("it does not come back:\n%s", s.View())
	}
	s, _ = s.Update(desk.Water{Err: errors.New("no \x1b[31mstage")})
	see(t, s.View(), "Water no", "Last round 0 min ago")
	hides(t, s.View(), "\x1b")
	s, _ = s.Update(loaded(h))
	see(t, s.View(), "working it out")
}

// Copies that are old are among what wants attention, and no longer so once a copy was made.
func TestOldCopiesWantAttention(t *testing.T) {
	s := given(t, 80, 30, loaded(round(house(t), "A")))
	hides(t, s.View(), "copy of the book")
	at := clock.AddDate(0, 0, -10)
	old := copies.Status{At: clock, Mark: 9, Places: []copies.Place{{Dir: "/ro/copies", Beside: true, Kept: 1, Behind: 4, Last: &copies.Copy{Time: at, Mark: 5}, LastAt: &at}}}
	s, _ = s.Update(desk.Copied{Status: &old})
	see(t, s.View(), "DUE The last copy of the book in /ro/copies is 10 days old, and lacks 4 entries")
	s, _ = s.Update(desk.Copied{})
	hides(t, s.View(), "copy of the book")
}

// The page speaks the plant's units wherever it has any: level, pressure, flow, temperatures.
func TestAPageInUSUnits(t *testing.T) {
	h := round(house(t, `"metric"`, `"us"`), "A")
	h.Rounds[0].Values["pressure_kpa"], h.Rounds[0].Values["water_c"], h.Rounds[0].Values["bypass_lps"] = 131, 8, 6
	for _, w := range []int{60, 80, 120} {
		page := command(h, w)
		see(t, page, "Pond level -0.66 ft", "Intake pressure 19.0 psi", "Water temperature 46.4 °F", "Bypass flow 95 gpm")
		_, readings, _ := strings.Cut(page, "Readings")
		hides(t, readings, " kPa", "°C", " m ", "L/s")
	}
}

// Who wrote the last round stands harmlessly, and a name of any length pushes nothing off the page.
func TestNamesAreHarmlessAndWrap(t *testing.T) {
	h := round(house(t), "A")
	h.Rounds[0].By = strings.Repeat("Imke van der Lange ", 9) + "\x1b[2J\u202e"
	s := given(t, 80, 20, loaded(h))
	hides(t, s.View(), "\x1b", "\u202e")
	see(t, s.View(), "Running: A.", "Wants attention")
	if err := uitest.Fits(s.View(), 80, 20); err != nil {
		t.Error(err)
	}
}

// What stands in the place of a forecast, a load and a ballast that are not known says what is missing.
func TestWhatIsNotKnownIsSaid(t *testing.T) {
	p := house(t)
	for _, c := range []struct {
		name   string
		change func(*record.History)
		want   string
	}{
		{"no power was read", func(h *record.History) { h.Rounds[0].Values = map[quantity.Key]float64{"pond_level_m": -0.2} }, "Load"},
		{"a stop since", func(h *record.History) {
			h.At = clock.Add(2 * time.Hour)
			h.Events = []record.Event{{Kind: record.Stop, Time: clock.Add(time.Hour)}}
		}, "nothing can be switched on"},
		{"another set since", func(h *record.History) {
			h.At = clock.Add(2 * time.Hour)
			h.Events = []record.Event{{Kind: record.Start, Units: []string{"B"}, Time: clock.Add(time.Hour)}}
		}, "the powers were read before that, so a new round must tell"},
		{"overload", func(h *record.History) { h.Rounds[0].Values["load_kw"], h.Rounds[0].Values["dump_kw"] = 6.5, -0.5 }, "overload: consumers take 0.5 kW more than is generated"},
	} {
		h := round(p, "A")
		c.change(h)
		s := given(t, 80, 30, loaded(h))
		if !strings.Contains(strings.Join(strings.Fields(s.View()), " "), c.want) {
			t.Errorf("%s: %q is missing in\n%s", c.name, c.want, s.View())
		}
	}
}
