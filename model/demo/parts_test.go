package demo

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// Clock changes of Halifax from the IANA time zone data: 2026-03-08 has 23 hours, 2025-11-02 has 25.
func TestTheCalendarKeepsToTheClock(t *testing.T) {
	loc := halifax(t)
	spring := newCalendar(endOf(t, "2026-03-08 12:00"), loc)
	autumn := newCalendar(endOf(t, "2025-11-02 12:00"), loc)
	for _, c := range []struct {
		name  string
		cal   calendar
		day   int
		clock float64
		want  string
	}{
		{"an ordinary morning", spring, 1, 7.5, "2025-11-09T07:30:00-04:00"},
		{"the morning of a short day", spring, 120, 7.75, "2026-03-08T07:45:00-03:00"},
		{"the evening of a long day", autumn, 120, 17.25, "2025-11-02T17:15:00-04:00"},
		{"midnight", autumn, 0, 0, "2025-07-05T00:00:00-03:00"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := c.cal.time(c.cal.at(c.day, c.clock)).Format(time.RFC3339); got != c.want {
				t.Errorf("got %s, want %s", got, c.want)
			}
		})
	}
	if got := spring.time(spring.at(120, 2.5)); got.Before(endOf(t, "2026-03-08 01:00")) || got.After(endOf(t, "2026-03-08 04:00")) {
		t.Errorf("an hour that is left out is taken as %v", got)
	}
	if got := spring.time(spring.end); !got.Equal(endOf(t, "2026-03-08 12:00")) {
		t.Errorf("the end is %v", got)
	}
	if h, d := spring.clock(spring.at(120, 18.5)); math.Abs(h-18.5) > 1e-9 || d != time.Sunday {
		t.Errorf("the clock shows %v on a %v", h, d)
	}
}

// A wandering value has the mean, spread and memory that it was made for (sample moments of an AR(1) series; tolerances from
// its effective number of independent values, about 10,000 · (1−0.8)/(1+0.8)).
func TestWander(t *testing.T) {
	v := wander(stream(3, 1), 10000, 0.8, 2)
	mean, square, product := 0.0, 0.0, 0.0
	for i, x := range v {
		mean += x / float64(len(v))
		square += x * x / float64(len(v))
		if i > 0 {
			product += x * v[i-1] / float64(len(v))
		}
	}
	if math.Abs(mean) > 0.25 || math.Abs(math.Sqrt(square)-2) > 0.15 || math.Abs(product/square-0.8) > 0.03 {
		t.Errorf("mean %.2f, sd %.2f, memory %.3f", mean, math.Sqrt(square), product/square)
	}
	if got, want := v.at(1.5*hour), (v[1]+v[2])/2; math.Abs(got-want) > 1e-12 {
		t.Errorf("between two hours: %v, want %v", got, want)
	}
	if v.at(-5) != v[0] || v.at(1e9) != v[len(v)-1] {
		t.Error("outside of its hours it does not keep its ends")
	}
}

// The reservoir's answer to constant rain, by its differential equation: two stretches are as good as one, it never passes
// the rain, and after many constants it has reached it.
func TestReservoirRelaxes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q, r := rapid.Float64Range(0, 5).Draw(t, "q"), rapid.Float64Range(0, 5).Draw(t, "r")
		a, b := rapid.Float64Range(0, 20*day).Draw(t, "a"), rapid.Float64Range(0, 20*day).Draw(t, "b")
		k := rapid.Float64Range(0.5, 40).Draw(t, "k")
		twice, once := relax(relax(q, r, a, k), r, b, k), relax(q, r, a+b, k)
		if math.Abs(twice-once) > 1e-9 {
			t.Fatalf("two stretches give %v, one gives %v", twice, once)
		}
		if once < math.Min(q, r)-1e-12 || once > math.Max(q, r)+1e-12 {
			t.Fatalf("from %v towards %v it comes to %v", q, r, once)
		}
		if end := relax(q, r, 40*k*day, k); math.Abs(end-r) > 1e-9 {
			t.Fatalf("after forty constants it is %v, not %v", end, r)
		}
	})
}

// Falls that overlap add up, and every drop is measured once.
func TestRainIsMeasuredOnce(t *testing.T) {
	falls := []fall{{from: 1 * hour, to: 5 * hour, rainMM: 8, runoffMM: 4}, {from: 3 * hour, to: 4 * hour, rainMM: 6, runoffMM: 3}, {from: 3 * hour, to: 9 * hour, rainMM: 12, runoffMM: 6}}
	b := newBrook(falls, 3.2e6)
	if got := b.rainMMDay(3.5 * hour); math.Abs(got-(2+6+2)*24) > 1e-9 {
		t.Errorf("%v mm/day where three falls meet", got)
	}
	if b.rainMMDay(0.5*hour) != 0 || b.rainMMDay(10*hour) != 0 {
		t.Error("it rains outside of the falls")
	}
	rapid.Check(t, func(t *rapid.T) {
		cut := rapid.Float64Range(0, 12*hour).Draw(t, "cut")
		if sum := b.rainMM(0, cut) + b.rainMM(cut, 12*hour); math.Abs(sum-26) > 1e-9 {
			t.Fatalf("cut at %v h: %v mm of 26", cut/hour, sum)
		}
		if b.m3s(cut) < springsM3s {
			t.Fatalf("at %v h only %v m3/s", cut/hour, b.m3s(cut))
		}
	})
}

