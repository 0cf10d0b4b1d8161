package copies

import (
	"cmp"
	"slices"
	"time"
)

// Rule says which copies are kept.
type Rule struct {
	Last   int // the newest so many, at least 1
	Weeks  int // the newest one of each of the newest so many weeks that have any
	Months int // the newest one of each of the newest so many months that have any
}

// Kept is the rule that is used: a slip of today is undone from the last four, one that is noticed late from a week's or a
// month's copy. At most 21 copies lie in a folder.
func Kept() Rule { return Rule{Last: 4, Weeks: 5, Months: 12} }

// Most is the greatest number of copies that the rule keeps.
func (r Rule) Most() int { return max(1, r.Last) + r.Weeks + r.Months }

// Split divides copies, in any order, into those to be kept, newest first, and those to be taken away. Weeks begin on Monday,
// and both weeks and months are those of the calendar at loc.
//
// Newest means the highest number. The result depends on nothing but the copies and the calendar, so that a clock that jumps
// can only make more weeks or fewer, and the copy that was made last is always kept.
func (r Rule) Split(list []Copy, loc *time.Location) (keep, drop []Copy) {
	list = slices.Clone(list)
	slices.SortFunc(list, newestFirst)
	type week struct{ year, week int }
	type month struct {
		year  int
		month time.Month
	}
	weeks, months := map[week]bool{}, map[month]bool{}
	for i, c := range list {
		local := c.Time.In(loc)
		var w week
		w.year, w.week = local.ISOWeek()
		m := month{local.Year(), local.Month()}
		wanted := i < max(1, r.Last)
		if !weeks[w] && len(weeks) < r.Weeks {
			weeks[w], wanted = true, true
		}
		if !months[m] && len(months) < r.Months {
			months[m], wanted = true, true
		}
		if wanted {
			keep = append(keep, c)
		} else {
			drop = append(drop, c)
		}
	}
	return keep, drop
}

// newestFirst orders copies by number; of two with one number, which two programs can make at once, the later and then the one
// with the greater name comes first.
func newestFirst(a, b Copy) int {
	return cmp.Or(cmp.Compare(b.Number, a.Number), b.Time.Compare(a.Time), cmp.Compare(b.name(), a.name()))
}
