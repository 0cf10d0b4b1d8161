package tui

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/model/record"
	"example.org/headpond/model/upkeep"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui/uitest"
)

// A whole evening by keys: a list is begun, the power fails, Now leads back to it, it is walked to its end, the stop that belongs
// to it is written down, the Log shows all of it, and a slip of it is corrected there.
func TestAChecklistFromTheFirstStepToItsCorrection(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.press("8")
	for range 7 { // six tasks, Starting
		b.press("down")
	}
	b.press("enter")
	b.sees("Stopping: cautions first", "!  Shutting the main valve fast can burst the pipe.")
	b.press("enter", "enter")
	b.sees("Stopping: step 2 of 12")
	b.press("1")
	b.press("8")
	b.sees("Stopping: step 2 of 12") // a look at another screen loses nothing
	b.start(uitest.Look{}, 80, 24)   // the power fails
	b.sees("A draft (checklist: Stopping) that was not saved is kept: press 8")
	b.press("8")
	b.sees("begun !    Stopping", "1 of 12 ticked")
	for range 7 {
		b.press("down")
	}
	b.press("enter", "enter")
	b.sees("Stopping: step 2 of 12")
	b.press("enter", "s")
	b.typed("nothing runs but the freezer")
	b.press("enter")
	for range 9 {
		b.press("enter")
	}
	b.sees("Stopping: the end", "11 of 12 steps done, 1 skipped.")
	b.typed("Ro")
	b.press("f2")
	b.sees("Saved: Stopping: 11 of 12 steps done, 1 skipped", "stop of A, ")
	b.press("y")
	b.sees("Saved: stop of A, ")
	b.press("1")
	b.sees("No unit runs.")
	b.press("8", "c")
	b.sees("Checklist of ", ", by Ro", "Step 1", "Step 12")
	for range 7 { // time, task, begun, by, steps 1 to 4
		b.press("down")
	}
	b.press("c")
	b.sees("Step 4")
	h, err := b.book.History(context.Background(), logbook.HistoryOptions{})
	if err != nil {
		t.Fatal(err)
	}
	d := h.Done[len(h.Done)-1]
	if d.Walk == nil || d.Walk.Count(record.TickDone) != 11 || d.Walk.Ticks[2].Note != "nothing runs but the freezer" || d.By != "Ro" {
		t.Errorf("%+v", d)
	}
	if e := h.Events[len(h.Events)-1]; e.Kind != record.Stop || len(e.Units) != 1 || e.Units[0] != "A" || e.By != "Ro" {
		t.Errorf("%+v", e)
	}
}

func TestATaskDoneChangesNowToo(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 40)
	b.press("a")
	before := b.app.View()
	b.press("8", "enter")
	b.typed("Tam")
	b.press("f2")
	b.sees("Saved: upkeep done: grease drive-end bearing, unit A", "1 due; 5 in time.")
	b.press("1")
	const said = "bearing, unit A" // of the task's name
	if after := b.app.View(); !strings.Contains(before, said) || strings.Contains(after, said) {
		t.Errorf("before\n%s\nafter\n%s", before, after)
	}
}

func TestHelpListsTheKeysOfAStep(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	b.press("8")
	for range 7 {
		b.press("down")
	}
	b.press("enter", "enter", "?")
	b.sees("Something is wrong here; what was found is asked", "Skip this step; why is asked")
	b.typed("skip")
	b.press("enter")
	b.sees("Why it is skipped")
}

// Running hours that reach further back than the first frame's history are read behind it, once, and Now, the Upkeep screen and
// the function over the whole book then say the same.
func TestHoursOfLongAgoAreReadBehindTheFirstFrame(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	ctx := context.Background()
	old := b.now.AddDate(-1, 0, 0)
	for _, r := range []record.Round{{Time: old, Running: &[]string{"A"}}, {Time: old.AddDate(0, 0, 100), Running: &[]string{}}} {
		if _, err := b.book.AddRound(ctx, r, ""); err != nil {
			t.Fatal(err)
		}
	}
	h, err := b.book.History(ctx, logbook.HistoryOptions{})
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range h.Done { // all greasing is taken back: the hours count from the first round
		if strings.HasPrefix(d.Task, "grease") {
			if _, err := b.book.Amend(ctx, d.ID, map[string]string{"task": "-"}, "a test", "", ""); err != nil {
				t.Fatal(err)
			}
		}
	}
	d := desk.Desk{Book: b.book, Now: func() time.Time { return b.now }, Location: b.now.Location()}
	first, second := d.Load(ctx, 1), d.Load(ctx, 2)
	if first.Err != nil || second.Err != nil || !first.Short || second.Short {
		t.Fatalf("first %v short %v, second %v short %v", first.Err, first.Short, second.Err, second.Short)
	}
	whole, err := b.book.History(ctx, logbook.HistoryOptions{All: true})
	if err != nil {
		t.Fatal(err)
	}
	want := upkeep.Report(whole)
	for i, task := range upkeep.Report(second.History).Tasks {
		if w := want.Tasks[i]; task.Task != w.Task || (w.RanHours != nil && *task.RanHours != *w.RanHours) {
			t.Errorf("%+v, the whole book says %+v", task, w)
		}
	}
	b.start(uitest.Look{}, 80, 24)
	if b.app.version != 2 {
		t.Errorf("the book was loaded %d times, want once more behind the first frame", b.app.version)
	}
	b.press("8")
	for _, task := range want.Tasks {
		if task.Unit == "A" {
			b.sees("grease drive-end bearing, unit A", fmt.Sprintf("%.0f h running", -*task.DueHours), "never done")
		}
	}
}
