// Package localtime reads the times that people type, in the plant's time zone, and never guesses at a clock change: a
// local time that happens twice or not at all is an error that names the possibilities.
package localtime

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Form is what was typed.
type Form int

// A typed time is an instant, or a date alone, which stands for a whole local day.
const (
	Instant Form = iota
	Date
)

// Error tells that a text is no time that this package reads.
type Error struct {
	Text, Why string
}

// Error quotes the text and says what was expected.
func (e *Error) Error() string {
	return fmt.Sprintf("%q is not a time: %s; expected 2026-03-08 06:30, 8 Mar 06:30, 06:30 (today), yesterday 18:00, -2h, now, or RFC 3339 such as 2026-03-08T06:30:00-04:00", e.Text, e.Why)
}

// AmbiguousError tells that a local time happens twice, when the clocks are set back.
type AmbiguousError struct {
	Text           string
	Earlier, Later time.Time
}

// Error names both possibilities with their offsets.
func (e *AmbiguousError) Error() string {
	return fmt.Sprintf("%q happens twice, because the clocks are set back: write %s or %s", e.Text, e.Earlier.Format(time.RFC3339), e.Later.Format(time.RFC3339))
}

// MissingError tells that a local time does not happen, when the clocks are set forward.
type MissingError struct {
	Text          string
	Before, After time.Time // the last instant before the gap and the first after it
}

// Error names the times on both sides of the gap.
func (e *MissingError) Error() string {
	return fmt.Sprintf("%q does not exist, because the clocks are set forward from %s to %s", e.Text, e.Before.Format("15:04 -07:00"), e.After.Format("15:04 -07:00"))
}

// WholeDayError tells that a day was written where a time of day is needed.
type WholeDayError struct {
	Text string
	Day  time.Time
}

// Error asks for the time of day.
func (e *WholeDayError) Error() string {
	return fmt.Sprintf("%q is a whole day; expected a time of day with it, such as %s 07:30", e.Text, e.Day.Format(time.DateOnly))
}

// maxTyped is longer than any time that a person writes.
const maxTyped = 80

// Parse reads a typed time. now gives meaning to "now", "-2h", "today" and a clock time alone (which is today's); loc is
// the plant's zone. A date alone comes back as its local midnight with Form Date.
//
// Errors are *Error, *AmbiguousError or *MissingError.
func Parse(s string, now time.Time, loc *time.Location) (time.Time, Form, error) {
	text := strings.TrimSpace(s)
	low := strings.ToLower(text)
	bad := func(why string) (time.Time, Form, error) { return time.Time{}, Instant, &Error{Text: s, Why: why} }
	if text == "" {
		return bad("nothing was written")
	}
	if len(s) > maxTyped {
		s = s[:maxTyped] + "…" // what the error quotes
		return bad("it is too long")
	}
	if low == "now" {
		return now, Instant, nil
	}
	if low[0] == '-' || low[0] == '+' {
		d, ok := parseSpan(low)
		if !ok {
			return bad("the span is not a number and m, h or d")
		}
		return now.Add(d), Instant, nil
	}
	if t, ok := parseRFC3339(text); ok {
		return t, Instant, nil
	}
	day, clock, ok := splitDay(low, now.In(loc))
	if !ok {
		return bad("the date is none")
	}
	if clock == "" {
		return firstInstant(day.Year(), day.Month(), day.Day(), loc), Date, nil
	}
	h, m, sec, ok := parseClock(clock)
	if !ok {
		return bad("the clock time is not hours:minutes from 00:00 to 23:59")
	}
	t, err := resolve(s, day.Year(), day.Month(), day.Day(), h, m, sec, loc)
	return t, Instant, err
}

// Moment is Parse for the time of an entry: a day alone is none, and is refused with a *WholeDayError.
func Moment(s string, now time.Time, loc *time.Location) (time.Time, error) {
	t, form, err := Parse(s, now, loc)
	if err == nil && form == Date {
		err = &WholeDayError{Text: s, Day: t}
	}
	return t.In(loc), err
}

// Start is Parse for a lower bound, inclusive: a date alone is its first instant.
func Start(s string, now time.Time, loc *time.Location) (time.Time, error) {
	t, _, err := Parse(s, now, loc)
	return t, err
}

// End is Parse for an upper bound, exclusive, and for --at and --until: a date alone is the end of that local day, which is
// the first instant of the next.
func End(s string, now time.Time, loc *time.Location) (time.Time, error) {
	t, form, err := Parse(s, now, loc)
	if err != nil || form == Instant {
		return t, err
	}
	return NextDay(t, loc), nil
}

