package faults_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"example.org/headpond/model/faults"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// simCase is one week, or three, of twice-daily rounds.
type simCase struct {
	p          *simPlant
	fault      simFault
	days       int     // of rounds
	onset      int     // round on which the fault begins
	efficiency float64 // the machines' own, over the plant file's
	losses     float64
	noise      bool
	words      bool
	seed       uint64
}

// parse parses a sample's plant file, once.
func parse(tb testing.TB, p *simPlant) *plant.Plant {
	tb.Helper()
	if p.parsed == nil {
		got, err := plant.Parse(p.name, []byte(p.toml))
		if err != nil {
			tb.Fatal(err)
		}
		p.parsed = got
	}
	return p.parsed
}

var simStart = time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC)

// history makes the rounds.
func (c simCase) history(tb testing.TB) *record.History {
	r, eye := rand.New(rand.NewPCG(c.seed, 77)), rand.New(rand.NewPCG(c.seed, 78))
	h := &record.History{Plant: parse(tb, c.p), Complete: true}
	level := c.p.level + 0.2*(r.Float64()-0.5)
	if c.fault.id == faults.PondLow {
		level = c.p.stop + 0.1
	}
	way := c.p.ways[r.IntN(len(c.p.ways))]
	bearing := map[int]float64{}
	for i := range c.p.units {
		bearing[i] = 22 + 6*normal(r)
	}
	trim := 0.005 * normal(r)
	share := 0.2 + 0.6*r.Float64()
	for i := range 2 * c.days {
		f := c.fault
		if i < c.onset {
			f = simFault{}
		}
		if f.id == faults.PondLow {
			level += (c.p.stop - f.size - level) * 0.5
		} else {
			level += 0.01 * normal(r)
		}
		if len(c.p.ways) > 1 && i%5 == 4 {
			way = c.p.ways[r.IntN(len(c.p.ways))]
		}
		if f.id == faults.BallastFull {
			way = c.p.ways[1]
		}
		rd := c.round(r, eye, f, level, way, trim, share, bearing)
		rd.Time = simStart.Add(time.Duration(i) * 12 * time.Hour)
		rd.ID = fmt.Sprint(i)
		h.Rounds = append(h.Rounds, rd)
		h.At = rd.Time.Add(time.Hour)
	}
	return h
}

// round solves the plant for one walk and reads its gauges.
func (c simCase) round(r, eye *rand.Rand, f simFault, level float64, way []int, trim, stuck float64, bearing map[int]float64) record.Round {
	p := *c.p
	p.units = append([]simUnit(nil), c.p.units...)
	for i := range p.units {
		p.units[i].eff *= c.efficiency
	}
	ids := []string{}
	for _, i := range way {
		ids = append(ids, p.units[i].id)
	}
	out := record.Round{Running: &ids, Values: map[quantity.Key]float64{}, Words: map[quantity.Key]string{}}
	n, vr := 1+0.001*normal(r), 1+trim+0.004*normal(r)
	if f.id == faults.FrequencySet {
		n = 1 + f.size
	}
	if p.followsSpeed {
		vr += n - 1
	}
	if f.id == faults.Regulator {
		vr = 1 + f.size + 0.004*normal(r)
	}
	solve := func(n float64) simState { return p.run(f, level, way, n, c.losses) }
	s := solve(n)
	demand := s.g * (0.1 + 0.65*r.Float64())
	switch f.id {
	case faults.BallastFull:
		demand = math.Max(0.05*s.g, s.g-p.takes(f, 1)-f.size*s.g*(0.3+1.4*r.Float64()))
	case faults.Overload:
		demand = s.g * (1 + f.size*(0.5+r.Float64()))
	}
	if f.id != faults.BallastFull {
		demand = math.Max(demand, s.g-0.93*p.takes(simFault{}, 1)) // a sound plant is run so that its ballast suffices
	}
	load, dumped := demand, s.g-demand
	switch {
	case f.id == faults.Controller:
		n = 1 + f.size*normal(r)
		s, vr = solve(n), vrAt(&p, vr, n)
		dumped = stuck * s.g
		if p.ofBallast {
			dumped = math.Min(0.5*stuck*p.whole(vr), 0.95*s.g)
		}
		load = s.g - dumped
	case dumped < 0:
		n = bisect(0.6, 1, func(n float64) float64 { return solve(n).g - demand*n*n })
		s, vr = solve(n), vr*n
		load, dumped = s.g, 0
	case dumped > p.takes(f, vr):
		n = bisect(1.45, 1, func(n float64) float64 { return demand + p.takes(f, vrAt(&p, vr, n)) - solve(n).g })
		s, vr = solve(n), vrAt(&p, vr, n)
		dumped = p.takes(f, vr)
		load = s.g - dumped
	}
	c.read(r, eye, &p, out, f, way, level, n, vr, load, dumped, s, bearing)
	return out
}

func vrAt(p *simPlant, vr, n float64) float64 {
	if p.followsSpeed {
		return vr * n
	}
	return vr
}

