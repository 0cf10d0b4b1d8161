package steady

import (
	"fmt"
	"math"
	"reflect"
	"testing"

	"example.org/headpond/model/hydraulics"
	"example.org/headpond/model/plant"

	"pgregory.net/rapid"
)

// randomPlant draws a plant within the plant file's limits: one to three penstocks, one to five units described by a best point
// or a measured table, gauges above and below the valve, with and without a screen.
func randomPlant(t *rapid.T) *plant.Plant {
	p := &plant.Plant{Supply: plant.Supply{Volts: 240, Hertz: 60}}
	if rapid.IntRange(0, 4).Draw(t, "screen") > 0 {
		p.Intake.ScreenM2 = new(rapid.Float64Range(0.05, 20).Draw(t, "screen_m2"))
		p.Intake.OpenShare = rapid.Float64Range(0.05, 1).Draw(t, "open_share")
	}
	stocks := rapid.IntRange(1, 3).Draw(t, "penstocks")
	for j := range stocks {
		s := plant.Penstock{
			Name: fmt.Sprint("p", j), LengthM: rapid.Float64Range(0, 2000).Draw(t, "length"), DiameterM: rapid.Float64Range(0.05, 1).Draw(t, "diameter"),
			RoughnessMM: rapid.Float64Range(0, 2).Draw(t, "roughness"), MinorK: rapid.Float64Range(0, 20).Draw(t, "minor_k"), Gauge: plant.BelowValve,
		}
		if rapid.Bool().Draw(t, "above") {
			s.Gauge = plant.AboveValve
		}
		p.Penstocks = append(p.Penstocks, s)
	}
	for i := range rapid.IntRange(1, 5).Draw(t, "units") {
		p.Units = append(p.Units, randomUnit(t, fmt.Sprint("U", i), fmt.Sprint("p", rapid.IntRange(0, stocks-1).Draw(t, "on"))))
	}
	return p
}

func randomUnit(t *rapid.T, id, stock string) plant.Unit {
	axis := -rapid.Float64Range(1, 150).Draw(t, "axis")
	u := plant.Unit{
		ID: id, Penstock: stock, AxisM: axis, TailwaterM: axis - rapid.Float64Range(0, 5).Draw(t, "draft"), RatedKW: 10, RatedKVA: 12,
		BestFlowLps: rapid.Float64Range(2, 500).Draw(t, "best flow"), BestHeadM: rapid.Float64Range(1, 150).Draw(t, "best head"),
		BestEfficiency: rapid.Float64Range(0.2, 0.9).Draw(t, "efficiency"), GeneratorEfficiency: rapid.Float64Range(0.3, 1).Draw(t, "generator"),
		RunawayRatio: 1.6, Excitation: plant.Regulated, Bus: rapid.SampledFrom([]string{"common", "own"}).Draw(t, "bus"),
	}
	if rapid.IntRange(0, 3).Draw(t, "table") == 0 {
		head, lps, eff := u.BestHeadM, u.BestFlowLps, 0.2
		for range rapid.IntRange(1, 4).Draw(t, "rows") {
			u.Curve = append(u.Curve, plant.CurveRow{NetHeadM: head, FlowLps: lps, KWElectric: eff * hydraulics.Gravity * head * lps / 1000})
			head *= 1 + rapid.Float64Range(0.05, 0.6).Draw(t, "next head")
			lps *= 1 + rapid.Float64Range(0, 0.4).Draw(t, "next flow")
			eff += rapid.Float64Range(0, 0.15).Draw(t, "next efficiency")
		}
	}
	return u
}

