package electrical

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
)

// ladder is a ballast of three sizes.
func ladder() *plant.Plant {
	return &plant.Plant{Supply: plant.Supply{Volts: 240, Hertz: 60}, Ballast: plant.Ballast{Elements: []plant.Element{
		{Name: "small", RatedKW: 1, RatedVolts: 240, Working: true}, {Name: "middle", RatedKW: 2, Working: true}, {Name: "large", RatedKW: 4, RatedVolts: 240, Working: true},
	}}}
}

// By hand, with an error of 0.05 kW: at half duty 1 kW is missing of an element of 2 kW. At 228 V that element takes
// 2·(228/240)² = 1.805 kW. 5 kW together are the large and the small one; 1.5 kW are none.
func TestAMissingPowerIsSizedAgainstTheElements(t *testing.T) {
	for _, c := range []struct {
		name  string
		volts float64
		m     Missing
		which string // "" for none
	}{
		{"half duty", 240, Missing{By: ByBalance, KW: 1, ErrKW: 0.05, Duty: 0.5}, "middle"},
		{"full duty at a lower voltage", 228, Missing{By: ByFrequency, KW: 1.805, ErrKW: 0.05, Duty: 1}, "middle"},
		{"two", 240, Missing{By: ByBalance, KW: 5, ErrKW: 0.05, Duty: 1}, "small and large"},
		{"two are not told by the frequency", 240, Missing{By: ByFrequency, KW: 5, ErrKW: 0.05, Duty: 1}, ""},
		{"no such size", 240, Missing{By: ByBalance, KW: 1.5, ErrKW: 0.05, Duty: 1}, ""},
		{"too small for the gauges", 240, Missing{By: ByBalance, KW: 1, ErrKW: 0.34, Duty: 1}, ""},
		{"too small for the heaters", 240, Missing{By: ByBalance, KW: 1, ErrKW: 0.05, Duty: 1, SpareKW: 0.34}, ""},
		{"hardly on", 240, Missing{By: ByBalance, KW: 0.1, ErrKW: 0.001, Duty: 0.05}, ""},
		{"a wide error fits more than one", 240, Missing{By: ByBalance, KW: 1.5, ErrKW: 0.4, Duty: 1}, "small or middle"},
		{"no number", 240, Missing{By: ByBalance, KW: math.NaN(), ErrKW: 0.05, Duty: 1}, ""},
	} {
		s := SuspectOf(ladder(), nil, c.volts, c.m)
		switch {
		case c.which == "" && s != nil:
			t.Errorf("%s: %+v", c.name, s)
		case c.which != "" && (s == nil || s.Which() != c.which || math.Abs(s.LostKW-c.m.KW/c.m.Duty) > 1e-12):
			t.Errorf("%s: %+v, want %s", c.name, s, c.which)
		}
	}
	if s := SuspectOf(ladder(), map[string]bool{"middle": false}, 240, Missing{By: ByBalance, KW: 2, ErrKW: 0.05, Duty: 1}); s != nil {
		t.Errorf("an element that is known to be dead is suspected: %+v", s)
	}
}

func TestWhichElements(t *testing.T) {
	for want, s := range map[string]Suspect{
		"E1":                      {Count: 1, Elements: []string{"E1"}},
		"E1 or E2":                {Count: 1, Elements: []string{"E1", "E2"}},
		"E1, E2 or E3":            {Count: 1, Elements: []string{"E1", "E2", "E3"}},
		"E1 and E2":               {Count: 2, Elements: []string{"E1", "E2"}},
		"two of E1, E2 and E3":    {Count: 2, Elements: []string{"E1", "E2", "E3"}},
		"two of E1, E2, E3 and E": {Count: 2, Elements: []string{"E1", "E2", "E3", "E"}},
	} {
		if got := s.Which(); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// Whatever is missing, a suspicion is only ever of working elements, never within the errors, and never without a size that
// fits; and the power of a truly dead element, read without error, is always put down to one of its size.
func TestSuspicionsAreOfWorkingElementsOfTheSize(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := &plant.Plant{Supply: plant.Supply{Volts: 230, Hertz: 50}}
		n := rapid.IntRange(1, 8).Draw(t, "elements")
		for i := range n {
			p.Ballast.Elements = append(p.Ballast.Elements, plant.Element{Name: string(rune('a' + i)), RatedKW: rapid.Float64Range(0.2, 6).Draw(t, "kW"), Working: true})
		}
		dead := rapid.IntRange(0, n-1).Draw(t, "dead")
		volts := rapid.Float64Range(200, 250).Draw(t, "volts")
		duty := rapid.Float64Range(0.1, 1).Draw(t, "duty")
		takes := ElementKW(p.Ballast.Elements[dead].RatedKW, 230, volts)
		s := SuspectOf(p, nil, volts, Missing{By: ByBalance, KW: takes * duty, ErrKW: takes * duty * rapid.Float64Range(0, 0.3).Draw(t, "error"), Duty: duty})
		if s == nil || s.Count != 1 || !strings.Contains(strings.Join(s.Elements, ""), p.Ballast.Elements[dead].Name) {
			t.Fatalf("element %d of %+v: %+v", dead, p.Ballast.Elements, s)
		}
		any := Missing{By: ByBalance, KW: rapid.Float64Range(-5, 20).Draw(t, "missing"), ErrKW: rapid.Float64Range(0, 2).Draw(t, "err"), Duty: rapid.Float64Range(0, 1).Draw(t, "any duty")}
		if s := SuspectOf(p, nil, volts, any); s != nil && (any.KW <= SuspectSigmas*any.ErrKW || len(s.Elements) < s.Count || math.IsNaN(s.LostKW+s.ErrKW)) {
			t.Fatalf("%+v: %+v", any, s)
		}
	})
}

func BenchmarkSuspectOf(b *testing.B) {
	p := ladder()
	for b.Loop() {
		SuspectOf(p, nil, 240, Missing{By: ByBalance, KW: 5, ErrKW: 0.05, Duty: 1})
	}
}
