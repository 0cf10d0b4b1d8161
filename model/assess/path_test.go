package assess

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/clearing"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/record"
)

// From pond to plug every step's power is that of its head times the flow, ρ g Q h (hydrostatics), the heads add up and so do the
// powers, for a screen that is taken as clean.
func TestThePathAddsUp(t *testing.T) {
	p := bench(t)
	n := Of(history(p, &[]string{"A"}, vals{"pond_level_m": -0.2, "load_kw": 2, "dump_kw": 3.5})).Now()
	path := n.Path
	if path == nil || path.Steps == nil {
		t.Fatal("no path though a unit runs")
	}
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-9*(1+math.Abs(want)) {
			t.Errorf("%s: %g, expected %g", what, got, want)
		}
	}
	near("gross head", *path.GrossHeadM, -0.2+14.6)
	near("net head", *path.NetHeadM, *path.GrossHeadM-*path.ScreenLossM-*path.FrictionLossM-*path.MinorLossM)
	// 999.702 kg/m³ at 10 °C (references.md 2.1) × 9.80665 m/s².
	perMetre := 999.702 * 9.80665 * path.FlowLps / 1e6
	for what, pair := range map[string][2]float64{
		"at the pond": {path.Steps.AtPond, *path.GrossHeadM}, "the screen": {path.Steps.Screen, *path.ScreenLossM},
		"the pipe": {path.Steps.Friction, *path.FrictionLossM}, "the fittings": {path.Steps.Fittings, *path.MinorLossM},
	} {
		if math.Abs(pair[0]-perMetre*pair[1]) > 2e-6*(1+pair[0]) {
			t.Errorf("%s: %g kW for %g m", what, pair[0], pair[1])
		}
	}
	near("the shaft", path.ShaftKW, path.Steps.AtPond-path.Steps.Screen-path.Steps.Friction-path.Steps.Fittings-path.Steps.Machine)
	near("the plug", path.Steps.AtPlug, path.ShaftKW*0.86)
	near("water to wire", *path.WaterToWire, path.Steps.AtPlug/path.Steps.AtPond)
	if *path.LoadKW != 2 || *path.Dumped != 3.5 {
		t.Errorf("consumers %g, ballast %g", *path.LoadKW, *path.Dumped)
	}
	if path.ScreenClear() != "taken as clean" {
		t.Errorf("without a reading of the screen: %q", path.ScreenClear())
	}
}

// The demo's screen is partly blocked: what the way loses there is what the screen is said to cost, to within the machine's part of
// it, and the pressure that follows is the one that was read, within the gauge's error of it.
func TestThePathGoesThroughTheScreenAsItIs(t *testing.T) {
	a := Of(story(t, 1))
	n := a.Now()
	if n.Path == nil || n.Screen == nil || n.Screen.Loss == nil || n.Screen.Loss.Now == nil {
		t.Fatal("the story ends without a telling screen")
	}
	loss := n.Screen.Loss.Now
	if math.Abs(*n.Path.ScreenLossM-loss.LossM.P50) > 1e-6 {
		t.Errorf("the way loses %g m at the screen, which is said to lose %g", *n.Path.ScreenLossM, loss.LossM.P50)
	}
	if got := n.Expected.Steps.AtPlug - n.Path.Steps.AtPlug; math.Abs(got-loss.LostKW.P50) > 1e-6 {
		t.Errorf("the plug gets %g kW less than with a clean screen; it is said to cost %g", got, loss.LostKW.P50)
	}
	if n.Path.GenerationKW > n.Expected.GenerationKW {
		t.Error("a blocked screen gives more")
	}
}

// A screen whose loss was read days ago has a range on the way, not its middle alone.
func TestThePathSaysWhereTheScreenWasReadLongAgo(t *testing.T) {
	h := story(t, 1)
	if n := Of(h).Now(); n.Path == nil || n.Path.OldScreen != nil {
		t.Fatalf("a fresh reading is called old: %+v", n.Path)
	}
	h.At = h.At.Add(5 * 24 * time.Hour)
	n := Of(h).Now()
	if n.Path == nil || n.Path.OldScreen == nil {
		t.Fatalf("an old reading is not called so: %+v", n.Path)
	}
	old := n.Path.OldScreen
	if old.LossM != n.Screen.Loss.Now.LossM || old.Ago < 5*24*time.Hour || old.Ago > 6*24*time.Hour || !(old.LossM.P10 < *n.Path.ScreenLossM && *n.Path.ScreenLossM < old.LossM.P90) {
		t.Errorf("%+v for a loss of %g m", old, *n.Path.ScreenLossM)
	}
}

