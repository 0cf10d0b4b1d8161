package logview

import (
	"context"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui/uitest"
)

// correct opens the correction of the chosen entry at one of its columns, by its label.
func correct(b *bench, label string) {
	b.press("c")
	s := b.screen()
	s.amend.form, _ = s.amend.form.SetValues(map[string]string{fieldColumn: label})
	s.amend.draftForm = s.amend.rebuilt(s.amendSpecs(s.amend))
	b.s = s
	b.focus(fieldValue)
}

func TestACorrectionIsAddedAndNothingIsOverwritten(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.press("down", "down", "c") // the round with 257 V: its odd reading is offered
	b.see("Correcting the round of Wed 3 Jun 08:00", "Voltage is now 257 V: out !! (band 228 to 252), expected 240.", "> New value")
	b.typed("247")
	b.see("in  band 228 to 252")
	b.focus(fieldWhy)
	b.typed("misread")
	b.focus(fieldBy)
	b.typed("Imke")
	b.press("f2")
	r := b.history().Rounds[3]
	if len(r.Changes) != 1 || r.Changes[0].Old != "257" || r.Changes[0].New != "247" || r.Changes[0].Why != "misread" || r.Changes[0].By != "Imke" || r.Values["volts"] != 247 {
		t.Errorf("kept %+v", r.Changes)
	}
	b.heard("Saved: correction: Voltage was 257 V, now 247 V (round of Wed 3 Jun 08:00)")
	b.see("Corrected since: Voltage.", "247 V  in")
	if d := b.draft(formAmend); d != "" {
		t.Errorf("a draft is left: %s", d)
	}
}

func TestWhatACorrectionLacksIsAskedFor(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	focused := func() string { f, _ := b.screen().amend.form.Focused(); return f.Key }
	correct(b, "Voltage")
	b.typed("24x")
	b.see("expected a number in V")
	b.focus(fieldWhy)
	b.press("f2")
	b.heard("write why, it stays with the correction")
	b.typed("slip")
	b.press("f2")
	b.heard(`Not saved yet: Voltage: "24x" is not a number in V`)
	if focused() != fieldValue {
		t.Errorf("the focus is on %s", focused())
	}
	b.press("ctrl+u", "f2")
	b.heard("write the new value, or - to withdraw the old one")
	if n := len(b.history().Rounds[4].Changes); n != 0 {
		t.Errorf("%d changes were kept", n)
	}
}

func TestCorrectionsOfEveryKindOfColumn(t *testing.T) {
	cases := []struct {
		name  string
		down  int
		label string
		typed string
		key   string
		want  string
	}{
		{"another unit", 0, "Intake pressure", "18 psi", "pressure_kpa", "124.105631277"}, // 18 × 6.894757293 (NIST SP 811)
		{"withdrawn", 0, "Voltage", "-", "volts", ""},
		{"a reading that was not written", 0, "Water temperature", "11,5", "water_c", "11.5"},
		{"a word", 0, "Screen", "b", "screen", "blocked"},
		{"a word withdrawn", 0, "Screen", "-", "screen", ""},
		{"running", 0, "Running", "none", "running", "none"},
		{"a note", 0, "Note", "from paper", "note", "from paper"},
		{"the time", 0, "Time", "2026-06-03 19:40", "time", "2026-06-03T19:40:00-03:00"},
		{"an event's unit", 4, "Unit", "a+b", "unit", "A+B"},
		{"an event's kind", 4, "Kind", "s", "kind", "stop"},
		{"an event's cause", 4, "Cause", "underspeed", "cause", "underspeed"},
		{"upkeep", 1, "By", "Ro", "by", "Ro"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			b := newBench(t, uitest.Look{}, 80, 20)
			for range c.down {
				b.press("down")
			}
			id := b.screen().selected().id
			correct(b, c.label)
			if c.key == "kind" { // start, then stop
				b.typed("s")
			}
			b.typed(c.typed)
			b.focus(fieldWhy)
			b.typed("a slip")
			b.press("f2")
			it, _ := newLedger(b.history()).find(id)
			all := it.corrections()
			if len(all) != 1 || all[0].Key != c.key || all[0].New != c.want {
				t.Errorf("changes %+v, want %s = %q; said %q\n%s", all, c.key, c.want, b.said, b.s.View())
			}
		})
	}
}

func TestACorrectionThatLeavesAnEventWithoutWhatItNeedsIsRefused(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.press("down", "down", "down") // the start of A
	correct(b, "Unit")
	b.typed("-")
	b.focus(fieldWhy)
	b.typed("x")
	b.press("f2")
	b.heard("Unit is missing; expected the unit that was started")
}

func TestAnImplausibleCorrectionIsAskedAbout(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	correct(b, "Voltage")
	b.typed("2471")
	b.see("not plausible, 0 to 360 expected") // 1.5 × 240 V (contract)
	b.focus(fieldWhy)
	b.typed("x")
	b.press("f2", "enter") // Enter is no
	if n := len(b.history().Rounds[4].Changes); n != 0 {
		t.Fatal("saved without a yes")
	}
	b.press("f2")
	b.see("Is this right?", "2471")
	b.press("y")
	if r := b.history().Rounds[4]; len(r.Changes) != 1 || r.Values["volts"] != 2471 {
		t.Errorf("kept %+v", r.Changes)
	}
}