// NextDay returns the first instant of the local day after t's, 23, 24 or 25 hours after this day's first.
func NextDay(t time.Time, loc *time.Location) time.Time {
	l := t.In(loc)
	return firstInstant(l.Year(), l.Month(), l.Day()+1, loc)
}

// Day returns the first instant of t's local day.
func Day(t time.Time, loc *time.Location) time.Time {
	l := t.In(loc)
	return firstInstant(l.Year(), l.Month(), l.Day(), loc)
}

// Clock resolves a wall-clock time on t's local day, for plans such as "06:00 to 22:00". A time that does not exist that
// day is moved to the first instant after the gap, one that happens twice is the earlier: a plan must run every day.
func Clock(t time.Time, h, m int, loc *time.Location) time.Time {
	l := t.In(loc)
	found := instants(l.Year(), l.Month(), l.Day(), h, m, 0, loc)
	if len(found) > 0 {
		return found[0]
	}
	_, after := gap(l.Year(), l.Month(), l.Day(), h, m, 0, loc)
	return after
}

// firstInstant is midnight, or the first instant after it where the clocks skip midnight.
func firstInstant(y int, mo time.Month, d int, loc *time.Location) time.Time {
	found := instants(y, mo, d, 0, 0, 0, loc)
	if len(found) > 0 {
		return found[0]
	}
	_, after := gap(y, mo, d, 0, 0, 0, loc)
	return after
}

func resolve(text string, y int, mo time.Month, d, h, m, s int, loc *time.Location) (time.Time, error) {
	found := instants(y, mo, d, h, m, s, loc)
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		before, after := gap(y, mo, d, h, m, s, loc)
		return time.Time{}, &MissingError{Text: text, Before: before, After: after}
	}
	return time.Time{}, &AmbiguousError{Text: text, Earlier: found[0], Later: found[1]}
}

// Minute writes an instant to the minute as Parse reads it back in loc: year, day and clock time, and where the clocks are set back,
// so that the clock time happens twice, with its offset.
func Minute(t time.Time, loc *time.Location) string {
	l := t.In(loc)
	if len(instants(l.Year(), l.Month(), l.Day(), l.Hour(), l.Minute(), 0, loc)) > 1 {
		return l.Format("2006-01-02T15:04:00Z07:00")
	}
	return l.Format("2006-01-02 15:04")
}

// Twice reports whether the clock time of an instant happens twice that day, because the clocks are set back over it.
func Twice(t time.Time, loc *time.Location) bool {
	l := t.In(loc)
	_, offset := l.Zone()
	start, end := l.ZoneBounds()
	if !start.IsZero() {
		_, before := start.Add(-time.Second).Zone()
		if l.Sub(start) < time.Duration(before-offset)*time.Second {
			return true
		}
	}
	if !end.IsZero() {
		_, after := end.Zone()
		return end.Sub(l) <= time.Duration(offset-after)*time.Second
	}
	return false
}

// Show writes an instant by the clock of loc in a layout, and where that clock time happens twice, with the zone's short name, which
// tells the two apart: "01:30 ADT".
func Show(t time.Time, loc *time.Location, layout string) string {
	l := t.In(loc)
	if Twice(t, loc) {
		layout += " MST"
	}
	return l.Format(layout)
}

// instants returns every instant whose wall clock in loc reads so, earliest first: one, none at a gap, two at a repeat.
func instants(y int, mo time.Month, d, h, m, s int, loc *time.Location) []time.Time {
	wall := time.Date(y, mo, d, h, m, s, 0, time.UTC)
	var found []time.Time
	for _, probe := range []time.Duration{-30 * time.Hour, 30 * time.Hour} {
		_, offset := wall.Add(probe).In(loc).Zone()
		t := wall.Add(-time.Duration(offset) * time.Second).In(loc)
		same := t.Year() == wall.Year() && t.YearDay() == wall.YearDay() && t.Hour() == wall.Hour() && t.Minute() == wall.Minute() && t.Second() == wall.Second()
		if same && (len(found) == 0 || !found[0].Equal(t)) {
			found = append(found, t)
		}
	}
	if len(found) == 2 && found[1].Before(found[0]) {
		found[0], found[1] = found[1], found[0]
	}
	return found
}

// gap returns the change of clocks that swallowed a wall-clock time: the same instant, told by the clocks before and after.
func gap(y int, mo time.Month, d, h, m, s int, loc *time.Location) (before, after time.Time) {
	wall := time.Date(y, mo, d, h, m, s, 0, time.UTC)
	name, offset := wall.Add(-30 * time.Hour).In(loc).Zone()
	t := wall.Add(-time.Duration(offset) * time.Second).In(loc)
	start, _ := t.ZoneBounds()
	if start.IsZero() {
		start = t
	}
	return start.In(time.FixedZone(name, offset)), start.In(loc)
}

