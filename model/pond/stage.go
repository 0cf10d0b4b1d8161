package pond

import (
	"errors"
	"fmt"
	"math"
	"sort"

	"example.org/headpond/model/plant"
)

// ErrNoStage tells that a pond has no stage table, so that nothing can be said of volumes.
var ErrNoStage = errors.New("the plant file has no stage table ([pond] stage), so the stored volume is not known")

// Stage is the surveyed bowl of the pond: water surface and stored volume at a level. The surface is linear between the
// surveyed rows; outside them the end segment continues, but never below nothing. The volume is the exact integral of
// the surface, counted from the lowest row (so it is negative below that row), and the level of a volume is its exact
// inverse. A Stage does not change after it is made and may be shared.
type Stage struct {
	level, area, volume []float64 // knots, with one more at each end where a continued segment meets zero area
	slope               []float64 // change of area per metre in the segment above each knot; the last continues upward
	below               float64   // change of area per metre under the lowest knot
	lowM, highM         float64   // the surveyed rows
}

// StageError tells which row of a stage table cannot be, counted from 1.
type StageError struct {
	Row int
	Why string
}

// Error names the row and the reason.
func (e *StageError) Error() string { return fmt.Sprintf("stage row %d: %s", e.Row, e.Why) }

// NewStage checks the rows and builds the tables. It returns ErrNoStage where there are none and a *StageError where a
// row cannot be: levels must rise, areas must be finite and not negative, and only the lowest may be zero.
func NewStage(rows []plant.StageRow) (*Stage, error) {
	if len(rows) == 0 {
		return nil, ErrNoStage
	}
	if len(rows) == 1 {
		return nil, &StageError{Row: 1, Why: "is alone; a stage table needs at least two levels with their areas"}
	}
	for i := range rows {
		if why := rowFault(rows, i); why != "" {
			return nil, &StageError{Row: i + 1, Why: why}
		}
	}
	s := &Stage{lowM: rows[0].LevelM, highM: rows[len(rows)-1].LevelM}
	for i, r := range rows {
		if i > 0 {
			s.slope = append(s.slope, (r.AreaM2-rows[i-1].AreaM2)/(r.LevelM-rows[i-1].LevelM))
		}
		s.level, s.area = append(s.level, r.LevelM), append(s.area, r.AreaM2)
	}
	s.slope = append(s.slope, s.slope[len(s.slope)-1])
	s.below = s.slope[0]
	s.closeEnds()
	s.integrate()
	return s, nil
}

// rowFault says what is wrong with one row, or nothing.
func rowFault(rows []plant.StageRow, i int) string {
	r := rows[i]
	switch {
	case !finite(r.LevelM) || !finite(r.AreaM2):
		return "holds something that is not a number"
	case r.AreaM2 < 0:
		return fmt.Sprintf("has a water surface of %g m2; it cannot be less than nothing", r.AreaM2)
	case r.AreaM2 == 0 && i > 0:
		return "has no water surface; only the lowest row, the pond's bottom, may have none"
	case i > 0 && r.LevelM <= rows[i-1].LevelM:
		return fmt.Sprintf("has a level of %g m, which is not above the %g m of the row before; levels must rise", r.LevelM, rows[i-1].LevelM)
	}
	return ""
}

// farM is how far from the rows an end may close and still be a knot; farther ones matter to no pond, and their volumes
// would cost digits.
const farM = 1000

// closeEnds adds the levels at which a continued end segment has no area left, so that all segments are plain.
func (s *Stage) closeEnds() {
	if s.below > 0 && s.area[0] < farM*s.below {
		if dry := s.level[0] - s.area[0]/s.below; s.area[0] > 0 {
			s.level = append([]float64{dry}, s.level...)
			s.area = append([]float64{0}, s.area...)
			s.slope = append([]float64{s.below}, s.slope...)
		}
		s.below = 0
	}
	n := len(s.level) - 1
	if s.slope[n] < 0 && s.area[n] < -farM*s.slope[n] {
		shut := s.level[n] - s.area[n]/s.slope[n]
		s.level, s.area, s.slope = append(s.level, shut), append(s.area, 0), append(s.slope, 0)
	}
}

// integrate fills the volumes at the knots, zero at the lowest surveyed row.
func (s *Stage) integrate() {
	s.volume = make([]float64, len(s.level))
	zero := 0.0
	for i := 1; i < len(s.level); i++ {
		s.volume[i] = s.volume[i-1] + (s.level[i]-s.level[i-1])*(s.area[i]+s.area[i-1])/2
		if s.level[i] == s.lowM {
			zero = s.volume[i]
		}
	}
	for i := range s.volume {
		s.volume[i] -= zero
	}
}

// LowM is the lowest surveyed level.
func (s *Stage) LowM() float64 { return s.lowM }

// HighM is the highest surveyed level.
func (s *Stage) HighM() float64 { return s.highM }

// Surveyed reports whether a level lies within the surveyed rows. Outside them the end segments are continued, which
// deserves a caution.
func (s *Stage) Surveyed(levelM float64) bool { return levelM >= s.lowM && levelM <= s.highM }

// DryM is the level at which the continued lowest segment has no area left, or minus infinity where the banks stand
// upright or widen downward.
func (s *Stage) DryM() float64 {
	if s.area[0] == 0 {
		return s.level[0]
	}
	return math.Inf(-1)
}

// AreaM2 is the water surface at a level, m2, never below 0.
func (s *Stage) AreaM2(levelM float64) float64 {
	i := sort.SearchFloat64s(s.level, levelM) - 1
	if i < 0 {
		return math.Max(0, s.area[0]+s.below*(levelM-s.level[0]))
	}
	return math.Max(0, s.area[i]+s.slope[i]*(levelM-s.level[i]))
}

// VolumeM3 is the water stored between the lowest surveyed row and a level, m3: the exact integral of AreaM2. It is
// negative below that row.
func (s *Stage) VolumeM3(levelM float64) float64 {
	i, slope := sort.SearchFloat64s(s.level, levelM)-1, s.below
	if i < 0 {
		if s.area[0] == 0 {
			return s.volume[0]
		}
		i = 0
	} else {
		slope = s.slope[i]
	}
	d := levelM - s.level[i]
	return s.volume[i] + d*(s.area[i]+slope*d/2)
}

// LevelM is the level at which a volume is stored: the exact inverse of VolumeM3. A volume less than the dry pond's gives
// the level at which the pond is dry.
func (s *Stage) LevelM(volumeM3 float64) float64 {
	i, slope := sort.SearchFloat64s(s.volume, volumeM3)-1, s.below
	if i < 0 {
		if s.area[0] == 0 {
			return s.level[0]
		}
		i = 0
	} else {
		slope = s.slope[i]
	}
	return s.level[i] + depthOf(volumeM3-s.volume[i], s.area[i], slope)
}

// depthOf solves v = d a + slope d²/2 for d, in the form that stays exact when the slope is small.
func depthOf(v, a, slope float64) float64 {
	root := math.Sqrt(math.Max(0, a*a+2*slope*v))
	if a+root == 0 {
		return 0
	}
	return 2 * v / (a + root)
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
