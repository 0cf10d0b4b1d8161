package faults_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"example.org/headpond/model/faults"
	"example.org/headpond/model/plant"
)

// The second simulator is a stranger to the program and to the first one: friction by Churchill (1977), a screen as a row of
// orifices by Borda and Weisbach, machines of its own shapes, and plants drawn at random, of layouts and habits that nobody
// had in mind when the weights of the fault-finding were chosen. Only the plant file's text is shared.

// strangeUnit is a set.
type strangeUnit struct {
	id         string
	stock      int
	flow, head float64 // best point, m³/s and m
	eff, gen   float64
	axis       float64
	trueEff    float64 // what it does, over what its name plate says
	trueFlow   float64
}

// strangeStock is a penstock.
type strangeStock struct {
	length, diam, rough, minor float64
	trueLoss                   float64
}

// stranger is a plant and the habits of who walks its rounds.
type stranger struct {
	units                []strangeUnit
	stocks               []strangeStock
	screenM2, openness   float64
	trueScreen           float64
	above, regulated     bool
	volts, hertz         float64
	elements             []float64
	controller           float64
	share                string // "generation", "ballast", or "" where no share is read
	dumpMeter, setMeters bool
	flowMeter, stick     bool
	div                  map[string]float64
	level, stop          float64

	read    map[string]bool // columns that are read at all
	missing float64         // share of the readings that are forgotten
	every   float64         // hours between two rounds
	load    string
	parsed  *plant.Plant
}

func logUniform(r *rand.Rand, lo, hi float64) float64 { return lo * math.Pow(hi/lo, r.Float64()) }

func chance(r *rand.Rand, p float64) bool { return r.Float64() < p }

func pick[T any](r *rand.Rand, list ...T) T { return list[r.IntN(len(list))] }

// newStranger draws a plant: 5 to 70 m of head, one to three sets, on one pipe or each on its own.
func newStranger(r *rand.Rand) *stranger {
	p := &stranger{above: chance(r, 0.4), regulated: chance(r, 0.6), volts: pick(r, 120.0, 230, 240, 400), hertz: pick(r, 50.0, 60),
		level: -0.3 + 0.4*r.Float64(), stop: -0.9, div: map[string]float64{}, trueScreen: 0.9 + 0.2*r.Float64()}
	head := logUniform(r, 5, 70)
	n := pick(r, 1, 1, 2, 2, 3)
	apart := n > 1 && chance(r, 0.4)
	power := logUniform(r, 1.5, 30)
	total := 0.0
	for i := range n {
		u := strangeUnit{id: string(rune('A' + i)), eff: 0.6 + 0.2*r.Float64(), gen: 0.8 + 0.1*r.Float64(), axis: -head + 0.4*r.Float64(),
			trueEff: 0.95 + 0.1*r.Float64(), trueFlow: 0.98 + 0.04*r.Float64()}
		kw := power / float64(n) * (0.6 + 0.8*r.Float64())
		u.flow = kw / (9.8 * head * 0.92 * u.eff * u.gen)
		total += u.flow
		if apart {
			u.stock = i
		}
		p.units = append(p.units, u)
	}
	for j := range n {
		if j > 0 && !apart {
			break
		}
		q := total
		if apart {
			q = p.units[j].flow
		}
		d := math.Sqrt(q / logUniform(r, 1, 2) * 4 / math.Pi)
		s := strangeStock{length: head * logUniform(r, 2, 12), diam: d, rough: logUniform(r, 0.01, 0.15) / 1000, minor: logUniform(r, 1.2, 4), trueLoss: 0.9 + 0.2*r.Float64()}
		for p.pipeLoss(s, q) > 0.15*head {
			s.diam *= 1.08
		}
		p.stocks = append(p.stocks, s)
	}
	p.screenM2, p.openness = total/logUniform(r, 0.03, 0.1), 0.3+0.25*r.Float64()
	for i := range p.units {
		u := &p.units[i]
		q := total
		if apart {
			q = u.flow
		}
		u.head = (head - p.pipeLoss(p.stocks[u.stock], q)) * (0.96 + 0.08*r.Float64())
	}
	p.outfit(r)
	return p
}

