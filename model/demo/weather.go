package demo

import (
	"math"
	"math/rand/v2"
)

// How the weather story bends the season. The numbers are our own.
const (
	wetSnapC    = 4.0  // how much milder wet weather is in winter, °C
	drySnapC    = -3.0 // and how much colder a dry spell
	rainAboveC  = 2.0  // no snow in this story: a day with rain is at least so mild
	freezeSkim  = 6.0  // degree-days of frost
	freezeCover = 25.0
	frostMost   = 80.0
)

// spell is a stretch of the weather story: on average so many mm of runoff a day, in falls about so many days apart.
type spell struct {
	from, to int // days, to not included
	mmDay    float64
	every    float64
}

// spells is the story: a usual month, a wet spell, a long dry spell, its end, a usual fortnight, and a last dry fortnight
// that leaves the water question open.
func spells() []spell {
	return []spell{
		{0, 17, 2.0, 3.2}, {17, 37, 5.6, 2.6}, {37, 43, 1.0, 3.0}, {43, 83, 0.07, 9.0},
		{83, 94, 4.6, 2.2}, {94, 109, 3.1, 2.8}, {109, 122, 0.15, 5.0},
	}
}

// fall is one stretch of rain, or of rain and melt.
type fall struct {
	from, to float64 // s
	rainMM   float64 // on a rain gauge and on the pond
	runoffMM float64 // over the catchment, into the stream
}

// dayWeather is one day.
type dayWeather struct {
	airC, waterC float64 // means
	ice          string  // the contract's word
	litter       litter
	litterRate   float64 // share of the open holes lost a day
}

// weather is the whole story's.
type weather struct {
	cal   calendar
	falls []fall
	days  []dayWeather
	brook *brook
}

func newWeather(r *rand.Rand, cal calendar, catchmentKM2 float64) *weather {
	w := &weather{cal: cal}
	for _, s := range spells() {
		w.addFalls(r, s)
	}
	w.fillDays(r)
	w.brook = newBrook(w.falls, catchmentKM2*1e6)
	return w
}

// addFalls spreads a spell's runoff over falls of unequal size.
func (w *weather) addFalls(r *rand.Rand, s spell) {
	length := float64(s.to - s.from)
	n := max(1, int(math.Round(length/s.every)))
	weights, sum := make([]float64, n), 0.0
	for i := range weights {
		weights[i] = 0.5 + r.Float64()
		sum += weights[i]
	}
	for i, weight := range weights {
		from := (float64(s.from) + (float64(i)+0.15+0.4*r.Float64())*length/float64(n)) * day
		mm := s.mmDay * length * weight / sum
		month := int(w.cal.time(from).Month())
		w.falls = append(w.falls, fall{from: from, to: from + (3+14*r.Float64()*math.Min(1, mm/6))*hour,
			runoffMM: mm, rainMM: mm / runoff(month)})
	}
}

// wetness tells how the story's weather leans on a day: 1 wet, -1 dry, 0 neither.
func wetness(n int) float64 {
	for _, s := range spells() {
		switch {
		case n < s.from || n >= s.to:
		case s.mmDay > 4:
			return 1
		case s.mmDay < 0.5:
			return -1
		}
	}
	return 0
}

// fillDays makes temperatures, ice and litter.
func (w *weather) fillDays(r *rand.Rand) {
	frost, odd := 0.0, 0.0
	for n := range days + 2 {
		yd := w.cal.yearDay(n)
		odd = 0.7*odd + 0.7*r.NormFloat64()*2.6
		d := dayWeather{airC: meanAirC(yd) + odd, ice: "none"}
		winter := math.Max(0, math.Min(1, (8-meanAirC(yd))/8))
		switch wetness(n) {
		case 1:
			d.airC += wetSnapC * winter
		case -1:
			d.airC += drySnapC * winter
		}
		if w.rainsOn(n) {
			d.airC = math.Max(d.airC, rainAboveC+0.5*r.Float64())
		}
		d.waterC = math.Max(0.4, meanWaterC(yd)+0.25*odd)
		frost = frostAfter(frost, d.airC)
		w.setIce(&d, frost)
		d.litter, d.litterRate = litterOf(yd)
		w.days = append(w.days, d)
	}
}

// frostAfter adds a day's frost, in degree-days; mild days take away twice as much.
func frostAfter(frost, airC float64) float64 {
	if airC < 0 {
		return math.Min(frostMost, frost-airC)
	}
	return math.Max(0, frost-2*airC)
}

func (w *weather) setIce(d *dayWeather, frost float64) {
	switch {
	case frost > freezeCover:
		d.ice, d.waterC = "cover", math.Min(d.waterC, 1.2)
	case frost > freezeSkim:
		d.ice, d.waterC = "skim", math.Min(d.waterC, 2)
	}
}

func (w *weather) rainsOn(n int) bool {
	from, to := float64(n)*day, float64(n+1)*day
	for _, f := range w.falls {
		if f.from < to && f.to > from {
			return true
		}
	}
	return false
}
