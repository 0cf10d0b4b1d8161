package clearing

import (
	"errors"
	"fmt"
	"math"
	"time"

	"example.org/headpond/model/hydraulics"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/steady"
)

// Input is what a report is worked out from.
type Input struct {
	History  *record.History
	Timeline *record.Timeline // of the units of the plant in force at the history's end
	// State is the plant at a round, which need hold no more than a time; false where the running units, the level or the
	// model are not known.
	State func(r record.Round) (State, bool)
	// LossM, where it is above 0, is the loss at which the screen is due, in place of the criteria: for questions of when a
	// loss will be reached.
	LossM float64
}

// How far back readings are looked at, how old the last telling one may be, and how far ahead it is foreseen.
const (
	lookBack = 45 * 24 * time.Hour
	stale    = 14 * 24 * time.Hour
	Horizon  = 60 * 24 * time.Hour
)

// Why nothing can be told.
var (
	errNoState  = errors.New("the pond level, the running units or the plant's machines are not known")
	errStanding = errors.New("no unit runs: nothing flows through the screen")
	errUnread   = fmt.Errorf("neither a pressure nor a level difference across the screen was read in the last %.0f days", stale.Hours()/24)
)

// work is one report on its way.
type work struct {
	in      *Input
	h       *record.History
	offsets offsets
	present State
	clean   steady.Result // the present state with a clean screen
	tried   steady.Result
	flow    float64 // of clean, m³/s
	cleanM  float64 // loss of clean, m; not below leastLossM
	mostM   float64 // loss that leaves no head
	cells   int
	ratios  map[string]float64
}

// Report says what is known of the screen. It always returns facts; what cannot be told is absent and CannotTell says why.
func Report(in Input) *Facts {
	f := &Facts{Readings: []Sight{}}
	w := &work{in: &in, h: in.History, ratios: map[string]float64{}}
	if err := w.setUp(); err != nil {
		f.CannotTell = err.Error()
		return f
	}
	f.Approach = w.approach()
	w.offsets = w.references()
	w.gaugeFacts(f)
	first := w.first()
	sights := w.sights(first)
	since := w.sinceClearing(first)
	f.Readings = after(sights, since)
	if len(sights) == 0 || w.h.At.Sub(sights[len(sights)-1].Time) > stale {
		f.CannotTell = errUnread.Error()
		return f
	}
	f.Seen = w.seen(best(sights))
	g := w.follow(first, sights)
	f.Now = w.now(g)
	f.Growth = w.growth(g, since, len(f.Readings))
	w.next(f, g)
	return f
}

// setUp finds the present state.
func (w *work) setUp() error {
	st, ok := w.in.State(record.Round{Time: w.h.At})
	if !ok {
		return errNoState
	}
	w.present = st
	switch {
	case !st.Model.HasScreen():
		return steady.ErrNoScreen
	case len(st.Case.Running) == 0:
		return errStanding
	}
	return w.model()
}

// model solves the present state with a clean screen.
func (w *work) model() error {
	st := w.present
	c := st.Case
	c.ScreenClear, c.ScreenLossM = nil, nil
	if err := st.Model.SolveInto(&c, &w.clean); err != nil {
		return err
	}
	if !(w.clean.FlowM3s > 0) {
		return steady.ErrNoFlow
	}
	w.flow, w.cleanM = w.clean.FlowM3s, max(leastLossM, w.clean.ScreenLossM)
	for i := range w.clean.Units {
		if u := &w.clean.Units[i]; u.Running {
			w.mostM = max(w.mostM, u.GrossHeadM)
		}
	}
	w.cells = min(max(int(math.Log(w.mostM/w.cleanM)/stepY)+2, 30), 120)
	return nil
}

// first is the round at which the filter begins: the first within the look-back.
func (w *work) first() int {
	for i := range w.h.Rounds {
		if w.h.At.Sub(w.h.Rounds[i].Time) <= lookBack {
			return i
		}
	}
	return len(w.h.Rounds)
}

// sinceClearing is the index of the last round on which the screen was cleared, −1 where there is none since first.
func (w *work) sinceClearing(first int) int {
	for i := len(w.h.Rounds) - 1; i >= first; i-- {
		if Cleared(w.h.Rounds[i]) {
			return i
		}
	}
	return -1
}

// after lists the sights of rounds after one.
func after(sights []sight, round int) []Sight {
	out := []Sight{}
	for i := range sights {
		if sights[i].round > round {
			out = append(out, sights[i].Sight)
		}
	}
	return out
}

func (w *work) cleanKW() float64 { return totalKW(&w.clean) }

// solve is the present state with a loss of the screen, m. The result is good until the next one.
func (w *work) solve(lossM float64) *steady.Result {
	c := w.present.Case
	c.ScreenClear, c.ScreenLossM = nil, &lossM
	_ = w.present.Model.SolveInto(&c, &w.tried) // the clean case was accepted, and so is any loss
	return &w.tried
}

