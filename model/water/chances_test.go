package water

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// The radical inverse by hand: 6 is 110 in base 2, mirrored 0.011 = 3/8; 5 is 12 in base 3, mirrored 0.21 = 7/9 (Halton 1960
// gives the sequence 1/2, 1/4, 3/4, 1/8 … for base 2).
func TestDigitsAreMirroredBehindThePoint(t *testing.T) {
	for _, c := range []struct {
		n, base int
		want    float64
	}{{0, 2, 0}, {1, 2, 0.5}, {2, 2, 0.25}, {3, 2, 0.75}, {4, 2, 0.125}, {6, 2, 0.375}, {5, 3, 7.0 / 9}, {7, 7, 1.0 / 49}} {
		near(t, "inverse", inverse(c.n, c.base), c.want, 1e-15)
	}
}

// Of any first n members nearly n/10 lie in each tenth of each even chance (a base b leaves at most about b log n over, where
// plain chance would leave 3 √(0.09 n)); and any two of the chances are uncorrelated.
func TestEvenChancesAreEven(t *testing.T) {
	d := newDice(11)
	for _, n := range []int{500, 2000} {
		var tenths [evenChances][10]int
		var cross [evenChances][evenChances]float64
		for m := range n {
			c := d.member(m)
			for i, u := range c.even {
				if !(u > 0 && u < 1) {
					t.Fatalf("chance %d of member %d is %g", i, m, u)
				}
				tenths[i][int(u*10)]++
				for j := range c.even {
					cross[i][j] += 12 * (u - 0.5) * (c.even[j] - 0.5) / float64(n)
				}
			}
		}
		for i := range tenths {
			for k, got := range tenths[i] {
				if math.Abs(float64(got)-float64(n)/10) > 12 {
					t.Errorf("%d of %d members lie in tenth %d of chance %d", got, n, k, i)
				}
			}
			for j := range i {
				if math.Abs(cross[i][j]) > 0.03 {
					t.Errorf("chances %d and %d are correlated by %.3f", i, j, cross[i][j])
				}
			}
		}
	}
}

// The standard normal's quantile at published points (0.975: 1.959964, 0.9: 1.281552; any table).
func TestNormalQuantiles(t *testing.T) {
	near(t, "97.5 %", normal(0.975), 1.959964, 1e-6)
	near(t, "90 %", normal(0.9), z90, 1e-12)
	near(t, "median", normal(0.5), 0, 1e-15)
	near(t, "10 %", normal(0.1), -1.281552, 1e-6)
}

// Members differ from each other, and from those of another seed, in what they draw later too.
func TestMembersHaveChancesOfTheirOwn(t *testing.T) {
	seen := map[uint64]bool{}
	for seed := range uint64(4) {
		d := newDice(seed)
		for m := range 1000 {
			x := d.member(m).Uint64()
			if seen[x] {
				t.Fatalf("seed %d, member %d draws what another drew", seed, m)
			}
			seen[x] = true
		}
	}
}

// A future is the same to the last digit however it is asked for: whole, or a bit at a time as ways need it, also beyond the
// end of the past, with the filter's own model, and with rain on it.
func TestAFutureIsTheSameHoweverFarItIsDrawn(t *testing.T) {
	past := map[int]*memory{1: pastOf(1), 5: pastOf(5)}
	rapid.Check(t, func(t *rapid.T) {
		m := past[rapid.SampledFrom([]int{1, 5}).Draw(t, "years")]
		r := recall(m, m.marks[180], receding{priors()}, usualLikeness())
		r.share = rapid.SampledFrom([]float64{0, 0.5, 1}).Draw(t, "share of the past")
		days := grid(time.Duration(rapid.IntRange(2, 800).Draw(t, "horizon"))*24*time.Hour, rapid.Float64Range(0, 1e6).Draw(t, "lasts"))
		seed, member := rapid.Uint64().Draw(t, "seed"), rapid.IntRange(0, 2000).Draw(t, "member")
		streamOf := func() stream {
			if rapid.Bool().Draw(t, "rain") {
				return rained{stream: r, pondM3: 100, catchmentM3: 5000, members: 1, next: new(int)}
			}
			return r
		}
		s := streamOf()
		state := vec{iInflow: math.Log(0.05), iRate: 0.03}
		want, got := make([]float64, len(days)), make([]float64, len(days))
		whole(s, luck(seed, member), state, days, want)
		if w, ok := s.(rained); ok {
			*w.next = 0
		}
		f := setOut(s, luck(seed, member), state, days, got)
		for k := 0; k < len(days)-1; {
			k = min(k+rapid.IntRange(1, 60).Draw(t, "bit"), len(days)-1)
			f.need(k)
			f.need(k / 2)
		}
		for i := range want {
			if got[i] != want[i] {
				t.Fatalf("day %g: %v drawn bit by bit, %v at once", days[i], got[i], want[i])
			}
		}
	})
}

