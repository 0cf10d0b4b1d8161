package week

import (
	"fmt"
	"maps"
	"time"

	"example.org/headpond/model/localtime"
	"example.org/headpond/model/record"
)

// Bounds are the beginning of the period that ends at a time, and of the one before, on a plant's clock. The wall clock is
// turned back, so a week is 167 or 169 h across a change of the clocks. From the 31st a month goes back to the last day of the
// month before.
func Bounds(s Span, at time.Time, loc *time.Location) (from, before time.Time, err error) {
	at = at.In(loc)
	switch s {
	case Week:
		return at.AddDate(0, 0, -7), at.AddDate(0, 0, -14), nil
	case Month:
		return monthsBack(at, 1), monthsBack(at, 2), nil
	case Year:
		return monthsBack(at, 12), monthsBack(at, 24), nil
	}
	return time.Time{}, time.Time{}, fmt.Errorf("%q is no span of a review; expected %q, %q or %q", s, Week, Month, Year)
}

// monthsBack turns the calendar back and keeps the day where the month has it, else its last.
func monthsBack(t time.Time, months int) time.Time {
	y, m, d := t.Date()
	last := time.Date(y, m-time.Month(months)+1, 0, 12, 0, 0, 0, t.Location()).Day()
	return time.Date(y, m-time.Month(months), min(d, last), t.Hour(), t.Minute(), t.Second(), t.Nanosecond(), t.Location())
}

// Stretch is a local day or a part of one.
type Stretch struct {
	From, To time.Time
	Whole    bool // it is the whole day
}

// CutDays cuts a time at every local midnight.
func CutDays(from, to time.Time, loc *time.Location) []Stretch {
	var list []Stretch
	whole := localtime.Day(from, loc).Equal(from)
	for from.Before(to) {
		next := localtime.NextDay(from, loc)
		if next.After(to) {
			next, whole = to, false
		}
		list = append(list, Stretch{From: from, To: next, Whole: whole})
		from, whole = next, true
	}
	return list
}

// From works out the input from a whole log, known up to its own At, without roll-ups: what is made with them is the same to the
// bit. A zero end of the period is the history's own.
func From(h *record.History, span Span, end time.Time) (Input, error) {
	if h == nil || h.Plant == nil {
		return Input{}, ErrNoPlant
	}
	of := Of{Span: span, At: h.At, End: end}.Settled(h.At)
	then := *h
	then.Plant = h.PlantAt(of.End)
	h = &then
	loc := h.Plant.Location
	of.At, of.End = of.At.In(loc), of.End.In(loc)
	from, before, err := Bounds(span, of.End, loc)
	if err != nil {
		return Input{}, err
	}
	l, err := NewLedger(h, nil)
	if err != nil {
		return Input{}, err
	}
	in := Input{Of: of, History: h, Begin: at(l.carry.Begin).In(loc)}
	in.UsedSoFar = l.Total(Used, in.End)
	in.Days = l.Days(CutDays(from, in.End, loc))
	in.BeforeDays = l.Days(CutDays(before, from, loc))
	if span != Year {
		in.Points = l.Points(from, in.End)
	}
	return in, nil
}

// Total is the sum of a track from the log's beginning to a time.
func (l *Ledger) Total(track string, to time.Time) Sum {
	sums := map[string]Sum{}
	maps.Copy(sums, l.carry.Sums)
	for _, s := range CutDays(at(l.start).In(l.loc), to, l.loc) {
		day := map[string]Sum{}
		l.balance(s.From.UnixMilli(), s.To.UnixMilli(), day)
		addSums(sums, day)
	}
	return sums[track]
}

// Days works out several days.
func (l *Ledger) Days(list []Stretch) []Day {
	days := make([]Day, len(list))
	for i, s := range list {
		days[i] = l.Day(s.From, s.To)
	}
	return days
}
