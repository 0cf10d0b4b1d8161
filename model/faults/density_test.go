package faults

import (
	"math"
	"testing"
	"time"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// What is called a density must be one, or fault and sound plant would be weighed on different scales. Gonum integrates.
func TestDensitiesIntegrateToOne(t *testing.T) {
	for _, c := range []struct {
		name   string
		f      func(x float64) float64
		lo, hi float64
	}{
		{"the first frequency of a full ballast", func(x float64) float64 { return math.Exp(away{}.logDensity(x, fastShare)) }, 0, 3},
		{"one after another of 5 %", func(x float64) float64 { return math.Exp(away{0.05, true}.logDensity(x, fastShare)) }, 0, 3},
		{"one after another of 20 %", func(x float64) float64 { return math.Exp(away{0.2, true}.logDensity(x, slowShare)) }, 0, 3},
		{"a voltage in an overload", func(x float64) float64 { return math.Exp(sagged(x, 240)) }, -2000, 240},
	} {
		sum := 0.0
		const pieces = 400 // the bells are narrow
		for i := range pieces {
			a := c.lo + (c.hi-c.lo)*float64(i)/pieces
			sum += quad.Fixed(c.f, a, a+(c.hi-c.lo)/pieces, 20, quad.Legendre{}, 0)
		}
		// A bell near nothing loses what would lie below it: at 5 % 2.5 standard deviations of the wide one, 0.2 % of it.
		if math.Abs(sum-1) > 0.003 {
			t.Errorf("%s: %.4f", c.name, sum)
		}
	}
}

// Quantiles of one bell and of two that are far apart, against gonum's normal distribution.
func TestQuantilesOfAMixture(t *testing.T) {
	n := distuv.Normal{Mu: 4, Sigma: 0.3}
	for _, p := range []float64{0.01, 0.1, 0.5, 0.9, 0.99} {
		if got, want := quantile([]cell{{1, 4, 0.3}}, p), n.Quantile(p); math.Abs(got-want) > 1e-9 {
			t.Errorf("one bell at %g: %g, want %g", p, got, want)
		}
		if got, want := quantile([]cell{{7, 4, 0.3}, {7, 4, 0.3}}, p), n.Quantile(p); math.Abs(got-want) > 1e-9 {
			t.Errorf("twice the same bell at %g: %g, want %g", p, got, want)
		}
	}
	two := []cell{{1, 0, 0.1}, {3, 10, 0.1}} // a quarter lies below 5
	for _, c := range []struct{ p, want float64 }{
		{0.125, 0}, {0.625, 10}, {0.05, distuv.Normal{Mu: 0, Sigma: 0.1}.Quantile(0.2)}, {0.7, distuv.Normal{Mu: 10, Sigma: 0.1}.Quantile(0.6)},
	} {
		if got := quantile(two, c.p); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("two bells at %g: %g, want %g", c.p, got, c.want)
		}
	}
}

// By hand: the sum from a place on is greatest where every part from there on speaks for it.
func TestTheBeginningOfBeingOverwhelmed(t *testing.T) {
	of := func(values ...float64) []part {
		var out []part
		for _, v := range values {
			out = append(out, part{extra: v})
		}
		return out
	}
	rare := of(0, 0, 0, 0, 0)
	for _, c := range []struct {
		often []part
		want  int
	}{
		{of(-1, -1, -1, 2, 3), 3},
		{of(1, 1, 1, 1, 1), 0},
		{of(-1, -1, -1, -1, -1), 5}, // never
		{of(4, -1, -1, 2, 3), 0},
		{of(1, -3, -1, 2, 3), 3},
		{of(-1, -1, -1, -1, 0.5), 4},
	} {
		if got := begins(rare, c.often); got != c.want {
			t.Errorf("%v begins at %d, want %d", c.often, got, c.want)
		}
	}
}

// Levels as people write them down, in m on the staff.
func TestSlipsOfTheLevel(t *testing.T) {
	for _, c := range []struct {
		name   string
		levels []float64
		bad    int // index, -1 for none
	}{
		{"a forgotten minus", []float64{-0.11, -0.115, 0.12, -0.125, -0.13}, 2},
		{"turned digits", []float64{-0.31, -0.31, -0.13, -0.32}, 2},
		{"one metre too much", []float64{-0.31, -1.31, -0.32}, 1},
		{"rain that stays", []float64{-0.31, -0.30, 0.05, 0.04, 0.02}, -1},
		{"rain that runs off", []float64{-0.30, -0.10, -0.22, -0.28}, -1},
		{"a steady fall", []float64{0, -0.15, -0.30, -0.45}, -1},
		{"the last one", []float64{-0.31, -0.31, 0.31}, -1},
		{"the first one", []float64{0.31, -0.31, -0.31}, -1},
		{"a wave of 5 cm", []float64{-0.31, -0.26, -0.31}, -1},
		{"two alone", []float64{-0.31, 0.31}, -1},
	} {
		w := slopeWork(t, slopePlant(t, 1, 1, 1, "generation"))
		h := &record.History{Plant: w.plant}
		for i, v := range c.levels {
			h.Rounds = append(h.Rounds, record.Round{Time: time.Date(2026, 5, 4, 8+12*i, 0, 0, 0, time.UTC), Values: map[quantity.Key]float64{"pond_level_m": v}})
		}
		w.h, w.win.left = h, nil
		w.levelSlips(0)
		for i := range h.Rounds {
			if got := w.badLevel[&h.Rounds[i]]; got != (i == c.bad) {
				t.Errorf("%s: the level of round %d is a slip: %v", c.name, i, got)
			}
			if _, ok := w.levelOf(&h.Rounds[i]); ok == (i == c.bad) {
				t.Errorf("%s: the level of round %d is taken: %v", c.name, i, ok)
			}
		}
		if (len(w.win.left) == 1) != (c.bad >= 0) {
			t.Errorf("%s: said are %q", c.name, w.win.left)
		}
	}
}

// A round without a frequency between rounds that ran fast: nobody knows how fast it ran. Between steady ones it is at rated speed.
func TestTheSpeedOfARoundWithoutAFrequency(t *testing.T) {
	hz := func(v float64) *float64 { return &v }
	for _, c := range []struct {
		name     string
		hertz    []*float64
		hours    float64
		unsteady bool // of round 1
	}{
		{"between steady ones", []*float64{hz(60), nil, hz(60.1)}, 12, false},
		{"after a fast one", []*float64{hz(64), nil, hz(60)}, 12, true},
		{"before a slow one", []*float64{hz(60), nil, hz(55)}, 12, true},
		{"before several unread ones and a fast one", []*float64{hz(60), nil, nil, hz(66)}, 12, true},
		{"long after a fast one", []*float64{hz(64), nil, hz(60)}, 60, false},
		{"read itself", []*float64{hz(64), hz(60), hz(64)}, 12, false},
		{"never read", []*float64{nil, nil, nil}, 12, false},
	} {
		w := slopeWork(t, slopePlant(t, 1, 1, 1, "generation"))
		w.win.looks = nil
		for i, v := range c.hertz {
			l := look{round: &record.Round{Time: time.Date(2026, 5, 4, 8, 0, 0, 0, time.UTC).Add(time.Duration(float64(i)*c.hours) * time.Hour)}, hertz: v, known: true, speed: 1}
			if v != nil {
				l.speed = *v / 60
			}
			w.win.looks = append(w.win.looks, l)
		}
		w.speeds()
		if l := w.win.looks[1]; l.unsteady != c.unsteady || l.known == c.unsteady {
			t.Errorf("%s: unsteady %v, known %v", c.name, l.unsteady, l.known)
		}
	}
}