func parseSpan(s string) (time.Duration, bool) {
	unit := map[byte]time.Duration{'m': time.Minute, 'h': time.Hour, 'd': 24 * time.Hour}[s[len(s)-1]]
	n, err := strconv.ParseFloat(strings.Replace(s[:len(s)-1], ",", ".", 1), 64)
	if unit == 0 || err != nil || n > 1e5 || n < -1e5 || n != n {
		return 0, false
	}
	return time.Duration(n * float64(unit)), true
}

func parseRFC3339(s string) (time.Time, bool) {
	if len(s) < len("2006-01-02T15:04Z") || (s[10] != 'T' && s[10] != 't' && s[10] != ' ') {
		return time.Time{}, false
	}
	norm := s[:10] + "T" + strings.ToUpper(s[11:])
	for _, layout := range []string{time.RFC3339Nano, "2006-01-02T15:04Z07:00"} {
		if t, err := time.Parse(layout, norm); err == nil {
			return t, true
		}
	}
	return time.Time{}, false
}

// splitDay cuts a text into its local day and what is left, a clock time or nothing.
func splitDay(s string, now time.Time) (day time.Time, clock string, ok bool) {
	word, rest, _ := strings.Cut(s, " ")
	if d, r, cut := strings.Cut(s, "t"); cut && len(d) == len("2006-01-02") {
		word, rest = d, r
	}
	rest = strings.TrimSpace(rest)
	switch word {
	case "today":
		return now, rest, true
	case "yesterday":
		return time.Date(now.Year(), now.Month(), now.Day()-1, 12, 0, 0, 0, time.UTC), rest, true
	}
	if _, _, _, isClock := parseClock(word); isClock || strings.Contains(word, ":") {
		return now, word, rest == ""
	}
	if d, err := time.Parse("2006-01-02", word); err == nil {
		return d, rest, true
	}
	return namedDay(strings.Fields(s), now)
}

// namedDay reads a day as the program writes it: "24 Nov", "Tue 24 Nov 2026 18:00". Without a year it is the one that brings
// it nearest to now. A weekday must be the day's own.
func namedDay(words []string, now time.Time) (day time.Time, clock string, ok bool) {
	weekday := ""
	if len(words) > 0 && len(words[0]) >= 3 && words[0][0] > '9' {
		weekday, words = words[0], words[1:]
	}
	if len(words) < 2 {
		return day, "", false
	}
	d, err := strconv.Atoi(words[0])
	month, err2 := time.Parse("Jan", words[1][:min(3, len(words[1]))])
	if err != nil || err2 != nil || !strings.HasPrefix(strings.ToLower(month.Month().String()), words[1]) {
		return day, "", false
	}
	words = words[2:]
	year := 0
	if len(words) > 0 && len(words[0]) == 4 {
		if year, err = strconv.Atoi(words[0]); err != nil {
			return day, "", false
		}
		words = words[1:]
	}
	day = time.Date(year, month.Month(), d, 12, 0, 0, 0, time.UTC)
	if year == 0 {
		day = nearest(d, month.Month(), now)
	}
	exists := day.Day() == d && day.Month() == month.Month()
	if !exists || weekday != "" && !strings.HasPrefix(strings.ToLower(day.Weekday().String()), weekday) || len(words) > 1 {
		return day, "", false
	}
	return day, strings.Join(words, " "), true
}

// nearest is the day of a month in the year that brings it nearest to now.
func nearest(d int, m time.Month, now time.Time) (best time.Time) {
	for _, y := range []int{now.Year(), now.Year() - 1, now.Year() + 1} {
		t := time.Date(y, m, d, 12, 0, 0, 0, time.UTC)
		if t.Day() == d && (best.IsZero() || t.Sub(now).Abs() < best.Sub(now).Abs()) {
			best = t
		}
	}
	return best
}

// parseClock reads hours and minutes, and perhaps seconds. A point may stand for the one colon, as many write it.
func parseClock(s string) (h, m, sec int, ok bool) {
	if a, b, cut := strings.Cut(s, "."); cut && len(b) == 2 {
		s = a + ":" + b
	}
	parts := strings.Split(s, ":")
	if len(parts) < 2 || len(parts) > 3 {
		return 0, 0, 0, false
	}
	n := [3]int{}
	for i, p := range parts {
		v, err := strconv.Atoi(p)
		if err != nil || len(p) > 2 || i > 0 && len(p) < 2 || p[0] == '-' || p[0] == '+' {
			return 0, 0, 0, false
		}
		n[i] = v
	}
	if n[0] > 23 || n[1] > 59 || n[2] > 59 {
		return 0, 0, 0, false
	}
	return n[0], n[1], n[2], true
}
