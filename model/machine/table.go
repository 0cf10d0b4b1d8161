package machine

import (
	"fmt"
	"math"

	"example.org/headpond/model/hydraulics"
	"example.org/headpond/model/plant"

	"gonum.org/v1/gonum/interp"
)

// table is a measured curve at rated speed: flow and electric power against net head, by monotone cubics (F. N. Fritsch and
// J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300–304) so that no bump appears between rows.
//
// Outside its rows flow follows √H and power H^1.5 from the nearest row, as through a fixed opening at constant efficiency;
// below the first row power also keeps under the straight line through the first two rows, for a machine's efficiency falls
// there.
type table struct {
	heads, flows, watts []float64
	flow, watt          interp.FritschButland
}

func (m *Machine) withTable(u plant.Unit) (*Machine, error) {
	t := &table{}
	bestEff := 0.0
	for i, r := range u.Curve {
		if err := checkRow(u, i); err != nil {
			return nil, err
		}
		q, w := r.FlowLps/1000, r.KWElectric*1000
		t.heads, t.flows, t.watts = append(t.heads, r.NetHeadM), append(t.flows, q), append(t.watts, w)
		if eff := w / (r.NetHeadM * q); eff > bestEff || i == 0 {
			bestEff, m.bestFlowM3s, m.bestHeadM = eff, q, r.NetHeadM
		}
	}
	if len(t.heads) > 1 {
		if err := t.fit(); err != nil {
			return nil, fmt.Errorf("unit %s: curve: %w", u.ID, err)
		}
	}
	if m.runaway == 0 {
		m.runaway = defaultRunaway
	}
	if !(m.runaway > 1 && m.runaway < 10) {
		return nil, fmt.Errorf("unit %s: runaway_ratio is %g; expected above 1, below 10", u.ID, m.runaway)
	}
	m.table = t
	return m, nil
}

func (t *table) fit() error {
	if err := t.flow.Fit(t.heads, t.flows); err != nil {
		return err
	}
	return t.watt.Fit(t.heads, t.watts)
}

// checkRow refuses what no machine can do, which is also what the interpolation could not bear.
func checkRow(u plant.Unit, i int) error {
	r := u.Curve[i]
	fail := func(what string) error { return fmt.Errorf("unit %s: curve row %d: %s", u.ID, i+1, what) }
	switch {
	case !(r.NetHeadM > 0 && r.FlowLps > 0 && r.KWElectric >= 0) || math.IsInf(r.NetHeadM+r.FlowLps+r.KWElectric, 1):
		return fail("net head and flow must be above 0 and power not below 0")
	case r.KWElectric > 1.001*hydraulics.Gravity*r.NetHeadM*r.FlowLps/1000:
		return fail(fmt.Sprintf("%g kW is more than the water's own %.3g kW", r.KWElectric, hydraulics.Gravity*r.NetHeadM*r.FlowLps/1000))
	case i > 0 && !(r.NetHeadM > u.Curve[i-1].NetHeadM):
		return fail("the rows must be in order of rising net head")
	case i > 0 && r.FlowLps < u.Curve[i-1].FlowLps:
		return fail("flow falls while the head rises; expected a flow that rises with the head at rated speed")
	}
	return nil
}

func (t *table) flowAt(headM float64) float64 {
	last := len(t.heads) - 1
	switch {
	case headM <= t.heads[0]:
		return t.flows[0] * math.Sqrt(headM/t.heads[0])
	case headM >= t.heads[last]:
		return t.flows[last] * math.Sqrt(headM/t.heads[last])
	}
	return t.flow.Predict(headM)
}

func (t *table) wattsAt(headM float64) float64 {
	last := len(t.heads) - 1
	switch {
	case headM < t.heads[0]:
		r := headM / t.heads[0]
		w := t.watts[0] * r * math.Sqrt(r)
		if last > 0 {
			slope := (t.watts[1] - t.watts[0]) / (t.heads[1] - t.heads[0])
			w = min(w, t.watts[0]+slope*(headM-t.heads[0]))
		}
		return max(0, w)
	case headM >= t.heads[last]:
		r := headM / t.heads[last]
		return t.watts[last] * r * math.Sqrt(r)
	}
	return max(0, t.watt.Predict(headM))
}

// measuredAt is At for a measured table, which knows rated speed only. Above rated speed torque falls in a straight line to
// nothing at the runaway ratio R, P(n) = P(1) n (R − n)/(R − 1); below it the set has no reserve, P(n) = P(1). Flow is taken
// as at rated speed throughout.
func (m *Machine) measuredAt(headM, speed, densityKgM3 float64) Point {
	p := Point{FlowM3s: m.table.flowAt(headM), Speed: speed}
	p.Relative = p.FlowM3s / m.bestFlowM3s
	w := m.table.wattsAt(headM)
	if speed > 1 {
		w *= max(0, speed*(m.runaway-speed)/(m.runaway-1))
	}
	// The table's power and the generator's efficiency are two statements; the shaft never gets more than the water brings.
	p.ElectricW, p.ShaftW = w, min(w/m.generatorEff, max(w, densityKgM3*hydraulics.Gravity*p.FlowM3s*headM))
	switch rows := m.table.heads; {
	case headM < rows[0]:
		p.Flags |= Below
	case headM > rows[len(rows)-1]:
		p.Flags |= Above
	}
	return p
}