func TestNoPathWhereNothingFlows(t *testing.T) {
	p := bench(t)
	for name, h := range map[string]*record.History{
		"nothing runs":         history(p, &[]string{}, vals{"pond_level_m": -0.2}),
		"nobody knows":         history(p, nil, vals{"pond_level_m": -0.2}),
		"no level was read":    history(p, &[]string{"A"}, nil),
		"no head is left":      history(p, &[]string{"A"}, vals{"pond_level_m": -20}),
		"there is no plant":    {At: noon},
		"there are no rounds":  {At: noon, Plant: p},
		"it cannot be modeled": history(&plant.Plant{Supply: p.Supply, Units: []plant.Unit{{ID: "A"}}}, &[]string{"A"}, vals{"pond_level_m": 0}),
	} {
		n := Of(h).Now()
		if n.Path != nil {
			t.Errorf("%s, and yet there is a path: %+v", name, n.Path)
		}
		if _, err := json.Marshal(n); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Sets on two penstocks share no head: each has its own, and the powers are still those of all.
func TestThePathOfTwoPenstocks(t *testing.T) {
	p := bench(t)
	second := p.Penstocks[0]
	second.Name, second.LengthM = "second", 300
	p.Penstocks = append(p.Penstocks, second)
	p.Units[1].Penstock, p.Units[1].AxisM, p.Units[1].TailwaterM = "second", -16, -16
	path := Of(history(p, &[]string{"A", "B"}, vals{"pond_level_m": -0.2})).Now().Path
	if path == nil || path.GrossHeadM != nil || path.NetHeadM != nil || len(path.Units) != 2 {
		t.Fatalf("%+v", path)
	}
	flow, kw := 0.0, 0.0
	for _, u := range path.Units {
		flow, kw = flow+u.FlowLps, kw+u.KW
	}
	if math.Abs(flow-path.FlowLps) > 1e-9 || math.Abs(kw-path.Steps.AtPlug) > 1e-9 {
		t.Errorf("the units take %g L/s and give %g kW; the plant %g and %g", flow, kw, path.FlowLps, path.Steps.AtPlug)
	}
}

func TestHowMuchOfTheScreenIsClearInWords(t *testing.T) {
	for _, c := range []struct {
		r    *clearing.Range
		want string
	}{
		{nil, "taken as clean"},
		{&clearing.Range{P10: 0.04, P50: 0.05, P90: 0.06}, "5.0 % clear (4.0 to 6.0)"},
		{&clearing.Range{P10: 0.21, P50: 0.4, P90: 0.97}, "more than 21 % clear"},
		{&clearing.Range{P10: 0.92, P50: 1, P90: 1}, "clean"},
		{&clearing.Range{P10: 0.301, P50: 0.302, P90: 0.303}, "30 % clear"},
		{&clearing.Range{P10: 0.0021, P50: 0.0032, P90: 0.0043}, "0.32 % clear (0.21 to 0.43)"},
	} {
		if got := (&Path{Screen: c.r}).ScreenClear(); got != c.want {
			t.Errorf("%+v: %q, expected %q", c.r, got, c.want)
		}
	}
}

// The keys are additions to the contract's `expect` object, which stands in it unchanged.
func TestThePathIsWrittenAsAnExpectation(t *testing.T) {
	n := Of(history(bench(t), &[]string{"A"}, vals{"pond_level_m": -0.2, "load_kw": 2, "dump_kw": 3.5})).Now()
	data, err := json.Marshal(n.Path)
	if err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{`"pond_level_m":`, `"gross_head_m":`, `"net_head_m":`, `"flow_lps":`, `"power_steps_kw":`, `"shaft_kw":`, `"load_kw":2`, `"dumped_kw":3.5`, `"water_to_wire":`} {
		if !strings.Contains(string(data), key) {
			t.Errorf("%s lacks %s", data, key)
		}
	}
}
