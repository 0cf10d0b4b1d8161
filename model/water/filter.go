package water

import (
	"math"
	"time"
)

// The quantities of the state.
const (
	iVolume = iota // stored water, m3, counted as the stage table does
	iInflow        // logarithm of the inflow in m3/s
	iRate          // how fast that logarithm falls, 1/day
	iDraw          // how much more the machines draw than computed, as a share
)

// nature is what is taken for granted of a stream and a gauge before its log has said anything, and then what the log has
// taught. Times are days.
type nature struct {
	rate, rateSD   float64 // usual recession rate and its spread, 1/day
	rateDays       float64 // how long a rate keeps
	wander         float64 // noise of the log inflow, per √day
	riseEvery      float64 // days between rises
	rise, riseSD   float64 // size of a rise of the log inflow
	floodShare     float64 // share of rises that are floods: four times the size
	quicker        float64 // what a rise adds to the recession rate, 1/day
	drawSD         float64 // how well the computed draw is known, as a share
	drawDays       float64 // and how long an error of it keeps
	gaugeSD        float64 // added to the reading error: waves, wind set-up, m
	anything       float64 // share of legs on which the inflow did something else
	mistyped       float64 // share of levels that are mistyped
	startSD        float64 // of the log inflow before anything is known
	leastInflowM3s float64 // below this the inflow counts as none
}

// priors are the recession families of small streams: daily constants of 0.93 to 0.995 for groundwater, 0.7 to 0.94 for
// what runs off between (Nathan and McMahon 1990, Pilgrim and Cordery 1993, from memory), a rise every fortnight or so,
// and a machine whose draw is known to a few per cent.
func priors() nature {
	return nature{rate: 0.025, rateSD: 0.03, rateDays: 6, wander: 0.035, riseEvery: 15, rise: 0.6, riseSD: 0.5, floodShare: 0.1, quicker: 0.05,
		drawSD: 0.03, drawDays: 200, gaugeSD: 0.005, anything: 0.003, mistyped: 0.003, startSD: 1.3, leastInflowM3s: 1e-4}
}

// moment is what the filter knows just after one sight, with what the smoother needs to walk back.
type moment struct {
	at        time.Time
	predicted belief // before the sight was used
	filtered  belief
	f         mat // the linearised way from the moment before
}

// filter walks forward through a series.
type filter struct {
	b     *basin
	n     nature
	s     *series
	track []moment
	last  belief  // at now
	usual float64 // log inflow about what the machines draw
	row   int     // sights set aside one after another
	logL  float64
}

// gaugeLook is how many of the last sights a gauge is judged by.
const gaugeLook = 300

// fitGauge finds how much the levels scatter beyond the gauge's division: waves, wind, a stick held askew. It looks at the
// last sights and doubles the scatter as long as that makes them clearly more likely.
func (n nature) fitGauge(b *basin, s *series) nature {
	tail := s.tail(gaugeLook)
	try := func(sd float64) float64 {
		m := n
		m.gaugeSD = sd
		t := tail
		t.sights = append([]sight(nil), tail.sights...)
		return runFilter(b, &t, m).logL
	}
	best := try(n.gaugeSD)
	for n.gaugeSD < 0.06 {
		next := try(2 * n.gaugeSD)
		if next < best+2 {
			break
		}
		n.gaugeSD, best = 2*n.gaugeSD, next
	}
	return n
}

// runFilter filters the whole series and carries the belief to now. Sights that cannot be are marked in the series.
func runFilter(b *basin, s *series, n nature) *filter {
	f := &filter{b: b, n: n, s: s}
	f.track = make([]moment, 0, len(s.sights))
	begin := 0
	for s.sights[begin].setAside {
		begin++
	}
	first := s.sights[begin]
	most, _ := b.draws.table(b.plant.UnitIDs()).at(first.levelM)
	f.usual = math.Log(math.Max(0.5*(most+b.bypass), 10*n.leastInflowM3s))
	now := f.start(first)
	f.track = append(f.track, moment{at: first.at, predicted: now, filtered: now})
	carried := identity()
	for i := begin + 1; i < len(s.sights); i++ {
		step := f.leap(now, &s.legs[i], &carried)
		if s.sights[i].setAside {
			now = step.collapse()
			continue
		}
		post, pred, ok := f.weigh(step, i)
		if !ok {
			s.sights[i].setAside = true
			f.row++
			now = pred
			continue
		}
		f.row = 0
		f.track = append(f.track, moment{at: s.sights[i].at, predicted: pred, filtered: post, f: carried})
		now, carried = post, identity()
	}
	step := f.leap(now, &s.legs[len(s.sights)], &carried)
	f.last = step.collapse()
	return f
}

