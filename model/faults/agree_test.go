package faults_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/clearing"
	"example.org/headpond/model/demo"
	"example.org/headpond/model/faults"
	"example.org/headpond/model/record"
)

// demoStory is the demo's log up to a number of days before its end.
func demoStory(tb testing.TB) func(daysBefore int) *record.History {
	tb.Helper()
	end := time.Date(2026, 8, 14, 18, 0, 0, 0, time.FixedZone("ADT", -3*3600))
	s, err := demo.History(1, end, end.Location())
	if err != nil {
		tb.Fatal(err)
	}
	return func(days int) *record.History {
		at := end.AddDate(0, 0, -days)
		h := &record.History{At: at, Plant: s.Plant}
		h.Rounds = slices.DeleteFunc(slices.Clone(s.Rounds), func(r record.Round) bool { return r.Time.After(at) })
		h.Events = slices.DeleteFunc(slices.Clone(s.Events), func(e record.Event) bool { return e.Time.After(at) })
		return h
	}
}

// The screen's loss and the causes are worked out by two packages from the same readings: on no day of the demo's four months
// may one say that the screen is blocked and the other that it is clean.
func TestCausesAndTheScreensLossAgree(t *testing.T) {
	story := demoStory(t)
	step := 3
	if testing.Short() {
		step = 10
	}
	blocked, clean := 0, 0
	for d := 110; d >= 0; d -= step {
		h := story(d)
		f, err := faults.Report(t.Context(), h, faults.Options{})
		if err != nil {
			continue // the day after a repair has no rounds yet
		}
		loss := assess.Of(h).Clearing().Now
		if loss == nil {
			continue
		}
		screen := cause(t, f, faults.ScreenBlocked)
		told := screen.Probability > 0.6 || slices.ContainsFunc(f.Beside, func(b faults.Beside) bool { return b.Fault == faults.ScreenBlocked })
		at := h.At.Format("2 Jan")
		if told {
			blocked++
			// The foot of the range is well above what is ordinary between two clearings.
			if loss.LossM.P90 < 0.05 || loss.Clear.P10 > 0.35 {
				t.Errorf("%s: the screen is blocked with %.2f, but its loss is %.3f to %.3f m", at, screen.Probability, loss.LossM.P10, loss.LossM.P90)
			}
			if open := *screen.Size.ScreenOpen; screen.Probability > 0.6 && (open < loss.Clear.P10/1.5 || open > loss.Clear.P90*1.5) {
				t.Errorf("%s: %.3f of it is clear by the causes, %.3f to %.3f by the loss", at, open, loss.Clear.P10, loss.Clear.P90)
			}
		}
		if none := cause(t, f, faults.None).Probability; none > 0.9 {
			clean++
			if loss.LostShare.P10 >= clearing.CostShare/2 {
				t.Errorf("%s: nothing is wrong with %.2f, but the screen costs %.3f of the power at least", at, none, loss.LostShare.P10)
			}
		}
	}
	if step == 3 && (blocked < 4 || clean < 20) {
		t.Errorf("%d days with a blocked screen and %d sound ones: the story shows little", blocked, clean)
	}
}

// A forgotten minus before the pond's level of 8 June makes no broken gauge of a sound one.
func TestAMinusThatWasForgottenIsNoFault(t *testing.T) {
	h := demoStory(t)(67)
	f := report(t, h)
	if top := f.Ranked[0]; top.Fault != faults.None || f.Verdict != faults.Sound {
		t.Errorf("%s comes first with %.2f", top.Fault, top.Probability)
	}
	if text := strings.Join(f.Cautions, "; "); !strings.Contains(text, "Pond level of 8 Jun") {
		t.Errorf("the cautions do not tell of it: %q", text)
	}
	// Turned digits in a week of the simulator, and a level that rises and stays, which is none.
	c := simCase{p: samplePlants()[0], days: 7, efficiency: 1, losses: 1, noise: true, seed: 8}
	week := c.history(t)
	for i := 7; i < len(week.Rounds); i++ {
		week.Rounds[i].Values["pond_level_m"] += 0.3
	}
	if text := strings.Join(report(t, week).Cautions, ";"); strings.Contains(text, "Pond level") {
		t.Errorf("a level that stays is called a slip: %q", text)
	}
}
