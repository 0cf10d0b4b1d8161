package ui_test

import (
	"fmt"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"pgregory.net/rapid"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
	"example.org/headpond/tui/ui/uitest"
)

func numbered(n int) []string {
	lines := make([]string, n)
	for i := range lines {
		lines[i] = fmt.Sprintf("line %d", i)
	}
	return lines
}

func TestClampCutsWithAMarkAndCountsWhatIsBelow(t *testing.T) {
	th, ascii := uitest.Theme(uitest.Look{}), uitest.Theme(uitest.Look{ASCII: true})
	cases := []struct {
		name string
		t    ui.Theme
		view string
		w, h int
		want string
	}{
		{"fits", th, "abc\nde", 3, 2, "abc\nde"},
		{"too wide", th, "abcdef\nab", 4, 2, "abc…\nab"},
		{"too wide, ASCII", ascii, "abcdéf", 5, 1, "abcd~"},
		{"ASCII has no other character", ascii, "4 °C", 5, 1, "4 C "},
		{"too tall", th, "a\nb\nc\nd", 20, 3, "a\nb\n2 more below"},
		{"too tall for one line", th, "a\nb", 4, 1, "a  …"},
		{"one cell", th, "abc\nd", 1, 1, "…"},
		{"wide character over the edge", th, "漢字", 3, 1, "漢…"},
		{"no room", th, "abc", 0, 5, ""},
		{"no height", th, "abc", 5, 0, ""},
	}
	for _, c := range cases {
		if got := ui.Clamp(c.t, c.view, c.w, c.h); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

func TestClampedViewFitsAnyWindow(t *testing.T) {
	for _, th := range []ui.Theme{uitest.Theme(uitest.Look{Color: true}), uitest.Theme(uitest.Look{ASCII: true})} {
		rapid.Check(t, func(t *rapid.T) {
			lines := rapid.SliceOf(rapid.Custom(func(t *rapid.T) string {
				s := text.Show(rapid.String().Draw(t, "text"))
				if rapid.Bool().Draw(t, "bold") {
					s = th.Strong.Render(s)
				}
				return s
			})).Draw(t, "lines")
			w, h := rapid.IntRange(1, 60).Draw(t, "w"), rapid.IntRange(1, 20).Draw(t, "h")
			view := ui.Clamp(th, strings.Join(lines, "\n"), w, h)
			if err := uitest.Fits(view, w, h); err != nil {
				t.Fatal(err)
			}
		})
	}
}

func TestTooSmallSaysWhatIsNeeded(t *testing.T) {
	th := uitest.Theme(uitest.Look{})
	if view, small := ui.TooSmall(th, 40, 10, 40, 10); small {
		t.Errorf("a window of the smallest size is refused: %q", view)
	}
	view, small := ui.TooSmall(th, 30, 9, 40, 10)
	if got := strings.ReplaceAll(view, "\n", " "); !small || got != "This window is 30 by 9. It must be at least 40 by 10. Nothing is lost." {
		t.Errorf("sentence %q", got)
	}
	for w := -1; w < 45; w++ {
		for h := -1; h < 12; h++ {
			view, small := ui.TooSmall(th, w, h, 40, 10)
			if want := w < 40 || h < 10; small != want {
				t.Errorf("%d by %d: small %v, want %v", w, h, small, want)
			}
			if err := uitest.Fits(view, w, h); err != nil {
				t.Errorf("%d by %d: %v", w, h, err)
			}
		}
	}
}

func TestSectionAndStack(t *testing.T) {
	th := uitest.Theme(uitest.Look{})
	cases := []struct{ name, got, want string }{
		{"heading with rule", ui.Section(th, "Pond", "body", 10), "Pond ─────\nbody"},
		{"no body", ui.Section(th, "Pond", "", 10), "Pond ─────"},
		{"no room for a rule", ui.Section(th, "Pond", "", 5), "Pond"},
		{"heading cut", ui.Section(th, "Valve and gauge", "", 6), "Valve…"},
		{"stack", ui.Stack("a", "", "b"), "a\n\nb"},
	}
	for _, c := range cases {
		if c.got != c.want {
			t.Errorf("%s: %q, want %q", c.name, c.got, c.want)
		}
	}
}

// block draws its width into each line, so that the test sees what it was given.
func block(name string, lines int) func(int) string {
	return func(w int) string {
		out := make([]string, lines)
		for i := range out {
			out[i] = fmt.Sprintf("%s%d", name, w)
		}
		return strings.Join(out, "\n")
	}
}

func TestColumnsStandSideBySideWhereTheyFit(t *testing.T) {
	th := uitest.Theme(uitest.Look{})
	a := ui.Column{Min: 10, Weight: 1, Body: block("a", 1)}
	b := ui.Column{Min: 10, Weight: 3, Body: block("b", 2)}
	fixed := ui.Column{Min: 5, Body: block("c", 1)}
	cases := []struct {
		name string
		w    int
		cols []ui.Column
		want string
	}{
		{"just fit", 22, []ui.Column{a, b}, "a10         b10\n            b10"},
		{"spare by weight", 30, []ui.Column{a, b}, "a12           b16\n              b16"},
		{"stacked below", 21, []ui.Column{a, b}, "a21\n\nb21\nb21"},
		{"fixed column takes no spare", 19, []ui.Column{fixed, a}, "c5     a12"},
		{"nothing grows", 30, []ui.Column{fixed}, "c5"},
	}
	for _, c := range cases {
		if got := ui.Columns(th, c.w, 2, c.cols...); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

func TestScrollCountsEveryHiddenLine(t *testing.T) {
	th := uitest.Theme(uitest.Look{})
	rapid.Check(t, func(t *rapid.T) {
		n, h := rapid.IntRange(0, 40).Draw(t, "lines"), rapid.IntRange(1, 20).Draw(t, "h")
		first := rapid.IntRange(0, max(0, n-1)).Draw(t, "first")
		s := ui.Scroll{Top: rapid.IntRange(-5, 60).Draw(t, "top")}.Reveal(first, first, n, h)
		view := strings.Split(s.View(th, numbered(n), 30, h), "\n")
		above, below, shown, seen := 0, 0, 0, false
		for _, l := range view {
			var k int
			switch {
			case strings.HasSuffix(l, "more above"):
				fmt.Sscanf(l, "%d", &above)
			case strings.HasSuffix(l, "more below"):
				fmt.Sscanf(l, "%d", &below)
			case strings.HasPrefix(l, "line "):
				fmt.Sscanf(l, "line %d", &k)
				seen = seen || k == first
				shown++
			}
		}
		if len(view) > h {
			t.Fatalf("%d lines in a window of %d", len(view), h)
		}
		if h >= 3 && above+shown+below != n {
			t.Fatalf("%d above + %d shown + %d below is not %d:\n%s", above, shown, below, n, strings.Join(view, "\n"))
		}
		if n > 0 && !seen {
			t.Fatalf("line %d is not shown of %d in %d:\n%s", first, n, h, strings.Join(view, "\n"))
		}
	})
}

func TestScrollMovesNoMoreThanNeeded(t *testing.T) {
	s := ui.Scroll{Top: 5}
	if got := s.Reveal(7, 9, 30, 10); got != s {
		t.Errorf("lines in sight moved the window to %d", got.Top)
	}
	if got := (ui.Scroll{}).Reveal(29, 29, 30, 10); got.Top != 20 {
		t.Errorf("the last line puts the window at %d, want 20", got.Top)
	}
	if got := (ui.Scroll{Top: 20}).Reveal(0, 0, 30, 10); got.Top != 0 {
		t.Errorf("the first line puts the window at %d, want 0", got.Top)
	}
}

func TestScrollKeys(t *testing.T) {
	cases := []struct {
		key  string
		from int
		want int
		used bool
	}{
		{"down", 0, 1, true}, {"up", 0, 0, true}, {"up", 5, 4, true}, {"pgdown", 0, 8, true}, {"pgup", 20, 12, true},
		{"end", 0, 20, true}, {"home", 9, 0, true}, {"down", 20, 20, true}, {"x", 5, 5, false}, {"enter", 5, 5, false},
	}
	for _, c := range cases {
		got, used := ui.Scroll{Top: c.from}.Key(uitest.Key(t, c.key), 30, 10)
		if got.Top != c.want || used != c.used {
			t.Errorf("%s from %d: %d, %v; want %d, %v", c.key, c.from, got.Top, used, c.want, c.used)
		}
	}
	if _, used := (ui.Scroll{}).Key(tea.KeyMsg{Type: tea.KeyCtrlC}, 3, 3); used {
		t.Error("Ctrl-C is taken for scrolling")
	}
}
