package water

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"example.org/headpond/model/record"
)

// Options choose what Report works out. The zero value gives the contract's defaults.
type Options struct {
	Ways    []Choice      // ways of running; nil for none, each unit alone, and all
	Until   time.Time     // zero: not asked
	Horizon time.Duration // default 365 days
	Members int           // of the ensemble, default 2000
	Seed    uint64        // the same seed gives the same facts
	Fan     bool          // also work out the level's fan for each way, for the chart
	WhatIf  WhatIf
}

// Choice is a way of running that is asked for.
type Choice struct {
	Run  []string
	Plan *Plan
}

// WhatIf changes the future from what the log and the plant file say.
type WhatIf struct {
	BypassLps *float64 // another flow beside the plant
	RainMM    float64  // rain on the pond and its catchment, from now on within a day; needs the catchment's area
}

const (
	defaultHorizon = 365 * 24 * time.Hour
	defaultMembers = 2000
)

// ErrNoLevels tells that the log holds no level that could be used.
var ErrNoLevels = errors.New("the log holds no pond level yet; read the staff gauge and write it down, on two days at least")

// Report works out the facts at h.At. draws gives the machines' flow and power under each revision of the plant. Where the log is too thin for an inflow,
// the facts hold what is known and a caution says what is missing. Errors: no plant, no stage table (pond.ErrNoStage),
// no stop level (ErrNoStopLevel), no level at all (ErrNoLevels), an unknown unit or plan, or the context's.
func Report(ctx context.Context, h *record.History, draws Draws, opt Options) (*Facts, error) {
	m, err := Prepare(ctx, h, draws)
	if err != nil {
		return nil, err
	}
	return m.Forecast(ctx, opt)
}

// Model is a log read and filtered, from which forecasts can be made quickly, one for each what-if.
type Model struct {
	h      *record.History
	b      *basin
	s      series
	nature nature
	filter *filter
	past   *memory
	days   int // different local days with usable levels
}

