package logview

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/exp/golden"
	"pgregory.net/rapid"

	"example.org/headpond/model/record"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

// listed are the lines of the list, without the head and the signs in front.
func listed(b *bench) []string {
	_, list, _ := strings.Cut(b.s.View(), "  remarks")
	var out []string
	for _, l := range strings.Split(list, "\n")[1:] {
		if strings.TrimSpace(l) != "" {
			out = append(out, strings.TrimRight(l[2:], " "))
		}
	}
	return out
}

func TestEverythingIsListedNewestFirst(t *testing.T) {
	b := newBench(t, uitest.Look{}, 120, 30)
	want := []string{ // the plant's limits are 228 to 252 V and 58.8 to 61.2 Hz, near 220 to 254 V and 57 to 63 Hz
		"Wed 03 Jun 20:00  Ro    round",
		"Wed 03 Jun 12:00  Tam   upkeep done: walk the penstock and look for leaks",
		"Wed 03 Jun 08:00  Ro    round",
		"Wed 03 Jun 02:00  Tam   start of A",
		"Wed 03 Jun 01:00  Ro    trip of A (overspeed); saw switched off",
		"Tue 02 Jun 20:00  Ro    round",
		"Tue 02 Jun 17:00  Ro    correction: Voltage was 2411 V, now 241 V (round of Tue 2 Jun 08:00): the 1 key twice",
		"Tue 02 Jun 08:00  Imke  round",
		"Mon 01 Jun 20:00  Ro    round",
		"Tue 05 May 08:00  Imke  plant description of Tern Hollow holds from here on",
	}
	got := listed(b)
	if len(got) != len(want) {
		t.Fatalf("%d lines, want %d:\n%s", len(got), len(want), b.s.View())
	}
	for i := range want {
		if !strings.HasPrefix(got[i], want[i]) {
			t.Errorf("line %d is %q, want %q", i+1, got[i], want[i])
		}
	}
	for i, want := range map[int]string{2: "out !!  voltage 257 V out; screen", 5: "near !  frequency 57.5 Hz near", 7: "in      corrected since", 8: `leaves on the screen,\nraked`} {
		if !strings.Contains(got[i], want) {
			t.Errorf("line %d is %q, want %q in it", i+1, got[i], want)
		}
	}
}

func TestARoundsNumbersStandInTheirColumns(t *testing.T) {
	b := newBench(t, uitest.Look{}, 120, 30)
	fields := strings.Fields(listed(b)[0])
	if got := strings.Join(fields[:13], " "); got != "Wed 03 Jun 20:00 Ro round A 241 60.1 131 -0.30 3.1 43" {
		t.Errorf("the newest round reads %q", got)
	}
	for w, want := range map[int]string{120: "when by kind runs V Hz kPa pond m load kW dump state remarks", 80: "when by runs V pond m load kW state remarks", 40: "when state remarks"} {
		b.s = b.s.SetSize(w, 20)
		if got := strings.Join(strings.Fields(strings.Split(b.s.View(), "\n")[1]), " "); got != want {
			t.Errorf("at %d the columns are %q, want %q", w, got, want)
		}
	}
}

func TestAPlantInOtherUnitsIsShownInThem(t *testing.T) {
	b := newBench(t, uitest.Look{}, 120, 30)
	s := b.screen()
	s.Units = "us"
	b.s = s
	b.see("psi", "pond ft", "-0.98", "19.0") // -0.3 m / 0.3048; 131 kPa / 6.894757 (NIST SP 811)
	b.hide("kPa  pond")
}

func TestFilters(t *testing.T) {
	cases := []struct {
		name string
		keys []string
		want int
		says string
	}{
		{"rounds", []string{"k"}, 5, "5 of 10 entries: rounds."},
		{"events", []string{"k", "k"}, 2, "events"},
		{"corrections", []string{"k", "k", "k"}, 1, "corrections"},
		{"upkeep", []string{"k", "k", "k", "k"}, 1, "upkeep"},
		{"plant descriptions", []string{"k", "k", "k", "k", "k"}, 1, "plant descriptions"},
		{"everything again", []string{"k", "k", "k", "k", "k", "k"}, 10, "10 entries, newest first"},
		{"one person", []string{"p"}, 2, "by Imke"},
		{"the next person", []string{"p", "p"}, 6, "by Ro"},
		{"everybody again", []string{"p", "p", "p", "p"}, 10, "newest first"},
		{"out of band", []string{"b"}, 1, "with a reading out of band"},
		{"all again", []string{"b", "b"}, 10, "newest first"},
		{"two at once", []string{"k", "p", "p"}, 4, "rounds; by Ro"},
		{"none is left", []string{"k", "k", "b"}, 0, "0 of 10"},
		{"taken away", []string{"k", "p", "b", "x"}, 10, "newest first"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			b := newBench(t, uitest.Look{}, 120, 30)
			b.press(c.keys...)
			b.see(c.says)
			if got := len(b.screen().shown); got != c.want {
				t.Errorf("%d are shown, want %d:\n%s", got, c.want, b.s.View())
			}
		})
	}
}

