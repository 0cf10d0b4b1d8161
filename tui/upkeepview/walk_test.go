package upkeepview

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/exp/golden"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/headpond/model/checklist"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

// short is a list of three steps of the plant's own.
const short = `
[[checklist]]
name = "Frost"
caution = ["Thin ice at the intake."]
step = ["Shut the cock.", "Open the drain.", "Hang the sign."]
`

// The parts of a walk, as goldens: cautions, a step, the words to one, the end, and what is offered after it.
func TestWalkView(t *testing.T) {
	for _, size := range [][2]int{{80, 20}, {120, 36}} {
		for name, look := range uitest.Looks() {
			t.Run(fmt.Sprintf("%dx%d/%s", size[0], size[1], name), func(t *testing.T) {
				b := newBench(t, look, size[0], size[1])
				var all []string
				shot := func(what string) {
					all = append(all, "=== "+what, ui.Clamp(uitest.Theme(look), b.s.View(), size[0], size[1]))
				}
				b.pick("Stopping")
				b.press("enter")
				shot("cautions")
				b.press("enter", "enter", "enter", "x")
				b.typed("one element is cold")
				shot("not ok")
				b.press("enter", "left")
				shot("a step that was ticked")
				b.press("right")
				shot("a step")
				b.press("e")
				shot("the end")
				b.press("f2")
				shot("ended early")
				b.press("y")
				shot("after it")
				golden.RequireEqual(t, []byte(strings.Join(all, "\n")+"\n"))
			})
		}
	}
}

func TestCautionsComeBeforeTheFirstStep(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	for _, l := range b.screen().lists {
		b.pick(l.Name)
		b.press("enter")
		b.see(l.Name+": cautions first", l.Cautions[0])
		b.hide(l.Steps[0])
		b.press("esc")
	}
	if drafts, err := b.book.Drafts(t.Context()); err != nil || len(drafts) != 0 {
		t.Errorf("looking at a list leaves %v on disk; %v", drafts, err)
	}
}

func TestAListIsWalkedToItsEnd(t *testing.T) {
	b := benchWith(t, uitest.Look{}, 80, 24, short)
	b.walk("Frost")
	b.see("Frost: step 1 of 3", "Shut the cock.", "Not ticked yet", "after 2. Open the drain. to do", "Thin ice at the intake.")
	b.later(time.Minute)
	b.press("enter")
	b.see("step 2 of 3", "before 1. Shut the cock. done")
	b.later(time.Minute)
	b.press("s")
	b.see("Open the drain.", "Why it is skipped")
	b.press("enter")
	b.heard("nobody else can know why")
	b.typed("ice: on the ladder")
	b.press("enter")
	b.later(time.Minute)
	b.press("x")
	b.typed("the sign is gone")
	b.press("enter")
	b.see("Frost: the end", "!! 1 of 3 steps done, 1 skipped, 1 not ok.", "2. skipped ! ice: on the ladder (Open the drain.)", "3. not ok !! the sign is gone")
	b.typed("Imke")
	b.press("enter")
	b.typed("buy a sign")
	b.later(12 * time.Hour) // saved the same night
	b.press("f2")
	at := func(min int) time.Time { return morning.Add(time.Duration(min) * time.Minute) }
	want := record.Done{Task: "Frost", By: "Imke", Note: "buy a sign", Walk: &record.Walk{Begun: at(0), Ticks: []record.Tick{
		{Step: "Shut the cock.", State: record.TickDone, At: at(1)},
		{Step: "Open the drain.", State: record.TickSkipped, Note: "ice: on the ladder", At: at(2)},
		{Step: "Hang the sign.", State: record.TickNotOK, Note: "the sign is gone", At: at(3)},
	}}}
	var got record.Done
	for _, d := range b.history().Done {
		if d.Walk != nil {
			got = d
		}
	}
	if !got.Time.Equal(at(3)) {
		t.Errorf("it is of %s, the last tick was at %s", got.Time, at(3))
	}
	got.ID, got.Time, got.WrittenAt = "", time.Time{}, time.Time{}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	b.heard("Saved: Frost: 1 of 3 steps done, 1 skipped, 1 not ok")
	b.see("Tasks", "> Frost", "Last walked Thu 4 Jun 08:03 by Imke: 1 of 3 steps done, 1 skipped, 1 not ok.")
	if left := b.draft(draftList + "Frost"); left != "" {
		t.Errorf("the draft is on disk still: %s", left)
	}
}

