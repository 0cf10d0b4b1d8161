package now

import (
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/water"
	"example.org/headpond/tui/ui/uitest"
)

// Readings of long ago are said to be old, not missing, and what is worked out from them has their age.
func TestReadingsOfLongAgoAreToldAsOld(t *testing.T) {
	h := round(house(t), "A")
	h.Rounds[0].Time = clock.AddDate(0, 0, -47)
	for _, w := range []int{80, 130} {
		page := command(h, w)
		see(t, page, "The last are 47 days old, too old to tell of now; headpond", "Load by readings 47 days old:", "Ballast by readings 47 days old: takes")
		hides(t, page, "None yet")
		screen := given(t, w, 60, loaded(h)).View()
		see(t, screen, "The last are 47 days old, too old to tell of now; 3 shows them.")
	}
	h.Rounds[0].Time = clock.Add(-20 * time.Hour)
	hides(t, command(h, 80), "readings 20 h old")
}

// A level of long ago stands with its age, and what is reckoned from it as that.
func TestAPondOfLongAgoIsToldAsReckoned(t *testing.T) {
	h := round(house(t), "A")
	c := uitest.Common(uitest.Look{}, 80, 24, clock)
	f := &water.Facts{At: clock, LevelM: -0.68, StopLevelM: -0.85, LastLevel: &water.Reading{Time: clock.AddDate(0, 0, -16), Value: -0.37},
		Ways: []water.Way{{Run: []string{"A"}, Outcome: water.RunsOut, Standing: water.PerhapsAtStop, Hours: &water.Hours{P10: new(0.0), P50: new(0.0)}}}}
	page := Text(assess.NowFacts(h).WithWater(f), c, nil, 80)
	see(t, page, "pond -0.68 m as reckoned (read -0.37 m, 16 days ago); by now perhaps at the stop level", "NEAR ! By now the pond is perhaps at its stop level of -0.85 m")
	hides(t, page, "level now", "OUT !!")
}

// A screen names keys, a command line names commands.
func TestKeysStandOnScreensAndCommandsOnTheCommandLine(t *testing.T) {
	h := round(house(t), "A")
	h.Rounds = nil
	see(t, given(t, 80, 30, loaded(h)).View(), "No round has been written yet: press 2 to walk one")
	page := command(h, 80)
	see(t, page, "No round has been written yet: headpond record writes one")
	hides(t, page, "press")
	h.Ahead = clock.AddDate(2, 0, 0)
	for _, page := range []string{command(h, 80), given(t, 80, 30, loaded(h)).View()} {
		see(t, page, "No round is dated up to now.", "the first in the book is of")
		hides(t, page, "press 2", "been written yet")
	}
	h = round(house(t), "A")
	h.Rounds[0].Values["volts"] = 2410
	see(t, given(t, 80, 30, loaded(h)).View(), "left out; an amendment corrects it (3, then c)")
	page = command(h, 80)
	see(t, page, "left out; an amendment corrects it (headpond amend)")
	hides(t, page, "then c")
}

// The line of a draft is whole in the narrowest usual window: its key is what it is read for.
func TestTheLineOfADraftIsNotCut(t *testing.T) {
	h := round(house(t), "A")
	view := given(t, 80, 30, loaded(h, "upkeep: grease drive-end bearing, unit A")).View()
	see(t, view, "press 8 to go on with it.")
	if err := uitest.Fits(view, 80, 30); err != nil {
		t.Error(err)
	}
	if strings.Contains(view, "…") {
		t.Errorf("something is cut:\n%s", view)
	}
}
