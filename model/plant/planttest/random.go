// Package planttest draws random plants for the tests of whatever works with a plant. It is for tests alone.
package planttest

import (
	"fmt"
	"math"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
)

// Random draws a plant within the limits of the plant file: one to three penstocks with their gauge above or below the valve, one
// to five units on either bus, described by a best point or by a measured table, of any excitation; with and without a screen, a
// stage table, a ballast, loads, trip settings. Sizes are those of plants that stand somewhere, in either system of units.
func Random(t *rapid.T) *plant.Plant {
	s := sizes{t: t, head: s2{1, 200}, flow: s2{1, 600}}
	return s.plant()
}

// Extreme draws one whose sizes go to the limits of the plant file.
func Extreme(t *rapid.T) *plant.Plant {
	s := sizes{t: t, head: s2{1e-3, 5000}, flow: s2{1e-3, 1e6}, wild: true}
	return s.plant()
}

// s2 is a range.
type s2 struct{ lo, hi float64 }

type sizes struct {
	t          *rapid.T
	head, flow s2
	wild       bool
}

// log draws a number of any order of magnitude within a range.
func (s sizes) log(r s2, what string) float64 {
	return math.Exp(rapid.Float64Range(math.Log(r.lo), math.Log(r.hi)).Draw(s.t, what))
}

func (s sizes) within(lo, hi float64, what string) float64 {
	return rapid.Float64Range(lo, hi).Draw(s.t, what)
}

func (s sizes) sometimes(what string) bool { return rapid.IntRange(0, 3).Draw(s.t, what) > 0 }

// of draws one of two: the first for ordinary plants, the second for extreme ones.
func (s sizes) of(ordinary, wild s2) s2 {
	if s.wild {
		return wild
	}
	return ordinary
}

func (s sizes) plant() *plant.Plant {
	p := &plant.Plant{
		Site:     plant.Site{Name: "any", Timezone: "UTC", Units: rapid.SampledFrom([]string{"metric", "us"}).Draw(s.t, "units")},
		Supply:   plant.Supply{Volts: s.log(s2{12, 40000}, "volts"), Hertz: rapid.SampledFrom([]float64{50, 60}).Draw(s.t, "hertz"), Bands: "isolated"},
		Location: time.UTC,
	}
	if s.sometimes("trips") {
		p.Supply.TripVolts = &[2]float64{0.85 * p.Supply.Volts, 1.15 * p.Supply.Volts}
		p.Supply.TripHertz = &[2]float64{0.9 * p.Supply.Hertz, 1.1 * p.Supply.Hertz}
	}
	s.pond(p)
	stocks := rapid.IntRange(1, 3).Draw(s.t, "penstocks")
	for j := range stocks {
		p.Penstocks = append(p.Penstocks, s.penstock(fmt.Sprint("p", j)))
	}
	total := 0.0
	for i := range rapid.IntRange(1, 5).Draw(s.t, "number of units") {
		u := s.unit(fmt.Sprint("U", i), fmt.Sprint("p", rapid.IntRange(0, stocks-1).Draw(s.t, "on")))
		total += u.RatedKW
		p.Units = append(p.Units, u)
	}
	s.ballast(p, total)
	return p
}

func (s sizes) pond(p *plant.Plant) {
	if s.sometimes("stage") {
		p.Pond.Stage = []plant.StageRow{{LevelM: -s.within(1, 5, "bottom"), AreaM2: s.log(s2{10, 1e6}, "least area")}, {LevelM: 0.4, AreaM2: s.log(s2{100, 1e7}, "greatest area")}}
	}
	if s.sometimes("crest") {
		p.Pond.CrestM = new(s.within(0, 0.4, "crest_m"))
		p.Pond.CrestLengthM, p.Pond.CrestCoefficient = 4, 1.7
	}
	if s.sometimes("mouth") {
		p.Intake.CentrelineM = new(-s.within(0.2, 3, "centreline_m"))
		p.Intake.DiameterM = new(s.log(s2{0.05, 2}, "diameter_m"))
	}
	if s.sometimes("screen") {
		p.Intake.ScreenM2 = new(s.log(s.of(s2{0.05, 20}, s2{1e-4, 1e4}), "screen_m2"))
		p.Intake.OpenShare = s.within(0.05, 1, "open_share")
	}
}

