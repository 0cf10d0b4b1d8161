package round

import (
	"context"
	"errors"
	"os"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/logbook"
	"example.org/headpond/model/quantity"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui/uitest"
)

// sees fails where the screen lacks a part, line ends and runs of blanks aside.
func (b *bench) sees(parts ...string) {
	b.t.Helper()
	flat := strings.Join(strings.Fields(b.s.View()), " ")
	for _, part := range parts {
		if !strings.Contains(flat, part) {
			b.t.Errorf("%q is missing in\n%s", part, b.s.View())
		}
	}
}

// text is what stands in a field of the screen.
func (b *bench) text(key string) string { return b.s.(Screen).text(key) }

// A paste fills one field, whole or not at all; what was there stays, and the reason stands below the fields.
func TestAPasteFillsAFieldOrNothing(t *testing.T) {
	for _, c := range []struct{ field, typed, pasted, want, said string }{
		{"pond_level_m", "", "-0.41\n", "-0.41", ""},
		{"pond_level_m", "-", "0.41", "-0.41", ""},
		{"pond_level_m", "-1", "-0.41\n-0.42", "-1", "not pasted: several lines or columns"},
		{"pond_level_m", "-1", "241\t60.1", "-1", "not pasted: several lines or columns"},
		{"screen", "", "Partly", "partly", ""},
		{"screen", "c", "dirty", "clear", "not pasted: it is none of clear, partly, blocked, iced"},
		{"note", "", strings.Repeat("x", 2001), "", "not pasted: it has 2001 characters, this field takes 2000"},
		{"note", "a = b ", "q?", "a = b q?", ""},
	} {
		b := newBench(t, uitest.Look{}, 80, 20)
		b.s = focus(b.s, c.field)
		b.typed(c.typed)
		b.give(uitest.Paste(c.pasted))
		if got := b.text(c.field); got != c.want {
			t.Errorf("%s with %.20q pasted after %q is %q, want %q", c.field, c.pasted, c.typed, got, c.want)
		}
		if c.said != "" {
			b.sees(c.said)
			continue
		}
		if d, _, _ := b.book.Draft(context.Background(), Name); !strings.Contains(string(d.Data), c.want) {
			t.Errorf("what was pasted is not on disk: %s", d.Data)
		}
	}
}

// In US units the labels, the bare numbers and what is expected are those of the plant; what is kept is SI (1 ft = 0.3048 m, 1 psi =
// 6.894757 kPa, NIST SP 811).
func TestTheFormInUSUnits(t *testing.T) {
	b := usBench(t, 80, 20)
	b.sees("Pond level _(-1.05) ft", "Intake pressure (18.7) psi", "Water temperature (53.6) °F")
	b.typed("-1")
	b.s = focus(b.s, "pressure_kpa")
	b.typed("19")
	b.sees("Intake pressure: in expect 19.1, band 18.6 to 19.7")
	b.press("ctrl+u")
	b.typed("131 kPa")
	b.sees("Intake pressure: in = 19.0 psi, expect 19.1")
	b.press("ctrl+u")
	b.typed("19")
	b.press("f2")
	got := b.last()
	if got.Values["pond_level_m"] != -0.3048 || got.Values["pressure_kpa"] < 131.0 || got.Values["pressure_kpa"] > 131.01 || got.Typed["pressure_kpa"] != "19 psi" {
		t.Errorf("%v, typed %v", got.Values, got.Typed)
	}
}

// A draft means what it meant when it was typed, though the plant's units were changed since.
func TestADraftKeepsItsUnits(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.typed("-0.41") // metres
	us := usBench(t, 80, 20)
	d, _, err := b.book.Draft(context.Background(), Name)
	if err != nil {
		t.Fatal(err)
	}
	if err := us.book.SaveDraft(context.Background(), Name, d.Data); err != nil {
		t.Fatal(err)
	}
	us.start(uitest.Look{}, 80, 20)
	us.sees("was kept", "Pond level -0.41_ m")
	us.press("f2")
	us.start(uitest.Look{}, 80, 20)
	if got := us.last().Values["pond_level_m"]; got != -0.41 {
		t.Errorf("it is saved as %g m", got)
	}
	us.sees("Pond level _(-1.35) ft") // 0.41 / 0.3048
}

