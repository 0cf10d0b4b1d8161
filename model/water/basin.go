package water

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/pond"
)

// Draw is what running machines take and give with the pond at a level: the flow through all of them, m3/s, and the
// electric power, kW. It comes from the plant's steady state. It is asked for a few dozen levels and tabled.
type Draw func(levelM float64, running []string) (flowM3s, kw float64)

const (
	secondsPerDay = 86400.0
	mmDayToMS     = 1e-3 / secondsPerDay
)

// ErrNoStopLevel tells that the plant file gives neither a stop level nor the intake that one could be worked out from.
var ErrNoStopLevel = errors.New("the plant file gives no stop level ([pond] stop_level_m), nor the intake's centreline_m and diameter_m to work one out")

// basin is the pond and the machines of the plant in force, ready for computing.
type basin struct {
	stage    *pond.Stage
	weir     *pond.Weir // nil where there is no crest
	plant    *plant.Plant
	loc      *time.Location
	bypass   float64 // m3/s
	seepage  float64
	evap     [12]float64 // m/s
	stopM    float64
	stopFrom string
	stopV    float64
	crestV   float64 // +Inf where there is no crest
	draws    *drawBook
	eras     []era // the revisions of the plant, the last being today's
	standIns int   // of them, how many draw as today's do for want of better
}

// newBasin takes what the forecast needs from a plant.
func newBasin(p *plant.Plant, draw Draw) (*basin, error) {
	stage, err := pond.NewStage(p.Pond.Stage)
	if err != nil {
		return nil, err
	}
	b := &basin{stage: stage, plant: p, loc: p.Location, bypass: p.Pond.BypassLps / 1000, seepage: p.Pond.SeepageLps / 1000, crestV: math.Inf(1)}
	if b.loc == nil {
		b.loc = time.UTC
	}
	if e := p.Pond.EvaporationMMDay; e != nil {
		for m := range e {
			b.evap[m] = e[m] * mmDayToMS
		}
	}
	if b.stopM, b.stopFrom, err = StopLevel(p); err != nil {
		return nil, err
	}
	b.stopV = stage.VolumeM3(b.stopM)
	top := math.Max(stage.HighM(), b.stopM)
	if c := p.Pond.CrestM; c != nil && p.Pond.CrestLengthM > 0 {
		b.weir = &pond.Weir{CrestM: *c, LengthM: p.Pond.CrestLengthM, Coefficient: p.Pond.CrestCoefficient}
		if b.weir.Coefficient == 0 {
			b.weir.Coefficient = 1.7
		}
		b.crestV = stage.VolumeM3(*c)
		top = math.Max(top, *c)
	}
	b.draws = newDrawBook(draw, math.Min(stage.LowM(), b.stopM)-0.5, top+1)
	b.eras = []era{{units: p.UnitIDs(), draws: b.draws}}
	return b, nil
}

// gordonLateral is the factor of J. L. Gordon's rule for an intake with lateral approach, S = C V √D above the crown of
// the conduit, m and m/s ("Vortices at intakes", Water Power 22(4), 1970, 137-138; from memory).
const gordonLateral = 0.7245

// StopLevel is the level at which running stops and where it comes from: "plant" where the file gives it, else
// "submergence", the least level that keeps the intake covered: centre line + half the diameter + 0.7245 V √D, V the mean
// velocity in the mouth at all units' best flow (Gordon, from memory).
func StopLevel(p *plant.Plant) (levelM float64, from string, err error) {
	if p.Pond.StopLevelM != nil {
		return *p.Pond.StopLevelM, "plant", nil
	}
	if p.Intake.CentrelineM == nil || p.Intake.DiameterM == nil || !(*p.Intake.DiameterM > 0) {
		return 0, "", ErrNoStopLevel
	}
	flow, d := 0.0, *p.Intake.DiameterM
	for _, u := range p.Units {
		flow += u.BestFlowLps / 1000
	}
	velocity := flow / (math.Pi * d * d / 4)
	return *p.Intake.CentrelineM + d/2 + gordonLateral*velocity*math.Sqrt(d), "submergence", nil
}

// losses is the outflow that the machines have no part in, m3/s: bypass, seepage, evaporation and spill, and its rise
// with the volume, 1/s.
func (b *basin) losses(levelM, areaM2, bypass float64, month time.Month, iced bool) (q, perVolume float64) {
	q = bypass + b.seepage
	if !iced {
		q += b.evap[month-1] * areaM2
	}
	if b.weir != nil && levelM > b.weir.CrestM {
		spill := b.weir.SpillM3s(levelM)
		q += spill
		perVolume = 1.5 * spill / ((levelM - b.weir.CrestM) * math.Max(areaM2, 1))
	}
	return q, perVolume
}

// drawBook tables the draw by level for each set of units that is asked for.
type drawBook struct {
	draw     Draw
	lo, step float64
	tables   map[string]*drawTable
}

const drawKnots = 49

// drawTable is flow and power at equally spaced levels.
type drawTable struct {
	lo, step float64
	flow, kw [drawKnots]float64
}

func newDrawBook(d Draw, lowM, highM float64) *drawBook {
	return &drawBook{draw: d, lo: lowM, step: (highM - lowM) / (drawKnots - 1), tables: map[string]*drawTable{}}
}

// table returns the draw of a set of units, which must be in the plant's order. What the solver cannot work out (not a
// number) counts as nothing drawn.
func (d *drawBook) table(units []string) *drawTable {
	key := strings.Join(units, "+")
	if t, ok := d.tables[key]; ok {
		return t
	}
	t := &drawTable{lo: d.lo, step: d.step}
	for i := range t.flow {
		if len(units) == 0 {
			break
		}
		q, kw := d.draw(d.lo+float64(i)*d.step, units)
		if q > 0 && !math.IsInf(q, 0) {
			t.flow[i] = q
		}
		if !math.IsNaN(kw) && !math.IsInf(kw, 0) {
			t.kw[i] = kw
		}
	}
	d.tables[key] = t
	return t
}

// at returns flow, m3/s, and power, kW, at a level.
func (t *drawTable) at(levelM float64) (flow, kw float64) {
	u := (levelM - t.lo) / t.step
	switch {
	case u < 0:
		u = 0
	case u > drawKnots-1:
		u = drawKnots - 1
	}
	i := min(int(u), drawKnots-2)
	f := u - float64(i)
	return t.flow[i] + f*(t.flow[i+1]-t.flow[i]), t.kw[i] + f*(t.kw[i+1]-t.kw[i])
}

// checkUnits reports the first id that the plant does not have.
func checkUnits(p *plant.Plant, units []string) error {
	for _, id := range units {
		if _, ok := p.UnitByID(id); !ok {
			return fmt.Errorf("unit %q is not in the plant file; it has %s", id, strings.Join(p.UnitIDs(), ", "))
		}
	}
	return nil
}

// inOrder returns the units in the plant's order, each once.
func inOrder(p *plant.Plant, units []string) []string {
	list := []string{}
	for _, id := range p.UnitIDs() {
		for _, u := range units {
			if u == id {
				list = append(list, id)
				break
			}
		}
	}
	return list
}
