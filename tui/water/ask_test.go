package waterview

import (
	"math"
	"strconv"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/quantity"
)

func TestDatesAreReadAsPeopleWriteThem(t *testing.T) {
	end := func(y int, m time.Month, d int) time.Time { return time.Date(y, m, d+1, 0, 0, 0, 0, halifax) }
	cases := []struct {
		typed string
		want  time.Time // zero: refused
	}{
		{"2026-08-28", end(2026, 8, 28)},
		{"28 Aug", end(2026, 8, 28)},
		{"28 august", end(2026, 8, 28)},
		{"3 Jan", end(2027, 1, 3)},
		{"3 Aug", end(2027, 8, 3)}, // this year's is over
		{"14 Aug", end(2026, 8, 14)},
		{"28 Aug 2026", end(2026, 8, 28)},
		{"14", end(2026, 8, 28)},
		{"14 days", end(2026, 8, 28)},
		{"2 weeks", end(2026, 8, 28)},
		{"0", end(2026, 8, 14)},
		{"+36h", clock.Add(36 * time.Hour)},
		{"2026-08-20 18:00", time.Date(2026, 8, 20, 18, 0, 0, 0, halifax)},
		{"2026-08-13", time.Time{}},
		{"yesterday", time.Time{}},
		{"28 Aug 2027", time.Time{}}, // beyond the forecast
		{"31 Feb", time.Time{}},
		{"28 Xyz", time.Time{}},
		{"14 moons", time.Time{}},
		{"-3", time.Time{}},
		{"soon", time.Time{}},
		{"99999999999999999999", time.Time{}},
	}
	for _, c := range cases {
		got, err := parseDate(c.typed, clock, halifax)
		if (err != nil) != c.want.IsZero() || err == nil && !got.Equal(c.want) {
			t.Errorf("%q is %s (%v), want %s", c.typed, got, err, c.want)
		}
	}
}

// A number of days is the end of the day so many midnights away, also where the clocks change.
func TestSoManyDaysEndAtAMidnight(t *testing.T) {
	loc, err := time.LoadLocation("America/Halifax")
	if err != nil {
		t.Skip("no time zones here")
	}
	rapid.Check(t, func(t *rapid.T) {
		now := time.Unix(rapid.Int64Range(1.7e9, 1.9e9).Draw(t, "now"), 0).In(loc)
		n := rapid.IntRange(0, 360).Draw(t, "days")
		got, err := parseDate(strconv.Itoa(n), now, loc)
		if err != nil {
			t.Fatal(err)
		}
		if h, m, s := got.In(loc).Clock(); h != 0 || m != 0 || s != 0 {
			t.Fatalf("%d days from %s end at %s", n, now, got)
		}
		whole := got.Sub(now).Hours() / 24
		if whole < float64(n)-0.05 || whole > float64(n)+1.05 {
			t.Fatalf("%d days from %s are %.2f", n, now, whole)
		}
	})
}

func TestFlowsAndRainAreReadWithTheirUnits(t *testing.T) {
	cases := []struct {
		read  func(string, quantity.System) (float64, error)
		typed string
		units quantity.System
		want  float64 // NaN: refused
	}{
		{parseFlow, "3", quantity.Metric, 3},
		{parseFlow, "3,5 L/s", quantity.Metric, 3.5},
		{parseFlow, "100 gpm", quantity.Metric, 6.30902}, // NIST SP 811: 1 gpm = 6.309020 E-02 L/s
		{parseFlow, "100", quantity.US, 6.30902},
		{parseFlow, "0", quantity.Metric, 0},
		{parseFlow, "-1", quantity.Metric, math.NaN()},
		{parseFlow, "9999", quantity.Metric, math.NaN()},
		{parseFlow, "a lot", quantity.Metric, math.NaN()},
		{parseRain, "20 mm", quantity.US, 20},
		{parseRain, "1", quantity.US, 25.4}, // an inch
	}
	for _, c := range cases {
		got, err := c.read(c.typed, c.units)
		if math.IsNaN(c.want) != (err != nil) || err == nil && math.Abs(got-c.want) > 1e-4 {
			t.Errorf("%q (%s) is %g (%v), want %g", c.typed, c.units, got, err, c.want)
		}
	}
}

func TestEstimatesHaveTwoDigits(t *testing.T) {
	for v, want := range map[float64]string{0: "0", 964: "960", 4215: "4200", 129.6: "130", 995: "1000", 12.34: "12", 5.44: "5.4", 0.123: "0.12", 96: "96", math.NaN(): "0"} {
		if got := about(v); got != want {
			t.Errorf("%g is %q, want %q", v, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(1, 1e7).Draw(t, "v")
		shown, err := strconv.ParseFloat(about(v), 64)
		if err != nil || math.Abs(shown-v) > 0.0501*v {
			t.Fatalf("%g is shown as %q", v, about(v))
		}
	})
}

func FuzzParseDate(f *testing.F) {
	for _, s := range []string{"28 Aug", "14", "2026-08-28", "+14d", "3 weeks", "", "1 ", "é", "9 Ma"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		at, err := parseDate(s, clock, halifax)
		if err == nil && (!at.After(clock) || at.Sub(clock) > horizon) {
			t.Fatalf("%q gives %s", s, at)
		}
	})
}
