package steady

import (
	"encoding/json"
	"strings"
	"testing"

	"example.org/headpond/model/plant"

	"github.com/google/go-cmp/cmp"
)

func expected(t *testing.T, m *Model, c Case) map[string]any {
	t.Helper()
	e, err := m.Expect(c)
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(e)
	if err != nil {
		t.Fatal(err)
	}
	var keys map[string]any
	if err := json.Unmarshal(text, &keys); err != nil {
		t.Fatal(err)
	}
	return keys
}

// The keys are the contract's (`expect --json`); scripts rely on them.
func TestExpectHasTheContractsKeys(t *testing.T) {
	got := expected(t, modelOf(t, ternHollow()), Case{Running: []string{"A"}, ScreenClear: new(0.5)})
	for _, key := range []string{"pond_level_m", "running", "gross_head_m", "screen_loss_m", "friction_loss_m", "minor_loss_m", "net_head_m",
		"flow_lps", "pressure_kpa", "generation_kw", "units", "static_pressure_kpa", "water_to_wire"} {
		if _, ok := got[key]; !ok {
			t.Errorf("%s is missing", key)
		}
	}
	unit := got["units"].([]any)[0].(map[string]any)
	for _, key := range []string{"id", "flow_lps", "net_head_m", "kw", "efficiency", "penstock", "gross_head_m", "friction_loss_m", "minor_loss_m", "pressure_kpa"} {
		if _, ok := unit[key]; !ok {
			t.Errorf("units[].%s is missing", key)
		}
	}
	if diff := cmp.Diff([]any{"A"}, got["running"]); diff != "" {
		t.Error(diff)
	}
	if got["screen_open"] != 0.5 {
		t.Errorf("screen_open is %v", got["screen_open"])
	}
}

