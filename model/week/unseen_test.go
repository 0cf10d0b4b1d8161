package week

import (
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/record"
)

// A week in which nobody walked a round is not told to be well.
func TestAWeekThatNobodyLookedAtIsNotWell(t *testing.T) {
	h := story(t, 1)
	p := h.Plant
	in, err := From(&record.History{At: h.At.AddDate(-1, 0, 0), Plant: p, Complete: true}, Week, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	r, err := Report(t.Context(), in)
	if err != nil {
		t.Fatal(err)
	}
	if r.Well || !strings.Contains(r.Verdict, "Nothing is known of this week: no round was written") {
		t.Errorf("well %v: %s", r.Well, r.Verdict)
	}
}
