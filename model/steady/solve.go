package steady

import (
	"fmt"
	"math"

	"example.org/headpond/model/hydraulics"
)

// solver is one solve's working state. It lives on the caller's stack, so that solving allocates nothing.
type solver struct {
	m      *Model
	c      *Case
	r      Result
	speed  float64
	screen float64 // loss of the screen per flow squared, s²/m⁵; +Inf when blocked
	evals  int
	roots  [keptRoots]float64 // of each penstock's friction factor, from which the next flow's is found sooner
}

// keptRoots is how many penstocks have their root kept; those of further ones are worked out anew.
const keptRoots = 8

// flowTol is the accuracy of a balance, relative to the flow: mass is conserved to this.
const flowTol = 1e-12

// Solve returns the plant's steady state. The error is a *CaseError; there is none for any case within its limits.
func (m *Model) Solve(c Case) (Result, error) {
	var r Result
	err := m.SolveInto(&c, &r)
	return r, err
}

// SolveInto is Solve into a result that is used again, which allocates nothing once the result has been used for this
// model. On an error the result means nothing.
func (m *Model) SolveInto(c *Case, r *Result) error {
	if cap(r.Units) < len(m.units) || cap(r.Penstocks) < len(m.stocks) {
		r.Units, r.Penstocks = make([]UnitResult, len(m.units)), make([]PenstockResult, len(m.stocks))
	}
	s := solver{m: m, c: c, r: Result{Units: r.Units[:len(m.units)], Penstocks: r.Penstocks[:len(m.stocks)]}}
	if err := s.run(); err != nil {
		return err
	}
	*r = s.r
	return nil
}

// run checks the case, solves it and fills in the result.
func (s *solver) run() error {
	if err := s.check(); err != nil {
		return err
	}
	s.prepare()
	for _, id := range s.c.Running {
		i := s.m.unitIndex(id)
		if i < 0 {
			return &CaseError{"running", fmt.Sprintf("there is no unit %q", id), "the ids of units of this plant"}
		}
		s.r.Units[i].Running = true
	}
	s.solve()
	s.finish()
	return nil
}

func (m *Model) unitIndex(id string) int {
	for i := range m.units {
		if m.units[i].id == id {
			return i
		}
	}
	return -1
}

// prepare sets the result to the plant at rest, and works out the screen's coefficient.
func (s *solver) prepare() {
	m, r := s.m, &s.r
	r.PondLevelM, r.ScreenClear, r.Water = s.c.PondLevelM, 1, m.water(s.c)
	if s.c.ScreenClear != nil {
		r.ScreenClear = *s.c.ScreenClear
	}
	if s.speed = s.c.Speed; s.speed == 0 {
		s.speed = 1
	}
	for i := range m.units {
		u := &m.units[i]
		r.Units[i] = UnitResult{ID: u.id, Penstock: u.stock, Common: u.common}
	}
	for j := range m.stocks {
		r.Penstocks[j] = PenstockResult{Name: m.stocks[j].name}
	}
	if m.screenM2 > 0 && s.c.ScreenLossM == nil {
		s.screen = hydraulics.ScreenK(m.openShare*r.ScreenClear) / (2 * hydraulics.Gravity * m.screenM2 * m.screenM2)
	}
}

// solve finds every penstock's flow and the screen's loss.
func (s *solver) solve() {
	level := s.c.PondLevelM
	switch {
	case s.c.ScreenLossM != nil:
		s.r.ScreenLossM = *s.c.ScreenLossM
		s.stockFlows(level - s.r.ScreenLossM)
	case s.screen == 0:
		s.stockFlows(level)
	case math.IsInf(s.screen, 1):
		// Nothing passes: the pipe drains to where the lowest outlet leaves no head. It is the limit of an ever smaller
		// opening.
		s.r.ScreenLossM = max(0, level-s.lowestOutlet())
	default:
		s.throughScreen()
	}
	for j := range s.r.Penstocks {
		s.r.FlowM3s += s.r.Penstocks[j].FlowM3s
	}
}

// stockFlows solves each penstock by itself for the energy level behind the screen and returns their sum, m³/s.
func (s *solver) stockFlows(energyM float64) float64 {
	sum := 0.0
	for j := range s.m.stocks {
		q := s.stockFlow(j, energyM)
		s.r.Penstocks[j].FlowM3s = q
		sum += q
	}
	return sum
}

// stockFlow returns the flow, m³/s, that one penstock takes at an energy level at its inlet. It begins at the flow found for the
// energy level before, for they are close in a search through the screen.
func (s *solver) stockFlow(j int, energyM float64) float64 {
	q := s.r.Penstocks[j].FlowM3s
	if q == 0 {
		if q = s.feed(j, 0, energyM); q == 0 {
			return 0
		}
	}
	return balance(func(q float64) float64 { return s.feed(j, q, energyM) }, q)
}

