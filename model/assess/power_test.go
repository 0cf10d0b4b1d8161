package assess

import (
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/steady"
)

var noon = time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)

// bench is a plant with two common-bus sets and one on its own bus, and four 2 kW elements on 240 V.
func bench(t testing.TB) *plant.Plant {
	t.Helper()
	text := `
[site]
name = "Tern Hollow bench"
timezone = "America/Halifax"
units = "metric"
[supply]
volts = 240
hertz = 60
[pond]
stage = [[-1.6, 8000], [0.0, 74000], [0.4, 81000]]
[intake]
centreline_m = -1.55
diameter_m = 0.35
screen_m2 = 1.4
open_share = 0.4
[[penstock]]
name = "main"
length_m = 210
diameter_m = 0.30
roughness_mm = 0.01
minor_k = 2.1
`
	for _, u := range []string{`id = "A"
rated_kw = 6
rated_kva = 8
best_flow_lps = 76
best_head_m = 13.1`, `id = "B"
rated_kw = 3
rated_kva = 4
best_flow_lps = 40
best_head_m = 13.1`, `id = "W"
bus = "own"
rated_kw = 1
rated_kva = 1.5
best_flow_lps = 14
best_head_m = 13.1`} {
		text += "[[unit]]\n" + u + `
name = "set"
penstock = "main"
axis_m = -14.6
best_efficiency = 0.68
generator_efficiency = 0.86
runaway_ratio = 1.5
excitation = "regulated"
`
	}
	text += "[ballast]\ncontroller_kw = 8\nshare_of = \"generation\"\n"
	for _, n := range []string{"E1", "E2", "E3", "E4"} {
		text += "[[ballast.element]]\nname = \"" + n + "\"\nrated_kw = 2\nrated_volts = 240\n"
	}
	p, err := plant.Parse("bench.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func history(p *plant.Plant, running *[]string, values map[quantity.Key]float64) *record.History {
	return &record.History{At: noon, Plant: p, Rounds: []record.Round{{Time: noon, Running: running, Values: values}}}
}

// solved is the power that the solver gives for the bench's common-bus sets, which the balance must take over unchanged.
func solved(t testing.TB, p *plant.Plant, levelM float64, running ...string) float64 {
	t.Helper()
	m, err := steady.New(p)
	if err != nil {
		t.Fatal(err)
	}
	res, err := m.Solve(steady.Case{PondLevelM: levelM, Running: running})
	if err != nil {
		t.Fatal(err)
	}
	return res.CommonKW
}

type vals = map[quantity.Key]float64

func TestPowerTakesTheFirstCompleteWay(t *testing.T) {
	model := solved(t, bench(t), -0.2, "A", "B", "W")
	both := &[]string{"A", "B", "W"}
	for _, c := range []struct {
		name             string
		share            plant.ShareOf
		running          *[]string
		values           vals
		gen, dump, load  float64 // NaN: must be absent
		genF, dumpF, ldF From
	}{
		{name: "every running set's meter comes first", running: both,
			values: vals{"A.kw": 5.6, "B.kw": 2.4, "load_kw": 3, "dump_kw": 5.1}, gen: 8, genF: FromMeters, dump: 5.1, dumpF: FromMeters, load: 3, ldF: FromMeters},
		{name: "one meter unread: load and dumped power", running: both,
			values: vals{"A.kw": 5.6, "load_kw": 3, "dump_kw": 5.1}, gen: 8.1, genF: FromLoadDump, dump: 5.1, dumpF: FromMeters, load: 3, ldF: FromMeters},
		{name: "load and share of the generation: 3 / (1 - 0.4)", running: both,
			values: vals{"load_kw": 3, "dump_share_pct": 40}, gen: 5, genF: FromLoadShare, dump: 2, dumpF: FromLoadShare, load: 3, ldF: FromMeters},
		{name: "load and share of the ballast at 252 V: 3 + 0.4 x 8 x 1.1025", share: plant.ShareOfBallast, running: both,
			values: vals{"load_kw": 3, "dump_share_pct": 40, "volts": 252}, gen: 6.528, genF: FromLoadShare, dump: 3.528, dumpF: FromLoadShare, load: 3, ldF: FromMeters},
		{name: "the same with no voltage read is at rated volts", share: plant.ShareOfBallast, running: both,
			values: vals{"load_kw": 3, "dump_share_pct": 40}, gen: 6.2, genF: FromLoadShare, dump: 3.2, dumpF: FromLoadShare, load: 3, ldF: FromMeters},
		{name: "a share of 96 % is ill-conditioned: the model's value", running: both,
			values: vals{"load_kw": 0.2, "dump_share_pct": 96, "pond_level_m": -0.2}, gen: model, genF: FromModel, dump: 0.96 * model, dumpF: FromLoadShare, load: 0.2, ldF: FromMeters},
		{name: "only the voltage: the model's value alone", running: both,
			values: vals{"volts": 241, "pond_level_m": -0.2}, gen: model, genF: FromModel, dump: math.NaN(), load: math.NaN()},
		{name: "load alone, running known: dumped is the rest of the model's", running: both,
			values: vals{"load_kw": 3, "pond_level_m": -0.2}, gen: model, genF: FromModel, dump: model - 3, dumpF: FromModel, load: 3, ldF: FromMeters},
		{name: "load alone, running unknown: nothing more is said",
			values: vals{"load_kw": 3, "pond_level_m": -0.2}, gen: math.NaN(), dump: math.NaN(), load: 3, ldF: FromMeters},
		{name: "meters and share, load unread", running: both,
			values: vals{"A.kw": 5.6, "B.kw": 2.4, "dump_share_pct": 25}, gen: 8, genF: FromMeters, dump: 2, dumpF: FromLoadShare, load: 6, ldF: FromMeters},
		{name: "an own-bus set's meter is not in the generation", running: &[]string{"A", "W"},
			values: vals{"A.kw": 5.6, "W.kw": 0.9, "load_kw": 3}, gen: 5.6, genF: FromMeters, dump: 2.6, dumpF: FromMeters, load: 3, ldF: FromMeters},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := bench(t)
			if c.share != "" {
				p.Ballast.ShareOf = c.share
			}
			got := Of(history(p, c.running, c.values)).Power()
			for _, x := range []struct {
				what string
				got  *KW
				want float64
				from From
			}{{"generation", got.Generation, c.gen, c.genF}, {"dumped", got.Dumped, c.dump, c.dumpF}, {"load", got.Load, c.load, c.ldF}} {
				switch {
				case math.IsNaN(x.want) != (x.got == nil):
					t.Errorf("%s = %v, want %g", x.what, x.got, x.want)
				case x.got != nil && (math.Abs(x.got.KW-x.want) > 1e-9 || x.got.From != x.from):
					t.Errorf("%s = %g from %s, want %g from %s", x.what, x.got.KW, x.got.From, x.want, x.from)
				}
			}
		})
	}
}

