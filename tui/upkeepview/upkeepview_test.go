package upkeepview

import (
	"errors"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/exp/golden"

	"example.org/headpond/model/checklist"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/record"
	"example.org/headpond/model/upkeep"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

const (
	greaseA = "grease drive-end bearing, unit A"
	leaks   = "walk the penstock and look for leaks"
)

func TestView(t *testing.T) {
	for _, size := range [][2]int{{80, 20}, {120, 36}} {
		for name, look := range uitest.Looks() {
			t.Run(fmt.Sprintf("%dx%d/%s", size[0], size[1], name), func(t *testing.T) {
				b := newBench(t, look, size[0], size[1])
				golden.RequireEqual(t, []byte(ui.Clamp(uitest.Theme(look), b.s.View(), size[0], size[1])))
			})
		}
	}
}

// By hand: 960 of 500 h are 460 over; 13 of 14 days are done; 150 of 90 days since the log began.
func TestTheMostUrgentStandsFirst(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.see("!! 2 overdue, 1 due; 3 in time.", "overdue !! "+greaseA+" 460 h running over 25 Apr, Imke", "due ! walk the penstock and look", "in 24 h", "in 29 days",
		"Every 500 running hours of unit A: 960 h since Sat 25 Apr 08:00.", "Done 25 Apr, Imke: two strokes; 26 Mar, Ro.", "lock out and prove dead")
	b.pick("test the protection relay's trips")
	b.see("overdue !!", "60 days over", "never done", "Every 90 days: due 5 Apr, counted from 5 Jan, for it was never done.")
	b.pick("grease drive-end bearing, unit B")
	b.see("in 500 h running", "0 h since")
}

func TestPlantsWithoutTasksOrWithNothingDue(t *testing.T) {
	f := upkeep.Facts{At: morning}
	c := uitest.Common(uitest.Look{}, 80, 24, morning)
	if got := Text(&record.History{At: morning}, f, nil, c, 80); !strings.Contains(got, "lists no upkeep tasks ([[upkeep]])") {
		t.Error(got)
	}
	due := morning.AddDate(1, 0, 0)
	f.Tasks = []upkeep.Task{{Task: "belts", State: upkeep.OK, DueTime: &due}}
	if got := Text(&record.History{At: morning}, f, nil, c, 80); !strings.Contains(got, "Nothing is due.") || !strings.Contains(got, "in time") {
		t.Error(got)
	}
}

func TestATaskIsWrittenDownAsDone(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.press("enter")
	b.see("Done: "+greaseA, "Every 500 running hours")
	b.typed("Ro")
	b.press("enter")
	b.typed("-2h")
	b.see("Thu 4 Jun 06:00")
	b.press("enter")
	b.typed("two strokes")
	b.see("Kept as a draft at every key.")
	b.press("f2")
	d := b.last()
	if d.Task != greaseA || d.By != "Ro" || d.Note != "two strokes" || !d.Time.Equal(morning.Add(-2*time.Hour)) || d.Walk != nil {
		t.Errorf("%+v", d)
	}
	b.heard("Saved: upkeep done: " + greaseA)
	b.see("!! 1 overdue, 1 due; 4 in time.", "in 498 h running")
	if left := b.draft(draftTask + greaseA); left != "" {
		t.Errorf("the draft is on disk still: %s", left)
	}
}

func TestTheButtonSavesAndBlankFieldsAreFine(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.press("enter", "enter", "enter", "enter", "enter")
	if d := b.last(); d.Task != greaseA || !d.Time.Equal(morning) || d.By != "" {
		t.Errorf("%+v", d)
	}
}

// The task was done when its draft was begun, not when the draft is found.
func TestADraftOfATaskSurvivesAPowerCut(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.press("enter")
	b.typed("Imke")
	b.later(5 * time.Hour)
	b.start()
	b.see(greaseA[:24])
	b.see("(draft)")
	b.press("enter")
	b.see("By Imke_", "(blank is Thu 4 Jun 08:00, when begun; or 06:40, -2h)")
	b.press("esc")
	b.heard("Draft kept")
	b.press("enter", "f2")
	if d := b.last(); d.By != "Imke" || !d.Time.Equal(morning) {
		t.Errorf("%+v", d)
	}
	b.hide("(draft)")
}

func TestDraftsOfTwoTasksDoNotStandInEachOthersWay(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.press("enter")
	b.typed("one")
	b.press("esc")
	b.pick(leaks)
	b.press("enter")
	b.see("Done: " + leaks)
	b.hide("one_")
	b.typed("two")
	b.start()
	b.pick(greaseA)
	b.press("enter")
	b.see("one_")
	b.press("esc")
	b.pick(leaks)
	b.press("enter")
	b.see("two_")
}

func TestADraftIsThrownAwayOnlyWhenAsked(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.press("enter", "f8")
	b.heard("nothing is typed yet")
	b.typed("x")
	b.press("f8")
	b.see("Throw away everything that is typed here?")
	b.press("f8", "x", "n")
	b.see("By x_")
	b.press("f8", "y")
	b.see("Tasks")
	if left := b.draft(draftTask + greaseA); left != "" {
		t.Errorf("the draft is on disk still: %s", left)
	}
	b.press("enter")
	b.see("(who did it)")
	b.typed("y")
	b.press("up", "enter", "enter", "enter", "down", "enter") // to the button
	b.see("Throw away everything")
	b.press("esc", "backspace")
	if n := len(b.history().Done); n != 5 {
		t.Errorf("%d entries", n)
	}
}

func TestAWrongTimeIsSaidAndNothingIsSaved(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.press("enter", "enter")
	b.typed("2026-06-01")
	b.press("f2")
	b.heard("is a whole day")
	b.press("backspace", "backspace")
	b.typed("never")
	b.press("f2")
	b.heard("Not saved yet")
	if n := len(b.history().Done); n != 5 {
		t.Errorf("%d entries", n)
	}
	b.press("ctrl+u")
}

func TestATimeInTheFutureIsSaid(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.press("enter", "enter")
	b.typed("2027-06-01 10:00")
	b.press("f2")
	b.heard("dated in the future")
}

func TestWhatCannotBeSavedIsKept(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.press("enter")
	b.typed("Ro")
	away := b.book.Path() + ".away"
	b.must(nil, os.Rename(b.book.Path(), away))
	b.press("f2")
	b.heard("Saving the upkeep failed")
	b.see("Ro_")
	b.typed("x")
	b.heard("The draft could not be kept")
	b.see("!! The draft is not on disk")
	b.must(nil, os.Rename(away, b.book.Path()))
	b.press("f2")
	if d := b.last(); d.By != "Rox" {
		t.Errorf("%+v", d)
	}
}

func TestTheLastTimeIsShownInTheLog(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.press("c")
	if len(b.went) != 1 || b.went[0].Screen != "log" || b.went[0].Arg == "" {
		t.Fatalf("%+v", b.went)
	}
	for _, d := range b.history().Done {
		if d.ID == b.went[0].Arg && d.By != "Imke" {
			t.Errorf("%+v", d)
		}
	}
	b.pick("Starting")
	b.press("c")
	b.heard("this was never done")
}

func TestAReadOnlyBookTakesNothing(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.ro = true
	b.start()
	b.press("enter")
	b.heard("to be looked at only")
	b.see("Tasks")
}

func TestABookThatCannotBeReadIsSaid(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.give(desk.Loaded{Version: 9, Err: errors.New("the disk\x1b[2J is gone")})
	b.see(`The book could not be read: the disk\x1b[2J is gone`)
	s := New(uitest.Common(uitest.Look{}, 80, 24, morning), desk.Desk{}).SetSize(80, 24)
	s, cmd := s.Update(uitest.Key(t, "enter"))
	if cmd != nil || !strings.Contains(s.View(), "Reading the book") {
		t.Errorf("before the book is read:\n%s", s.View())
	}
}

func TestOtherScreensPickARow(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	s, _ := b.screen().Arrive("STOPPING")
	if r, _ := s.(Screen).selected(); r.name() != "Stopping" {
		t.Errorf("%+v", r)
	}
	s, _ = b.screen().Arrive("no such task")
	if r, _ := s.(Screen).selected(); r.name() != greaseA {
		t.Errorf("%+v", r)
	}
}

func TestTheListScrollsAndKeepsItsPick(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 8)
	for range 20 {
		b.press("down")
	}
	b.see("> Clearing the screen")
	b.reload()
	b.see("> Clearing the screen")
	for range 20 {
		b.press("up")
	}
	b.see("!! 2 overdue")
	b.press("end", "home", "pgdown", "pgup")
	b.see("!! 2 overdue")
}

