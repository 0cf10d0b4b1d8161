package tui

import (
	"bytes"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/exp/golden"
	"github.com/charmbracelet/x/exp/teatest"

	"example.org/headpond/tui/ui/uitest"
)

func TestWeekFrames(t *testing.T) {
	plain, ascii := newBench(t, uitest.Look{}, 80, 24), newBench(t, uitest.Look{ASCII: true}, 120, 40)
	for _, c := range []struct {
		name string
		b    *bench
		w, h int
		keys []string
	}{
		{"week-80x24", plain, 80, 24, nil},
		{"week-120x40", plain, 120, 40, nil},
		{"chart-80x24", plain, 80, 24, []string{"c", "c", "c", "c", "left"}},
		{"year-120x40", ascii, 120, 40, []string{"y", "left"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.b.give(tea.WindowSizeMsg{Width: c.w, Height: c.h})
			c.b.press("6")
			c.b.press(c.keys...)
			golden.RequireEqual(t, []byte(c.b.app.View()))
		})
	}
}

// roundUnderTheCursor is the time in the words below the chart.
func roundUnderTheCursor(tb testing.TB, view string) string {
	tb.Helper()
	for _, l := range strings.Split(view, "\n") {
		if day, rest, ok := strings.Cut(l, ": used "); ok && rest != "" {
			return strings.TrimSpace(day)
		}
	}
	tb.Fatalf("no round is told of:\n%s", view)
	return ""
}

func TestFromAPointOfTheWeekToItsRoundAndBack(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.press("6")
	b.sees(">6 Week", "To decide", "What it gave")
	b.press("left", "left", "left")
	at := roundUnderTheCursor(t, b.app.View())
	b.press("enter")
	b.sees(">3 Log", at[len(at)-len("15:04"):])
	if !strings.Contains(b.app.View(), "Voltage") {
		t.Errorf("the round is not open:\n%s", b.app.View())
	}
	b.press("6")
	b.sees(">6 Week", "> Power used and dumped")
	if again := roundUnderTheCursor(t, b.app.View()); again != at {
		t.Errorf("back from the Log the cursor stands on %s, it was on %s", again, at)
	}
	b.press("esc", "e")
	b.sees("to Wed 18 Nov 10:05", "the week before")
	b.press("m")
	b.sees("Month from Sun 18 Oct 10:05 to Wed 18 Nov 2026 10:05")
	b.press("t", "y")
	b.sees("Year from Tue 25 Nov 2025 10:05 to Wed 25 Nov 2026 10:05")
}

// A new round is in the week at once, without a key, and the forecast's chart is there too.
func TestTheWeekFollowsTheBook(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.press("6")
	b.sees("14 rounds")
	for range 4 {
		b.press("c")
	}
	b.press("c")
	b.sees("> Pond level", "forecast, middle", "now")
	b.press("esc", "2")
	b.typed("-0.3")
	b.now = b.now.Add(time.Minute) // a week ends before the instant at which it ends
	b.press("f2")
	b.press("6")
	b.sees("15 rounds")
}

// The whole loop of the library, by keys.
func TestTheWeekByKeys(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	tm := teatest.NewTestModel(t, b.app, teatest.WithInitialTermSize(80, 24))
	sees := func(part string) {
		t.Helper()
		teatest.WaitFor(t, tm.Output(), func(out []byte) bool { return bytes.Contains(out, []byte(part)) }, teatest.WithDuration(20*time.Second))
	}
	press := func(keys ...string) {
		for _, k := range keys {
			tm.Send(uitest.Key(t, k))
		}
	}
	press("6")
	sees("What it gave")
	press("c", "home", "right")
	sees("Thu 19 Nov 08:11: used")
	press("enter")
	sees("08:11") // the round in the Log
	press("6")
	sees("Thu 19 Nov 08:11: used")
	press("ctrl+c")
	tm.WaitFinished(t, teatest.WithFinalTimeout(20*time.Second))
}
