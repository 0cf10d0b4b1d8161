package demo

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/pond"
	"example.org/headpond/model/steady"
)

// The plant's two sets.
const (
	large = "A"
	small = "B"
)

// How the story begins.
const (
	startLevelM  = -0.04
	startDebris  = 0.5
	startHoursA  = 11342.4
	startHoursB  = 4017.8
	startLoadKWh = 38216.3
)

// bypassLps is what passes beside the plant, L/s: its gate is set a little above what the permit asks for.
const bypassLps = 6.2

// spareShare is the share of the power that the house leaves unused at least, so that the story has no overload but the
// one that it tells.
const spareShare = 0.06

// works is the plant as it is, as against what people read of it.
type works struct {
	plant   *plant.Plant
	model   *steady.Model
	cal     calendar
	weather *weather
	demand  *demand
	volts   series // how the regulator wanders
	hertz   series // how the controller wanders
	balance pond.Balance

	at      float64 // s
	levelM  float64
	running []string
	debris  float64 // the screen's clear share is e to the minus debris
	litter  float64 // share of the open holes lost a day, 0 for the season's
	open    string  // a ballast element that takes nothing, known or not
	hours   map[string]float64
	loadKWh float64
	solved  steady.Result
}

func newWorks(p *plant.Plant, cal calendar, seed uint64) (*works, error) {
	m, err := steady.New(p)
	if err != nil {
		return nil, fmt.Errorf("the demo plant: %w", err)
	}
	stage, err := pond.NewStage(p.Pond.Stage)
	if err != nil {
		return nil, fmt.Errorf("the demo plant: %w", err)
	}
	if p.Pond.CatchmentKM2 == nil || p.Pond.CrestM == nil {
		return nil, fmt.Errorf("the demo plant: catchment_km2 or crest_m is missing")
	}
	w := &works{
		plant: p, model: m, cal: cal, levelM: startLevelM, debris: startDebris, running: []string{large}, loadKWh: startLoadKWh,
		weather: newWeather(stream(seed, streamWeather), cal, *p.Pond.CatchmentKM2),
		demand:  newDemand(stream(seed, streamDemand), cal),
		hours:   map[string]float64{large: startHoursA, small: startHoursB},
	}
	w.wander(stream(seed, streamWander))
	w.balance = pond.Balance{
		Stage:            stage,
		BypassM3s:        func(_, _ float64) float64 { return bypassLps / 1000 },
		SeepageM3s:       func(float64) float64 { return p.Pond.SeepageLps / 1000 },
		EvaporationMMDay: p.Pond.EvaporationMMDay,
		Weir:             &pond.Weir{CrestM: *p.Pond.CrestM, LengthM: p.Pond.CrestLengthM, Coefficient: p.Pond.CrestCoefficient},
	}
	return w, nil
}

func (w *works) wander(r *rand.Rand) {
	w.volts = wander(r, (days+2)*24, 0.8, 0.7)
	w.hertz = wander(r, (days+2)*24, 0.5, 0.07)
}

// clear is the share of the screen's holes that is open.
func (w *works) clear() float64 { return math.Exp(-w.debris) }

// solve is the plant's steady state at a level, a clear share and a speed over rated.
func (w *works) solve(levelM, clear, speed float64) (*steady.Result, error) {
	c := steady.Case{PondLevelM: levelM, Running: w.running, ScreenClear: &clear, Speed: speed, WaterC: &w.today().waterC}
	if err := w.model.SolveInto(&c, &w.solved); err != nil {
		return nil, fmt.Errorf("the demo plant on day %d: %w", w.cal.day(w.at), err)
	}
	return &w.solved, nil
}

func (w *works) today() *dayWeather { return &w.weather.days[w.cal.day(w.at)] }

// The longest stretch that is gone through in one: half a day, or less where the screen shuts fast.
const (
	longPiece   = 14 * hour
	shortPiece  = 4 * hour
	heavyDebris = 1.6
)

