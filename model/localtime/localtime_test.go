package localtime

import (
	"errors"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the test must not depend on the machine's zone files

	"pgregory.net/rapid"
)

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

// Clock changes of America/Halifax in 2026: forward on 8 March at 02:00, back on 1 November at 02:00 (IANA tz database).
func TestParse(t *testing.T) {
	loc := zone(t, "America/Halifax")
	now := time.Date(2026, 3, 9, 13, 5, 0, 0, time.UTC) // 10:05 ADT
	for _, c := range []struct {
		in, want string
		form     Form
	}{
		{"now", "2026-03-09T10:05:00-03:00", Instant},
		{"-2h", "2026-03-09T08:05:00-03:00", Instant},
		{"-1,5h", "2026-03-09T08:35:00-03:00", Instant},
		{"-3d", "2026-03-06T09:05:00-04:00", Instant},
		{"06:30", "2026-03-09T06:30:00-03:00", Instant},
		{"6:30", "2026-03-09T06:30:00-03:00", Instant},
		{"today 06:30:15", "2026-03-09T06:30:15-03:00", Instant},
		{"yesterday 18:00", "2026-03-08T18:00:00-03:00", Instant},
		{"Yesterday", "2026-03-08T00:00:00-04:00", Date},
		{"2026-01-05", "2026-01-05T00:00:00-04:00", Date},
		{"06.30", "2026-03-09T06:30:00-03:00", Instant},
		{"yesterday 6.30", "2026-03-08T06:30:00-03:00", Instant},
		{"5 Jan 07:00", "2026-01-05T07:00:00-04:00", Instant},
		{"Mon 5 Jan 2026 07.00", "2026-01-05T07:00:00-04:00", Instant},
		{"monday 5 january", "2026-01-05T00:00:00-04:00", Date},
		{"20 Dec", "2025-12-20T00:00:00-04:00", Date}, // 79 days ago; the next is 286 days ahead
		{"1 Sep", "2026-09-01T00:00:00-03:00", Date},  // 176 days ahead; the last is 189 days ago
		{"29 Feb 2028", "2028-02-29T00:00:00-04:00", Date},
		{"2026-01-05 07:00", "2026-01-05T07:00:00-04:00", Instant},
		{"2026-01-05T07:00", "2026-01-05T07:00:00-04:00", Instant},
		{"2026-01-05T07:00Z", "2026-01-05T07:00:00Z", Instant},
		{"2026-01-05 07:00:00+02:00", "2026-01-05T07:00:00+02:00", Instant},
		{"2026-11-01T01:30:00-04:00", "2026-11-01T01:30:00-04:00", Instant},
	} {
		got, form, err := Parse(c.in, now, loc)
		if err != nil {
			t.Errorf("Parse(%q): %v", c.in, err)
			continue
		}
		want, _ := time.Parse(time.RFC3339, c.want)
		if !got.Equal(want) || form != c.form {
			t.Errorf("Parse(%q) = %s, %d; want %s, %d", c.in, got.Format(time.RFC3339), form, c.want, c.form)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	loc := zone(t, "America/Halifax")
	now := time.Date(2026, 3, 9, 13, 5, 0, 0, time.UTC)
	for _, in := range []string{"", "  ", "noon", "25:00", "06:60", "2026-02-30", "2026-13-01 10:00", "-2", "-xh", "--2h", "06:30 today", "1:2:3:4", "7:5", "07:5", "07:30:5", "07:", ":30", strings.Repeat("0", 100) + ":00", "-9e9d", "2026-01-05 07:00 08:00",
		"29 Feb", "31 Nov 10:00", "Tue 5 Jan 07:00", "5 Jam", "5 J", "Jan 5", "5 Jan 07:00 x", "5 Jan 26 07:00", "6.3", "06.60", "1.2.3", "mon"} {
		_, _, err := Parse(in, now, loc)
		var bad *Error
		if !errors.As(err, &bad) {
			t.Errorf("Parse(%q) error = %v, want *Error", in, err)
		}
	}
}

func TestADayAloneIsNoMoment(t *testing.T) {
	loc := zone(t, "America/Halifax")
	now := time.Date(2026, 3, 9, 13, 5, 0, 0, time.UTC)
	for _, in := range []string{"yesterday", "2026-03-08", "8 Mar"} {
		_, err := Moment(in, now, loc)
		var day *WholeDayError
		if !errors.As(err, &day) || !strings.Contains(err.Error(), "2026-03-08 07:30") {
			t.Errorf("Moment(%q): %v", in, err)
		}
	}
	if got, err := Moment("8 Mar 18:00", now, loc); err != nil || got.Format(time.RFC3339) != "2026-03-08T18:00:00-03:00" {
		t.Errorf("Moment: %v %v", got, err)
	}
}

func TestClockChangesAreNeverGuessed(t *testing.T) {
	loc := zone(t, "America/Halifax")
	now := time.Date(2026, 12, 1, 12, 0, 0, 0, time.UTC)
	_, _, err := Parse("2026-11-01 01:30", now, loc)
	var twice *AmbiguousError
	if !errors.As(err, &twice) {
		t.Fatalf("01:30 on the day the clocks go back: %v", err)
	}
	if a, b := twice.Earlier.Format(time.RFC3339), twice.Later.Format(time.RFC3339); a != "2026-11-01T01:30:00-03:00" || b != "2026-11-01T01:30:00-04:00" {
		t.Errorf("the two instants are %s and %s", a, b)
	}
	_, _, err = Parse("2026-03-08 02:30", now, loc)
	var none *MissingError
	if !errors.As(err, &none) {
		t.Fatalf("02:30 on the day the clocks go forward: %v", err)
	}
	if a, b := none.Before.Format("15:04-07:00"), none.After.Format("15:04-07:00"); a != "02:00-04:00" || b != "03:00-03:00" {
		t.Errorf("the gap is from %s to %s", a, b)
	}
}

func TestDaysHaveTheirOwnLength(t *testing.T) {
	loc := zone(t, "America/Halifax")
	for _, c := range []struct {
		day   string
		hours float64
	}{{"2026-03-08", 23}, {"2026-11-01", 25}, {"2026-06-01", 24}} {
		from, err := Start(c.day, time.Time{}, loc)
		if err != nil {
			t.Fatal(err)
		}
		to, err := End(c.day, time.Time{}, loc)
		if err != nil {
			t.Fatal(err)
		}
		if got := to.Sub(from).Hours(); got != c.hours {
			t.Errorf("%s has %g hours, want %g", c.day, got, c.hours)
		}
	}
}

// Sao Paulo's clocks went forward at midnight on 4 November 2018, so that this day began at 01:00 (IANA tz database).
func TestDayWithoutMidnight(t *testing.T) {
	loc := zone(t, "America/Sao_Paulo")
	got, form, err := Parse("2018-11-04", time.Time{}, loc)
	if err != nil || form != Date || got.Format(time.RFC3339) != "2018-11-04T01:00:00-02:00" {
		t.Errorf("first instant = %s, %v", got.Format(time.RFC3339), err)
	}
}

func TestPlanClockAlwaysExists(t *testing.T) {
	loc := zone(t, "America/Halifax")
	day := time.Date(2026, 3, 8, 12, 0, 0, 0, loc)
	if got := Clock(day, 2, 30, loc).Format(time.RFC3339); got != "2026-03-08T03:00:00-03:00" {
		t.Errorf("02:30 in the gap runs from %s", got)
	}
	day = time.Date(2026, 11, 1, 12, 0, 0, 0, loc)
	if got := Clock(day, 1, 30, loc).Format(time.RFC3339); got != "2026-11-01T01:30:00-03:00" {
		t.Errorf("01:30 twice runs from %s", got)
	}
}

func TestWrittenTimesReadBack(t *testing.T) {
	loc := zone(t, "America/Halifax")
	rapid.Check(t, func(t *rapid.T) {
		at := time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "at"), 0).In(loc)
		got, _, err := Parse(at.Format(time.RFC3339), time.Time{}, loc)
		if err != nil || !got.Equal(at) {
			t.Fatalf("RFC 3339 form of %s reads as %s, %v", at, got, err)
		}
		local := at.Format("2006-01-02 15:04:05")
		got, _, err = Parse(local, time.Time{}, loc)
		var twice *AmbiguousError
		if errors.As(err, &twice) {
			if !twice.Earlier.Equal(at) && !twice.Later.Equal(at) {
				t.Fatalf("%s is neither %s nor %s", at, twice.Earlier, twice.Later)
			}
			return
		}
		if err != nil || !got.Equal(at) {
			t.Fatalf("%q reads as %s, %v", local, got, err)
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"now", "-2h", "06:00", "2026-03-08 02:30", "2026-11-01T01:30", "yesterday", "2026-01-05T07:00Z", "t", "-"} {
		f.Add(s)
	}
	loc := zone(f, "America/Halifax")
	f.Fuzz(func(t *testing.T, s string) {
		got, form, err := Parse(s, time.Unix(1.8e9, 0), loc)
		if err == nil && form == Date && !Day(got, loc).Equal(got) {
			t.Errorf("%q is a date but not a day's first instant: %s", s, got)
		}
	})
}
