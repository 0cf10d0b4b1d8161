package pond

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sort"
	"time"
)

// Limits say how long Drawdown goes on and what it watches for.
type Limits struct {
	StopM   float64       // the machines stop here, and so does the integration
	Horizon time.Duration // at most this long
	Watch   []float64     // other levels whose first crossing is wanted, m
	Every   time.Duration // spacing of the points of the curve; 0 for none
}

// Crossing is the first time that a watched level was passed.
type Crossing struct {
	LevelM float64
	Hours  float64
	Rising bool
}

// Point is the level at a time.
type Point struct {
	Hours  float64
	LevelM float64
}

// Totals are the volumes that passed, m3, and the energy given, kWh.
type Totals struct {
	InflowM3, RainM3, DrawM3, BypassM3, SeepageM3, EvaporationM3, SpillM3, EnergyKWh float64
}

// NetM3 is what the pond gained, m3.
func (t Totals) NetM3() float64 {
	return t.InflowM3 + t.RainM3 - t.DrawM3 - t.BypassM3 - t.SeepageM3 - t.EvaporationM3 - t.SpillM3
}

// Result is how a drawdown went.
type Result struct {
	Reached   bool    // the stop level was reached
	Dry       bool    // the pond ran dry above the stop level; nothing is said beyond
	Hours     float64 // to the stop level, to the dry pond or to the horizon
	EndM      float64 // level at that time
	Totals    Totals
	Crossings []Crossing // of the watched levels, in the order in which they came
	Curve     []Point
	Steps     int // accepted steps
}

const (
	relTol   = 1e-9    // of the volume that matters, a step
	maxSteps = 2000000 // a guard: a balance that needs more has a flaw
)

// ErrTooStiff tells that an integration needed more steps than any real pond does.
var ErrTooStiff = errors.New("the pond's balance changes too fast to be followed; look for a flow that jumps with the level")

// Drawdown integrates the balance from a level until the stop level, the dry pond or the horizon is reached:
//
//	dV/dt = inflow + rain − draw − bypass − seepage − evaporation(month)·area − spill(level)
//
// with an adaptive Dormand–Prince 5(4) method, piece by piece between the breaks, and finds crossings by root-finding on
// the dense output. A start at or below the stop level is reached at 0 h. Errors: a missing stage table (ErrNoStage), a
// start or limit that is not a number, ErrTooStiff, or the context's.
func Drawdown(ctx context.Context, b *Balance, startM float64, lim Limits) (Result, error) {
	if err := b.check(); err != nil {
		return Result{}, err
	}
	if !finite(startM) || !finite(lim.StopM) || lim.Horizon < 0 {
		return Result{}, fmt.Errorf("cannot run a pond from level %g m to %g m within %v", startM, lim.StopM, lim.Horizon)
	}
	r := newRun(b, startM, lim)
	if startM <= lim.StopM {
		r.res.Reached = true
		return r.finish(), nil
	}
	edges := b.pieces(lim.Horizon.Seconds())
	for i := 1; i < len(edges) && !r.done; i++ {
		if err := r.piece(ctx, edges[i-1], edges[i]); err != nil {
			return Result{}, fmt.Errorf("after %.1f h: %w", r.s/3600, err)
		}
	}
	return r.finish(), nil
}

// pieces returns the times between which every input is smooth, from 0 to the horizon: breaks and month ends.
func (b *Balance) pieces(horizon float64) []float64 {
	edges := []float64{0, horizon}
	for _, s := range b.Breaks {
		if s > 0 && s < horizon {
			edges = append(edges, s)
		}
	}
	if b.EvaporationMMDay != nil {
		loc := b.Start.Location()
		y, m, _ := b.Start.In(loc).Date()
		for i := 1; ; i++ {
			s := time.Date(y, m+time.Month(i), 1, 0, 0, 0, 0, loc).Sub(b.Start).Seconds()
			if s >= horizon {
				break
			}
			edges = append(edges, s)
		}
	}
	sort.Float64s(edges)
	return apart(edges)
}

// apart drops edges that lie less than a millisecond after the one before: no step could be made between them.
func apart(edges []float64) []float64 {
	kept := edges[:1]
	for _, e := range edges[1:] {
		if e-kept[len(kept)-1] >= 1e-3 {
			kept = append(kept, e)
		}
	}
	return kept
}

// run is one integration under way.
type run struct {
	b           *Balance
	lim         Limits
	res         Result
	y           vector
	s, h        float64
	stopV, dryV float64
	watchV      []float64
	passed      []bool
	tol         float64
	nextPoint   float64
	done        bool
}