func TestSeasonsByDayOfTheYear(t *testing.T) {
	for _, c := range []struct {
		yearDay float64
		date    string
		litter  litter
		lowC    float64
		highC   float64
	}{
		{26, "26 January", needles, -8, -3}, {140, "20 May", catkins, 5, 15}, {208, "27 July", weed, 17, 21},
		{297, "24 October", leaves, 3, 12}, {350, "16 December", needles, -5, 2},
	} {
		l, rate := litterOf(c.yearDay)
		if l != c.litter || rate <= 0 || rate > 0.7 {
			t.Errorf("%s: %v at %.2f a day", c.date, l, rate)
		}
		if air := meanAirC(c.yearDay); air < c.lowC || air > c.highC {
			t.Errorf("%s: %.1f °C", c.date, air)
		}
	}
	_, fallen := litterOf(297)
	for d := range 366 {
		if _, rate := litterOf(float64(d)); rate > fallen*1.02 {
			t.Errorf("day %d sheds more than the fall of the leaves", d)
		}
		if w := meanWaterC(float64(d)); w < 0.5 || w > 24 {
			t.Errorf("day %d: water of %.1f °C", d, w)
		}
	}
	for m := 1; m <= 12; m++ {
		if r := runoff(m); r <= 0 || r > 1 {
			t.Errorf("month %d: %v of the rain runs off", m, r)
		}
	}
}

func TestIceGrowsWithFrost(t *testing.T) {
	w := &weather{}
	frost := 0.0
	seen := []string{}
	for _, air := range []float64{3, -2, -5, -10, -10, -4, 2, 5, 8} {
		frost = frostAfter(frost, air)
		d := dayWeather{waterC: 4, ice: "none"}
		w.setIce(&d, frost)
		if d.ice != "none" && d.waterC > 2 {
			t.Errorf("%s on water of %v °C", d.ice, d.waterC)
		}
		seen = append(seen, d.ice)
	}
	// Degree-days by hand: 0, 2, 7, 17, 27, 31, 27, 17, 1.
	want := []string{"none", "none", "skim", "skim", "cover", "cover", "cover", "skim", "none"}
	if !slices.Equal(seen, want) {
		t.Errorf("got %v, want %v", seen, want)
	}
}

func TestReadingsStandOnDivisions(t *testing.T) {
	for _, c := range []struct{ v, div, want float64 }{
		{241.37, 1, 241}, {60.04, 0.1, 60}, {60.06, 0.1, 60.1}, {-0.3126, 0.005, -0.315}, {-0.002, 0.005, 0}, {0.1 + 0.2, 0.1, 0.3},
		{19.3, 0.5, 19.5}, {131.2, 2, 132}, {47, 7, 49},
	} {
		if got := toDivision(c.v, c.div); got != c.want || math.Signbit(got) != math.Signbit(c.want) {
			t.Errorf("%v to %v: got %v, want %v", c.v, c.div, got, c.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-500, 500).Draw(t, "v")
		div := rapid.SampledFrom([]float64{1, 0.5, 0.1, 0.005, 2, 5}).Draw(t, "division")
		got := toDivision(v, div)
		if math.Abs(got-v) > div/2*(1+1e-9) {
			t.Fatalf("%v is read as %v on a gauge of %v", v, got, div)
		}
		if text := quantity.Text(got); len(text) > 8 {
			t.Fatalf("nobody writes %s", text)
		}
	})
}

func TestCountersShowWhatHasPassed(t *testing.T) {
	p, err := Plant()
	if err != nil {
		t.Fatal(err)
	}
	g := &gauges{plant: p, r: stream(1, 1)}
	for truth, want := range map[float64]float64{11342.99: 11342, 11343: 11343, 0.4: 0} {
		if got := g.total(keyHours(large), truth); got != want {
			t.Errorf("%v h shows as %v", truth, got)
		}
	}
}

func TestScreenWords(t *testing.T) {
	mild, cold := &dayWeather{airC: 5, ice: "none"}, &dayWeather{airC: -9, ice: "cover"}
	for _, c := range []struct {
		clear float64
		d     *dayWeather
		want  string
	}{{1, mild, "clear"}, {0.41, cold, "clear"}, {0.39, mild, "partly"}, {0.03, mild, "partly"}, {0.02, mild, "blocked"}, {0.2, cold, "iced"}} {
		if got := screenWord(&moment{clear: c.clear}, c.d); got != c.want {
			t.Errorf("%v clear at %v °C: %s, want %s", c.clear, c.d.airC, got, c.want)
		}
	}
}

