package waterview

import (
	"strings"
	"time"

	"example.org/headpond/model/water"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/chart"
	"example.org/headpond/tui/ui/text"
)

// figure draws the levels that were read and the forecast for the picked way, with the levels that matter.
func (p page) figure(w, h int) []string {
	f := p.facts()
	if len(f.History) == 0 && len(p.fan()) == 0 {
		return nil
	}
	from, to := p.window()
	c := chart.Chart{Unit: p.levelUnit(), From: from, To: to, Now: f.At, Location: p.common.Location, Limits: p.limits(), Empty: "No level has been read yet."}
	read := chart.Series{Name: "read", Gap: gap}
	for _, x := range f.History {
		if !x.SetAside {
			read.Points = append(read.Points, chart.Point{At: x.Time, Value: p.levelShown(x.LevelM)})
		}
	}
	c.Series = append(c.Series, read)
	if fan := p.fan(); len(fan) > 0 {
		name := text.Show(wayName(f.Ways[p.picked()].Run, f.Ways[p.picked()].Plan))
		middle, band := chart.Series{Name: "with " + name + ", middle"}, chart.Band{Name: "likely range"}
		for _, x := range fan {
			middle.Points = append(middle.Points, chart.Point{At: x.Time, Value: p.levelShown(x.LevelM.P50)})
			band.Points = append(band.Points, chart.BandPoint{At: x.Time, Low: p.levelShown(x.LevelM.P10), High: p.levelShown(x.LevelM.P90)})
		}
		c.Series, c.Bands = append(c.Series, middle), []chart.Band{band}
	}
	if u := f.Until; u != nil && (p.text || !p.want.until.IsZero()) {
		c.Cursor = u.Date.Add(-time.Minute) // so that a day's end is told as that day
	}
	return strings.Split(c.View(p.common.Theme, w, h), "\n")
}

// gap is the time without a level from which the line is broken.
const gap = 4 * 24 * time.Hour

// fan is the forecast of the picked way.
func (p page) fan() []water.FanPoint {
	f := p.facts()
	if i := p.picked(); i < len(f.Ways) {
		return f.Ways[i].Fan
	}
	return nil
}

// limits are the levels that matter.
func (p page) limits() []chart.Limit {
	f := p.facts()
	list := []chart.Limit{{Name: "stop", Value: p.levelShown(f.StopLevelM), State: ui.Out}}
	add := func(name string, level *float64, state ui.State) {
		if level != nil {
			list = append(list, chart.Limit{Name: name, Value: p.levelShown(*level), State: state})
		}
	}
	add("crest", f.CrestM, ui.Unjudged)
	permit := f.Permit
	if i := p.picked(); permit == nil && i < len(f.Ways) {
		permit = f.Ways[i].Permit
	}
	if permit != nil {
		add("permit low", permit.LowM, ui.Near)
		add("permit high", permit.HighM, ui.Near)
	}
	return list
}

// The window's ends, from now. It is the same for every way, so that a picked way is compared with the one before.
const (
	aheadMost = 45 * 24 * time.Hour
	aheadFar  = 120 * 24 * time.Hour // where a wanted date asks for it
	windowMin = 2 * 24 * time.Hour
)

// window is the time shown: ahead until the ways that run something have ended, back two thirds of that.
func (p page) window() (from, to time.Time) {
	f := p.facts()
	ahead := windowMin
	for _, w := range f.Ways {
		if len(w.Run) == 0 && w.Plan == nil {
			continue
		}
		ends := aheadMost
		if w.Hours != nil && w.Hours.P90 != nil {
			ends = hours(1.2 * min(*w.Hours.P90, aheadMost.Hours()))
		}
		ahead = max(ahead, min(ends, aheadMost))
	}
	back := max(windowMin, ahead*2/3)
	if !p.want.until.IsZero() {
		ahead = max(ahead, min(p.want.until.Sub(f.At)*11/10, aheadFar))
	}
	return f.At.Add(-back), f.At.Add(ahead)
}

func hours(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }
