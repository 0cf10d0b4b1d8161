package chart_test

import (
	"math"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"pgregory.net/rapid"

	"example.org/headpond/tui/ui/chart"
	"example.org/headpond/tui/ui/uitest"
)

func TestTheCursorWalksFromReadingToReading(t *testing.T) {
	c := volts(halifax(t))
	times := c.Times()
	if len(times) != 39 {
		t.Fatalf("%d times, want the 39 readings that are not missing", len(times))
	}
	cases := []struct {
		name string
		from time.Time
		by   int
		want time.Time
	}{
		{"no cursor yet", time.Time{}, -1, times[38]},
		{"back", times[5], -1, times[4]},
		{"on", times[14], 1, times[15]},
		{"before the first", times[0], -1, times[0]},
		{"past the last", times[38], 5, times[38]},
	}
	for _, k := range cases {
		if got := c.Step(k.from, k.by); !got.Equal(k.want) {
			t.Errorf("%s: %v, want %v", k.name, got, k.want)
		}
	}
	if got := (chart.Chart{}).Step(times[0], 1); !got.Equal(times[0]) {
		t.Errorf("a chart without readings moves the cursor to %v", got)
	}
}

// hours are instants at these hours of one day.
func hours(list ...int) []time.Time {
	out := make([]time.Time, len(list))
	for i, h := range list {
		out[i] = time.Date(2026, 8, 14, h, 0, 0, 0, time.UTC)
	}
	return out
}

func TestCursorKeys(t *testing.T) {
	times := hours(0, 6, 7, 18, 30, 31, 55)
	cases := []struct {
		name, keys string
		from       int // the hour; -1 is nowhere
		want       int
	}{
		{"the first key stands on the last", "left", -1, 55},
		{"to the right as well", "right", -1, 55},
		{"home from nowhere", "home", -1, 0},
		{"a page from nowhere", "pgup", -1, 55},
		{"left", "left", 18, 7},
		{"right", "right", 18, 30},
		{"left at the start", "left", 0, 0},
		{"right at the end", "right", 55, 55},
		{"home", "home", 31, 0},
		{"end", "end", 6, 55},
		{"a day back, to the nearest", "pgup", 31, 7},
		{"a day on", "pgdown", 6, 30},
		{"a day on into a gap moves by one at least", "pgdown", 31, 55},
		{"a day back at the start", "pgup", 0, 0},
		{"a day on at the end", "pgdown", 55, 55},
		{"left from where no reading stands", "left", 20, 18},
		{"right from where no reading stands", "right", 20, 30},
	}
	for _, c := range cases {
		var k chart.Cursor
		if c.from >= 0 {
			k.At = hours(c.from)[0]
		}
		got, own := k.Key(uitest.Key(t, c.keys), times, 24*time.Hour)
		if want := hours(c.want)[0]; !own || !got.At.Equal(want) {
			t.Errorf("%s: %v (own key %v), want %v", c.name, got.At, own, want)
		}
	}
	if got, own := (chart.Cursor{At: times[1]}).Key(uitest.Key(t, "up"), times, time.Hour); own || !got.At.Equal(times[1]) {
		t.Error("Up moves the cursor, but it scrolls the page")
	}
	for _, key := range []string{"left", "home", "end", "pgdown"} {
		if got, own := (chart.Cursor{}).Key(uitest.Key(t, key), nil, time.Hour); !own || !got.At.IsZero() {
			t.Errorf("%s without readings: %v, own key %v", key, got.At, own)
		}
	}
}

func TestTheCursorKeepsItsPlaceAmongOtherReadings(t *testing.T) {
	k := chart.Cursor{At: hours(18)[0]}
	if got := k.Nearest(hours(3, 17, 20)); !got.At.Equal(hours(17)[0]) {
		t.Errorf("nearest to 18:00 is %v", got.At)
	}
	if got := k.Nearest(nil); !got.At.IsZero() {
		t.Errorf("without readings it stands at %v", got.At)
	}
	if got := (chart.Cursor{}).Nearest(hours(3)); !got.At.IsZero() {
		t.Errorf("from nowhere it goes to %v", got.At)
	}
}