func (s sizes) penstock(name string) plant.Penstock {
	d := s.log(s.of(s2{0.05, 1.5}, s2{0.005, 20}), "bore")
	out := plant.Penstock{
		Name: name, DiameterM: d, LengthM: s.log(s.of(s2{1, 3000}, s2{1e-3, 1e5}), "length"),
		RoughnessMM: s.within(0, math.Min(2, 200*d), "roughness"), MinorK: s.within(0, 20, "minor_k"),
		Gauge: rapid.SampledFrom([]plant.GaugePlace{plant.BelowValve, plant.AboveValve}).Draw(s.t, "gauge"),
	}
	if s.sometimes("wave") {
		out.WaveSpeedMS = new(s.within(100, 1500, "wave_speed_ms"))
	}
	return out
}

func (s sizes) unit(id, stock string) plant.Unit {
	axis := -s.within(1, math.Max(2, math.Min(s.head.hi, 200)), "axis")
	u := plant.Unit{
		ID: id, Name: id, Penstock: stock, AxisM: axis, TailwaterM: axis - s.within(0, 6, "draft"),
		BestFlowLps: s.log(s.flow, "best flow"), BestHeadM: s.log(s.head, "best head"),
		BestEfficiency: s.within(0.2, 0.95, "efficiency"), GeneratorEfficiency: s.within(0.3, 1, "generator"), RunawayRatio: s.within(1.1, 3, "runaway"),
		Excitation: rapid.SampledFrom([]plant.Excitation{plant.Regulated, plant.BySpeed, plant.Capacitor}).Draw(s.t, "excitation"),
		Bus:        rapid.SampledFrom([]string{"common", "common", "common", "own"}).Draw(s.t, "bus"),
	}
	u.RatedKW = 9.80665e-3 * u.BestFlowLps * u.BestHeadM * u.BestEfficiency * u.GeneratorEfficiency * s.within(0.8, 1.3, "rating")
	u.RatedKVA = 1.25 * u.RatedKW
	if rapid.IntRange(0, 3).Draw(s.t, "measured") == 0 {
		s.curve(&u)
	}
	return u
}

// curve draws a measured table whose flow does not fall and whose efficiency stays below one.
func (s sizes) curve(u *plant.Unit) {
	head, lps, eff := u.BestHeadM, u.BestFlowLps, s.within(0.05, 0.4, "first efficiency")
	for range rapid.IntRange(1, 5).Draw(s.t, "rows") {
		u.Curve = append(u.Curve, plant.CurveRow{NetHeadM: head, FlowLps: lps, KWElectric: eff * 9.80665e-3 * head * lps})
		head *= 1 + s.within(0.02, 0.6, "next head")
		lps *= 1 + s.within(0, 0.4, "next flow")
		eff += s.within(0, 0.1, "next efficiency")
	}
}

func (s sizes) ballast(p *plant.Plant, totalKW float64) {
	p.Ballast.ShareOf = rapid.SampledFrom([]plant.ShareOf{plant.ShareOfGeneration, plant.ShareOfBallast}).Draw(s.t, "share_of")
	if s.sometimes("controller") {
		p.Ballast.ControllerKW = new(totalKW * s.within(0.3, 2, "controller_kw"))
	}
	n := rapid.IntRange(0, 5).Draw(s.t, "elements")
	for i := range n {
		p.Ballast.Elements = append(p.Ballast.Elements, plant.Element{
			Name: fmt.Sprint("E", i), RatedKW: totalKW * s.within(0.05, 0.6, "element"), RatedVolts: p.Supply.Volts * s.within(0.8, 1.2, "rated_volts"),
			Working: s.sometimes("works"),
		})
	}
	for i := range rapid.IntRange(0, 3).Draw(s.t, "loads") {
		l := plant.Load{Name: fmt.Sprint("load ", i), KW: totalKW * s.within(0.01, 0.8, "load")}
		if rapid.Bool().Draw(s.t, "motor") {
			l.StartKVA = new(l.KW * s.within(1, 7, "start_kva"))
		}
		p.Loads = append(p.Loads, l)
	}
}

// Level draws a pond level at which a plant may be asked about: mostly an ordinary one, sometimes far below.
func Level(t *rapid.T) float64 {
	if rapid.IntRange(0, 4).Draw(t, "ordinary level") > 0 {
		return rapid.Float64Range(-1, 0.4).Draw(t, "level")
	}
	return rapid.Float64Range(-250, 5).Draw(t, "any level")
}

// Running draws units that run, in the plant's order; not nil.
func Running(t *rapid.T, p *plant.Plant) []string {
	ids := []string{}
	for _, u := range p.Units {
		if rapid.IntRange(0, 3).Draw(t, "runs") > 0 {
			ids = append(ids, u.ID)
		}
	}
	return ids
}
