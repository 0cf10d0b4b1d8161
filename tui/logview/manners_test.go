package logview

import (
	"context"
	"os"
	"strings"
	"testing"

	"example.org/headpond/model/demo"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui/uitest"
)

// What is pasted fills one field of a form, whole or not at all, and is on disk; in the list it is no key.
func TestAPasteIsTextOrNothing(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	before := b.s.View()
	b.give(uitest.Paste("e"))
	if b.s.View() != before {
		t.Errorf("a paste acts as a key:\n%s", b.s.View())
	}
	b.press("e")
	b.give(uitest.Paste("TRIP\n"))
	b.focus(record.ColCause)
	b.give(uitest.Paste("over\nspeed"))
	b.see("not pasted: several lines or columns, and a paste fills one field only")
	b.give(uitest.Paste("overspeed"))
	b.focus(record.ColNote)
	b.give(uitest.Paste("\x1b[31mred\x1b[m =1+1")) // what is typed has no control characters
	if strings.Contains(b.s.View(), "\x1b") {
		t.Errorf("%q", b.s.View())
	}
	b.press("f2")
	events := b.history().Events
	if e := events[len(events)-1]; e.Kind != record.Trip || e.Cause != "overspeed" || e.Note != "[31mred[m =1+1" {
		t.Errorf("kept %+v", e)
	}
}

// A draft that cannot be read, as of a damaged disk, neither refuses the form nor is taken for one.
func TestADraftThatCannotBeReadLeavesTheFormUsable(t *testing.T) {
	for _, data := range []string{"{", "null", `{"values":7}`, `{"values":{}}`, `{"entry":"01Z","values":{"value":"1"}}`} {
		b := newBench(t, uitest.Look{}, 80, 20)
		for _, form := range []string{formAmend, formEvent} {
			if form == formEvent && strings.Contains(data, "entry") {
				continue
			}
			if err := b.book.SaveDraft(context.Background(), form, []byte(data)); err != nil {
				t.Fatal(err)
			}
		}
		b.start()
		before := len(b.history().Events)
		b.press("e")
		b.typed("t")
		b.press("f2")
		if n := len(b.history().Events); n != before+1 {
			t.Errorf("%q: the event was not saved: %q\n%s", data, b.said, b.s.View())
		}
	}
}

// A disk that is gone is said with the file's name; the form keeps what was typed, and the next try saves it.
func TestADiskThatIsGoneLosesNothingTyped(t *testing.T) {
	for _, form := range []string{"event", "correction"} {
		b := newBench(t, uitest.Look{}, 80, 20)
		if form == "event" {
			b.press("e")
			b.typed("t")
		} else {
			correct(b, "Voltage")
			b.typed("240")
			b.focus(fieldWhy)
			b.typed("misread")
		}
		changes, events := len(b.history().Rounds[4].Changes), len(b.history().Events)
		away := b.book.Path() + ".away"
		if err := os.Rename(b.book.Path(), away); err != nil {
			t.Fatal(err)
		}
		b.press("f2")
		b.heard(b.book.Path())
		b.heard("failed: ")
		if !b.s.Capturing() {
			t.Fatalf("the form of the %s is gone:\n%s", form, b.s.View())
		}
		if err := os.Rename(away, b.book.Path()); err != nil {
			t.Fatal(err)
		}
		b.press("f2")
		h := b.history()
		if len(h.Events)-events+len(h.Rounds[4].Changes)-changes != 1 {
			t.Errorf("the %s was not saved: %q\n%s", form, b.said, b.s.View())
		}
	}
}

// F2 pressed again while the disk is slow saves one event.
func TestSavingTwiceSavesOneEvent(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	before := len(b.history().Events)
	b.press("e")
	b.typed("t")
	b.hold = true
	b.press("f2", "f2", "f2")
	b.see("Saving")
	b.release()
	if n := len(b.history().Events); n != before+1 {
		t.Errorf("%d events were saved", n-before)
	}
}

// Questions take y and n alone, and no leads back to what was asked about with all that was typed.
func TestAQuestionTakesItsOwnKeysAlone(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.press("e")
	b.typed("t")
	b.focus(record.ColCause)
	b.typed("saw")
	b.press("f8")
	b.see("Throw away everything that is typed here?")
	b.press("x", "8", "f8", "f2", "down", "tab")
	b.give(uitest.Paste("y"))
	b.see("Throw away everything that is typed here?")
	if b.s.Capturing() {
		t.Error("letters go into a form that is not on show")
	}
	b.press("enter") // Enter is no
	b.see("saw")
	if b.draft(formEvent) == "" {
		t.Error("the draft is gone")
	}
	b.press("f8", "y")
	if b.draft(formEvent) != "" {
		t.Errorf("the draft is kept: %s", b.draft(formEvent))
	}
}

// In US units a correction's bare number is in the unit that is shown, and is told so (1 ft = 0.3048 m, NIST SP 811).
func TestACorrectionInUSUnits(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	us := strings.Replace(demo.PlantText(), `units = "metric"`, `units = "us"`, 1)
	b.must(b.book.AddPlant(context.Background(), us, b.now.AddDate(0, 0, -5), "Imke"))
	b.start()
	correct(b, "Pond level")
	b.see("Pond level is now -0.98 ft")
	b.typed("-1")
	b.focus(fieldWhy)
	b.typed("misread")
	b.press("f2")
	b.heard("Pond level was -0.98 ft, now -1.00 ft")
	if v := b.history().Rounds[4].Values["pond_level_m"]; v != -0.3048 {
		t.Errorf("kept %g m", v)
	}
}

// In a narrow window why a value is not taken is read whole in the forms, and every line fits.
func TestANarrowFormShowsItsFault(t *testing.T) {
	for _, w := range []int{40, 60, 80} {
		b := newBench(t, uitest.Look{}, w, 20)
		correct(b, "Voltage")
		b.typed("24x")
		b.see("! expected a number in V (or with its unit, such as kV)")
		b.press("esc", "esc")
		b.press("e")
		b.typed("t")
		b.focus(record.ColTime)
		b.typed("25:99")
		b.see("> Time", "25:99")
		b.see(`Time: ! "25:99" is not a time: the clock time is not hours:minutes from 00:00 to 23:59; expected`, "or RFC 3339 such as 2026-03-08T06:30:00-04:00")
		if err := uitest.Fits(b.s.View(), max(w, 80), 20); err != nil {
			t.Error(err)
		}
	}
}

// A book without an entry offers what can be done; no key of an entry does harm.
func TestAnEmptyLogTakesEveryKey(t *testing.T) {
	b := emptyBench(t, uitest.Look{}, 80, 20)
	b.start()
	for _, key := range []string{"enter", "down", "end", "pgdown", "home", "k", "p", "o", "x", "up", "/", "esc", "c", "esc", "d", "esc"} {
		b.press(key)
		if err := uitest.Fits(b.s.View(), 80, 20); err != nil {
			t.Errorf("after %s: %v", key, err)
		}
	}
	if n := len(b.history().Events) + len(b.history().Rounds); n != 0 {
		t.Errorf("%d entries were written", n)
	}
}
