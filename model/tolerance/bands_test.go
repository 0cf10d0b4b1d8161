package tolerance_test

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/tolerance"
)

func at(v float64) *float64 { return &v }

func TestStateOfAValue(t *testing.T) {
	both := tolerance.Band{InMin: at(58.8), InMax: at(61.2), NearMin: at(57), NearMax: at(63)}
	upper := tolerance.Band{InMax: at(80), NearMax: at(95)}
	lower := tolerance.Band{InMin: at(-0.8), NearMin: at(-0.9)}
	noNear := tolerance.Band{InMin: at(1), InMax: at(2)}
	half := tolerance.Band{InMin: at(1), InMax: at(2), NearMax: at(3)}
	for _, c := range []struct {
		name string
		band tolerance.Band
		v    float64
		want tolerance.State
	}{
		{"middle", both, 60, tolerance.In},
		{"lower limit itself", both, 58.8, tolerance.In},
		{"just below the lower limit", both, math.Nextafter(58.8, 0), tolerance.Near},
		{"upper limit itself", both, 61.2, tolerance.In},
		{"just above the upper limit", both, math.Nextafter(61.2, 70), tolerance.Near},
		{"near limit itself", both, 63, tolerance.Near},
		{"beyond near", both, 63.01, tolerance.Out},
		{"below near", both, 56.99, tolerance.Out},
		{"one-sided, far on the open side", upper, -40, tolerance.In},
		{"one-sided, near", upper, 90, tolerance.Near},
		{"one-sided, out", upper, 95.5, tolerance.Out},
		{"lower only, far above", lower, 9, tolerance.In},
		{"lower only, near", lower, -0.85, tolerance.Near},
		{"lower only, out", lower, -1, tolerance.Out},
		{"near omitted: no near at all", noNear, 2.01, tolerance.Out},
		{"near given on one side: near there", half, 2.5, tolerance.Near},
		{"near given on one side: out on the other", half, 0.99, tolerance.Out},
		{"no number", both, math.NaN(), tolerance.Out},
		{"beyond all numbers", both, math.Inf(1), tolerance.Out},
		{"no limits", tolerance.Band{}, 1e9, tolerance.In},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := c.band.State(c.v); got != c.want {
				t.Errorf("%v is %s, want %s", c.v, got, c.want)
			}
		})
	}
}

func TestAPlantsOwnBandsComeFirst(t *testing.T) {
	b := tolerance.For(&plant.Plant{
		Supply: plant.Supply{Bands: "isolated", Volts: 240, Hertz: 60},
		Bands: []plant.Band{
			{Quantity: "volts", InMin: at(230), InMax: at(250), NearMin: at(225), NearMax: at(255), Source: "agreed"},
			{Quantity: "B.volts", InMin: at(100), InMax: at(110)},
			{Quantity: "bearing_c", InMax: at(60), NearMax: at(75), Source: "maker"},
			{Quantity: "kw", InMax: at(6)},
		},
	})
	for _, c := range []struct {
		key   quantity.Key
		v     float64
		want  tolerance.State
		found bool
		from  string
	}{
		{"volts", 229, tolerance.Near, true, "agreed"},
		{"A.volts", 229, tolerance.Near, true, "agreed"},
		{"B.volts", 105, tolerance.In, true, tolerance.OwnSource},
		{"B.volts", 240, tolerance.Out, true, tolerance.OwnSource},
		{"A.bearing_c", 70, tolerance.Near, true, "maker"},
		{"bearing_c", 20, tolerance.In, true, "maker"},
		{"B.kw", 6.1, tolerance.Out, true, tolerance.OwnSource},
		{"A.hertz", 60, tolerance.In, true, "EN 50160 (1999 to 2022 editions), no synchronous connection, ±2 %; near ±5 %, common practice"},
		{"pond_level_m", 0, "", false, ""},
		{"A.pressure_kpa", 130, "", false, ""},
		{"screen", 0, "", false, ""},
	} {
		t.Run(string(c.key), func(t *testing.T) {
			band, ok := b.For(c.key)
			if ok != c.found {
				t.Fatalf("found %v, want %v", ok, c.found)
			}
			if !ok {
				return
			}
			if got := band.State(c.v); got != c.want {
				t.Errorf("%v is %s, want %s", c.v, got, c.want)
			}
			if band.Source != c.from {
				t.Errorf("source %q, want %q", band.Source, c.from)
			}
		})
	}
}

func TestBearingsHaveNoBuiltInBand(t *testing.T) {
	for _, name := range plant.BandSets() {
		b := tolerance.For(&plant.Plant{Supply: plant.Supply{Bands: name, Volts: 240, Hertz: 60}})
		if band, ok := b.For("bearing_c"); ok {
			t.Errorf("%s judges bearings by %v", name, band)
		}
	}
}

