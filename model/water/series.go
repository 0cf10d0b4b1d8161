package water

import (
	"math"
	"sort"
	"time"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// sight is a reading of the pond's level.
type sight struct {
	at       time.Time
	levelM   float64
	sd       float64 // reading error, m
	setAside bool
}

// piece is a stretch within which the same machines run. Where that is not known, or a change was only seen afterwards,
// the draw lies between two sets'.
type piece struct {
	from, to time.Time
	a, b     *drawTable
	most     *drawTable // every machine that was there
	share    float64    // expected share of b
	spread   float64    // standard deviation of that share over the whole piece
	bypass   float64    // m3/s
	iced     bool
	unseen   bool // since the last level: nobody saw the machines run below the stop level, so they are taken to stand there
}

// leg is the time from one sight to the next, or from the last one to now.
type leg struct {
	pieces []piece
	rainMM float64
	lift   bool // rain or work at the screen: the inflow may seem to jump
}

// series is the log as the filter wants it.
type series struct {
	sights []sight
	legs   []leg // legs[i] leads to sights[i]; the first is empty; the last, len(sights), leads to now
}

// tail is the series' last sights, with the legs between them and none to now.
func (s *series) tail(n int) series {
	from := max(0, len(s.sights)-n)
	t := series{sights: s.sights[from:], legs: append([]leg{{}}, s.legs[from+1:len(s.sights)]...)}
	for len(t.sights) > 0 && t.sights[0].setAside {
		t.sights, t.legs = t.sights[1:], t.legs[1:]
	}
	t.legs = append(t.legs, leg{})
	return t
}

// defaultLevelDivision is the contract's smallest division of a staff gauge, m.
const defaultLevelDivision = 0.01

// readSeries takes the levels, what ran and the weather from a history.
func readSeries(h *record.History, b *basin) series {
	var s series
	iced := false
	for _, r := range h.Rounds {
		if w, ok := r.Word(quantity.Key(quantity.Ice)); ok {
			iced = w == "cover"
		}
		level, ok := r.Value(quantity.Key(quantity.PondLevelM))
		if !ok || r.Time.After(h.At) {
			continue
		}
		division := defaultLevelDivision
		if p := h.PlantAt(r.Time); p != nil {
			if d, ok := p.Gauge[string(quantity.PondLevelM)]; ok && d > 0 {
				division = d
			}
		}
		sd := division / 2
		if iced {
			sd *= 2 // a quarter of the weight
		}
		if n := len(s.sights); n > 0 && !r.Time.After(s.sights[n-1].at) {
			continue // two readings at one time: the first stands
		}
		s.sights = append(s.sights, sight{at: r.Time, levelM: level, sd: sd})
	}
	if len(s.sights) == 0 {
		return s
	}
	s.sights = bound(s.sights, h.At)
	s.legs = make([]leg, len(s.sights)+1)
	s.fillPieces(h, b)
	s.fillWeather(h)
	return s
}

// How much of a long log is filtered, so that the answer comes as fast from a log of fifty years. All sights of the last
// two years; of what is older one a day, which is all that the stream's past courses are asked for; and no more than the
// last mostSights, which is more than fifty years of days.
const (
	everySight = 2 * 365 * 24 * time.Hour
	mostSights = 20000
)

// bound leaves out what a forecast gains nothing from.
func bound(sights []sight, now time.Time) []sight {
	kept, last := make([]sight, 0, len(sights)), math.MaxInt
	for _, x := range sights {
		age := now.Sub(x.at)
		if day := int(age / (24 * time.Hour)); age <= everySight || day != last {
			kept, last = append(kept, x), day
		}
	}
	return kept[max(0, len(kept)-mostSights):]
}

// fillPieces cuts the running record into the legs.
func (s *series) fillPieces(h *record.History, b *basin) {
	edges := make([]time.Time, 0, len(s.sights)+1)
	for _, x := range s.sights {
		edges = append(edges, x.at)
	}
	edges = append(edges, h.At)
	conditions := readConditions(h, b)
	c, leg := 0, 1
	for _, p := range runningPieces(h, b, s.sights[0].at) {
		for p.to.After(p.from) && leg < len(edges) {
			for c+1 < len(conditions) && !conditions[c+1].from.After(p.from) {
				c++
			}
			part := p
			part.bypass, part.iced, part.unseen = conditions[c].bypass, conditions[c].iced, leg == len(s.sights)
			if c+1 < len(conditions) && conditions[c+1].from.Before(part.to) {
				part.to = conditions[c+1].from
			}
			if edges[leg].Before(part.to) {
				part.to = edges[leg]
			}
			if part.to.After(part.from) {
				s.legs[leg].pieces = append(s.legs[leg].pieces, part)
				p.from = part.to
			}
			if !p.from.Before(edges[leg]) {
				leg++
			}
		}
	}
}

// condition is a bypass and an ice cover from a time on.
type condition struct {
	from   time.Time
	bypass float64
	iced   bool
}

// bypassHolds is how long a bypass reading is taken to hold; after that the plant file's figure stands again.
const bypassHolds = 30 * 24 * time.Hour

// readConditions lists the changes of bypass and ice, the first from before everything.
func readConditions(h *record.History, b *basin) []condition {
	planned := func(t time.Time) float64 {
		if p := h.PlantAt(t); p != nil {
			return p.Pond.BypassLps / 1000
		}
		return b.bypass
	}
	now := condition{bypass: b.bypass}
	if len(h.Rounds) > 0 {
		now.bypass = planned(h.Rounds[0].Time)
	}
	list := []condition{now}
	var read time.Time
	for _, r := range h.Rounds {
		next := now
		if !read.IsZero() && r.Time.Sub(read) > bypassHolds || read.IsZero() {
			next.bypass = planned(r.Time)
		}
		if v, ok := r.Value(quantity.Key(quantity.BypassLps)); ok && v >= 0 && v <= mostBypassLps {
			next.bypass, read = v/1000, r.Time
		}
		if w, ok := r.Word(quantity.Key(quantity.Ice)); ok {
			next.iced = w == "cover"
		}
		if next.bypass != now.bypass || next.iced != now.iced {
			next.from = r.Time
			list, now = append(list, next), next
		}
	}
	return list
}

// More than can be, so that it is not counted: a rain between two rounds, mm (the most in a day anywhere is about 1800, from
// memory), and a flow beside a small plant, L/s.
const (
	mostRainMM    = 4000
	mostBypassLps = 1e5
)

// liftRainMM is the rain from which an inflow is expected to rise.
const liftRainMM = 3

// fillWeather adds rain and work at the screen to the legs in which they were written down, and lets the leg after a rain
// rise too.
func (s *series) fillWeather(h *record.History) {
	legOf := func(t time.Time) int {
		return sort.Search(len(s.sights), func(i int) bool { return !s.sights[i].at.Before(t) })
	}
	for _, r := range h.Rounds {
		i := legOf(r.Time)
		if i == 0 {
			continue
		}
		if mm, ok := r.Value(quantity.Key(quantity.RainMM)); ok && mm > 0 && mm <= mostRainMM {
			s.legs[i].rainMM += mm
			if mm >= liftRainMM {
				s.legs[i].lift = true
				if i+1 < len(s.legs) {
					s.legs[i+1].lift = true
				}
			}
		}
		if w, ok := r.Word(quantity.Key(quantity.ScreenCleared)); ok && w == "yes" {
			s.legs[i].lift = true
		}
	}
}
