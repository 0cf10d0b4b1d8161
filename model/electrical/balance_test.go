package electrical

import (
	"math"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/plant/planttest"
	"example.org/headpond/model/steady"
)

// anyInput draws readings of any plant, the generation any way from the model's.
func anyInput(t *rapid.T) (Input, *steady.Model) {
	p := planttest.Random(t)
	m, err := steady.New(p)
	if err != nil {
		t.Fatal(err)
	}
	in := Input{Plant: p, Model: m, Running: planttest.Running(t, p), PondLevelM: new(planttest.Level(t)), Working: map[string]bool{}}
	r, err := m.Solve(steady.Case{PondLevelM: *in.PondLevelM, Running: in.Running})
	if err != nil {
		t.Fatal(err)
	}
	gen := r.CommonKW * rapid.Float64Range(0.5, 1.5).Draw(t, "generation over the model's")
	load := gen * rapid.Float64Range(0, 1.6).Draw(t, "load over generation")
	in.Generation, in.Load, in.Dumped = Power{&gen, "meters"}, Power{&load, "meters"}, Power{new(gen - load), "load_dump"}
	for _, e := range p.Ballast.Elements {
		in.Working[e.Name] = rapid.IntRange(0, 4).Draw(t, "works now") > 0
	}
	if rapid.Bool().Draw(t, "volts read") {
		in.Volts = new(p.Supply.Volts * rapid.Float64Range(0.7, 1.3).Draw(t, "volts over rated"))
	}
	return in, m
}

// settledPower is what the sets give at a settled frequency, worked out again from the solver itself.
func settledPower(t *rapid.T, in Input, m *steady.Model, hertz float64) float64 {
	kw := func(n float64) float64 {
		c := steady.Case{PondLevelM: *in.PondLevelM, Running: in.Running, ScreenClear: in.ScreenClear, WaterC: in.WaterC, Speed: n}
		r, err := m.Solve(c)
		if err != nil {
			t.Fatal(err)
		}
		return r.CommonKW
	}
	return kw(hertz/in.Plant.Supply.Hertz) * *in.Generation.KW / kw(1)
}

// A full rejection settles where what the sets give is what the ballast takes (model.md, Controller): at rated frequency where that
// is enough, else above it, or at runaway where nothing takes anything. Checked on any plant by putting the settled speed back
// into the solver, which is not how it was found.
func TestARejectionSettlesWhereThePowersMeet(t *testing.T) {
	above := 0
	rapid.Check(t, func(t *rapid.T) {
		in, m := anyInput(t)
		f, err := Ballast(in)
		if err != nil {
			t.Fatal(err)
		}
		finite(t, "facts", reflect.ValueOf(*f))
		if f.Rejection == nil || f.Rejection.Hertz == nil {
			return
		}
		hz, nominal := *f.Rejection.Hertz, in.Plant.Supply.Hertz
		volts := 1.0
		if !held(in) {
			volts = hz / nominal
		}
		elements := in.elementsKW(in.Plant.Supply.Volts, "")
		takes, _ := Limit(elements*volts*volts, in.Plant.Ballast.ControllerKW)
		gives := settledPower(t, in, m, hz)
		tolerance := 1e-6 * (1 + *in.Generation.KW)
		switch {
		case hz < nominal:
			t.Fatalf("consumers drop off and it slows down to %g Hz", hz)
		case hz == nominal && gives > takes+tolerance:
			t.Fatalf("at rated frequency the sets give %g kW and the ballast takes %g", gives, takes)
		case f.Rejection.Runaway && gives > tolerance*100:
			t.Fatalf("runaway at %g Hz with %g kW", hz, gives)
		case hz > nominal && !f.Rejection.Runaway:
			above++
			if math.Abs(gives-takes) > tolerance && gives > takes { // beyond a measured set's runaway its power jumps to nothing
				t.Fatalf("at %g Hz the sets give %g kW, the ballast takes %g", hz, gives, takes)
			}
		}
		if v := *f.Rejection.Volts; math.Abs(v-in.Plant.Supply.Volts*volts) > 1e-9*v {
			t.Fatalf("%g V at %g Hz", v, hz)
		}
	})
	if above == 0 {
		t.Error("no rejection ever went above rated frequency")
	}
}

// held reports whether the voltage of the running common sets is held by a regulator.
func held(in Input) bool {
	for _, id := range in.Running {
		if u, ok := in.Plant.UnitByID(id); ok && u.Common() && u.Excitation == plant.Regulated {
			return true
		}
	}
	return false
}

