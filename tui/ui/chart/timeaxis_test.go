package chart

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// labels joins the labels of a time axis.
func labels(from, to time.Time, w int) string {
	var all []string
	for _, k := range timeTicks(from, to, w) {
		all = append(all, k.label)
	}
	return strings.Join(all, ", ")
}

func TestTimeAxisCountsAsPeopleDo(t *testing.T) {
	loc, err := time.LoadLocation("America/Halifax")
	if err != nil {
		t.Skipf("this machine has no time zones: %v", err)
	}
	date := func(y int, m time.Month, d, h, min int) time.Time { return time.Date(y, m, d, h, min, 0, 0, loc) }
	cases := []struct {
		name     string
		from, to time.Time
		w        int
		want     string
	}{
		{"half an hour", date(2026, 8, 14, 6, 3), date(2026, 8, 14, 6, 33), 60, "14 Aug 06:05, 06:10, 06:15, 06:20, 06:25, 06:30"},
		{"a morning", date(2026, 8, 14, 6, 3), date(2026, 8, 14, 12, 33), 60, "14 Aug 07:00, 08:00, 09:00, 10:00, 11:00, 12:00"},
		{"a day and a half", date(2026, 8, 14, 6, 3), date(2026, 8, 15, 18, 0), 60, "12:00, 18:00, 15 Aug, 06:00, 12:00, 18:00"},
		{"a week", date(2026, 8, 14, 6, 3), date(2026, 8, 21, 6, 3), 60, "15 Aug, 16 Aug, 17 Aug, 18 Aug, 19 Aug, 20 Aug, 21 Aug"},
		{"two months by Mondays", date(2026, 8, 14, 6, 3), date(2026, 10, 14, 6, 3), 80, "17 Aug, 24 Aug, 31 Aug, 7 Sep, 14 Sep, 21 Sep, 28 Sep, 5 Oct, 12 Oct"},
		{"a year", date(2025, 9, 14, 0, 0), date(2026, 9, 14, 0, 0), 80, "Oct, Nov, Dec, 2026, Feb, Mar, Apr, May, Jun, Jul, Aug, Sep"},
		{"ten years", date(2016, 9, 14, 0, 0), date(2026, 9, 14, 0, 0), 70, "2017, 2018, 2019, 2020, 2021, 2022, 2023, 2024, 2025, 2026"},
		{"a century", date(1926, 1, 1, 0, 0), date(2026, 1, 1, 0, 0), 40, "1940, 1960, 1980, 2000, 2020"},
		{"clocks forward: 02:00 does not exist", date(2026, 3, 8, 0, 30), date(2026, 3, 8, 5, 30), 60, "8 Mar 01:00, 03:00, 04:00, 05:00"},
		{"clocks back: 01:00 stands once", date(2026, 11, 1, 0, 30), date(2026, 11, 1, 4, 30), 60, "1 Nov 01:00, 02:00, 03:00, 04:00"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if got := labels(c.from, c.to, c.w); got != c.want {
				t.Errorf("labels %q, want %q", got, c.want)
			}
		})
	}
}

func TestTimeMarksAreFewInOrderAndWithin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := time.Unix(rapid.Int64Range(-6e10, 2e11).Draw(t, "from"), 0).UTC()
		to := from.Add(time.Duration(math.Exp(rapid.Float64Range(0, 43).Draw(t, "log span"))))
		w := rapid.IntRange(1, 200).Draw(t, "w")
		if !to.After(from) {
			t.Skip("no span")
		}
		ticks := timeTicks(from, to, w)
		if len(ticks) > w/4+2 {
			t.Fatalf("%d marks in %d cells", len(ticks), w)
		}
		if !slices.IsSortedFunc(ticks, func(a, b tick) int {
			if a.at < b.at {
				return -1
			}
			return 1
		}) {
			t.Fatalf("marks out of order: %+v", ticks)
		}
		for _, k := range ticks {
			if k.at < 0 || k.at > 1 || k.label == "" {
				t.Fatalf("mark %+v", k)
			}
		}
	})
}

func TestValueMarksAreRound(t *testing.T) {
	cases := []struct {
		name   string
		lo, hi float64
		most   int
		want   string
	}{
		{"volts", 227, 261, 8, "230, 235, 240, 245, 250, 255, 260"},
		{"level", -1.09, 0.15, 8, "-1.0, -0.8, -0.6, -0.4, -0.2, 0.0"},
		{"hertz", 59.87, 60.13, 6, "59.90, 59.95, 60.00, 60.05, 60.10"},
		{"one mark", 0, 10, 1, "0, 10"},
		{"ends belong", 0, 4, 4, "0, 1, 2, 3, 4"},
		{"litres", 0, 2.3e7, 3, "0, 1e+07, 2e+07"},
	}
	for _, c := range cases {
		var got []string
		ticks, _ := valueTicks(c.lo, c.hi, c.most)
		for _, k := range ticks {
			got = append(got, k.label)
		}
		if s := strings.Join(got, ", "); s != c.want {
			t.Errorf("%s: %q, want %q", c.name, s, c.want)
		}
	}
}

func TestNumberNeverShowsMinusZero(t *testing.T) {
	for _, v := range []float64{0, math.Copysign(0, -1), -0.004, -1e-12} {
		if got := number(v, 1); got != "0.0" {
			t.Errorf("number(%v) = %q", v, got)
		}
	}
}

// clip against a slow plain version: sample the line densely and look whether any sample is in the box.
func TestClipAgreesWithSampling(t *testing.T) {
	const w, h = 20.0, 10.0
	coordinate := rapid.Float64Range(-60, 60)
	rapid.Check(t, func(t *rapid.T) {
		a := xy{coordinate.Draw(t, "ax"), coordinate.Draw(t, "ay")}
		b := xy{coordinate.Draw(t, "bx"), coordinate.Draw(t, "by")}
		p, q, ok := clip(a, b, w, h)
		hit := false
		for i := range 2001 {
			s := float64(i) / 2000
			x, y := a.x+s*(b.x-a.x), a.y+s*(b.y-a.y)
			hit = hit || x >= 0 && x <= w && y >= 0 && y <= h
		}
		if hit && !ok {
			t.Fatalf("%v to %v touches the box and was dropped", a, b)
		}
		const tol = 1e-9
		for _, e := range []xy{p, q} {
			if ok && (e.x < -tol || e.x > w+tol || e.y < -tol || e.y > h+tol) {
				t.Fatalf("%v to %v cut to %v, outside", a, b, e)
			}
		}
	})
}