func identity() (m mat) {
	for i := range m {
		m[i][i] = 1
	}
	return m
}

// start is the belief at the first sight: the volume as read, the inflow within a factor of a few of what the machines
// draw.
func (f *filter) start(x sight) belief {
	v, err := f.volume(x)
	b := belief{n: stateSize}
	b.mean = vec{v, f.usual, f.n.rate, 0}
	b.cov[iVolume][iVolume] = err
	b.cov[iInflow][iInflow] = f.n.startSD * f.n.startSD
	b.cov[iRate][iRate] = f.n.rateSD * f.n.rateSD
	b.cov[iDraw][iDraw] = f.n.drawSD * f.n.drawSD
	return b
}

// volume turns a sight into a volume and its variance, m3 and m6.
func (f *filter) volume(x sight) (v, variance float64) {
	area := f.b.stage.AreaM2(x.levelM)
	sd := math.Hypot(x.sd, f.n.gaugeSD) * math.Max(area, 1)
	return f.b.stage.VolumeM3(x.levelM), sd * sd
}

// hypotheses is how many there are of what the inflow did on a leg: it receded, it rose, it came in flood, or anything at
// all, which keeps the filter from holding on to what the levels no longer bear out.
const hypotheses = 4

// step holds the hypotheses after a leg.
type step struct {
	beliefs [hypotheses]belief
	shares  [hypotheses]float64
	least   float64 // m3: with no inflow at all and every machine running, the pond could not hold less
}

func (s *step) collapse() belief { return blend(s.beliefs[:], s.shares[:]) }

// leap carries a belief through a leg under every hypothesis. carried collects the linearised way for the smoother,
// unless it is nil.
func (f *filter) leap(now belief, l *leg, carried *mat) step {
	seconds := l.seconds()
	days := seconds / secondsPerDay
	s := step{beliefs: [hypotheses]belief{now, now, now, now}, shares: [hypotheses]float64{1}}
	if days == 0 {
		s.least = math.Inf(-1)
		return s
	}
	every := f.n.riseEvery
	if l.lift {
		every = math.Min(every, 2)
	}
	s.least = f.least(&now, l, seconds)
	s.shares[3] = f.n.anything
	s.shares[2] = 1 - math.Exp(-days/every*f.n.floodShare)
	s.shares[1] = 1 - math.Exp(-days/every) - s.shares[2]
	s.shares[0] = 1 - s.shares[1] - s.shares[2] - s.shares[3]
	half := now
	f.carry(&half, l, 0, seconds/2, carried)
	for k := range s.beliefs {
		s.beliefs[k] = half
		var way *mat // only the way without a rise is kept
		switch k {
		case 0:
			way = carried
		case 1:
			f.lift(&s.beliefs[k], f.n.rise, f.n.riseSD)
		case 2:
			f.lift(&s.beliefs[k], 4*f.n.rise, 2*f.n.riseSD)
		case 3:
			f.forget(&s.beliefs[k])
		}
		f.carry(&s.beliefs[k], l, seconds/2, seconds, way)
	}
	return s
}

// least is the volume that a leg can leave behind at worst. The machines may draw a third more than computed.
func (f *filter) least(now *belief, l *leg, seconds float64) float64 {
	level := f.level(now)
	p := &l.pieces[0]
	loss, _ := f.b.losses(level, f.b.stage.AreaM2(level), p.bypass, p.from.In(f.b.loc).Month(), p.iced)
	all := f.b.draws.table(f.b.plant.UnitIDs()).meanAt(level)
	return now.mean[iVolume] - (1.33*all+loss)*seconds
}

// lift adds a rise of uncertain size.
func (f *filter) lift(b *belief, jump, sd float64) {
	b.mean[iInflow] += jump
	b.mean[iRate] += f.n.quicker
	b.cov[iInflow][iInflow] += sd * sd
	b.cov[iRate][iRate] += f.n.quicker * f.n.quicker
}

// forget lets the inflow be anything about what the machines draw.
func (f *filter) forget(b *belief) {
	for i := 0; i < b.n; i++ {
		b.cov[i][iInflow], b.cov[iInflow][i] = 0, 0
		b.cov[i][iRate], b.cov[iRate][i] = 0, 0
	}
	b.mean[iInflow], b.mean[iRate] = f.usual, f.n.rate
	b.cov[iInflow][iInflow] = f.n.startSD * f.n.startSD
	b.cov[iRate][iRate] = f.n.rateSD * f.n.rateSD
}