// Whatever the keys, a cursor stands on one of the instants, moves in the key's direction, and Home, then Right so many
// times, visits them all.
func TestTheCursorOnlyStandsOnReadings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		minutes := rapid.SliceOfNDistinct(rapid.IntRange(0, 1e5), 1, 30, rapid.ID[int]).Draw(t, "minutes")
		var s chart.Series
		for _, m := range minutes {
			s.Points = append(s.Points, chart.Point{At: at(m), Value: 1})
		}
		times := chart.Chart{Series: []chart.Series{s}}.Times()
		if len(times) != len(minutes) {
			t.Fatalf("%d instants of %d readings", len(times), len(minutes))
		}
		on := map[time.Time]bool{}
		for _, x := range times {
			on[x] = true
		}
		k, _ := chart.Cursor{}.Key(tea.KeyMsg{Type: tea.KeyHome}, times, 0)
		for i, want := range times {
			if !k.At.Equal(want) {
				t.Fatalf("step %d stands at %v, want %v", i, k.At, want)
			}
			k, _ = k.Key(tea.KeyMsg{Type: tea.KeyRight}, times, 0)
		}
		page := time.Duration(rapid.IntRange(0, 1e6).Draw(t, "page")) * time.Minute
		for range 20 {
			key := rapid.SampledFrom([]tea.KeyType{tea.KeyLeft, tea.KeyRight, tea.KeyHome, tea.KeyEnd, tea.KeyPgUp, tea.KeyPgDown}).Draw(t, "key")
			next, _ := k.Key(tea.KeyMsg{Type: key}, times, page)
			back := key == tea.KeyLeft || key == tea.KeyHome || key == tea.KeyPgUp
			switch {
			case !on[next.At]:
				t.Fatalf("%v stands on no reading", next.At)
			case back && next.At.After(k.At), !back && next.At.Before(k.At):
				t.Fatalf("%v moves from %v to %v", key, k.At, next.At)
			case next == k && back && !k.At.Equal(times[0]), next == k && !back && !k.At.Equal(times[len(times)-1]):
				t.Fatalf("%v is stuck at %v", key, k.At)
			}
			k = next
		}
	})
}

func TestAreasAloneHaveACursorToo(t *testing.T) {
	c := power(time.UTC)
	c.Cursor = c.Step(time.Time{}, 1)
	if n := len(c.Times()); n != 29 {
		t.Fatalf("%d instants, want the 29 readings", n)
	}
	view := c.View(uitest.Theme(uitest.Look{}), 80, 14)
	// The last reading: used 3 + 2 sin 28 = 3.54, and dumped the rest of 5.8.
	for _, want := range []string{"used 3.5", "dumped 2.3", "at Mon 17 Aug 00:00", "^"} {
		if !strings.Contains(view, want) {
			t.Errorf("no %q in\n%s", want, view)
		}
	}
}

// The cursor's places are in order, each once, and within the time shown; each is a reading's.
func TestTheCursorsPlacesAreReadings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := tameChart().Draw(t, "chart")
		if rapid.Bool().Draw(t, "window") {
			c.From, c.To = at(rapid.IntRange(0, 20000).Draw(t, "from")), at(rapid.IntRange(20001, 50000).Draw(t, "to"))
		}
		read := map[time.Time]bool{}
		for _, s := range c.Series {
			for _, p := range s.Points {
				read[p.At] = read[p.At] || !math.IsNaN(p.Value)
			}
		}
		lines := len(read) > 0
		for _, b := range c.Bands {
			for _, p := range b.Points {
				read[p.At] = read[p.At] || !math.IsNaN(p.Low) && !math.IsNaN(p.High)
			}
		}
		times := c.Times()
		for i, x := range times {
			switch {
			case i > 0 && !x.After(times[i-1]):
				t.Fatalf("%v stands after %v", x, times[i-1])
			case !read[x]:
				t.Fatalf("nothing was read at %v", x)
			case !c.From.IsZero() && (x.Before(c.From) || x.After(c.To)):
				t.Fatalf("%v is not shown", x)
			}
		}
		if !lines && len(c.Bands) == 0 && len(times) > 0 {
			t.Fatalf("%v in a chart without readings", times)
		}
	})
}

// Nearest is the nearest: no other instant is nearer, and one that is there stays.
func TestNearest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var times []time.Time
		for _, m := range rapid.SliceOfNDistinct(rapid.IntRange(0, 1000), 1, 20, rapid.ID[int]).Draw(t, "minutes") {
			times = append(times, at(m))
		}
		k := chart.Cursor{At: at(rapid.IntRange(-100, 1100).Draw(t, "cursor"))}
		got := k.Nearest(times)
		for _, x := range times {
			if x.Sub(k.At).Abs() < got.At.Sub(k.At).Abs() {
				t.Fatalf("from %v it goes to %v, but %v is nearer", k.At, got.At, x)
			}
		}
		if again := got.Nearest(times); again != got {
			t.Fatalf("from %v, where it stood, it goes to %v", got.At, again.At)
		}
	})
}

// A chart's Step and a Cursor's keys walk the same way.
func TestStepAndKeysAgree(t *testing.T) {
	left, right := uitest.Key(t, "left"), uitest.Key(t, "right")
	rapid.Check(t, func(t *rapid.T) {
		c := tameChart().Draw(t, "chart")
		times := c.Times()
		if len(times) == 0 {
			return
		}
		k := chart.Cursor{At: rapid.SampledFrom(append([]time.Time{{}, at(-5), at(99999)}, times...)).Draw(t, "cursor")}
		for key, by := range map[tea.KeyType]int{left.Type: -1, right.Type: 1} {
			got, _ := k.Key(tea.KeyMsg{Type: key}, times, time.Hour)
			if want := c.Step(k.At, by); !got.At.Equal(want) {
				t.Fatalf("from %v by %d: the key goes to %v, Step to %v", k.At, by, got.At, want)
			}
		}
	})
}
