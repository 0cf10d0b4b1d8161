package tui

import (
	"fmt"
	"strings"
	"testing"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

// A sentence that is longer than a line is read whole, whatever the window, and nothing else moves for it.
func TestALongNoticeIsReadWhole(t *testing.T) {
	sentence := "Not saved yet: Time: expected a time such as 06:30, 2026-06-01 06:30, yesterday 18:00 or -2h, and half past six is none of them; nothing was lost"
	for _, size := range [][2]int{{40, 16}, {80, 24}, {120, 40}} {
		b := newBench(t, uitest.Look{}, size[0], size[1])
		before := strings.Split(b.app.View(), "\n")
		m, _ := b.app.Update(ui.Notice{Text: sentence, State: ui.Out})
		view := m.View()
		if !strings.Contains(strings.Join(strings.Fields(view), " "), "!! "+sentence) {
			t.Errorf("%v: the sentence is not whole:\n%s", size, view)
		}
		if err := uitest.Fits(view, size[0], size[1]); err != nil {
			t.Error(err)
		}
		for i, l := range strings.Split(view, "\n") {
			if i < size[1]/2 && l != before[i] || i == size[1]-1 && l != before[i] {
				t.Errorf("%v: line %d moved: %q", size, i+1, l)
			}
		}
	}
}

// What no window could hold ends in a mark, and the keys stay on the last line.
func TestANoticeWithoutEndIsCutWithAMark(t *testing.T) {
	b := newBench(t, uitest.Look{ASCII: true}, 40, 12)
	m, _ := b.app.Update(ui.Notice{Text: strings.Repeat("a book of a long name ", 99), State: ui.Out})
	view := m.View()
	lines := strings.Split(view, "\n")
	if err := uitest.Fits(view, 40, 12); err != nil || len(lines) != 12 || !strings.Contains(lines[10], "~") || !strings.Contains(lines[11], "? more") {
		t.Errorf("%v:\n%s", err, view)
	}
}

// In a window 40 cells wide the line of tabs still names the screen that is open, and gives every screen's digit.
func TestANarrowWindowNamesTheOpenScreen(t *testing.T) {
	b := newBench(t, uitest.Look{}, 40, 12)
	a := b.app
	for i, tb := range a.tabs {
		a.at = i
		line := a.tabLine()
		if !strings.Contains(line, ">"+tb.digit+" "+tb.screen.Title()) {
			t.Errorf("the open screen is not named: %q", line)
		}
		for _, other := range a.tabs {
			if !strings.Contains(line, fmt.Sprintf("%s ", other.digit)) {
				t.Errorf("the digit %s is missing: %q", other.digit, line)
			}
		}
		if err := uitest.Fits(line, 40, 1); err != nil {
			t.Error(err)
		}
	}
}
