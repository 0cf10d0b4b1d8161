package copies

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// numbered makes copies of some days, the first with the lowest number.
func numbered(days ...string) []Copy {
	list := make([]Copy, len(days))
	for i, d := range days {
		t, err := time.Parse("2006-01-02", d)
		if err != nil {
			panic(err)
		}
		list[i] = Copy{Number: uint64(i + 1), Time: t.Add(12 * time.Hour)}
	}
	return list
}

func days(list []Copy) string {
	var out []string
	for _, c := range list {
		out = append(out, c.Time.Format("2006-01-02"))
	}
	return strings.Join(out, " ")
}

// The weeks and months of these days were read off a printed calendar of 2026 (1 January is a Thursday).
func TestWhichCopiesAreKept(t *testing.T) {
	rule := Rule{Last: 2, Weeks: 3, Months: 3}
	for _, c := range []struct {
		name       string
		days       []string
		keep, drop string
	}{
		{"none", nil, "", ""},
		{"one", []string{"2026-02-03"}, "2026-02-03", ""},
		{"fewer than are kept", []string{"2026-02-02", "2026-02-03"}, "2026-02-03 2026-02-02", ""},
		{"of one week the newest two", []string{"2026-02-02", "2026-02-03", "2026-02-04", "2026-02-05"},
			"2026-02-05 2026-02-04", "2026-02-03 2026-02-02"},
		{"a week begins on Monday", []string{"2026-01-31", "2026-02-01", "2026-02-02", "2026-02-03", "2026-02-04"},
			"2026-02-04 2026-02-03 2026-02-01 2026-01-31", "2026-02-02"},
		{"one of each week", []string{"2026-03-03", "2026-03-05", "2026-03-10", "2026-03-12", "2026-03-17", "2026-03-18", "2026-03-19"},
			"2026-03-19 2026-03-18 2026-03-12 2026-03-05", "2026-03-17 2026-03-10 2026-03-03"},
		{"one of each month, the newest of it", []string{"2025-11-04", "2025-12-01", "2025-12-30", "2026-01-05", "2026-01-12", "2026-02-10", "2026-02-17", "2026-02-24", "2026-02-25"},
			"2026-02-25 2026-02-24 2026-02-17 2026-02-10 2026-01-12 2025-12-30", "2026-01-05 2025-12-01 2025-11-04"},
		{"a year's end within a week", []string{"2025-12-29", "2025-12-31", "2026-01-01", "2026-01-02"}, // one week, two months
			"2026-01-02 2026-01-01 2025-12-31", "2025-12-29"},
		{"long pauses cost nothing", []string{"2020-05-01", "2022-07-01", "2024-09-01", "2026-02-01"},
			"2026-02-01 2024-09-01 2022-07-01", "2020-05-01"},
		{"a clock a year ahead", []string{"2026-02-02", "2027-02-03", "2026-02-04", "2026-02-05"},
			"2026-02-05 2026-02-04 2027-02-03", "2026-02-02"},
		{"a clock that fell back to its first day", []string{"2026-02-02", "2026-02-03", "2000-01-01", "2000-01-01"},
			"2000-01-01 2000-01-01 2026-02-03", "2026-02-02"},
	} {
		keep, drop := rule.Split(numbered(c.days...), time.UTC)
		if days(keep) != c.keep || days(drop) != c.drop {
			t.Errorf("%s:\nkept    %s\nwant    %s\ndropped %s\nwant    %s", c.name, days(keep), c.keep, days(drop), c.drop)
		}
	}
}

func TestWeekIsThatOfThePlantsCalendar(t *testing.T) {
	// 02:00 UTC on Monday is still Sunday at the plant.
	monday := Copy{Number: 1, Time: time.Date(2026, 2, 2, 2, 0, 0, 0, time.UTC)}
	tuesday := Copy{Number: 2, Time: monday.Time.Add(24 * time.Hour)}
	rule := Rule{Last: 1, Weeks: 2}
	if keep, _ := rule.Split([]Copy{monday, tuesday}, time.UTC); len(keep) != 1 {
		t.Errorf("in UTC both are of one week, kept %s", days(keep))
	}
	if keep, _ := rule.Split([]Copy{monday, tuesday}, time.FixedZone("", -4*3600)); len(keep) != 2 {
		t.Errorf("at the plant they are of two weeks, kept %s", days(keep))
	}
}