// advance moves the plant on to a time.
func (w *works) advance(ctx context.Context, to float64) error {
	for w.at < to {
		piece := longPiece
		if w.debris > heavyDebris {
			piece = shortPiece
		}
		if err := w.piece(ctx, math.Min(to, w.at+piece)); err != nil {
			return err
		}
	}
	return nil
}

// piece moves the plant on through a stretch in which the draw is taken as linear in time and in the level.
func (w *works) piece(ctx context.Context, to float64) error {
	span := to - w.at
	draw, debris, err := w.draw(span)
	if err != nil {
		return err
	}
	b := w.balance
	from, ice := w.at, w.today().ice == "cover"
	b.Start = w.cal.time(from)
	b.InflowM3s = func(s float64) float64 { return w.weather.brook.m3s(from + s) }
	b.RainMMDay = func(s float64) float64 { return w.weather.brook.rainMMDay(from + s) }
	b.IceCover = func(float64) bool { return ice }
	b.Draw = draw
	for _, e := range w.weather.brook.edges {
		if e > from && e < to {
			b.Breaks = append(b.Breaks, e-from)
		}
	}
	res, err := pond.Drawdown(ctx, &b, w.levelM, pond.Limits{StopM: b.Stage.LowM(), Horizon: w.cal.time(to).Sub(b.Start)})
	if err != nil {
		return fmt.Errorf("the demo pond on day %d: %w", w.cal.day(from), err)
	}
	if res.Reached || res.Dry {
		return fmt.Errorf("the demo pond ran dry on day %d", w.cal.day(from))
	}
	w.count(from, to)
	w.at, w.levelM, w.debris = to, res.EndM, debris
	return nil
}

// draw is what the machines take and give over the next span, s, and the debris at its end.
func (w *works) draw(span float64) (func(s, levelM float64) (flowM3s, kw float64), float64, error) {
	if len(w.running) == 0 {
		return nil, w.debris, nil
	}
	const below = 0.05 // m
	r, err := w.solve(w.levelM, w.clear(), 1)
	if err != nil {
		return nil, 0, err
	}
	q0, p0 := r.FlowM3s, r.CommonKW
	if r, err = w.solve(w.levelM-below, w.clear(), 1); err != nil {
		return nil, 0, err
	}
	dq, dp := (q0-r.FlowM3s)/below, (p0-r.CommonKW)/below
	debris := w.debris + w.litterRate()*span/day*q0/litterFlowM3s
	if r, err = w.solve(w.levelM, math.Exp(-debris), 1); err != nil {
		return nil, 0, err
	}
	qt, pt := (r.FlowM3s-q0)/span, (r.CommonKW-p0)/span
	level := w.levelM
	return func(s, levelM float64) (float64, float64) {
		return q0 + qt*s + dq*(levelM-level), p0 + pt*s + dp*(levelM-level)
	}, debris, nil
}

// litterFlowM3s is the flow at which the season's litter shuts the screen at its rate: the large set's.
const litterFlowM3s = 0.078

func (w *works) litterRate() float64 {
	if w.litter > 0 {
		return w.litter
	}
	d := w.today()
	if w.weather.brook.rainMMDay(w.at) > 5 {
		return 1.8 * d.litterRate // rain washes it in
	}
	return d.litterRate
}

// count moves the meters on: hours of each running set, and the consumers' energy by the trapezoidal rule.
func (w *works) count(from, to float64) {
	for _, id := range w.running {
		w.hours[id] += (to - from) / hour
	}
	n := math.Ceil((to - from) / (hour / 2))
	step := (to - from) / n
	before := w.consumers(from)
	for i := 1.0; i <= n; i++ {
		after := w.consumers(from + i*step)
		w.loadKWh += (before + after) / 2 * step / hour
		before = after
	}
}

// consumers is the load at a time, kW.
func (w *works) consumers(s float64) float64 {
	kw := w.demand.kw(s, w.running)
	if len(w.running) == 0 {
		return 0
	}
	return math.Min(kw, (1-spareShare)*w.solved.CommonKW)
}

// switchTo changes which sets run.
func (w *works) switchTo(ids ...string) {
	slices.Sort(ids)
	w.running = ids
}
