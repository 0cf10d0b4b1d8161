package water

import (
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
)

// channelOf is the made-up plant's, at a time, with what runs beside the plant as the file says.
func channelOf(t testing.TB, p *plant.Plant, at time.Time, levelM float64) *channel {
	t.Helper()
	b, err := newBasin(p, twoDraws)
	if err != nil {
		t.Fatal(err)
	}
	return newChannel(b, at, b.bypass, false, levelM)
}

func partDay(t testing.TB, b *basin, unit, from, to string) way {
	t.Helper()
	w := way{run: []string{}, plan: &Plan{Unit: unit, From: from, To: to}}
	var err error
	if w.part, err = w.plan.part(); err != nil {
		t.Fatal(err)
	}
	return w
}

// From 07:00 on, a machine that runs from 06:00 to 22:00 stops after 15 h, starts after 23 h, and so on.
func TestStepsEndWhereAPlanChanges(t *testing.T) {
	c := channelOf(t, twoUnits(), july(1, 7), 0.5)
	w := partDay(t, c.b, "A", "06:00", "22:00")
	got := c.edges(w, steps(0, 1, 2))
	for i := range got {
		got[i] /= 3600
	}
	if want := []float64{0, 15, 23, 39, 47, 48}; !slices.Equal(got, want) {
		t.Errorf("steps end after %v h, want %v", got, want)
	}
	course, err := c.course(w, steps(0, 1, 2))
	if err != nil {
		t.Fatal(err)
	}
	for i, on := range []bool{true, false, true, false, true} {
		if q := course.leaps[i].running.draw.meanAt(0.5); (q > 0) != on {
			t.Errorf("step %d draws %g m³/s", i, q)
		}
		if course.leaps[i].standing.draw.meanAt(0.5) != 0 {
			t.Error("what stands draws water")
		}
	}
}

// Where the clocks go forward, the night without a machine is seven hours (Halifax, 8 March 2026).
func TestAPlanFollowsTheWallClock(t *testing.T) {
	loc, err := time.LoadLocation("America/Halifax")
	if err != nil {
		t.Skip("no time zone data on this machine")
	}
	p := twoUnits()
	p.Location = loc
	c := channelOf(t, p, time.Date(2026, 3, 7, 12, 0, 0, 0, loc), 0.5)
	got := c.edges(partDay(t, c.b, "A", "06:00", "22:00"), steps(0, 1, 1))
	if hours := (got[2] - got[1]) / 3600; hours != 7 {
		t.Errorf("the night lasts %g h: steps %v", hours, got)
	}
}

// Steps follow each other from now to the horizon, none longer than the grid's, whatever the plan and the grid.
func TestStepsFillTheHorizon(t *testing.T) {
	c := channelOf(t, twoUnits(), july(1, 7), 0.5)
	rapid.Check(t, func(t *rapid.T) {
		horizon := time.Duration(rapid.IntRange(1, 40*24).Draw(t, "horizon, h")) * time.Hour
		days := grid(horizon, float64(rapid.IntRange(0, 400000).Draw(t, "quick, s")))
		w := way{run: []string{"A"}}
		if rapid.Bool().Draw(t, "plan") {
			w = partDayWay([]string{"A"}, "B", rapid.IntRange(1, mostHalfHours).Draw(t, "half hours"))
		}
		course, err := c.course(w, days)
		if err != nil {
			t.Fatal(err)
		}
		next := 0.0
		for _, l := range course.leaps {
			if l.from != next || l.dt <= 0 {
				t.Fatalf("a step from %g s of %g s, want from %g s", l.from, l.dt, next)
			}
			k, _ := place(days, l.from/secondsPerDay)
			if longest := (days[k+1]-days[k])*secondsPerDay + 2; l.dt > longest {
				t.Fatalf("a step of %g s where the grid has %g", l.dt, longest)
			}
			for _, end := range []struct {
				k   int
				a   float64
				day float64
			}{{l.k0, l.a0, l.from / secondsPerDay}, {l.k1, l.a1, (l.from + l.dt) / secondsPerDay}} {
				at := days[end.k] + end.a*(days[end.k+1]-days[end.k])
				if math.Abs(at-end.day) > 1e-4 {
					t.Fatalf("the inflow of day %g is taken at day %g", end.day, at)
				}
			}
			next = l.from + l.dt
		}
		if math.Abs(next-horizon.Seconds()) > 1 {
			t.Fatalf("the steps end after %g s, the horizon is %g s", next, horizon.Seconds())
		}
	})
}

