package steady

import (
	"errors"
	"fmt"
	"math"

	"example.org/headpond/model/hydraulics"
	"example.org/headpond/model/machine"
	"example.org/headpond/model/plant"
)

// Model is a plant made ready for solving. It never changes after New, so any number of goroutines may share one.
type Model struct {
	plant     *plant.Plant
	units     []unit
	stocks    []stock
	screenM2  float64 // gross area; 0 where the plant describes no screen
	openShare float64
	cold      hydraulics.Water // at the default temperature
}

// unit is a set as the solver needs it: SI, with its penstock's index.
type unit struct {
	id       string
	stock    int
	axisM    float64
	tailM    float64
	ratedKW  float64
	ratedKVA float64
	common   bool
	machine  *machine.Machine
}

// stock is a penstock as the solver needs it.
type stock struct {
	name        string
	lengthM     float64
	diameterM   float64
	areaM2      float64
	relRough    float64
	minorK      float64
	aboveValve  bool
	units       []int
	lowestAxisM float64
}

// New makes a plant ready for solving. The error joins every reason why it cannot be: a unit without a machine description,
// a penstock that is not there, a length or diameter that no pipe has.
func New(p *plant.Plant) (*Model, error) {
	if p == nil {
		return nil, errors.New("steady: no plant is described")
	}
	m := &Model{plant: p, cold: hydraulics.Properties(hydraulics.DefaultWaterC)}
	var problems []error
	index := map[string]int{}
	for _, s := range p.Penstocks {
		if err := checkPenstock(s); err != nil {
			problems = append(problems, err)
			continue
		}
		index[s.Name] = len(m.stocks)
		m.stocks = append(m.stocks, newStock(s))
	}
	for _, u := range p.Units {
		j, ok := index[u.Penstock]
		if !ok {
			problems = append(problems, fmt.Errorf("unit %s: there is no usable penstock %q", u.ID, u.Penstock))
			continue
		}
		if err := m.addUnit(u, j); err != nil {
			problems = append(problems, err)
		}
	}
	if len(p.Units) == 0 {
		problems = append(problems, errors.New("the plant has no unit"))
	}
	if err := m.addScreen(p.Intake); err != nil {
		problems = append(problems, err)
	}
	if len(problems) > 0 {
		return nil, fmt.Errorf("steady: the plant cannot be modelled: %w", errors.Join(problems...))
	}
	return m, nil
}

// Plant returns the description that the model was made from.
func (m *Model) Plant() *plant.Plant { return m.plant }

// HasScreen reports whether the plant describes its screen.
func (m *Model) HasScreen() bool { return m.screenM2 > 0 }

func checkPenstock(s plant.Penstock) error {
	switch {
	case !(s.DiameterM > 0) || math.IsInf(s.DiameterM, 1):
		return fmt.Errorf("penstock %s: diameter_m is %g; expected above 0", s.Name, s.DiameterM)
	case !(s.LengthM >= 0) || math.IsInf(s.LengthM, 1):
		return fmt.Errorf("penstock %s: length_m is %g; expected 0 or more", s.Name, s.LengthM)
	case !(s.RoughnessMM >= 0 && s.RoughnessMM/1000 < s.DiameterM):
		return fmt.Errorf("penstock %s: roughness_mm is %g; expected 0 or more, and less than the diameter", s.Name, s.RoughnessMM)
	case !(s.MinorK >= 0) || math.IsInf(s.MinorK, 1):
		return fmt.Errorf("penstock %s: minor_k is %g; expected 0 or more", s.Name, s.MinorK)
	}
	return nil
}

func newStock(s plant.Penstock) stock {
	return stock{
		name:        s.Name,
		lengthM:     s.LengthM,
		diameterM:   s.DiameterM,
		areaM2:      hydraulics.PipeArea(s.DiameterM),
		relRough:    s.RoughnessMM / 1000 / s.DiameterM,
		minorK:      s.MinorK,
		aboveValve:  s.Gauge == plant.AboveValve,
		lowestAxisM: math.Inf(1),
	}
}

func (m *Model) addUnit(u plant.Unit, j int) error {
	mach, err := machine.New(u)
	if err != nil {
		return err
	}
	if isBad(u.AxisM) || isBad(u.TailwaterM) {
		return fmt.Errorf("unit %s: axis_m is %g and tailwater_m %g; expected numbers", u.ID, u.AxisM, u.TailwaterM)
	}
	i := len(m.units)
	m.units = append(m.units, unit{
		id: u.ID, stock: j, axisM: u.AxisM, tailM: u.TailwaterM,
		ratedKW: u.RatedKW, ratedKVA: u.RatedKVA, common: u.Common(), machine: mach,
	})
	s := &m.stocks[j]
	s.units = append(s.units, i)
	s.lowestAxisM = min(s.lowestAxisM, u.AxisM)
	return nil
}

func (m *Model) addScreen(in plant.Intake) error {
	if in.ScreenM2 == nil {
		return nil
	}
	if !(*in.ScreenM2 > 0) || math.IsInf(*in.ScreenM2, 1) {
		return fmt.Errorf("intake: screen_m2 is %g; expected above 0", *in.ScreenM2)
	}
	if !(in.OpenShare > 0 && in.OpenShare <= 1) {
		return fmt.Errorf("intake: open_share is %g; expected above 0, at most 1", in.OpenShare)
	}
	m.screenM2, m.openShare = *in.ScreenM2, in.OpenShare
	return nil
}

func isBad(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) }

// BestFlowM3s returns a unit's flow at its best point, m³/s; 0 for an unknown unit.
func (m *Model) BestFlowM3s(id string) float64 {
	if i := m.unitIndex(id); i >= 0 {
		return m.units[i].machine.BestFlowM3s()
	}
	return 0
}

// Measured reports whether a unit is described by a measured table.
func (m *Model) Measured(id string) bool {
	i := m.unitIndex(id)
	return i >= 0 && m.units[i].machine.Measured()
}
