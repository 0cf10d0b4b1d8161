package water

import (
	"context"
	"math"
	"slices"
	"time"

	"example.org/headpond/model/pond"
)

// sure is the confidence that a plan must hold with, of the contract.
const sure = 0.8

// until finds the way of running with the most energy that holds until a date with enough confidence: every set of units
// all day, and every such set with one more unit for part of the day. Where nothing holds, the way that holds best.
func (m *Model) until(ctx context.Context, e *ensemble, date time.Time) (*Until, error) {
	days := date.Sub(m.h.At).Seconds() / secondsPerDay
	u := &Until{Date: date.In(m.b.loc), Run: []string{}, Holds: 1}
	if days <= 0 {
		return u, nil
	}
	s := &untilSearch{m: m, e: *e, hours: days * 24}
	s.e.days = cut(e.days, days)
	s.e.fanDays, s.e.lowV, s.e.highV = nil, math.Inf(-1), math.Inf(1)
	sets := subsets(m.b.plant.UnitIDs())
	for _, run := range sets {
		if err := s.consider(ctx, way{run: run}); err != nil {
			return nil, err
		}
	}
	for _, run := range sets {
		for _, unit := range m.b.plant.UnitIDs() {
			if slices.Contains(run, unit) {
				continue
			}
			if err := s.longest(ctx, run, unit); err != nil {
				return nil, err
			}
		}
	}
	u.Run, u.Plan, u.Holds, u.EnergyKWh = s.best.run, s.best.plan, s.holds, s.energy
	return u, nil
}

// cut ends a grid at a day, adding it.
func cut(days []float64, end float64) []float64 {
	var list []float64
	for _, d := range days {
		if d < end-1e-6 {
			list = append(list, d)
		}
	}
	return append(list, end)
}

// subsets lists all sets of units, in the plant's order within each; with many units only none, each and all.
func subsets(units []string) [][]string {
	sets := [][]string{}
	if len(units) > 4 {
		sets = append(sets, []string{}, units)
		for _, u := range units {
			sets = append(sets, []string{u})
		}
		return sets
	}
	for bits := 0; bits < 1<<len(units); bits++ {
		set := []string{}
		for i, u := range units {
			if bits&(1<<i) != 0 {
				set = append(set, u)
			}
		}
		sets = append(sets, set)
	}
	return sets
}

// untilSearch keeps the best way that was found so far.
type untilSearch struct {
	m             *Model
	e             ensemble
	hours         float64
	found         bool
	best          way
	holds, energy float64
}

// try returns the share of members that hold, and the middle energy.
func (s *untilSearch) try(ctx context.Context, w way) (holds, energy float64, err error) {
	c, err := s.e.c.course(w, s.e.days)
	if err != nil {
		return 0, 0, err
	}
	s.e.courses = []*course{c}
	all, err := s.e.run(ctx)
	if err != nil {
		return 0, 0, err
	}
	list := make([]float64, len(all[0].each))
	for i, f := range all[0].each {
		list[i] = f.kWh
		if f.stop >= s.hours {
			holds++
		}
	}
	return holds / float64(len(list)), rangeOf(list).P50, nil
}

// consider tries a way and keeps it where it is better.
func (s *untilSearch) consider(ctx context.Context, w way) error {
	holds, energy, err := s.try(ctx, w)
	if err != nil {
		return err
	}
	s.keep(w, holds, energy)
	return nil
}

func (s *untilSearch) keep(w way, holds, energy float64) {
	good := holds >= sure
	switch {
	case s.best.run == nil,
		good && (!s.found || energy > s.energy),
		!good && !s.found && holds > s.holds:
		s.best, s.holds, s.energy = w, holds, energy
	}
	s.found = s.found || good
}

// longest finds the most hours a day, to half an hour, that a unit may run beside the others, by bisection: more hours
// never hold longer.
func (s *untilSearch) longest(ctx context.Context, run []string, unit string) error {
	lo, hi := 0, 48
	for hi-lo > 1 {
		mid := (lo + hi) / 2
		w := partDayWay(run, unit, mid)
		holds, energy, err := s.try(ctx, w)
		if err != nil {
			return err
		}
		s.keep(w, holds, energy)
		if holds >= sure {
			lo = mid
		} else {
			hi = mid
		}
	}
	return nil
}

// partDayWay runs a unit for so many half hours a day: from six in the morning on, and where that goes beyond ten in the
// evening, up to then.
func partDayWay(run []string, unit string, halfHours int) way {
	length := time.Duration(halfHours) * 30 * time.Minute
	from := 6 * time.Hour
	if from+length > 22*time.Hour {
		from = 22*time.Hour - length
		if from < 0 {
			from += 24 * time.Hour
		}
	}
	p := pond.PartDay{From: from, To: (from + length) % (24 * time.Hour)}
	return way{run: run, plan: &Plan{Unit: unit, From: pond.Clock(p.From), To: pond.Clock(p.To)}, part: p}
}
