package water

import (
	"math"
	"time"
)

// shift is the linearised balance over one short step, the matrix F of the filter's model. Most of it is nothing, and the
// filter spends its time here, so that the products are written out:
//
//	volume  hold   byInflow  byRate  byDraw
//	inflow  0      1         −fall   0
//	rate    0      0         keep    0
//	draw    0      0         0       keepDraw
type shift struct {
	hold, byInflow, byRate, byDraw float64
	fall, keep, keepDraw           float64
}

// matrix is the shift written out in full.
func (s *shift) matrix() mat {
	return mat{{s.hold, s.byInflow, s.byRate, s.byDraw}, {0, 1, -s.fall, 0}, {0, 0, s.keep, 0}, {0, 0, 0, s.keepDraw}}
}

// times is F m.
func (s *shift) times(m *mat) (out mat) {
	for j := range m {
		out[iVolume][j] = s.hold*m[iVolume][j] + s.byInflow*m[iInflow][j] + s.byRate*m[iRate][j] + s.byDraw*m[iDraw][j]
		out[iInflow][j] = m[iInflow][j] - s.fall*m[iRate][j]
		out[iRate][j] = s.keep * m[iRate][j]
		out[iDraw][j] = s.keepDraw * m[iDraw][j]
	}
	return out
}

// noise is what a short step adds to the covariance.
type noise struct {
	volume, volumeInflow, inflow, rate, draw float64
}

// spread carries a covariance through the step, P ← F P Fᵀ + Q.
func (s *shift) spread(p *mat, q *noise) {
	fp := s.times(p)
	for i := range fp {
		row := &fp[i]
		p[i][iVolume] = s.hold*row[iVolume] + s.byInflow*row[iInflow] + s.byRate*row[iRate] + s.byDraw*row[iDraw]
		p[i][iInflow] = row[iInflow] - s.fall*row[iRate]
		p[i][iRate] = s.keep * row[iRate]
		p[i][iDraw] = s.keepDraw * row[iDraw]
	}
	p[iVolume][iVolume] += q.volume
	p[iInflow][iInflow] += q.inflow
	p[iRate][iRate] += q.rate
	p[iDraw][iDraw] += q.draw
	p[iInflow][iVolume] += q.volumeInflow
	for i := range p { // the half above the diagonal follows the one below, so that rounding does not part them
		for j := 0; j < i; j++ {
			p[j][i] = p[i][j]
		}
	}
}

// pace is what a step of a certain length does to the rate and the draw. Most steps are of the same few lengths.
type pace struct {
	days, keep, fall, keepDraw float64
}

// part is one short step of dt seconds: the mean by an exponential step that stays stable over the crest, the covariance
// by the step's derivative.
func (f *filter) part(b *belief, p *piece, at time.Time, dt, rainM float64, carried *mat) {
	n, days := &f.n, dt/secondsPerDay
	level := f.level(b)
	area := f.b.stage.AreaM2(level)
	loss, perVolume := f.b.losses(level, area, p.bypass, at.In(f.b.loc).Month(), p.iced)
	draw := p.a.meanAt(level)
	if p.b != p.a {
		draw += p.share * (p.b.meanAt(level) - draw)
	}
	if p.unseen && level <= f.b.stopM {
		draw = 0
	}
	step := f.paceOf(days)
	receded := (b.mean[iRate]-n.rate)*step.fall + n.rate*days
	inflow := math.Exp(b.mean[iInflow] - receded/2)
	hold, reach := 1.0, dt
	if perVolume*dt > 1e-6 {
		hold = math.Exp(-perVolume * dt)
		reach = (1 - hold) / perVolume
	}
	net := inflow + rainM*area/dt - loss - draw*(1+b.mean[iDraw])
	b.mean[iVolume] += net * reach
	b.mean[iInflow] = math.Max(b.mean[iInflow]-receded, f.floor)
	b.mean[iRate] = n.rate + (b.mean[iRate]-n.rate)*step.keep
	b.mean[iDraw] *= step.keepDraw

	g := inflow * reach
	s := shift{hold: hold, byInflow: g, byRate: -g * step.fall / 2, byDraw: -draw * reach, fall: step.fall, keep: step.keep, keepDraw: step.keepDraw}
	w := n.wander * n.wander * days
	s.spread(&b.cov, &noise{volume: g * g * w / 3, volumeInflow: g * w / 2, inflow: w,
		rate: n.rateSD * n.rateSD * (1 - step.keep*step.keep), draw: n.drawSD * n.drawSD * (1 - step.keepDraw*step.keepDraw)})
	if carried != nil {
		*carried = s.times(carried)
	}
}

// paceOf works out what so many days do to the rate, or remembers it from the step before.
func (f *filter) paceOf(days float64) pace {
	if days != f.pace.days {
		keep := math.Exp(-days / f.n.rateDays) // of the rate's distance from its usual value
		f.pace = pace{days: days, keep: keep, fall: f.n.rateDays * (1 - keep), keepDraw: math.Exp(-days / f.n.drawDays)}
	}
	return f.pace
}
