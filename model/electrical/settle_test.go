package electrical

import (
	"math"
	"strings"
	"testing"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/steady"

	"pgregory.net/rapid"
)

// From a second, plain implementation of model.md (bisection, another language), both units at a full pond, 8.4 kW: regulated, the
// ballast's 8 kW are met at 65.802 Hz, three elements' 6 kW at 76.637 Hz.
func TestRegulatedRejection(t *testing.T) {
	f := facts(t, both(t, ternHollow(), 6.3))
	nearPtr(t, "hertz", f.Rejection.Hertz, 65.802210, 1e-4)
	nearPtr(t, "volts are held", f.Rejection.Volts, 240, 0)
	nearPtr(t, "hertz without E2", f.ElementOut[1].Hertz, 76.636566, 1e-4)
	if !*f.Rejection.WithinTrip || *f.ElementOut[1].WithinTrip {
		t.Errorf("within trip limits (54 to 66 Hz): %v and %v; expected true and false", *f.Rejection.WithinTrip, *f.ElementOut[1].WithinTrip)
	}
}

// The same with the voltage following the speed: three elements take 6 n² kW, met at 68.074 Hz, where the volts are 240·1.13457; two
// dead elements leave 4 n², met at 75.407 Hz, below the controller's 8 kW.
func TestRejectionWithTheVoltageFollowing(t *testing.T) {
	p := excite(ternHollow(), plant.BySpeed)
	in := both(t, p, 6.3)
	in.Working = map[string]bool{"E4": false}
	f := facts(t, in)
	nearPtr(t, "hertz", f.Rejection.Hertz, 68.073940, 1e-4)
	nearPtr(t, "volts", f.Rejection.Volts, 240*68.073940/60, 1e-3)
	nearPtr(t, "hertz with one more dead", f.ElementOut[0].Hertz, 75.407458, 1e-4)
	if f.Rejection.VoltsAtLeast {
		t.Error("only an induction machine's volts are a lower bound")
	}
	ind := both(t, excite(ternHollow(), plant.Capacitor), 6.3)
	ind.Working = in.Working
	g := facts(t, ind)
	nearPtr(t, "an induction machine settles alike", g.Rejection.Hertz, *f.Rejection.Hertz, 1e-9)
	if !g.Rejection.VoltsAtLeast || !strings.Contains(strings.Join(g.Cautions, "\n"), "induction generator") {
		t.Errorf("%+v, %q", g.Rejection, g.Cautions)
	}
}

func TestFrequencyIsHeldWithinTheBallast(t *testing.T) {
	in := both(t, ternHollow(), 3)
	in.Running, in.Generation.KW, in.Dumped.KW = []string{"A"}, new(5.0), new(2.0)
	f := facts(t, in)
	nearPtr(t, "hertz", f.Rejection.Hertz, 60, 0)
	nearPtr(t, "volts", f.Rejection.Volts, 240, 0)
	nearPtr(t, "hertz without E1", f.ElementOut[0].Hertz, 60, 0)
}

// Without any ballast the sets run away: A and B together at a full pond reach 91.945 Hz (second implementation).
func TestNoBallastIsRunaway(t *testing.T) {
	in := both(t, ternHollow(), 6.3)
	in.Working = map[string]bool{"E1": false, "E2": false, "E3": false, "E4": false}
	f := facts(t, in)
	nearPtr(t, "hertz", f.Rejection.Hertz, 91.9455, 0.003)
	if !f.Rejection.Runaway || *f.Rejection.WithinTrip {
		t.Errorf("%+v", f.Rejection)
	}
	near(t, "capacity", f.CapacityKW, 0, 0)
	last := both(t, ternHollow(), 6.3)
	last.Working = map[string]bool{"E2": false, "E3": false, "E4": false}
	if row := facts(t, last).ElementOut[0]; !row.Runaway || row.CapacityKW != 0 {
		t.Errorf("the last element out: %+v", row)
	}
}