// What every way of every member comes to does not change by the last digit where all futures are drawn to their ends first.
func TestFatesAreThoseOfFuturesDrawnWhole(t *testing.T) {
	p := twoUnits()
	p.Pond.PermitLowM, p.Pond.PermitHighM = new(-0.1), new(0.85)
	m, err := Prepare(t.Context(), dryLog(t, p, 0.055, 0.7, 9, "A"), Always(twoDraws))
	if err != nil {
		t.Fatal(err)
	}
	e, err := m.ensemble(Options{Members: 300, Horizon: 150 * 24 * time.Hour, Seed: 3, Fan: true})
	if err != nil {
		t.Fatal(err)
	}
	for _, run := range [][]string{{}, {"A"}, {"B"}, {"A", "B"}} {
		c, err := e.c.course(way{run: run}, e.days)
		if err != nil {
			t.Fatal(err)
		}
		e.courses = append(e.courses, c)
	}
	lazy, err := e.run(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	e.stream = drawnWhole{e.stream}
	eager, err := e.run(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for i := range lazy {
		for k := range lazy[i].each {
			if lazy[i].each[k] != eager[i].each[k] {
				t.Fatalf("way %d, member %d: %+v, drawn whole %+v", i, k, lazy[i].each[k], eager[i].each[k])
			}
			for d := range lazy[i].fan {
				if lazy[i].fan[d][k] != eager[i].fan[d][k] {
					t.Fatalf("way %d, member %d, fan point %d: %g, drawn whole %g", i, k, d, lazy[i].fan[d][k], eager[i].fan[d][k])
				}
			}
		}
	}
}

// drawnWhole draws every future to its end as it begins.
type drawnWhole struct{ stream }

func (s drawnWhole) begin(c *chances, state vec, days, flow []float64) current {
	whole(s.stream, c, state, days, flow)
	return written{}
}

// Of a pond that has run out and is full again nothing more is told: the machines would run by then. On a stream that brings
// nothing for twelve days and then more than it draws, a low level just below the stop is reached by evaporation and bypass before
// that; a lower one is not reached, though the stream dries up again and the standing pond would fall to it; nor is a high
// one, which was passed after the stop alone.
func TestNothingIsToldOfAPondThatFilledAfterItRanOut(t *testing.T) {
	at := func(day float64) float64 {
		if day > 12 && day < 45 {
			return 0.5
		}
		return 0.0001
	}
	for low, reached := range map[float64]bool{-0.02: true, -0.2: false} {
		e := sure0(t, twoUnits(), 0.4, shaped(at), 300*24*time.Hour)
		b := e.c.b
		e.lowV, e.highV = b.stage.VolumeM3(low), b.stage.VolumeM3(0.82)
		got := one(t, e, way{run: []string{"A"}}).each[0]
		if math.IsInf(got.stop, 1) || got.stop > 12*24 || !math.IsInf(got.high, 1) || math.IsInf(got.low, 1) == reached {
			t.Errorf("low level %g m: %+v", low, got)
		}
	}
}

// shaped is a stream by a function of the day.
type shaped func(day float64) float64

func (s shaped) begin(_ *chances, _ vec, days, flow []float64) current {
	for i, d := range days {
		flow[i] = s(d)
	}
	return written{}
}