func newRun(b *Balance, startM float64, lim Limits) *run {
	r := &run{b: b, lim: lim, h: 3600, stopV: b.Stage.VolumeM3(lim.StopM), dryV: math.Inf(-1)}
	r.y[0] = b.Stage.VolumeM3(startM)
	if dry := b.Stage.DryM(); !math.IsInf(dry, -1) {
		r.dryV = b.Stage.VolumeM3(dry)
		r.dryV += 1e-9 * (r.y[0] - r.dryV)
		if lim.StopM < dry {
			r.stopV = math.Inf(-1)
		}
	}
	r.tol = relTol * math.Max(1, math.Abs(r.y[0]-math.Max(r.stopV, r.dryV)))
	for _, m := range lim.Watch {
		r.watchV = append(r.watchV, b.Stage.VolumeM3(m))
	}
	r.passed = make([]bool, len(lim.Watch))
	r.sample(0, r.y[0])
	return r
}

// piece integrates from one edge to the next. Inputs are asked just before the far edge, never at it, so that a value
// that jumps there is not mixed into this piece.
func (r *run) piece(ctx context.Context, from, to float64) error {
	if to <= from {
		return nil
	}
	month, last := r.b.monthAt(from+(to-from)/2), math.Nextafter(to, from)
	f := func(s float64, y vector) vector {
		fl := r.b.flows(math.Min(s, last), r.b.Stage.LevelM(y[0]), month)
		return vector{fl.NetM3s(), fl.InflowM3s, fl.RainM3s, fl.DrawM3s, fl.BypassM3s, fl.SeepageM3s, fl.EvaporationM3s, fl.SpillM3s, fl.KW}
	}
	k := f(from, r.y)
	h := math.Min(r.h, to-from)
	for r.s = from; r.s < to && !r.done; {
		if err := ctx.Err(); err != nil {
			return err
		}
		if r.res.Steps > maxSteps || h < 1e-6 {
			return ErrTooStiff
		}
		t, err := try(f, r.s, h, r.y, k)
		if !finite(t.end[0]) {
			return errors.New("a flow of the balance is not a number")
		}
		if err > r.tol && h > 1e-3 {
			h = nextStep(h, err, r.tol)
			continue
		}
		r.accept(&t)
		k = t.slope
		if h = nextStep(h, err, r.tol); h > 1 {
			r.h = h
		}
		if left := to - r.s; h > left*(1-1e-12) {
			h = math.Max(left, 1e-6)
		}
	}
	return nil
}

// accept looks for crossings within a step and moves on to its end, or to where the run ends.
func (r *run) accept(t *step) {
	r.res.Steps++
	end := 1.0
	if x, ok := firstPass(t, r.stopV); ok {
		end, r.done, r.res.Reached = x, true, true
	} else if x, ok := firstPass(t, r.dryV); ok {
		end, r.done, r.res.Dry = x, true, true
	}
	for i, v := range r.watchV {
		if x, ok := firstPass(t, v); ok && x <= end && !r.passed[i] {
			r.passed[i] = true
			r.res.Crossings = append(r.res.Crossings, Crossing{LevelM: r.lim.Watch[i], Hours: (t.s + x*t.h) / 3600, Rising: t.y[0] < v})
		}
	}
	r.points(t, end)
	if end < 1 {
		r.y = t.at(end)
	} else {
		r.y = t.end
	}
	r.s = t.s + end*t.h
}

// firstPass finds the first share of a step at which the volume passes v. The step is looked at in four parts, so that a
// dip and a recovery within one step are not missed.
func firstPass(t *step, v float64) (float64, bool) {
	const parts = 4
	prev, before := t.y[0]-v, 0.0
	for i := 1; i <= parts; i++ {
		x := float64(i) / parts
		next := t.volumeLike(0, x) - v
		if prev != 0 && (next == 0 || math.Signbit(next) != math.Signbit(prev)) {
			span := x - before
			at := root(func(u float64) float64 { return t.volumeLike(0, before+u*span) - v }, prev, next)
			return before + at*span, true
		}
		prev, before = next, x
	}
	return 0, false
}

// points adds what falls within a step to the curve.
func (r *run) points(t *step, end float64) {
	if r.lim.Every <= 0 {
		return
	}
	for r.nextPoint <= t.s+end*t.h {
		r.sample(r.nextPoint, t.volumeLike(0, (r.nextPoint-t.s)/t.h))
	}
}

func (r *run) sample(s, volume float64) {
	if r.lim.Every <= 0 {
		return
	}
	r.res.Curve = append(r.res.Curve, Point{Hours: s / 3600, LevelM: r.b.Stage.LevelM(volume)})
	r.nextPoint = s + r.lim.Every.Seconds()
}

func (r *run) finish() Result {
	y := r.y
	r.res.Hours, r.res.EndM = r.s/3600, r.b.Stage.LevelM(y[0])
	r.res.Totals = Totals{InflowM3: y[1], RainM3: y[2], DrawM3: y[3], BypassM3: y[4], SeepageM3: y[5],
		EvaporationM3: y[6], SpillM3: y[7], EnergyKWh: y[8] / 3600}
	sort.Slice(r.res.Crossings, func(i, j int) bool { return r.res.Crossings[i].Hours < r.res.Crossings[j].Hours })
	return r.res
}
