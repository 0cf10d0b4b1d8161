package hydraulics

import "math"

// Gordon's coefficients of submergence in metre and second units, by the way the water comes to the intake. They are his
// 0.3 and 0.4 of foot units, times √(1 ft / 0.3048 m). From memory.
const (
	GordonSymmetric = 0.5434
	GordonLateral   = 0.7245
)

// Submergence returns the depth of water, m, over the crown of an intake mouth that keeps it free of air-drawing
// vortices:
//
//	S = C V √D
//
// with V the mean velocity in the mouth (m/s) and D its diameter (m). Source: J. L. Gordon, "Vortices at intakes", Water
// Power 22(4) (1970) 137–138 (from memory).
func Submergence(velocityMS, diameterM, c float64) float64 {
	return c * velocityMS * math.Sqrt(diameterM)
}

// Spill returns the flow over a crest, m³/s: Q = C L H^1.5 with H the level above the crest (m, none below it), L the crest's
// length (m) and C its coefficient (m^0.5/s; 1.7 to 1.84 for broad and sharp crests).
func Spill(headM, lengthM, c float64) float64 {
	if !(headM > 0) {
		return 0
	}
	return c * lengthM * headM * math.Sqrt(headM)
}

// A FishScreenRule is one published limit on the approach velocity at a fish screen, shown as information. None of them was
// written for hydro intakes, which are judged site by site.
type FishScreenRule struct {
	Name       string
	Source     string
	Status     string  // "verified" or "from memory"
	VelocityMS float64 // greatest approach velocity, flow / area, m/s
	OpenArea   bool    // the area is the open area, otherwise the whole area of the screen
	HoleMM     float64 // widest round hole, mm; 0 where the rule has none
}

// footPerSecond is 1 ft/s in m/s, exact.
const footPerSecond = 0.3048

// FishScreenRules returns the published approach velocities. The slice is the caller's.
func FishScreenRules() []FishScreenRule {
	const dfo = "DFO, Freshwater Intake End-of-Pipe Fish Screen Guideline (1995)"
	return []FishScreenRule{
		{Name: "strong swimmers such as trout", Source: dfo, Status: "from memory", VelocityMS: 0.108, OpenArea: true, HoleMM: 2.54},
		{Name: "weak swimmers such as eels", Source: dfo, Status: "from memory", VelocityMS: 0.0382, OpenArea: true, HoleMM: 2.54},
		{Name: "self-cleaning pump intake", Source: "NMFS Southwest Region, juvenile fish screen criteria for pump intakes", Status: "verified", VelocityMS: 0.4 * footPerSecond},
		{Name: "passive pump intake", Source: "NMFS Southwest Region, juvenile fish screen criteria for pump intakes", Status: "verified", VelocityMS: 0.2 * footPerSecond},
		{Name: "streams and rivers", Source: "California CDFG, Fish Screening Criteria (2000)", Status: "verified", VelocityMS: 0.33 * footPerSecond},
	}
}

// NeededArea returns the screen area, m², by the rule for a flow in m³/s: A = Q / V.
func (r FishScreenRule) NeededArea(flowM3s float64) float64 { return flowM3s / r.VelocityMS }