func TestATickIsMadeAnewAndNotesStay(t *testing.T) {
	b := benchWith(t, uitest.Look{}, 80, 24, short)
	b.walk("Frost")
	b.press("n")
	b.typed("stiff")
	b.press("enter")
	b.see("step 1 of 3", "Not ticked yet. Enter: done. Noted: stiff")
	b.press("enter", "left")
	b.see("done, 08:00: stiff")
	b.press("x")
	b.see("What was found _")
	b.typed("it drips")
	b.press("enter", "left")
	b.see("not ok !!, 08:00: it drips")
	b.press("x")
	b.see("it drips_")
	b.press("esc")
	b.see("not ok !!, 08:00: it drips")
	b.press("enter", "left") // done after all: the reason for the other goes
	b.see("done, 08:00")
	b.hide("it drips")
	b.press("left", "left", "up")
	b.see("step 1 of 3")
	b.press("right", "right", "right", "right")
	b.see("Frost: the end")
	b.press("esc")
	b.see("step 3 of 3")
}

// Words that were typed are not lost by going back: they stay as the step's note.
func TestGoingBackFromAReasonKeepsIt(t *testing.T) {
	b := benchWith(t, uitest.Look{}, 80, 24, short)
	b.walk("Frost")
	b.press("s")
	b.typed("snow")
	b.press("esc")
	b.see("step 1 of 3", "Not ticked yet", "snow")
	b.press("s")
	b.see("Why it is skipped snow_")
	b.press("enter")
	b.see("before 1. Shut the cock. skipped !")
}

func TestTheListIsLeftAndGoneOnWith(t *testing.T) {
	b := benchWith(t, uitest.Look{}, 80, 24, short)
	b.walk("Frost")
	b.press("enter", "right", "esc")
	b.heard("Every tick is kept")
	b.see("begun ! Frost 1 of 3 ticked", "Begun Thu 4 Jun 08:00, 1 of 3 steps ticked. Enter goes on with it.")
	b.press("enter")
	b.see("Enter goes on at step 2.")
	b.press("enter")
	b.see("step 2 of 3")
	b.press("c")
	b.see("cautions first")
}

func TestTwoListsMayBeOnTheirWay(t *testing.T) {
	b := benchWith(t, uitest.Look{}, 80, 24, short)
	b.walk("Frost")
	b.press("enter", "esc")
	b.walk("Stopping")
	b.press("enter", "enter", "esc")
	b.start()
	b.see("begun ! Frost 1 of 3", "begun ! Stopping 2 of 12", "Begun and not ended: Frost (1 of 3), Stopping (2 of 12).")
}

// A list that is begun keeps its words when the plant's file changes; when it is gone from there it still stands in the list.
func TestABegunListKeepsItsWords(t *testing.T) {
	b := benchWith(t, uitest.Look{}, 80, 30, short)
	b.walk("Frost")
	b.press("enter", "esc")
	b.must(b.book.AddPlant(t.Context(), plantWithout(t, b), b.now, "Imke"))
	b.start()
	b.pick("Frost")
	b.press("enter", "enter")
	b.see("step 2 of 3", "Open the drain.")
	b.press("enter", "enter", "f2")
	if d := b.last(); d.Task != "Frost" || len(d.Walk.Ticks) != 3 {
		t.Errorf("%+v", d)
	}
	b.hide("Frost")
}

// plantWithout is the plant's file without the lists of its own.
func plantWithout(t *testing.T, b *bench) string {
	t.Helper()
	text, _, ok := strings.Cut(b.history().Revisions[0].Text, "\n[[checklist]]")
	if !ok {
		t.Fatal("no list in the plant's file")
	}
	return text
}

