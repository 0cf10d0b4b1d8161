package steady

import (
	"fmt"

	"example.org/headpond/model/hydraulics"
)

// Case is what the plant is asked about. The zero value of everything but the level is the healthy plant at rest: nothing
// runs, the screen is clean, the water is at 10 °C.
type Case struct {
	PondLevelM  float64
	Running     []string // unit ids
	ScreenClear *float64 // share of the screen's openings that is clear, 0 blocked to 1 clean; nil is clean
	ScreenLossM *float64 // the screen's loss where it is known, in place of the screen's formula
	WaterC      *float64 // water temperature, °C; nil is 10 °C
	Speed       float64  // speed of the common-bus sets over rated speed; 0 is rated speed, 1

	Penstocks []PenstockState // what is wrong, in the plant's order of penstocks; those left out are healthy
	Units     []UnitState     // what is wrong, in the plant's order of units; those left out are healthy
}

// ValveState is how a penstock's main valve stands.
type ValveState uint8

// The valve's states. ValveUnstated is open while a unit of its penstock runs, and unknown while none does.
const (
	ValveUnstated ValveState = iota
	ValveOpen
	ValveShut
)

// PenstockState is what differs from the healthy penstock. The zero value is healthy.
type PenstockState struct {
	Valve    ValveState
	ValveK   float64 // loss of the main valve beyond its open loss, at pipe velocity, K v²/2g
	AirLossM float64 // head that trapped air takes while water flows, m
	// LeakM3s is what leaks at the penstock's lower end, before the valve, under the static head there; it falls with the
	// root of the head.
	LeakM3s float64
}

// UnitState is what differs from the healthy unit. The zero value is healthy.
type UnitState struct {
	EfficiencyLost float64 // share of the machine's efficiency that is gone, 0 to 1
}

// CaseError tells which part of a case cannot be solved and what was expected.
type CaseError struct {
	Key      string // as the contract names it: "pond_level_m", "running", "screen_open", ...
	What     string
	Expected string
}

// Error names the key, what is wrong and what was expected.
func (e *CaseError) Error() string {
	return fmt.Sprintf("%s: %s; expected %s", e.Key, e.What, e.Expected)
}

func (s *solver) check() error {
	c := s.c
	switch {
	case isBad(c.PondLevelM):
		return &CaseError{"pond_level_m", "is not a number", "a level in metres"}
	case c.ScreenClear != nil && !(*c.ScreenClear >= 0 && *c.ScreenClear <= 1):
		return &CaseError{"screen_open", fmt.Sprintf("is %g", *c.ScreenClear), "0 (blocked) to 1 (clean)"}
	case c.ScreenLossM != nil && (isBad(*c.ScreenLossM) || *c.ScreenLossM < 0):
		return &CaseError{"screen_loss_mm", fmt.Sprintf("is %g m", *c.ScreenLossM), "0 or more"}
	case c.WaterC != nil && isBad(*c.WaterC):
		return &CaseError{"water_c", "is not a number", "a temperature in °C"}
	case !(c.Speed >= 0 && c.Speed < 100):
		return &CaseError{"hertz", fmt.Sprintf("speed is %g times rated", c.Speed), "0 or more"}
	}
	for _, p := range c.Penstocks {
		if !(p.ValveK >= 0 && p.AirLossM >= 0 && p.LeakM3s >= 0) || isBad(p.ValveK+p.AirLossM+p.LeakM3s) {
			return &CaseError{"valve_k, loss_m or leak_lps", "is below 0 or no number", "0 or more"}
		}
	}
	for _, u := range c.Units {
		if !(u.EfficiencyLost >= 0 && u.EfficiencyLost <= 1) {
			return &CaseError{"efficiency_share", fmt.Sprintf("is %g", 1-u.EfficiencyLost), "0 to 1"}
		}
	}
	return nil
}

func (c *Case) penstock(j int) PenstockState {
	if j < len(c.Penstocks) {
		return c.Penstocks[j]
	}
	return PenstockState{}
}

func (c *Case) efficiencyShare(i int) float64 {
	if i < len(c.Units) {
		return 1 - c.Units[i].EfficiencyLost
	}
	return 1
}

func (m *Model) water(c *Case) hydraulics.Water {
	if c.WaterC == nil {
		return m.cold
	}
	return hydraulics.Properties(*c.WaterC)
}
