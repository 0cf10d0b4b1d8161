package tui

import (
	"fmt"
	"strings"
	"testing"

	"example.org/headpond/tui/ui/uitest"
)

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