func TestAListIsThrownAwayOnlyWhenAsked(t *testing.T) {
	b := benchWith(t, uitest.Look{}, 80, 24, short)
	b.pick("Frost")
	b.press("enter", "t")
	b.heard("nothing is ticked yet")
	b.press("enter", "enter", "e", "f8")
	b.see("Throw away everything that is ticked and typed for this checklist?")
	b.press("n")
	b.see("Frost: the end")
	b.press("f8", "y")
	b.see("Frost 3 steps never walked")
	if left := b.draft(draftList + "Frost"); left != "" {
		t.Errorf("the draft is on disk still: %s", left)
	}
	b.press("enter", "enter", "e", "f2")
	b.heard("no step is ticked yet")
	b.press("down", "down", "down", "enter") // back to the steps
	b.see("step 1 of 3")
	b.press("enter", "e", "tab", "tab", "tab", "tab", "enter")
	b.see("Throw away everything")
	b.press("esc", "esc", "esc")
	b.see("begun !")
	b.press("enter", "t", "y")
	b.hide("begun !")
}

func TestAWalkThatCannotBeSavedIsKept(t *testing.T) {
	b := benchWith(t, uitest.Look{}, 80, 24, short)
	b.walk("Frost")
	b.press("enter", "e")
	away := b.book.Path() + ".away"
	b.must(nil, os.Rename(b.book.Path(), away))
	b.press("f2", "y")
	b.heard("Saving the checklist failed")
	b.press("esc", "left", "left", "enter")
	b.heard("could not be kept")
	b.see("!! The ticks are not on disk")
	b.must(nil, os.Rename(away, b.book.Path()))
	b.press("enter", "enter", "f2")
	if d := b.last(); d.Task != "Frost" || d.Walk.Count(record.TickDone) != 3 {
		t.Errorf("%+v", d)
	}
}

// Whatever keys are pressed, and wherever the power fails, what stood on the screen of a list stands there again.
func TestAPowerCutLosesNothing(t *testing.T) {
	keys := []string{"enter", "s", "x", "n", "left", "right", "up", "down", "e", "esc", "c", "a", "b", " ", "backspace", "f8", "pgdown", "tab"}
	b := benchWith(t, uitest.Look{}, 80, 24, short)
	for seed := range uint64(25) {
		r := rand.New(rand.NewPCG(seed, 1))
		b.start()
		b.walk("Frost")
		var pressed []string
		for range 1 + r.IntN(12) {
			b.later(time.Minute)
			pressed = append(pressed, keys[r.IntN(len(keys))])
			b.press(pressed[len(pressed)-1])
		}
		before := begun(b.screen().walks)
		b.start()
		if diff := cmp.Diff(before, begun(b.screen().walks)); diff != "" {
			t.Fatalf("%q: before the cut (-), after it (+):\n%s", pressed, diff)
		}
	}
}

// begun are the lists on their way with what counts of them: place and unfinished kind of note aside, which a cut may lose.
func begun(walks map[string]walk) map[string][]string {
	out := map[string][]string{}
	for name, w := range walks {
		if !w.begun() {
			continue
		}
		for _, t := range w.Ticks {
			out[name] = append(out[name], string(t.State)+"|"+t.Note+"|"+t.At.UTC().Format(time.RFC3339))
		}
		out[name] = append(out[name], w.Typed, w.By, w.Note, w.Begun.UTC().Format(time.RFC3339))
	}
	return out
}

func TestASpoiltDraftIsPassedOver(t *testing.T) {
	b := benchWith(t, uitest.Look{}, 80, 24, short)
	for name, data := range map[string]string{
		draftList + "Frost": `{"list":{"name":"Frost","steps":["a"]},"ticks":[]}`, draftList + "Stopping": "nonsense", draftTask + greaseA: "{}",
	} {
		b.must(nil, b.book.SaveDraft(t.Context(), name, []byte(data)))
	}
	b.start()
	b.hide("begun !", "(draft)")
	b.walk("Frost")
	b.press("enter")
	b.see("step 2 of 3")
}

