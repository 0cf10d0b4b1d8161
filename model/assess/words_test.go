package assess

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/headpond/model/water"
)

func TestSpanRangeReadsAsPeopleSayIt(t *testing.T) {
	inf := math.Inf(1)
	cases := []struct {
		name   string
		lo, hi *float64
		want   string
	}{
		{"days", new(216.0), new(336.0), "9 to 14 days"},
		{"hours", new(20.0), new(31.0), "20 to 31 h"},
		{"minutes", new(0.2), new(0.5), "12 to 30 min"},
		{"hours to days", new(18.0), new(72.0), "18 h to 3 days"},
		{"hours with minutes stay whole", new(2.5), new(20.0), "2 h 30 min to 20 h"},
		{"both alike", new(96.0), new(98.0), "about 4 days"},
		{"no far end", new(216.0), nil, "9 days or more"},
		{"an infinite far end", new(216.0), &inf, "9 days or more"},
		{"no near end", nil, nil, ""},
	}
	for _, c := range cases {
		if got := SpanRange(c.lo, c.hi); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

func TestHowLongTheWaterLastsInWords(t *testing.T) {
	hours := func(p10, p50, p90 float64) *water.Hours { return &water.Hours{P10: &p10, P50: &p50, P90: &p90} }
	a := []string{"A"}
	cases := []struct {
		name        string
		way         water.Way
		span, lasts string
	}{
		{"runs out", water.Way{Outcome: water.RunsOut, Hours: hours(216, 264, 336)}, "9 to 14 days", "9 to 14 days to the stop level, most likely about 11 days"},
		{"runs out, far end beyond the forecast", water.Way{Outcome: water.RunsOut, Hours: &water.Hours{P10: new(216.0), P50: new(400.0)}}, "9 days or more", "9 days or more to the stop level, most likely about 17 days"},
		{"beyond a month at the far end", water.Way{Outcome: water.RunsOut, Hours: hours(216, 264, 24*110)}, "9 to over 30 days", "9 to over 30 days to the stop level, most likely about 11 days"},
		{"hours at the near end", water.Way{Outcome: water.RunsOut, Hours: hours(30, 264, 24*110)}, "30 h to over 30 days", "30 h to over 30 days to the stop level, most likely about 11 days"},
		{"over a month", water.Way{Outcome: water.RunsOut, Hours: hours(24*40, 24*60, 24*99)}, "over 30 days", "over 30 days to the stop level"},
		{"at the stop level", water.Way{Outcome: water.RunsOut, Hours: hours(0, 0, 0)}, "at the stop level", "at or below the stop level now"},
		{"lasts", water.Way{Outcome: water.Lasts, Hours: &water.Hours{}}, "lasts", "it lasts: the stop level is not reached within the forecast"},
		{"lasts, most likely", water.Way{Outcome: water.Lasts, HoursAnyOutcome: &water.Hours{P10: new(240.0)}, RunsOutShare: 0.31}, "lasts", "it most likely lasts; 31 of 100 outcomes reach the stop level, the first ten in 10 days"},
		{"spills", water.Way{Outcome: water.Spills}, "fills and spills", "it fills and spills over the crest"},
		{"rain may fill it first", water.Way{Run: a, Outcome: water.RunsOut, Hours: hours(216, 264, 336), HoursAnyOutcome: hours(240, 300, 2000), FilledFirst: new(0.24)},
			"9 to 14 days", "9 to 14 days to the stop level, most likely about 11 days, unless rain fills the pond first, as in 24 of 100 outcomes"},
		{"few fill it first", water.Way{Run: a, Outcome: water.RunsOut, Hours: hours(216, 264, 336), FilledFirst: new(0.09)}, "9 to 14 days", "9 to 14 days to the stop level, most likely about 11 days"},
		{"most fill it first and run out at last", water.Way{Run: a, Outcome: water.RunsOut, Hours: hours(216, 600, 2000), FilledFirst: new(0.85)},
			"9 to over 30 days", "9 to over 30 days to the stop level, most likely about 25 days; rain most likely fills the pond before, as in 85 of 100 outcomes"},
		{"the others never run out", water.Way{Run: a, Outcome: water.RunsOut, Hours: &water.Hours{}, HoursAnyOutcome: hours(900, 1000, 2000), FilledFirst: new(0.7)},
			"over 30 days", "over 30 days to the stop level, unless rain fills the pond first, as in 70 of 100 outcomes"},
		{"spills, but without rain it runs out", water.Way{Run: a, Outcome: water.Spills, Hours: hours(216, 264, 336), FilledFirst: new(0.62)},
			"fills and spills first; without rain 9 to 14 days", "it fills and spills first, as in 62 of 100 outcomes; without rain 9 to 14 days to the stop level"},
		{"spills, and most without more rain too", water.Way{Run: a, Outcome: water.Spills, Hours: &water.Hours{P10: new(200.0)}, FilledFirst: new(0.3)}, "fills and spills", "it fills and spills over the crest"},
		{"spills most surely", water.Way{Run: a, Outcome: water.Spills, Hours: hours(216, 264, 336), FilledFirst: new(0.8)}, "fills and spills", "it fills and spills over the crest"},
		{"lasts, but without rain it runs out", water.Way{Run: a, Outcome: water.Lasts, Hours: hours(216, 264, 336), HoursAnyOutcome: &water.Hours{P10: new(240.0)}, RunsOutShare: 0.48, FilledFirst: new(0.4)},
			"lasts; without rain 9 to 14 days", "it most likely lasts; 48 of 100 outcomes reach the stop level, the first ten in 10 days; without rain 9 to 14 days"},
		{"nothing runs", water.Way{Run: []string{}, Outcome: water.Spills, Hours: hours(216, 264, 336), FilledFirst: new(0.62)}, "fills and spills", "it fills and spills over the crest"},
		{"too thin a log", water.Way{}, "", ""},
		{"runs out without hours", water.Way{Outcome: water.RunsOut}, "", ""},
	}
	for _, c := range cases {
		if got := WaterSpan(c.way); got != c.span {
			t.Errorf("%s: span %q, want %q", c.name, got, c.span)
		}
		if got := WaterLasts(c.way); got != c.lasts {
			t.Errorf("%s: lasts %q, want %q", c.name, got, c.lasts)
		}
	}
}

// A range never names a unit twice where once is enough, and its ends are those of Span.
func TestSpanRangeHoldsBothEnds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lo := rapid.Float64Range(0, 1e4).Draw(t, "lo")
		hi := lo + rapid.Float64Range(0, 1e4).Draw(t, "more")
		got := SpanRange(&lo, &hi)
		if SpanOf(lo) == SpanOf(hi) {
			if got != "about "+SpanOf(lo) {
				t.Fatalf("%q for both ends %q", got, SpanOf(lo))
			}
			return
		}
		first := strings.Fields(SpanOf(lo))[0]
		if !strings.HasPrefix(got, first) || !strings.HasSuffix(got, SpanOf(hi)) || strings.Count(got, "days") > 1 {
			t.Fatalf("%q for %q and %q", got, SpanOf(lo), SpanOf(hi))
		}
	})
}

func TestEverySourceOfAPowerHasItsWords(t *testing.T) {
	for _, f := range []From{FromMeters, FromLoadDump, FromLoadShare, FromModel} {
		if w := f.Words(); !strings.HasPrefix(w, "the ") && !strings.HasPrefix(w, "load") {
			t.Errorf("%s: %q", f, w)
		}
	}
}
