package faults_test

import (
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/faults"
	"example.org/headpond/model/record"
)

// A trip of the last day comes before what the rounds before it say, whatever that is. That overload is the usual cause of a low
// frequency, and lost load that of a high one, is common practice (from memory).
func TestARecentTripIsToldFirst(t *testing.T) {
	c := simCase{p: samplePlants()[0], days: 7, efficiency: 1, losses: 1, noise: true, seed: 5}
	for _, x := range []struct {
		ago        time.Duration
		trip       record.Event
		want, hint string
	}{
		{6 * time.Minute, record.Event{Cause: "under-frequency", Note: "Kettle and saw together."}, "The plant tripped 6 min ago, under-frequency (Kettle and saw together). The usual cause is overload", ""},
		{20 * time.Hour, record.Event{Cause: "overspeed", Units: []string{"A"}}, "A tripped 20 h ago, overspeed. The usual cause is load that was lost", ""},
		{2 * time.Hour, record.Event{}, "The plant tripped 2 h ago. ", "usual cause"},
		{25 * time.Hour, record.Event{Cause: "under-frequency"}, "", "tripped"},
		{-time.Hour, record.Event{Cause: "under-frequency"}, "", "tripped"}, // a clock that ran ahead
	} {
		h := c.history(t)
		x.trip.Kind, x.trip.Time = record.Trip, h.At.Add(-x.ago)
		h.Events = []record.Event{x.trip}
		f := report(t, h)
		if !strings.HasPrefix(f.Says, x.want) || x.hint != "" && strings.Contains(f.Says, x.hint) {
			t.Errorf("%v: %q, expected %q", x.ago, f.Says, x.want)
		}
		if told := f.Trip != nil; told != (x.want != "") {
			t.Errorf("%v: the trip is %+v", x.ago, f.Trip)
		}
		if sound := "othing is wrong that these readings can show"; f.Verdict == faults.Sound && !strings.Contains(f.Says, sound) {
			t.Errorf("the verdict is gone: %q", f.Says)
		}
	}
}