func TestBandAroundTheExpectedValue(t *testing.T) {
	// By hand from the contract's rule: within max(3 reading errors, 3 %) is in, within twice that is near.
	for _, c := range []struct {
		name                      string
		expected, readingError, m float64
	}{
		{"3 % is more", 130, 1, 3.9},
		{"3 reading errors are more", 20, 1, 3},
		{"suction", -130, 1, 3.9},
		{"nothing expected", 0, 0.5, 1.5},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := tolerance.Around(c.expected, c.readingError)
			for _, x := range []struct {
				off  float64
				want tolerance.State
			}{{0, tolerance.In}, {0.99, tolerance.In}, {-0.99, tolerance.In}, {1.01, tolerance.Near}, {-1.01, tolerance.Near},
				{1.99, tolerance.Near}, {2.01, tolerance.Out}, {-2.01, tolerance.Out}} {
				if got := b.State(c.expected + x.off*c.m); got != x.want {
					t.Errorf("%v of the margin off: %s, want %s", x.off, got, x.want)
				}
			}
		})
	}
}

func TestLimitsAsJSON(t *testing.T) {
	for _, c := range []struct {
		name string
		band tolerance.Band
		want string
	}{
		{"both sides", tolerance.Band{InMin: at(58.8), InMax: at(61.2), NearMin: at(57), NearMax: at(63), Source: "s"},
			`{"in":[58.8,61.2],"near":[57,63],"source":"s"}`},
		{"near omitted is in", tolerance.Band{InMin: at(1), InMax: at(2)}, `{"in":[1,2],"near":[1,2]}`},
		{"upper only", tolerance.Band{InMax: at(80), NearMax: at(95)}, `{"in_max":80,"near_max":95}`},
		{"lower only, zero is a limit", tolerance.Band{InMin: at(0), NearMin: at(-1)}, `{"in_min":0,"near_min":-1}`},
		{"upper only, near omitted", tolerance.Band{InMax: at(80)}, `{"in_max":80,"near_max":80}`},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := json.Marshal(c.band.Limits())
			if err != nil {
				t.Fatal(err)
			}
			if string(got) != c.want {
				t.Errorf("got %s, want %s", got, c.want)
			}
		})
	}
}

func TestLimitsStandBesideOtherKeys(t *testing.T) {
	got, err := json.Marshal(struct {
		Quantity string `json:"quantity"`
		tolerance.Limits
	}{"hertz", tolerance.Band{InMin: at(1), InMax: at(2)}.Limits()})
	if err != nil {
		t.Fatal(err)
	}
	if want := `{"quantity":"hertz","in":[1,2],"near":[1,2]}`; string(got) != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

func anyBand(t *rapid.T) tolerance.Band {
	v := rapid.Float64Range(-1e6, 1e6)
	maybe := rapid.Bool()
	var b tolerance.Band
	mid, a, c := v.Draw(t, "lower"), rapid.Float64Range(0, 100).Draw(t, "width"), rapid.Float64Range(0, 50).Draw(t, "margin")
	if maybe.Draw(t, "has lower") {
		b.InMin = at(mid)
		if maybe.Draw(t, "has near lower") {
			b.NearMin = at(mid - c)
		}
	}
	if maybe.Draw(t, "has upper") {
		b.InMax = at(mid + a)
		if maybe.Draw(t, "has near upper") {
			b.NearMax = at(mid + a + c)
		}
	}
	return b
}

func TestJSONThereAndBackJudgesTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := anyBand(t)
		text, err := json.Marshal(b.Limits())
		if err != nil {
			t.Fatal(err)
		}
		var l tolerance.Limits
		if err := json.Unmarshal(text, &l); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(b.Limits(), l.Band().Limits()); diff != "" {
			t.Fatalf("there and back: %s", diff)
		}
		v := rapid.Float64Range(-1e6, 1e6).Draw(t, "value")
		if b.State(v) != l.Band().State(v) {
			t.Fatalf("%v is %s before, %s after", v, b.State(v), l.Band().State(v))
		}
	})
}

// Moving away from a value that is in, a state only ever gets worse: in, near, out.
func TestStatesOnlyGetWorseOutwards(t *testing.T) {
	rank := map[tolerance.State]int{tolerance.In: 0, tolerance.Near: 1, tolerance.Out: 2}
	rapid.Check(t, func(t *rapid.T) {
		b := anyBand(t)
		start := 0.0
		switch {
		case b.InMin != nil:
			start = *b.InMin
		case b.InMax != nil:
			start = *b.InMax
		}
		dir := rapid.SampledFrom([]float64{-1, 1}).Draw(t, "direction")
		last := rank[b.State(start)]
		if last != 0 {
			t.Fatalf("the limit %v itself is not in", start)
		}
		for d := 0.5; d < 300; d *= 1.5 {
			r := rank[b.State(start+dir*d)]
			if r < last {
				t.Fatalf("better again at %v from %v", d, start)
			}
			last = r
		}
	})
}

// The same share of any nominal value has the same state.
func TestSetsScaleWithTheNominalValue(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		set := rapid.SampledFrom(tolerance.Sets()).Draw(t, "set")
		nominal := rapid.Float64Range(12, 20000).Draw(t, "nominal")
		share := rapid.Float64Range(0.7, 1.3).Draw(t, "share")
		ref := set.Volts(240)
		for _, limit := range []*float64{ref.InMin, ref.InMax, ref.NearMin, ref.NearMax} {
			if math.Abs(share*240-*limit) < 1e-6 {
				t.Skip("at a limit rounding may decide")
			}
		}
		if a, b := ref.State(share*240), set.Volts(nominal).State(share*nominal); a != b {
			t.Fatalf("%s: %v of 240 V is %s, of %v V %s", set.Name, share, a, nominal, b)
		}
	})
}
