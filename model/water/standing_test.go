package water

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// standingAfter is a log looked at so long after its last level.
func standingAfter(t *testing.T, inflow, startM float64, days int, ages ...time.Duration) (out []*Facts) {
	t.Helper()
	for _, age := range ages {
		h := dryLog(t, twoUnits(), inflow, startM, days, "A")
		h.At = h.Rounds[len(h.Rounds)-1].Time.Add(age)
		out = append(out, report(t, h, Options{Members: 200, Ways: []Choice{{Run: []string{"A"}}}}))
	}
	return out
}

const oneDay = 24 * time.Hour

// What was read at the stop level is told as read for a day or so, then as probably, then as perhaps: never as read from a guess.
func TestAStandingAtTheStopIsReadOrReckoned(t *testing.T) {
	want := []Standing{ReadAtStop, ReadAtStop, ProbablyAtStop, PerhapsAtStop, PerhapsAtStop}
	cautions := []string{"The pond is at or below", "The pond is at or below", "is probably at or below the stop level, which is reckoned", "is perhaps at or below the stop level", "read the gauge"}
	for i, f := range standingAfter(t, 0.02, 0.15, 3, time.Hour, 36*time.Hour, 37*time.Hour, 4*oneDay, 40*oneDay) {
		if f.LastLevel.Value > f.StopLevelM {
			t.Fatalf("the last level read is %g, above the stop", f.LastLevel.Value)
		}
		if got := f.Ways[0].Standing; got != want[i] {
			t.Errorf("%v after it was read: %q, want %q", f.At.Sub(f.LastLevel.Time), got, want[i])
		}
		if i == 4 && !says(f, "No level was read in the last 14 days") || says(f, "Only 0 levels") {
			t.Errorf("a level of 40 days ago: %q", f.Cautions)
		}
		if !says(f, cautions[i]) {
			t.Errorf("%q is not said: %q", cautions[i], f.Cautions)
		}
	}
}

// A pond that was read above its stop level is never told as read at it, however old the level is, and once it is perhaps at it, more
// age alone does not take that back.
func TestAgeAloneDoesNotTurnTheReckoningAbout(t *testing.T) {
	for _, c := range []struct{ inflow, startM float64 }{{0.03, 0.7}, {0.06, 0.7}, {0.08, 0.6}} {
		var ages []time.Duration
		for d := 1; d <= 200; d += 1 + d/12 {
			ages = append(ages, time.Duration(d)*oneDay)
		}
		var told []string
		perhaps := false
		for i, f := range standingAfter(t, c.inflow, c.startM, 8, ages...) {
			at := f.Ways[0].Standing
			told = append(told, fmt.Sprintf("%d:%s", ages[i]/oneDay, at))
			if f.LastLevel.Value <= f.StopLevelM {
				t.Fatalf("the last level read is %g, at the stop", f.LastLevel.Value)
			}
			if at == ReadAtStop || perhaps && at != PerhapsAtStop || at == "" && f.Ways[0].Hours.P50 != nil && *f.Ways[0].Hours.P50 <= 0 {
				t.Errorf("inflow %g: %s", c.inflow, strings.Join(told, " "))
			}
			perhaps = perhaps || at == PerhapsAtStop
		}
		if !perhaps {
			t.Errorf("inflow %g: in 200 days it is never perhaps at its stop level: %s", c.inflow, strings.Join(told, " "))
		}
	}
}
