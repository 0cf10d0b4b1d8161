package ui_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/charmbracelet/x/exp/golden"
	"pgregory.net/rapid"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

// logTable is a table of n invented rounds; asked counts the rows that were asked for.
func logTable(n int, asked *int) ui.Table {
	return ui.Table{
		Columns: []ui.TableColumn{
			{Title: "Time", Width: 12},
			{Title: "By", Width: 5, Rank: 2},
			{Title: "Voltage", Align: ui.Right, Width: 8},
			{Title: "State", Width: 7},
			{Title: "Note", Width: 30, Min: 8, Grow: true, Rank: 1},
		},
		Len:   n,
		Empty: "No round is in the book yet.",
		Row: func(i int) ui.TableRow {
			*asked++
			states := []ui.State{ui.Good, ui.Near, ui.Out}
			s := states[i%3]
			return ui.TableRow{
				Cells:  []string{fmt.Sprintf("%d Aug 06:30", i%28+1), []string{"Ro", "Imke"}[i%2], fmt.Sprint(240 + i%3*7), s.Word() + " " + s.Sign(), "écrit à la main, leaves on the screen"},
				States: []ui.State{0, 0, s, s},
			}
		},
	}
}

func TestTableView(t *testing.T) {
	sizes := map[string][2]int{"100x8": {100, 8}, "60x8": {60, 8}, "36x6": {36, 6}, "20x4": {20, 4}}
	for look, l := range uitest.Looks() {
		for size, wh := range sizes {
			t.Run(look+"/"+size, func(t *testing.T) {
				asked := 0
				tb := logTable(50, &asked).SetSize(wh[0], wh[1]).Select(20)
				golden.RequireEqual(t, []byte(ui.Clamp(uitest.Theme(l), tb.View(uitest.Theme(l)), wh[0], wh[1])))
			})
		}
	}
}

func TestTableAsksForTheRowsOnShowOnly(t *testing.T) {
	asked := 0
	tb := logTable(20000, &asked).SetSize(100, 20).Select(12345)
	tb.View(uitest.Theme(uitest.Look{}))
	if asked == 0 || asked > 19 {
		t.Errorf("%d rows asked for, want those of a window 20 high", asked)
	}
}

func TestTableLeavesOutColumnsByRank(t *testing.T) {
	asked := 0
	heads := func(w int) string {
		return strings.Join(strings.Fields(strings.SplitN(logTable(9, &asked).SetSize(w, 9).View(uitest.Theme(uitest.Look{})), "\n", 2)[0]), " ")
	}
	for _, c := range []struct {
		w    int
		want string
	}{
		{120, "Time By Voltage State Note"},
		{50, "Time By Voltage State Note"}, // the sign's 2 cells, 12+5+8+7, Note narrowed to 8, four gaps of 2
		{49, "Time Voltage State Note"},    // By goes first: rank 2
		{43, "Time Voltage State Note"},
		{42, "Time Voltage State"},
		{22, "Time Voltage State"}, // narrowed to the titles
		{21, "Time Voltage Sta…"},
	} {
		if got := heads(c.w); got != c.want {
			t.Errorf("at %d: %q, want %q", c.w, got, c.want)
		}
	}
}

func TestTableMovesBySelection(t *testing.T) {
	asked := 0
	tb := logTable(50, &asked).SetSize(80, 12)
	for _, c := range []struct {
		key  string
		want int
	}{{"down", 1}, {"pgdown", 10}, {"end", 49}, {"down", 49}, {"up", 48}, {"pgup", 39}, {"home", 0}, {"up", 0}} {
		var used bool
		if tb, used = tb.Key(uitest.Key(t, c.key)); tb.At != c.want || !used {
			t.Errorf("after %s at %d (used %v), want %d", c.key, tb.At, used, c.want)
		}
		if !strings.Contains(tb.View(uitest.Theme(uitest.Look{})), "\n> ") {
			t.Errorf("after %s the selected row is out of sight", c.key)
		}
	}
	if _, used := tb.Key(uitest.Key(t, "x")); used {
		t.Error("a letter is taken for a movement")
	}
}

func TestAWideTextStandsInPlaceOfCells(t *testing.T) {
	asked := 0
	tb := logTable(3, &asked)
	rows := tb.Row
	tb.Row = func(i int) ui.TableRow {
		r := rows(i)
		if i == 1 {
			r.Wide, r.From = "trip of A: overspeed, after the saw was switched off", 2
		}
		return r
	}
	for w, want := range map[int]string{
		100: "  2 Aug 06:30   Imke   trip of A: overspeed, after the saw was switched off",
		49:  "  2 Aug 06:30   trip of A: overspeed, after the …", // By is left out
	} {
		lines := strings.Split(tb.SetSize(w, 9).View(uitest.Theme(uitest.Look{})), "\n")
		if got := strings.TrimRight(lines[2], " "); got != want {
			t.Errorf("at %d: %q, want %q", w, got, want)
		}
		if !strings.Contains(lines[3], "254") {
			t.Errorf("at %d the next row is %q", w, lines[3])
		}
	}
}

func TestEmptyTableSaysSo(t *testing.T) {
	asked := 0
	if got := logTable(0, &asked).SetSize(80, 5).Select(3).View(uitest.Theme(uitest.Look{})); got != "No round is in the book yet." {
		t.Errorf("view %q", got)
	}
	if got := (ui.Table{Len: 3}).SetSize(10, 5).View(uitest.Theme(uitest.Look{})); got != "" {
		t.Errorf("table without rows' source draws %q", got)
	}
}

func TestTableFitsWithAnyCellsAtAnySize(t *testing.T) {
	th := uitest.Theme(uitest.Look{Color: true})
	rapid.Check(t, func(t *rapid.T) {
		cols := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) ui.TableColumn {
			return ui.TableColumn{
				Title: rapid.StringMatching(`[A-Za-z]{0,9}`).Draw(t, "title"), Align: ui.Align(rapid.IntRange(0, 1).Draw(t, "align")),
				Width: rapid.IntRange(0, 20).Draw(t, "width"), Min: rapid.IntRange(0, 12).Draw(t, "min"),
				Rank: rapid.IntRange(0, 3).Draw(t, "rank"), Grow: rapid.Bool().Draw(t, "grow"),
			}
		}), 0, 6).Draw(t, "columns")
		cell := rapid.String()
		tb := ui.Table{Columns: cols, Len: rapid.IntRange(0, 30).Draw(t, "len"), Row: func(i int) ui.TableRow {
			return ui.TableRow{Cells: []string{cell.Example(i), cell.Example(i + 1), "\x1b[31m", "漢字"}, State: ui.State(i % 4),
				Wide: []string{"", "", "漢字 and a \x1b[31m sentence that goes on"}[i%3], From: i % 5}
		}}
		w, h := rapid.IntRange(1, 90).Draw(t, "w"), rapid.IntRange(1, 20).Draw(t, "h")
		if err := uitest.Fits(tb.SetSize(w, h).Select(rapid.IntRange(-2, 40).Draw(t, "at")).View(th), w, h); err != nil {
			t.Fatal(err)
		}
	})
}

func BenchmarkTable20000RowsOneStep(b *testing.B) {
	asked := 0
	th := uitest.Theme(uitest.Look{Color: true})
	tb := logTable(20000, &asked).SetSize(120, 38)
	for b.Loop() {
		tb, _ = tb.Key(uitest.Key(b, "down"))
		_ = tb.View(th)
	}
}
