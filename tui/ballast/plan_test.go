package ballast

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

// The loads are Tern Hollow's, in its file's order; 3.8 kW are dumped (TestTheNumbersAreThoseWorkedByHand). By hand: the range's 2.2
// and the hot water's 1.5 kW are 3.7, which fit; with the well pump's 0.75 they are 4.45, 0.7 too much for 3.78.
func TestLoadsAreTickedAndAddedUp(t *testing.T) {
	s := screen(uitest.Look{}, 80, 20, history(t, usual()))
	see := func(parts ...string) {
		t.Helper()
		for _, p := range parts {
			if !strings.Contains(strings.Join(strings.Fields(s.View()), " "), p) {
				t.Errorf("the page lacks %q:\n%s", p, s.View())
			}
		}
	}
	tick := func(name string) {
		t.Helper()
		for i, l := range s.(Screen).report.Facts.LoadsThatFit {
			if l.Name != name {
				continue
			}
			for s.(Screen).plan.at < i {
				s = uitest.Press(t, s, "down")
			}
			for s.(Screen).plan.at > i {
				s = uitest.Press(t, s, "up")
			}
			s = uitest.Press(t, s, "enter")
			return
		}
		t.Fatalf("there is no load %q", name)
	}
	s = uitest.Press(t, s, "t")
	see("3.8 kW can be switched on. Tick loads with Enter", "Loads, each judged alone", "starts ")
	tick("kitchen range")
	tick("hot water")
	see("Together 3.7 kW of the 3.8 kW that can be switched on: they fit, 0.1 kW is left.", "one after the other: kitchen range, hot water.", "[x] fits kitchen range")
	tick("well pump")
	see("!! Together 4.45 kW of the 3.8 kW that can be switched on: NO room, 0.7 kW too much.")
	older := s
	tick("well pump")
	see("Together 3.7 kW")
	if !strings.Contains(older.View(), "4.45") {
		t.Error("an older screen was altered")
	}
	s = uitest.Press(t, s, "x")
	see("Tick loads with Enter")
	s = uitest.Press(t, s, "esc")
	see("If all consumers drop off now")
}

func TestNothingIsTickedWhereNothingIsKnown(t *testing.T) {
	s := screen(uitest.Look{}, 80, 20, history(t, running([]string{"A"}, nil)))
	next, cmd := s.Update(uitest.Key(t, "t"))
	if n, ok := cmd().(ui.Notice); !ok || !strings.Contains(n.Text, "no load can be judged yet") || next.(Screen).plan.on {
		t.Errorf("%+v", cmd())
	}
}

func TestKeysOfTicking(t *testing.T) {
	s := uitest.Press(t, screen(uitest.Look{}, 80, 20, history(t, usual())), "t")
	for _, err := range ui.CheckBindings(s.Bindings()) {
		t.Error(err)
	}
	uitest.FitsAtAnySize(t, s, uitest.Theme(uitest.Look{}))
	names := []string{"enter", " ", "down", "up", "x", "t", "esc", "end", "pgdown"}
	rapid.Check(t, func(r *rapid.T) {
		s := s
		for range rapid.IntRange(1, 30).Draw(r, "presses") {
			s, _ = s.Update(uitest.Key(t, rapid.SampledFrom(names).Draw(r, "key")))
			w, h := rapid.IntRange(1, 130).Draw(r, "w"), rapid.IntRange(1, 30).Draw(r, "h")
			s = s.SetSize(w, h)
			if err := uitest.Fits(s.View(), w, h); err != nil {
				r.Fatal(err)
			}
			if sc := s.(Screen); sc.plan.at < 0 || sc.plan.at >= sc.loads() {
				r.Fatalf("load %d is picked", sc.plan.at)
			}
		}
	})
}
