package tui

import (
	"strings"
	"testing"

	"example.org/headpond/tui/ui/uitest"
)

// status is the program's status line, the one above the keys.
func (b *bench) status() string {
	b.tb.Helper()
	return strings.TrimSpace(strings.Join(b.app.statusLines(), " "))
}

// A key that nothing is bound to says so and names the one that helps, on every screen that is a list or a report.
func TestAKeyThatIsNoneSaysSo(t *testing.T) {
	for _, digit := range []string{"1", "3", "4", "5", "6", "7", "8", "9"} {
		b := newBench(t, uitest.Look{}, 80, 24)
		b.press(digit)
		before := b.app.tabs[b.app.at].screen.View()
		b.press("z")
		if got, want := b.status(), "There is no key z here: ? lists them"; got != want {
			t.Errorf("screen %s: %q, expected %q", digit, got, want)
		}
		if b.app.tabs[b.app.at].screen.View() != before {
			t.Errorf("screen %s changed", digit)
		}
		b.press("f7")
		if got, want := b.status(), "There is no key F7 here: ? lists them"; got != want {
			t.Errorf("screen %s: %q, expected %q", digit, got, want)
		}
		b.press("down")
		if got := b.status(); strings.Contains(got, "no key") {
			t.Errorf("screen %s: an arrow is told to be none: %q", digit, got)
		}
	}
}

// The digit of another screen is text in a form. That is said once, does not stand in the way of typing, and tells the way out,
// which works.
func TestADigitInAFormSaysThatItIsText(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.press("2", "8")
	if got, want := b.status(), "8 is text here: Esc leaves the form, then 8 shows Upkeep"; got != want {
		t.Errorf("%q, expected %q", got, want)
	}
	b.sees("Pond level", "8_")
	b.press("5")
	b.sees("85_")
	if got := b.status(); got != "" {
		t.Errorf("it is still said: %q", got)
	}
	b.press("down", "8")
	if got := b.status(); got != "" {
		t.Errorf("it is said twice: %q", got)
	}
	b.press("esc", "8")
	b.sees(">8 Upkeep")
}

// A digit within a number that is being typed, and the digit of the form itself, are no mistakes.
func TestADigitOfANumberIsNoMistake(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.press("2")
	for _, key := range []string{"-", "0", ".", "8"} {
		b.press(key)
		if got := b.status(); got != "" {
			t.Errorf("after %s: %q", key, got)
		}
	}
	b.press("down", "2")
	if got := b.status(); got != "" {
		t.Errorf("the digit of the screen itself: %q", got)
	}
}

func TestAKeyThatDoesNothingInAFormSaysHowToLeave(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.press("2", "f7")
	if got, want := b.status(), "F7 does nothing in this form: Esc leaves it"; got != want {
		t.Errorf("%q, expected %q", got, want)
	}
	for _, key := range []string{"backspace", "left", "delete", "home", "up", "pgup", "ctrl+w"} {
		b.press(key)
		if got := b.status(); got != "" {
			t.Errorf("%s has nothing to do, which is no mistake: %q", key, got)
		}
	}
}

func TestAPasteWhereNothingTakesItSaysSo(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.give(uitest.Paste("r"))
	if got := b.status(); !strings.HasPrefix(got, "Nothing here takes what is pasted") {
		t.Errorf("%q", got)
	}
	b.sees(">1 Now")
}
