package clearing

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/steady"
)

// noon is the time of the first round of every history here.
var noon = time.Date(2026, 9, 1, 12, 0, 0, 0, time.UTC)

// ternHollow is the design's example plant with the demo's second set.
func ternHollow() *plant.Plant {
	set := func(id string, kw, lps, eff float64) plant.Unit {
		return plant.Unit{ID: id, Penstock: "main", AxisM: -14.6, TailwaterM: -14.6, RatedKW: kw, RatedKVA: kw * 1.3, BestFlowLps: lps, BestHeadM: 13.1,
			BestEfficiency: eff, GeneratorEfficiency: 0.86, RunawayRatio: 1.5, Excitation: plant.Regulated, Bus: "common"}
	}
	return &plant.Plant{
		Supply:    plant.Supply{Volts: 240, Hertz: 60},
		Pond:      plant.Pond{Stage: []plant.StageRow{{LevelM: -1.6, AreaM2: 8000}, {LevelM: 0.4, AreaM2: 81000}}, CrestM: new(0.10)},
		Intake:    plant.Intake{CentrelineM: new(-1.55), DiameterM: new(0.35), ScreenM2: new(1.4), OpenShare: 0.40, HoleMM: new(2.5)},
		Penstocks: []plant.Penstock{{Name: "main", LengthM: 210, DiameterM: 0.30, RoughnessMM: 0.01, MinorK: 2.1, Gauge: plant.BelowValve}},
		Units:     []plant.Unit{set("A", 6, 76, 0.68), set("B", 3, 41, 0.61)},
		Gauge:     map[string]float64{"pressure_kpa": 1, "pond_level_m": 0.005},
	}
}

// site is a plant with a screen whose true state is known.
type site struct {
	t       testing.TB
	plant   *plant.Plant
	model   *steady.Model
	rand    *rand.Rand
	rounds  []record.Round
	events  []record.Event
	running []string
	y       float64 // ln of the screen's coefficient over the clean one's
	offset  float64 // of the pressure gauge, kPa
	exact   bool    // gauges without error
}

func newSite(t testing.TB, seed uint64) *site {
	t.Helper()
	p := ternHollow()
	return &site{t: t, plant: p, model: modelOf(t, p), rand: rand.New(rand.NewPCG(seed, 3)), running: []string{"A"}}
}

func modelOf(t testing.TB, p *plant.Plant) *steady.Model {
	t.Helper()
	m, err := steady.New(p)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// truth is the plant as it is with the screen as it is.
func (s *site) truth() steady.Result {
	s.t.Helper()
	if len(s.running) == 0 {
		return steady.Result{}
	}
	w := &work{present: State{Model: s.model, Case: steady.Case{PondLevelM: -0.2, Running: s.running}}}
	if err := w.model(); err != nil {
		s.t.Fatal(err)
	}
	r, _ := w.solveAt(s.y)
	return *r
}

// read is a gauge's reading of a true value.
func (s *site) read(k quantity.Key, v float64) float64 {
	if s.exact {
		return v
	}
	div := s.plant.Division(k)
	return math.Round((v+0.35*div*s.rand.NormFloat64())/div) * div
}

// round reads the level, the pressure and, with a stick, the loss.
func (s *site) round(at time.Time, stick bool) *record.Round {
	r := s.truth()
	run := append([]string{}, s.running...)
	v := map[quantity.Key]float64{"pond_level_m": s.read("pond_level_m", -0.2)}
	if len(run) > 0 {
		v["pressure_kpa"] = s.read("pressure_kpa", r.Units[unitOf(&r, "")].PressureKPa+s.offset)
	}
	if stick {
		v["screen_loss_mm"] = max(0, s.read("screen_loss_mm", 1000*r.ScreenLossM))
	}
	s.rounds = append(s.rounds, record.Round{Time: at, Running: &run, Values: v, Words: map[quantity.Key]string{}})
	return &s.rounds[len(s.rounds)-1]
}

// clearing is a round on which the screen is cleared.
func (s *site) clearing(at time.Time) {
	before := s.truth()
	s.y = 0.1
	r := s.round(at, false)
	after := s.truth()
	r.Words["screen_cleared"] = "yes"
	i := unitOf(&after, "")
	r.Values["pressure_before_kpa"] = s.read("pressure_kpa", before.Units[i].PressureKPa+s.offset)
	r.Values["pressure_after_kpa"] = s.read("pressure_kpa", after.Units[i].PressureKPa+s.offset)
}

// report asks at a time, for a loss at which the screen is due (0: the criteria).
func (s *site) report(at time.Time, lossM float64) *Facts {
	return Report(s.input(at, lossM))
}

func (s *site) input(at time.Time, lossM float64) Input {
	h := &record.History{At: at, Plant: s.plant, Rounds: s.rounds, Events: s.events}
	tl := h.Timeline()
	state := func(r record.Round) (State, bool) {
		running, known := tl.RunningAt(r.Time)
		level := -0.2
		if v, ok := r.Value("pond_level_m"); ok {
			level = v
		}
		return State{Model: s.model, Case: steady.Case{PondLevelM: level, Running: running}}, known
	}
	return Input{History: h, Timeline: tl, State: state, LossM: lossM}
}

// grow lets the screen fill up at a rate a day, with rounds twice a day, for some days, and returns the time.
func (s *site) grow(from time.Time, days, rate float64, stick func(i int) bool) time.Time {
	at := from
	for i := range int(2 * days) {
		at = at.Add(12 * time.Hour)
		s.y += rate / 2
		s.round(at, stick != nil && stick(i))
	}
	return at
}

func hoursTo(at time.Time, t *time.Time) float64 {
	if t == nil {
		return math.Inf(1)
	}
	return t.Sub(at).Hours()
}

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.6g, expected %.6g ± %g", what, got, want, tolerance)
	}
}
