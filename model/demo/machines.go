package demo

import "math"

// How warm it is in the machine hall, and the bearings: our own simple rules, °C.
const (
	hallBase      = 10.0 // the ballast and the sets warm the hall
	hallShare     = 0.55 // of the outdoor temperature
	bearingIdle   = 18.0 // above the hall, with the set running
	bearingFull   = 4.0  // more at rated power
	dryDays       = 9.0  // how long before the story's end the large set's bearing begins to run warm
	dryBearingC   = 64.0 // where it stands at the end
	dailyMorningC = -3.0 // a morning is so much colder than the day's mean
	dailyEveningC = 2.0
)

// hallC is the air in the machine hall.
func (w *works) hallC(s float64) float64 {
	clock, _ := w.cal.clock(s)
	outdoor := w.weather.days[w.cal.day(s)].airC
	if clock < 12 {
		outdoor += dailyMorningC
	} else {
		outdoor += dailyEveningC
	}
	return hallBase + hallShare*outdoor
}

// bearingC is a running set's drive-end bearing. Towards the end of the story the large set's is in want of grease: it
// rises as the square of the time, to the same temperature whatever the season.
func (w *works) bearingC(id string, s, kw float64) float64 {
	u, ok := w.plant.UnitByID(id)
	if !ok {
		return w.hallC(s)
	}
	c := w.hallC(s) + bearingIdle + bearingFull*kw/u.RatedKW
	if id == large {
		share := math.Max(0, 1-(w.cal.end-s)/(dryDays*day))
		c += share * share * math.Max(0, dryBearingC-c)
	}
	return c
}
