package steady

// Expectation is what the readings should be: the object of `headpond expect --json`. Fields without omitempty are always
// present; an absent value is unknown or has no meaning for this case, never 0.
type Expectation struct {
	PondLevelM     float64  `json:"pond_level_m"`
	Running        []string `json:"running"`
	GrossHeadM     *float64 `json:"gross_head_m,omitempty"`
	ScreenLossM    *float64 `json:"screen_loss_m,omitempty"`
	FrictionLossM  *float64 `json:"friction_loss_m,omitempty"`
	MinorLossM     *float64 `json:"minor_loss_m,omitempty"`
	NetHeadM       *float64 `json:"net_head_m,omitempty"`
	FlowLps        float64  `json:"flow_lps"`
	PressureKPa    *float64 `json:"pressure_kpa,omitempty"`
	GenerationKW   float64  `json:"generation_kw"` // common bus
	Units          []Unit   `json:"units"`
	StaticPressure *float64 `json:"static_pressure_kpa,omitempty"`
	WaterToWire    *float64 `json:"water_to_wire,omitempty"`

	OwnBusKW   *float64 `json:"own_bus_kw,omitempty"` // sets on a bus of their own, where the plant has any
	ScreenOpen *float64 `json:"screen_open,omitempty"`
	WaterC     float64  `json:"water_c"`
	Steps      *Steps   `json:"power_steps_kw,omitempty"` // from pond to plug, where water flows
	Cautions   []string `json:"cautions,omitempty"`
}

// Unit is one running set's part of an Expectation.
type Unit struct {
	ID            string   `json:"id"`
	Penstock      string   `json:"penstock"`
	FlowLps       float64  `json:"flow_lps"`
	GrossHeadM    float64  `json:"gross_head_m"`
	FrictionLossM float64  `json:"friction_loss_m"`
	MinorLossM    float64  `json:"minor_loss_m"`
	NetHeadM      float64  `json:"net_head_m"`
	PressureKPa   *float64 `json:"pressure_kpa,omitempty"`
	StaticKPa     float64  `json:"static_pressure_kpa"`
	ShaftKW       float64  `json:"shaft_kw"`
	KW            float64  `json:"kw"`
	Efficiency    *float64 `json:"efficiency,omitempty"` // kw / (ρ g flow net head)
}

// Steps is the power on its way from the pond to the plug, kW, all running units together: what the water brings, what each
// step loses, and what is left. AtPond less every loss is AtPlug.
type Steps struct {
	AtPond    float64 `json:"at_pond"`   // ρ g flow gross head
	Screen    float64 `json:"screen"`    // lost at the screen
	Friction  float64 `json:"friction"`  // lost in the pipe
	Fittings  float64 `json:"fittings"`  // lost at bends, valves and mouths, and to trapped air
	Machine   float64 `json:"machine"`   // lost in the machines
	Generator float64 `json:"generator"` // lost in the generators
	AtPlug    float64 `json:"at_plug"`   // electric power
}

// Expect returns what each reading should be. The error is a *CaseError.
func (m *Model) Expect(c Case) (*Expectation, error) {
	r, err := m.Solve(c)
	if err != nil {
		return nil, err
	}
	return m.Expectation(&r), nil
}

// Expectation puts a result of this model into the form of the contract.
func (m *Model) Expectation(r *Result) *Expectation {
	e := &Expectation{
		PondLevelM: r.PondLevelM, Running: []string{}, FlowLps: r.FlowM3s * 1000, GenerationKW: r.CommonKW,
		Units: []Unit{}, WaterC: r.Water.TempC, Cautions: m.Cautions(r),
	}
	if m.HasScreen() {
		e.ScreenLossM, e.ScreenOpen = &r.ScreenLossM, &r.ScreenClear
	}
	for i := range r.Units {
		u := &r.Units[i]
		if !u.Common && e.OwnBusKW == nil {
			e.OwnBusKW = &r.OwnKW
		}
		if u.Running {
			e.Running = append(e.Running, u.ID)
			e.Units = append(e.Units, unitExpectation(r, u))
		}
	}
	m.shared(e, r)
	if st := r.Steps(); st.AtPond > 0 {
		e.Steps, e.WaterToWire = &st, new(st.AtPlug/st.AtPond)
	}
	return e
}

func unitExpectation(r *Result, u *UnitResult) Unit {
	p := &r.Penstocks[u.Penstock]
	e := Unit{
		ID: u.ID, Penstock: p.Name, FlowLps: u.FlowM3s * 1000, GrossHeadM: u.GrossHeadM, FrictionLossM: p.FrictionM,
		MinorLossM: p.MinorM, NetHeadM: u.NetHeadM, StaticKPa: u.StaticKPa, ShaftKW: u.ShaftKW, KW: u.KW,
	}
	if u.PressureKnown {
		e.PressureKPa = new(u.PressureKPa)
	}
	if hyd := r.hydraulicKW(u.FlowM3s, u.NetHeadM); hyd > 0 {
		e.Efficiency = new(u.KW / hyd)
	}
	return e
}

// shared fills in what has one value for the plant: where all running units share one penstock and axis, or, at rest, where
// all units do.
func (m *Model) shared(e *Expectation, r *Result) {
	var first *UnitResult
	heads := true
	for i := range r.Units {
		u := &r.Units[i]
		if !u.Running && len(e.Running) > 0 {
			continue
		}
		if first == nil {
			first = u
			continue
		}
		if u.Penstock != first.Penstock || u.StaticKPa != first.StaticKPa {
			return
		}
		heads = heads && u.GrossHeadM == first.GrossHeadM
	}
	if first == nil {
		return
	}
	e.StaticPressure = new(first.StaticKPa)
	if first.PressureKnown {
		e.PressureKPa = new(first.PressureKPa)
	}
	if heads {
		e.GrossHeadM = new(first.GrossHeadM)
	}
	if p := &r.Penstocks[first.Penstock]; len(e.Running) > 0 {
		e.FrictionLossM, e.MinorLossM = new(p.FrictionM), new(p.MinorM)
		if heads {
			e.NetHeadM = new(first.NetHeadM)
		}
	}
}

// Steps returns the power at each step from pond to plug, all running units together.
func (r *Result) Steps() Steps {
	var s Steps
	for i := range r.Units {
		u := &r.Units[i]
		p := &r.Penstocks[u.Penstock]
		s.AtPond += r.hydraulicKW(u.FlowM3s, u.GrossHeadM)
		s.Screen += r.hydraulicKW(u.FlowM3s, r.ScreenLossM)
		s.Friction += r.hydraulicKW(u.FlowM3s, p.FrictionM)
		s.Fittings += r.hydraulicKW(u.FlowM3s, p.MinorM+p.ValveM+p.AirM)
		s.Machine += r.hydraulicKW(u.FlowM3s, u.NetHeadM) - u.ShaftKW
		s.Generator += u.ShaftKW - u.KW
		s.AtPlug += u.KW
	}
	return s
}