// genCopies draws copies made in order by a clock that jumps about.
func genCopies(t *rapid.T) []Copy {
	at := time.Date(2026, 2, 3, 12, 0, 0, 0, time.UTC)
	n := rapid.IntRange(0, 120).Draw(t, "copies")
	list := make([]Copy, n)
	for i := range list {
		at = at.Add(time.Duration(rapid.IntRange(1, 200).Draw(t, "hours")) * time.Hour)
		if rapid.IntRange(0, 15).Draw(t, "jump") == 0 {
			at = at.AddDate(0, 0, rapid.IntRange(-4000, 4000).Draw(t, "days"))
		}
		list[i] = Copy{Number: uint64(i + 1), Time: at}
	}
	return list
}

func weekOf(c Copy) string {
	y, w := c.Time.UTC().ISOWeek()
	return fmt.Sprint(y, w)
}

func monthOf(c Copy) string { return c.Time.UTC().Format("2006-01") }

// newestOf lists the first so many different groups among copies, newest first.
func newestOf(list []Copy, n int, group func(Copy) string) []string {
	var out []string
	for i := len(list) - 1; i >= 0 && len(out) < n; i-- {
		if g := group(list[i]); !slices.Contains(out, g) {
			out = append(out, g)
		}
	}
	return out
}

// What the rule promises, for any clock: nothing vanishes, the count is bounded, the newest stay, and none of the newest weeks
// and months loses its only copy.
func TestRuleKeepsItsPromises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rule := Rule{rapid.IntRange(0, 5).Draw(t, "last"), rapid.IntRange(0, 6).Draw(t, "weeks"), rapid.IntRange(0, 12).Draw(t, "months")}
		list := genCopies(t)
		shuffled := rapid.Permutation(list).Draw(t, "order")
		keep, drop := rule.Split(shuffled, time.UTC)
		if len(keep)+len(drop) != len(list) || len(keep) > rule.Most() {
			t.Fatalf("%d kept and %d dropped of %d, at most %d are kept", len(keep), len(drop), len(list), rule.Most())
		}
		for i := range min(max(1, rule.Last), len(list)) {
			if keep[i].Number != list[len(list)-1-i].Number {
				t.Errorf("copy %d is not kept, though it is among the newest", list[len(list)-1-i].Number)
			}
		}
		for what, group := range map[string]func(Copy) string{"week": weekOf, "month": monthOf} {
			n := map[string]int{"week": rule.Weeks, "month": rule.Months}[what]
			for _, g := range newestOf(list, n, group) {
				if !slices.ContainsFunc(keep, func(c Copy) bool { return group(c) == g }) {
					t.Errorf("no copy of %s %s is kept", what, g)
				}
			}
		}
		if again, more := rule.Split(keep, time.UTC); len(more) != 0 || !slices.Equal(again, keep) {
			t.Errorf("applied once more, the rule drops %d", len(more))
		}
	})
}

// Copy by copy, as they are made: the folder never holds more than the rule's number, and what stays at the end is what the rule
// would have kept of all that were ever made.
func TestRuleAppliedAtEachCopyLosesNoWeekAndNoMonth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rule := Rule{Last: 3, Weeks: 4, Months: 6}
		at := time.Date(2026, 2, 3, 12, 0, 0, 0, time.UTC)
		var folder, all []Copy
		for i := range rapid.IntRange(1, 150).Draw(t, "copies") {
			at = at.Add(time.Duration(rapid.IntRange(12, 100).Draw(t, "hours")) * time.Hour) // a clock that is right
			c := Copy{Number: uint64(i + 1), Time: at}
			all = append(all, c)
			folder, _ = rule.Split(append(folder, c), time.UTC)
			if len(folder) > rule.Most() || folder[0] != c {
				t.Fatalf("%d in the folder, the newest is number %d", len(folder), folder[0].Number)
			}
		}
		if want, _ := rule.Split(all, time.UTC); !slices.Equal(folder, want) {
			t.Errorf("left: %s\nwant: %s", days(folder), days(want))
		}
	})
}

func TestTwoProgramsThatChoseOneNumber(t *testing.T) {
	a := Copy{Path: "x-b", Number: 7, Time: time.Unix(100, 0)}
	b := Copy{Path: "x-a", Number: 7, Time: time.Unix(100, 0)}
	c := Copy{Path: "x-c", Number: 7, Time: time.Unix(200, 0)}
	keep, _ := Rule{Last: 3}.Split([]Copy{b, c, a}, time.UTC)
	if keep[0].Path != "x-c" || keep[1].Path != "x-b" || keep[2].Path != "x-a" {
		t.Errorf("order: %v", keep)
	}
}