// The errors of the default gauges are half of 0.1 kW and half of 1 % (contract), so load + dump and the meters of two
// sets may differ by 2 x sqrt(4 x 0.05^2) = 0.2 kW before it is said.
func TestTwoWaysThatDisagreeAreBothShown(t *testing.T) {
	ran := &[]string{"A", "B"}
	for _, c := range []struct {
		name   string
		values vals
		want   []string // parts of the only caution; none: no caution
	}{
		{"within the gauges' errors", vals{"A.kw": 5, "B.kw": 2, "load_kw": 3, "dump_kw": 4.19}, nil},
		{"beyond them", vals{"A.kw": 5, "B.kw": 2, "load_kw": 3, "dump_kw": 4.21}, []string{"7.0 kW by the meters", "7.2 kW by load and dumped power"}},
		{"share against dumped power", vals{"load_kw": 3, "dump_kw": 3, "dump_share_pct": 60}, []string{"6.0 kW by load and dumped power", "7.5 kW by the dump share"}},
		{"meters and two dumped readings", vals{"A.kw": 5, "B.kw": 2, "dump_kw": 2, "dump_share_pct": 50}, []string{"dumped power is 2.0 kW by the meters", "3.5 kW by the dump share"}},
	} {
		got := Of(history(bench(t), ran, c.values)).Power().Cautions
		if len(got) != min(1, len(c.want)) {
			t.Errorf("%s: cautions %q", c.name, got)
			continue
		}
		for _, part := range c.want {
			if !strings.Contains(got[0], part) {
				t.Errorf("%s: %q lacks %q", c.name, got[0], part)
			}
		}
	}
}