// bisect finds where f, positive at a and negative at b or the other way round, is 0; the nearer end where it never is.
func bisect(a, b float64, f func(float64) float64) float64 {
	fa := f(a)
	if fa*f(b) > 0 {
		return b
	}
	for range 40 {
		m := (a + b) / 2
		if fm := f(m); fa*fm > 0 {
			a, fa = m, fm
		} else {
			b = m
		}
	}
	return (a + b) / 2
}

// read reads the gauges.
func (c simCase) read(r, eye *rand.Rand, p *simPlant, out record.Round, f simFault, way []int, level, n, vr, load, dumped float64, s simState, bearing map[int]float64) {
	put := func(k string, v float64) {
		if !c.noise {
			out.Values[quantity.Key(k)] = v
			return
		}
		div, ok := p.div[k]
		if len(k) > 2 && k[1] == '.' {
			div, ok = p.div[k[2:]]
		}
		if !ok {
			div = p.parsed.Division(quantity.Key(k))
		}
		out.Values[quantity.Key(k)] = gauge(eye, v, div)
	}
	off := func(id faults.Fault) float64 {
		if f.id == id {
			return f.size
		}
		return 0
	}
	put("pond_level_m", level+off(faults.LevelGauge))
	put("pressure_kpa", s.pressure+off(faults.PressureGauge))
	put("volts", p.volts*vr)
	put("hertz", p.hertz*n)
	put("load_kw", load)
	switch {
	case p.dumpMeter:
		put("dump_kw", dumped)
	case p.ofBallast:
		whole := p.whole(vr)
		if f.id == faults.ElementOpen {
			whole -= p.elements[f.unit] * vr * vr
		}
		put("dump_share_pct", 100*math.Min(1, dumped/whole))
	default:
		put("dump_share_pct", 100*dumped/s.g)
	}
	if p.flowMeter {
		put("flow_lps", 1000*s.flow)
	}
	if p.stick {
		put("screen_loss_mm", 1000*s.screenLoss)
	}
	air := 14 + 3*normal(r)
	put("air_c", air)
	for _, i := range way {
		if p.meters {
			put(p.units[i].id+".kw", s.unitKW[i])
		}
		t := air + bearing[i] + 2*normal(r)
		if f.id == faults.Bearing && f.unit == i {
			t += f.size
		}
		put(p.units[i].id+".bearing_c", t)
	}
	if c.words {
		c.write(r, out, f)
	}
}

// write writes the words that people write: mostly what they see.
func (c simCase) write(r *rand.Rand, out record.Round, f simFault) {
	clear := 0.7 + 0.3*r.Float64()
	if f.id == faults.ScreenBlocked {
		clear = f.size
	}
	seen := clear * math.Exp(0.4*normal(r))
	word := "clear"
	switch {
	case seen < 0.06:
		word = "blocked"
	case seen < 0.35:
		word = "partly"
	}
	out.Words[quantity.Key(quantity.Screen)] = word
	if r.Float64() < 0.4 {
		out.Words[quantity.Key(quantity.Valve)] = "open"
		if f.id == faults.ValvePart && r.Float64() < 0.8 {
			out.Words[quantity.Key(quantity.Valve)] = "part"
		}
	}
}

// Rounds on which the voltage alone was read take nothing from the evidence: it is what the probability rests on, each quantity's
// newest readings with their time.
func TestEvidenceOutlastsRoundsThatReadLittle(t *testing.T) {
	h := demoStory(t)(0)
	before := report(t, h)
	top := before.Ranked[0]
	if top.Fault != faults.ScreenBlocked {
		t.Fatalf("the demo ends with %s", top.Fault)
	}
	last := h.Rounds[len(h.Rounds)-1].Time
	for i := range 3 {
		h.Rounds = append(h.Rounds, record.Round{ID: fmt.Sprint("V", i), Time: last.Add(time.Duration(i+1) * time.Minute), Values: map[quantity.Key]float64{"volts": 240}})
	}
	h.At = last.Add(time.Hour)
	after := report(t, h)
	if after.Ranked[0].Fault != top.Fault || after.Ranked[0].Probability < 0.99 {
		t.Fatalf("three voltages make it %s, %g", after.Ranked[0].Fault, after.Ranked[0].Probability)
	}
	for _, id := range []faults.Fault{faults.ScreenBlocked, faults.None} {
		was, is := cause(t, before, id).Evidence, cause(t, after, id).Evidence
		if len(was) != len(is) || len(was) < 3 {
			t.Fatalf("%s: %d kinds of evidence, %d with three voltages more", id, len(was), len(is))
		}
		for i, e := range is {
			want := last
			if e.Quantity == "volts" {
				want = last.Add(3 * time.Minute)
			}
			if e.Quantity != was[i].Quantity || id == top.Fault && e.Readings < was[i].Readings || was[i].LastTime.Equal(last) && !e.LastTime.Equal(want) {
				t.Errorf("%s: %+v, was %+v", id, e, was[i])
			}
			if e.Quantity != "volts" && e.Last != was[i].Last {
				t.Errorf("%s: the last %s is %g, was %g", id, e.Quantity, e.Last, was[i].Last)
			}
		}
	}
}
