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

// cautions says in words what the facts rest on too thinly, and what was set aside. e is nil where there is no forecast.
func (m *Model) cautions(f *Facts, e *ensemble) {
	say := func(format string, args ...any) { f.Cautions = append(f.Cautions, fmt.Sprintf(format, args...)) }
	if m.days < 2 {
		say("All levels are from one day, so the inflow is not known yet; read the gauge again tomorrow.")
		for _, w := range f.Ways {
			if w.DrawLps > 0 {
				say("Without any inflow %s would run for about %.0f h.", name(w), f.UsableM3/(w.DrawLps/1000+m.b.bypass+m.b.seepage)/3600)
			}
		}
	} else if n := m.recent(14); n == 0 {
		say("No level was read in the last 14 days; the inflow is not known well.")
	} else if n < 4 {
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
	m.sayStop(f, say)
	if !m.b.stage.Surveyed(f.LevelM) || !m.b.stage.Surveyed(f.StopLevelM) {
		say("The level or the stop level lies outside the stage rows (%.2f to %.2f m); the end of the table was continued.", m.b.stage.LowM(), m.b.stage.HighM())
	}
	m.sayWays(f, e, say)
	sayFilled(f, say)
	if m.nature.gaugeSD > 2*priors().gaugeSD {
		say("The levels scatter by about %.0f cm, more than a staff gauge should; look whether waves or ice disturb it.", 100*m.nature.gaugeSD)
	}
	m.sayBypass(say)
	if m.b.standIns > 0 {
		say("The machines of %d older plant revisions cannot be worked out; today's stand in for them.", m.b.standIns)
	}
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

// sayStop says that the pond is at its stop level where that was read, and that it may be where it is only reckoned.
func (m *Model) sayStop(f *Facts, say func(string, ...any)) {
	at := f.AtStop()
	for _, w := range f.Ways {
		if at == "" {
			at = w.Standing
		}
	}
	switch at {
	case PerhapsAtStop:
		say("By now the pond is perhaps at or below the stop level, which is reckoned from an old level; read the gauge.")
	case ProbablyAtStop:
		say("By now the pond is probably at or below the stop level, which is reckoned; read the gauge.")
	case ReadAtStop:
		say("The pond is at or below the stop level.")
	}
}

// sayWays points out an inflow above every draw, and how little a long forecast is worth. It never says "lasts" beside a
// way that runs out.
func (m *Model) sayWays(f *Facts, e *ensemble, say func(string, ...any)) {
	most, long, runsOut := 0.0, false, false
	for _, w := range f.Ways {
		if w.DrawLps == 0 {
			continue
		}
		most = math.Max(most, w.DrawLps)
		runsOut = runsOut || w.Outcome == RunsOut || w.TellsDrySpell()
		long = long || w.Hours != nil && w.Hours.P50 != nil && *w.Hours.P50 > 30*24
	}
	if e != nil && f.InflowLps != nil && most > 0 && f.InflowLps.P50 > most+1000*e.c.lossNow(f.LevelM) {
		switch {
		case f.LevelM >= m.crest():
			say("The inflow is above every draw: the pond is full and spilling.")
		case runsOut:
			say("The inflow is above every draw now and the pond is filling, but the inflow is expected to fall below the draw.")
		default:
			say("The inflow is above every draw: the water lasts; it is filling.")
		}
	}
	if long {
		say("Beyond 30 days no forecast is worth much: rain decides. Take it as more than 30 days.")
	}
}

// crest is the spillway's level, +Inf where there is none.
func (m *Model) crest() float64 {
	if m.b.weir == nil {
		return math.Inf(1)
	}
	return m.b.weir.CrestM
}

// lossNow is what leaves the pond at a level now beside the machines and the spill, m3/s.
func (c *channel) lossNow(levelM float64) float64 {
	if c.b.weir != nil {
		levelM = math.Min(levelM, c.b.weir.CrestM)
	}
	q, _ := c.b.losses(levelM, c.b.stage.AreaM2(levelM), c.bypass, c.at.In(c.b.loc).Month(), c.iced)
	return q
}

// sayFilled says how often rain fills the pond first, and whether the hours count on that.
func sayFilled(f *Facts, say func(string, ...any)) {
	var left, counted []string
	for _, w := range f.Ways {
		switch {
		case w.LikelyFilled():
			counted = append(counted, fmt.Sprintf("%.0f with %s", 100**w.FilledFirst, name(w)))
		case w.TellsDrySpell():
			left = append(left, fmt.Sprintf("%.0f with %s", 100**w.FilledFirst, name(w)))
		}
	}
	if len(left) > 0 {
		say("Of 100 outcomes, so many see the pond filled before it runs out: %s. The time to the stop level leaves them out; do not count on rain.", strings.Join(left, ", "))
	}
	if len(counted) > 0 {
		say("Rain most likely fills the pond before it runs out; of 100 outcomes, so many: %s. The time to the stop level counts them too.", strings.Join(counted, ", "))
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
