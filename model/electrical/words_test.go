package electrical

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/plant/planttest"
)

// What a rejection does in words, each case once; hertz of the second implementation behind TestRegulatedRejection.
func TestRejectionInWords(t *testing.T) {
	small := func(kw, controller float64) *plant.Plant {
		p := ternHollow()
		p.Ballast.ControllerKW = &controller
		for i := range p.Ballast.Elements {
			p.Ballast.Elements[i].RatedKW = kw / 4
		}
		return p
	}
	for _, c := range []struct {
		name   string
		p      *plant.Plant
		change func(in *Input)
		words  string
		speeds bool
	}{
		{"it takes all", small(12, 12), nil, "", false},
		{"short within the trips", ternHollow(), nil, "if all consumers dropped off now the ballast would be 0.4 kW short: the sets would speed up to about 66 Hz", true},
		{"short beyond the trips", small(6, 8), nil, "if all consumers dropped off now the ballast would be 2.4 kW short: the sets would speed up to about 77 Hz, beyond the trip settings", true},
		{"hardly short", small(8.37, 9), nil, "if all consumers dropped off now the ballast would take just about all, with nothing to spare", false},
		{"short at a low voltage alone", small(9, 9), func(in *Input) { in.Volts = new(220.0) }, "at the voltage that was read the ballast would be 0.8 kW short; back at the rated voltage it takes all", false},
		{"enough at a high voltage alone", small(8, 12), func(in *Input) { in.Volts = new(262.0) }, "at the voltage that was read the ballast would take all consumers' power; back at the rated voltage it would not, and the sets would speed up to about", true},
		{"nothing takes it", ternHollow(), func(in *Input) { in.Working = map[string]bool{"E1": false, "E2": false, "E3": false, "E4": false} },
			"if all consumers dropped off now nothing would take the power: the sets would run up to about 92 Hz, beyond the trip settings", true},
		{"without a model", small(6, 8), func(in *Input) { in.Model = nil }, "if all consumers dropped off now the ballast would be 2.4 kW short: the sets would speed up", true},
		{"nothing is generated", ternHollow(), func(in *Input) { in.Generation.KW, in.Running = new(0.0), []string{} }, "", false},
		{"it is not known", ternHollow(), func(in *Input) { in.Generation.KW = nil }, "", false},
	} {
		in := both(t, c.p, 6.3)
		if c.change != nil {
			c.change(&in)
		}
		f := facts(t, in)
		words, speeds := f.RejectionWords()
		if words != c.words && !(strings.HasSuffix(c.words, "about") && strings.HasPrefix(words, c.words)) || speeds != c.speeds {
			t.Errorf("%s: %q, %v; expected %q, %v", c.name, words, speeds, c.words, c.speeds)
		}
		if words != "" && !strings.Contains(strings.Join(f.Cautions, "\n"), words) {
			t.Errorf("%s: the cautions say it otherwise: %q", c.name, f.Cautions)
		}
	}
}

func TestOverloadInWords(t *testing.T) {
	for _, c := range []struct {
		name  string
		p     *plant.Plant
		load  float64
		words string
	}{
		{"none", ternHollow(), 6.3, ""},
		{"none that shows", ternHollow(), 8.44, ""},
		{"regulated", ternHollow(), 9, "overload: consumers take 0.6 kW more than is generated, so the supply is lost"},
		{"the voltage follows the speed", excite(ternHollow(), plant.BySpeed), 9, "overload: consumers take 0.6 kW more than is generated, so the frequency falls to about 58 Hz"},
		{"an induction machine", excite(ternHollow(), plant.Capacitor), 9, "overload: consumers take 0.6 kW more than is generated, so the excitation is lost and the sets run up"},
	} {
		if got := facts(t, both(t, c.p, c.load)).OverloadWords(); got != c.words {
			t.Errorf("%s: %q, expected %q", c.name, got, c.words)
		}
	}
	in := both(t, ternHollow(), 9)
	in.Model = nil
	if got := facts(t, in).OverloadWords(); got != "overload: consumers take 0.6 kW more than is generated" {
		t.Errorf("without a model: %q", got)
	}
}

// A power of less than half a tenth of a kW is shown as 0.0, and a shortage of it is none.
func TestWhatShows(t *testing.T) {
	for kw, want := range map[float64]bool{-1: false, 0: false, 0.049: false, 0.05: true, 3: true} {
		if Shows(kw) != want {
			t.Errorf("%g kW shows: %v", kw, !want)
		}
	}
}

