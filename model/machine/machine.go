package machine

import (
	"fmt"

	"example.org/headpond/model/hydraulics"
	"example.org/headpond/model/plant"
)

// Default runaway ratio of a measured machine whose file gives none: about that of a radial pump as a turbine (1.4 to
// 1.6, from memory).
const defaultRunaway = 1.5

// Machine is one set's hydraulic machine with its generator's efficiency. It is made by New and never changes, so any
// number of goroutines may use one.
type Machine struct {
	bestFlowM3s  float64
	bestHeadM    float64
	bestWPerRho  float64 // shaft power at the best point for a density of 1 kg/m³: g Q H η
	generatorEff float64
	runaway      float64
	table        *table // nil for a pump as a turbine
}

// Flag marks what is special about a working point.
type Flag uint8

// The flags of a working point.
const (
	// TooSlow: the head cannot hold the speed; the machine turns freely and slower and gives no power.
	TooSlow Flag = 1 << iota
	// Below and Above: the flow is outside the range in which the curve deserves trust.
	Below
	Above
)

// Point is a machine's working point.
type Point struct {
	FlowM3s float64
	ShaftW  float64
	// ElectricW is the shaft's power times the generator's efficiency; of a measured table, what it says.
	ElectricW float64
	Speed     float64 // speed ratio at which it turns: the one asked for, or less where TooSlow
	Relative  float64 // flow over the best flow at the speed asked for, q
	Flags     Flag
}

// New describes a unit's machine. The error names the unit, the key and what was expected.
func New(u plant.Unit) (*Machine, error) {
	m := &Machine{generatorEff: u.GeneratorEfficiency, runaway: u.RunawayRatio}
	if m.generatorEff == 0 && len(u.Curve) > 0 {
		m.generatorEff = 1 // a measured table gives electric power; without an efficiency the shaft's is not told apart
	}
	if !(m.generatorEff > 0 && m.generatorEff <= 1) {
		return nil, fmt.Errorf("unit %s: generator_efficiency is %g; expected above 0, at most 1", u.ID, m.generatorEff)
	}
	if len(u.Curve) > 0 {
		return m.withTable(u)
	}
	for _, v := range []struct {
		key   string
		value float64
		most  float64
	}{{"best_flow_lps", u.BestFlowLps, 1e6}, {"best_head_m", u.BestHeadM, 1e4}, {"best_efficiency", u.BestEfficiency, 1}} {
		if !(v.value > 0 && v.value <= v.most) {
			return nil, fmt.Errorf("unit %s: %s is %g; expected above 0, at most %g", u.ID, v.key, v.value, v.most)
		}
	}
	m.bestFlowM3s, m.bestHeadM = u.BestFlowLps/1000, u.BestHeadM
	m.bestWPerRho = hydraulics.Gravity * m.bestFlowM3s * m.bestHeadM * u.BestEfficiency
	return m, nil
}

// Measured reports whether the machine is described by a measured table.
func (m *Machine) Measured() bool { return m.table != nil }

// GeneratorEfficiency returns the generator's efficiency, shaft to wire, 0 to 1.
func (m *Machine) GeneratorEfficiency() float64 { return m.generatorEff }

// BestFlowM3s returns the flow at the best point, m³/s; of a measured table, its most efficient row's.
func (m *Machine) BestFlowM3s() float64 { return m.bestFlowM3s }

// BestHeadM returns the net head at the best point, m; of a measured table, its most efficient row's.
func (m *Machine) BestHeadM() float64 { return m.bestHeadM }

// At returns the working point under a net head (m) at a speed ratio above 0, with water of a density (kg/m³).
//
// A pump as a turbine: Q = n q Q_best and P = ρ g Q_best H_best η_best n³ p(q)/p(1), where h(q)/h(1) = H / (H_best n²). Where
// the head cannot hold the speed, q/n is at its foot of 0.378: it turns at FreeSpeed, gives no power, and passes
// 0.378 n Q_best. A measured table gives flow and power at rated speed; see table. No head, no flow.
func (m *Machine) At(headM, speed, densityKgM3 float64) Point {
	if !(headM > 0) || !(speed > 0) {
		return Point{Flags: TooSlow}
	}
	if m.table != nil {
		return m.measuredAt(headM, speed, densityKgM3)
	}
	x, holds := FlowRatio(headM / (m.bestHeadM * speed * speed))
	if !holds {
		n := min(FreeSpeed(headM/m.bestHeadM), speed)
		return Point{FlowM3s: FootQ * n * m.bestFlowM3s, Speed: n, Relative: FootQ * n, Flags: TooSlow | Below}
	}
	p := Point{
		FlowM3s:  x * speed * m.bestFlowM3s,
		ShaftW:   densityKgM3 * m.bestWPerRho * speed * speed * speed * max(0, PowerRatio(x)),
		Speed:    speed,
		Relative: x * speed,
	}
	p.ElectricW = p.ShaftW * m.generatorEff
	switch {
	case x < LowQ:
		p.Flags |= Below
	case x > HighQ:
		p.Flags |= Above
	}
	return p
}

// FlowAt is At's flow alone, m³/s, which the solver asks for many times.
func (m *Machine) FlowAt(headM, speed float64) float64 {
	switch {
	case !(headM > 0) || !(speed > 0):
		return 0
	case m.table != nil:
		return m.table.flowAt(headM)
	}
	x, holds := FlowRatio(headM / (m.bestHeadM * speed * speed))
	if !holds {
		speed = min(FreeSpeed(headM/m.bestHeadM), speed)
	}
	return x * speed * m.bestFlowM3s
}

// Runaway returns the speed ratio that the machine runs up to without any load under a net head (m): FreeSpeed, or the
// file's runaway_ratio for a measured table, whatever the head.
func (m *Machine) Runaway(headM float64) float64 {
	if m.table != nil {
		if !(headM > 0) {
			return 0
		}
		return m.runaway
	}
	return FreeSpeed(headM / m.bestHeadM)
}
