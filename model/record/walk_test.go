package record

import (
	"errors"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestTickIsReadAsItIsWritten(t *testing.T) {
	for _, c := range []struct {
		tick Tick
		text string
	}{
		{Tick{State: TickDone}, "done"},
		{Tick{State: TickDone, Note: "stiff"}, "done: stiff"},
		{Tick{State: TickSkipped, Note: "ice: on the ladder"}, "skipped: ice: on the ladder"},
		{Tick{State: TickNotOK, Note: "belt frayed"}, "not-ok: belt frayed"},
		{Tick{}, "open"},
		{Tick{Note: "ask Imke"}, "open: ask Imke"},
	} {
		if got := c.tick.Text(); got != c.text {
			t.Errorf("%+v is written %q, want %q", c.tick, got, c.text)
		}
		state, note, err := ParseTick(c.text)
		if err != nil || state != c.tick.State || note != c.tick.Note {
			t.Errorf("%q is read as %q %q %v", c.text, state, note, err)
		}
	}
}

func TestTickForgivesCaseAndBlanks(t *testing.T) {
	for text, want := range map[string]TickState{" Done ": TickDone, "SKIPPED :frozen": TickSkipped, "Not ok: loose": TickNotOK, "open": TickOpen} {
		if state, _, err := ParseTick(text); err != nil || state != want {
			t.Errorf("%q: %q %v", text, state, err)
		}
	}
}

func TestTickNeedsItsReason(t *testing.T) {
	for _, text := range []string{"", "yes", "skipped", "skipped:", "not-ok: ", "not ok", "done it"} {
		_, _, err := ParseTick(text)
		var field *FieldError
		if !errors.As(err, &field) || field.Key != ColStep || field.Expected == "" {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func TestWordsOfTicks(t *testing.T) {
	for state, want := range map[TickState]string{TickOpen: "not come to", TickDone: "done", TickSkipped: "skipped", TickNotOK: "not ok", "later": "not come to"} {
		if got := state.Word(); got != want {
			t.Errorf("%q reads %q, want %q", state, got, want)
		}
	}
}

func TestStepColumns(t *testing.T) {
	for i := range 12 {
		if got, ok := StepOf(StepColumn(i), 12); !ok || got != i {
			t.Errorf("step %d comes back as %d %v", i, got, ok)
		}
	}
	for _, column := range []string{"step", "step.", "step.0", "step.13", "step.-1", "step.01", "step.1.2", "note", "steps.1"} {
		if i, ok := StepOf(column, 12); ok {
			t.Errorf("%q is taken for step %d", column, i)
		}
	}
}

func TestSummaryCountsEveryStep(t *testing.T) {
	tick := func(states ...TickState) *Walk {
		w := &Walk{}
		for _, s := range states {
			w.Ticks = append(w.Ticks, Tick{Step: "x", State: s})
		}
		return w
	}
	for want, w := range map[string]*Walk{
		"1 step done":                      tick(TickDone),
		"3 steps done":                     tick(TickDone, TickDone, TickDone),
		"0 steps done":                     tick(),
		"1 of 2 steps done, 1 not come to": tick(TickDone, TickOpen),
		"1 of 4 steps done, 1 skipped, 1 not ok, 1 not come to": tick(TickDone, TickSkipped, TickNotOK, TickOpen),
		"0 of 1 step done, 1 skipped":                           tick(TickSkipped),
	} {
		if got := w.Summary(); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// Whatever the steps, each is counted once.
func TestEveryStepIsInOneState(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		states := rapid.SliceOf(rapid.SampledFrom([]TickState{TickOpen, TickDone, TickSkipped, TickNotOK})).Draw(t, "states")
		w := &Walk{Begun: time.Unix(0, 0)}
		for _, s := range states {
			w.Ticks = append(w.Ticks, Tick{State: s})
		}
		if n := w.Count(TickOpen) + w.Count(TickDone) + w.Count(TickSkipped) + w.Count(TickNotOK); n != len(states) {
			t.Fatalf("%d of %d", n, len(states))
		}
	})
}

func FuzzParseTick(f *testing.F) {
	for _, s := range []string{"done", "skipped: ice", "not-ok: a: b", "open", "", ":", "done:\x1b[31m"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		state, note, err := ParseTick(text)
		if err != nil {
			return
		}
		again, noteAgain, err := ParseTick(Tick{State: state, Note: note}.Text())
		if err != nil || again != state || noteAgain != note {
			t.Errorf("%q: %q %q, read again %q %q %v", text, state, note, again, noteAgain, err)
		}
	})
}
