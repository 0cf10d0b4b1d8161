package plant

import "math"

// gordonLateral is Gordon's C for a lateral approach, in m and m/s: 0.4 in ft and ft/s.
// Source: J. L. Gordon, "Vortices at intakes", Water Power 22(4), 1970, 137-138 (from memory).
const gordonLateral = 0.7245

// The two values of StopLevel's from.
const (
	StopFromPlant       = "plant"
	StopFromSubmergence = "submergence"
)

// StopLevel returns the pond level at which running stops, in metres on the staff gauge, and where it comes from: the
// file's stop_level_m ("plant"), else the level at which the intake mouth keeps Gordon's submergence ("submergence"). ok is
// false where the file gives neither the level nor the intake's centre line and diameter.
func (p *Plant) StopLevel() (levelM float64, from string, ok bool) {
	if p.Pond.StopLevelM != nil {
		return *p.Pond.StopLevelM, StopFromPlant, true
	}
	levelM, ok = p.SubmergenceLevel()
	return levelM, StopFromSubmergence, ok
}

// SubmergenceLevel returns the lowest pond level, in metres on the staff gauge, at which the intake mouth should draw no
// air with every unit at its best flow:
//
//	level = centreline + D/2 + S,  S = 0.7245 V √D,  V = Q / (π D²/4)
//
// with D the mouth's diameter (m), V the mean velocity in it (m/s) and S the water above its crown (m); Gordon 1970, lateral
// approach, from memory. ok is false where the file gives no centre line or no diameter.
func (p *Plant) SubmergenceLevel() (levelM float64, ok bool) {
	if p.Intake.CentrelineM == nil || p.Intake.DiameterM == nil {
		return 0, false
	}
	diameterM := *p.Intake.DiameterM
	velocityMS := p.bestFlowLps("") / 1000 / (math.Pi * diameterM * diameterM / 4)
	return *p.Intake.CentrelineM + diameterM/2 + gordonLateral*velocityMS*math.Sqrt(diameterM), true
}
