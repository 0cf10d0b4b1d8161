package plantview

import (
	"strings"
	"testing"
	"time"

	"example.org/headpond/logbook/copies"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui/uitest"
)

func TestCopiesOfTheBookAreShownWithTheirAge(t *testing.T) {
	last, old := clock.Add(-3*time.Hour), clock.AddDate(0, 0, -9)
	status := copies.Status{At: clock, Places: []copies.Place{
		{Dir: "/home/ro/headpond.book.copies", Beside: true, Kept: 5, Last: &copies.Copy{Time: last}, LastAt: &last},
		{Dir: "/media/\x1b[31mstick", Missing: true, Behind: 12, Last: &copies.Copy{Time: old}, LastAt: &old},
	}}
	s := screen(uitest.Look{}, 80, 24, history(t))
	if strings.Contains(s.View(), "Copies") {
		t.Error("copies are told of before anything is known of them")
	}
	s, _ = s.Update(desk.Copied{Status: &status})
	see(t, s.View(), "Copies of the book", "Last copy 3 h ago, in /home/ro/headpond.book.copies (5 kept).",
		"Last copy 9 days ago, 12 entries since,", "(not there now: it is written to when it is back).", "plug the stick in")
	if strings.Contains(s.View(), "\x1b[31m") {
		t.Error("a folder's name reaches the terminal raw")
	}
	s, _ = s.Update(desk.Copied{})
	if strings.Contains(s.View(), "Copies") {
		t.Error("what is not known any more is still shown")
	}
}

func TestAKeyMakesACopy(t *testing.T) {
	off := func(d desk.Desk) string {
		for _, b := range New(uitest.Common(uitest.Look{}, 80, 24, clock), d).Bindings() {
			if b.Action == "plant.copy" {
				return b.Off
			}
		}
		return "there is no such key"
	}
	keeper := &copies.Keeper{}
	for want, d := range map[string]desk.Desk{
		"": {Copies: keeper}, "no copies of this book are kept": {},
	} {
		if got := off(d); got != want {
			t.Errorf("off because %q, want %q", got, want)
		}
	}
	if off(desk.Desk{Copies: keeper, ReadOnly: true}) == "" {
		t.Error("a package that is only looked at can be copied")
	}
	s := New(uitest.Common(uitest.Look{}, 80, 24, clock), desk.Desk{Copies: keeper}).SetSize(80, 24)
	s, _ = s.Update(desk.Loaded{History: history(t)})
	if _, cmd := s.Update(uitest.Key(t, "b")); cmd == nil {
		t.Error("b does nothing")
	}
}
