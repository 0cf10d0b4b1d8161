package water

import (
	"maps"
	"slices"
	"testing"
)

// liveOn runs a site on a stream for some years and forecasts from every so many of its points.
func liveOn(t *testing.T, c climate, s site, years, step int, seed uint64) []forecastPoint {
	t.Helper()
	flow, rain := c.flows(years*365, seed)
	life := s.live(flow, rain, seed+1)
	var got []forecastPoint
	for i := 0; i < len(life.truths); i += step {
		if life.truths[i].at.Before(life.rounds[min(5, len(life.rounds)-1)].Time) {
			continue // nothing is known yet
		}
		got = append(got, forecast(t, life.rounds, life.truths[i], s.plant(), s.draw))
	}
	return got
}

// TestStreamsThatAreNotAlike asks on made-up streams, ponds and gauges whether the ranges are honest. Nothing was chosen by
// their outcome but the few priors of nature, which are one set for all.
//
//	go test ./model/water -run NotAlike -v -backtest
//
// By itself it takes two of them and wide bounds: few drawdowns, and the first years know little.
func TestStreamsThatAreNotAlike(t *testing.T) {
	var everything []forecastPoint
	for _, name := range slices.Sorted(maps.Keys(sites())) {
		s := sites()[name]
		var all []forecastPoint
		for i, c := range climates() {
			if !*backtestAll && (c.name != "monsoon" && c.name != "snowy" || name != "as Sagehen's, half") {
				continue
			}
			years, step := 12, 4
			if !*backtestAll {
				years, step = 6, 3
			}
			got := liveOn(t, c, s, years, step, uint64(5+i))
			sc := scoreOf(got, unlessFilled)
			t.Logf("%-20s %-10s %s", name, c.name, sc.short(scoreOf(got, overAll)))
			if sc.n >= 15 && (sc.coverage < 0.6 || sc.optimistic > 0.35 || sc.median > 0.4) {
				t.Errorf("%s, %s: %v", name, c.name, sc)
			}
			all = append(all, got...)
		}
		if len(all) == 0 {
			continue
		}
		sc := scoreOf(all, unlessFilled)
		t.Logf("%-20s %-10s %s", name, "all", sc.short(scoreOf(all, overAll)))
		if sc.coverage < 0.7 {
			t.Errorf("%s: p10 to p90 hold %.0f %% over all streams", name, 100*sc.coverage)
		}
		everything = append(everything, all...)
	}
	t.Logf("%-20s %-10s %s", "all", "all", scoreOf(everything, unlessFilled).short(scoreOf(everything, overAll)))
	logFills(t, everything)
}