// An empty book has no last values, and a round is written all the same.
func TestTheFirstRoundOfABook(t *testing.T) {
	b := &bench{t: t, now: time.Date(2026, 6, 4, 8, 0, 0, 0, halifax)}
	var err error
	if b.book, err = logbook.Create(context.Background(), t.TempDir()+"/first.book", logbook.Options{Clock: func() time.Time { return b.now }, Location: halifax}); err != nil {
		t.Fatal(err)
	}
	b.start(uitest.Look{}, 80, 20)
	b.sees("The book holds no plant description yet")
	b.press("1", "f2", "=", "esc") // nothing to type into
	other := newBench(t, uitest.Look{}, 80, 20)
	text := other.s.(Screen).history.Revisions[0].Text
	if _, err := b.book.AddPlant(context.Background(), text, b.now, "Imke"); err != nil {
		t.Fatal(err)
	}
	b.start(uitest.Look{}, 80, 20)
	b.sees("Pond level _(blank) m", "Dump share (blank) %", "Units may be typed. = as last, == all.")
	b.press("=")
	if !b.saidWith("There is no last value to take") {
		t.Errorf("said %v", b.said)
	}
	b.typed("-0.3")
	b.press("f2")
	if got := b.last(); got.Values["pond_level_m"] != -0.3 || len(got.Values) != 1 {
		t.Errorf("%+v", got)
	}
}

// A package is looked at: nothing is typed, and every key that would write says why it is off.
func TestAFormThatIsLookedAtTakesNothing(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	c := uitest.Common(uitest.Look{}, 80, 20, b.now)
	d := desk.Desk{Book: b.book, Now: c.Now, Location: halifax, ReadOnly: true}
	b.s = New(c, d).SetSize(80, 20)
	b.give(d.Load(context.Background(), 1))
	b.sees("This book is open to be looked at only: no round can be written into it.")
	b.typed("-0.41")
	b.press("f2", "=", "f8")
	if d, ok, _ := b.book.Draft(context.Background(), Name); ok {
		t.Errorf("a draft was written: %s", d.Data)
	}
	for _, k := range b.s.Bindings() {
		if k.Action != "round.leave" && k.Action != "round.move" && !strings.Contains(k.Off, "looked at only") {
			t.Errorf("%s is off: %q", k.Action, k.Off)
		}
	}
	if b.s.Capturing() {
		t.Error("letters go into a form that is not there")
	}
}

func TestABookThatCannotBeReadIsSaid(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.typed("-0.41")
	b.give(desk.Loaded{Err: errors.New("the disk is\x1b[2J gone")})
	b.sees("The book could not be read: the disk is")
	if strings.Contains(b.s.View(), "\x1b") {
		t.Errorf("%q", b.s.View())
	}
	b.start(uitest.Look{}, 80, 20)
	if b.text("pond_level_m") != "-0.41" {
		t.Error("what was typed is gone")
	}
}

// Where the disk takes neither draft nor round, both are said, what is typed stays, and the next try saves it.
func TestADiskThatIsGoneLosesNothingTyped(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.typed("-0.4")
	away := b.book.Path() + ".away"
	if err := os.Rename(b.book.Path(), away); err != nil {
		t.Fatal(err)
	}
	b.typed("1")
	b.sees("!! The draft is not on disk:")
	if !b.saidWith("The draft could not be kept") {
		t.Errorf("said %v", b.said)
	}
	b.press("f2")
	if b.text("pond_level_m") != "-0.41" || b.s.(Screen).saving {
		t.Errorf("after the failure the form has %q:\n%s", b.text("pond_level_m"), b.s.View())
	}
	if err := os.Rename(away, b.book.Path()); err != nil {
		t.Fatal(err)
	}
	b.press("f2")
	if got := b.last().Values["pond_level_m"]; got != -0.41 {
		t.Errorf("saved %g", got)
	}
	if _, ok, _ := b.book.Draft(context.Background(), Name); ok || b.text("pond_level_m") != "" {
		t.Error("the draft is still there")
	}
}

// F2 that is pressed twice while the disk is slow saves one round.
func TestSavingTwiceSavesOneRound(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.typed("-0.41")
	before := len(b.s.(Screen).history.Rounds)
	var cmds []tea.Cmd
	for range 3 {
		var cmd tea.Cmd
		b.s, cmd = b.s.Update(uitest.Key(t, "f2"))
		cmds = append(cmds, cmd)
	}
	b.sees("Saving")
	for _, cmd := range cmds {
		b.run(cmd)
	}
	h, err := b.book.History(context.Background(), logbook.HistoryOptions{})
	if err != nil || len(h.Rounds) != before+1 {
		t.Errorf("%d rounds before, %d after, %v", before, len(h.Rounds), err)
	}
}

// The question about throwing away takes y and n alone; what is pressed besides changes nothing, and the form comes back as it was.
func TestAQuestionTakesItsOwnKeysAlone(t *testing.T) {
	for _, ask := range []struct {
		key, question string
	}{{"f8", "Throw away everything that is typed here?"}, {"f2", "Is this right?"}} {
		b := newBench(t, uitest.Look{}, 80, 20)
		b.s = focus(b.s, "volts")
		b.typed("2411")
		b.press(ask.key)
		b.sees(ask.question)
		before := b.last().ID
		b.press("x", "8", "down", "f8", "f2", "=", "tab")
		b.give(uitest.Paste("y"))
		b.sees(ask.question)
		b.press("n")
		b.sees("Voltage 2411")
		if b.last().ID != before || b.text("volts") != "2411" {
			t.Errorf("%s: something was saved or lost", ask.key)
		}
	}
}

