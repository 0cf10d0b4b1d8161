package plantview

import (
	"errors"
	"strings"
	"testing"
	"time"

	"example.org/headpond/logbook/copies"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

// press sends keys and returns what the last of them said on the status line.
func press(t *testing.T, s ui.Screen, names ...string) (ui.Screen, string) {
	t.Helper()
	s, msg := uitest.Ask(t, s, names...)
	said, _ := msg.(ui.Notice)
	return s, said.Text
}

// A key that has nothing to do says why: at the ends of the revisions, in a book with one, and where nothing is described.
func TestAKeyThatIsOffSaysWhy(t *testing.T) {
	one := history(t)
	one.Revisions = one.Revisions[:1]
	for _, c := range []struct {
		h    *record.History
		keys []string
		want string
	}{
		{history(t), []string{"left", "left"}, "this is the oldest description"},
		{history(t), []string{"right", "right", "right"}, "this is the newest description"},
		{one, []string{"left"}, "the book holds no other description"},
		{one, []string{"right"}, "the book holds no other description"},
		{&record.History{At: clock}, []string{"c"}, "there is no plant description yet"},
		{&record.History{At: clock}, []string{"left"}, "there is no plant description yet"},
		{history(t), []string{"b"}, "no copies of this book are kept"},
	} {
		before := screen(uitest.Look{}, 80, 20, c.h)
		before, _ = press(t, before, c.keys[:len(c.keys)-1]...)
		after, said := press(t, before, c.keys[len(c.keys)-1])
		if !strings.HasSuffix(said, "is off: "+c.want) {
			t.Errorf("%v: %q, want %q", c.keys, said, c.want)
		}
		if after.View() != before.View() {
			t.Errorf("%v: the screen changed:\n%s", c.keys, after.View())
		}
	}
}

// What is bound to nothing, and a paste, changes nothing and is not text.
func TestOtherKeysChangeNothing(t *testing.T) {
	s := screen(uitest.Look{}, 80, 20, history(t))
	before := s.View()
	s, _ = press(t, s, "x", "tab", "esc", "f2", " ")
	s, _ = s.Update(uitest.Paste("c"))
	if s.View() != before || s.Capturing() {
		t.Errorf("the screen changed:\n%s", s.View())
	}
}

// Each revision is shown in its own units, there and back.
func TestEachRevisionHasItsUnits(t *testing.T) {
	h := history(t)
	h.Revisions[0] = revision(t, "01A", clock.AddDate(-1, 0, 0), "Imke", `units = "metric"`, `units = "us"`)
	s := screen(uitest.Look{}, 80, 200, h)
	see(t, s.View(), "2 of 3", "0.35 m")
	s, _ = press(t, s, "left")
	see(t, s.View(), "1 of 3", "being the first, for all times before", " ft", " gpm")
	if strings.Contains(s.View(), "0.35 m") {
		t.Errorf("metres among feet:\n%s", s.View())
	}
	s, _ = press(t, s, "right")
	see(t, s.View(), "2 of 3", "0.35 m")
}

// The check and the description each begin at their top, however far down the other was read.
func TestTheCheckBeginsAtItsTop(t *testing.T) {
	s := screen(uitest.Look{}, 80, 12, history(t))
	top := s.View()
	s, _ = press(t, s, "end")
	if s.View() == top {
		t.Fatal("the description does not scroll")
	}
	s, _ = press(t, s, "c")
	see(t, s.View(), "Tern Hollow, ")
	s, _ = press(t, s, "pgdown", "enter")
	if s.View() != top {
		t.Errorf("the description does not begin at its top:\n%s", s.View())
	}
}

// A book that cannot be read is said, and the next that can is shown as before, at the revision that was on show.
func TestABookThatFailsAndComesBack(t *testing.T) {
	h := history(t)
	s := screen(uitest.Look{}, 80, 20, h)
	s, _ = press(t, s, "left")
	before := s.View()
	s, _ = s.Update(desk.Loaded{Err: errors.New("the disk\x1b[2J is gone")})
	see(t, s.View(), "The book could not be read: the disk")
	if strings.Contains(s.View(), "\x1b") {
		t.Errorf("%q", s.View())
	}
	if err := uitest.Fits(s.SetSize(30, 5).View(), 30, 5); err != nil {
		t.Error(err)
	}
	s, _ = s.SetSize(80, 20).Update(desk.Loaded{History: h})
	if s.View() != before {
		t.Errorf("another revision is on show:\n%s", s.View())
	}
}

// Another screen asks for a revision: one that is there is shown with its description, one that is not is said, and no name at all
// changes nothing.
func TestARevisionIsAskedFor(t *testing.T) {
	s := screen(uitest.Look{}, 80, 20, history(t))
	s, _ = press(t, s, "c")
	arrive := func(id string) string {
		t.Helper()
		next, cmd := s.(Screen).Arrive(id)
		s = next
		if cmd == nil {
			return ""
		}
		return cmd().(ui.Notice).Text
	}
	before := s.View()
	if said := arrive(""); said != "" || s.View() != before {
		t.Errorf("no name: %q\n%s", said, s.View())
	}
	if said := arrive("01Z\x1b[m"); !strings.Contains(said, "no plant description 01Z") || strings.Contains(said, "\x1b") || s.View() != before {
		t.Errorf("an unknown one: %q", said)
	}
	if said := arrive("01C"); said != "" {
		t.Errorf("%q", said)
	}
	see(t, s.View(), "3 of 3; it is not the one in force", "c shows the check")
}

// The state of the copies stands above the description, with what is to be done where they are old, of an unset clock, or away.
func TestTheStateOfTheCopies(t *testing.T) {
	last := clock.AddDate(0, 0, -10)
	unset := time.Date(1970, 1, 1, 0, 3, 0, 0, time.UTC)
	place := func(p copies.Place, at *time.Time) copies.Place {
		if at != nil {
			p.Last, p.LastAt = &copies.Copy{Time: *at, Mark: 3}, at
		}
		return p
	}
	for _, c := range []struct {
		places []copies.Place
		want   []string
	}{
		{[]copies.Place{place(copies.Place{Dir: "/ro/copies", Beside: true, Kept: 2}, &last)}, []string{"Last copy 10 days ago, in /ro/copies (2 kept).", "To keep some on a memory stick too"}},
		{[]copies.Place{place(copies.Place{Dir: "/ro/copies", Beside: true, Kept: 2, Behind: 3}, &last)}, []string{"10 days ago, 3 entries since", "is 10 days old, and lacks 3 entries"}},
		{[]copies.Place{place(copies.Place{Dir: "/ro/copies", Beside: true, Kept: 2, Behind: 3}, &unset)}, []string{"dated 1970 (the clock was wrong then", "and lacks 3 entries"}},
		{[]copies.Place{{Dir: "/ro/copies", Beside: true}, place(copies.Place{Dir: "/stick", Missing: true, Behind: 1}, &last)}, []string{"in /stick (not there now: it is written to when it is back)", "plug the stick in"}},
	} {
		s := screen(uitest.Look{}, 80, 40, history(t))
		if strings.Contains(s.View(), "Copies of the book") {
			t.Error("copies are told of before they were looked at")
		}
		s, _ = s.Update(desk.Copied{Status: &copies.Status{At: clock, Mark: 3, Places: c.places}})
		see(t, s.View(), append([]string{"Copies of the book"}, c.want...)...)
		s, _ = s.Update(desk.Copied{})
		if strings.Contains(s.View(), "Copies of the book") {
			t.Error("what is no longer known is still told")
		}
	}
}

// A description that came into force in the hour that comes twice has its zone.
func TestARevisionOfTheHourThatComesTwice(t *testing.T) {
	loc, err := time.LoadLocation("America/Halifax")
	if err != nil {
		t.Fatal(err)
	}
	h := history(t)
	at := time.Date(2025, 11, 2, 5, 30, 0, 0, time.UTC) // half past one, after the clocks went back (IANA time zone database)
	for i := range h.Revisions {
		h.Revisions[i].Plant.Location = loc
	}
	h.Revisions[1].From = at
	see(t, screen(uitest.Look{}, 120, 20, h).View(), "holds from Sun 2 Nov 2025 01:30 AST to")
}

// In 60 and in 80 columns no number and no sentence of the description or the check is cut.
func TestNothingIsCutInANarrowWindow(t *testing.T) {
	for _, w := range []int{60, 80} {
		for _, key := range []string{"", "c"} {
			s := screen(uitest.Look{ASCII: true}, w, 400, history(t))
			if key != "" {
				s, _ = press(t, s, key)
			}
			for line := range strings.SplitSeq(s.View(), "\n") {
				if strings.HasSuffix(strings.TrimRight(line, " "), "~") {
					t.Errorf("%d wide, after %q: a line is cut: %q", w, key, line)
				}
			}
		}
	}
}