// No word of caution on any plant holds a shortage of nothing, a number that is none, or metres on a plant in feet.
func TestCautionsOfAnyPlant(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in, _ := anyInput(t)
		if rapid.Bool().Draw(t, "no level") {
			in.PondLevelM = nil
		}
		f, err := Ballast(in)
		if err != nil {
			t.Fatal(err)
		}
		seen := map[string]bool{}
		for _, s := range f.Cautions {
			if strings.Contains(s, " 0.0 kW") || strings.Contains(s, "NaN") || strings.Contains(s, "%!") || strings.Contains(s, "Inf") || seen[s] {
				t.Fatalf("%q in %q", s, f.Cautions)
			}
			if in.Plant.Site.Units == "us" && strings.Contains(s, " m, is taken") {
				t.Fatalf("metres on a plant in feet: %q", s)
			}
			seen[s] = true
		}
	})
}

// One unit stops: what goes on is what the model gives for the rest, and what the consumers then lack or leave adds up.
func TestUnitStopsOfAnyPlant(t *testing.T) {
	rows := 0
	rapid.Check(t, func(t *rapid.T) {
		in, _ := anyInput(t)
		f, err := Ballast(in)
		if err != nil {
			t.Fatal(err)
		}
		for _, u := range f.UnitStop {
			rows++
			left := u.GenerationKW - *in.Load.KW
			switch {
			case (u.DumpedKW == nil) == (u.ShortKW == nil):
				t.Fatalf("both or neither: %+v", u)
			case u.DumpedKW != nil && (math.Abs(*u.DumpedKW-left) > 1e-9*(1+math.Abs(left)) || u.LoadRoomKW != *u.DumpedKW):
				t.Fatalf("%g kW left, %+v", left, u)
			case u.ShortKW != nil && (math.Abs(*u.ShortKW+left) > 1e-9*(1+math.Abs(left)) || u.LoadRoomKW != 0):
				t.Fatalf("%g kW left, %+v", left, u)
			case u.Hertz != nil && u.ShortKW != nil && *u.Hertz > in.Plant.Supply.Hertz*(1+1e-12):
				t.Fatalf("too little, and it speeds up: %+v", u)
			case u.Hertz != nil && u.DumpedKW != nil && *u.Hertz < in.Plant.Supply.Hertz*(1-1e-12):
				t.Fatalf("enough, and it slows down: %+v", u)
			}
		}
	})
	if rows == 0 {
		t.Error("no unit ever stopped")
	}
}

// A load judged alone, against the contract's sentence written as it reads.
func TestAnyLoadFitsAsTheContractSays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := func(what string) float64 { return rapid.Float64Range(0, 20).Draw(t, what) }
		l := plant.Load{Name: "any", KW: in("kw")}
		if rapid.Bool().Draw(t, "motor") {
			l.StartKVA = new(in("start_kva"))
		}
		room, load, kva := in("room"), in("load"), in("rated kVA")
		kind := rapid.SampledFrom([]plant.Excitation{plant.Regulated, plant.BySpeed, plant.Capacitor}).Draw(t, "kind")
		start := l.KW
		if l.StartKVA != nil {
			start = *l.StartKVA
		}
		fits := l.KW <= room && load+start <= 1.5*kva && (kind != plant.Capacitor || l.StartKVA == nil || start <= room)
		got := Fit(l, room, load, kva, kind)
		if got.Fits != fits || got.Fits != (got.Why == WhyOK) || !got.Fits && l.KW > room && got.Why != WhyRoom {
			t.Fatalf("%+v with %g kW of room, %g kW used, %g kVA, %s", got, room, load, kva, kind)
		}
	})
}

// More working elements never make a suspicion where there was none, and a suspicion names working elements of about the size.
func TestSuspicionsOfAnyPlant(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := planttest.Random(t)
		volts := p.Supply.Volts * rapid.Float64Range(0.9, 1.1).Draw(t, "volts")
		working := map[string]bool{}
		total := 0.0
		for _, e := range p.Ballast.Elements {
			working[e.Name] = rapid.IntRange(0, 3).Draw(t, "works") > 0
			if working[e.Name] {
				total += ElementKW(e.RatedKW, e.RatedVolts, volts)
			}
		}
		m := Missing{By: ByBalance, KW: rapid.Float64Range(-1, 1).Draw(t, "missing") * total, ErrKW: 0.01 * total, Duty: rapid.Float64Range(0, 1).Draw(t, "duty"), SpareKW: 0.01 * total}
		s := SuspectOf(p, working, volts, m)
		if s == nil {
			return
		}
		if m.KW <= SuspectSigmas*math.Hypot(m.ErrKW, m.SpareKW) || s.Count < 1 || s.Count > 2 || len(s.Elements) < s.Count || s.Which() == "" {
			t.Fatalf("%+v from %+v", s, m)
		}
		for _, name := range s.Elements {
			e, ok := p.ElementByName(name)
			if !ok || !working[name] {
				t.Fatalf("%s does not work", name)
			}
			if takes := ElementKW(e.RatedKW, e.RatedVolts, volts); s.Count == 1 && math.Abs(takes-s.LostKW) > 2*math.Hypot(s.ErrKW, HeaterError(takes))*(1+1e-9) {
				t.Fatalf("%s takes %g kW, %g are lost", name, takes, s.LostKW)
			}
		}
	})
}
