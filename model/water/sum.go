package water

import (
	"math"
	"slices"
	"time"
)

// state fills in what is known of the pond now.
func (m *Model) state() *Facts {
	now := m.filter.last
	f := &Facts{At: m.h.At.In(m.b.loc), LevelM: m.filter.level(&now), StopLevelM: m.b.stopM, StopLevelFrom: m.b.stopFrom, Ways: []Way{}, Cautions: []string{}}
	f.UsableM3 = math.Max(0, now.mean[iVolume]-m.b.stopV)
	if m.b.weir != nil {
		crest := m.b.weir.CrestM
		f.CrestM = &crest
	}
	for _, x := range m.s.sights {
		f.History = append(f.History, LevelPoint{Time: x.at.In(m.b.loc), LevelM: x.levelM, SetAside: x.setAside})
		if x.setAside {
			continue
		}
		at := x.at.In(m.b.loc)
		if f.RestsOn.From == nil {
			f.RestsOn.From = &at
		}
		f.RestsOn.To = &at
		f.RestsOn.Levels++
		f.LastLevel = &Reading{Time: at, Value: x.levelM}
	}
	if m.days < 2 {
		return f
	}
	r := inflowRange(&now)
	f.InflowLps = &r
	for i := range m.filter.track {
		t := &m.filter.track[i]
		f.Inflow = append(f.Inflow, InflowPoint{Time: t.at.In(m.b.loc), Lps: inflowRange(&t.filtered)})
	}
	return f
}

// z90 is the 90 % point of the normal distribution.
const z90 = 1.2815515655446004

func inflowRange(b *belief) Range {
	x, sd := b.mean[iInflow], math.Sqrt(b.cov[iInflow][iInflow])
	return Range{P10: 1000 * math.Exp(x-z90*sd), P50: 1000 * math.Exp(x), P90: 1000 * math.Exp(x+z90*sd)}
}

// bare fills in the ways where the levels are too few for an inflow: what they draw and give, and nothing more.
func (m *Model) bare(f *Facts, ways []way) {
	for _, w := range ways {
		q, kw := w.during(m.b).at(f.LevelM)
		f.Ways = append(f.Ways, Way{Run: w.run, Plan: w.plan, DrawLps: 1000 * q, KW: kw})
	}
	m.cautions(f, nil)
}

// wayFacts sums up what became of all members under one way.
func (m *Model) wayFacts(f *Facts, e *ensemble, all *fates) Way {
	w := all.course.way
	q, kw := w.during(m.b).at(f.LevelM)
	out := Way{Run: w.run, Plan: w.plan, DrawLps: 1000 * q, KW: kw}
	if f.LevelM <= f.StopLevelM {
		runOut(all.each)
	}
	toStop := func(f *fate) float64 { return f.stop }
	out.HoursAnyOutcome = hoursRange(all.each, toStop)
	out.HoldsUntil = m.holdsUntil(all.each)
	spell, filled := thisSpell(all.each)
	if out.FilledFirst, out.Hours = &filled, out.HoursAnyOutcome; filled < Sure {
		out.Hours = hoursRange(spell, toStop)
	}
	energy := make([]float64, len(all.each))
	ran, spilled := 0, 0
	for i := range all.each {
		energy[i] = all.each[i].kWh
		switch {
		case !math.IsInf(all.each[i].stop, 1):
			ran++
		case all.each[i].spills:
			spilled++
		}
	}
	r := rangeOf(energy)
	out.EnergyKWh = &r
	n := len(all.each)
	out.RunsOutShare, out.SpillsShare = float64(ran)/float64(n), float64(spilled)/float64(n)
	switch {
	case 2*ran >= n:
		out.Outcome = RunsOut
	case 2*spilled >= n:
		out.Outcome = Spills
	default:
		out.Outcome = Lasts
	}
	out.Standing = m.standing(f, &out)
	out.Permit = m.permit(all)
	for k, i := range e.fanDays {
		v := rangeOf(all.fan[k])
		at := m.h.At.Add(time.Duration(e.days[i] * 24 * float64(time.Hour))).In(m.b.loc)
		level := m.b.stage.LevelM
		out.Fan = append(out.Fan, FanPoint{Time: at, LevelM: Range{P10: level(v.P10), P50: level(v.P50), P90: level(v.P90)}})
	}
	return out
}

// runOut makes every member one that has run out now: the contract's word where the pond is at or below the stop level, also
// where the last level is so old that some members think otherwise. Whether that was read or is supposed, Standing tells.
func runOut(each []fate) {
	for i := range each {
		each[i].stop, each[i].kWh, each[i].refilled = 0, 0, false
	}
}

// holdsUntil is when so many members have reached the stop level that a plan would no longer be called one that holds; nil
// where they do not within the horizon.
func (m *Model) holdsUntil(each []fate) *time.Time {
	stops := make([]float64, len(each))
	for i := range each {
		stops[i] = each[i].stop
	}
	slices.Sort(stops)
	hours := stops[min(int(math.Floor((1-Sure)*float64(len(stops))+1e-9)), len(stops)-1)]
	if math.IsInf(hours, 1) {
		return nil
	}
	at := m.h.At.Add(time.Duration(hours * float64(time.Hour))).In(m.b.loc).Truncate(time.Second)
	return &at
}

// thisSpell leaves out the members that fill the pond first: those left tell how long this dry spell's water lasts. It also
// returns the share that fills it first.
func thisSpell(each []fate) (spell []fate, filled float64) {
	for _, f := range each {
		if !f.refilled {
			spell = append(spell, f)
		}
	}
	return spell, 1 - float64(len(spell))/float64(len(each))
}

// permit is when the permit's levels are reached, nil where there is none.
func (m *Model) permit(all *fates) *Permit {
	p := Permit{LowM: m.b.plant.Pond.PermitLowM, HighM: m.b.plant.Pond.PermitHighM}
	if p.LowM == nil && p.HighM == nil {
		return nil
	}
	if p.LowM != nil {
		p.LowHours = hoursRange(all.each, func(f *fate) float64 { return f.low })
	}
	if p.HighM != nil {
		p.HighHours = hoursRange(all.each, func(f *fate) float64 { return f.high })
	}
	return &p
}

// permitNow repeats the permit's times of the way that is running.
func (m *Model) permitNow(f *Facts, ways []way) {
	running, known := m.h.Timeline().RunningAt(m.h.At)
	if !known {
		return
	}
	for i, w := range ways {
		if w.plan == nil && equal(w.run, running) {
			f.Permit = f.Ways[i].Permit
		}
	}
}

func equal(a, b []string) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}