func TestACorrectionThatSaysNothingNewAddsNothing(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	correct(b, "Voltage")
	b.press("=") // the present value
	b.focus(fieldWhy)
	b.typed("x")
	b.press("f2")
	b.heard("The entry says so already")
	if b.draft(formAmend) != "" || len(b.history().Rounds[4].Changes) != 0 {
		t.Error("a draft or a change is left")
	}
}

func TestACorrectionsDraftIsOnDiskAtEveryKeyAndComesBack(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.press("down", "down")
	id := b.screen().selected().id
	b.press("c")
	if b.draft(formAmend) != "" {
		t.Error("a draft is kept before anything is typed")
	}
	for i, want := range []string{"2", "24", "247"} {
		b.press(string("247"[i]))
		var d draft
		if err := json.Unmarshal([]byte(b.draft(formAmend)), &d); err != nil || d.Values[fieldValue] != want || d.Entry != id || d.Values[fieldColumn] != "Voltage" {
			t.Fatalf("after %q the disk has %s", want, b.draft(formAmend))
		}
	}
	b.now = b.now.Add(time.Hour) // the power comes back
	b.start()
	b.see("A correction of the round of Wed 3 Jun 08:00 was not saved and is kept: c goes on")
	b.press("c") // on another entry
	b.heard("This correction was begun before")
	b.see("Correcting the round of Wed 3 Jun 08:00", "247")
	b.focus(fieldWhy)
	b.typed("misread")
	b.press("f2")
	if r := b.history().Rounds[3]; len(r.Changes) != 1 || r.Values["volts"] != 247 {
		t.Errorf("kept %+v", r.Changes)
	}
	b.press("esc")
	b.hide("is kept")
}

// The column that is filled in when a correction opens is nothing to keep; another one that somebody types there is.
func TestAColumnThatIsTypedIsKeptBeforeItsValue(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.press("down", "down", "c")
	b.focus(fieldColumn)
	b.press("f")
	var d draft
	if err := json.Unmarshal([]byte(b.draft(formAmend)), &d); err != nil || d.Values[fieldColumn] == "Voltage" || d.Values[fieldColumn] == "" {
		t.Fatalf("the disk has %q\n%s", b.draft(formAmend), b.s.View())
	}
	b.press("esc")
	b.heard("Draft kept: c goes on with it")
}

// Somebody else may have made the same correction meanwhile, as on a merged copy of the book.
func TestADraftWhoseCorrectionWasSavedAlreadyDoesNoHarm(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	correct(b, "Voltage")
	b.typed("242")
	b.focus(fieldWhy)
	b.typed("x")
	kept := b.draft(formAmend)
	b.press("f2")
	if err := b.book.SaveDraft(context.Background(), formAmend, []byte(kept)); err != nil {
		t.Fatal(err)
	}
	b.start()
	b.press("c", "f2")
	b.heard("The entry says so already")
	if r := b.history().Rounds[4]; len(r.Changes) != 1 || b.draft(formAmend) != "" {
		t.Errorf("changes %+v, draft %q", r.Changes, b.draft(formAmend))
	}
}

func TestLeavingAndThrowingAwayAreToldApart(t *testing.T) {
	for name, f := range map[string]struct{ open, form string }{"correction": {"c", formAmend}, "event": {"e", formEvent}} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t, uitest.Look{}, 80, 20)
			b.press(f.open, "esc")
			if len(b.said) != 0 || b.s.Capturing() {
				t.Errorf("an empty form said %q", b.said)
			}
			b.press(f.open)
			b.typed("t")
			if name == "correction" {
				b.focus(fieldWhy)
				b.typed("t")
			}
			b.press("esc")
			b.heard("Draft kept: " + f.open + " goes on with it")
			if b.draft(f.form) == "" {
				t.Fatal("no draft on disk")
			}
			b.press("esc", f.open)
			b.see("This draft was kept")
			b.press("f8", "f8")
			if b.draft(f.form) == "" {
				t.Fatal("the key that asks also answers")
			}
			b.press("n")
			b.see("This draft was kept")
			b.press("f8", "y")
			if b.draft(f.form) != "" || b.s.Capturing() {
				t.Error("it was not thrown away")
			}
		})
	}
}