func randomCase(t *rapid.T, p *plant.Plant) Case {
	c := Case{PondLevelM: rapid.Float64Range(-160, 5).Draw(t, "level")}
	if rapid.IntRange(0, 3).Draw(t, "ordinary") > 0 {
		c.PondLevelM = rapid.Float64Range(-2, 1).Draw(t, "ordinary level")
	}
	for _, u := range p.Units {
		if rapid.IntRange(0, 3).Draw(t, "runs") > 0 {
			c.Running = append(c.Running, u.ID)
		}
	}
	switch rapid.IntRange(0, 4).Draw(t, "screen state") {
	case 0:
	case 1:
		c.ScreenClear = new(0.0)
	default:
		c.ScreenClear = new(math.Exp(rapid.Float64Range(math.Log(1e-6), 0).Draw(t, "ln clear")))
	}
	if rapid.Bool().Draw(t, "water") {
		c.WaterC = new(rapid.Float64Range(-5, 60).Draw(t, "water_c"))
	}
	return c
}

// withFaults adds faults to a case.
func withFaults(t *rapid.T, p *plant.Plant, c Case) Case {
	for range p.Penstocks {
		c.Penstocks = append(c.Penstocks, PenstockState{
			Valve:    ValveState(rapid.SampledFrom([]int{0, 0, 0, 1, 2}).Draw(t, "valve")),
			ValveK:   rapid.SampledFrom([]float64{0, 0, 3, 1e3}).Draw(t, "valve K"),
			AirLossM: rapid.SampledFrom([]float64{0, 0, 0.5, 30}).Draw(t, "air"),
			LeakM3s:  rapid.SampledFrom([]float64{0, 0, 0.002, 0.5}).Draw(t, "leak"),
		})
	}
	for range p.Units {
		c.Units = append(c.Units, UnitState{EfficiencyLost: rapid.SampledFrom([]float64{0, 0, 0.2, 1}).Draw(t, "worn")})
	}
	c.Speed = rapid.SampledFrom([]float64{0, 1, 0.3, 0.95, 1.1, 1.4, 3}).Draw(t, "speed")
	return c
}

func mustModel(t *rapid.T, p *plant.Plant) *Model {
	m, err := New(p)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func mustSolve(t *rapid.T, m *Model, c Case) Result {
	r, err := m.Solve(c)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// mostEvaluations is far more than any search needs: three penstocks, each searched within a search.
const mostEvaluations = 40000

func TestEveryCaseHasAFiniteAnswerSoon(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := randomPlant(t)
		m := mustModel(t, p)
		r := mustSolve(t, m, withFaults(t, p, randomCase(t, p)))
		finite(t, "result", reflect.ValueOf(r))
		if r.Evaluations > mostEvaluations {
			t.Fatalf("%d evaluations", r.Evaluations)
		}
		finite(t, "expectation", reflect.ValueOf(*m.Expectation(&r)))
	})
}

// finite fails on any number in v that is NaN or infinite.
func finite(t *rapid.T, path string, v reflect.Value) {
	switch v.Kind() {
	case reflect.Float64:
		if f := v.Float(); math.IsNaN(f) || math.IsInf(f, 0) {
			t.Fatalf("%s is %g", path, f)
		}
	case reflect.Pointer:
		if !v.IsNil() {
			finite(t, path, v.Elem())
		}
	case reflect.Struct:
		for i := range v.NumField() {
			finite(t, path+"."+v.Type().Field(i).Name, v.Field(i))
		}
	case reflect.Slice:
		for i := range v.Len() {
			finite(t, fmt.Sprintf("%s[%d]", path, i), v.Index(i))
		}
	}
}

func TestMassIsConserved(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := randomPlant(t)
		r := mustSolve(t, mustModel(t, p), withFaults(t, p, randomCase(t, p)))
		sum := 0.0
		for j, s := range r.Penstocks {
			fed := s.LeakM3s
			for _, u := range r.Units {
				if u.Penstock == j {
					fed += u.FlowM3s
				}
			}
			// Where hardly any head is left, flow goes with its root, and rounding of the head shows.
			if math.Abs(fed-s.FlowM3s) > 1e-9*s.FlowM3s+1e-7 {
				t.Fatalf("penstock %s brings %g m³/s and gives %g", s.Name, s.FlowM3s, fed)
			}
			sum += s.FlowM3s
		}
		if math.Abs(sum-r.FlowM3s) > 1e-12*r.FlowM3s {
			t.Fatalf("the screen passes %g, the penstocks %g", r.FlowM3s, sum)
		}
	})
}

