package logbook_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.org/headpond/logbook"
	"example.org/headpond/model/record"
)

// stopWalk is a stop of unit A as it was walked: one step skipped, one not ok, one not come to.
func stopWalk() record.Done {
	at := func(min int) time.Time { return noon.Add(time.Duration(min) * time.Minute) }
	return record.Done{Time: at(12), Task: "Stopping", By: "Ro", Note: "belt tomorrow", Walk: &record.Walk{
		For: "stop", Units: []string{"A"}, Begun: at(0), Ticks: []record.Tick{
			{Step: "Tell the house", State: record.TickDone, At: at(1)},
			{Step: "Look at the belt", State: record.TickNotOK, Note: "frayed", At: at(4)},
			{Step: "Read the screen's stick", State: record.TickSkipped, Note: "ice on the ladder", At: at(6)},
			{Step: "Lock the valve"},
		}}}
}

func TestWalkIsKeptWhole(t *testing.T) {
	b := newBook(t)
	b.clock.advance(time.Hour)
	saved := must(b.AddDone(t.Context(), stopWalk(), "checklist"))(t)
	h := must(b.History(t.Context(), logbook.HistoryOptions{All: true}))(t)
	if len(h.Done) != 1 {
		t.Fatalf("%d entries", len(h.Done))
	}
	if diff := cmp.Diff(stopWalk().Walk, h.Done[0].Walk); diff != "" || h.Done[0].Task != "Stopping" || h.Done[0].By != "Ro" {
		t.Error(h.Done[0].Task, h.Done[0].By, diff)
	}
	e := must(b.Entry(t.Context(), saved.Entry.ID))(t)
	if e.Kind != logbook.KindDone || e.Done == nil || len(e.Unknown) > 0 {
		t.Fatalf("%+v", e)
	}
	if diff := cmp.Diff(stopWalk().Walk, e.Done.Walk); diff != "" {
		t.Error(diff)
	}
}

// The draft of a walk goes in the transaction that keeps the walk.
func TestWalkTakesItsDraftAway(t *testing.T) {
	b := newBook(t)
	if err := b.SaveDraft(t.Context(), "checklist: Stopping", []byte("{}")); err != nil {
		t.Fatal(err)
	}
	must(b.AddDone(t.Context(), stopWalk(), "checklist: Stopping"))(t)
	if _, ok, err := b.Draft(t.Context(), "checklist: Stopping"); ok || err != nil {
		t.Errorf("the draft is there still: %v", err)
	}
}

func TestWalkRefusesWhatItCannotKeep(t *testing.T) {
	b := newBook(t)
	for name, spoil := range map[string]func(*record.Done){
		"a step without words": func(d *record.Done) { d.Walk.Ticks[1].Step = " " },
		"begun before 1970":    func(d *record.Done) { d.Walk.Begun = time.Date(1950, 1, 1, 0, 0, 0, 0, time.UTC) },
		"ticked before 1970":   func(d *record.Done) { d.Walk.Ticks[0].At = time.Date(1950, 1, 1, 0, 0, 0, 0, time.UTC) },
	} {
		d := stopWalk()
		spoil(&d)
		if _, err := b.AddDone(t.Context(), d, ""); !errors.Is(err, logbook.ErrInvalid) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if n := must(b.Mark(t.Context()))(t); n != 0 {
		t.Errorf("%d entries were written", n)
	}
}

func TestStepsAreCorrectedLikeColumns(t *testing.T) {
	b := newBook(t)
	b.clock.advance(time.Hour)
	id := must(b.AddDone(t.Context(), stopWalk(), ""))(t).Entry.ID
	changes := map[string]string{"step.2": "done", "step.4": "done: padlock 3", "step.3": "-", "task": "Stopping A"}
	got := must(b.Amend(t.Context(), id, changes, "written on the wrong line", "Imke", ""))(t).Entry
	if len(got) != 4 {
		t.Fatalf("%+v", got)
	}
	d := must(b.History(t.Context(), logbook.HistoryOptions{All: true}))(t).Done[0]
	var texts []string
	for _, k := range d.Walk.Ticks {
		texts = append(texts, k.Text())
	}
	if want := "done|done|open|done: padlock 3"; strings.Join(texts, "|") != want || d.Task != "Stopping A" {
		t.Errorf("%q of %q, want %q", texts, d.Task, want)
	}
	if !d.Walk.Ticks[1].At.Equal(noon.Add(4 * time.Minute)) {
		t.Errorf("the time of a corrected step is %s", d.Walk.Ticks[1].At)
	}
	for _, c := range d.Changes {
		if c.Key == "step.2" && c.Old != "not-ok: frayed" {
			t.Errorf("the old value is %q", c.Old)
		}
	}
	if e := must(b.Entry(t.Context(), id))(t); e.Done.Walk.Ticks[1].State != record.TickNotOK {
		t.Error("the entry as written was altered by its correction")
	}
	for key, text := range map[string]string{"step.5": "done", "step.0": "done", "step.2": "skipped", "step.1": "perhaps"} {
		if _, err := b.Amend(t.Context(), id, map[string]string{key: text}, "why not", "", ""); !errors.Is(err, logbook.ErrInvalid) {
			t.Errorf("%s = %q: %v", key, text, err)
		}
	}
}

// What was written down as done by mistake is taken back; it stays in the log and counts for no task.
func TestUpkeepDoneIsTakenBack(t *testing.T) {
	b := newBook(t)
	must(b.AddDone(t.Context(), record.Done{Time: noon.AddDate(0, 0, -300), Task: "grease"}, ""))(t)
	wrong := must(b.AddDone(t.Context(), record.Done{Time: noon.AddDate(0, 0, -200), Task: "grease"}, ""))(t).Entry.ID
	must(b.Amend(t.Context(), wrong, map[string]string{"task": "-"}, "it was the other bearing", "Ro", ""))(t)
	h := must(b.History(t.Context(), logbook.HistoryOptions{}))(t)
	var last time.Time
	for _, d := range h.Done {
		if d.Task == "grease" {
			last = d.Time
		}
	}
	if !last.Equal(noon.AddDate(0, 0, -300)) {
		t.Errorf("the last greasing is %s in %+v", last, h.Done)
	}
}

func TestWalksMergeEitherWay(t *testing.T) {
	clock := &testClock{noon.Add(time.Hour)}
	a, b := newBookOf(t, "alder", clock), newBookOf(t, "birch", clock)
	id := must(a.AddDone(t.Context(), stopWalk(), ""))(t).Entry.ID
	must(a.Amend(t.Context(), id, map[string]string{"step.4": "done"}, "forgotten", "Ro", ""))(t)
	second := stopWalk()
	second.Task, second.Time = "Starting", second.Time.Add(time.Hour)
	must(b.AddDone(t.Context(), second, ""))(t)
	for _, pair := range [][2]*testBook{{a, b}, {b, a}, {a, b}} {
		if _, _, err := pair[0].Merge(t.Context(), pair[1].Path()); err != nil {
			t.Fatal(err)
		}
	}
	all := logbook.HistoryOptions{All: true, At: noon.AddDate(0, 0, 1)}
	x, y := must(a.History(t.Context(), all))(t), must(b.History(t.Context(), all))(t)
	if diff := cmp.Diff(x.Done, y.Done); diff != "" || len(x.Done) != 2 || x.Done[0].Walk.Ticks[3].State != record.TickDone {
		t.Errorf("%d entries; %s", len(x.Done), diff)
	}
}
