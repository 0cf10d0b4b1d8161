package logview

import (
	"testing"
	"time"

	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui/uitest"
)

// walked puts a stopping list into the book: one step done, one not ok, one not come to.
func walked(b *bench) {
	at := b.now.Add(-30 * time.Minute)
	b.must(b.book.AddDone(b.t.Context(), record.Done{Time: at, Task: "Stopping", By: "Tam", Walk: &record.Walk{For: "stop", Begun: at.Add(-10 * time.Minute), Ticks: []record.Tick{
		{Step: "Tell the house that power is going.", State: record.TickDone, At: at.Add(-8 * time.Minute)},
		{Step: "Look at the belt.", State: record.TickNotOK, Note: "frayed", At: at},
		{Step: "Lock the valve."},
	}}}, ""))
	b.reload()
}

func TestAChecklistIsShownWithItsSteps(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 40)
	walked(b)
	b.see("checklist Stopping: 1 of 3 steps done, 1 not ok, 1 not co")
	b.press("home", "enter")
	b.see("Checklist of", ", by Tam", "Begun", "Step 1", "done", "(Tell the house that power is going.)", "Step 2", "not ok", ": frayed (Look at the belt.)", "Step 3", "not come to (Lock the valve.)",
		"1. Tell the house that power is going. Done.", "2. Look at the belt. Not ok: frayed.", "3. Lock the valve. Not come to.")
}

func TestAStepIsCorrected(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 40)
	walked(b)
	b.press("home", "enter")
	for range 6 { // time, task, begun, by, step 1, step 2
		b.press("down")
	}
	b.press("c")
	b.see("Step 3")
	b.focus(fieldValue)
	b.typed("skipped")
	b.see("words with it")
	b.typed(": nobody works on it")
	b.focus(fieldWhy)
	b.typed("forgot to tick")
	b.press("f2")
	var d record.Done
	for _, x := range b.history().Done {
		if x.Walk != nil {
			d = x
		}
	}
	if got := d.Text("step.3"); got != "skipped: nobody works on it" || len(d.Changes) != 1 {
		t.Errorf("step 3 is %q after %+v", got, d.Changes)
	}
}

// What was never done is taken back, and says so; what it said stays in sight.
func TestUpkeepIsTakenBack(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 40)
	b.press("k", "k", "k", "k", "home", "enter") // upkeep alone
	b.see("walk the penstock and look for leaks")
	b.press("down", "c")
	b.focus(fieldValue)
	b.typed("-")
	b.focus(fieldWhy)
	b.typed("it was the other pipe")
	b.press("f2")
	b.press("esc")
	b.see("upkeep taken back")
	for _, x := range b.history().Done {
		if x.Task != "" {
			t.Errorf("%+v", x)
		}
	}
}