func FuzzDecodeWalk(f *testing.F) {
	w := newWalk(checklist.List{Name: "Frost", Steps: []string{"a", "b"}}, morning).tick(record.TickDone, "x", morning)
	f.Add(w.data())
	f.Add([]byte(`{"list":{"name":"x","steps":["a"]},"at":-7,"ticks":[{}]}`))
	f.Add([]byte(`{"list":{"name":"x","steps":["a"]},"at":99,"ticks":[{"state":"odd"}],"noting":"odd","typed":"t"}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		w, ok := decodeWalk(data)
		if !ok {
			return
		}
		again, ok := decodeWalk(w.data())
		if w.begun() && (!ok || again.ticked() != w.ticked() || again.At != w.At) {
			t.Errorf("%+v comes back as %+v", w, again)
		}
		s := Screen{Common: uitest.Common(uitest.Look{}, 80, 24, morning), open: w.List.Name, mode: walking, walks: map[string]walk{w.List.Name: w}}
		if w.ended() {
			s = s.end()
		}
		if err := uitest.Fits(s.SetSize(60, 20).View(), 60, 20); err != nil {
			t.Error(err)
		}
	})
}

// What is shown fits at any size, in every mode.
func TestEveryModeFitsAtAnySize(t *testing.T) {
	b := benchWith(t, uitest.Look{}, 80, 24, short)
	check := func() {
		t.Helper()
		uitest.FitsAtAnySize(t, b.s, uitest.Theme(uitest.Look{}))
	}
	check()
	b.press("enter")
	check()
	b.press("esc")
	b.pick("Stopping")
	b.press("enter")
	check()
	b.press("enter", "enter")
	check()
	b.press("s")
	b.typed("a long reason that goes on and on, further than a narrow window is wide")
	check()
	b.press("enter", "e")
	check()
	b.press("f8")
	check()
	b.press("n", "f2")
	check()
	b.press("y")
	check()
}

// No key, paste or size breaks the screen, whatever is on show.
func TestAnyKeysAtAnySize(t *testing.T) {
	names := []string{"enter", "esc", "y", "n", "s", "x", "e", "c", "r", "t", "f2", "f8", "tab", "shift+tab", "up", "down", "left", "right", "home", "end", "pgup", "pgdown", "backspace", " ", "9", "?", "ä"}
	fresh := benchWith(t, uitest.Look{}, 80, 24, short).s
	rapid.Check(t, func(r *rapid.T) {
		s := fresh
		for range rapid.IntRange(1, 40).Draw(r, "presses") { // what they ask of the disk is left undone, as on a disk that hangs
			if rapid.IntRange(0, 9).Draw(r, "paste") == 0 {
				s, _ = s.Update(uitest.Paste(rapid.StringN(0, 20, 60).Draw(r, "pasted")))
			} else {
				s, _ = s.Update(uitest.Key(t, rapid.SampledFrom(names).Draw(r, "key")))
			}
			w, h := rapid.IntRange(1, 140).Draw(r, "w"), rapid.IntRange(1, 50).Draw(r, "h")
			s = s.SetSize(w, h)
			if err := uitest.Fits(s.View(), w, h); err != nil {
				r.Fatal(err)
			}
		}
	})
}

func TestTheStopIsOfferedAndConfirmed(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.walk("Stopping")
	b.later(5 * time.Minute)
	b.press("enter", "e")
	b.typed("Ro")
	b.later(time.Hour)
	b.press("f2", "y")
	b.see("Saved in the log: Stopping", "stop of A, Thu 4 Jun 08:05") // A is what runs
	if n := len(b.history().Events); n != 0 {
		t.Fatalf("%d events were written unasked", n)
	}
	b.press("right")
	b.see("stop of B,")
	b.press("right")
	b.see("stop of A+B,")
	b.press("right", "left", "right", "y")
	b.see("Tasks")
	b.heard("Saved: stop of A, Thu 4 Jun 08:05")
	events := b.history().Events
	if len(events) != 1 || events[0].Kind != record.Stop || !slices.Equal(events[0].Units, []string{"A"}) || events[0].By != "Ro" || !events[0].Time.Equal(morning.Add(5*time.Minute)) {
		t.Errorf("%+v", events)
	}
}

// A stopping list that never reached its last steps says so, before it is saved and before a stop is offered, and does not count.
func TestAListThatIsEndedEarlySaysSo(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.walk("Stopping")
	steps := b.screen().walks["Stopping"].List.Steps
	b.press("enter", "enter", "e", "f2")
	b.see("save it as ended early?", "10 of 12 steps were not walked", " 3. "+steps[2][:20], "12. "+steps[11][:20])
	if n := len(b.history().Done); n != 5 {
		t.Fatalf("%d entries: it was saved unasked", n)
	}
	b.press("f2", "enter")
	b.see("Stopping: step 3 of 12")
	b.press("e", "f2", "y")
	b.see("Ended early: 10 steps were not walked", "may not stand as this list leaves it", "stop of A")
	b.press("n")
	b.see("ended early !", "Ended early Thu 4 Jun 08:00: 2 of 12 steps done, 10 not come to. That does not count as walked.")
}

func TestTheOfferIsDeclinedByEveryOtherKey(t *testing.T) {
	for _, key := range []string{"n", "esc", "enter"} {
		b := newBench(t, uitest.Look{}, 80, 24)
		b.walk("Starting")
		b.press("enter", "e", "f2", "y")
		b.see("start of B") // A runs already
		b.press("x", key)
		b.see("Tasks")
		if n := len(b.history().Events); n != 0 {
			t.Errorf("%s wrote %d events", key, n)
		}
	}
}

func TestWhatIsOfferedAfterATripAndAClearing(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.walk("After a trip")
	b.press("enter", "e", "f2", "y")
	b.see("Does the trip itself stand in the log")
	b.press("y", "e")
	if len(b.went) != 1 || b.went[0].Screen != "log" || b.went[0].Arg != "event" {
		t.Fatalf("%+v", b.went)
	}
	b.walk("Clearing the screen")
	b.press("enter", "e", "f2", "y")
	b.see("r walk a round, with the pressures before and after")
	b.press("r")
	if len(b.went) != 2 || b.went[1].Screen != "round" {
		t.Fatalf("%+v", b.went)
	}
	b.walk("Clearing the screen")
	b.press("enter", "e", "f2", "y", "y")
	b.heard("a round that says the screen was cleared")
	last, _ := b.history().Last()
	if w, _ := last.Word("screen_cleared"); w != "yes" || len(last.Values) != 0 || last.Running != nil {
		t.Errorf("%+v", last)
	}
}

func TestAListOfOneUnitOffersThatUnit(t *testing.T) {
	b := benchWith(t, uitest.Look{}, 80, 24, "\n[[checklist]]\nname = \"Small set off\"\nfor = \"stop\"\nunit = \"B\"\nstep = [\"Shut it.\"]\n")
	b.walk("Small set off")
	b.see("Small set off: step 1 of 1")
	b.press("enter", "f2")
	b.see("stop of B")
	b.hide("another unit")
	b.press("y")
	if e := b.history().Events; len(e) != 1 || !slices.Equal(e[0].Units, []string{"B"}) {
		t.Errorf("%+v", e)
	}
	if d := b.last(); !slices.Equal(d.Walk.Units, []string{"B"}) || d.Walk.For != string(plant.ForStop) {
		t.Errorf("%+v", d.Walk)
	}
}

// The maps of an older screen stay as they were: a screen is a value.
func TestAScreenIsAValue(t *testing.T) {
	b := benchWith(t, uitest.Look{}, 80, 24, short)
	b.walk("Frost")
	old := b.screen()
	before := maps.Clone(old.walks)
	b.press("enter", "enter")
	if diff := cmp.Diff(begun(before), begun(old.walks)); diff != "" {
		t.Error(diff)
	}
}
