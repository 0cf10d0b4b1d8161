package electrical

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/headpond/model/plant"
)

// P = V²/R by hand. Four 2 kW, 240 V elements are 28.8 Ω each: at 228 V one takes 1.805 kW, four 7.22 kW, three 5.415 kW. The
// controller's 8 kW is above, so the elements limit. Dumped 2.1: 5.12 remain. Margin against 8.4 kW: −1.18 kW, −14.05 %.
func TestCapacityByHand(t *testing.T) {
	in := both(t, ternHollow(), 6.3)
	in.Volts = new(228.0)
	f := facts(t, in)
	near(t, "rated", f.RatedKW, 8, 1e-12)
	near(t, "capacity", f.CapacityKW, 7.22, 1e-9)
	near(t, "an element", f.Elements[2].TakesKW, 1.805, 1e-9)
	nearPtr(t, "remaining", f.RemainingKW, 5.12, 1e-9)
	nearPtr(t, "load room", f.LoadRoomKW, 2.1, 1e-9)
	near(t, "margin", f.Rejection.MarginKW, -1.18, 1e-9)
	nearPtr(t, "margin share", f.Rejection.MarginPct, -14.0476, 0.0001)
	near(t, "without E1", f.ElementOut[0].CapacityKW, 5.415, 1e-9)
	nearPtr(t, "margin without E1", f.ElementOut[0].MarginKW, -2.985, 1e-9)
	if f.LimitedBy != ByElements || len(f.ElementOut) != 4 {
		t.Errorf("limited by %s, %d rows", f.LimitedBy, len(f.ElementOut))
	}
}

// At 252 V four elements would take 8·1.1025 = 8.82 kW, but the controller passes 8. With one dead (events say so) three take
// 6.615 kW, rated_kw still counts all, and a row stands for each working one.
func TestControllerAndDeadElements(t *testing.T) {
	in := both(t, ternHollow(), 6.3)
	in.Volts = new(252.0)
	f := facts(t, in)
	near(t, "capacity", f.CapacityKW, 8, 0)
	near(t, "elements", f.ElementsKW, 8.82, 1e-9)
	if f.LimitedBy != ByController {
		t.Errorf("limited by %s", f.LimitedBy)
	}
	in.Working = map[string]bool{"E3": false}
	f = facts(t, in)
	near(t, "three", f.CapacityKW, 6.615, 1e-9)
	near(t, "rated", f.RatedKW, 8, 0)
	if f.LimitedBy != ByElements || len(f.ElementOut) != 3 || f.Elements[2].Working || f.Elements[2].TakesKW != 0 {
		t.Errorf("%+v", f)
	}
	if !strings.Contains(strings.Join(f.Cautions, "\n"), "E3") {
		t.Errorf("nothing is said of the dead element: %q", f.Cautions)
	}
	p := ternHollow()
	p.Ballast.Elements[0].Working = false // dead at commissioning, back by an event
	p.Ballast.ControllerKW = nil
	in = both(t, p, 6.3)
	near(t, "as commissioned", facts(t, in).CapacityKW, 6, 1e-12)
	in.Working = map[string]bool{"E1": true}
	near(t, "mended, no controller limit", facts(t, in).CapacityKW, 8, 1e-12)
}

func TestNothingIsClamped(t *testing.T) {
	in := both(t, ternHollow(), 9.4)
	f := facts(t, in)
	nearPtr(t, "dumped", f.DumpedKW, -1, 1e-12)
	nearPtr(t, "remaining", f.RemainingKW, 9, 1e-12)
	nearPtr(t, "load room", f.LoadRoomKW, 0, 0)
	over := facts(t, Input{Plant: ternHollow(), Dumped: Power{new(9.0), "reading"}})
	nearPtr(t, "more dumped than it can take", over.RemainingKW, -1, 1e-12)
	if !strings.Contains(strings.Join(over.Cautions, "\n"), "more than the working elements") {
		t.Errorf("%q", over.Cautions)
	}
}

// The keys are the contract's (`ballast --json`); scripts rely on them.
func TestBallastHasTheContractsKeys(t *testing.T) {
	keys := object(t, facts(t, both(t, ternHollow(), 6.3)))
	for _, key := range []string{"volts", "generation_kw", "load_kw", "dumped_kw", "rated_kw", "capacity_kw", "limited_by", "remaining_kw", "load_room_kw",
		"rejection", "element_out", "elements", "loads_that_fit", "generation_from", "load_from", "dumped_from"} {
		if _, ok := keys[key]; !ok {
			t.Errorf("%s is missing", key)
		}
	}
	want := map[string][]string{
		"rejection":      {"margin_kw", "margin_pct", "hertz", "volts", "within_trip"},
		"element_out":    {"element", "capacity_kw", "margin_kw", "hertz", "volts", "within_trip"},
		"elements":       {"name", "rated_kw", "working"},
		"loads_that_fit": {"name", "kw", "fits", "why"},
	}
	for name, inner := range want {
		o, ok := keys[name].(map[string]any)
		if !ok {
			o = keys[name].([]any)[0].(map[string]any)
		}
		for _, key := range inner {
			if _, ok := o[key]; !ok {
				t.Errorf("%s.%s is missing", name, key)
			}
		}
	}
	if _, ok := keys["at"]; ok {
		t.Error("a time that was not given stands")
	}
}

func object(t *testing.T, v any) map[string]any {
	t.Helper()
	text, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	var keys map[string]any
	if err := json.Unmarshal(text, &keys); err != nil {
		t.Fatal(err)
	}
	return keys
}

