package tui

import (
	"context"
	"strings"
	"testing"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/tui/ui/uitest"
)

// at sets the clock of the program.
func (b *bench) at(s string) {
	b.tb.Helper()
	now, err := time.Parse(time.RFC3339, s)
	if err != nil {
		b.tb.Fatal(err)
	}
	b.now = now.In(b.now.Location())
}

// A round and an event begun in the hour that comes twice, and found again after a power cut in the night, are saved at the time at
// which they were begun, in either of the two hours. Halifax set its clocks back on 1 November 2026 at 02:00 ADT (IANA time zone
// database).
func TestDraftsOfTheHourThatComesTwiceKeepTheirTime(t *testing.T) {
	for _, begun := range []string{"2026-11-01T01:20:00-03:00", "2026-11-01T01:20:00-04:00", "2026-11-01T00:20:00-03:00"} {
		b := newBench(t, uitest.Look{}, 120, 40)
		b.at(begun)
		b.start(uitest.Look{}, 120, 40)
		b.press("2")
		b.typed("-0.4")
		b.press("esc", "3", "e")
		b.typed("t") // trip
		b.press("down", "down")
		b.typed("lightning")
		b.at("2026-11-01T09:00:00-04:00")
		b.start(uitest.Look{}, 120, 40)
		b.press("2", "f2")
		if strings.Contains(b.app.View(), "happens twice") {
			t.Fatalf("the draft's own time is refused:\n%s", b.app.View())
		}
		b.sees("Saved: round of ")
		b.press("3", "e", "f2")
		h, err := b.book.History(context.Background(), logbook.HistoryOptions{})
		if err != nil {
			t.Fatal(err)
		}
		var rounds, events int
		want, _ := time.Parse(time.RFC3339, begun)
		for _, r := range h.Rounds {
			if r.Time.Equal(want) && r.Values["pond_level_m"] == -0.4 {
				rounds++
			}
		}
		for _, e := range h.Events {
			if e.Time.Equal(want) {
				events++
			}
		}
		if rounds != 1 || events != 1 {
			t.Errorf("begun at %s: %d rounds and %d events of that time\n%s", begun, rounds, events, b.app.View())
		}
	}
}

// A clock that falls back while the screens are open: the round is saved, the caution is said beside it and stands on Now, and the
// program goes on; so does one that jumps ahead.
func TestAClockThatJumpsUnderTheScreens(t *testing.T) {
	for _, to := range []string{"1970-01-01T00:05:00Z", "2001-03-04T05:06:00Z", "2026-11-25T06:00:00-04:00"} {
		b := newBench(t, uitest.Look{}, 160, 40)
		b.at(to)
		b.press("2")
		b.typed("-0.4")
		b.press("f2")
		b.sees("Saved: round of ", "The clock of this computer says ")
		b.press("1")
		b.sees("DUE", "lock of this computer")
		for _, tab := range b.app.tabs {
			b.press(tab.digit)
			if err := uitest.Fits(b.app.View(), 160, 40); err != nil {
				t.Error(err)
			}
			b.press("esc")
		}
	}
	b := newBench(t, uitest.Look{}, 120, 40)
	b.at("2027-11-25T10:05:00-04:00")
	b.press("2")
	b.typed("-0.4")
	b.press("f2", "1")
	b.sees("Last round 0 min ago")
	b.at("2026-11-25T10:30:00-04:00")
	b.start(uitest.Look{}, 120, 40)
	b.press("a")
	b.sees("A round dated in the future, 2027-11-25 10:05", "The clock of this computer says 2026-11-25")
}
