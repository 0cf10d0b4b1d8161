package clearing

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// at puts all probability on one cell.
func at(n, k, i int) *grid {
	g := empty(n)
	g.p[k*n+i] = 1
	return g
}

func mean(list []float64) float64 {
	m := 0.0
	for i, p := range list {
		m += float64(i) * p
	}
	return m / sum(list)
}

// Whatever is done to a grid, probabilities stay probabilities and sum to 1.
func TestProbabilityIsKept(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := newGrid(rapid.IntRange(30, 120).Draw(t, "cells"))
		for range rapid.IntRange(1, 8).Draw(t, "steps") {
			switch rapid.IntRange(0, 2).Draw(t, "what") {
			case 0:
				g.pass(rapid.Float64Range(0, 30).Draw(t, "days"))
			case 1:
				g.clear()
			case 2:
				s := &sight{Sight: Sight{LossM: rapid.Float64Range(-3, 30).Draw(t, "loss")}, sdM: rapid.Float64Range(0, 2).Draw(t, "sd"),
					tiltM: rapid.Float64Range(0, 1).Draw(t, "tilt"), cleanM: rapid.Float64Range(1e-4, 0.2).Draw(t, "clean")}
				if l := g.weigh(likelihood(g.n, s, offSide, false)); !(l > 0) {
					t.Fatalf("likelihood %g", l)
				}
			}
		}
		for i, p := range g.p {
			if !(p >= 0 && p <= 1) {
				t.Fatalf("cell %d has %g", i, p)
			}
		}
		if s := sum(g.p); math.Abs(s-1) > 1e-9 {
			t.Fatalf("the grid sums to %.12f", s)
		}
	})
}

// A shift by 3.4 cells puts 0.6 three and 0.4 four cells on; what would pass the ends stays there.
func TestShift(t *testing.T) {
	for _, c := range []struct {
		from  int
		cells float64
		want  map[int]float64
	}{
		{5, 3.4, map[int]float64{8: 0.6, 9: 0.4}}, {5, -2.25, map[int]float64{2: 0.25, 3: 0.75}}, {5, 0, map[int]float64{5: 1}}, {5, -5, map[int]float64{0: 1}},
		{1, -1.5, map[int]float64{0: 1}}, {38, 1, map[int]float64{39: 1}}, {38, 1.5, map[int]float64{39: 1}}, {38, 900, map[int]float64{39: 1}}, {38, -900, map[int]float64{0: 1}},
	} {
		g := at(40, 0, c.from)
		shift(g.row(0), c.cells)
		for i, p := range g.row(0) {
			if math.Abs(p-c.want[i]) > 1e-12 {
				t.Errorf("%d by %g: cell %d has %g, want %g", c.from, c.cells, i, p, c.want[i])
			}
		}
	}
}

// Half of the probability moved up by a distance that falls by a half from cell to cell: cell 0 keeps 0.5 + 0.5·0.5, the next
// get 0.5·0.5², 0.5·0.5³, and the last all that would have gone further. Down is its mirror image.
func TestSuddenMoves(t *testing.T) {
	row := []float64{1, 0, 0, 0}
	up(row, 0.5, 0.5)
	want := []float64{0.75, 0.125, 0.0625, 0.0625}
	back := []float64{0, 0, 0, 1}
	down(back, 0.5, 0.5)
	for i := range row {
		if math.Abs(row[i]-want[i]) > 1e-12 || math.Abs(back[3-i]-want[i]) > 1e-12 {
			t.Fatalf("up %v, down %v, want %v and its mirror", row, back, want)
		}
	}
}

// The growth wanders with its variance and stays where it is in the mean.
func TestTheGrowthWanders(t *testing.T) {
	g := at(30, 20, 3)
	g.diffuse(2.3)
	by := g.byGrowth()
	variance := 0.0
	for k, p := range by {
		variance += p * square(float64(k)-20)
	}
	near(t, "mean", mean(by), 20, 1e-9)
	near(t, "variance", variance, 2.3, 1e-9)
}

// A day's water moves y by the growth; jumps and falls come on top with their rates times the mean of a geometric
// distance, which is decay/(1 − decay) cells, as long as the ends are far.
func TestADayMovesYByTheGrowth(t *testing.T) {
	k := -lowK + 20 // 0.03·sinh(3.8) = 0.670 a day
	near(t, "growth", growth(float64(k)), 0.670, 0.001)
	g := at(110, k, 40)
	g.step(1)
	byGrowthAlone := 40 + growth(float64(k))/stepY
	decay := math.Exp(-stepY / jumpMean)
	jumps := (1 - math.Exp(-jumpRate)) * decay / (1 - decay)
	decay = math.Exp(-stepY / fallMean)
	falls := (1 - math.Exp(-fallRate)) * decay / (1 - decay)
	near(t, "mean cell", mean(g.byY()), byGrowthAlone+jumps-falls, 0.01)
}

