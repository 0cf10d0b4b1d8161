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
	pace  pace    // of the last step
	floor float64 // log of the least inflow
	doubt doubt
}

// doubt is what is kept of the last sight that was used, so that the next one can show it to have been a slip.
type doubt struct {
	i       int     // which sight; 0 for none
	without belief  // where the leg to it led, had it not been read
	carried mat     // the linearised way there from the moment before
	density float64 // with which it was foreseen
}

// runFilter filters the whole series and carries the belief to now. Sights that cannot be are marked in the series.
func runFilter(b *basin, s *series, n nature) *filter {
	f := &filter{b: b, n: n, s: s, floor: math.Log(n.leastInflowM3s)}
	f.track = make([]moment, 0, len(s.sights))
	begin := 0
	for s.sights[begin].setAside {
		begin++
	}
	first := s.sights[begin]
	most := b.eras[b.eraAt(first.at)].all().meanAt(first.levelM)
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
		if !ok && f.takeBack(i) { // it was the sight before that was the slip
			now, carried = f.doubt.without, f.doubt.carried
			step = f.leap(now, &s.legs[i], &carried)
			post, pred, ok = f.weigh(step, i)
		}
		if !ok {
			s.sights[i].setAside = true
			f.row++
			now = pred
			continue
		}
		f.row, f.doubt.i, f.doubt.without, f.doubt.carried = 0, i, step.collapse(), carried
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
	all := p.most.meanAt(level)
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