// outfit draws ballast, meters, gauges and habits.
func (p *stranger) outfit(r *rand.Rand) {
	p.share = pick(r, "generation", "generation", "ballast")
	p.dumpMeter, p.setMeters = chance(r, 0.2), chance(r, 0.4)
	p.flowMeter, p.stick = chance(r, 0.15), chance(r, 0.15)
	most := 0.0
	for _, u := range p.units {
		most += 9.8 * u.flow * u.head * u.eff * u.gen
	}
	capacity := most * (1.15 + 0.4*r.Float64())
	count := pick(r, 2, 3, 4, 5, 6)
	for i := range count {
		e := capacity / float64(count)
		if i%2 == 1 && chance(r, 0.3) {
			e *= 0.6
		}
		p.elements = append(p.elements, math.Ceil(10*e)/10)
	}
	p.controller = math.Round(10*capacity*(0.95+0.3*r.Float64())) / 10
	switch pick(r, "usual", "fine", "coarse") {
	case "fine":
		p.div = map[string]float64{"pressure_kpa": 0.5, "pond_level_m": 0.005, "load_kw": 0.05, "kw": 0.05, "hertz": 0.05}
	case "coarse":
		p.div = map[string]float64{"pressure_kpa": 5, "pond_level_m": 0.02, "load_kw": 0.2, "kw": 0.2, "volts": 2, "dump_share_pct": 5}
	}
	p.read = map[string]bool{"pond_level_m": true, "pressure_kpa": true, "volts": true, "hertz": true, "load_kw": true, "dump": true, "bearing_c": chance(r, 0.6), "air_c": chance(r, 0.5)}
	switch pick(r, "all", "all", "all", "poor", "no pressure", "no dump") {
	case "poor":
		p.read = map[string]bool{"pond_level_m": true, "pressure_kpa": true, "volts": true, "hertz": true}
		p.setMeters, p.flowMeter, p.stick = false, false, false
	case "no pressure":
		delete(p.read, "pressure_kpa")
	case "no dump":
		delete(p.read, "dump")
	}
	p.missing = pick(r, 0, 0, 0.1, 0.3)
	p.every = pick(r, 12.0, 12, 12, 24, 48)
	p.load = pick(r, "days", "days", "any", "flat", "heavy", "light")
}

// pipeLoss is friction and fittings by the plate.
func (p *stranger) pipeLoss(s strangeStock, q float64) float64 {
	v := q / (math.Pi / 4 * s.diam * s.diam)
	return (churchill(v*s.diam/1.307e-6, s.rough/s.diam)*s.length/s.diam + s.minor) * v * v / (2 * simG)
}

// churchill is S. W. Churchill's friction factor for all flows (Chemical Engineering, 1977; from memory).
func churchill(re, rel float64) float64 {
	if re < 1 {
		return 0
	}
	a := sixteenth(2.457 * math.Log(1/(math.Pow(7/re, 0.9)+0.27*rel)))
	b := sixteenth(37530 / re)
	return 8 * math.Pow(math.Pow(8/re, 12)+1/math.Pow(a+b, 1.5), 1.0/12)
}

func sixteenth(x float64) float64 {
	for range 4 {
		x *= x
	}
	return x
}

// orifices is the loss coefficient of a screen of which this share is open: the jets contract by Weisbach's factor and then
// spread with Borda's loss (textbook forms; from memory).
func orifices(open float64) float64 {
	contracted := open * (0.62 + 0.38*open*open*open)
	return (1/contracted - 1) * (1/contracted - 1)
}

// machine is a set at a speed ratio: flow and electric power at a net head.
func (u strangeUnit) machine(head, n float64) (flow, kw float64) {
	const a, b, c = 0.52, 0.52, 1.00 // H/Hb = a − b q + c q²
	h := head / (u.head * n * n)
	d := b*b - 4*c*(a-h)
	if d <= 0 {
		return 0.3 * u.flow * u.trueFlow * n, 0
	}
	q := (b + math.Sqrt(d)) / (2 * c)
	lost := 1.9 * (1 - q) * (1 - q)
	if q > 1 {
		lost = 0.9 * (q - 1) * (q - 1)
	}
	flow = q * u.flow * u.trueFlow * n
	return flow, simRho * simG * flow * head * u.eff * u.trueEff * math.Max(0, 1-lost) * u.gen / 1000
}

// strangeState is a moment's truth.
type strangeState struct {
	flow, screen float64
	kw, kPa      []float64
	g            float64
}

// run solves the plant at a speed: the screen's loss by going round, each pipe by halving.
func (p *stranger) run(f simFault, level float64, running []int, n float64) strangeState {
	s := strangeState{kw: make([]float64, len(p.units)), kPa: make([]float64, len(p.units))}
	open := p.openness
	if f.id == faults.ScreenBlocked {
		open *= f.size
	}
	k := orifices(open) * p.trueScreen
	for range 18 {
		flow := 0.0
		for j := range p.stocks {
			flow += p.pipe(f, j, level-s.screen, running, n, &s)
		}
		s.flow = (s.flow + flow) / 2
		v := s.flow / p.screenM2
		s.screen = (s.screen + k*v*v/(2*simG)) / 2
	}
	s.g = 0
	for _, i := range running {
		s.g += s.kw[i]
	}
	return s
}