func TestEnergyIsConservedAtEveryStep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := randomPlant(t)
		r := mustSolve(t, mustModel(t, p), withFaults(t, p, randomCase(t, p)))
		for _, u := range r.Units {
			if !u.Running || u.FlowM3s == 0 {
				continue
			}
			s := r.Penstocks[u.Penstock]
			left := u.GrossHeadM - r.ScreenLossM - s.FrictionM - s.MinorM - s.ValveM - s.AirM
			if math.Abs(left-u.NetHeadM) > 1e-9*u.GrossHeadM {
				t.Fatalf("unit %s: %g m gross less losses is %g, its net head %g", u.ID, u.GrossHeadM, left, u.NetHeadM)
			}
			water := r.hydraulicKW(u.FlowM3s, u.NetHeadM)
			if u.ShaftKW < 0 || u.ShaftKW > water*(1+1e-9) || u.KW > u.ShaftKW*(1+1e-12) {
				t.Fatalf("unit %s: water %g kW, shaft %g, wire %g", u.ID, water, u.ShaftKW, u.KW)
			}
		}
		s := r.Steps()
		lost := s.Screen + s.Friction + s.Fittings + s.Machine + s.Generator
		if math.Abs(s.AtPond-lost-s.AtPlug) > 1e-9*s.AtPond+1e-12 {
			t.Fatalf("%+v does not add up", s)
		}
		for _, loss := range []float64{s.Screen, s.Friction, s.Fittings, s.Machine, s.Generator} {
			if loss < -1e-9*s.AtPond {
				t.Fatalf("%+v: a step gains power", s)
			}
		}
		if got := r.CommonKW + r.OwnKW; math.Abs(got-s.AtPlug) > 1e-12*got {
			t.Fatalf("buses take %g kW of %g", got, s.AtPlug)
		}
	})
}

func TestPowerAndFlowFallWhenTheScreenBlocks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := randomPlant(t)
		m := mustModel(t, p)
		c := randomCase(t, p)
		clear := math.Exp(rapid.Float64Range(math.Log(1e-4), 0).Draw(t, "ln clearer"))
		less := clear * rapid.Float64Range(0, 0.99).Draw(t, "share of it")
		c.ScreenClear = &clear
		a := mustSolve(t, m, c)
		c.ScreenClear = &less
		b := mustSolve(t, m, c)
		if b.CommonKW+b.OwnKW > (a.CommonKW+a.OwnKW)*(1+1e-9) || b.FlowM3s > a.FlowM3s*(1+1e-9) || b.ScreenLossM < a.ScreenLossM*(1-1e-9) {
			t.Fatalf("clear %g: %g kW, %g m³/s, %g m; clear %g: %g kW, %g m³/s, %g m", clear, a.CommonKW+a.OwnKW, a.FlowM3s, a.ScreenLossM,
				less, b.CommonKW+b.OwnKW, b.FlowM3s, b.ScreenLossM)
		}
	})
}