// Prepare reads and filters the log. Its errors are those of Report.
func Prepare(ctx context.Context, h *record.History, draws Draws) (*Model, error) {
	if h == nil || h.Plant == nil {
		return nil, errors.New("there is no plant file in the book; load one before asking about the water")
	}
	draw, err := draws(h.Plant)
	if err != nil {
		return nil, err
	}
	b, err := newBasin(h.Plant, draw)
	if err != nil {
		return nil, err
	}
	b.readEras(h, draws)
	m := &Model{h: h, b: b, s: readSeries(h, b), nature: priors()}
	m.s.dropImpossible(b)
	if len(m.s.sights) == 0 {
		return nil, ErrNoLevels
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	m.nature = m.nature.fitGauge(b, &m.s)
	m.filter = runFilter(b, &m.s, m.nature)
	m.past = remember(m.filter)
	seen := map[string]bool{}
	for _, x := range m.s.sights {
		if !x.setAside {
			seen[x.at.In(b.loc).Format(time.DateOnly)] = true
		}
	}
	m.days = len(seen)
	return m, nil
}

// Forecast works out the facts for given options.
func (m *Model) Forecast(ctx context.Context, opt Options) (*Facts, error) {
	if opt.Horizon <= 0 {
		opt.Horizon = defaultHorizon
	}
	if opt.Members <= 0 {
		opt.Members = defaultMembers
	}
	ways, err := m.ways(opt.Ways)
	if err != nil {
		return nil, err
	}
	f := m.state()
	if m.days < 2 {
		m.bare(f, ways)
		return f, nil
	}
	e, err := m.ensemble(opt)
	if err != nil {
		return nil, err
	}
	for _, w := range ways {
		c, err := e.c.course(w, e.days)
		if err != nil {
			return nil, err
		}
		e.courses = append(e.courses, c)
	}
	all, err := e.run(ctx)
	if err != nil {
		return nil, err
	}
	for i := range all {
		f.Ways = append(f.Ways, m.wayFacts(f, e, &all[i]))
	}
	m.permitNow(f, ways)
	if !opt.Until.IsZero() {
		if f.Until, err = m.until(ctx, e, opt.Until); err != nil {
			return nil, err
		}
	}
	m.cautions(f, e)
	f.Cautions = append(f.Cautions, sayRain(opt.WhatIf)...)
	return f, nil
}

// ways turns choices into ways, by default none, each unit alone, and all.
func (m *Model) ways(choices []Choice) ([]way, error) {
	if choices == nil {
		choices = []Choice{{Run: []string{}}}
		ids := m.b.plant.UnitIDs()
		for _, id := range ids {
			choices = append(choices, Choice{Run: []string{id}})
		}
		if len(ids) > 1 {
			choices = append(choices, Choice{Run: ids})
		}
	}
	var list []way
	for _, c := range choices {
		w, err := m.way(c)
		if err != nil {
			return nil, err
		}
		list = append(list, w)
	}
	return list, nil
}

func (m *Model) way(c Choice) (way, error) {
	if err := checkUnits(m.b.plant, c.Run); err != nil {
		return way{}, err
	}
	w := way{run: inOrder(m.b.plant, c.Run)}
	if c.Plan == nil {
		return w, nil
	}
	if err := checkUnits(m.b.plant, []string{c.Plan.Unit}); err != nil {
		return way{}, err
	}
	part, err := c.Plan.part()
	if err != nil {
		return way{}, fmt.Errorf("plan of unit %s: %w", c.Plan.Unit, err)
	}
	plan := *c.Plan
	w.plan, w.part = &plan, part
	return w, nil
}

// ensemble makes the members' start, their stream, their grid of days and the pond.
func (m *Model) ensemble(opt Options) (*ensemble, error) { return m.ensembleWith(opt, m.stream()) }

func (m *Model) ensembleWith(opt Options, future stream) (*ensemble, error) {
	now := m.filter.last
	bypass, iced := m.b.bypass, false
	if c := readConditions(m.h, m.b); len(c) > 0 {
		bypass, iced = c[len(c)-1].bypass, c[len(c)-1].iced
	}
	if v := opt.WhatIf.BypassLps; v != nil {
		if !(*v >= 0 && *v <= mostBypassLps) {
			return nil, fmt.Errorf("a bypass of %g L/s cannot be; expected 0 to %g L/s", *v, float64(mostBypassLps))
		}
		bypass = *v / 1000
	}
	future, err := m.withRain(future, opt.WhatIf, opt.Members, m.b.stage.AreaM2(m.filter.level(&now)))
	if err != nil {
		return nil, err
	}
	all, _ := m.b.draws.table(m.b.plant.UnitIDs()).at(m.filter.level(&now))
	e := &ensemble{members: opt.Members, seed: opt.Seed, start: newSampler(now), stream: future, lowV: math.Inf(-1), highV: math.Inf(1)}
	e.c = newChannel(m.b, m.h.At, bypass, iced, m.filter.level(&now))
	e.lasts = math.Max(0, now.mean[iVolume]-m.b.stopV) / math.Max(all+bypass, 1e-6)
	e.days = grid(opt.Horizon, e.lasts)
	if p := m.b.plant.Pond.PermitLowM; p != nil {
		e.lowV = m.b.stage.VolumeM3(*p)
	}
	if p := m.b.plant.Pond.PermitHighM; p != nil {
		e.highV = m.b.stage.VolumeM3(*p)
	}
	if opt.Fan {
		e.fanDays = fanDays(len(e.days))
	}
	return e, nil
}

// fanDays picks the days of the grid at which the fan is drawn: each of the near ones, and some of those that are far.
func fanDays(n int) []int {
	const near, far = 60, 40
	var list []int
	for i := 0; i < n; i++ {
		if i < near || i%max(1, (n-near)/far) == 0 {
			list = append(list, i)
		}
	}
	return list
}

// stream is how the inflow goes on from now.
func (m *Model) stream() stream {
	now := &m.filter.last
	last := m.past.marks[len(m.past.marks)-1]
	last.season, last.log = season(m.h.At), now.mean[iInflow]
	return recall(m.past, last, receding{m.nature}, usualLikeness())
}

// grid is the days at which the inflow is drawn: fine at first where the pond is small beside what flows out of it.
// seconds is how long the usable water lasts all machines without any inflow.
func grid(horizon time.Duration, seconds float64) []float64 {
	days := []float64{0}
	end := horizon.Seconds() / secondsPerDay
	add := func(step float64, until float64) {
		for last := days[len(days)-1]; last < math.Min(until, end)-1e-9; last = days[len(days)-1] {
			days = append(days, math.Min(last+step, end))
		}
	}
	if seconds < 0.5*secondsPerDay {
		add(1.0/24, 1)
	}
	if seconds < 3*secondsPerDay {
		add(0.25, 6)
	}
	add(1, end)
	return days
}