func TestReadingsAreNeverMixedBetweenRounds(t *testing.T) {
	h := history(bench(t), &[]string{"A"}, vals{"load_kw": 3, "dump_kw": 2})
	later := record.Round{Time: noon.Add(time.Hour), Values: vals{"volts": 238}}
	h.Rounds = append(h.Rounds, later, record.Round{Time: noon.Add(2 * time.Hour), Values: vals{"pond_level_m": -0.2}})
	got := Of(h).Power()
	if !got.Round.Time.Equal(later.Time) || got.Load != nil || got.Generation != nil || *got.Volts != 238 {
		t.Errorf("%+v", got)
	}
}

func TestVoltsWithoutTheCommonMeterAreTheMeanOfRunningCommonSets(t *testing.T) {
	got := Of(history(bench(t), &[]string{"A", "B", "W"}, vals{"A.volts": 240, "B.volts": 244, "W.volts": 110})).Power()
	if got.Volts == nil || *got.Volts != 242 {
		t.Errorf("volts = %v, want 242", got.Volts)
	}
}

func TestDeadElementsTakeNoShare(t *testing.T) {
	p := bench(t)
	p.Ballast.ShareOf = plant.ShareOfBallast
	h := history(p, &[]string{"A"}, vals{"load_kw": 3, "dump_share_pct": 50})
	h.Events = []record.Event{{Time: noon.Add(-time.Hour), Kind: record.ElementOut, Element: "E2"}}
	if got := Of(h).Power(); got.Dumped.KW != 3 { // half of three 2 kW elements
		t.Errorf("dumped %g kW, want 3", got.Dumped.KW)
	}
}

func TestPowerBalances(t *testing.T) {
	keys := []quantity.Key{"A.kw", "B.kw", "load_kw", "dump_kw", "dump_share_pct", "volts"}
	base := bench(t)
	rapid.Check(t, func(t *rapid.T) {
		copied := *base
		p := &copied
		p.Ballast.ShareOf = rapid.SampledFrom([]plant.ShareOf{plant.ShareOfGeneration, plant.ShareOfBallast}).Draw(t, "share of")
		v := vals{"volts": 240}
		for _, k := range keys {
			if rapid.Bool().Draw(t, string(k)) {
				v[k] = rapid.Float64Range(0, 100).Draw(t, "value")
			}
		}
		got := Of(history(p, &[]string{"A", "B"}, v)).Power()
		for _, x := range []*KW{got.Generation, got.Dumped, got.Load} {
			if x != nil && (math.IsNaN(x.KW) || math.IsInf(x.KW, 0) || x.ErrKW < 0) {
				t.Fatalf("%v gives %+v", v, *x)
			}
		}
		// Where dumped or load were not read but derived, the three close exactly.
		_, loadRead := v["load_kw"]
		if g, d, l := got.Generation, got.Dumped, got.Load; g != nil && d != nil && l != nil && (!loadRead || g.From == FromLoadDump || g.From == FromLoadShare && v["dump_kw"] == 0) {
			if _, dumpRead := v["dump_kw"]; g.From == FromLoadShare && dumpRead {
				return
			}
			if math.Abs(g.KW-d.KW-l.KW) > 1e-9*(1+math.Abs(g.KW)) {
				t.Fatalf("%v: generation %g, dumped %g, load %g do not close", v, g.KW, d.KW, l.KW)
			}
		}
	})
}

// An element's stamp may differ from the supply's volts: 2 kW at 277 V take 2·(240/277)² = 1.5014 kW at 240 V, and that is
// also what is taken where no voltage was read (contract: "rated voltage if none was read"; electrical says the same).
func TestElementsOfAnotherVoltageCountAtTheSupplys(t *testing.T) {
	p := bench(t)
	p.Ballast.ShareOf = plant.ShareOfBallast
	for i := range p.Ballast.Elements {
		p.Ballast.Elements[i].RatedVolts = 277
	}
	pw := Of(history(p, &[]string{"A"}, vals{"load_kw": 3, "dump_share_pct": 50})).Power()
	if want := 0.5 * 4 * 1.5014; math.Abs(pw.Dumped.KW-want) > 1e-3 {
		t.Errorf("dumped %.4f kW, want %.4f", pw.Dumped.KW, want)
	}
}