func TestDemandFollowsTheSupply(t *testing.T) {
	cal := newCalendar(endOf(t, "2025-11-18 20:15"), halifax(t))
	d := newDemand(stream(1, 2), cal)
	supper, night := cal.at(50, 18), cal.at(50, 3)
	one, both, little := d.kw(supper, []string{large}), d.kw(supper, []string{large, small}), d.kw(supper, []string{small})
	if !(little < one && one < both) || d.kw(supper, nil) != 0 {
		t.Errorf("supper takes %.2f, %.2f, %.2f kW", little, one, both)
	}
	if n := d.kw(night, []string{large}); n > one/2 || n < 0.4 {
		t.Errorf("the night takes %.2f kW", n)
	}
	d.holds = append(d.holds, hold{from: night, to: night + hour, atLeast: 2, atMost: 2.1})
	if kw := d.kw(night, []string{large}); kw != 2 {
		t.Errorf("held at 2 kW it takes %v", kw)
	}
	if kw := d.kw(night+hour, []string{large}); kw >= 2 {
		t.Errorf("after that it takes %v", kw)
	}
	for h := range 24 {
		for _, weekend := range []bool{true, false} {
			if u := usual(weekend); u[h] <= 0 || u[0] != u[24] {
				t.Errorf("hour %d: %v kW", h, u[h])
			}
		}
	}
}

// P = V²/R by hand: 2 kW at 240 V is 28.8 ohms, so at 228 V an element takes 1.805 kW; the controller stops at 8 kW.
func TestCapacityByHand(t *testing.T) {
	tell, _ := toldBy(t, Seed, "2025-11-18 20:15")
	w := tell.works
	for _, c := range []struct {
		open  string
		volts float64
		want  float64
	}{{"", 240, 8}, {"", 228, 4 * 228 * 228 / 28.8 / 1000}, {"", 250, 8}, {"E3", 240, 6}, {"E3", 250, 3 * 250 * 250 / 28.8 / 1000}} {
		w.open = c.open
		if got := w.capacity(c.volts); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%q open at %v V: %v kW, want %v", c.open, c.volts, got, c.want)
		}
	}
}

// Over rated speed the sets give just what is taken.
func TestOverspeedBalances(t *testing.T) {
	p, err := Plant()
	if err != nil {
		t.Fatal(err)
	}
	w, err := newWorks(p, newCalendar(endOf(t, "2025-11-18 20:15"), halifax(t)), Seed)
	if err != nil {
		t.Fatal(err)
	}
	w.switchTo(large, small)
	before := 1.0
	for _, kw := range []float64{8.1, 7.5, 6.5, 5} {
		n, err := w.overspeed(kw)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(w.solved.CommonKW-kw) > 0.01 || n <= before {
			t.Errorf("for %v kW it turns at %.3f and gives %.3f kW", kw, n, w.solved.CommonKW)
		}
		before = n
	}
}

func TestNoSentenceIsUsedTwice(t *testing.T) {
	everywhere(t, func(t *testing.T, s *Story) {
		seen := map[string]int{}
		for i, r := range s.Rounds {
			if r.Note == "" || strings.HasPrefix(r.Note, "from paper") {
				continue
			}
			if j, twice := seen[r.Note]; twice {
				t.Errorf("rounds %d and %d say %q", j, i, r.Note)
			}
			seen[r.Note] = i
		}
		if len(seen) < 8 {
			t.Errorf("only %d notes", len(seen))
		}
	})
	n := newNotebook(stream(1, 1))
	if n.about("nothing that anybody wrote of") != "" {
		t.Error("a sentence on nothing")
	}
	for subject, list := range sentences() {
		for _, s := range list {
			if want := subject == "clearing"; strings.Contains(s, "%s") != want {
				t.Errorf("%s: %q", subject, s)
			}
		}
	}
}

func TestVisitsArePlanned(t *testing.T) {
	for _, end := range ends() {
		cal := newCalendar(endOf(t, end), halifax(t))
		list := visits(stream(Seed, streamWalk), cal)
		for i := 1; i < len(list); i++ {
			if gap := list[i].at - list[i-1].at; gap < 3*hour {
				t.Errorf("end %s: visits %d and %d are %.1f h apart", end, i-1, i, gap/hour)
			}
		}
		last := list[len(list)-1]
		if want := cal.at(last.day, 0); !last.last || last.at < want || last.at >= want+25*hour {
			t.Errorf("end %s: the last visit, of day %d, is %.1f h after its midnight", end, last.day, (last.at-want)/hour)
		}
	}
}

// Tam reads the inner ring of the gauge: 19 psi is 131.0 kPa (6.894757 kPa a psi, NIST SP 811).
func TestTamReadsPsi(t *testing.T) {
	tell, _ := toldBy(t, Seed, "2025-11-18 20:15")
	r := record.Round{By: tam}
	tell.pressure(&r, keyPressure, 131.6)
	if r.Typed[keyPressure] != "19 psi" || math.Abs(r.Values[keyPressure]-19*6.894757) > 1e-4 {
		t.Errorf("typed %q, kept %v", r.Typed[keyPressure], r.Values[keyPressure])
	}
}

func TestLitterNames(t *testing.T) {
	seen := map[string]bool{}
	for l := needles; l <= slush; l++ {
		seen[fmt.Sprint(l)] = true
	}
	if len(seen) != 5 {
		t.Errorf("names: %v", seen)
	}
}