func TestFindingByWords(t *testing.T) {
	for typed, want := range map[string]int{"SAW": 1, "key twice": 1, "penstock": 1, "leaves screen": 1, "tam": 2, "nowhere": 0, "trip": 1, "?": 0} {
		b := newBench(t, uitest.Look{}, 120, 30)
		b.press("/")
		b.typed(typed)
		if got := len(b.screen().shown); got != want {
			t.Errorf("%q finds %d while it is typed, want %d", typed, got, want)
		}
		b.press("enter")
		if b.s.Capturing() || len(b.screen().shown) != want {
			t.Errorf("%q: Enter does not keep what was found", typed)
		}
	}
}

func TestEscTakesASearchBack(t *testing.T) {
	b := newBench(t, uitest.Look{}, 120, 30)
	b.press("k", "/")
	b.typed("saw")
	b.press("esc")
	if f := b.screen().filter; f.text != "" || f.kind != 1 || b.s.Capturing() {
		t.Errorf("after Esc the filter is %+v", f)
	}
	b.press("/")
	b.typed("overspeed")
	b.press("enter", "/")
	b.see("> Find                  overspeed") // it can be changed
}

func TestTheListMovesWhileWordsAreTyped(t *testing.T) {
	b := newBench(t, uitest.Look{}, 120, 30)
	b.press("/")
	b.typed("r")
	b.press("down")
	if at := b.screen().table.At; at != 1 || !b.s.Capturing() {
		t.Errorf("at %d, typing %v", at, b.s.Capturing())
	}
}

func TestDates(t *testing.T) {
	cases := []struct {
		name, from, to string
		want           int
	}{
		{"from a day on", "2026-06-03", "", 5},
		{"a day is whole", "2026-06-02", "2026-06-02", 3},
		{"to, included", "", "2026-06-01", 2},
		{"a moment", "2026-06-03 01:30", "2026-06-03 08:01", 2},
		{"some days ago", "-1d", "", 3}, // since yesterday 08:00
		{"words", "yesterday", "", 5},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			b := newBench(t, uitest.Look{}, 120, 30)
			b.press("d")
			b.typed(c.from)
			b.press("enter")
			b.typed(c.to)
			b.press("enter")
			if got := len(b.screen().shown); got != c.want || b.s.Capturing() {
				t.Errorf("%d are shown, want %d (typing: %v)\n%s", got, c.want, b.s.Capturing(), b.s.View())
			}
		})
	}
}

func TestADateThatIsNoneIsToldAndNotKept(t *testing.T) {
	b := newBench(t, uitest.Look{}, 120, 30)
	b.press("d")
	b.typed("2026-13-01")
	b.see("is not a time")
	b.press("down", "enter")
	b.heard("Not a time")
	if !b.s.Capturing() {
		t.Error("the field is gone")
	}
	b.press("esc")
	if b.screen().filter.any() {
		t.Error("something is held back")
	}
}

func TestTheSameEntryStaysChosenWhenTheBookChanges(t *testing.T) {
	b := newBench(t, uitest.Look{}, 120, 30)
	b.press("down", "down")
	before := b.screen().selected().id
	b.add(round(morning.Add(-time.Hour)))
	b.reload()
	if got := b.screen().selected().id; got != before || b.screen().table.At != 3 {
		t.Errorf("chosen %s at %d, before %s", got, b.screen().table.At, before)
	}
	b.press("home")
	b.add(round(morning.Add(-time.Minute)))
	b.reload()
	if at := b.screen().table.At; at != 0 {
		t.Errorf("from the top the newest should be seen; at %d", at)
	}
}

func TestAnEmptyBookSaysWhatToDo(t *testing.T) {
	b := emptyBench(t, uitest.Look{}, 80, 20)
	b.start()
	b.press("k", "k") // the plant's description is an entry too
	b.see("Nothing in the book is of this kind")
	b.press("enter", "c", "p", "down", "end")
	b.heard("nothing is listed")
	s := New(uitest.Common(uitest.Look{}, 80, 20, morning), desk.Desk{}).SetSize(80, 20)
	if got := s.View(); !strings.Contains(got, "Reading the book") {
		t.Errorf("before the book is read: %q", got)
	}
	s, _ = s.Update(desk.Loaded{Err: fmt.Errorf("the book is locked")})
	if got := s.View(); !strings.Contains(got, "the book is locked") {
		t.Errorf("a book that cannot be read gives %q", got)
	}
}