// The button at the end shows what is seldom read; throwing away takes the form back to what is usual.
func TestEveryReadingIsShownOnRequest(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 60)
	if strings.Contains(b.s.View(), "Rain") {
		t.Fatal("rain was never read, and yet it is asked for")
	}
	b.s = focus(b.s, keyAll)
	b.sees("Show every reading", "also those seldom read")
	b.press("enter")
	b.sees("Rain", "Bypass flow", "Consumer energy meter")
	if f, _ := b.s.(Screen).form.Focused(); f.Key != "pond_level_m" {
		t.Errorf("the walk goes on at %s, not at the pond", f.Key)
	}
	b.s = focus(b.s, "rain_mm")
	b.typed("4")
	b.press("f8", "y")
	if strings.Contains(b.s.View(), "Rain") {
		t.Error("the next round asks for every reading again")
	}
}

// A clearing asks for the pressures around it as soon as it is said, and what was typed there is kept though it is taken back.
func TestTheClearingsPressuresComeAndGo(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 60)
	b.s = focus(b.s, "screen_cleared")
	b.typed("y")
	b.sees("Pressure before", "Pressure after")
	b.s = focus(b.s, "pressure_before_kpa")
	b.typed("120")
	b.s = focus(b.s, "screen_cleared")
	b.press("backspace")
	if !strings.Contains(b.s.View(), "Pressure before") || b.text("pressure_before_kpa") != "120" {
		t.Errorf("what was typed is hidden:\n%s", b.s.View())
	}
	b.press("f2")
	if got := b.last().Values[quantity.Key(quantity.PressureBefore)]; got != 120 {
		t.Errorf("saved %v", b.last().Values)
	}
}

// A draft that no program can read, as of a damaged disk, is no reason to refuse the form.
func TestADraftThatCannotBeReadLeavesAnEmptyForm(t *testing.T) {
	for _, data := range []string{"{", "null", `{"values":{}}`, `{"values":7}`, ""} {
		b := newBench(t, uitest.Look{}, 80, 20)
		if err := b.book.SaveDraft(context.Background(), Name, []byte(data)); err != nil {
			t.Fatal(err)
		}
		b.start(uitest.Look{}, 80, 20)
		if len(b.s.(Screen).values()) != 0 {
			t.Errorf("%q:\n%s", data, b.s.View())
		}
		b.sees("! A draft that was kept cannot be read and is left out; type the round anew.", "Pond level _(-0.32)")
		b.typed("-0.41")
		b.press("f2")
		if got := b.last().Values["pond_level_m"]; got != -0.41 {
			t.Errorf("%q: saved %g", data, got)
		}
	}
}

// In narrow and low windows the field that is typed into, and why its text is no value, are in sight.
func TestANarrowFormShowsItsFieldAndItsFault(t *testing.T) {
	for _, size := range [][2]int{{60, 16}, {40, 14}, {30, 12}, {80, 8}} {
		b := newBench(t, uitest.Look{}, size[0], size[1])
		b.s = focus(b.s, "hertz")
		b.typed("6o.1")
		b.sees("> Freq", "6o.1", "! expected a number in Hz")
		if err := uitest.Fits(b.s.View(), size[0], size[1]); err != nil {
			t.Error(err)
		}
	}
}

// Leaving an empty form keeps no draft and says nothing; a note alone is a draft like any other.
func TestLeavingSaysWhatIsKept(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.press("esc")
	if len(b.said) != 0 || len(b.went) != 1 {
		t.Errorf("said %v, went %v", b.said, b.went)
	}
	b.s = focus(b.s, "note")
	b.typed("q?=8") // all of it is text in a note
	b.press("esc")
	if !b.saidWith("Draft kept: press 2 to go on with the round") || b.text("note") != "q?=8" {
		t.Errorf("said %v, the note is %q", b.said, b.text("note"))
	}
}

// In every state each key has its words, and the screen fits whatever the window.
func TestTheKeysOfEveryState(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	check := func(state string) {
		t.Helper()
		names := map[string]bool{}
		for _, k := range b.s.Bindings() {
			if names[k.Action] || k.Long == "" || len(k.Keys) == 0 {
				t.Errorf("%s: %+v", state, k)
			}
			names[k.Action] = true
		}
		for _, size := range [][2]int{{40, 10}, {60, 16}, {80, 20}, {140, 50}} {
			if err := uitest.Fits(b.s.SetSize(size[0], size[1]).View(), size[0], size[1]); err != nil {
				t.Errorf("%s at %v: %v", state, size, err)
			}
		}
	}
	check("empty")
	b.typed("99")
	check("with a draft")
	b.press("f2")
	check("asked about a slip")
	b.press("n", "f8")
	check("asked about throwing away")
}
