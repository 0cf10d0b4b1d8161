package electrical

import (
	"bytes"
	"encoding/json"
	"flag"
	"math"
	"os"
	"regexp"
	"strconv"
	"testing"
	"time"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/steady"

	"pgregory.net/rapid"
)

var update = flag.Bool("update", false, "rewrite the golden file")

// The whole object for the example plant, so that a change of any key, word or number shows. Its numbers are worked by hand or
// by a second implementation in the other tests; here they are rounded to six digits.
func TestWholeObject(t *testing.T) {
	in := both(t, ternHollow(), 6.3)
	in.At = time.Date(2024, 10, 3, 18, 30, 0, 0, time.FixedZone("", -3*3600))
	in.Working = map[string]bool{"E3": false}
	text, err := json.MarshalIndent(facts(t, in), "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	number := regexp.MustCompile(`-?\d+\.\d{4,}(e-?\d+)?`)
	got := number.ReplaceAllFunc(text, func(b []byte) []byte {
		v, err := strconv.ParseFloat(string(b), 64)
		if err != nil {
			t.Fatal(err)
		}
		return strconv.AppendFloat(nil, v, 'g', 6, 64)
	})
	got = append(got, '\n')
	const path = "testdata/ballast.golden"
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, bytes.ReplaceAll(want, []byte("\r\n"), []byte("\n"))) {
		t.Errorf("%s is stale; look at the difference and run with -update:\n%s", path, got)
	}
}

// Wherever a rejection settles, the solver's own power at that speed, scaled to the generation, is what the ballast takes there.
func TestSettledPowersBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom([]plant.Excitation{plant.Regulated, plant.BySpeed}).Draw(t, "excitation")
		p := excite(ternHollow(), kind)
		p.Ballast.ControllerKW = nil
		m, err := steady.New(p)
		if err != nil {
			t.Fatal(err)
		}
		c := steady.Case{PondLevelM: rapid.Float64Range(-0.9, 0.1).Draw(t, "level"), Running: []string{"A", "B"}}
		gen := rapid.Float64Range(8.1, 12).Draw(t, "generation")
		f, err := Ballast(Input{Plant: p, Model: m, Generation: Power{&gen, "meters"}, Running: c.Running, PondLevelM: &c.PondLevelM})
		if err != nil {
			t.Fatal(err)
		}
		n := *f.Rejection.Hertz / 60
		c.Speed = 1
		rated, err := m.Solve(c)
		if err != nil {
			t.Fatal(err)
		}
		c.Speed = n
		fast, err := m.Solve(c)
		if err != nil {
			t.Fatal(err)
		}
		takes := 8.0
		if kind == plant.BySpeed {
			takes *= n * n
		}
		if gives := gen * fast.CommonKW / rated.CommonKW; n <= 1 || math.Abs(gives-takes) > 1e-6 {
			t.Fatalf("at %g Hz the sets give %g kW and the ballast takes %g", 60*n, gives, takes)
		}
	})
}
