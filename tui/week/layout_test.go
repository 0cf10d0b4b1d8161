package weekview

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/headpond/model/week"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

// titlesOf lists the charts on a wide screen from top to bottom.
func titlesOf(view string) []string {
	var out []string
	for _, l := range strings.Split(view, "\n") {
		for k := range kinds {
			if strings.Contains(l, "  "+k.title()+", ") || strings.Contains(l, "> "+k.title()+" ") {
				out = append(out, k.title())
			}
		}
	}
	return out
}

func TestAWideWindowShowsTheChartsInTurn(t *testing.T) {
	s := screen(t, uitest.Look{}, 120, 36, sample())
	order := []string{"Power used and dumped", "Voltage", "Frequency", "Intake pressure", "Pond level"}
	for i := range kinds {
		got := titlesOf(s.View())
		if len(got) != 4 {
			t.Fatalf("at 36 lines there are %d charts: %v\n%s", len(got), got, s.View())
		}
		for j, title := range got {
			if want := order[(int(i)+j)%len(order)]; title != want {
				t.Errorf("with %s picked, place %d has %s, want %s", order[i], j, title, want)
			}
		}
		s, _ = press(t, s, "c")
	}
	for h, want := range map[int]int{16: 1, 24: 2, 48: 5, 70: 5} {
		if got := titlesOf(screen(t, uitest.Look{}, 120, h, sample()).View()); len(got) != want {
			t.Errorf("at %d lines there are %d charts, want %d", h, len(got), want)
		}
	}
}

func TestChartsWithoutAReadingDoNotStandBesideOthers(t *testing.T) {
	r := sample()
	for i := range r.Points {
		delete(r.Points[i].Values, "hertz")
		delete(r.Points[i].Values, "pressure_kpa")
	}
	got := strings.Join(titlesOf(screen(t, uitest.Look{}, 120, 60, r).View()), ", ")
	if want := "Power used and dumped, Voltage, Pond level"; got != want {
		t.Errorf("charts %s, want %s", got, want)
	}
}

// The first page of the smallest usual window answers the owner's questions without a key: is it well, what must be decided,
// what did it give, did it keep its bands.
func TestTheFirstPageAnswersTheOwner(t *testing.T) {
	s := screen(t, uitest.Look{}, 80, 20, sample())
	lines := strings.Split(s.View(), "\n")
	if len(lines) != 20 {
		t.Fatalf("%d lines", len(lines))
	}
	row := func(part string) int {
		for i, l := range lines {
			if strings.Contains(l, part) {
				return i
			}
		}
		t.Fatalf("%q is not on the first page:\n%s", part, s.View())
		return -1
	}
	order := []int{row("Week from"), row("!! The plant ran"), row("To decide"), row("OUT !!"), row("What it gave"), row("generated"), row("used"), row("dumped"), row("available"), row("Time in band"), row("Voltage")}
	for i := 1; i < len(order); i++ {
		if order[i] <= order[i-1] {
			t.Errorf("the page's order is %v", order)
		}
	}
}

func TestAKeyChangesTheChartAndNothingElse(t *testing.T) {
	s := screen(t, uitest.Look{}, 120, 36, sample())
	s, _ = press(t, s, "left")
	before := strings.Split(s.View(), "\n")
	s, _ = press(t, s, "left")
	for i, l := range strings.Split(s.View(), "\n") {
		a, b := []rune(l), []rune(before[i])
		if left := string(a[:min(60, len(a))]); left != string(b[:min(60, len(b))]) {
			t.Errorf("line %d of the page moved: %q", i, left)
		}
	}
}

func TestOtherSizes(t *testing.T) {
	for _, size := range [][2]int{{40, 8}, {60, 16}, {100, 26}, {160, 46}} {
		for _, keys := range [][]string{nil, {"left"}} {
			s := uitest.Press(t, screen(t, uitest.Look{}, size[0], size[1], sample()), keys...)
			view := s.View()
			if err := uitest.Fits(view, size[0], size[1]); err != nil {
				t.Fatal(err)
			}
			first, _, _ := strings.Cut(view, "\n")
			if keys == nil && !strings.HasPrefix(first, " Week from") || keys != nil && size[0] < wideEnough && !strings.HasPrefix(first, "> Power") {
				t.Errorf("%v after %v begins with %q", size, keys, first)
			}
		}
	}
	uitest.FitsAtAnySize(t, screen(t, uitest.Look{Color: true}, 80, 20, sample()), uitest.Theme(uitest.Look{Color: true}))
}