// An overload settles below rated frequency where what the sets give is what the consumers take, V²/R of them; or it collapses,
// and then no lower speed has a balance.
func TestAnOverloadSettlesWhereThePowersMeet(t *testing.T) {
	met, lost := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		in, m := anyInput(t)
		load := *in.Generation.KW * rapid.Float64Range(1.02, 1.6).Draw(t, "overload")
		in.Load, in.Dumped = Power{&load, "meters"}, Power{new(*in.Generation.KW - load), "load_dump"}
		f, err := Ballast(in)
		if err != nil {
			t.Fatal(err)
		}
		o := f.Overload
		if o == nil || o.Hertz == nil && !o.Collapse {
			return
		}
		wanted := func(n float64) float64 {
			if held(in) {
				return *in.Load.KW
			}
			return *in.Load.KW * n * n
		}
		tolerance := 1e-6 * (1 + *in.Load.KW)
		nominal := in.Plant.Supply.Hertz
		if o.Collapse {
			lost++
			if !held(in) {
				return // an induction machine's excitation
			}
			for n := regulatorHolds; n < 1; n += 0.01 {
				if gives := settledPower(t, in, m, n*nominal); gives > wanted(n)+tolerance {
					t.Fatalf("said to collapse, yet at %g times rated speed the sets give %g kW of %g", n, gives, wanted(n))
				}
			}
			return
		}
		met++
		if *o.Hertz > nominal {
			t.Fatalf("an overload speeds it up to %g Hz", *o.Hertz)
		}
		if gives := settledPower(t, in, m, *o.Hertz); math.Abs(gives-wanted(*o.Hertz/nominal)) > tolerance {
			t.Fatalf("at %g Hz the sets give %g kW, the consumers take %g", *o.Hertz, gives, wanted(*o.Hertz/nominal))
		}
	})
	if met == 0 || lost == 0 { // of a hundred overloads on as many plants
		t.Errorf("%d overloads settled and %d collapsed: both should be seen", met, lost)
	}
}

// The contract's arithmetic, on any plant: nothing is clamped but the load room, and an element that is out takes its own power away.
func TestTheContractsArithmeticHoldsOnAnyPlant(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in, _ := anyInput(t)
		f, err := Ballast(in)
		if err != nil {
			t.Fatal(err)
		}
		volts := in.Plant.Supply.Volts
		if in.Volts != nil {
			volts = *in.Volts
		}
		sum, rated, working := 0.0, 0.0, 0
		for _, e := range in.Plant.Ballast.Elements {
			rated += e.RatedKW
			if in.Working[e.Name] {
				sum += e.RatedKW * volts * volts / (e.RatedVolts * e.RatedVolts)
				working++
			}
		}
		by, capacity := ByElements, sum
		if c := in.Plant.Ballast.ControllerKW; c != nil && *c < sum {
			by, capacity = ByController, *c
		}
		same := func(what string, got, want float64) {
			if math.Abs(got-want) > 1e-9*(1+math.Abs(want)) {
				t.Fatalf("%s: %g, expected %g", what, got, want)
			}
		}
		same("rated_kw", f.RatedKW, rated)
		same("capacity_kw", f.CapacityKW, capacity)
		same("remaining_kw", *f.RemainingKW, capacity-*in.Dumped.KW)
		same("load_room_kw", *f.LoadRoomKW, math.Max(0, *in.Dumped.KW))
		same("margin_kw", f.Rejection.MarginKW, capacity-*in.Generation.KW)
		if len(f.ElementOut) != working || math.Abs(sum-capacity) > 1e-9*(1+sum) && f.LimitedBy != by {
			t.Fatalf("%d rows of elements out for %d working; limited by %s, expected %s", len(f.ElementOut), working, f.LimitedBy, by)
		}
		for _, l := range f.LoadsThatFit {
			if l.Fits != (l.Why == WhyOK) || l.Fits && l.KW > *f.LoadRoomKW {
				t.Fatalf("%+v with room for %g kW", l, *f.LoadRoomKW)
			}
		}
	})
}

// finite fails on any number in v that is NaN or infinite: JSON has no word for them.
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
			if v.Type().Field(i).IsExported() {
				finite(t, path+"."+v.Type().Field(i).Name, v.Field(i))
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			finite(t, path, v.Index(i))
		}
	default:
	}
}