func TestTextFromOutsideIsHarmless(t *testing.T) {
	b := emptyBench(t, uitest.Look{}, 120, 20)
	r := round(morning.Add(-time.Hour))
	r.Note, r.By = "\x1b[31mred\x07", "R\u202eo"
	b.add(r)
	b.must(b.book.AddEvent(t.Context(), record.Event{Time: morning, Kind: record.NoteEvent, Note: "\x1b]0;x\x07"}, ""))
	b.start()
	for _, keys := range [][]string{nil, {"down", "enter"}, {"c"}} {
		b.press(keys...)
		if view := b.s.View(); strings.ContainsAny(view, "\x1b\x07") {
			t.Errorf("after %v the view acts: %q", keys, view)
		}
	}
}

func TestCautionsOfTheBookAreShown(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	b.add(round(morning.AddDate(0, 0, 2)))
	b.reload()
	b.see("! a round dated in the future, ")
}

func TestGoldens(t *testing.T) {
	views := map[string][]string{
		"list":    nil,
		"find":    {"/", "s", "a", "w"},
		"entry":   {"end", "up", "up", "enter"},
		"plain":   {"enter", "down", "down", "down"},
		"correct": {"down", "down", "enter", "down", "down", "down", "down", "down", "down", "down", "down", "c", "2", "4", "7"},
		"event":   {"e", " ", " ", " ", "down", "A"},
	}
	for name, keys := range views {
		for lookName, look := range uitest.Looks() {
			for _, size := range []struct{ w, h int }{{80, 20}, {120, 36}} {
				if name != "list" && name != "entry" && lookName != "nocolor" && lookName != "dark" {
					continue
				}
				t.Run(fmt.Sprintf("%s-%s-%dx%d", name, lookName, size.w, size.h+4), func(t *testing.T) {
					b := newBench(t, look, size.w, size.h)
					b.press(keys...)
					golden.RequireEqual(t, []byte(b.s.View()))
				})
			}
		}
	}
}

func TestItFitsAtAnySize(t *testing.T) {
	for name, keys := range map[string][]string{"list": nil, "finder": {"/", "x"}, "dates": {"d", "2"}, "entry": {"end", "up", "enter"}, "correction": {"c"}, "event": {"e", " "}, "question": {"e", "t", "f8"}} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t, uitest.Look{Color: true}, 80, 20)
			b.press(keys...)
			uitest.FitsAtAnySize(t, b.s, uitest.Theme(uitest.Look{Color: true}))
		})
	}
}

func TestBindingsWorkEverywhere(t *testing.T) {
	for name, keys := range map[string][]string{"list": nil, "finder": {"/"}, "entry": {"enter"}, "correction": {"c"}, "event": {"e"}, "question": {"e", "t", "f8"}} {
		b := newBench(t, uitest.Look{}, 80, 20)
		b.press(keys...)
		for _, err := range ui.CheckBindings(b.s.Bindings()) {
			// The form's last lines save and throw away too, by Enter.
			if !strings.Contains(err.Error(), "log.save") && !strings.Contains(err.Error(), "log.drop") {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
}

func TestTheModesKeysAreThoseThatWork(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	groups := b.screen().Modes()
	names := func(list []ui.Binding) (out []string) {
		for _, x := range list {
			out = append(out, x.Action)
		}
		return out
	}
	for i, keys := range [][]string{{"enter"}, {"esc", "/"}, {"esc", "e"}} {
		b.press(keys...)
		if got, want := names(groups[i].Bindings), names(b.s.Bindings()); strings.Join(got, " ") != strings.Join(want, " ") {
			t.Errorf("%s: %v, at work are %v", groups[i].Title, got, want)
		}
	}
}

// Whatever is pressed in whatever order, the screen is drawn and fits.
func TestAnyKeysInAnyOrder(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	fresh := b.s
	names := []string{"enter", "esc", "c", "e", "k", "p", "b", "d", "/", "x", "o", "r", "up", "down", "left", "right", "pgdown", "end", "home", "f2", "f8", "y", "n", "tab", " ", "-", "2", "backspace", "="}
	rapid.Check(t, func(rt *rapid.T) {
		b.s = fresh
		for _, k := range rapid.SliceOfN(rapid.SampledFrom(names), 1, 25).Draw(rt, "keys") {
			b.press(k)
			if err := uitest.Fits(b.s.View(), 80, 20); err != nil {
				rt.Fatal(err)
			}
		}
	})
}
