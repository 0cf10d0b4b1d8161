package weekview

import (
	"errors"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/model/record"
	"example.org/headpond/model/week"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

// first is the Week screen that waits for its first review.
func first(t *testing.T) Screen {
	t.Helper()
	s := New(uitest.Common(uitest.Look{}, 80, 20, clock), desk.Desk{}).SetSize(80, 20)
	s, _ = s.Update(desk.Loaded{Version: 1, History: &record.History{At: clock, Plant: ternHollow(t)}})
	s, _ = s.(Screen).Arrive("")
	return s.(Screen)
}

// press1 presses a key without carrying out what it asks for.
func press1(t *testing.T, s Screen, key string) (Screen, tea.Cmd) {
	t.Helper()
	next, cmd := s.Update(uitest.Key(t, key))
	return next.(Screen), cmd
}

// The first review of a long log shows how far it is, and Esc gives it up; a key asks for it again.
func TestALongWorkShowsHowFarItIsAndCanBeStopped(t *testing.T) {
	s := first(t)
	sees(t, s, "Working out the review.")
	if line := ui.BottomLine(s.Theme, s, 80); strings.Contains(line, "stop") {
		t.Errorf("what takes no time can be stopped: %s", line)
	}
	if again, cmd := s.Update(ticked{s.job}); cmd == nil || again.(Screen).job != s.job {
		t.Error("nobody looks how far it is")
	}
	s.job.tell(1216, 3650)
	sees(t, s, "Working out the review: 1216 of 3650 days. Esc stops.")
	if line := ui.BottomLine(s.Theme, s, 80); !strings.HasPrefix(line, "Esc stop") {
		t.Errorf("the bottom line is %s", line)
	}
	old := s.job
	s, cmd := press1(t, s, "esc")
	if n, ok := cmd().(ui.Notice); !ok || !old.done() || n.Text != "Working out the week was stopped" {
		t.Errorf("Esc says %v, stopped: %v", n, old.done())
	}
	sees(t, s, "No review: it was stopped. w, m and y work one out")
	if _, cmd := s.Update(ticked{old}); cmd != nil {
		t.Error("what was stopped is still looked at")
	}
	if s, _ = press1(t, s, "w"); s.job == nil {
		t.Error("w does not ask again")
	}
}

// Where another period was asked for, Esc keeps the one that stands.
func TestStoppingKeepsWhatStands(t *testing.T) {
	s := screen(t, uitest.Look{}, 80, 20, sample())
	s, _ = press1(t, s, "y")
	s.job.tell(64, 3650)
	sees(t, s, "Working out the year: 64 of 3650 days; here stands the last. Esc stops.", "690 kWh")
	s, _ = press1(t, s, "esc")
	if s.span != week.Week || !s.end.IsZero() || strings.Contains(s.View(), "Working out") {
		t.Errorf("a %s stands:\n%s", s.span, s.View())
	}
	// Only the forecasts were missing: the review says that they were left out, and so does its page.
	s.report.Pending = true
	next, _ := s.ask(true)
	s = next.(Screen)
	s.job.tell(64, 3650)
	s, _ = press1(t, s, "esc")
	if s.report.Pending || !s.report.LeftOut {
		t.Errorf("%+v", s.report)
	}
}

// A work that has ended, however it did, is looked at no more.
func TestAnEndedWorkIsNotLookedAt(t *testing.T) {
	s := first(t)
	s.job.tell(64, 3650)
	msg := s.job.of(func() tea.Msg { return desk.Review{Err: errors.New("no")} })()
	if _, ok := msg.(desk.Review); !ok || s.job.far() != "" {
		t.Errorf("%v, %q", msg, s.job.far())
	}
	if _, cmd := s.Update(ticked{s.job}); cmd != nil {
		t.Error("it is still looked at")
	}
}