// Missing values are absent, never 0 or null, and it is said what is missing.
func TestWhatIsNotKnownIsAbsent(t *testing.T) {
	p := ternHollow()
	f := facts(t, Input{Plant: p, Model: modelOf(t, p)})
	keys := object(t, f)
	for _, key := range []string{"volts", "generation_kw", "load_kw", "dumped_kw", "remaining_kw", "load_room_kw", "rejection", "loads_that_fit", "running", "overload", "generation_from"} {
		if v, ok := keys[key]; ok {
			t.Errorf("%s is %v; expected it absent", key, v)
		}
	}
	near(t, "capacity at the rated voltage", f.CapacityKW, 8, 0)
	for _, row := range keys["element_out"].([]any) {
		if v, ok := row.(map[string]any)["margin_kw"]; ok {
			t.Errorf("a margin of %v without a generation", v)
		}
	}
	said := strings.Join(f.Cautions, "\n")
	for _, word := range []string{"voltage was not read", "pond level is not known", "generation is not known"} {
		if !strings.Contains(said, word) {
			t.Errorf("%q says nothing of %q", said, word)
		}
	}
}

func TestNothingRunsIsNotUnknown(t *testing.T) {
	p := ternHollow()
	f := facts(t, Input{Plant: p, Model: modelOf(t, p), Running: []string{}, Generation: Power{new(0.0), "model"}, Volts: new(0.0)})
	if v, ok := object(t, f)["running"].([]any); !ok || len(v) != 0 {
		t.Errorf("running is %v; expected an empty list", f.Running)
	}
	if f.Rejection == nil || f.Rejection.MarginPct != nil || f.Rejection.Hertz != nil {
		t.Errorf("rejection at rest: %+v", f.Rejection)
	}
}

func TestUnknownRunningIsAssumedOnlyWithGeneration(t *testing.T) {
	p := ternHollow()
	in := both(t, p, 6.3)
	in.Running = nil
	f := facts(t, in)
	if f.Running != nil || !strings.Contains(strings.Join(f.Cautions, "\n"), "which units run is not known") {
		t.Errorf("running %v, cautions %q", f.Running, f.Cautions)
	}
	nearPtr(t, "it settles as with both", f.Rejection.Hertz, 65.8022, 0.0001)
}

func TestOwnBusIsNotInTheBallast(t *testing.T) {
	p := ternHollow()
	p.Units[1].Bus = "own"
	in := both(t, p, 6.3)
	in.Generation, in.Dumped = Power{new(5.9), "model"}, Power{new(-0.4), "model"}
	f := facts(t, in)
	if !slices.Equal(f.Running, []string{"A"}) {
		t.Errorf("running on the common bus: %v", f.Running)
	}
	for _, way := range f.Other {
		if slices.Contains(way.Run, "B") {
			t.Errorf("a way of running the common bus holds the own-bus set: %v", way.Run)
		}
	}
}

func TestBallastRefusesWhatCannotBe(t *testing.T) {
	p := ternHollow()
	nan := math.NaN()
	noVolts := ternHollow()
	noVolts.Supply.Volts = 0
	for name, in := range map[string]Input{
		"no plant":        {},
		"no rated volts":  {Plant: noVolts},
		"no number":       {Plant: p, Volts: &nan},
		"negative volts":  {Plant: p, Volts: new(-1.0)},
		"no level":        {Plant: p, PondLevelM: &nan},
		"unknown unit":    {Plant: p, Running: []string{"Z"}},
		"unknown element": {Plant: p, Working: map[string]bool{"E9": true}},
	} {
		if _, err := Ballast(in); err == nil {
			t.Errorf("%s was accepted", name)
		}
	}
}

func TestRuleOfThumbIsSaid(t *testing.T) {
	in := both(t, ternHollow(), 6.3)
	in.Generation.KW = new(7.5)
	said := strings.Join(facts(t, in).Cautions, "\n")
	if !strings.Contains(said, "1.07 times the generation") || !strings.Contains(said, "from memory") {
		t.Errorf("%q", said)
	}
	empty := ternHollow()
	empty.Ballast = plant.Ballast{}
	if said := strings.Join(facts(t, both(t, empty, 6.3)).Cautions, "\n"); !strings.Contains(said, "no ballast element") {
		t.Errorf("%q", said)
	}
}

// Margins are told at the voltage that was read, and where it settles at the rated voltage (model.md); where the two differ it is
// said which is which. At 228 V four elements take 7.22 kW, at 240 V 8; 7.5 kW lie between. At 252 V they would take 8.82.
func TestMarginAndSettlingAtTwoVoltages(t *testing.T) {
	p := ternHollow()
	p.Ballast.ControllerKW = nil
	low := both(t, p, 6.3)
	low.Volts, low.Generation.KW = new(228.0), new(7.5)
	f := facts(t, low)
	nearPtr(t, "low voltage settles at", f.Rejection.Hertz, 60, 0)
	if said := strings.Join(f.Cautions, "\n"); !strings.Contains(said, "0.3 kW short; back at the rated voltage it takes all") {
		t.Errorf("%q", said)
	}
	high := both(t, p, 6.3)
	high.Volts = new(252.0)
	f = facts(t, high)
	if said := strings.Join(f.Cautions, "\n"); *f.Rejection.Hertz <= 60 || f.Rejection.MarginKW < 0 || !strings.Contains(said, "would not, and the sets would speed up") {
		t.Errorf("%+v: %q", f.Rejection, said)
	}
}
