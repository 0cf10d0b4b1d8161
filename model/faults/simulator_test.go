package faults_test

import (
	"math"
	"math/rand/v2"

	"example.org/headpond/model/faults"
	"example.org/headpond/model/plant"
)

// The simulator is on purpose nothing of the program's: its own friction (Swamee and Jain 1976), screen, machine curves,
// solver, noise and rounding. Only the plant's numbers are shared, through the plant file's text.

const simG, simRho = 9.80665, 999.7

// simUnit is a set: best point, efficiencies.
type simUnit struct {
	id         string
	flow, head float64 // m³/s, m
	eff, gen   float64
	axis       float64
}

// simPlant is a plant on one penstock.
type simPlant struct {
	name                string
	toml                string
	parsed              *plant.Plant
	units               []simUnit
	length, diam, rough float64
	minor               float64
	screenM2, openness  float64
	above, ofBallast    bool
	followsSpeed        bool // the voltage follows the speed
	volts, hertz        float64
	elements            []float64
	controller          float64
	stop                float64
	ways                [][]int
	meters              bool // each set has a power meter
	dumpMeter           bool
	flowMeter           bool
	stick               bool
	div                 map[string]float64
	level               float64
}

// simFault is what is wrong.
type simFault struct {
	id   faults.Fault
	size float64
	unit int
}

// simState is the truth of a moment.
type simState struct {
	flow, screenLoss, pressure float64
	unitKW                     []float64
	g                          float64
}

// simPAT is a pump as a turbine at a speed ratio: own polynomials, near the published shapes.
//
//	H/Hb = 0.50 − 0.46 q + 0.96 q²,  η/ηb = 1 − 1.4 (1 − q)² for q < 1, 1 − 0.35 (q − 1)² above
func simPAT(u simUnit, head, n float64) (flow, kw float64) {
	h := head / (u.head * n * n)
	d := 0.46*0.46 - 4*0.96*(0.50-h)
	if d < 0 {
		return 0.3 * u.flow * n, 0
	}
	q := (0.46 + math.Sqrt(d)) / (2 * 0.96)
	drop := 1.4 * (1 - q) * (1 - q)
	if q > 1 {
		drop = 0.35 * (q - 1) * (q - 1)
	}
	eff := u.eff * math.Max(0, 1-drop)
	flow = q * u.flow * n
	return flow, simRho * simG * flow * head * eff * u.gen / 1000
}

func swameeJain(re, rel float64) float64 {
	if re < 1 {
		return 0
	}
	l := math.Log10(rel/3.7 + 5.74/math.Pow(re, 0.9))
	return 0.25 / (l * l)
}

// run solves the plant: the net head is halved upon until the flows agree.
func (p *simPlant) run(f simFault, level float64, running []int, n, lossScale float64) simState {
	area := math.Pi / 4 * p.diam * p.diam
	gross := level - p.units[running[0]].axis
	phi := p.openness
	if f.id == faults.ScreenBlocked {
		phi *= f.size
	}
	k := math.Pow(0.707*math.Sqrt(1-phi)+1-phi, 2) / (phi * phi)
	losses := func(q float64) (screen, pipe, valve float64) {
		v := q / area
		vh := v * v / (2 * simG)
		screen = k * math.Pow(q/p.screenM2, 2) / (2 * simG) * lossScale
		pipe = (swameeJain(v*p.diam/1.307e-6, p.rough/p.diam)*p.length/p.diam + p.minor) * vh * lossScale
		if f.id == faults.Air {
			pipe += f.size
		}
		if f.id == faults.ValvePart {
			valve = f.size * vh
		}
		return screen, pipe, valve
	}
	lo, hi := 0.0, gross
	var s simState
	var total float64
	for range 60 {
		net := (lo + hi) / 2
		s.unitKW = make([]float64, len(p.units))
		total = 0
		s.g = 0
		for _, i := range running {
			u := p.units[i]
			speed := n
			if f.id == faults.Belt && f.unit == i {
				speed = n / (1 - f.size)
			}
			q, kw := simPAT(u, net, speed)
			switch {
			case f.id == faults.RunnerWorn && f.unit == i:
				kw *= f.size
			case f.id == faults.Belt && f.unit == i:
				kw *= 1 - f.size
			}
			total += q
			s.unitKW[i] = kw
			s.g += kw
		}
		if f.id == faults.Leak {
			total += f.size * math.Sqrt(math.Max(0, net)/gross)
		}
		a, b, c := losses(total)
		if net+a+b+c > gross {
			hi = net
		} else {
			lo = net
		}
		v := total / area
		s.flow, s.screenLoss = total, a
		head := gross - a - b - v*v/(2*simG)
		if !p.above {
			head -= c
		}
		s.pressure = simRho * simG / 1000 * head
	}
	return s
}

// takes is what the ballast takes at most at a voltage ratio.
func (p *simPlant) takes(f simFault, vr float64) float64 {
	sum := 0.0
	for i, e := range p.elements {
		if f.id != faults.ElementOpen || i != f.unit {
			sum += e * vr * vr
		}
	}
	return math.Min(sum, p.controller)
}

// whole is what all elements are held to take.
func (p *simPlant) whole(vr float64) float64 {
	sum := 0.0
	for _, e := range p.elements {
		sum += e * vr * vr
	}
	return sum
}

// normal is a normal number within three of its deviations.
func normal(r *rand.Rand) float64 { return math.Max(-3, math.Min(3, r.NormFloat64())) }

// gauge reads a value with noise, rounded to the division: in all half a division of error.
func gauge(r *rand.Rand, v, div float64) float64 {
	return math.Round((v+0.4*div*normal(r))/div) * div
}
