package faults

import (
	"context"
	"math"
	"testing"
	"time"

	"example.org/headpond/model/demo"
	"example.org/headpond/model/record"

	"pgregory.net/rapid"
)

// drawReady draws a look of a few readings with a covariance that is positive definite, and its factor.
func drawReady(t *rapid.T, m, p int) (r *ready, cov []float64) {
	r = &ready{chans: make([]channel, m), f: make([]float64, m), j: make([]float64, m*p)}
	cov = make([]float64, m*m)
	number := rapid.Float64Range(-2, 2)
	for i := range m {
		r.chans[i].y, r.f[i] = number.Draw(t, "y"), number.Draw(t, "f")
		shared := number.Draw(t, "shared")
		for k := range m {
			cov[i*m+k] += shared * shared / float64(m)
		}
	}
	for i := range m {
		for k := range i {
			v := (cov[i*m+k] + cov[k*m+i]) / 2
			cov[i*m+k], cov[k*m+i] = v, v
		}
	}
	for i := range m {
		cov[i*m+i] += 20 // above all the rest of its row: positive definite
	}
	for i := range r.j {
		r.j[i] = number.Draw(t, "j")
	}
	return r, cov
}

// factored is a look with a covariance taken in: its factor, its J whitened.
func factored(r ready, cov []float64, p int) *ready {
	r.l = append([]float64(nil), cov...)
	r.logDt = cholesky(r.l, len(r.chans))
	r.j = append([]float64(nil), r.j...)
	r.whitenJ(p)
	return &r
}

// Sherman and Morrison's rule against the long way: a look whose covariance is R + d dᵀ from the start.
func TestStrayIsTheWiderCovariance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, p := rapid.IntRange(1, 6).Draw(t, "m"), rapid.IntRange(1, 4).Draw(t, "p")
		raw, cov := drawReady(t, m, p)
		f, c := make([]float64, m), make([]float64, m)
		for i := range m {
			f[i], c[i] = rapid.Float64Range(-9, 9).Draw(t, "fault"), rapid.Float64Range(-3, 3).Draw(t, "slope")
		}
		share := rapid.Float64Range(0.01, 2).Draw(t, "share")

		r := factored(*raw, cov, p)
		got := part{jr: make([]float64, p), jj: r.squares(p), jc: make([]float64, p)}
		r.contribute(f, c, p, &got)
		before := append([]float64(nil), got.jj...)
		shared := got.jj
		r.stray(f, c, share, p, &got)

		for i := range m {
			for k := range m {
				cov[i*m+k] += share * share * (f[i] - raw.f[i]) * (f[k] - raw.f[k])
			}
		}
		long := factored(*raw, cov, p)
		want := part{jr: make([]float64, p), jj: long.squares(p), jc: make([]float64, p)}
		long.contribute(f, c, p, &want)

		near := func(name string, a, b float64) {
			if math.Abs(a-b) > 1e-9*(1+math.Abs(a)+math.Abs(b)) {
				t.Errorf("%s is %v, the long way %v", name, a, b)
			}
		}
		near("log |R|", got.logDet, want.logDet)
		near("rr", got.rr, want.rr)
		near("cc", got.cc, want.cc)
		near("cr", got.cr, want.cr)
		for a := range p {
			near("jr", got.jr[a], want.jr[a])
			near("jc", got.jc[a], want.jc[a])
			for b := range p {
				near("jj", got.jj[a*p+b], want.jj[a*p+b])
			}
		}
		for i, v := range before {
			if shared[i] != v {
				t.Fatal("the sound plant's JJ, which all sizes share, was changed")
			}
		}
	})
}

// The demo's leaves come ever faster, by no law that this package knows; its people read the loss with a stick.
func TestAScreenThatFillsAtItsOwnPaceIsExplained(t *testing.T) {
	end := time.Date(2026, 11, 21, 0, 0, 0, 0, time.FixedZone("AST", -4*3600))
	s, err := demo.History(1, end, end.Location())
	if err != nil {
		t.Fatal(err)
	}
	f, err := Report(context.Background(), &record.History{At: end, Plant: s.Plant, Rounds: s.Rounds, Events: s.Events}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	top := f.Ranked[0]
	if top.Fault != ScreenBlocked {
		t.Fatalf("%s comes first", top.Fault)
	}
	seen := 0
	for _, e := range top.Evidence {
		if e.Speaks {
			seen++
			if !e.Explains {
				t.Errorf("%s was read as %.1f; the blocked screen makes it %.1f (error %.2f) and is said not to explain it", e.Quantity, e.Read, e.ExpectedFault, e.ErrRead)
			}
		}
	}
	if seen < 2 {
		t.Errorf("only %d readings speak of the screen", seen)
	}
}
