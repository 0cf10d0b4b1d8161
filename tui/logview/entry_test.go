package logview

import (
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui/uitest"
)

// openAt opens the n-th entry of the list, from 0.
func openAt(b *bench, n int) {
	for range n {
		b.press("down")
	}
	b.press("enter")
}

func TestAnEntryShowsEverythingThatIsKnownOfIt(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 40)
	openAt(b, 0)
	// 240 V and 60 Hz nominal; the bearing's band is the plant's own; the intake pressure was typed as 19 psi.
	b.see("Round of Wed 3 Jun 20:00, by Ro: in", "Running A", "Intake pressure 131 kPa in 128 to 136 132", "Voltage 241 V in 228 to 252 240", "up to 60",
		"As it was typed", "Intake pressure: 19 psi", "Id 01")
	b.hide("later", "Corrections")
}

func TestABackFilledRoundSaysHowMuchLaterItWasWritten(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 40)
	openAt(b, 8)
	b.see("Written 2 days later, Wed 3 Jun 22:00.", "leaves on the screen, raked by hand")
}

func TestACorrectionKeepsTheOldValueInSight(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 40)
	openAt(b, 7)
	want := []string{"Corrected since: Voltage.", "241 V  in", "Voltage was 2411 V, now 241 V. Tue 2 Jun 17:00, 9 h later, by Ro: the 1 key", "not plausible were asked about and confirmed"}
	b.see(want...)
	b.press("esc", "up", "enter") // the correction leads to what it corrects
	b.see(want...)
}

func TestAnEventAndUpkeepAreShownWhole(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 30)
	openAt(b, 4)
	b.see("Trip of A of Wed 3 Jun 01:00, by Ro", "Kind                  trip", "Cause                 overspeed", "Note                  saw switched off", "Written 31 h later")
	b.press("left", "left", "left")
	b.see("Upkeep of Wed 3 Jun 12:00, by Tam", "walk the penstock and look for leaks")
}

func TestEntriesFollowEachOther(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 30)
	openAt(b, 5)
	b.press("right") // past the correction
	b.see("Round of Tue 2 Jun 08:00")
	b.press("right", "right")
	b.heard("This is the oldest entry of the list") // the plant's description is another screen's
	b.press("esc")
	if at := b.screen().table.At; at != 8 {
		t.Errorf("back in the list at %d, want where the reading ended", at)
	}
	b.press("home", "enter", "left")
	b.heard("This is the newest entry of the list")
}

func TestAPlantDescriptionIsShownByThePlantScreen(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.press("end", "enter")
	if len(b.went) != 1 || b.went[0].Screen != "plant" || b.went[0].Arg != b.history().Revisions[0].ID {
		t.Errorf("went to %+v", b.went)
	}
	b.press("c")
	b.heard("headpond plant load FILE")
}

func TestALongEntryIsReadToItsEnd(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 12)
	openAt(b, 7)
	seen := map[string]bool{}
	for range 40 {
		for _, l := range strings.Split(b.s.View(), "\n") {
			seen[strings.TrimSpace(strings.TrimPrefix(l, ">"))] = true
		}
		b.press("down")
	}
	for _, part := range []string{"Round of", "Time", "Voltage", "Dump share", "the 1 key", "Id 01"} {
		found := false
		for l := range seen {
			found = found || strings.HasPrefix(l, part) || strings.Contains(l, part)
		}
		if !found {
			t.Errorf("%q is never seen", part)
		}
	}
	b.hide("more below")
	for range 60 {
		b.press("up")
	}
	b.see("Round of", "> Time")
}

func TestOtherScreensAskForAnEntry(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 30)
	r := b.history().Rounds[2]
	arrive := func(arg string) {
		next, cmd := b.screen().Arrive(arg)
		b.s = next
		b.run(cmd)
	}
	arrive("")
	b.see("newest first")
	arrive(r.ID)
	b.see("Round of Tue 2 Jun 20:00")
	arrive("01ZZZZZZZZZZZZZZZZZZZZZZZZ")
	b.heard("The book has no entry 01ZZ")
	arrive(NewEvent)
	b.see("What happened")
	arrive(r.ID)
	b.heard("A form is open")
}

func TestAnEntryAskedForBeforeTheBookIsReadIsShownThen(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 30)
	id := b.history().Events[0].ID
	s, _ := b.screen().Arrive("")
	fresh := s.(Screen)
	fresh.ledger = nil
	b.s, _ = fresh.Arrive(id)
	b.reload()
	b.see("Trip of A")
}

func TestHowMuchLater(t *testing.T) {
	at := morning
	for d, want := range map[time.Duration]string{0: "", 59 * time.Minute: "", time.Hour: "written 1 h later", 49 * time.Hour: "written 2 days later",
		-30 * time.Second: "", -2 * time.Hour: "written 2 h before its own time"} {
		if got := late(at, at.Add(d)); got != want {
			t.Errorf("%v: %q, want %q", d, got, want)
		}
	}
	if got := late(at, time.Time{}); got != "" {
		t.Errorf("without a time of writing: %q", got)
	}
}

func TestAChangeIsSaidInThePlantsUnits(t *testing.T) {
	w := words{units: "us", now: morning, loc: halifax}
	for _, c := range []struct {
		change record.Change
		want   string
	}{
		{record.Change{Key: "pressure_kpa", Old: "131.00038857", New: "124.1"}, "Intake pressure was 19.0 psi, now 18.0 psi"}, // NIST SP 811: 1 psi = 6.894757 kPa
		{record.Change{Key: "A.bearing_c", New: "-40"}, "Bearing A was not read, now -40 °F"},
		{record.Change{Key: "volts", Old: "2411"}, "Voltage was 2411 V, now withdrawn"},
		{record.Change{Key: "time", Old: "2026-06-03T07:30:00-03:00", New: "2025-06-03T10:30:00Z"}, "Time was Wed 3 Jun 07:30, now Tue 3 Jun 2025 07:30"},
		{record.Change{Key: "time", Old: "x"}, "Time was x, now withdrawn"},
		{record.Change{Key: "screen", Old: "clear", New: "partly"}, "Screen was clear, now partly"},
		{record.Change{Key: "turbidity", Old: "3", New: "4"}, "turbidity was 3, now 4"},
	} {
		if got := w.change(c.change); got != c.want {
			t.Errorf("%+v: %q, want %q", c.change, got, c.want)
		}
	}
}
