package localtime

import (
	"testing"
	"time"
)

// The moments are chosen by hand; what is past is never asked about, and a clock time of today names the day before.
func TestNotYet(t *testing.T) {
	loc, err := time.LoadLocation("America/Halifax")
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 11, 25, 6, 30, 0, 0, loc)
	for _, c := range []struct {
		at   time.Time
		want string
	}{
		{now, ""},
		{now.Add(-time.Minute), ""},
		{now.Add(time.Minute), "06:31 today has not come yet (it is 06:30). Was it yesterday, Tue 24 Nov 06:31?"},
		{time.Date(2026, 11, 25, 23, 0, 0, 0, loc), "23:00 today has not come yet (it is 06:30). Was it yesterday, Tue 24 Nov 23:00?"},
		{time.Date(2026, 11, 26, 1, 0, 0, 0, loc), "Thu 26 Nov 2026 01:00 has not come yet (it is Wed 25 Nov 2026 06:30)."},
		{time.Date(2026, 11, 25, 23, 0, 0, 0, loc).UTC(), "23:00 today has not come yet (it is 06:30). Was it yesterday, Tue 24 Nov 23:00?"},
	} {
		if got := NotYet(c.at, now, loc); got != c.want {
			t.Errorf("%v: %q, want %q", c.at, got, c.want)
		}
	}
}
