package water

import (
	"fmt"
	"math"
	"strings"
	"time"

	"example.org/headpond/model/quantity"
)

// dropImpossible sets aside levels far outside the stage rows before anything is computed with them.
func (s *series) dropImpossible(b *basin) {
	kept := false
	for i := range s.sights {
		l := s.sights[i].levelM
		if math.IsNaN(l) || l < b.stage.LowM()-2 || l > b.stage.HighM()+2 {
			s.sights[i].setAside = true
		} else {
			kept = true
		}
	}
	if !kept {
		s.sights, s.legs = nil, nil
	}
}

// cautions says in words what the facts rest on too thinly, and what was set aside.
func (m *Model) cautions(f *Facts) {
	say := func(format string, args ...any) { f.Cautions = append(f.Cautions, fmt.Sprintf(format, args...)) }
	if m.days < 2 {
		say("All levels are from one day, so the inflow is not known yet; read the gauge again tomorrow.")
		for _, w := range f.Ways {
			if w.DrawLps > 0 {
				say("Without any inflow %s would run for about %.0f h.", name(w), f.UsableM3/(w.DrawLps/1000+m.b.bypass+m.b.seepage)/3600)
			}
		}
	} else if n := m.recent(14); n < 4 {
		say("Only %d levels in the last 14 days; the inflow is not known well.", n)
	}
	if f.LastLevel != nil {
		if age := m.h.At.Sub(f.LastLevel.Time); age > 3*24*time.Hour {
			say("The last level is %.0f days old; the pond has been carried on by computing.", age.Hours()/24)
		}
	}
	if f.StopLevelFrom == "submergence" {
		say("The stop level is a rule of thumb for the intake's submergence (Gordon, from memory), not from the plant file.")
	}
	m.sayAside(say)
	if f.LevelM <= f.StopLevelM {
		say("The pond is at or below the stop level.")
	}
	if !m.b.stage.Surveyed(f.LevelM) || !m.b.stage.Surveyed(f.StopLevelM) {
		say("The level or the stop level lies outside the stage rows (%.2f to %.2f m); the end of the table was continued.", m.b.stage.LowM(), m.b.stage.HighM())
	}
	m.sayWays(f, say)
	sayRefills(f, say)
	if m.nature.gaugeSD > 2*priors().gaugeSD {
		say("The levels scatter by about %.0f cm, more than a staff gauge should; look whether waves or ice disturb it.", 100*m.nature.gaugeSD)
	}
	m.sayBypass(say)
}

// name is a way in words.
func name(w Way) string {
	s := strings.Join(w.Run, "+")
	if w.Plan != nil {
		part := w.Plan.Unit + " " + w.Plan.From + "–" + w.Plan.To
		if s == "" {
			return part
		}
		return s + " and " + part
	}
	if s == "" {
		return "no machine"
	}
	return s
}

// recent counts the usable levels of the last days.
func (m *Model) recent(days int) int {
	n := 0
	for _, x := range m.s.sights {
		if !x.setAside && m.h.At.Sub(x.at) <= time.Duration(days)*24*time.Hour {
			n++
		}
	}
	return n
}

func (m *Model) sayAside(say func(string, ...any)) {
	n, last := 0, sight{}
	for _, x := range m.s.sights {
		if x.setAside {
			n, last = n+1, x
		}
	}
	switch {
	case n == 1:
		say("The level %.3f m of %s cannot be and was set aside; correct it if it was mistyped.", last.levelM, last.at.In(m.b.loc).Format("2006-01-02 15:04"))
	case n > 1:
		say("%d levels cannot be and were set aside, the last %.3f m of %s; correct them if they were mistyped.", n, last.levelM, last.at.In(m.b.loc).Format("2006-01-02 15:04"))
	}
}

// sayWays points out an inflow above every draw, and how little a long forecast is worth.
func (m *Model) sayWays(f *Facts, say func(string, ...any)) {
	most, long := 0.0, false
	for _, w := range f.Ways {
		most = math.Max(most, w.DrawLps)
		if w.Hours != nil && w.Hours.P50 != nil && *w.Hours.P50 > 30*24 {
			long = true
		}
	}
	if f.InflowLps != nil && f.InflowLps.P50 > most+1000*(m.b.bypass+m.b.seepage) && most > 0 {
		say("The inflow is above every draw: the water lasts, and the pond is filling.")
	}
	if long {
		say("Beyond 30 days no forecast is worth much: rain decides. Take it as more than 30 days.")
	}
}

// sayRefills says where the hours leave out outcomes in which the pond is filled first.
func sayRefills(f *Facts, say func(string, ...any)) {
	for _, w := range f.Ways {
		if w.RefillsFirst == nil || w.DrawLps == 0 || w.Hours.P10 == nil {
			continue
		}
		if share := *w.RefillsFirst; share >= 0.2 && share < sure {
			say("With %s the pond is filled first in %.0f of 100 outcomes; its hours are for the others.", name(w), 100*share)
		}
	}
}

// sayBypass points out a measured bypass below what must pass.
func (m *Model) sayBypass(say func(string, ...any)) {
	r, ok := m.h.LastWith(quantity.Key(quantity.BypassLps))
	if !ok {
		return
	}
	if v, _ := r.Value(quantity.Key(quantity.BypassLps)); v < m.b.plant.Pond.BypassLps {
		say("The bypass was last read as %.1f L/s, less than the %.1f L/s that must pass.", v, m.b.plant.Pond.BypassLps)
	}
}