// solveAt is the present state with the screen at y, and the share that is then clear. y is counted from leastLossM where a clean
// screen loses less; at 0 the screen is clean all the same.
func (w *work) solveAt(y float64) (*steady.Result, float64) {
	in := w.present.Model.Plant().Intake
	loss := w.clean.ScreenLossM + w.cleanM*math.Expm1(y)
	clear := min(1, hydraulics.ScreenOpenShare(loss/hydraulics.VelocityHead(w.flow / *in.ScreenM2))/in.OpenShare)
	c := w.present.Case
	c.ScreenClear, c.ScreenLossM = &clear, nil
	_ = w.present.Model.SolveInto(&c, &w.tried) // any share from 0 to 1 is accepted
	return &w.tried, clear
}

// yOf is how far a loss at a flow is from the clean screen's, as the logarithm of the coefficients' ratio.
func (w *work) yOf(lossM, flowM3s float64) float64 {
	if !(lossM > 0) || !(flowM3s > 0) {
		return 0
	}
	return math.Log(lossM / w.cleanM * square(w.flow/flowM3s))
}

// cleanFlow is what a state's units draw through a clean screen, m³/s.
func (w *work) cleanFlow(st State) (float64, bool) {
	r, err := st.Model.Solve(st.Case)
	return r.FlowM3s, err == nil
}

// best is the surest reading of the last round that tells.
func best(sights []sight) *sight {
	last := &sights[len(sights)-1]
	for i := range sights {
		if s := &sights[i]; s.round == last.round && math.Hypot(s.sdM, s.tiltM) < math.Hypot(last.sdM, last.tiltM) {
			last = s
		}
	}
	return last
}

// seen turns the last telling reading into facts.
func (w *work) seen(s *sight) *Seen {
	return &Seen{Sight: s.Sight, Clear: s.seen.Clear, ClearMin: s.seen.ClearMin, ClearMax: s.seen.ClearMax, Says: s.seen.Range(), LostKW: s.seen.LostKW}
}

// now turns the belief into the present loss, clear share and power lost.
func (w *work) now(g *grid) *Now {
	n := &Now{}
	byY := g.byY()
	for _, p := range []struct {
		share      float64
		loss, lost *float64
		clear      *float64 // the clearest screen is that of the least loss
	}{{0.1, &n.LossM.P10, &n.LostKW.P10, &n.Clear.P90}, {0.5, &n.LossM.P50, &n.LostKW.P50, &n.Clear.P50}, {0.9, &n.LossM.P90, &n.LostKW.P90, &n.Clear.P10}} {
		r, clear := w.solveAt(place(byY, p.share) * stepY)
		*p.loss, *p.clear, *p.lost = r.ScreenLossM, clear, max(0, w.cleanKW()-totalKW(r))
	}
	if kw := w.cleanKW(); kw > 0 {
		n.LostShare = Range{n.LostKW.P10 / kw, n.LostKW.P50 / kw, n.LostKW.P90 / kw}
	}
	return n
}

// growth turns the belief into how fast the loss grows.
func (w *work) growth(g *grid, since, readings int) *Growth {
	by := g.byGrowth()
	perDay := func(share float64) float64 {
		return math.Expm1(growth(place(by, share)))
	}
	out := &Growth{PerDay: Range{perDay(0.1), perDay(0.5), perDay(0.9)}, Readings: readings}
	if since < 0 {
		since = w.first()
	}
	out.Since = w.h.Rounds[since].Time
	out.WaterDay = w.water(out.Since, w.h.At)
	return out
}

// gaugeFacts tells the offset of the gauge that the present way of running is read on: the plant's, else the first set's.
func (w *work) gaugeFacts(f *Facts) {
	at := w.gaugeAt(w.present, "")
	if !at.ok {
		return
	}
	running := record.FormatRunning(w.present.Case.Running)
	for _, id := range append([]string{""}, w.present.Model.Plant().UnitIDs()...) {
		g := gauge{quantity.NewKey(id, quantity.PressureKPa), running, w.present.Model}
		if len(w.offsets.seen[g]) > 0 {
			o := w.offsets.of(g, at.cleanKPa)
			f.Gauge = &o
			return
		}
	}
}

// approach compares the velocity at the clean screen with the published rules.
func (w *work) approach() []Approach {
	v, ok := w.present.Model.ApproachMS(w.flow)
	if !ok {
		return nil
	}
	in := w.present.Model.Plant().Intake
	var list []Approach
	for _, rule := range hydraulics.FishScreenRules() {
		a := Approach{Rule: rule.Name, VelocityMS: v, AtMostMS: rule.VelocityMS, OpenArea: rule.OpenArea, Source: rule.Source, Status: rule.Status}
		if rule.OpenArea {
			a.VelocityMS /= in.OpenShare
		}
		a.Within = a.VelocityMS <= rule.VelocityMS
		list = append(list, a)
	}
	return list
}
