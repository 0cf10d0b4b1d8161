package assess

import (
	"fmt"
	"math"
	"slices"
	"time"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// What a pond can do, for telling a level from a slip of the pen. Our own choices, wide on purpose: a real flood must pass.
const (
	levelMarginM   = 0.25 // beyond the stage rows: a flood rises over what was walked
	levelNoiseM    = 0.05 // waves, ice and a crooked look at the staff
	floodTimes     = 20.0 // × what all units take at best: the largest plausible flow into the pond, or out of it
	levelWitnesses = 3    // levels before it of which one must lead there; a gauge that was moved is believed the second time
	levelLeast     = 15 * time.Minute
	levelMemory    = 14 * 24 * time.Hour // older levels tell nothing of what the pond can have done since
)

// levelReach is the range of levels at which the pond can stand at all, and false where no stage was surveyed.
func levelReach(p *plant.Plant) (lo, hi float64, ok bool) {
	rows := p.Pond.Stage
	if len(rows) == 0 {
		return math.Inf(-1), math.Inf(1), false
	}
	lo, hi = rows[0].LevelM, rows[len(rows)-1].LevelM
	if p.Pond.CrestM != nil {
		hi = max(hi, *p.Pond.CrestM)
	}
	if p.Pond.StopLevelM != nil {
		lo = min(lo, *p.Pond.StopLevelM)
	}
	return lo - levelMarginM, hi + levelMarginM, true
}

// levelDoubt says why the pond cannot stand at a round's level: "above the highest of the stage rows, 0.40 m", "1.23 m above that of
// 06:10, more than the pond can rise in 32 min". It is "" where it can, and where the round was confirmed only the range counts.
//
// The pond rises or falls by more than Δ in a time only if Δ times its least surface between the two levels, m3, exceeds the largest
// plausible flow times that time. One of the last few levels must allow it, so that a level mistyped before accuses none after it.
func (a *Assessor) levelDoubt(r record.Round) string {
	v, ok := r.Value(quantity.Key(quantity.PondLevelM))
	p := a.h.PlantAt(r.Time)
	if !ok || p == nil {
		return ""
	}
	lo, hi, surveyed := levelReach(p)
	switch units := quantity.System(p.Site.Units); {
	case !surveyed:
		return ""
	case v > hi:
		return fmt.Sprintf("far above the highest of the pond's stage rows, %s", levelText(p.Pond.Stage[len(p.Pond.Stage)-1].LevelM, units))
	case v < lo:
		return fmt.Sprintf("far below the lowest of the pond's stage rows, %s", levelText(p.Pond.Stage[0].LevelM, units))
	case r.Confirmed:
		return ""
	}
	return a.jumpDoubt(p, r, v)
}

// jumpDoubt is levelDoubt for a level within the pond's range.
func (a *Assessor) jumpDoubt(p *plant.Plant, r record.Round, v float64) string {
	lo, hi, _ := levelReach(p)
	said, seen := "", 0
	for i := a.before(r.Time); i >= 0 && seen < levelWitnesses; i-- {
		old := a.h.Rounds[i]
		if r.Time.Sub(old.Time) > levelMemory {
			break
		}
		was, ok := old.Value(quantity.Key(quantity.PondLevelM))
		if !ok || was < lo || was > hi {
			continue
		}
		seen++
		apart := r.Time.Sub(old.Time)
		most := floodM3s(p) * max(apart, levelLeast).Seconds()
		if (math.Abs(v-was)-levelNoiseM)*min(surfaceM2(p, v), surfaceM2(p, was)) <= most {
			return ""
		}
		if said == "" {
			way, can := "above", "rise"
			if v < was {
				way, can = "below", "fall"
			}
			units := quantity.System(p.Site.Units)
			said = fmt.Sprintf("%s %s the %s of %s before, more than the pond can %s in that time", levelText(math.Abs(v-was), units), way, levelText(was, units), Span(apart), can)
		}
	}
	return said
}

// before is the index of the last round earlier than a time, -1 for none.
func (a *Assessor) before(t time.Time) int {
	i := a.upTo(t) - 1
	for i >= 0 && !a.h.Rounds[i].Time.Before(t) {
		i--
	}
	return i
}

// surfaceM2 is the pond's surface at a level, linear between the stage rows and that of the end rows beyond them.
func surfaceM2(p *plant.Plant, levelM float64) float64 {
	rows := p.Pond.Stage
	if levelM <= rows[0].LevelM {
		return rows[0].AreaM2
	}
	for i := 1; i < len(rows); i++ {
		if lo, hi := rows[i-1], rows[i]; levelM <= hi.LevelM {
			return lo.AreaM2 + (hi.AreaM2-lo.AreaM2)*(levelM-lo.LevelM)/(hi.LevelM-lo.LevelM)
		}
	}
	return rows[len(rows)-1].AreaM2
}

// floodM3s is the largest plausible flow into or out of the pond: many times what all units take, and at least what the spillway
// passes with the water at the highest stage row.
func floodM3s(p *plant.Plant) float64 {
	flow := 0.0
	for _, u := range p.Units {
		best := u.BestFlowLps / 1e3
		if head := p.Pond.Stage[len(p.Pond.Stage)-1].LevelM - u.AxisM; !(best > 0) && head > 0 {
			best = u.RatedKW / (0.5 * conventionalWater * head) // half of the water's power at the plug
		}
		flow += floodTimes * best
	}
	if c := p.Pond.CrestM; c != nil {
		if over := p.Pond.Stage[len(p.Pond.Stage)-1].LevelM - *c; over > 0 {
			flow = max(flow, p.Pond.CrestCoefficient*p.Pond.CrestLengthM*math.Pow(over, 1.5))
		}
	}
	return flow
}

// believed is a round's reading, unless it looks like a slip of the pen: what is worked out never rests on one.
func (a *Assessor) believed(r record.Round, k quantity.Key) (float64, bool) {
	v, ok := r.Value(k)
	if !ok {
		return 0, false
	}
	if k.Name() == quantity.PondLevelM {
		return v, a.levelDoubt(r) == ""
	}
	if p := a.h.PlantAt(r.Time); p != nil {
		_, _, ok = Plausible(p, k, v)
	}
	return v, ok
}

// Doubts lists the readings of a round that look like slips of the pen and are left out of all that is worked out, in walking
// order, each with why.
func (a *Assessor) Doubts(r record.Round) []Question {
	p := a.h.PlantAt(r.Time)
	if p == nil {
		return nil
	}
	var list []Question
	for _, q := range Questions(p, r) {
		if !q.Slip {
			list = append(list, q)
		}
	}
	return sortQuestions(a.withLevel(p, r, list))
}

// withLevel adds the question about a level that the pond cannot have reached, where it is not asked about already.
func (a *Assessor) withLevel(p *plant.Plant, r record.Round, list []Question) []Question {
	k := quantity.Key(quantity.PondLevelM)
	why := a.levelDoubt(r)
	if why == "" || slices.ContainsFunc(list, func(q Question) bool { return q.Key == k }) {
		return list
	}
	lo, hi, _ := levelReach(p)
	v, _ := r.Value(k)
	q := question(p, k, v, lo, hi, r.Typed[k])
	q.Slip, q.Text = true, fmt.Sprintf("%s %s is %s", LabelOf(k), shownValue(p, k, v, r.Typed[k]), why)
	return append(list, q)
}

// Questions is Questions of a round that is about to be kept, and also asks about a level that the pond cannot have reached since
// the last ones, and about a number that seems to be in another unit than the field's. What the contract's range does not settle has
// Slip set: a person is asked, an import is not.
func (a *Assessor) Questions(r record.Round) []Question {
	p := a.h.PlantAt(r.Time)
	if p == nil {
		return nil
	}
	return sortQuestions(a.withUnit(p, r, a.withLevel(p, r, Questions(p, r))))
}

// psiKPa is one pound-force per square inch (NIST SP 811, appendix B.8: 6.894757 kPa).
const psiKPa = 6.894757

// withUnit asks about a pressure in kPa that is far off, where the same number in psi would be near what is expected.
func (a *Assessor) withUnit(p *plant.Plant, r record.Round, list []Question) []Question {
	var exp Expected
	for k, v := range r.Values {
		if k.Name() != quantity.PressureKPa || !(v > 0) || slices.ContainsFunc(list, func(q Question) bool { return q.Key == k }) {
			continue
		}
		if exp == nil {
			exp = a.Expected(r)
		}
		e, ok := exp[k]
		if !ok || math.Abs(v-e) < unitFar*e || math.Abs(v*psiKPa-e) > unitNear*e {
			continue
		}
		q := question(p, k, v, 0, e, r.Typed[k])
		q.Slip = true
		q.Text = fmt.Sprintf("%s %s kPa is far below the %.0f kPa expected; %s psi would be %.0f kPa: write psi behind it if that was meant",
			LabelOf(k), trim(v), e, trim(v), v*psiKPa)
		list = append(list, q)
	}
	return list
}

// A pressure is asked about where it is farther than unitFar off the expected one and its number in psi nearer than unitNear.
const unitFar, unitNear = 0.5, 0.25

// trim writes a number as it was typed, without needless digits.
func trim(v float64) string { return fmt.Sprintf("%.4g", v) }
