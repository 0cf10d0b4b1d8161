package round

import (
	"context"
	"os"
	"strings"
	"testing"
	"time"

	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui/form"
	"example.org/headpond/tui/ui/uitest"
)

// Every word of every choice of the round, typed letter by letter, is the one that is chosen, though a choice may change which fields
// there are.
func TestAWordOfTheRoundIsTheOneThatIsTyped(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	choices := 0
	for _, f := range b.s.(Screen).form.Fields() {
		if f.Kind != form.Choice {
			continue
		}
		choices++
		for _, w := range f.Words {
			for n := 1; n <= len(w); n++ { // no word of a round begins as another does
				b.s = focus(b.s, f.Key)
				b.press("backspace")
				b.said = nil
				b.typed(w[:n])
				if got := b.text(f.Key); got != w || strings.Contains(b.s.View(), "no word begins with") {
					t.Errorf("%s: %q chooses %q\n%s", f.Key, w[:n], got, b.s.View())
				}
			}
		}
	}
	if choices < 2 {
		t.Errorf("the round has %d choices, want the screen and whether it was cleared", choices)
	}
}

// Asked whether it was yesterday, y saves yesterday's time, t today's as it is typed.
func TestEachAnswerAboutYesterdayDoesWhatItSays(t *testing.T) {
	typed := time.Date(2026, 6, 4, 23, 0, 0, 0, halifax)
	for key, want := range map[string]time.Time{"y": typed.AddDate(0, 0, -1), "t": typed, "n": {}} {
		b := newBench(t, uitest.Look{}, 80, 20)
		b.typed("-0.33")
		b.s = focus(b.s, "time")
		b.typed("23:00")
		b.press("f2")
		b.sees("Was it yesterday, Wed 3 Jun 23:00?", "y yes, save it as yesterday's t no, save it as typed n no, go back")
		b.press(key)
		l := desk.Desk{Book: b.book}.Load(context.Background(), 2)
		saved := false
		rounds := l.History.Rounds
		if l.History.Later != nil {
			rounds = append(rounds, l.History.Later.Rounds...)
		}
		for _, r := range rounds {
			saved = saved || r.Values["pond_level_m"] == -0.33
			if r.Values["pond_level_m"] == -0.33 && !r.Time.Equal(want) {
				t.Errorf("%s saved a round of %v, want %v", key, r.Time, want)
			}
		}
		if saved == want.IsZero() {
			t.Errorf("%s: saved %v\n%s", key, saved, b.s.View())
		}
	}
}

// A reading and the time that are asked about together are answered together, and the round keeps that the reading was confirmed.
func TestOneYesAnswersAReadingAndYesterday(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.s = focus(b.s, "volts")
	b.typed("2411")
	b.s = focus(b.s, "time")
	b.typed("23:00")
	b.press("f2", "y")
	l := desk.Desk{Book: b.book}.Load(context.Background(), 2)
	found := false
	for _, x := range l.History.Rounds {
		if x.Values["volts"] == 2411 {
			found = true
			if !x.Confirmed {
				t.Error("the reading that was asked about is not marked as confirmed")
			}
		}
	}
	if !found {
		t.Errorf("both questions were answered with one yes, and nothing is saved:\n%s", b.s.View())
	}
}

// Nobody is told that the draft is kept when the disk did not take it.
func TestADraftThatIsNotOnDiskIsNotSaidToBe(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.typed("-0.3")
	away := b.book.Path() + ".away"
	if err := os.Rename(b.book.Path(), away); err != nil {
		t.Fatal(err)
	}
	b.typed("3")
	b.said = nil
	b.press("esc")
	if !b.saidWith("The draft is NOT on disk: keeping a draft") || b.saidWith("Draft kept") {
		t.Errorf("on leaving it says %q", b.said)
	}
	var failed desk.Failed
	_, cmd := b.s.Update(uitest.Key(t, "f2"))
	failed, ok := cmd().(desk.Failed)
	if !ok || failed.Err == nil || !strings.Contains(failed.Err.Error(), "NOT on disk") || strings.Contains(failed.Err.Error(), "draft is kept") {
		t.Errorf("a saving that fails says %v", failed.Err)
	}
	if err := os.Rename(away, b.book.Path()); err != nil {
		t.Fatal(err)
	}
	b.give(desk.Desk{Book: b.book}.Load(context.Background(), 2)) // the disk is back: the next load tries again
	if d, ok, _ := b.book.Draft(context.Background(), Name); !ok || !strings.Contains(string(d.Data), "-0.33") {
		t.Errorf("the disk has %q", d.Data)
	}
	b.said = nil
	b.press("esc")
	if !b.saidWith("Draft kept") {
		t.Errorf("on leaving it says %q", b.said)
	}
}

// A round that is saved in one window leaves what was typed in another, and so does the asking line by line.
func TestTwoWindowsDoNotLoseEachOthersDrafts(t *testing.T) {
	one := newBench(t, uitest.Look{}, 80, 20)
	two := &bench{t: t, book: one.book, now: one.now}
	two.start(uitest.Look{}, 80, 20)
	one.typed("-0.31")
	two.typed("-0.32")
	one.press("f2")
	if d, _, _ := two.book.Draft(context.Background(), Name); !strings.Contains(string(d.Data), "-0.32") {
		t.Errorf("after the other window has saved, the disk has %q", d.Data)
	}
	c := uitest.Common(uitest.Look{}, 80, 24, one.now)
	d := desk.Desk{Book: one.book, Now: c.Now, Location: halifax}
	loaded := d.Load(context.Background(), 1)
	loaded.Drafts = nil // it was begun before the window
	k := &talker{answers: []string{"-0.33", ".", "", "y"}}
	r, own, err := AskLines(context.Background(), c, d, loaded, nil, k.dialogue())
	if err != nil || len(own) == 0 {
		t.Fatalf("%v, %q", err, own)
	}
	two.typed("5") // over the draft of the asking
	if _, err := one.book.AddRound(context.Background(), r, Name, own); err != nil {
		t.Fatal(err)
	}
	if d, _, _ := two.book.Draft(context.Background(), Name); !strings.Contains(string(d.Data), "-0.325") {
		t.Errorf("after the asking has saved, the disk has %q", d.Data)
	}
	if r.Values["pond_level_m"] != -0.33 {
		t.Errorf("asked for %v", r.Values)
	}
}
