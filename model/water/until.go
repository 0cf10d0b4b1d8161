package water

import (
	"context"
	"math"
	"slices"
	"strings"
	"time"

	"example.org/headpond/model/pond"
)

// until finds the way of running with the most energy that holds until a date with enough confidence: every set of units
// all day, and every such set with one more unit for part of the day. Where nothing holds, the way that holds best.
func (m *Model) until(ctx context.Context, e *ensemble, date time.Time) (*Until, error) {
	days := date.Sub(m.h.At).Seconds() / secondsPerDay
	u := &Until{Date: date.In(m.b.loc), Run: []string{}, Holds: 1}
	if days <= 0 {
		return u, nil
	}
	s := &untilSearch{m: m, e: *e, hours: days * 24}
	s.e.days = grid(date.Sub(m.h.At), e.lasts)
	s.e.fanDays, s.e.lowV, s.e.highV = nil, math.Inf(-1), math.Inf(1)
	var err error
	if s.future, err = s.e.imagine(ctx); err != nil {
		return nil, err
	}
	if err := s.search(ctx); err != nil {
		return nil, err
	}
	u.Run, u.Plan, u.Holds, u.EnergyKWh = s.best.run, s.best.plan, s.holds, s.energy
	return u, nil
}

// search tries the ways. More machines never hold longer, so that a unit for part of the day is asked for only beside a set
// that holds, and where the two all day do not.
func (s *untilSearch) search(ctx context.Context) error {
	units := s.m.b.plant.UnitIDs()
	sets := subsets(units)
	holds := map[string]bool{}
	for _, run := range sets {
		share, energy, err := s.try(ctx, way{run: run}, s.e.members)
		if err != nil {
			return err
		}
		s.keep(way{run: run}, share, energy)
		holds[strings.Join(run, "+")] = share >= Sure
	}
	for _, run := range sets {
		if !holds[strings.Join(run, "+")] {
			continue
		}
		for _, unit := range units {
			both := inOrder(s.m.b.plant, append(append([]string{}, run...), unit))
			if slices.Contains(run, unit) || holds[strings.Join(both, "+")] {
				continue
			}
			if err := s.longest(ctx, run, unit); err != nil {
				return err
			}
		}
	}
	return nil
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
	future        *futures
	hours         float64
	found         bool
	best          way
	holds, energy float64
}

// try returns the share of the first so many members that hold, and their middle energy.
func (s *untilSearch) try(ctx context.Context, w way, members int) (holds, energy float64, err error) {
	if err := ctx.Err(); err != nil {
		return 0, 0, err
	}
	c, err := s.e.c.course(w, s.e.days)
	if err != nil {
		return 0, 0, err
	}
	f := fates{course: c}
	list := make([]float64, members)
	for i := range list {
		got := s.e.follow(&f, i, s.future.states[i], &s.future.flows[i])
		list[i] = got.kWh
		if got.stop >= s.hours {
			holds++
		}
	}
	return holds / float64(len(list)), rangeOf(list).P50, nil
}

// keep keeps a way where it is better than the best so far.
func (s *untilSearch) keep(w way, holds, energy float64) {
	good := holds >= Sure
	switch {
	case s.best.run == nil,
		good && (!s.found || energy > s.energy),
		!good && !s.found && holds > s.holds:
		s.best, s.holds, s.energy = w, holds, energy
	}
	s.found = s.found || good
}

// roughly is the share of the members by which the search comes near.
const roughly = 4

// longest finds the most hours a day, to half an hour, that a unit may run beside the others: near by bisection with some of
// the members, then step by step with all. More hours never hold longer.
func (s *untilSearch) longest(ctx context.Context, run []string, unit string) error {
	some := max(min(s.e.members, 100), s.e.members/roughly)
	lo, hi := 0, mostHalfHours+1
	for hi-lo > 1 {
		mid := (lo + hi) / 2
		holds, _, err := s.try(ctx, partDayWay(run, unit, mid), some)
		if err != nil {
			return err
		}
		if holds >= Sure {
			lo = mid
		} else {
			hi = mid
		}
	}
	return s.settle(ctx, run, unit, max(lo, 1))
}

// mostHalfHours is the longest plan: all day but half an hour.
const mostHalfHours = 47

// settle walks from a number of half hours to the most with which all members together hold, and keeps that.
func (s *untilSearch) settle(ctx context.Context, run []string, unit string, n int) error {
	for least, tooMany := 1, mostHalfHours+1; n >= least && n < tooMany; {
		w := partDayWay(run, unit, n)
		holds, energy, err := s.try(ctx, w, s.e.members)
		if err != nil {
			return err
		}
		if holds >= Sure {
			s.keep(w, holds, energy)
			least = n + 1
			n++
		} else {
			tooMany = n
			n--
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
