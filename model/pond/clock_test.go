package pond

import (
	"testing"
	"time"

	"pgregory.net/rapid"
)

func halifax(t testing.TB) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation("America/Halifax")
	if err != nil {
		t.Skip("no time zone data on this machine")
	}
	return loc
}

// In America/Halifax the clocks go forward on 8 March and back on 1 November 2026 (IANA time zone database). A stretch over
// that night is an hour shorter or longer; one by day is not.
func TestChangesFollowTheWallClockOverAClockChange(t *testing.T) {
	loc := halifax(t)
	for _, c := range []struct {
		name, from, to string
		day            time.Time
		hours          float64 // that the stretch lasts which begins on that day
	}{
		{"forward, by night", "22:00", "06:00", time.Date(2026, 3, 7, 0, 0, 0, 0, loc), 7},
		{"forward, by day", "06:00", "22:00", time.Date(2026, 3, 8, 0, 0, 0, 0, loc), 16},
		{"back, by night", "22:00", "06:00", time.Date(2026, 10, 31, 0, 0, 0, 0, loc), 9},
		{"back, by day", "06:00", "22:00", time.Date(2026, 11, 1, 0, 0, 0, 0, loc), 16},
		{"no change", "22:00", "06:00", time.Date(2026, 6, 7, 0, 0, 0, 0, loc), 8},
		{"from midnight over the gap", "00:00", "04:00", time.Date(2026, 3, 8, 0, 0, 0, 0, loc), 3},
	} {
		p, err := ParsePartDay(c.from, c.to)
		if err != nil {
			t.Fatal(err)
		}
		list := p.Changes(c.day.Add(-time.Second), c.day.AddDate(0, 0, 2))
		begins := -1
		for i, at := range list {
			if p.Holds(at) && !p.Holds(at.Add(-time.Second)) {
				begins = i
				break
			}
		}
		if begins < 0 || begins+1 >= len(list) {
			t.Fatalf("%s: changes %v", c.name, list)
		}
		if h := list[begins+1].Sub(list[begins]).Hours(); h != c.hours {
			t.Errorf("%s: the stretch lasts %g h, want %g", c.name, h, c.hours)
		}
	}
}

// Minute by minute through a year of wall clocks, a stretch begins and ends exactly at its Changes.
func TestHoldsTurnsOverExactlyAtTheChanges(t *testing.T) {
	loc := halifax(t)
	rapid.Check(t, func(t *rapid.T) {
		p := PartDay{From: time.Duration(rapid.IntRange(0, 47).Draw(t, "from")) * 30 * time.Minute, To: time.Duration(rapid.IntRange(0, 47).Draw(t, "to")) * 30 * time.Minute}
		start := time.Date(2026, 1, 1, 0, 0, 0, 0, loc).AddDate(0, 0, rapid.IntRange(0, 365).Draw(t, "day"))
		end := start.Add(50 * time.Hour)
		changes := map[int64]bool{}
		for _, c := range p.Changes(start, end) {
			changes[c.Unix()] = true
		}
		for at := start.Add(15 * time.Minute); at.Before(end); at = at.Add(15 * time.Minute) {
			turned := p.Holds(at) != p.Holds(at.Add(-15*time.Minute))
			_, before := at.Add(-15 * time.Minute).Zone()
			_, after := at.Zone()
			if before != after { // the clock leaps: the wall clock may pass both ends at once, or one twice
				continue
			}
			if turned && !changes[at.Unix()] {
				t.Fatalf("%v turns over at %v, which is no change", p, at)
			}
		}
	})
}

// The share of an ordinary day is what its minutes count up to.
func TestShareIsWhatTheMinutesCountUpTo(t *testing.T) {
	day := time.Date(2026, 6, 10, 0, 0, 0, 0, time.UTC)
	for from := 0; from < 24; from += 5 {
		for to := 0; to < 24; to += 3 {
			p := PartDay{From: time.Duration(from) * time.Hour, To: time.Duration(to) * time.Hour}
			n := 0
			for m := range 1440 {
				if p.Holds(day.Add(time.Duration(m) * time.Minute)) {
					n++
				}
			}
			near(t, p.String(), p.Share(), float64(n)/1440, 1e-12)
		}
	}
}

func TestAWholeDayHasNoChanges(t *testing.T) {
	for _, at := range []string{"00:00", "13:30"} {
		p, err := ParsePartDay(at, at)
		if err != nil {
			t.Fatal(err)
		}
		if !p.Whole() || p.Changes(time.Unix(0, 0), time.Unix(0, 0).AddDate(0, 0, 9)) != nil || p.Share() != 1 {
			t.Errorf("%v is not the whole day", p)
		}
	}
	if p, err := ParsePartDay("00:00", "24:00"); err != nil || !p.Whole() {
		t.Errorf("midnight to midnight is %v, %v", p, err)
	}
}

func TestClockWritesATimeOfDay(t *testing.T) {
	for d, want := range map[time.Duration]string{0: "00:00", 6 * time.Hour: "06:00", 22*time.Hour + 30*time.Minute: "22:30", 24 * time.Hour: "00:00", 25 * time.Hour: "01:00"} {
		if got := Clock(d); got != want {
			t.Errorf("%v: %q, want %q", d, got, want)
		}
	}
}

// A part-day machine gives what its hours give: 0.05 m³/s for the stretch's share of ten ordinary days.
func TestPartDayDrawTakesItsShare(t *testing.T) {
	start := time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)
	for _, c := range [][2]string{{"06:00", "22:00"}, {"22:00", "06:00"}, {"00:00", "24:00"}, {"11:30", "12:00"}} {
		p, err := ParsePartDay(c[0], c[1])
		if err != nil {
			t.Fatal(err)
		}
		draw, breaks := PartDayDraw(start, 240*time.Hour, p, func(float64) (float64, float64) { return 0.05, 4 })
		sum, kwh := 0.0, 0.0
		for m := range 14400 {
			q, kw := draw(float64(m)*60, 1)
			sum, kwh = sum+q*60, kwh+kw/60
		}
		near(t, c[0]+" flow", sum, p.Share()*10*86400*0.05, 1e-6)
		near(t, c[0]+" energy", kwh, p.Share()*240*4, 1e-6)
		if !p.Whole() && len(breaks) < 19 {
			t.Errorf("%v: %d breaks in ten days", p, len(breaks))
		}
	}
}

func FuzzParsePartDay(f *testing.F) {
	for _, s := range [][2]string{{"06:00", "22:00"}, {"24:00", "00:00"}, {"", ""}, {"6", "22"}, {"23:59", "00:01"}, {"-1:00", "99:99"}} {
		f.Add(s[0], s[1])
	}
	f.Fuzz(func(t *testing.T, from, to string) {
		p, err := ParsePartDay(from, to)
		if err != nil {
			return
		}
		if p.From < 0 || p.From >= 24*time.Hour || p.To < 0 || p.To >= 24*time.Hour {
			t.Fatalf("%q to %q is %v", from, to, p)
		}
		if s := p.Share(); !(s > 0 && s <= 1) {
			t.Fatalf("%q to %q is a share of %g", from, to, s)
		}
		again, err := ParsePartDay(Clock(p.From), Clock(p.To))
		if err != nil || again != p {
			t.Fatalf("%v reads back as %v, %v", p, again, err)
		}
	})
}
