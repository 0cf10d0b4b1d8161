package pond

import (
	"fmt"
	"sort"
	"time"
)

// PartDay is a stretch of every day on the plant's own clock, such as 06:00 to 22:00. From and To count from local
// midnight; a stretch whose end is not after its beginning goes over midnight, and equal ends mean the whole day. Where
// the clocks change, the wall clock decides, so that day's stretch may be an hour longer or shorter.
type PartDay struct {
	From, To time.Duration
}

// ParsePartDay reads two clock times, "06:00" and "22:00" ("24:00" is allowed as an end).
func ParsePartDay(from, to string) (PartDay, error) {
	f, err := clockTime(from)
	if err != nil {
		return PartDay{}, err
	}
	t, err := clockTime(to)
	if err != nil {
		return PartDay{}, err
	}
	return PartDay{From: f % day, To: t % day}, nil
}

const day = 24 * time.Hour

func clockTime(s string) (time.Duration, error) {
	if s == "24:00" {
		return day, nil
	}
	t, err := time.Parse("15:04", s)
	if err != nil {
		return 0, fmt.Errorf("%q is not a time of day; it should be like 06:00 or 22:30", s)
	}
	return time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute, nil
}

// String gives the stretch as "06:00–22:00".
func (p PartDay) String() string { return Clock(p.From) + "–" + Clock(p.To) }

// Clock writes a time of day as "06:00".
func Clock(d time.Duration) string {
	d %= day
	return fmt.Sprintf("%02d:%02d", int(d.Hours()), int(d.Minutes())%60)
}

// Whole reports whether the stretch is the whole day.
func (p PartDay) Whole() bool { return p.From%day == p.To%day }

// Share is the part of an ordinary day that the stretch takes, 0 to 1.
func (p PartDay) Share() float64 {
	if p.Whole() {
		return 1
	}
	d := (p.To - p.From) % day
	if d < 0 {
		d += day
	}
	return d.Hours() / 24
}

// Holds reports whether a moment lies in the stretch, its beginning included and its end not. The moment's location is
// the clock.
func (p PartDay) Holds(t time.Time) bool {
	if p.Whole() {
		return true
	}
	h, m, s := t.Clock()
	d := time.Duration(h)*time.Hour + time.Duration(m)*time.Minute + time.Duration(s)*time.Second + time.Duration(t.Nanosecond())
	from, to := p.From%day, p.To%day
	if from < to {
		return d >= from && d < to
	}
	return d >= from || d < to
}

// Changes lists the moments after from and before to at which the stretch begins or ends, oldest first, on the clock of
// from's location.
func (p PartDay) Changes(from, to time.Time) []time.Time {
	if p.Whole() {
		return nil
	}
	var list []time.Time
	y, m, d := from.Date()
	for i := -1; ; i++ {
		if time.Date(y, m, d+i, 0, 0, 0, 0, from.Location()).After(to) {
			break
		}
		for _, c := range []time.Duration{p.From, p.To} {
			t := time.Date(y, m, d+i, int(c.Hours()), int(c.Minutes())%60, 0, 0, from.Location())
			if t.After(from) && t.Before(to) {
				list = append(list, t)
			}
		}
	}
	sort.Slice(list, func(i, j int) bool { return list[i].Before(list[j]) })
	return list
}

// PartDayDraw runs a machine for a stretch of each day only: it returns the draw for a Balance that starts at start, and
// the breaks that the Balance needs up to the horizon.
func PartDayDraw(start time.Time, horizon time.Duration, p PartDay, draw func(levelM float64) (flowM3s, kw float64)) (func(s, levelM float64) (float64, float64), []float64) {
	var breaks []float64
	for _, t := range p.Changes(start, start.Add(horizon)) {
		breaks = append(breaks, t.Sub(start).Seconds())
	}
	runsFirst := p.Holds(start)
	return func(s, levelM float64) (float64, float64) {
		passed := sort.Search(len(breaks), func(i int) bool { return breaks[i] > s })
		if runsFirst == (passed%2 == 0) {
			return draw(levelM)
		}
		return 0, 0
	}, breaks
}
