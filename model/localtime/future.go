package localtime

import "time"

// Early is what is asked about a time that has not come, as it is typed for what was done or seen.
type Early struct {
	// Question is "23:00 today has not come yet (it is 06:30). Was it yesterday, Tue 24 Nov 23:00?"; "" for a time that is past.
	Question string
	// Yesterday is what a yes to the question means. It is zero where the question is not about yesterday, and a yes then
	// keeps the time as it is typed.
	Yesterday time.Time
}

// NotYet asks about a time that has not come.
func NotYet(t, now time.Time, loc *time.Location) Early {
	if !t.After(now) {
		return Early{}
	}
	const clock, day = "15:04", "Mon 2 Jan"
	l, n := t.In(loc), now.In(loc)
	if Day(t, loc).Equal(Day(now, loc)) {
		before := l.AddDate(0, 0, -1)
		said := l.Format(clock) + " today has not come yet (it is " + n.Format(clock) + "). Was it yesterday, " + Show(before, loc, day+" "+clock) + "?"
		return Early{Question: said, Yesterday: before}
	}
	return Early{Question: l.Format(day+" 2006 "+clock) + " has not come yet (it is " + n.Format(day+" 2006 "+clock) + ")."}
}
