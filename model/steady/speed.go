package steady

import (
	"errors"
	"math"
)

// ErrNoPower says that the model gives no power for a case, so that there is no curve of power against speed.
var ErrNoPower = errors.New("steady: the model gives no power for this case, so where the speed settles is not known")

// SpeedCurve is the power of the common-bus sets that run in a case against their common speed ratio n, at the net heads that
// the penstock then leaves them. Sets on a bus of their own keep their speed. It is for one goroutine.
//
// A set never takes power from the bus here: beyond its own runaway speed its power is 0, and the bus settles no lower for it.
type SpeedCurve struct {
	m     *Model
	c     Case
	r     Result
	scale float64 // so that the power at rated speed is the generation that was read
	most  float64 // speed ratio that no set can exceed
}

// SpeedCurve returns the curve for a case. Where generationKW is above 0 the curve is scaled so that the power at rated speed
// equals it: the readings say how much, the model says how it changes. The error is a *CaseError, or ErrNoPower.
func (m *Model) SpeedCurve(c Case, generationKW float64) (*SpeedCurve, error) {
	k := &SpeedCurve{m: m, c: c, scale: 1}
	k.c.Speed = 1
	if err := m.SolveInto(&k.c, &k.r); err != nil {
		return nil, err
	}
	if !(k.r.CommonKW > 0) {
		return nil, ErrNoPower
	}
	if generationKW > 0 {
		k.scale = generationKW / k.r.CommonKW
	}
	for i := range k.r.Units {
		if u := &k.r.Units[i]; u.Running && u.Common {
			k.most = max(k.most, m.units[i].machine.Runaway(u.GrossHeadM))
		}
	}
	k.most = max(k.most, 1) * (1 + 1e-9)
	return k, nil
}

// Power returns the sets' electric power at the speed ratio n above 0, kW.
func (k *SpeedCurve) Power(n float64) float64 {
	k.c.Speed = n
	if err := k.m.SolveInto(&k.c, &k.r); err != nil {
		return 0 // not for any n between 0 and the runaway speed: the case itself was accepted before
	}
	return k.scale * k.r.CommonKW
}

// speedTol is how closely a balance of power is found, kW: far below what any meter shows.
const speedTol = 1e-9

// Runaway returns the speed ratio at which the sets give no more power: where they run up to without any load.
func (k *SpeedCurve) Runaway() float64 {
	lo, hi := 1.0, k.most
	for hi-lo > 1e-9 {
		mid := lo + (hi-lo)/2
		if k.Power(mid) > 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// SettleAbove returns the speed ratio, 1 or more, at which the sets' power meets a demand (kW against speed ratio, not
// falling), when it exceeds the demand at rated speed. It is the runaway speed where the demand is nothing.
func (k *SpeedCurve) SettleAbove(demandKW func(n float64) float64) float64 {
	f := func(n float64) float64 { return k.Power(n) - demandKW(n) }
	at := f(1)
	if !(at > 0) {
		return 1
	}
	end := f(k.most)
	if !(end < 0) {
		return k.Runaway()
	}
	return root(f, 1, at, k.most, end, speedTol)
}

// Slowest is the lowest speed ratio that is looked at. Long before it nothing electrical works.
const Slowest = 0.02

// lookSteps is in how many steps of equal ratio the speeds from rated down are looked at. Sets of different kinds on one bus each
// have a top of their own, no narrower than some tenths of the speed.
const lookSteps = 60

// SettleBelow returns the highest speed ratio, at most 1 and at least lowest, at which the sets' power meets a demand (kW against
// speed ratio) that exceeds it at rated speed. Where the power at no such speed meets the demand ok is false: the supply collapses.
//
// The speeds are looked at from rated down, so that the balance found is the first that a slowing set comes to. It is one at
// which a small disturbance dies away, for the power exceeds the demand just below it.
func (k *SpeedCurve) SettleBelow(demandKW func(n float64) float64, lowest float64) (n float64, ok bool) {
	f := func(n float64) float64 { return k.Power(n) - demandKW(n) }
	at := f(1)
	if at >= 0 {
		return 1, true
	}
	// Three neighbours, slow to fast: where the middle one is highest a top lies between the outer two.
	fast, mid := speedValue{1, at}, speedValue{1, at}
	span := math.Log(max(lowest, Slowest))
	for i := range lookSteps {
		slow := speedValue{n: math.Exp(span * float64(i+1) / lookSteps)}
		if slow.f = f(slow.n); slow.f >= 0 {
			return root(f, slow.n, slow.f, mid.n, mid.f, speedTol), true
		}
		if slow.f < mid.f && mid.f >= fast.f {
			top := peak(f, slow.n, fast.n)
			if best := f(top); best >= 0 {
				return root(f, top, best, fast.n, fast.f, speedTol), true
			}
		}
		fast, mid = mid, slow
	}
	return 0, false
}

// speedValue is a function's value at a speed ratio.
type speedValue struct{ n, f float64 }

// peak returns where f is greatest between lo and hi, by golden sections; f has one top there.
func peak(f func(float64) float64, lo, hi float64) float64 {
	const g = 0.6180339887498949 // (√5 − 1)/2
	a, b := hi-g*(hi-lo), lo+g*(hi-lo)
	fa, fb := f(a), f(b)
	for hi-lo > 1e-7 {
		if fa > fb {
			hi, b, fb = b, a, fa
			a = hi - g*(hi-lo)
			fa = f(a)
			continue
		}
		lo, a, fa = a, b, fb
		b = lo + g*(hi-lo)
		fb = f(b)
	}
	return lo + (hi-lo)/2
}

// Reserve returns the greatest power that the sets give at or below rated speed, kW, and the speed ratio at which they do.
func (k *SpeedCurve) Reserve() (n, kw float64) {
	n = peak(k.Power, Slowest, 1)
	kw = k.Power(n)
	if at := k.Power(1); at >= kw || math.IsNaN(kw) {
		return 1, at
	}
	return n, kw
}
