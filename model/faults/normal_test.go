package faults

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// dense is log N(r; 0, C) by Gaussian elimination of the whole covariance C, which the closed form never builds.
func dense(r []float64, c [][]float64) float64 {
	n := len(r)
	a := make([][]float64, n)
	for i := range a {
		a[i] = append(append([]float64{}, c[i]...), r[i])
	}
	logDet := 0.0
	for i := range n {
		logDet += math.Log(a[i][i])
		for k := i + 1; k < n; k++ {
			f := a[k][i] / a[i][i]
			for j := i; j <= n; j++ {
				a[k][j] -= f * a[i][j]
			}
		}
	}
	x := make([]float64, n)
	chi2 := 0.0
	for i := n - 1; i >= 0; i-- {
		x[i] = a[i][n]
		for j := i + 1; j < n; j++ {
			x[i] -= a[i][j] * x[j]
		}
		x[i] /= a[i][i]
		chi2 += x[i] * r[i]
	}
	return -0.5 * (chi2 + logDet + float64(n)*math.Log(2*math.Pi))
}

// drawSystem draws readings with independent errors, the influence of two ν, and the slope of a size.
func drawSystem(t *rapid.T) (parts []part, r, sd []float64, j [][]float64, c []float64) {
	f := func(name string) float64 { return rapid.Float64Range(-3, 3).Draw(t, name) }
	for range rapid.IntRange(1, 8).Draw(t, "readings") {
		ri, si, ci := f("r"), rapid.Float64Range(0.1, 2).Draw(t, "sd"), f("c")
		ji := []float64{f("j0"), f("j1")}
		r, sd, j, c = append(r, ri), append(sd, si), append(j, ji), append(c, ci)
		w := ready{chans: []channel{{y: ri}}, l: []float64{si}, logDt: 2 * math.Log(si), j: []float64{ji[0] / si, ji[1] / si}}
		p := part{jr: make([]float64, 2), jc: make([]float64, 2)}
		w.contribute([]float64{0}, []float64{ci}, 2, &p)
		p.jj = w.squares(2)
		parts = append(parts, p)
	}
	return parts, r, sd, j, c
}

func covariance(sd []float64, j [][]float64, nu []float64, c []float64) [][]float64 {
	out := make([][]float64, len(sd))
	for a := range sd {
		out[a] = make([]float64, len(sd))
		for b := range sd {
			for q, s := range nu {
				out[a][b] += s * s * j[a][q] * j[b][q]
			}
			out[a][b] += stepSpread * stepSpread * c[a] * c[b]
		}
		out[a][a] += sd[a] * sd[a]
	}
	return out
}

func TestTheClosedFormIsTheNormalDistribution(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		parts, r, sd, j, c := drawSystem(rt)
		nu := []float64{0.7, 1.9}
		total := newTotal(2)
		for i := range parts {
			total.add(&parts[i], 1)
		}
		got := total.solve(nu, &scratch{}).logL
		want := dense(r, covariance(sd, j, nu, c))
		if math.Abs(got-want) > 1e-8*(1+math.Abs(want)) {
			rt.Fatalf("%g, want %g", got, want)
		}
	})
}

func TestASweepIsTheSameAsEachBeginningByItself(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		fault, _, _, _, _ := drawSystem(rt)
		base := make([]part, len(fault))
		for i := range fault {
			base[i] = fault[i]
			base[i].rr, base[i].cc, base[i].cr, base[i].jc = fault[i].rr+1, 0, 0, nil
		}
		nu := []float64{0.5, 2}
		into := make([]float64, len(fault))
		sweep(nu, base, fault, 0, into, &scratch{})
		for k := range into {
			if want := at(nu, base, fault, k).logL; math.Abs(into[k]-want) > 1e-7*(1+math.Abs(want)) {
				rt.Fatalf("beginning %d: %g, want %g", k, into[k], want)
			}
		}
	})
}

// By hand: one reading 3 above the model with error 1 and ν of spread 2: ν's best is 3·4/5, χ² is 9/5.
func TestBestNuByHand(t *testing.T) {
	s := slot{ok: true, y: 13, f: 10, sd: 1}
	total := newTotal(1)
	p := s.part(0, 0)
	total.add(&p, 1)
	got := total.solve([]float64{2}, &scratch{wantNu: true})
	if math.Abs(got.nu[0]-2.4) > 1e-12 || math.Abs(got.chi2-1.8) > 1e-12 {
		t.Errorf("ν %g, χ² %g, want 2.4 and 1.8", got.nu[0], got.chi2)
	}
}

func TestSlips(t *testing.T) {
	one := func(n int) []float64 {
		out := make([]float64, n)
		for i := range out {
			out[i] = 1
		}
		return out
	}
	for _, c := range []struct {
		name string
		res  []float64
		want []int
	}{
		{"nothing", []float64{0, 1, -1, 0.5, 0}, nil},
		{"one", []float64{0, 1, -1, 30, 0.5, 0, 1}, []int{3}},
		{"a step is no slip", []float64{0, 0, 0, 30, 30, 30, 30}, nil},
		{"the last cannot be told", []float64{0, 1, 0, 0, 30}, nil},
		{"the first cannot be told", []float64{30, 0, 0, 1, 0}, nil},
		{"what always wanders has none", []float64{20, -20, 20, -30, 25, -20, 20}, nil},
	} {
		got := slips(c.res, one(len(c.res)))
		if len(got) != len(c.want) || len(got) > 0 && got[0] != c.want[0] {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

func TestWordsWeighAsTheyShould(t *testing.T) {
	if screenWords("", 0.01) != 0 || valveWords("") != 0 || valveWords("shut") != 0 {
		t.Error("no word says something")
	}
	if !(screenWords("blocked", 0.03) > 2 && screenWords("clear", 0.03) < -1.5 && screenWords("iced", 0.03) == screenWords("blocked", 0.03)) {
		t.Errorf("blocked %g, clear %g", screenWords("blocked", 0.03), screenWords("clear", 0.03))
	}
	if !(valveWords("part") > 2 && valveWords("open") < -1) {
		t.Errorf("part %g, open %g", valveWords("part"), valveWords("open"))
	}
	last := math.Inf(1)
	for _, clear := range []float64{0.03, 0.1, 0.3, 0.6} { // the clearer the screen, the less it is called blocked
		v := screenWords("blocked", clear)
		if v > last {
			t.Errorf("at %g clear, blocked weighs %g, more than before", clear, v)
		}
		last = v
	}
}

func TestSumsOfLogarithms(t *testing.T) {
	if got := logSum([]float64{math.Log(2), math.Log(3), math.Inf(-1)}); math.Abs(got-math.Log(5)) > 1e-12 {
		t.Errorf("log 2 and log 3 sum to %g", got)
	}
	if got := logSum(nil); !math.IsInf(got, -1) {
		t.Errorf("nothing sums to %g", got)
	}
	if got := logSum([]float64{-1e7, -1e7}); math.Abs(got-(-1e7+math.Ln2)) > 1e-6 {
		t.Errorf("far below %g", got)
	}
	if mid, spread := middle([]float64{5, 1, 2, 3, 100}); mid != 3 || math.Abs(spread-1.4826*2) > 1e-12 {
		t.Errorf("middle %g, spread %g", mid, spread)
	}
}