// The grid is hours where the pond lasts half a day, quarter days where it lasts three, else days; it ends at the horizon.
func TestTheGridIsFineWhereThePondIsSmall(t *testing.T) {
	for _, c := range []struct {
		lasts float64 // days
		first float64 // length of the first step, days
		n     int     // of a horizon of ten days
	}{{0.2, 1.0 / 24, 24 + 20 + 4}, {2, 0.25, 24 + 4}, {10, 1, 10}} {
		g := grid(10*24*time.Hour, c.lasts*secondsPerDay)
		near(t, "first step", g[1]-g[0], c.first, 1e-12)
		if len(g)-1 != c.n {
			t.Errorf("a pond of %g days: %d steps, want %d", c.lasts, len(g)-1, c.n)
		}
		near(t, "end", g[len(g)-1], 10, 1e-9)
	}
	if g := grid(30*time.Minute, 1e9); len(g) != 2 || math.Abs(g[1]-0.5/24) > 1e-12 {
		t.Errorf("a horizon of half an hour: %v", g)
	}
}

func TestPlaceFindsTheDay(t *testing.T) {
	days := []float64{0, 0.25, 0.5, 1, 3}
	for _, c := range []struct {
		day float64
		k   int
		a   float64
	}{{0, 0, 0}, {0.1, 0, 0.4}, {0.25, 1, 0}, {0.75, 2, 0.5}, {2, 3, 0.5}, {3, 3, 1}, {9, 3, 1}, {-1, 0, 0}} {
		k, a := place(days, c.day)
		if k != c.k || math.Abs(a-c.a) > 1e-12 {
			t.Errorf("day %g: between %d and the next, %g of the way; want %d, %g", c.day, k, a, c.k, c.a)
		}
	}
}

// Power between the knots is straight: it must come near the draw's own at any volume.
func TestPowerByVolumeIsTheDrawsOwn(t *testing.T) {
	b, err := newBasin(twoUnits(), func(levelM float64, running []string) (float64, float64) {
		if len(running) == 0 {
			return 0, 0
		}
		return 0.08 + 0.01*levelM, 5 + 2*levelM
	})
	if err != nil {
		t.Fatal(err)
	}
	c := newChannel(b, july(1, 7), b.bypass, false, 0.5)
	w, err := c.wet(b.draws.table([]string{"A"}), july(1, 7), 86400)
	if err != nil {
		t.Fatal(err)
	}
	for level := -0.3; level < 1.3; level += 0.07 {
		near(t, "kW", w.kwAt(b.stage.VolumeM3(level)), 5+2*level, 0.01)
		q, kw := b.draws.table([]string{"A"}).at(level)
		near(t, "flow of the table", q, 0.08+0.01*level, 1e-9)
		near(t, "power of the table", kw, 5+2*level, 1e-9)
	}
	near(t, "far below the table", w.kwAt(-1e9), w.kw[0], 0)
	near(t, "far above", w.kwAt(1e9), w.kw[powerKnots-1], 0)
	// 10 L/s beside the plant, 5.5 mm/day of July from 109 000 m² or so, and the draw.
	area := b.stage.AreaM2(0.5)
	near(t, "outflow", w.outflow(b.stage.VolumeM3(0.5)), 0.010+5.5e-3/86400*area+0.085, 1e-9)
}

// One routing serves every step of the same machines, month and length.
func TestRoutingsAreKept(t *testing.T) {
	c := channelOf(t, twoUnits(), july(1, 7), 0.5)
	if _, err := c.course(way{run: []string{"A"}}, steps(0, 1, 120)); err != nil {
		t.Fatal(err)
	}
	// From 1 July, 120 steps of a day end on 29 October: four months, with A and with nothing.
	if n := len(c.routings); n != 8 {
		t.Errorf("%d routings for four months of two states", n)
	}
}

// Under ice nothing evaporates; a cover that was read is not believed for longer than sixty days.
func TestIceIsTakenToMelt(t *testing.T) {
	b, err := newBasin(twoUnits(), twoDraws)
	if err != nil {
		t.Fatal(err)
	}
	c := newChannel(b, time.Date(2026, 1, 10, 7, 0, 0, 0, time.UTC), b.bypass, true, 0.5)
	v := b.stage.VolumeM3(0.5)
	soon, err := c.wet(b.draws.table(nil), c.at.AddDate(0, 0, 30), 86400)
	if err != nil {
		t.Fatal(err)
	}
	late, err := c.wet(b.draws.table(nil), c.at.AddDate(0, 0, 70), 86400)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "under ice", soon.outflow(v), 0.010, 1e-12)
	near(t, "after the ice, in March", late.outflow(v), 0.010+1.5e-3/86400*b.stage.AreaM2(0.5), 1e-9)
}
