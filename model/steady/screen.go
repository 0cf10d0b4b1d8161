package steady

import (
	"errors"
	"fmt"
	"math"

	"example.org/headpond/model/hydraulics"
)

// ErrNoFlow says that no water flows, so that nothing can be told about the screen.
var ErrNoFlow = errors.New("steady: no water flows, so the readings say nothing about the screen")

// ErrNoScreen says that the plant file describes no screen.
var ErrNoScreen = errors.New("steady: the plant file describes no screen (intake: screen_m2 and open_share)")

// ErrNoGauge says that no running unit's pressure gauge can be placed.
var ErrNoGauge = errors.New("steady: no running unit has a pressure that the model can work out")

// screenSigmas is how many standard deviations of the reading error the range of a screen's loss spans to each side: about
// 95 of 100 true values lie within.
const screenSigmas = 2.0

// ScreenState is what readings say about the screen. Losses are metres of water.
type ScreenState struct {
	FlowM3s    float64
	CleanLossM float64 // of the clean screen in this case
	LossM      float64 // best estimate, 0 or more
	LossLowM   float64 // the range that the reading allows
	LossHighM  float64

	// Clear is the share of the openings that is clear, 0 to 1, that fits best. ClearMin and ClearMax bound what the reading
	// allows: nil where it sets no bound on that side, for on most screens the loss shows only when well over three quarters
	// is blocked.
	Clear    float64
	ClearMin *float64
	ClearMax *float64

	LostKW     float64 // electric power lost to what blocks the screen, now
	LostLowKW  float64
	LostHighKW float64

	// Above is true where even a clean screen cannot explain so high a pressure, and Below where even a blocked one cannot
	// explain so low a one: something else is off, such as the gauge, the level, or the model.
	Above, Below bool
}

// ScreenFromPressure works out the screen's loss from an intake pressure (kPa) read in a case whose screen is not known. The
// pressure is that of unit's gauge ("" for the first running unit); sdKPa is its reading error and sdLevelM the pond level's,
// one standard deviation each. The case's own ScreenClear and ScreenLossM do not matter.
//
// The model is solved for the loss at which the gauge would read so. Pressure falls steadily as the loss rises wherever the
// velocity head in the pipe is a small part of the net head, as in any sound plant, so there is one such loss.
func (m *Model) ScreenFromPressure(c Case, unit string, pressureKPa, sdKPa, sdLevelM float64) (ScreenState, error) {
	g, err := m.gauging(c, unit)
	if err != nil {
		return ScreenState{}, err
	}
	rhoG := g.clean.Water.DensityKgM3 * hydraulics.Gravity / 1000
	return g.state(pressureKPa, math.Hypot(sdKPa, rhoG*sdLevelM))
}

// ScreenFromClearing works out the loss before a clearing from the pressures (kPa) just before and after it. It takes the
// screen to be clean afterwards, so that the gauge's offset, the level's error and the model's own cancel; sdKPa is the
// error of one reading.
func (m *Model) ScreenFromClearing(c Case, unit string, beforeKPa, afterKPa, sdKPa float64) (ScreenState, error) {
	g, err := m.gauging(c, unit)
	if err != nil {
		return ScreenState{}, err
	}
	return g.state(beforeKPa-(afterKPa-g.pressure(g.cleanLossM)), math.Sqrt2*sdKPa)
}

// ScreenFromLoss works out the clear share from a level difference across the screen, m, read with an error sdM.
func (m *Model) ScreenFromLoss(c Case, lossM, sdM float64) (ScreenState, error) {
	g, err := m.gauging(c, "")
	if errors.Is(err, ErrNoGauge) {
		err = nil // a level difference needs no gauge
	}
	if err != nil {
		return ScreenState{}, err
	}
	if isBad(lossM) || !(sdM >= 0) {
		return ScreenState{}, &CaseError{"screen_loss_mm", fmt.Sprintf("is %g m with an error of %g m", lossM, sdM), "numbers, the error 0 or more"}
	}
	return g.fill(lossM, lossM-screenSigmas*sdM, lossM+screenSigmas*sdM), nil
}

// gauging solves one case again and again for a given screen loss.
type gauging struct {
	m          *Model
	c          Case
	r          Result
	clean      Result
	unit       int // whose gauge; −1 where none can be placed
	lossM      float64
	cleanLossM float64
	mostM      float64 // the loss at which no head is left
}

func (m *Model) gauging(c Case, unit string) (*gauging, error) {
	if !m.HasScreen() {
		return nil, ErrNoScreen
	}
	g := &gauging{m: m, c: c, unit: -1}
	g.c.ScreenClear, g.c.ScreenLossM = nil, nil
	if err := m.SolveInto(&g.c, &g.clean); err != nil {
		return nil, err
	}
	if !(g.clean.FlowM3s > 0) {
		return nil, ErrNoFlow
	}
	g.cleanLossM = g.clean.ScreenLossM
	for i := range g.clean.Units {
		u := &g.clean.Units[i]
		if u.Running {
			g.mostM = max(g.mostM, u.GrossHeadM)
			if g.unit < 0 && u.PressureKnown && (unit == "" || unit == u.ID) && u.FlowM3s > 0 {
				g.unit = i
			}
		}
	}
	g.c.ScreenLossM = &g.lossM
	if g.unit < 0 {
		return g, ErrNoGauge
	}
	return g, nil
}