func TestAnEventIsWrittenAndChosenInTheList(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.press("e")
	b.hide("Ballast element", "Unit")
	b.typed("t") // trip
	b.see("Unit", "A, B, or A+B; blank: all")
	b.press("down")
	b.typed("a")
	b.focus(record.ColCause)
	b.typed("overspeed")
	b.focus(record.ColTime)
	b.typed("-13h")
	b.focus(record.ColBy)
	b.typed("Ro")
	b.press("f2")
	e := b.history().Events[2]
	if e.Kind != record.Trip || len(e.Units) != 1 || e.Units[0] != "A" || e.Cause != "overspeed" || e.By != "Ro" || !e.Time.Equal(morning.Add(-13*time.Hour)) {
		t.Errorf("kept %+v", e)
	}
	b.heard("Saved: trip of A of Wed 3 Jun 19:00")
	if got := b.screen().selected().id; got != e.ID {
		t.Errorf("chosen is %s, want the new event", got)
	}
	if b.draft(formEvent) != "" {
		t.Error("the draft is still there")
	}
}

func TestWhatAnEventLacksIsAskedFor(t *testing.T) {
	cases := []struct{ name, keys, field, says string }{
		{"no kind", "", record.ColKind, "choose what happened"},
		{"a start without its unit", "s", record.ColUnit, "Unit is missing; expected the unit that was started"},
		{"a ballast element that is not named", "e", record.ColElement, "Ballast element is missing"},
		{"an empty note", "n", record.ColNote, "Note is missing"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			b := newBench(t, uitest.Look{}, 80, 20)
			before := len(b.history().Events)
			b.press("e")
			b.typed(c.keys)
			if c.keys == "" {
				b.focus(record.ColBy)
				b.typed("Ro")
			}
			b.press("f2")
			b.heard(c.says)
			if f, _ := b.screen().event.form.Focused(); f.Key != c.field || len(b.history().Events) != before {
				t.Errorf("the focus is on %s; %d events", f.Key, len(b.history().Events))
			}
		})
	}
}

func TestAnEventsValuesAreRead(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.press("e")
	b.typed("t")
	b.press("down")
	b.typed("C")
	b.see("expected A, B, or several joined by +")
	b.press("f2")
	b.heard("this plant has A, B")
	b.focus(record.ColTime)
	b.typed("2026-06-01")
	b.focus(record.ColUnit)
	b.press("backspace", "f2")
	b.heard("is a whole day; expected a time of day with it")
}

// A unit typed for a trip says nothing of a note, and is still there when the kind is changed back.
func TestOnlyTheFieldsOfTheKindCount(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.press("e")
	b.typed("t")
	b.press("down")
	b.typed("A")
	b.focus(record.ColKind)
	b.typed("n")
	b.hide("Unit")
	b.focus(record.ColNote)
	b.typed("guests")
	b.focus(record.ColKind)
	b.typed("t")
	b.see("Unit                  A")
	b.typed("n")
	b.press("f2")
	events := b.history().Events
	if e := events[len(events)-1]; e.Kind != record.NoteEvent || len(e.Units) != 0 || e.Note != "guests" {
		t.Errorf("kept %+v", e)
	}
}

func TestAnEventsDraftComesBackWithTheTimeAtWhichItWasBegun(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.press("e")
	b.typed("t")
	b.now = b.now.Add(5 * time.Hour)
	b.start()
	b.see("An event that was not saved is kept: e goes on with it.")
	b.press("e", "f2")
	events := b.history().Events
	if e := events[len(events)-1]; e.Kind != record.Trip || !e.Time.Equal(morning) {
		t.Errorf("kept %+v; it was begun at %s", e, morning)
	}
}

func TestAnEventInTheFutureIsCautioned(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.press("e")
	b.typed("t")
	b.focus(record.ColTime)
	b.typed("+3h")
	b.see("trip")
	before := len(b.history().Events)
	b.press("f2")
	b.see("has not come yet")
	b.press("n")
	if n := len(b.history().Events); n != before {
		t.Fatalf("%d events, want %d: no answered yes", n, before)
	}
	if f, _ := b.s.(Screen).event.form.Focused(); f.Key != record.ColTime {
		t.Errorf("no leads to %s, want to the time", f.Key)
	}
	b.press("f2", "t")
	b.heard("dated in the future")
	b.start() // it is listed, so that it can be corrected
	b.see("NOT COME YET; trip")
	b.press("home", "enter")
	b.see("Its time has not come yet, so no answer rests on it.")
	b.press("c")
	b.see("Correcting the trip")
	b.now = b.now.Add(4 * time.Hour)
	b.start()
	b.press("esc", "esc")
	b.hide("NOT COME YET")
}

func TestTheNewestTextIsOnDiskWhenTheProgramEnds(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.press("e")
	b.hold = true // the disk is slow
	b.typed("tn") // trip, then note
	if err := b.screen().Flush(context.Background()); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.draft(formEvent), `"kind":"note"`) {
		t.Errorf("the disk has %q", b.draft(formEvent))
	}
}

func TestABookToBeLookedAtTakesNothing(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.ro = true
	b.start()
	b.press("c", "e", "r")
	if len(b.said) != 3 || !strings.Contains(b.said[0], "looked at only") || b.s.Capturing() || len(b.went) != 0 {
		t.Errorf("said %q, went %v", b.said, b.went)
	}
	b.press("enter", "c")
	if b.s.Capturing() {
		t.Error("a form opens")
	}
}