func TestDaysOfAYear(t *testing.T) {
	p := pageOf(t, byDays())
	f := p.figure(voltsChart)
	if len(f.chart.Series) != 0 || len(f.chart.Bands) != 1 || len(f.stops) != 8 {
		t.Fatalf("%d lines, %d areas, %d stops", len(f.chart.Series), len(f.chart.Bands), len(f.stops))
	}
	if b := f.chart.Bands[0].Points[3]; b.Low != 236 || b.High != 258 || !b.At.Equal(at(21, 12, 0)) {
		t.Errorf("the 21st is drawn as %+v", b)
	}
	if len(f.chart.Flags) != 1 || f.chart.Flags[0].State != ui.Out || f.chart.Flags[0].Value != 258 {
		t.Errorf("flags %+v", f.chart.Flags)
	}
	s := screen(t, uitest.Look{}, 80, 20, byDays())
	s.kind, s.cursor.At, s.walking = levelChart, at(20, 12, 0), true
	sees(t, s, "Fri 20 Nov: pond level from -0.50 m to -0.45 m", "^") // beside a forecast, which is a line
	powers := p.figure(powerChart)
	if len(powers.stops) != 7 || powers.chart.Unit != "kWh a day" { // nothing is known of the 24th
		t.Errorf("%d days in %s", len(powers.stops), powers.chart.Unit)
	}
	for _, e := range powers.chart.Events {
		if e.Sign != 'T' {
			t.Errorf("a year's chart marks %c", e.Sign)
		}
	}
	if n := len(p.figure(hertzChart).stops); n != 0 {
		t.Errorf("%d days of a frequency that nobody read", n)
	}
}

func TestTheDaysOfATableHaveOneLastDigit(t *testing.T) {
	day := func(v, half float64) week.DayFacts {
		return week.DayFacts{EnergyKWh: week.Energy{Generated: &week.Range{Value: v, Low: v - half, High: v + half}}}
	}
	for _, c := range []struct {
		days []week.DayFacts
		want float64
	}{
		{[]week.DayFacts{day(143, 14), day(58, 3)}, 1},
		{[]week.DayFacts{day(1430, 140), day(580, 3)}, 10},
		{[]week.DayFacts{day(14.3, 0.2)}, 0.1},
		{[]week.DayFacts{{}}, 0.1},
		{nil, 0.1},
	} {
		if got := dayStep(c.days); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%v: %v, want %v", c.days, got, c.want)
		}
	}
}

// What is written of a range is the range, to the digits that are written.
func TestRoundingKeepsToTheStep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(0, 1e6).Draw(t, "v")
		half := rapid.Float64Range(0, 1e5).Draw(t, "half")
		r := week.Range{Value: v, Low: v - half, High: v + half}
		s := step(r)
		shown, err := strconv.ParseFloat(rounded(v, s), 64)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(shown-v) > s/2+0.051 {
			t.Fatalf("%v is shown as %v with the step %v", v, shown, s)
		}
		if s > 0.1 && half > 0 && s > math.Max(half, v/1000)*1.0001 {
			t.Fatalf("the step %v is coarser than the range's half %v", s, half)
		}
		if log := math.Log10(s); math.Abs(log-math.Round(log)) > 1e-9 {
			t.Fatalf("the step %v is no power of ten", s)
		}
	})
}

// A set that was stopped in one week and stands on through the next was stopped once.
func TestAStopCountsInThePeriodInWhichItBegan(t *testing.T) {
	r := sample()
	stop := week.Stop{At: entry(12, 9, 0), Kind: "stop", Units: []string{"B"}, Hours: 310}
	r.Stops, r.Before.Stops = []week.Stop{stop}, []week.Stop{stop}
	p := pageOf(t, r)
	if got := p.available(&r.Period); !strings.HasSuffix(got, "no trip, no stop") {
		t.Errorf("this week: %q", got)
	}
	if got := p.available(r.Before); !strings.HasSuffix(got, "no trip, 1 stop") {
		t.Errorf("the week before: %q", got)
	}
	list := p.stops().Items
	if len(list) != 1 || !strings.Contains(list[0].Text, "since before this week") {
		t.Errorf("it is listed as %+v", list)
	}
}
