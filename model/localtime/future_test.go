package localtime

import (
	"strings"
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
		got := NotYet(c.at, now, loc)
		if got.Question != c.want {
			t.Errorf("%v: %q, want %q", c.at, got.Question, c.want)
		}
		if named := strings.Contains(c.want, got.Yesterday.Format("yesterday, Mon 2 Jan 15:04?")); named == got.Yesterday.IsZero() || got.Yesterday.After(now) {
			t.Errorf("%v: a yes to %q means %v", c.at, got.Question, got.Yesterday)
		}
	}
}
