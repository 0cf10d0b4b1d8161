package localtime

import "time"

// NotYet asks about a time that has not come, as it is typed for what was done or seen: "23:00 today (Wed 25 Nov) has not come yet.
// Was it yesterday, Tue 24 Nov 23:00?" It is "" for a time that is past.
func NotYet(t, now time.Time, loc *time.Location) string {
	if !t.After(now) {
		return ""
	}
	const clock, day = "15:04", "Mon 2 Jan"
	l, n := t.In(loc), now.In(loc)
	if Day(t, loc).Equal(Day(now, loc)) {
		before := l.AddDate(0, 0, -1)
		return l.Format(clock) + " today has not come yet (it is " + n.Format(clock) + "). Was it yesterday, " + before.Format(day+" "+clock) + "?"
	}
	return l.Format(day+" 2006 "+clock) + " has not come yet (it is " + n.Format(day+" 2006 "+clock) + ")."
}
