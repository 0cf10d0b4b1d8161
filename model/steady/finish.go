package steady

import "example.org/headpond/model/hydraulics"

// highAxisM is how far an axis may stand above its tailwater before it is worth a word, m. (Rule of thumb: a draft pipe
// longer than that works near the pressure at which water boils.)
const highAxisM = 4.0

// atmospherePa is the standard atmosphere, Pa (exact by definition).
const atmospherePa = 101325.0

// finish fills in everything that follows from the flows.
func (s *solver) finish() {
	for j := range s.r.Penstocks {
		s.finishPenstock(j)
	}
	for i := range s.r.Units {
		s.finishUnit(i)
	}
	in := s.m.plant.Intake
	if in.CentrelineM != nil && s.c.PondLevelM < *in.CentrelineM {
		s.r.Caution |= MouthDry
	}
	if t := s.c.WaterC; t != nil && (*t < hydraulics.MinWaterC || *t > hydraulics.MaxWaterC) {
		s.r.Caution |= WaterRange
	}
	s.r.Evaluations = s.evals
}

func (s *solver) finishPenstock(j int) {
	t, p, st := &s.m.stocks[j], &s.r.Penstocks[j], s.c.penstock(j)
	if p.FlowM3s == 0 {
		return
	}
	p.VelocityMS = p.FlowM3s / t.areaM2
	p.Reynolds = hydraulics.Reynolds(p.VelocityMS, t.diameterM, s.r.Water.ViscosityM2s)
	vh := hydraulics.VelocityHead(p.VelocityMS)
	p.FrictionM = s.friction(j, p.FlowM3s, vh)
	p.MinorM = t.minorK * vh
	p.AirM = st.AirLossM
	if st.Valve != ValveShut {
		p.ValveM = st.ValveK * vh
	}
	if st.LeakM3s > 0 {
		p.LeakM3s = s.leak(t, st.LeakM3s, s.c.PondLevelM-s.r.ScreenLossM-p.FrictionM-p.MinorM-p.AirM)
	}
}

func (s *solver) finishUnit(i int) {
	u, r := &s.m.units[i], &s.r.Units[i]
	r.GrossHeadM = s.c.PondLevelM - u.tailM
	rhoG := s.r.Water.DensityKgM3 * hydraulics.Gravity / 1000
	r.StaticKPa = rhoG * (s.c.PondLevelM - u.axisM)
	s.gauge(u, r, rhoG)
	if u.axisM-u.tailM > highAxisM {
		r.Caution |= HighAxis
	}
	if !r.Running {
		return
	}
	p := s.r.Penstocks[u.stock]
	if s.c.penstock(u.stock).Valve == ValveShut || p.FlowM3s == 0 {
		r.Caution |= NoHead
		return
	}
	r.NetHeadM = max(0, r.GrossHeadM-s.r.ScreenLossM-p.LossM())
	at := u.machine.At(r.NetHeadM, s.unitSpeed(u), s.r.Water.DensityKgM3)
	r.FlowM3s, r.Relative, r.Speed = at.FlowM3s, at.Relative, at.Speed
	share := s.c.efficiencyShare(i) / 1000
	r.ShaftKW, r.KW = at.ShaftW*share, at.ElectricW*share
	r.Caution |= unitCautions(u, r, at.Flags)
	if u.common {
		s.r.CommonKW += r.KW
	} else {
		s.r.OwnKW += r.KW
	}
}

// gauge works out the intake pressure, kPa: ρ g (level − axis − losses up to the gauge − v²/2g). Below the main valve the
// valve's own loss counts, and with the valve shut it reads 0; above it the valve's loss does not count, and with the valve shut
// it stays at the static pressure less what still flows.
func (s *solver) gauge(u *unit, r *UnitResult, rhoG float64) {
	t, p, st := &s.m.stocks[u.stock], s.r.Penstocks[u.stock], s.c.penstock(u.stock)
	r.PressureKnown = true
	if !t.aboveValve {
		if st.Valve == ValveShut {
			return
		}
		r.PressureKnown = st.Valve == ValveOpen || s.anyRunning(u.stock)
	}
	head := s.c.PondLevelM - s.r.ScreenLossM - u.axisM - p.FrictionM - p.MinorM - p.AirM - hydraulics.VelocityHead(p.VelocityMS)
	if !t.aboveValve {
		head -= p.ValveM
	}
	r.PressureKPa = rhoG * head
	if r.PressureKPa*1000 < s.r.Water.VapourPressurePa-atmospherePa {
		r.Caution |= Vacuum
	}
}

func (s *solver) anyRunning(j int) bool {
	for _, i := range s.m.stocks[j].units {
		if s.r.Units[i].Running {
			return true
		}
	}
	return false
}