// Starting one more unit raises the flow, and lowers the pressure wherever the pipe then carries no less than before. (A pipe that
// another one robs of head through the screen carries less, and gets back some velocity head.)
func TestPressureFallsWhenFlowRises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := randomPlant(t)
		m := mustModel(t, p)
		c := randomCase(t, p)
		if len(c.Running) < 2 {
			return
		}
		all := c.Running
		c.Running = all[:len(all)-1]
		a := mustSolve(t, m, c)
		c.Running = all
		b := mustSolve(t, m, c)
		if b.FlowM3s < a.FlowM3s*(1-1e-9)-1e-9 {
			t.Fatalf("flow falls from %g to %g as a unit starts", a.FlowM3s, b.FlowM3s)
		}
		for i := range a.Units {
			u, v := a.Units[i], b.Units[i]
			more := b.Penstocks[u.Penstock].FlowM3s >= a.Penstocks[u.Penstock].FlowM3s
			if u.Running && u.FlowM3s > 0 && more && v.PressureKPa > u.PressureKPa+1e-6 {
				t.Fatalf("unit %s: %g kPa alone, %g kPa with one more", u.ID, u.PressureKPa, v.PressureKPa)
			}
			if u.PressureKnown && u.PressureKPa > u.StaticKPa+1e-9 {
				t.Fatalf("unit %s: %g kPa is above the static %g", u.ID, u.PressureKPa, u.StaticKPa)
			}
		}
	})
}

func TestFlowAndPowerRiseWithTheLevel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := randomPlant(t)
		m := mustModel(t, p)
		c := randomCase(t, p)
		a := mustSolve(t, m, c)
		c.PondLevelM += rapid.Float64Range(0, 3).Draw(t, "rise")
		b := mustSolve(t, m, c)
		if b.FlowM3s < a.FlowM3s*(1-1e-9)-1e-9 || b.CommonKW+b.OwnKW < (a.CommonKW+a.OwnKW)*(1-1e-9)-1e-12 {
			t.Fatalf("%g m: %g m³/s, %g kW; %g m: %g m³/s, %g kW", a.PondLevelM, a.FlowM3s, a.CommonKW+a.OwnKW, b.PondLevelM, b.FlowM3s, b.CommonKW+b.OwnKW)
		}
	})
}

func TestSolvingAgainGivesTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := randomPlant(t)
		m := mustModel(t, p)
		c := withFaults(t, p, randomCase(t, p))
		a := mustSolve(t, m, c)
		var b Result
		other := randomCase(t, p)
		_ = m.SolveInto(&other, &b)
		if err := m.SolveInto(&c, &b); err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(a, b) {
			t.Fatalf("%+v\n%+v", a, b)
		}
		if c.ScreenClear == nil && c.WaterC == nil {
			healthy := Case{PondLevelM: c.PondLevelM, Running: c.Running}
			want := mustSolve(t, m, healthy)
			if q, kw := m.Draw(c.PondLevelM, c.Running); q != want.FlowM3s || kw != want.CommonKW+want.OwnKW {
				t.Fatalf("Draw gives %g, %g; Solve %g, %g", q, kw, want.FlowM3s, want.CommonKW+want.OwnKW)
			}
		}
	})
}

// The loss that is told for a pressure is one at which the gauge would read it, on any plant.
func TestToldLossGivesThePressure(t *testing.T) {
	told := 0
	rapid.Check(t, func(t *rapid.T) {
		p := randomPlant(t)
		m := mustModel(t, p)
		c := randomCase(t, p)
		c.ScreenClear = new(math.Exp(rapid.Float64Range(math.Log(0.005), 0).Draw(t, "ln clear share")))
		for i, u := range mustSolve(t, m, c).Units {
			if !m.HasScreen() || !u.Running || u.FlowM3s == 0 {
				continue
			}
			s, err := m.ScreenFromPressure(c, u.ID, u.PressureKPa, 0, 0)
			if err != nil {
				t.Fatal(err)
			}
			if s.Above || s.Below {
				continue // a pipe so narrow that its velocity head outweighs the screen's loss: it is said that none fits
			}
			again := c
			again.ScreenLossM = &s.LossM
			back := mustSolve(t, m, again).Units[i].PressureKPa
			if math.Abs(back-u.PressureKPa) > 1e-6*(1+math.Abs(u.PressureKPa)) {
				t.Fatalf("unit %s: %g kPa tells a loss of %g m, at which the gauge reads %g kPa", u.ID, u.PressureKPa, s.LossM, back)
			}
			told++
		}
	})
	if told == 0 {
		t.Error("no screen was ever told")
	}
}
