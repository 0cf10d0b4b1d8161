package record

import (
	"errors"
	"slices"
	"testing"
	"time"
)

func TestDoneColumns(t *testing.T) {
	at := time.Date(2026, 2, 3, 7, 30, 0, 0, time.FixedZone("", -4*3600))
	d := Done{Time: at, Task: "Stopping", By: "Ro", Note: "quiet", Walk: &Walk{Ticks: []Tick{{Step: "a", State: TickDone}, {Step: "b", State: TickSkipped, Note: "ice"}}}}
	for key, want := range map[string]string{"time": "2026-02-03T07:30:00-04:00", "task": "Stopping", "by": "Ro", "note": "quiet", "step.1": "done", "step.2": "skipped: ice", "step.3": "", "volts": ""} {
		if got := d.Text(key); got != want {
			t.Errorf("%s is %q, want %q", key, got, want)
		}
	}
	if got, want := d.Columns(), []string{"time", "task", "by", "note", "step.1", "step.2"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	d.Walk = nil
	if got, want := d.Columns(), []string{"time", "task", "by", "note"}; !slices.Equal(got, want) || d.Text("step.1") != "" {
		t.Errorf("%q, want %q", got, want)
	}
}

func TestCorrectionsOfDoneAreBroughtIntoTheirText(t *testing.T) {
	d := Done{Task: "Stopping", Walk: &Walk{Ticks: []Tick{{Step: "a", State: TickDone}}}}
	for _, c := range []struct{ key, text, want string }{
		{"step.1", " Not OK :  loose ", "not-ok: loose"}, {"step.1", "-", "-"}, {"step.1", "DONE", "done"},
		{"task", "Starting", "Starting"}, {"note", "x", "x"}, {"by", "-", "-"},
	} {
		if got, err := d.Canonical(c.key, c.text); err != nil || got != c.want {
			t.Errorf("%s = %q becomes %q %v, want %q", c.key, c.text, got, err, c.want)
		}
	}
	for _, c := range [][2]string{{"step.1", "perhaps"}, {"step.1", "skipped"}, {"step.2", "done"}, {"volts", "240"}} {
		_, err := d.Canonical(c[0], c[1])
		var field *FieldError
		if !errors.As(err, &field) || field.Expected == "" {
			t.Errorf("%s = %q: %v", c[0], c[1], err)
		}
	}
}
