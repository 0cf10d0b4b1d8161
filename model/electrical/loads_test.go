package electrical

import (
	"testing"

	"example.org/headpond/model/plant"
)

// By hand, 12 kVA of generators: the bound while starting is 18. Load 6.3 kW, room 2.1 kW. The freezer takes 0.4 and starts with
// 2 kVA: 8.3. The saw's 9 kVA give 15.3. The kettle's 2.2 kW is more than the room.
func TestLoadsThatFitByHand(t *testing.T) {
	f := facts(t, both(t, ternHollow(), 6.3))
	want := []LoadFit{
		{Name: "freezer", KW: 0.4, Fits: true, Why: WhyOK},
		{Name: "saw", KW: 1.5, Fits: true, Why: WhyOK},
		{Name: "kettle", KW: 2.2, Fits: false, Why: WhyRoom},
	}
	for i, w := range want {
		if got := f.LoadsThatFit[i]; got.Name != w.Name || got.Fits != w.Fits || got.Why != w.Why || got.KW != w.KW {
			t.Errorf("%+v; expected %+v", got, w)
		}
	}
	if !f.LoadsThatFit[0].Essential {
		t.Error("the freezer is essential")
	}
}

// With A alone the bound is 12 kVA: 4.4 kW and the saw's 9 kVA are 13.4.
func TestStartingPowerIsJudged(t *testing.T) {
	in := both(t, ternHollow(), 4.4)
	in.Running, in.Generation.KW, in.Dumped.KW = []string{"A"}, new(6.2), new(1.8)
	if got := facts(t, in).LoadsThatFit[1]; got.Fits || got.Why != WhyStarting {
		t.Errorf("%+v", got)
	}
}

func TestFit(t *testing.T) {
	motor := plant.Load{Name: "pump", KW: 1, StartKVA: new(3.0)}
	heater := plant.Load{Name: "heater", KW: 1}
	cases := []struct {
		name            string
		load            plant.Load
		room, runs, kva float64
		excitation      plant.Excitation
		why             string
	}{
		{"just fits", heater, 1, 5, 4, plant.Regulated, WhyOK},
		{"no room", heater, 0.99, 5, 4, plant.Regulated, WhyRoom},
		{"too much running", heater, 1, 5.01, 4, plant.Regulated, WhyStarting},
		{"motor just starts", motor, 1, 3, 4, plant.BySpeed, WhyOK},
		{"motor does not start", motor, 1, 3.1, 4, plant.BySpeed, WhyStarting},
		{"room comes first", motor, 0.5, 30, 4, plant.BySpeed, WhyRoom},
		{"induction machine with enough dumped", motor, 3, 1, 4, plant.Capacitor, WhyOK},
		{"induction machine with too little dumped", motor, 2.9, 1, 4, plant.Capacitor, WhyStarting},
		{"a heater on an induction machine", heater, 1, 1, 4, plant.Capacitor, WhyOK},
	}
	for _, c := range cases {
		got := Fit(c.load, c.room, c.runs, c.kva, c.excitation)
		if got.Why != c.why || got.Fits != (c.why == WhyOK) {
			t.Errorf("%s: %+v; expected %s", c.name, got, c.why)
		}
	}
}

func TestLoadsAreNotJudgedWithoutReadings(t *testing.T) {
	in := both(t, ternHollow(), 6.3)
	in.Load.KW = nil
	if rows := facts(t, in).LoadsThatFit; rows != nil {
		t.Errorf("%+v", rows)
	}
	p := ternHollow()
	p.Units[0].RatedKVA, p.Units[1].RatedKVA = 0, 0 // the kW rating stands in
	if got := facts(t, both(t, p, 6.3)).LoadsThatFit[1]; got.Why != WhyStarting {
		t.Errorf("6.3 + 9 kVA on 9 kW of generators: %+v", got)
	}
}
