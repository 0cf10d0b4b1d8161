package localtime_test

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/localtime"
)

// What Minute writes, Parse reads back as the same minute, both times of an hour that comes twice included. Halifax set its clocks
// back on 2 November 2025 at 05:00 UTC and Lord Howe by half an hour on 5 April 2026 at 15:00 UTC (IANA time zone database).
func TestMinuteComesBack(t *testing.T) {
	for _, name := range []string{"America/Halifax", "Australia/Lord_Howe", "Asia/Kathmandu", "UTC"} {
		loc, err := time.LoadLocation(name)
		if err != nil {
			t.Fatal(err)
		}
		changes := []time.Time{time.Date(2025, 11, 2, 5, 0, 0, 0, time.UTC), time.Date(2026, 4, 4, 15, 0, 0, 0, time.UTC), time.Date(2026, 3, 8, 6, 0, 0, 0, time.UTC)}
		rapid.Check(t, func(t *rapid.T) {
			at := rapid.SampledFrom(changes).Draw(t, "change").Add(time.Duration(rapid.IntRange(-9000, 9000).Draw(t, "seconds")) * time.Second)
			typed := localtime.Minute(at, loc)
			back, _, err := localtime.Parse(typed, at, loc)
			if err != nil || !back.Equal(at.Truncate(time.Minute)) {
				t.Fatalf("%s is written %q and read back %s (%v)", at.In(loc), typed, back, err)
			}
		})
	}
	loc, err := time.LoadLocation("America/Halifax")
	if err != nil {
		t.Fatal(err)
	}
	for at, want := range map[string]string{"2025-11-02T04:30:00Z": "2025-11-02T01:30:00-03:00", "2025-11-02T05:30:00Z": "2025-11-02T01:30:00-04:00", "2025-11-02T06:30:00Z": "2025-11-02 02:30"} {
		x, err := time.Parse(time.RFC3339, at)
		if err != nil {
			t.Fatal(err)
		}
		if got := localtime.Minute(x, loc); got != want {
			t.Errorf("%s is written %q, want %q", at, got, want)
		}
	}
}

// A clock time happens twice where Minute needs an offset to tell it, and nowhere else.
func TestTwiceIsWhereAnOffsetIsNeeded(t *testing.T) {
	for _, name := range []string{"America/Halifax", "Australia/Lord_Howe", "Asia/Kathmandu", "UTC", "Europe/Dublin"} {
		loc, err := time.LoadLocation(name)
		if err != nil {
			t.Fatal(err)
		}
		changes := []time.Time{time.Date(2025, 11, 2, 5, 0, 0, 0, time.UTC), time.Date(2026, 4, 4, 15, 0, 0, 0, time.UTC), time.Date(2026, 3, 8, 6, 0, 0, 0, time.UTC), time.Date(2026, 10, 25, 1, 0, 0, 0, time.UTC)}
		rapid.Check(t, func(t *rapid.T) {
			at := rapid.SampledFrom(changes).Draw(t, "change").Add(time.Duration(rapid.IntRange(-180, 180).Draw(t, "minutes")) * time.Minute)
			if got, want := localtime.Twice(at, loc), strings.Contains(localtime.Minute(at, loc), "T"); got != want {
				t.Fatalf("%s happens twice: %v, want %v", at.In(loc), got, want)
			}
		})
	}
}

// The zone's name stands only where it tells two times apart.
func TestShowNamesTheZoneInTheHourThatComesTwice(t *testing.T) {
	loc, err := time.LoadLocation("America/Halifax")
	if err != nil {
		t.Fatal(err)
	}
	for at, want := range map[string]string{
		"2025-11-02T03:59:00Z": "00:59", "2025-11-02T04:00:00Z": "01:00 ADT", "2025-11-02T04:30:00Z": "01:30 ADT", "2025-11-02T04:59:59Z": "01:59 ADT",
		"2025-11-02T05:00:00Z": "01:00 AST", "2025-11-02T05:59:59Z": "01:59 AST", "2025-11-02T06:00:00Z": "02:00", "2026-03-08T06:30:00Z": "03:30",
	} {
		x, err := time.Parse(time.RFC3339, at)
		if err != nil {
			t.Fatal(err)
		}
		if got := localtime.Show(x, loc, "15:04"); got != want {
			t.Errorf("%s is shown %q, want %q", at, got, want)
		}
	}
}
