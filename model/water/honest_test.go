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
// their outcome but the few priors of nature, which are one set for all. Every line tells how many points reached the stop
// and how many were filled first; of those that reached it, the median error, what p10 to p90 hold (and below, above), the
// width and how many were told over 25 % too much, all unless filled first; and last, of all points, how often the hours over
// all outcomes hold the stop at last, through refills.
//
//	go test ./model/water -run NotAlike -v -backtest
//
// By itself it takes a third of one site's points. What is held, site by site, is the range that is told, hours: it is promised to be honest over
// many past dates. Over any outcome it may hold more, since where a tenth never runs out its far end is open. One stream's few drawdowns say too little, so they are only shown.
func TestStreamsThatAreNotAlike(t *testing.T) {
	var everything []forecastPoint
	for _, name := range slices.Sorted(maps.Keys(sites())) {
		if !*backtestAll && name != "as Sagehen's, half" {
			continue
		}
		s := sites()[name]
		var all []forecastPoint
		for i, c := range climates() {
			years, step := 12, 4
			if !*backtestAll {
				step = 12
			}
			got := liveOn(t, c, s, years, step, uint64(5+i))
			t.Logf("| %-20s | %-10s %s", name, c.name, scoreOf(got, unlessFilled).short(scoreOf(got, overAll)))
			all = append(all, got...)
		}
		told, over := scoreOf(all, unlessFilled), scoreOf(all, overAll)
		t.Logf("| %-20s | %-10s %s", name, "all", told.short(over))
		if told.coverage < 0.7 || told.coverage > 0.96 || over.honest < 0.7 {
			t.Errorf("%s: p10 to p90 hold %.0f %%, of all points over any outcome %.0f %%", name, 100*told.coverage, 100*over.honest)
		}
		everything = append(everything, all...)
	}
	sc := scoreOf(everything, unlessFilled)
	t.Logf("| %-20s | %-10s %s", "all", "all", sc.short(scoreOf(everything, overAll)))
	if sc.coverage < 0.7 || sc.coverage > 0.93 || sc.median > 0.2 || sc.optimistic > 0.2 {
		t.Errorf("over all streams: %v", sc)
	}
	logFills(t, everything)
}