// solve solves the case for a screen loss, m.
func (g *gauging) solve(lossM float64) *Result {
	g.lossM = lossM
	// The clean case was accepted, and any loss from 0 on is, so there is no error to pass on.
	_ = g.m.SolveInto(&g.c, &g.r)
	return &g.r
}

func (g *gauging) pressure(lossM float64) float64 { return g.solve(lossM).Units[g.unit].PressureKPa }

// lossAt returns the loss, 0 or more, at which the gauge reads pressureKPa, and no more than leaves no head.
func (g *gauging) lossAt(pressureKPa float64) float64 {
	f := func(loss float64) float64 { return g.pressure(loss) - pressureKPa }
	return root(f, 0, f(0), g.mostM, f(g.mostM), 1e-9)
}

func (g *gauging) state(pressureKPa, sdKPa float64) (ScreenState, error) {
	if isBad(pressureKPa) || !(sdKPa >= 0) || math.IsInf(sdKPa, 1) {
		return ScreenState{}, &CaseError{"pressure_kpa", fmt.Sprintf("is %g with an error of %g", pressureKPa, sdKPa), "numbers, the error 0 or more"}
	}
	sd := screenSigmas * sdKPa
	s := g.fill(g.lossAt(pressureKPa), g.lossAt(pressureKPa+sd), g.lossAt(pressureKPa-sd))
	s.Above = pressureKPa-sd > g.pressure(0)
	s.Below = pressureKPa+sd < g.pressure(g.mostM)
	return s, nil
}

// fill turns losses into shares and power.
func (g *gauging) fill(lossM, lowM, highM float64) ScreenState {
	s := ScreenState{CleanLossM: g.cleanLossM}
	s.LossM, s.LossLowM, s.LossHighM = g.limited(lossM), g.limited(lowM), g.limited(highM)
	s.Clear, _ = g.share(s.LossM)
	if share, bounded := g.share(s.LossLowM); bounded {
		s.ClearMax = &share
	}
	if share, _ := g.share(s.LossHighM); share > 0 {
		s.ClearMin = &share
	}
	cleanKW := g.clean.CommonKW + g.clean.OwnKW
	lost := func(loss float64) float64 {
		r := g.solve(max(loss, g.cleanLossM))
		return max(0, cleanKW-r.CommonKW-r.OwnKW)
	}
	s.LostLowKW, s.LostHighKW, s.LostKW = lost(s.LossLowM), lost(s.LossHighM), lost(s.LossM)
	s.FlowM3s = g.solve(s.LossM).FlowM3s
	return s
}

func (g *gauging) limited(lossM float64) float64 { return min(max(lossM, 0), g.mostM) }

// share returns the clear share at which the screen has this loss, and whether that is less than all of it. Where the loss
// leaves no flow it is 0.
func (g *gauging) share(lossM float64) (clear float64, bounded bool) {
	open, ok := hydraulics.ScreenShareFromLoss(lossM, g.solve(lossM).FlowM3s, g.m.screenM2)
	if !ok {
		return 0, true
	}
	clear = open / g.m.openShare
	return min(clear, 1), clear < 1
}

// Range says the clear share as a person would: "0.05 (0.04 to 0.06)", or one-sided.
func (s ScreenState) Range() string {
	switch {
	case s.Above:
		return "clean or nearly so: the pressure is higher than a clean screen explains"
	case s.Below:
		return "not to be told: the pressure is lower than even a blocked screen explains"
	case s.ClearMin != nil && s.ClearMax != nil:
		return fmt.Sprintf("%s (%s to %s)", shareText(s.Clear), shareText(*s.ClearMin), shareText(*s.ClearMax))
	case s.ClearMin != nil:
		return fmt.Sprintf("more than %s; the gauge cannot tell more", shareText(*s.ClearMin))
	case s.ClearMax != nil:
		return fmt.Sprintf("less than %s; the gauge cannot tell more", shareText(*s.ClearMax))
	}
	return "the gauge cannot tell"
}

func shareText(v float64) string {
	if v < 0.1 {
		return fmt.Sprintf("%.3f", v)
	}
	return fmt.Sprintf("%.2f", v)
}

// ApproachMS returns the mean velocity, m/s, in front of the screen at a flow (m³/s): flow over the gross area. ok is false
// without a described screen.
func (m *Model) ApproachMS(flowM3s float64) (v float64, ok bool) {
	if !m.HasScreen() {
		return 0, false
	}
	return flowM3s / m.screenM2, true
}