// balance returns the flow q with fed(q) = q, where fed, the flow that is fed if q flows, falls as q rises: the balance then
// lies between any q and fed(q), so that one guess above 0 gives both ends of the search.
func balance(fed func(float64) float64, guess float64) float64 {
	f := func(q float64) float64 { return fed(q) - q }
	at := f(guess)
	if math.Abs(at) <= flowTol*guess {
		return guess
	}
	other := max(0, guess+at)
	if at > 0 {
		return root(f, guess, at, other, f(other), flowTol*other)
	}
	return root(f, other, f(other), guess, at, flowTol*guess)
}

// throughScreen solves where the screen's loss couples the penstocks. The search begins at the flow that a screen without
// loss would pass, or that the screen passes with all the head to itself, whichever is less.
func (s *solver) throughScreen() {
	level := s.c.PondLevelM
	alone := math.Sqrt(max(0, level-s.lowestOutlet()) / s.screen)
	if j := s.onlyFlowing(); j >= 0 {
		fed := func(q float64) float64 { return s.feed(j, q, level-s.screen*q*q) }
		q := balance(fed, min(s.feed(j, 0, level), alone))
		s.r.Penstocks[j].FlowM3s, s.r.ScreenLossM = q, s.screen*q*q
		return
	}
	free := s.stockFlows(level)
	if free == 0 {
		return
	}
	fed := func(q float64) float64 { return s.stockFlows(level - s.screen*q*q) }
	q := balance(fed, min(free, alone))
	s.r.ScreenLossM = s.screen * q * q
	s.stockFlows(level - s.r.ScreenLossM)
}

// onlyFlowing returns the penstock that alone would take water at the pond's level, or −1 where none or several would. One
// alone is solved in a single search.
func (s *solver) onlyFlowing() int {
	only := -1
	for j := range s.m.stocks {
		if s.feed(j, 0, s.c.PondLevelM) > 0 {
			if only >= 0 {
				return -1
			}
			only = j
		}
	}
	return only
}

// feed returns what a penstock's units and leak would take, m³/s, if q flowed in the pipe and energyM stood at its inlet. It
// falls as q rises, for the loss rises.
func (s *solver) feed(j int, q, energyM float64) float64 {
	s.evals++
	t := &s.m.stocks[j]
	st := s.c.penstock(j)
	velocityHead := hydraulics.VelocityHead(q / t.areaM2)
	atLeak := energyM - s.friction(j, q, velocityHead) - t.minorK*velocityHead - st.AirLossM
	sum := 0.0
	if st.LeakM3s > 0 {
		sum = s.leak(t, st.LeakM3s, atLeak)
	}
	if st.Valve == ValveShut {
		return sum
	}
	atUnits := atLeak - st.ValveK*velocityHead
	for _, i := range t.units {
		if s.r.Units[i].Running {
			u := &s.m.units[i]
			sum += u.machine.FlowAt(atUnits-u.tailM, s.unitSpeed(u))
		}
	}
	return sum
}

func (s *solver) friction(j int, q, velocityHead float64) float64 {
	t := &s.m.stocks[j]
	re := hydraulics.Reynolds(q/t.areaM2, t.diameterM, s.r.Water.ViscosityM2s)
	var f float64
	if j < keptRoots {
		f, s.roots[j] = hydraulics.FrictionFactorNear(re, t.relRough, s.roots[j])
	} else {
		f = hydraulics.FrictionFactor(re, t.relRough)
	}
	return f * t.lengthM / t.diameterM * velocityHead
}

// leak follows the root of the head over the lowest axis, and is the stated flow under the static head.
func (s *solver) leak(t *stock, statedM3s, energyM float64) float64 {
	static, head := s.c.PondLevelM-t.lowestAxisM, energyM-t.lowestAxisM
	if !(static > 0 && head > 0) {
		return 0
	}
	return statedM3s * math.Sqrt(head/static)
}

// unitSpeed is the common bus's speed; a set on a bus of its own has its own controller, which holds rated speed.
func (s *solver) unitSpeed(u *unit) float64 {
	if u.common {
		return s.speed
	}
	return 1
}

// lowestOutlet returns the lowest tailwater of what runs, or a leaking penstock's end, m.
func (s *solver) lowestOutlet() float64 {
	low := math.Inf(1)
	for i := range s.m.units {
		u := &s.m.units[i]
		if s.r.Units[i].Running && s.c.penstock(u.stock).Valve != ValveShut {
			low = min(low, u.tailM)
		}
	}
	for j := range s.m.stocks {
		if s.c.penstock(j).LeakM3s > 0 {
			low = min(low, s.m.stocks[j].lowestAxisM)
		}
	}
	return low
}
