package upkeepview

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/checklist"
	"example.org/headpond/model/record"
	"example.org/headpond/model/upkeep"
	"example.org/headpond/tui/ui/text"
	"example.org/headpond/tui/ui/uitest"
)

// pageOf is a page of some tasks on a plain terminal.
func pageOf(tasks ...upkeep.Task) page {
	p := page{common: uitest.Common(uitest.Look{}, 80, 24, morning), facts: upkeep.Facts{At: morning, Tasks: tasks}, history: &record.History{At: morning}, picked: -1}
	p.rows = rowsOf(p.facts, p.history, nil, nil)
	return p
}

func joined(p page, w int) string {
	lines, _ := p.lines(w)
	return strings.Join(lines, "\n")
}

// Every way in which a task can be due, in words.
func TestWhenInWords(t *testing.T) {
	at := func(d time.Duration) *time.Time { return new(morning.Add(d)) }
	const day = 24 * time.Hour
	for want, task := range map[string]upkeep.Task{
		"in 112 h running":     {DueHours: new(112.4)},
		"in 0 h running":       {DueHours: new(0.2)},
		"27 h running over":    {DueHours: new(-27.3)},
		"in 9 days":            {DueTime: at(9 * day)},
		"in 20 h":              {DueTime: at(20 * time.Hour)},
		"3 days over":          {DueTime: at(-3 * day)},
		"2 h over":             {DueTime: at(-2 * time.Hour)},
		"in 400 days":          {DueTime: at(400 * day)},
		"":                     {},
		"12000 h running over": {DueHours: new(-12000.0)},
	} {
		if got := pageOf().due(task); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func TestDatesOfAnotherYearSaySo(t *testing.T) {
	p := pageOf()
	for want, at := range map[string]time.Time{
		"4 Jun":       morning,
		"31 Dec 2025": time.Date(2025, 12, 31, 23, 0, 0, 0, halifax),
		"1 Jan":       time.Date(2026, 1, 1, 0, 30, 0, 0, halifax),
		"1 Jan 2027":  time.Date(2027, 1, 1, 2, 0, 0, 0, time.UTC).Add(time.Hour + 1),
	} {
		if got := p.day(at); got != want {
			t.Errorf("%s is written %q, want %q", at, got, want)
		}
	}
	if got := p.moment(time.Date(2025, 12, 31, 23, 5, 0, 0, halifax)); got != "Wed 31 Dec 2025 23:05" {
		t.Error(got)
	}
}

func TestTheHeadlineCounts(t *testing.T) {
	task := func(s upkeep.State) upkeep.Task { return upkeep.Task{Task: "x", State: s} }
	for want, tasks := range map[string][]upkeep.Task{
		" !! 1 overdue, 1 due; 1 in time.": {task(upkeep.Overdue), task(upkeep.Due), task(upkeep.OK)},
		" !! 2 overdue.":                   {task(upkeep.Overdue), task(upkeep.Overdue)},
		" !  1 due.":                       {task(upkeep.Due)},
		" !  2 due; 1 in time.":            {task(upkeep.Due), task(upkeep.Due), task(upkeep.OK)},
		"    Nothing is due.":              {task(upkeep.OK)},
	} {
		if got := pageOf(tasks...).headline(80)[0]; got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// The page of a task says its interval, what has run, the pace, the last times, and what to be careful of.
func TestAboutATask(t *testing.T) {
	last := morning.AddDate(0, 0, -10)
	task := upkeep.Task{Task: "grease", Unit: "A", EveryHours: new(500.0), RanHours: new(432.0), DueHours: new(68.0), State: upkeep.OK, Last: &last, Since: last,
		HoursADay: new(20.4), DueAbout: new(morning.AddDate(0, 0, 3)), Caution: "the hour meter fell or jumped"}
	p := pageOf(task)
	for i := range 7 {
		p.history.Done = append(p.history.Done, record.Done{ID: fmt.Sprint(i), Time: last.AddDate(0, 0, -20*i), Task: "Grease", By: "Ro"})
	}
	p.history.Done[0].Note = "two strokes\nand wiped"
	got := flat(strings.Join(p.about(p.rows[0], 80), "\n"))
	for _, want := range []string{
		"Every 500 running hours of unit A: 432 h since Mon 25 May 08:00.", "At the 20 h a day of the last 30 days it comes about 7 Jun.",
		"Done 25 May, Ro: two strokes; 5 May, Ro; 15 Apr, Ro; 26 Mar, Ro; 6 Mar, Ro.", "Careful: the hour meter fell or jumped.",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is not in %s", want, got)
		}
	}
	if strings.Contains(got, "and wiped") || strings.Contains(got, "Feb") {
		t.Errorf("more than the last five times, or a note's second line: %s", got)
	}
	day := upkeep.Task{Task: "crest", EveryDays: new(14.0), DueTime: new(morning.AddDate(0, 0, 4)), Since: last}
	if got := flat(strings.Join(pageOf(day).about(row{task: day}, 80), "\n")); !strings.Contains(got, "Every 14 days: due 8 Jun, counted from 25 May, for it was never done.") {
		t.Error(got)
	}
}

func TestAboutAList(t *testing.T) {
	done := &record.Done{Time: morning, By: "Imke", Walk: &record.Walk{Ticks: []record.Tick{{State: record.TickDone}, {}}}}
	p := pageOf()
	p.walks = map[string]walk{"Frost": newWalk(checklist.List{Name: "Frost", Steps: []string{"a", "b"}}, morning).tick(record.TickDone, "", morning)}
	got := flat(strings.Join(p.about(row{list: p.walks["Frost"].List, last: done}, 80), "\n"))
	for _, want := range []string{"Begun Thu 4 Jun 08:00, 1 of 2 steps ticked. Enter goes on with it.", "Ended early Thu 4 Jun 08:00 by Imke: 1 of 2 steps done, 1 not come to. That does not count as walked.", "From the plant's file."} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is not in %s", want, got)
		}
	}
	if got := strings.Join(p.about(row{list: checklist.List{Name: "Starting", BuiltIn: true, Cautions: []string{"Hot."}}}, 80), "\n"); !strings.Contains(got, "headpond checklist --toml") || !strings.Contains(got, "Careful: Hot.") {
		t.Error(got)
	}
}

// A command wraps what the screen cuts: nothing of a name is lost in a file or a pipe.
func TestACommandCutsNoName(t *testing.T) {
	name := "move the main valve, the bypass gate and the drain through their whole travel, and grease their stems"
	p := pageOf(upkeep.Task{Task: name, State: upkeep.Due, DueHours: new(5.0)})
	for _, w := range []int{60, 80, 120} {
		got := flat(strings.ReplaceAll(joined(p, w), "in 5 h running never done", ""))
		words := strings.Fields(name)
		for _, word := range words {
			if !strings.Contains(got, word) {
				t.Errorf("at %d %q is missing:\n%s", w, word, joined(p, w))
			}
		}
	}
	p.picked = 0
	if lines, _ := p.lines(80); len(lines) < 3 || text.Width(lines[2]) > 80 || !strings.Contains(lines[2], "…") {
		t.Errorf("the screen's row: %q", lines[2])
	}
}

// The marks tell the lines on which the rows stand, at any width.
func TestMarksPointAtTheirRows(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	s := b.screen()
	for _, w := range []int{20, 40, 60, 80, 111, 112, 120, 200} {
		s.w = w
		lines, marks := s.lines()
		rows := s.rows()
		if len(marks) != len(rows) {
			t.Fatalf("at %d: %d marks of %d rows", w, len(marks), len(rows))
		}
		for i, m := range marks {
			if first := strings.Fields(rows[i].name())[0]; !strings.Contains(lines[m], first[:min(4, len(first))]) {
				t.Errorf("at %d: row %q is marked at %q", w, rows[i].name(), lines[m])
			}
		}
	}
}

// Narrow windows leave out when a task was last done before they cut its name to nothing.
func TestNarrowRowsKeepTheNameAndTheDate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := rapid.IntRange(1, 160).Draw(t, "w")
		task := upkeep.Task{Task: rapid.StringMatching(`[a-z ]{1,60}`).Draw(t, "name"), State: rapid.SampledFrom([]upkeep.State{upkeep.OK, upkeep.Due, upkeep.Overdue}).Draw(t, "state"),
			DueHours: new(rapid.Float64Range(-2000, 2000).Draw(t, "left")), LastBy: "Imke", Last: &morning}
		p := pageOf(task)
		p.picked = 0
		lines, _ := p.lines(w)
		for _, l := range lines {
			if text.Width(l) > max(w, 14) { // the screen cuts what a window of a few cells cannot hold
				t.Fatalf("%d wide at %d: %q", text.Width(l), w, l)
			}
		}
		if row := lines[2]; w >= 60 && !strings.Contains(row, "h running") {
			t.Fatalf("at %d the row does not say when: %q", w, row)
		}
	})
}

// Paper is 40 to 120 columns wide; every step has its box and number, and nothing is wider than the sheet.
func TestPaperAtAnyWidth(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 24)
	for _, l := range b.screen().lists {
		for _, w := range []int{0, 40, 57, 80, 120} {
			got := ListText(l, w)
			if err := uitest.Fits(strings.TrimSuffix(got, "\n"), max(40, w), 400); err != nil {
				t.Errorf("%s at %d: %v", l.Name, w, err)
			}
			if n := strings.Count(got, "(  )"); n != len(l.Steps) {
				t.Errorf("%s at %d: %d boxes for %d steps", l.Name, w, n, len(l.Steps))
			}
			for _, s := range append([]string{l.Name}, append(l.Cautions, l.Steps...)...) {
				if !strings.Contains(flat(got), flat(s)) {
					t.Errorf("%s at %d lacks %q", l.Name, w, s)
				}
			}
		}
	}
	if got := ListText(checklist.List{Name: "Frost", Unit: "A", Steps: []string{"a"}}, 60); strings.Contains(got, "!") || !strings.HasPrefix(got, "Frost, unit A\n") {
		t.Error(got)
	}
}