func TestTextFromOutsideIsHarmless(t *testing.T) {
	h := &record.History{At: morning, Done: []record.Done{{Time: morning, Task: "a\x1b[2J", By: "\x07Ro", Note: "\x9b5n", Walk: &record.Walk{}}}}
	f := upkeep.Facts{At: morning, Tasks: []upkeep.Task{{Task: "a\x1b[2J", Unit: "\x1b", State: upkeep.Due, LastBy: "\x1b]0;x\x07", Last: &morning, EveryHours: new(5.0), RanHours: new(1.0), DueHours: new(4.0), Caution: "\x1b"}}}
	l := checklist.List{Name: "a\x1b[2J", Unit: "\x1b", Cautions: []string{"\x1b[31m"}, Steps: []string{"\x1b[0c"}}
	c := uitest.Common(uitest.Look{}, 80, 24, morning)
	for _, text := range []string{Text(h, f, []checklist.List{l}, c, 80), ListText(l, 80)} {
		if err := uitest.Fits(strings.TrimSuffix(text, "\n"), 80, 200); err != nil {
			t.Error(err)
		}
	}
	s := Screen{Common: c, history: h, facts: f, lists: []checklist.List{l}, walks: map[string]walk{l.Name: newWalk(l, morning)}, open: l.Name}
	for m := listing; m <= offering; m++ {
		s.mode = m
		s.offer = offer{list: checklist.List{Name: l.Name, For: plant.ForStop}, choices: [][]string{{"\x1b"}}}
		if err := uitest.Fits(s.SetSize(80, 24).View(), 80, 24); err != nil {
			t.Errorf("mode %d: %v", m, err)
		}
	}
}

