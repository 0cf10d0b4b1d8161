package water

import "math"

// patience is how many sights may be set aside one after another; then the gauge is believed again.
const patience = 3

// weigh uses a sight to correct the hypotheses and blends them by how well each foresaw it. It returns the belief after
// and before, and false where the sight is better explained as mistyped; then the second belief goes on without it.
func (f *filter) weigh(s step, i int) (post, pred belief, ok bool) {
	likely, density := f.weights(&s, f.s.sights[i])
	if f.row < patience && f.mistyped(&s, i, density) {
		return belief{}, s.collapse(), false
	}
	f.doubt.density = density
	f.logL += math.Log(density)
	pred = blend(s.beliefs[:], likely[:])
	post = f.correct(s, f.s.sights[i], likely)
	return post, pred, true
}

// takeBack reports whether a sight that cannot follow the one before it shows that one to have been the slip: a level that
// could have been a flood, and was used, and then the next lies where it would have lain without. The sight before is then
// set aside, and the filter must go on from before it.
func (f *filter) takeBack(i int) bool {
	d := &f.doubt
	if d.i == 0 || d.i != i-1 || f.row > 0 {
		return false
	}
	step := f.leap(d.without, &f.s.legs[i], nil)
	_, without := f.weights(&step, f.s.sights[i])
	if f.slipDensity(f.s.sights[d.i])*without <= d.density*f.slipDensity(f.s.sights[i]) {
		return false
	}
	f.s.sights[d.i].setAside = true
	f.track = f.track[:len(f.track)-1]
	f.logL -= math.Log(d.density)
	d.i = 0
	return true
}

// mostLogInflow is beyond any stream that feeds a small pond: 3000 m3/s.
const mostLogInflow = 8

// correct observes a sight under each hypothesis and blends them.
func (f *filter) correct(s step, x sight, likely [hypotheses]float64) belief {
	h := vec{iVolume: 1}
	v, variance := f.volume(x)
	for k := range s.beliefs {
		b := &s.beliefs[k]
		b.observe(&h, v, b.mean[iVolume], variance)
	}
	out := blend(s.beliefs[:], likely[:])
	out.mean[iInflow] = math.Min(math.Max(out.mean[iInflow], f.floor), mostLogInflow)
	return out
}

// weights are the hypotheses' shares after a sight, and the density of the sight, 1/m3.
func (f *filter) weights(s *step, x sight) (likely [hypotheses]float64, density float64) {
	h := vec{iVolume: 1}
	v, variance := f.volume(x)
	if v < s.least-5*math.Sqrt(variance+s.beliefs[0].cov[iVolume][iVolume]) {
		return [hypotheses]float64{3: 1}, 1e-300
	}
	for k := range s.beliefs {
		if s.shares[k] > 0 {
			sp := s.beliefs[k].foresee(&h, v, s.beliefs[k].mean[iVolume], variance)
			likely[k] = s.shares[k] * math.Exp(sp.logDensity())
		}
		density += likely[k]
	}
	if !(density > 1e-300) { // beyond every tail: the widest hypothesis is the least wrong
		return [hypotheses]float64{3: 1}, 1e-300
	}
	for k := range likely {
		likely[k] /= density
	}
	return likely, density
}

// mistyped judges a sight that no hypothesis foresaw: a slip of the pen lies anywhere on the gauge, a true level is borne
// out by the next one.
func (f *filter) mistyped(s *step, i int, density float64) bool {
	x := f.s.sights[i]
	slip := f.n.mistyped * f.slipDensity(x)
	odds := slip / ((1 - f.n.mistyped) * density)
	if odds < 1 {
		return false
	}
	if i+1 >= len(f.s.sights) || f.s.sights[i+1].setAside {
		return odds > 10
	}
	next := f.s.sights[i+1]
	floor := f.n.mistyped * f.slipDensity(next)
	likely, _ := f.weights(s, x)
	with := f.leap(f.correct(*s, x, likely), &f.s.legs[i+1], nil)
	without := f.leap(s.collapse(), &f.s.legs[i+1], nil)
	_, dWith := f.weights(&with, next)
	_, dWithout := f.weights(&without, next)
	return odds*(dWithout+floor)/(dWith+floor) > 1
}

// slipDensity is the density of a mistyped level: anywhere within the stage rows and two metres beyond, 1/m3.
func (f *filter) slipDensity(x sight) float64 {
	span := f.b.stage.HighM() - f.b.stage.LowM() + 4
	return 1 / (span * math.Max(f.b.stage.AreaM2(x.levelM), 1))
}
