package safety

import (
	"math"
	"strings"
	"testing"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/steady"
)

// ternHollow is the design's example plant with the demo's second set.
func ternHollow() *plant.Plant {
	return &plant.Plant{
		Supply:    plant.Supply{Volts: 240, Hertz: 60},
		Pond:      plant.Pond{Stage: []plant.StageRow{{LevelM: -1.6, AreaM2: 8000}, {LevelM: 0.4, AreaM2: 81000}}, CrestM: new(0.10), StopLevelM: new(-0.85)},
		Intake:    plant.Intake{CentrelineM: new(-1.55), DiameterM: new(0.35), ScreenM2: new(1.4), OpenShare: 0.40, HoleMM: new(2.5)},
		Penstocks: []plant.Penstock{{Name: "main", LengthM: 210, DiameterM: 0.30, RoughnessMM: 0.01, MinorK: 2.1, WaveSpeedMS: new(300.0), Gauge: plant.BelowValve}},
		Units: []plant.Unit{
			{ID: "A", Penstock: "main", AxisM: -14.6, TailwaterM: -14.6, RatedKW: 6, RatedKVA: 8, BestFlowLps: 76, BestHeadM: 13.1, BestEfficiency: 0.68, GeneratorEfficiency: 0.86, Bus: "common"},
			{ID: "B", Penstock: "main", AxisM: -14.6, TailwaterM: -14.6, RatedKW: 3, RatedKVA: 4, BestFlowLps: 41, BestHeadM: 12.8, BestEfficiency: 0.65, GeneratorEfficiency: 0.84, Bus: "common"},
		},
		Ballast: plant.Ballast{ControllerKW: new(8.0), Elements: []plant.Element{
			{Name: "E1", RatedKW: 4, RatedVolts: 240}, {Name: "E2", RatedKW: 4, Working: true}}},
	}
}

func numbers(t *testing.T, p *plant.Plant) map[string]Number {
	t.Helper()
	m, err := steady.New(p)
	if err != nil {
		t.Fatal(err)
	}
	byKey := map[string]Number{}
	for _, n := range Numbers(m) {
		if n.Says == "" || n.Formula == "" || n.Source == "" || n.Status == "" || math.IsNaN(n.Value) {
			t.Errorf("incomplete: %+v", n)
		}
		key := n.Key
		if n.Of != "" {
			key += " " + n.Of
		}
		byKey[key] = n
	}
	return byKey
}

func near(t *testing.T, n map[string]Number, key string, want, tolerance float64, ok *bool) {
	t.Helper()
	got, found := n[key]
	if !found {
		t.Errorf("%s is missing", key)
		return
	}
	if !(math.Abs(got.Value-want) <= tolerance) {
		t.Errorf("%s: got %.6g, expected %g ± %g", key, got.Value, want, tolerance)
	}
	if (ok == nil) != (got.OK == nil) || ok != nil && *ok != *got.OK {
		t.Errorf("%s: judged %v, expected %v (%s)", key, got.OK, ok, got.Says)
	}
}

// By hand. Submergence at the stop level: −0.85 − (−1.55 + 0.175) = 0.525 m; asked for: 0.7245·(0.117/0.096211)·√0.35 = 0.5213.
// Static at the crest: 999.702·9.80665·14.7 = 144.115 kPa. Both units draw 117.1 L/s there: 1.657 m/s in 300 mm, 50.7 m of
// surge at 300 m/s, and 2·210·1.657/(9.80665·0.3·14.7) = 16.1 s to close. Ballast: 8 kW against 8.53.
func TestNumbersByHand(t *testing.T) {
	n := numbers(t, ternHollow())
	yes, no := new(true), new(false)
	near(t, n, "submergence_m", 0.525, 1e-9, yes)
	if got := *n["submergence_m"].AtLeast; math.Abs(got-0.5213) > 0.0001 {
		t.Errorf("submergence asked for: %g", got)
	}
	near(t, n, "static_kpa main", 144.115, 0.001, nil)
	near(t, n, "pipe_velocity_ms main", 1.657, 0.001, yes)
	near(t, n, "pipe_loss_share main", 0.115, 0.001, yes)
	near(t, n, "surge_full_m main", 50.7, 0.05, nil)
	near(t, n, "closing_s main", 16.1, 0.05, nil)
	near(t, n, "ballast_ratio", 8/8.53, 0.002, no)
	near(t, n, "flow_share_low unit A", 0.952, 0.001, yes) // 72.353 of 76 L/s at the stop level (second implementation)
	near(t, n, "flow_share_high unit A", 1.039, 0.001, yes)
	near(t, n, "approach_ms passive pump intake", 0.1171/1.4, 0.0001, nil)
	if !n["approach_ms passive pump intake"].Information {
		t.Error("a fish-screen rule is information")
	}
}