func TestTextGolden(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	s := b.screen()
	golden.RequireEqual(t, []byte(Text(s.history, s.facts, s.lists, s.Common, 80)))
}

func TestPaperGolden(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	var all []string
	for _, l := range b.screen().lists {
		all = append(all, ListText(l, 80))
	}
	golden.RequireEqual(t, []byte(strings.Join(all, "\n\n")))
}

func TestKeysOfEveryModeAreSound(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	s := b.screen()
	s.open = "Stopping"
	s.walks = map[string]walk{"Stopping": newWalk(s.lists[1], morning)}
	for _, occasion := range append(plant.ListFors(), "") {
		s.offer = offer{list: checklist.List{For: occasion}, choices: [][]string{{"A"}, {"B"}}}
		for m := listing; m <= offering; m++ {
			s.mode = m
			for _, err := range ui.CheckBindings(s.Bindings()) {
				if s.Capturing() && strings.Contains(err.Error(), "some keyboards lack") {
					continue // a form's buttons do the same by Enter
				}
				t.Errorf("mode %d, %s: %v", m, occasion, err)
			}
		}
	}
	for _, g := range s.Modes() {
		if g.Title == "" || len(g.Bindings) == 0 {
			t.Errorf("%+v", g)
		}
	}
	if s.Init() != nil {
		t.Error("the screen asks for something before the book is read")
	}
}

func TestFlushPutsEveryDraftOnDisk(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.press("enter")
	for _, r := range "Ro" { // no command is carried out: the disk is behind
		b.s, _ = b.s.Update(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{r}})
	}
	if err := b.screen().Flush(t.Context()); err != nil {
		t.Fatal(err)
	}
	if got := b.draft(draftTask + greaseA); !strings.Contains(got, `"Ro"`) {
		t.Errorf("on disk is %q", got)
	}
}

// Nobody is told that a draft or a tick is kept when the disk did not take it.
func TestADraftThatIsNotOnDiskIsNotSaidToBe(t *testing.T) {
	for name, c := range map[string]struct {
		keys       []string
		leave      []string
		save, kept string
	}{
		"task": {[]string{"enter", "R"}, []string{"esc"}, "f2", "Draft kept"},
		"list": {[]string{"enter", "enter", "enter"}, []string{"esc"}, "", "Every tick is kept"},
	} {
		b := benchWith(t, uitest.Look{}, 80, 24, short)
		if name == "list" {
			b.pick("Frost")
		}
		b.press(c.keys...)
		away := b.book.Path() + ".away"
		b.must(nil, os.Rename(b.book.Path(), away))
		b.press(map[string]string{"task": "o", "list": "enter"}[name])
		b.said = nil
		if c.save != "" {
			b.press(c.save)
			b.heard("The draft is NOT on disk either. Leave the program open")
		}
		b.press(c.leave...)
		b.heard("The draft is NOT on disk: keeping a draft")
		for _, s := range b.said {
			if strings.Contains(strings.ToLower(s), "draft is kept") || strings.Contains(s, c.kept) {
				t.Errorf("%s: said %q", name, s)
			}
		}
		b.must(nil, os.Rename(away, b.book.Path()))
		b.reload() // the disk is back: the next load tries again
		b.said = nil
		b.press("enter")
		if name == "list" {
			b.press("enter")
		}
		b.press(c.leave...)
		b.heard(c.kept)
	}
}

// Two windows with the same task's form: saving in one leaves what the other typed, whoever typed last.
func TestTwoWindowsDoNotLoseEachOthersDrafts(t *testing.T) {
	for _, last := range []string{"one", "two"} {
		one := newBench(t, uitest.Look{}, 80, 24)
		two := &bench{t: t, book: one.book, now: one.now, w: one.w, h: one.h}
		two.start()
		one.press("enter")
		two.press("enter")
		task := one.screen().open
		if last == "one" {
			two.typed("Tam")
			one.typed("Ro")
		} else {
			one.typed("Ro")
			two.typed("Tam")
		}
		one.press("f2")
		two.reload()
		if d := two.draft(draftTask + task); !strings.Contains(d, "Tam") {
			t.Errorf("%s typed last: the disk has %q", last, d)
		}
		two.press("f2")
		if d := two.draft(draftTask + task); d != "" {
			t.Errorf("%s typed last: after both have saved the disk has %q", last, d)
		}
	}
}
