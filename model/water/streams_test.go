package water

import (
	"math"
	"math/rand/v2"
	"time"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// climate makes a stream that does not exist: weather by chance, snow by degree days, a soil that must fill before water
// runs off, and three stores that empty at their own pace. Nothing of it is the filter's model; it is there to ask the
// forecast about streams that are not alike.
type climate struct {
	name              string
	wetChance, wetter [2]float64 // chance of a wet day after a dry and after a wet one; how much they rise in the wet season
	rainMM            float64    // mean of a wet day
	wetSeason         float64    // part of the year at which it is wettest
	meanC, swingC     float64    // temperature, warmest in late July
	soilMM            float64
	petMM             float64 // potential evaporation in summer, mm/day
	quickDays         float64
	middleDays        float64
	deepDays          float64
	shares            [2]float64 // of the run-off that goes the quick and the middle way
	areaKM2           float64
}

func climates() []climate {
	return []climate{
		{name: "maritime", wetChance: [2]float64{0.35, 0.65}, wetter: [2]float64{0.1, 0.1}, rainMM: 7, wetSeason: 0.95, meanC: 7, swingC: 8, soilMM: 90, petMM: 3.5,
			quickDays: 1.2, middleDays: 7, deepDays: 50, shares: [2]float64{0.35, 0.35}, areaKM2: 7},
		{name: "monsoon", wetChance: [2]float64{0.12, 0.5}, wetter: [2]float64{0.25, 0.25}, rainMM: 11, wetSeason: 0.6, meanC: 22, swingC: 4, soilMM: 140, petMM: 5,
			quickDays: 1, middleDays: 10, deepDays: 70, shares: [2]float64{0.4, 0.3}, areaKM2: 12},
		{name: "snowy", wetChance: [2]float64{0.22, 0.5}, wetter: [2]float64{0.08, 0.05}, rainMM: 6, wetSeason: 0, meanC: 2, swingC: 11, soilMM: 80, petMM: 3.5,
			quickDays: 1.5, middleDays: 9, deepDays: 90, shares: [2]float64{0.25, 0.4}, areaKM2: 12},
		{name: "spring-fed", wetChance: [2]float64{0.25, 0.5}, wetter: [2]float64{0.05, 0.05}, rainMM: 7, wetSeason: 0.9, meanC: 9, swingC: 8, soilMM: 100, petMM: 4,
			quickDays: 1, middleDays: 15, deepDays: 160, shares: [2]float64{0.1, 0.15}, areaKM2: 9},
		{name: "nearly dry", wetChance: [2]float64{0.08, 0.4}, wetter: [2]float64{0.05, 0.1}, rainMM: 9, wetSeason: 0.1, meanC: 17, swingC: 9, soilMM: 110, petMM: 6,
			quickDays: 1, middleDays: 6, deepDays: 25, shares: [2]float64{0.4, 0.35}, areaKM2: 20},
		{name: "flashy", wetChance: [2]float64{0.2, 0.4}, wetter: [2]float64{0.05, 0.05}, rainMM: 9, wetSeason: 0.45, meanC: 12, swingC: 10, soilMM: 60, petMM: 4.5,
			quickDays: 0.7, middleDays: 3.5, deepDays: 30, shares: [2]float64{0.6, 0.25}, areaKM2: 14},
	}
}

// flows returns daily mean flows, m3/s, and rain, mm, from a first of October on.
func (c climate) flows(days int, seed uint64) (flow, rain []float64) {
	rng := rand.New(rand.NewPCG(seed, 77))
	wet, warm := false, 0.0
	snow, soil := 0.0, c.soilMM/2
	stores := [3]float64{2, 10, 60}
	paces := [3]float64{c.quickDays, c.middleDays, c.deepDays}
	for d := -400; d < days; d++ {
		year := math.Mod(float64(d)/365.2425+0.75+10, 1)
		season := math.Cos(2 * math.Pi * (year - c.wetSeason))
		p := c.wetChance[0] + c.wetter[0]*season
		if wet {
			p = c.wetChance[1] + c.wetter[1]*season
		}
		wet = rng.Float64() < p
		mm := 0.0
		if wet {
			mm = c.rainMM * rng.ExpFloat64() * (1 + 0.3*season)
			if rng.Float64() < 0.04 {
				mm *= 3
			}
		}
		warm = 0.8*warm + 2*rng.NormFloat64()
		temp := c.meanC + c.swingC*math.Cos(2*math.Pi*(year-0.56)) + warm
		input := mm
		if temp < 0.5 {
			snow += mm
			input = 0
		} else {
			melt := math.Min(snow, 3*(temp-0.5))
			snow -= melt
			input += melt
		}
		pet := c.petMM * math.Max(0, 0.5+0.5*math.Cos(2*math.Pi*(year-0.5)))
		wetness := soil / c.soilMM
		excess := input * math.Min(1, wetness*wetness)
		soil = math.Max(0, math.Min(c.soilMM, soil+input-excess-pet*math.Min(1, 1.3*wetness)))
		q := 0.0
		for i := range stores {
			share := 1 - c.shares[0] - c.shares[1]
			if i < 2 {
				share = c.shares[i]
			}
			stores[i] += excess * share
			out := stores[i] * (1 - math.Exp(-1/paces[i]))
			if i == 2 {
				out *= math.Sqrt(stores[2] / 60)
			}
			stores[i] -= out
			q += out
		}
		if d >= 0 {
			flow = append(flow, q*c.areaKM2*1000/secondsPerDay+1e-5)
			rain = append(rain, mm)
		}
	}
	return flow, rain
}

// site is a made-up pond on a stream: the backtest's pond with everything scaled by size.
type site struct {
	size      float64 // of areas, draw, bypass and weir beside the backtest's
	gaugeM    float64 // smallest division
	errorM    float64 // true reading error
	everyDays int
	missing   float64
	wide      float64 // of areas alone: a pond that is large or small beside its machine; 0 is 1
}

// sites are ponds and gauges that are not alike.
func sites() map[string]site {
	return map[string]site{
		"as Sagehen's, half":   {size: 0.5, gaugeM: 0.005, errorM: 0.004, everyDays: 1, missing: 0.1},
		"gauge to 1 mm":        {size: 0.5, gaugeM: 0.001, errorM: 0.001, everyDays: 1, missing: 0.1},
		"gauge to 50 mm":       {size: 0.5, gaugeM: 0.05, errorM: 0.02, everyDays: 1, missing: 0.1},
		"small pond":           {size: 0.5, gaugeM: 0.005, errorM: 0.004, everyDays: 1, missing: 0.1, wide: 0.2},
		"large pond":           {size: 0.5, gaugeM: 0.005, errorM: 0.004, everyDays: 1, missing: 0.1, wide: 3},
		"read every third day": {size: 0.5, gaugeM: 0.01, errorM: 0.006, everyDays: 3, missing: 0.2},
	}
}

func (s site) plant() *plant.Plant {
	p := backtestPlant()
	wide := s.wide
	if wide == 0 {
		wide = 1
	}
	for i := range p.Pond.Stage {
		p.Pond.Stage[i].AreaM2 *= s.size * wide
	}
	p.Pond.CrestLengthM *= s.size
	p.Pond.BypassLps *= s.size
	p.Gauge["pond_level_m"] = s.gaugeM
	return p
}

func (s site) draw(_ float64, running []string) (float64, float64) {
	if len(running) == 0 {
		return 0, 0
	}
	return 0.095 * s.size, 8
}

// season of a pond: its log and what really happened.
type pondLife struct {
	rounds []record.Round
	truths []truth
}

// live runs the true pond, with everything that a forecaster does not know: an error in the draw that changes by the
// year, noise in the evaporation, rain on the pond, readings that are not exact and not every day.
func (s site) live(flow, rain []float64, seed uint64) pondLife {
	rng := rand.New(rand.NewPCG(seed, 78))
	b, err := newBasin(s.plant(), s.draw)
	if err != nil {
		panic(err)
	}
	start := time.Date(1953, 10, 1, 0, 0, 0, 0, time.UTC)
	const parts = 48
	v, on, bias := b.crestV, true, 0.0
	var life pondLife
	type event struct {
		day  float64
		stop bool
	}
	var events []event
	type chance struct {
		at  time.Time
		day float64
	}
	var points []chance
	for d := range flow {
		if d%365 == 0 {
			bias = 0.03 * rng.NormFloat64()
		}
		evapNoise := rng.NormFloat64() * mmDayToMS
		read := 16 + rng.IntN(9) - 4 // half hours
		skip := d%s.everyDays != 0 || rng.Float64() < s.missing
		month := start.AddDate(0, 0, d).Month()
		for k := 0; k < parts; k++ {
			level := b.stage.LevelM(v)
			if k == read && !skip {
				at := start.AddDate(0, 0, d).Add(time.Duration(k) * 30 * time.Minute)
				running := []string{}
				if on {
					running = append(running, "A")
				}
				seen := math.Round((level+s.errorM*rng.NormFloat64())/s.gaugeM) * s.gaugeM
				life.rounds = append(life.rounds, record.Round{Time: at, Running: &running, Values: map[quantity.Key]float64{"pond_level_m": seen}})
				if on && level < 0.79 && level > 0.03 {
					points = append(points, chance{at, float64(d) + float64(k)/parts})
				}
			}
			area := b.stage.AreaM2(level)
			loss, _ := b.losses(level, area, b.bypass, month, false)
			q := flow[d]
			if d+1 < len(flow) {
				q += (flow[d+1] - flow[d]) * float64(k) / parts
			}
			net := q + rain[d]*mmDayToMS*area - loss - evapNoise*area
			if on {
				net -= 0.095 * s.size * (1 + bias)
			}
			before := v
			v += net * secondsPerDay / parts
			day := float64(d) + float64(k+1)/parts
			switch {
			case on && v <= b.stopV:
				on = false
				events = append(events, event{day, true})
			case !on && v >= b.stage.VolumeM3(0.5):
				on = true
				events = append(events, event{day, false})
			case before <= b.crestV && v > b.crestV:
				events = append(events, event{day, false})
			}
		}
	}
	e := 0
	for i, p := range points {
		for e < len(events) && events[e].day <= p.day {
			e++
		}
		if e == len(events) || i%3 != 0 {
			continue
		}
		left := events[e].day - p.day
		if left > 120 { // short ones count: leaving points out by what came of them would make the others look long
			continue
		}
		x := truth{at: p.at, set: "train", days: left, spill: math.NaN(), last: left}
		if !events[e].stop {
			x.days, x.spill, x.refilled, x.last = math.NaN(), left, true, math.Inf(1)
			for _, later := range events[e:] {
				if later.stop {
					x.last = later.day - p.day
					break
				}
			}
		}
		life.truths = append(life.truths, x)
	}
	return life
}
