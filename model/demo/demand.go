package demo

import (
	"math/rand/v2"
	"time"
)

// demand is what the school's consumers would like to have.
type demand struct {
	cal   calendar
	noise series
	holds []hold
}

// hold keeps the demand within limits for a while: what people are asked to leave on, or what they are away from.
type hold struct {
	from, to        float64 // s
	atLeast, atMost float64 // kW
}

func newDemand(r *rand.Rand, cal calendar) *demand {
	return &demand{cal: cal, noise: wander(r, (days+2)*24, 0.75, 0.09)}
}

// How the demand follows the supply: with both sets the hot water and the drying cabinet are left on by day, and on the
// small set alone the kitchen cooks on wood.
const (
	surplusKW  = 1.3
	smallShare = 0.56
)

// usual is the school's day in kW at each full hour, weekdays and weekends, on the large set.
func usual(weekend bool) *[25]float64 {
	if weekend {
		return &[25]float64{0.80, 0.74, 0.70, 0.70, 0.70, 0.75, 1.0, 1.6, 2.4, 2.5, 2.1, 2.3, 3.0, 2.4, 2.0, 2.0, 2.5, 3.3, 4.0, 3.7, 3.0, 2.4, 1.7, 1.1, 0.80}
	}
	return &[25]float64{0.76, 0.72, 0.70, 0.70, 0.72, 0.90, 1.6, 2.6, 2.4, 1.8, 1.9, 2.6, 3.1, 2.2, 1.9, 2.0, 2.5, 3.5, 4.1, 3.6, 2.8, 2.1, 1.4, 0.95, 0.76}
}

// kw is the demand at a time with these sets running, kW; none without a set.
func (d *demand) kw(s float64, running []string) float64 {
	if len(running) == 0 {
		return 0
	}
	clock, weekday := d.cal.clock(s)
	table := usual(weekday == time.Saturday || weekday == time.Sunday)
	h := int(clock)
	kw := table[h] + (clock-float64(h))*(table[h+1]-table[h])
	kw *= 1 + d.noise.at(s)
	switch {
	case len(running) > 1 && clock >= 9 && clock < 21:
		kw += surplusKW
	case len(running) == 1 && running[0] == small:
		kw *= smallShare
	}
	for _, h := range d.holds {
		if s >= h.from && s < h.to {
			kw = min(max(kw, h.atLeast), h.atMost)
		}
	}
	return kw
}
