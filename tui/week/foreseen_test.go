package weekview

import (
	"strings"
	"testing"

	"example.org/headpond/model/water"
	"example.org/headpond/model/week"
	"example.org/headpond/tui/ui/text"
	"example.org/headpond/tui/ui/uitest"
)

// A forecast of the dry spell says beside it how likely rain makes it longer, and one that spills says first that it does.
func TestAForecastSaysWhatRainWouldDo(t *testing.T) {
	for want, f := range map[string]week.Forecast{
		"9 to 14 days, unless rain fills it first (24 of 100 outcomes).": {Outcome: water.RunsOut, FilledFirst: num(0.24)},
		"running A: 9 to 14 days.":                                       {Outcome: water.RunsOut, FilledFirst: num(0.04)},
		"fills and spills first; without rain 9 to 14 days.":             {Outcome: water.Spills, FilledFirst: num(0.6)},
		"fills and spills.":                                              {Outcome: water.Spills, FilledFirst: num(0.95)},
		"running A: not known yet.":                                      {},
	} {
		f.Time, f.LevelM, f.Run, f.Hours = clock, -0.6, []string{"A"}, &water.Hours{P10: num(216), P50: num(264), P90: num(336)}
		if got := strings.ReplaceAll((page{common: uitest.Common(uitest.Look{}, 80, 24, clock)}).foreseen("Forecast", &f), text.NBSP, " "); !strings.HasSuffix(got, want) {
			t.Errorf("%q does not end in %q", got, want)
		}
	}
}