func TestPlace(t *testing.T) {
	list := []float64{0, 0.5, 0.25, 0.25}
	for share, want := range map[float64]float64{0.25: 1, 0.5: 1.5, 0.625: 2, 0.75: 2.5, 0.999: 3, 0.001: 0.502} {
		near(t, "place", place(list, share), want, 1e-9)
	}
	near(t, "a certain first cell", place([]float64{1, 0}, 0.1), 0, 1e-12)
}

// The prior is wide: its 15 % and 90 % points are a growth that hardly shows in a week and one that shuts the screen in days.
func TestThePriorIsWide(t *testing.T) {
	w := growthPrior()
	near(t, "sum", sum(w[:]), 1, 1e-12)
	lo, hi := growth(place(w[:], 0.15)), growth(place(w[:], 0.9))
	if lo > 0.12 || hi < 1 {
		t.Errorf("the prior goes from %.2f to %.2f a day", lo, hi)
	}
}

// A screen that surely grows by 0.67 a day comes to a limit 2 above in about three days, and those beyond it are due at once.
func TestForesee(t *testing.T) {
	k := -lowK + 20
	c := foresee(at(110, k, 30), 30*stepY+2)
	p50 := c.when(0.5)
	if p50 == nil {
		t.Fatal("never")
	}
	near(t, "days", p50.Hours()/24, 2/growth(float64(k)), 0.35)
	if c := foresee(at(110, k, 50), 30*stepY+2); c.share[0] != 1 || *c.when(0.9) != 0 {
		t.Errorf("beyond the limit: %v", c.share)
	}
	if c := foresee(at(110, 0, 30), 30*stepY+2); c.when(0.5) != nil {
		t.Error("a falling loss reaches it")
	}
}

func BenchmarkGridStep(b *testing.B) {
	g := newGrid(75)
	b.ReportAllocs()
	for b.Loop() {
		g.step(0.5)
	}
}

func BenchmarkForesee(b *testing.B) {
	g := newGrid(75)
	g.clear()
	for b.Loop() {
		foresee(g, 6)
	}
}

// plainStep is a day's water as it is written down: each cell's probability is shared out by itself.
func plainStep(g *grid, days float64) {
	jump, fall := 1-math.Exp(-jumpRate*days), 1-math.Exp(-fallRate*days)
	for k := range rows {
		moved := make([]float64, g.n)
		put := func(i int, p float64) { moved[max(0, min(i, g.n-1))] += p }
		cells := g.growths[k] * days / stepY
		whole := int(math.Floor(cells))
		for i, p := range g.row(k) {
			switch a, b := i+whole, i+whole+1; { // both cells must be inside
			case a < 0:
				put(0, p)
			case b > g.n-1:
				put(g.n-1, p)
			default:
				put(a, p*(1-cells+float64(whole)))
				put(b, p*(cells-float64(whole)))
			}
		}
		copy(g.row(k), scattered(scattered(moved, jump, math.Exp(-stepY/jumpMean), 1), fall, math.Exp(-stepY/fallMean), -1))
	}
	g.diffuse(wander * wander * days)
}

// scattered moves a share of each cell's probability by a geometric distance in a direction.
func scattered(row []float64, share, decay float64, direction int) []float64 {
	out := make([]float64, len(row))
	for i, p := range row {
		out[i] += (1 - share) * p
		left, at := share*p, i
		for ; at != 0 && direction < 0 || at != len(row)-1 && direction > 0; at += direction {
			out[at] += left * (1 - decay)
			left *= decay
		}
		out[at] += left
	}
	return out
}

// The step is worked out four rows at a time and in place; it is the plain one.
func TestTheStepIsThePlainOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := newGrid(rapid.IntRange(30, 120).Draw(t, "cells"))
		for range rapid.IntRange(1, 4).Draw(t, "steps") {
			days := rapid.OneOf(rapid.Float64Range(0, longest), rapid.Float64Range(1, 20)).Draw(t, "days")
			want := g.copied()
			plainStep(want, days)
			g.step(days)
			for i, p := range g.p {
				if math.Abs(p-want.p[i]) > 1e-14 {
					t.Fatalf("after %g days cell %d of row %d has %g, want %g", days, i%g.n, i/g.n, p, want.p[i])
				}
			}
			if rapid.Bool().Draw(t, "cleared") {
				g.clear()
			}
		}
	})
}