// Regulated and overloaded within the reserve: at the stop level both give 7.62835 kW; 7.7 kW are met at 58.3017 Hz (second
// implementation). Beyond the reserve of 7.746 kW nothing balances.
func TestRegulatedOverload(t *testing.T) {
	in := both(t, ternHollow(), 7.7)
	in.PondLevelM, in.Generation, in.Dumped = new(-0.85), Power{new(7.628353), "model"}, Power{new(7.628353 - 7.7), "model"}
	f := facts(t, in)
	near(t, "short", f.Overload.ShortKW, 7.7-7.628353, 1e-9)
	nearPtr(t, "hertz", f.Overload.Hertz, 58.3017, 0.001)
	nearPtr(t, "volts are held", f.Overload.Volts, 240, 0)
	in.Load.KW, in.Dumped.KW = new(7.8), new(7.628353-7.8)
	f = facts(t, in)
	if !f.Overload.Collapse || f.Overload.Hertz != nil || f.Overload.Volts != nil || *f.Overload.WithinTrip {
		t.Errorf("beyond the reserve: %+v", f.Overload)
	}
	if !strings.Contains(strings.Join(f.Cautions, "\n"), "overload") {
		t.Errorf("%q", f.Cautions)
	}
}

// With the voltage following the speed 9 kW on 8.4 kW settle at 58.109 Hz and 232.4 V (second implementation); an induction machine
// loses its excitation and runs up.
func TestOverloadWithTheVoltageFollowing(t *testing.T) {
	f := facts(t, both(t, excite(ternHollow(), plant.BySpeed), 9))
	nearPtr(t, "hertz", f.Overload.Hertz, 58.109132, 1e-4)
	nearPtr(t, "volts", f.Overload.Volts, 240*58.109132/60, 1e-3)
	g := facts(t, both(t, excite(ternHollow(), plant.Capacitor), 9))
	if !g.Overload.Collapse || g.Overload.Hertz != nil {
		t.Errorf("%+v", g.Overload)
	}
	nearPtr(t, "runs up to", g.Overload.RunawayHertz, 91.9455, 0.003)
}

func TestOneRegulatedSetHoldsTheBus(t *testing.T) {
	units := []plant.Unit{{Excitation: plant.Capacitor}, {Excitation: plant.BySpeed}}
	if got := Excite(units); got != plant.BySpeed {
		t.Errorf("%s", got)
	}
	if got := Excite(append(units, plant.Unit{Excitation: plant.Regulated})); got != plant.Regulated {
		t.Errorf("%s", got)
	}
	if got := Excite(units[:1]); got != plant.Capacitor {
		t.Errorf("%s", got)
	}
}

func TestWithoutTripSettingsNothingIsSaidOfThem(t *testing.T) {
	p := ternHollow()
	p.Supply.TripHertz, p.Supply.TripVolts = nil, nil
	if w := facts(t, both(t, p, 6.3)).Rejection.WithinTrip; w != nil {
		t.Errorf("within_trip is %v", *w)
	}
	p.Supply.TripHertz = &[2]float64{54, 65} // one of the two is judged alone
	if w := facts(t, both(t, p, 6.3)).Rejection.WithinTrip; w == nil || *w {
		t.Errorf("65.8 Hz with a limit of 65: %v", w)
	}
	edge := 60.0
	p.Supply.TripHertz = &[2]float64{54, edge} // limits are inclusive
	if w := facts(t, both(t, p, 6.3)).Other[0].Rejection.WithinTrip; w == nil || !*w {
		t.Errorf("60 Hz with a limit of 60: %v", w)
	}
}

// One unit stops, the other goes on: B alone is short of what the consumers take and A alone nearly meets it. From the second
// implementation, scaled by 8.4/8.43394: A alone gives 6.18433 kW, B alone 3.34552.
func TestOneUnitStops(t *testing.T) {
	f := facts(t, both(t, ternHollow(), 4.5))
	a, b := f.UnitStop[0], f.UnitStop[1]
	near(t, "A stops: B gives", a.GenerationKW, 3.34552, 1e-4)
	nearPtr(t, "short", a.ShortKW, 4.5-3.34552, 1e-4)
	if !a.Collapse || a.DumpedKW != nil || a.LoadRoomKW != 0 {
		t.Errorf("A stops: %+v", a)
	}
	near(t, "B stops: A gives", b.GenerationKW, 6.18433, 1e-4)
	nearPtr(t, "dumped", b.DumpedKW, 6.18433-4.5, 1e-4)
	nearPtr(t, "hertz", b.Hertz, 60, 0)
	near(t, "margin after it", b.Rejection.MarginKW, 8-6.18433, 1e-4)
	if len(f.UnitStop) != 2 {
		t.Errorf("%d rows", len(f.UnitStop))
	}
	in := both(t, ternHollow(), 4.5)
	in.Working = map[string]bool{"E2": false, "E3": false, "E4": false}
	if few := facts(t, in).UnitStop[1]; few.Hertz == nil || *few.Hertz != 60 {
		t.Errorf("1.7 kW fit in the one element left: %+v", few)
	}
	in.Working["E1"] = false
	if none := facts(t, in).UnitStop[1]; none.Hertz == nil || *none.Hertz <= 60 {
		t.Errorf("nothing takes the 1.7 kW, the consumers alone must: %+v", none)
	}
}