// pipe solves one penstock and returns its flow.
func (p *stranger) pipe(f simFault, j int, level float64, running []int, n float64, s *strangeState) float64 {
	st := p.stocks[j]
	area := math.Pi / 4 * st.diam * st.diam
	var mine []int
	for _, i := range running {
		if p.units[i].stock == j {
			mine = append(mine, i)
		}
	}
	if len(mine) == 0 {
		return 0
	}
	lo, hi := 0.0, level-p.units[mine[0]].axis
	whole := hi
	flow, lost, valve := 0.0, 0.0, 0.0
	for range 36 {
		net := (lo + hi) / 2
		flow = 0
		for _, i := range mine {
			u, speed := p.units[i], n
			if f.id == faults.Belt && f.unit == i {
				speed = n / (1 - f.size)
			}
			q, kw := u.machine(net, speed)
			switch {
			case f.id == faults.RunnerWorn && f.unit == i:
				kw *= f.size
			case f.id == faults.Belt && f.unit == i:
				kw *= 1 - f.size
			}
			flow += q
			s.kw[i] = kw
		}
		if f.id == faults.Leak && j == p.units[f.unit].stock {
			flow += f.size * math.Sqrt(net/whole)
		}
		lost, valve = p.pipeLoss(st, flow)*st.trueLoss, 0
		vh := flow * flow / (area * area) / (2 * simG)
		switch {
		case f.id == faults.Air && j == p.units[f.unit].stock:
			lost += f.size
		case f.id == faults.ValvePart && j == p.units[f.unit].stock:
			valve = f.size * vh
		}
		if net+lost+valve > whole {
			hi = net
		} else {
			lo = net
		}
		for _, i := range mine {
			head := level - p.units[i].axis - lost - vh
			if !p.above {
				head -= valve
			}
			s.kPa[i] = simRho * simG / 1000 * head
		}
	}
	return flow
}

// text is the plant file.
func (p *stranger) text() string {
	var b strings.Builder
	place, excitation := "below_valve", "speed"
	if p.above {
		place = "above_valve"
	}
	if p.regulated {
		excitation = "regulated"
	}
	share := p.share
	fmt.Fprintf(&b, "[site]\nname = \"stranger\"\ntimezone = \"UTC\"\nunits = \"metric\"\n[supply]\nvolts = %g\nhertz = %g\n[pond]\nstage = [[-1.6, 6000], [0.4, 56000]]\ncrest_m = 0.3\ncrest_length_m = 4\nstop_level_m = %g\n", p.volts, p.hertz, p.stop)
	fmt.Fprintf(&b, "[intake]\ncentreline_m = -1.5\ndiameter_m = 0.4\nscreen_m2 = %g\nopen_share = %g\n", p.screenM2, p.openness)
	for j, s := range p.stocks {
		fmt.Fprintf(&b, "[[penstock]]\nname = \"P%d\"\nlength_m = %g\ndiameter_m = %g\nroughness_mm = %g\nminor_k = %g\ngauge = %q\n", j+1, s.length, s.diam, s.rough*1000, s.minor, place)
	}
	for _, u := range p.units {
		fmt.Fprintf(&b, "[[unit]]\nid = %q\nname = \"set %s\"\npenstock = \"P%d\"\naxis_m = %g\nrated_kw = 40\nrated_kva = 50\nbest_flow_lps = %g\nbest_head_m = %g\nbest_efficiency = %g\ngenerator_efficiency = %g\nexcitation = %q\n",
			u.id, u.id, u.stock+1, u.axis, u.flow*1000, u.head, u.eff, u.gen, excitation)
	}
	fmt.Fprintf(&b, "[ballast]\ncontroller_kw = %g\nshare_of = %q\n", p.controller, share)
	for i, e := range p.elements {
		fmt.Fprintf(&b, "[[ballast.element]]\nname = \"E%d\"\nrated_kw = %g\nrated_volts = %g\n", i+1, e, p.volts)
	}
	b.WriteString("[gauge]\n")
	for k, d := range p.div {
		fmt.Fprintf(&b, "%s = %g\n", k, d)
	}
	return b.String()
}