// By the contract's definitions, from the numbers of the second implementation (solve_test.go): efficiency = kw / (ρ g flow net
// head) = 6209.3 / (999.702·9.80665·0.0786377·13.79372) = 0.58390, water to wire with 14.6 m = 0.55166.
func TestEfficienciesAreTheContracts(t *testing.T) {
	e, err := modelOf(t, ternHollow()).Expect(Case{Running: []string{"A"}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "efficiency", *e.Units[0].Efficiency, 0.58390, 0.00005)
	near(t, "water to wire", *e.WaterToWire, 0.55166, 0.00005)
	near(t, "gross head", *e.GrossHeadM, 14.6, 1e-12)
	near(t, "steps end at the plug", e.Steps.AtPlug, e.GenerationKW, 1e-12)
}

func TestAtRestOnlyWhatIsKnownStands(t *testing.T) {
	got := expected(t, modelOf(t, ternHollow()), Case{PondLevelM: -0.1})
	if diff := cmp.Diff([]any{}, got["running"]); diff != "" {
		t.Error(diff)
	}
	for _, key := range []string{"pressure_kpa", "net_head_m", "water_to_wire", "power_steps_kw", "friction_loss_m"} {
		if v, ok := got[key]; ok {
			t.Errorf("%s is %v at rest; expected it absent", key, v)
		}
	}
	if got["flow_lps"] != 0.0 || got["generation_kw"] != 0.0 {
		t.Errorf("at rest: %v", got)
	}
	near(t, "static pressure", got["static_pressure_kpa"].(float64), 999.702*9.80665*14.5/1000, 0.001)
}

// "The rest stands only where all running units share one penstock and axis."
func TestSharedValuesStandOnlyWhereThereIsOne(t *testing.T) {
	p := ternHollow()
	p.Units[1].AxisM, p.Units[1].TailwaterM = -13, -13
	m := modelOf(t, p)
	both := expected(t, m, Case{Running: []string{"A", "B"}})
	for _, key := range []string{"pressure_kpa", "static_pressure_kpa", "net_head_m", "gross_head_m"} {
		if v, ok := both[key]; ok {
			t.Errorf("two axes: %s is %v; expected it absent", key, v)
		}
	}
	if _, ok := both["flow_lps"]; !ok {
		t.Error("flow_lps is the plant's and stands")
	}
	if _, ok := expected(t, m, Case{Running: []string{"B"}})["pressure_kpa"]; !ok {
		t.Error("one unit runs, and its pressure is missing")
	}
	p = ternHollow()
	p.Units[1].TailwaterM = -14.8 // a draft pipe: the same axis, another tailwater
	draft := expected(t, modelOf(t, p), Case{Running: []string{"A", "B"}})
	if _, ok := draft["pressure_kpa"]; !ok {
		t.Error("one axis, and the pressure is missing")
	}
	if v, ok := draft["net_head_m"]; ok {
		t.Errorf("two net heads, and one stands: %v", v)
	}
}

func TestOwnBusIsListedApart(t *testing.T) {
	p := ternHollow()
	p.Units[1].Bus = "own"
	e, err := modelOf(t, p).Expect(Case{Running: []string{"A", "B"}})
	if err != nil {
		t.Fatal(err)
	}
	if e.OwnBusKW == nil || *e.OwnBusKW != e.Units[1].KW || e.GenerationKW != e.Units[0].KW {
		t.Errorf("generation %g, own bus %v, units %g and %g", e.GenerationKW, e.OwnBusKW, e.Units[0].KW, e.Units[1].KW)
	}
	near(t, "flow is the plant's", e.FlowLps, e.Units[0].FlowLps+e.Units[1].FlowLps, 1e-9)
}

func TestNoScreenNoScreenLoss(t *testing.T) {
	p := ternHollow()
	p.Intake = plant.Intake{}
	got := expected(t, modelOf(t, p), Case{Running: []string{"A"}})
	if v, ok := got["screen_loss_m"]; ok {
		t.Errorf("screen_loss_m is %v without a described screen", v)
	}
}

func TestCautionsSayWhatIsDoubtful(t *testing.T) {
	high := ternHollow()
	high.Units[0].TailwaterM = -19
	cases := []struct {
		name string
		p    *plant.Plant
		c    Case
		says string
	}{
		{"high axis", high, Case{}, "axis stands 4.4 m above the tailwater"},
		{"dry mouth", ternHollow(), Case{PondLevelM: -1.6}, "below the intake's centre line"},
		{"cold water", ternHollow(), Case{WaterC: new(-3.0)}, "outside 0 °C to 50 °C: 0 °C is used"},
		{"blocked", ternHollow(), Case{Running: []string{"A"}, ScreenClear: new(0.0)}, "no water reaches it"},
		{"too slow", ternHollow(), Case{Running: []string{"A", "B"}, ScreenClear: new(0.01)}, "cannot hold rated speed"},
		{"low flow", ternHollow(), Case{Running: []string{"A"}, ScreenClear: new(0.009)}, "of its best flow, below the range"},
		{"over its rating", ternHollow(), Case{Running: []string{"A"}}, "more than its rating of 6.0 kW"},
		{"high flow", func() *plant.Plant { p := ternHollow(); p.Units[0].BestHeadM = 7; return p }(), Case{Running: []string{"A"}}, "above the range"},
		{"vacuum", func() *plant.Plant {
			p := ternHollow()
			p.Units[0].AxisM = -1
			p.Units[0].TailwaterM = -14.6
			return p
		}(), Case{PondLevelM: -0.5, Running: []string{"A"}, Penstocks: []PenstockState{{AirLossM: 13}}}, "column parts"},
	}
	for _, c := range cases {
		e, err := modelOf(t, c.p).Expect(c.c)
		if err != nil {
			t.Fatal(err)
		}
		if all := strings.Join(e.Cautions, "\n"); !strings.Contains(all, c.says) {
			t.Errorf("%s: %q; expected a word of %q", c.name, all, c.says)
		}
	}
}