func TestLimitsAreJudged(t *testing.T) {
	no := new(false)
	p := ternHollow()
	p.Pond.StopLevelM = new(-1.2)
	near(t, numbers(t, p), "submergence_m", 0.175, 1e-9, no)
	p = ternHollow()
	p.Penstocks[0].DiameterM = 0.16
	if n := numbers(t, p)["pipe_loss_share main"]; *n.OK {
		t.Errorf("a narrow pipe: %+v", n)
	}
	p = ternHollow()
	p.Penstocks[0].LengthM, p.Units[0].BestFlowLps = 20, 300
	if n := numbers(t, p)["pipe_velocity_ms main"]; *n.OK {
		t.Errorf("a machine too large for its pipe: %+v", n)
	}
	p = ternHollow()
	p.Units[1].BestHeadM, p.Units[1].BestFlowLps = 7, 20
	if n := numbers(t, p); *n["flow_share_high unit B"].OK {
		t.Errorf("%+v", n["flow_share_high unit B"])
	}
	p = ternHollow()
	p.Intake.HoleMM = new(5.0)
	if says := numbers(t, p)["approach_ms weak swimmers such as eels"].Says; !strings.Contains(says, "here 5 mm") {
		t.Error(says)
	}
}

// The default stop level is the one that the submergence gives, so that the two just agree.
func TestDefaultStopLevelKeepsTheSubmergence(t *testing.T) {
	p := ternHollow()
	p.Pond.StopLevelM = nil
	n := numbers(t, p)["submergence_m"]
	if n.AtLeast == nil || math.Abs(n.Value-*n.AtLeast) > 1e-9 {
		t.Errorf("%+v", n)
	}
}

func TestUnknownWaveSpeedIsTakenHigh(t *testing.T) {
	p := ternHollow()
	p.Penstocks[0].WaveSpeedMS = nil
	n := numbers(t, p)["surge_full_m main"]
	if math.Abs(n.Value-50.68*1480/300) > 2 || !strings.Contains(n.Says, "too high for plastic") {
		t.Errorf("%+v", n)
	}
	p.Penstocks[0].LengthM = 1
	p.Penstocks[0].DiameterM = 3 // hardly any velocity: even a sudden stop is harmless
	if n := numbers(t, p)["closing_s main"]; n.Value != 0 || !strings.Contains(n.Says, "even a sudden stop") {
		t.Errorf("%+v", n)
	}
}

func TestMeasuredTableIsComparedWithItsHeads(t *testing.T) {
	p := ternHollow()
	p.Units[0].Curve = []plant.CurveRow{{NetHeadM: 13, FlowLps: 75, KWElectric: 5.4}, {NetHeadM: 14, FlowLps: 79, KWElectric: 6}}
	n := numbers(t, p)
	if *n["net_head_low_m unit A"].OK || !*n["net_head_high_m unit A"].OK {
		t.Errorf("%+v %+v", n["net_head_low_m unit A"], n["net_head_high_m unit A"])
	}
	if _, ok := n["flow_share_low unit A"]; ok {
		t.Error("a measured machine has no curve range")
	}
}

func TestWhatIsNotDescribedIsLeftOut(t *testing.T) {
	p := ternHollow()
	p.Intake, p.Ballast, p.Pond = plant.Intake{}, plant.Ballast{}, plant.Pond{}
	p.Penstocks = append(p.Penstocks, plant.Penstock{Name: "spare", DiameterM: 0.2, LengthM: 10})
	for key := range numbers(t, p) {
		for _, gone := range []string{"submergence", "approach", "ballast", "spare"} {
			if strings.Contains(key, gone) {
				t.Errorf("%s stands", key)
			}
		}
	}
	p.Pond.Stage = []plant.StageRow{{LevelM: -1, AreaM2: 1}, {LevelM: 0.5, AreaM2: 2}}
	if says := numbers(t, p)["static_kpa main"].Says; !strings.Contains(says, "top of the stage table") {
		t.Error(says)
	}
}