func TestOtherWaysOfRunning(t *testing.T) {
	f := facts(t, both(t, ternHollow(), 4.5))
	if len(f.Other) != 2 || f.Other[0].Run[0] != "A" || f.Other[1].Run[0] != "B" {
		t.Fatalf("%+v", f.Other)
	}
	near(t, "A alone", f.Other[0].GenerationKW, 6.20932, 1e-4)
	near(t, "its margin", f.Other[0].Rejection.MarginKW, 8-6.20932, 1e-4)
	alone := both(t, ternHollow(), 4.5)
	alone.Running, alone.Generation.KW = []string{"A"}, new(6.2)
	if other := facts(t, alone).Other; len(other) != 2 || len(other[1].Run) != 2 || other[1].Rejection.MarginKW > 0 {
		t.Errorf("starting B would overload the ballast: %+v", other)
	}
}

func TestWithoutAModelNothingIsSaidOfSettling(t *testing.T) {
	in := both(t, ternHollow(), 9)
	in.Model = nil
	f := facts(t, in)
	if f.Rejection.Hertz != nil || f.Overload.Hertz != nil || f.Overload.Collapse || f.UnitStop != nil || f.Other != nil {
		t.Errorf("%+v", f)
	}
	near(t, "margin", f.Rejection.MarginKW, -0.4, 1e-12)
}

// A level at which the model gives nothing leaves the settling out, with a word.
func TestNoPowerInTheModelIsSaid(t *testing.T) {
	in := both(t, ternHollow(), 6.3)
	in.PondLevelM = new(-20.0)
	f := facts(t, in)
	if f.Rejection.Hertz != nil || !strings.Contains(strings.Join(f.Cautions, "\n"), "not known") {
		t.Errorf("%+v, %q", f.Rejection, f.Cautions)
	}
}

// Whatever the readings: less ballast never means less speed, what is settled lies between rated speed and runaway, and the
// arithmetic of the contract holds.
func TestFewerElementsNeverSlowIt(t *testing.T) {
	kinds := []plant.Excitation{plant.Regulated, plant.BySpeed, plant.Capacitor}
	rapid.Check(t, func(t *rapid.T) {
		q := excite(ternHollow(), rapid.SampledFrom(kinds).Draw(t, "excitation"))
		m, err := steady.New(q)
		if err != nil {
			t.Fatal(err)
		}
		gen, load := rapid.Float64Range(0.1, 20).Draw(t, "generation"), rapid.Float64Range(0, 20).Draw(t, "load")
		in := Input{
			Plant: q, Model: m, Volts: new(rapid.Float64Range(150, 300).Draw(t, "volts")), PondLevelM: new(rapid.Float64Range(-1, 0.2).Draw(t, "level")),
			Running:    rapid.SampledFrom([][]string{{"A"}, {"B"}, {"A", "B"}}).Draw(t, "running"),
			Generation: Power{&gen, "meters"}, Load: Power{&load, "reading"}, Dumped: Power{new(gen - load), "load_dump"},
			Working: map[string]bool{"E1": rapid.Bool().Draw(t, "E1"), "E2": rapid.Bool().Draw(t, "E2")},
		}
		f, err := Ballast(in)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(*f.RemainingKW-(f.CapacityKW-*f.DumpedKW)) > 1e-12 || math.Abs(f.Rejection.MarginKW-(f.CapacityKW-gen)) > 1e-12 {
			t.Fatalf("%+v", f)
		}
		if h := *f.Rejection.Hertz; h < 60 || h > 60*1.7 {
			t.Fatalf("a rejection settles at %g Hz", h)
		}
		for _, row := range f.ElementOut {
			if *row.Hertz < *f.Rejection.Hertz-1e-6 || row.CapacityKW > f.CapacityKW {
				t.Fatalf("without %s: %g Hz, with it %g Hz", row.Element, *row.Hertz, *f.Rejection.Hertz)
			}
		}
		if o := f.Overload; o != nil && !o.Collapse && *o.Hertz > 60 {
			t.Fatalf("an overload speeds it up: %g Hz", *o.Hertz)
		}
		if f.Overload != nil && !f.Overload.Collapse && q.Units[0].Excitation == plant.Capacitor {
			t.Fatal("an overloaded induction machine kept its excitation")
		}
	})
}
