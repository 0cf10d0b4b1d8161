package week

import (
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestBounds(t *testing.T) {
	loc := halifax(t)
	for _, c := range []struct {
		span             Span
		at, from, before string
	}{
		{Week, "2026-05-20T14:00:00-03:00", "2026-05-13T14:00:00-03:00", "2026-05-06T14:00:00-03:00"},
		{Week, "2026-03-10T08:00:00-03:00", "2026-03-03T08:00:00-04:00", "2026-02-24T08:00:00-04:00"}, // the clocks go forward on the 8th
		{Week, "2026-11-02T00:00:00-04:00", "2026-10-26T00:00:00-03:00", "2026-10-19T00:00:00-03:00"}, // and back on 1 November
		{Month, "2026-05-20T14:00:00-03:00", "2026-04-20T14:00:00-03:00", "2026-03-20T14:00:00-03:00"},
		{Month, "2026-03-31T00:00:00-03:00", "2026-02-28T00:00:00-04:00", "2026-01-31T00:00:00-04:00"},
		{Month, "2024-03-30T00:00:00-03:00", "2024-02-29T00:00:00-04:00", "2024-01-30T00:00:00-04:00"},
		{Month, "2026-01-31T00:00:00-04:00", "2025-12-31T00:00:00-04:00", "2025-11-30T00:00:00-04:00"},
		{Year, "2026-05-20T14:00:00-03:00", "2025-05-20T14:00:00-03:00", "2024-05-20T14:00:00-03:00"},
		{Year, "2024-02-29T00:00:00-04:00", "2023-02-28T00:00:00-04:00", "2022-02-28T00:00:00-04:00"},
	} {
		at, err := time.Parse(time.RFC3339, c.at)
		if err != nil {
			t.Fatal(err)
		}
		from, before, err := Bounds(c.span, at, loc)
		if err != nil || from.Format(time.RFC3339) != c.from || before.Format(time.RFC3339) != c.before {
			t.Errorf("%s to %s: from %s, before %s, %v; want %s and %s", c.span, c.at, from.Format(time.RFC3339), before.Format(time.RFC3339), err, c.from, c.before)
		}
	}
	if _, _, err := Bounds("fortnight", time.Now(), loc); err == nil {
		t.Error("a fortnight is a span")
	}
}

// Days that a time is cut into follow on one another, begin and end at local midnights, and are 23 to 25 h long.
func TestCutDays(t *testing.T) {
	loc := halifax(t)
	rapid.Check(t, func(rt *rapid.T) {
		from := time.Unix(rapid.Int64Range(1_700_000_000, 1_800_000_000).Draw(rt, "from"), 0).In(loc)
		to := from.Add(time.Duration(rapid.IntRange(0, 60*24*20).Draw(rt, "minutes")) * time.Minute)
		at := from
		list := CutDays(from, to, loc)
		for i, s := range list {
			h := s.To.Sub(s.From).Hours()
			midnights := s.From.Format("15:04:05") == "00:00:00" && s.To.Format("15:04:05") == "00:00:00"
			switch {
			case !s.From.Equal(at), h <= 0, h > 25, i > 0 && i < len(list)-1 && !s.Whole, s.Whole != (midnights && h >= 23):
				rt.Fatalf("part %d of %v to %v: %v to %v, %g h, whole %v", i, from, to, s.From, s.To, h, s.Whole)
			}
			at = s.To
		}
		if !at.Equal(to) {
			rt.Fatalf("cut up to %v of %v", at, to)
		}
	})
}