// carry moves a belief through a leg, from so many seconds after its beginning to so many, in parts short enough for the
// balance to be straight within each.
func (f *filter) carry(b *belief, l *leg, from, to float64, carried *mat) {
	rain := l.rainMM / 1000 / l.seconds()
	begin := 0.0
	for i := range l.pieces {
		p := &l.pieces[i]
		end := begin + p.to.Sub(p.from).Seconds()
		lo, hi := math.Max(begin, from), math.Min(end, to)
		if hi > lo {
			f.carryPiece(b, p, p.from.Add(seconds(lo-begin)), hi-lo, rain, carried)
			if d := (p.b.meanAt(f.level(b)) - p.a.meanAt(f.level(b))) * p.spread * (hi - lo); d != 0 {
				b.cov[iVolume][iVolume] += d * d
			}
		}
		begin = end
	}
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

// carryPiece moves a belief through so many seconds of a piece. rain is m/s.
func (f *filter) carryPiece(b *belief, p *piece, at time.Time, total, rain float64, carried *mat) {
	longest := secondsPerDay
	if f.b.weir != nil && b.mean[iVolume] > f.b.crestV-0.05*math.Abs(f.b.crestV-f.b.stopV) {
		longest /= 4
	}
	parts := int(math.Ceil(total/longest - 1e-9))
	dt := total / float64(parts)
	for i := 0; i < parts; i++ {
		f.part(b, p, at.Add(seconds((float64(i)+0.5)*dt)), dt, rain*dt, carried)
	}
}

func (l *leg) seconds() float64 {
	s := 0.0
	for i := range l.pieces {
		s += l.pieces[i].to.Sub(l.pieces[i].from).Seconds()
	}
	return s
}

func (t *drawTable) meanAt(levelM float64) float64 { q, _ := t.at(levelM); return q }

func (f *filter) level(b *belief) float64 { return f.b.stage.LevelM(b.mean[iVolume]) }

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
	keep := math.Exp(-days / n.rateDays) // of the rate's distance from its usual value
	fall := n.rateDays * (1 - keep)      // days that the present rate counts for
	receded := (b.mean[iRate]-n.rate)*fall + n.rate*days
	inflow := math.Exp(b.mean[iInflow] - receded/2)
	hold, reach := math.Exp(-perVolume*dt), dt
	if perVolume*dt > 1e-6 {
		reach = (1 - hold) / perVolume
	}
	net := inflow + rainM*area/dt - loss - draw*(1+b.mean[iDraw])
	b.mean[iVolume] += net * reach
	b.mean[iInflow] = math.Max(b.mean[iInflow]-receded, math.Log(n.leastInflowM3s))
	b.mean[iRate] = n.rate + (b.mean[iRate]-n.rate)*keep

	jac := identity()
	jac[iVolume][iVolume] = hold
	jac[iVolume][iInflow] = inflow * reach
	jac[iVolume][iRate] = -inflow * reach * fall / 2
	jac[iVolume][iDraw] = -draw * reach
	jac[iInflow][iRate] = -fall
	jac[iRate][iRate] = keep
	keepDraw := math.Exp(-days / n.drawDays)
	b.mean[iDraw] *= keepDraw
	jac[iDraw][iDraw] = keepDraw
	var q mat
	w, g := n.wander*n.wander*days, inflow*reach
	q[iVolume][iVolume] = g * g * w / 3
	q[iInflow][iVolume] = g * w / 2
	q[iInflow][iInflow] = w
	q[iRate][iRate] = n.rateSD * n.rateSD * (1 - keep*keep)
	q[iDraw][iDraw] = n.drawSD * n.drawSD * (1 - keepDraw*keepDraw)
	b.spread(&jac, &q)
	if carried != nil {
		*carried = product(&jac, carried)
	}
}

func product(a, b *mat) (m mat) {
	for i := range m {
		for j := range m {
			for k := range m {
				m[i][j] += a[i][k] * b[k][j]
			}
		}
	}
	return m
}

// patience is how many sights may be set aside one after another; then the gauge is believed again.
const patience = 3

// weigh uses a sight to correct the hypotheses and blends them by how well each foresaw it. It returns the belief after
// and before, and false where the sight is better explained as mistyped; then the second belief goes on without it.
func (f *filter) weigh(s step, i int) (post, pred belief, ok bool) {
	likely, density := f.weights(&s, f.s.sights[i])
	if f.row < patience && f.mistyped(&s, i, density) {
		return belief{}, s.collapse(), false
	}
	f.logL += math.Log(density)
	pred = blend(s.beliefs[:], likely[:])
	post = f.correct(s, f.s.sights[i], likely)
	return post, pred, true
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
	out.mean[iInflow] = math.Min(math.Max(out.mean[iInflow], math.Log(f.n.leastInflowM3s)), mostLogInflow)
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
