package faults_test

import (
	"context"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/headpond/model/demo"
	"example.org/headpond/model/faults"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

func report(tb testing.TB, h *record.History) *faults.Facts {
	tb.Helper()
	f, err := faults.Report(context.Background(), h, faults.Options{})
	if err != nil {
		tb.Fatal(err)
	}
	return f
}

func cause(tb testing.TB, f *faults.Facts, id faults.Fault) faults.Cause {
	tb.Helper()
	i := slices.IndexFunc(f.Ranked, func(c faults.Cause) bool { return c.Fault == id })
	if i < 0 {
		tb.Fatalf("%s is not ranked", id)
	}
	return f.Ranked[i]
}

// The ids are the contract's, faults --json and its addition.
func TestAllIdsOfTheContractAreRanked(t *testing.T) {
	want := []faults.Fault{"none", "screen_blocked", "valve_part_closed", "penstock_air", "penstock_leak", "runner_worn", "ballast_element_open",
		"ballast_full", "overload", "voltage_regulator", "frequency_setting", "pressure_gauge", "level_gauge", "pond_low", "bearing", "controller", "belt"}
	if diff := cmp.Diff(want, faults.IDs()); diff != "" {
		t.Error(diff)
	}
	c := simCase{p: samplePlants()[0], days: 7, efficiency: 1, losses: 1, noise: true, seed: 1}
	f := report(t, c.history(t))
	var got []faults.Fault
	for _, x := range f.Ranked {
		got = append(got, x.Fault)
		if x.FirstStep == "" || x.Caution == "" || x.Fault.Label() == "" {
			t.Errorf("%s lacks its words", x.Fault)
		}
	}
	slices.Sort(got)
	slices.Sort(want)
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// Nothing that turns is touched, greased or opened before it is stopped and locked out: the control of hazardous energy as in
// OSHA 29 CFR 1910.147 (from memory). A first step must keep to the caution that stands below it.
func TestNoFirstStepTouchesWhatTurns(t *testing.T) {
	c := simCase{p: samplePlants()[0], days: 7, efficiency: 1, losses: 1, noise: true, seed: 1}
	for _, x := range report(t, c.history(t)).Ranked {
		if !strings.Contains(x.Caution, "nothing is touched before the set is stopped and locked out") {
			continue
		}
		step := strings.ToLower(x.FirstStep)
		out := strings.Index(step, "lock it out")
		for _, act := range []string{"touch", "grease", "feel", "look at the belt", "hand"} {
			if i := strings.Index(step, act); i >= 0 && (out < 0 || i < out) {
				t.Errorf("%s: %q comes before it is locked out: %q", x.Fault, act, x.FirstStep)
			}
		}
	}
}

// The shape of the JSON is the contract's, faults --json and faults sizes.
func TestTheJSONHasTheContractsKeys(t *testing.T) {
	c := simCase{p: samplePlants()[1], fault: simFault{id: faults.ScreenBlocked, size: 0.05}, days: 7, efficiency: 1, losses: 1, noise: true, seed: 3}
	b, err := json.Marshal(report(t, c.history(t)))
	if err != nil {
		t.Fatal(err)
	}
	var out struct {
		At           string `json:"at"`
		ReadingsUsed int    `json:"readings_used"`
		Ranked       []map[string]json.RawMessage
	}
	if err := json.Unmarshal(b, &out); err != nil {
		t.Fatal(err)
	}
	if out.At == "" || out.ReadingsUsed < 14*6 {
		t.Errorf("at %q, %d readings used", out.At, out.ReadingsUsed)
	}
	keys := []string{"fault", "probability", "size", "misfit", "evidence", "tell_apart", "first_step", "caution"}
	sizes := map[string]string{"screen_blocked": "screen_open", "valve_part_closed": "valve_k", "penstock_air": "loss_m", "penstock_leak": "leak_lps",
		"runner_worn": "efficiency_share", "ballast_element_open": "lost_kw", "voltage_regulator": "volts", "frequency_setting": "hertz",
		"pressure_gauge": "offset_kpa", "level_gauge": "offset_m", "pond_low": "level_m", "bearing": "rise_c", "ballast_full": "over_kw", "overload": "short_kw"}
	for _, row := range out.Ranked {
		for _, k := range keys {
			if _, ok := row[k]; !ok {
				t.Errorf("%s lacks %s", row["fault"], k)
			}
		}
		id := strings.Trim(string(row["fault"]), `"`)
		if want := sizes[id]; want != "" && !strings.Contains(string(row["size"]), `"`+want+`"`) {
			t.Errorf("the size of %s is %s, want %s", id, row["size"], want)
		}
	}
	for _, k := range []string{`"quantity"`, `"read"`, `"expected_healthy"`, `"expected_fault"`} {
		if !strings.Contains(string(out.Ranked[0]["evidence"]), k) {
			t.Errorf("the evidence lacks %s", k)
		}
	}
}

// The sizes are the simulator's own, within what half a division and a model that is 5 % off allow.
func TestTheSizeIsFound(t *testing.T) {
	plants := samplePlants()
	near := func(got *float64, want, share float64) bool {
		return got != nil && math.Abs(*got-want) <= share*math.Abs(want)
	}
	for _, c := range []struct {
		p     *simPlant
		f     simFault
		found func(faults.Size) bool
	}{
		{plants[1], simFault{id: faults.ScreenBlocked, size: 0.05}, func(s faults.Size) bool { return near(s.ScreenOpen, 0.05, 0.15) }},
		{plants[1], simFault{id: faults.ValvePart, size: 20}, func(s faults.Size) bool { return near(s.ValveK, 20, 0.3) }},
		{plants[1], simFault{id: faults.RunnerWorn, size: 0.75}, func(s faults.Size) bool { return near(s.EfficiencyShare, 0.75, 0.1) && s.Unit == "A" }},
		{plants[0], simFault{id: faults.PressureGauge, size: -18}, func(s faults.Size) bool { return near(s.OffsetKPa, -18, 0.2) }},
		{plants[0], simFault{id: faults.Regulator, size: -0.08}, func(s faults.Size) bool { return near(s.Volts, 230*0.92, 0.02) }},
		{plants[0], simFault{id: faults.FrequencySet, size: 0.04}, func(s faults.Size) bool { return near(s.Hertz, 52, 0.01) }},
		{plants[0], simFault{id: faults.Bearing, size: 35}, func(s faults.Size) bool { return near(s.RiseC, 35, 0.4) }},
		{plants[1], simFault{id: faults.ElementOpen, unit: 1}, func(s faults.Size) bool { return near(s.LostKW, 3, 0.01) && s.Element == "E1, E2 or E3" }},
		{plants[0], simFault{id: faults.PondLow, size: 0.12}, func(s faults.Size) bool { return near(s.LevelM, -0.92, 0.05) }},
		{plants[2], simFault{id: faults.ScreenBlocked, size: 0.1}, func(s faults.Size) bool { return near(s.ScreenOpen, 0.1, 0.1) }},
	} {
		t.Run(string(c.f.id), func(t *testing.T) {
			sim := simCase{p: c.p, fault: c.f, days: 7, efficiency: 1.01, losses: 0.97, noise: true, seed: 11}
			f := report(t, sim.history(t))
			if top := f.Ranked[0]; top.Fault != c.f.id || !c.found(top.Size) {
				b, _ := json.Marshal(top)
				t.Errorf("%s", b)
			}
		})
	}
}

// Worked with two plants that differ in nothing but where the gauge taps: product.md offers the shut-valve test only above it.
func TestTheShutValveTestIsForGaugesAboveTheValve(t *testing.T) {
	for _, above := range []bool{false, true} {
		p := samplePlants()[0]
		p.above = above
		p.name += map[bool]string{true: " above", false: " below"}[above]
		p.toml = p.text()
		offered := false
		for _, x := range []simFault{{id: faults.Air, size: 1.2}, {id: faults.LevelGauge, size: 0.5}, {id: faults.PressureGauge, size: -4}, {id: faults.Leak, size: 0.03}} {
			sim := simCase{p: p, fault: x, days: 7, efficiency: 1, losses: 1, noise: true, seed: 4}
			for _, c := range report(t, sim.history(t)).Ranked {
				for _, a := range c.TellApart {
					offered = offered || strings.Contains(a.By, "shut the main valve")
				}
			}
		}
		if offered != above {
			t.Errorf("gauge above the valve %v, and the test is offered: %v", above, offered)
		}
	}
}

func TestRivalsComeWithWhatTellsThem(t *testing.T) {
	sim := simCase{p: samplePlants()[0], fault: simFault{id: faults.Air, size: 1.5}, days: 7, efficiency: 1, losses: 1, noise: true, seed: 4}
	f := report(t, sim.history(t))
	if f.Verdict != faults.CannotTell || !strings.HasPrefix(f.Says, "The readings cannot tell") {
		t.Errorf("one pipe and one set cannot tell air from a screen: %s, %s", f.Verdict, f.Says)
	}
	top := f.Ranked[0]
	if len(top.TellApart) < 2 {
		t.Fatalf("%s has %d rivals", top.Fault, len(top.TellApart))
	}
	for _, a := range top.TellApart {
		if a.By == "" || a.From == top.Fault {
			t.Errorf("%+v", a)
		}
		other := cause(t, f, a.From)
		if !slices.ContainsFunc(other.TellApart, func(b faults.Apart) bool { return b.From == top.Fault && b.By == a.By }) {
			t.Errorf("%s does not say the same of %s", a.From, top.Fault)
		}
	}
}

// Two faults at once: a gauge says nothing of a bearing, so the second is told beside the first.
func TestASecondFaultIsToldBesideTheFirst(t *testing.T) {
	sim := simCase{p: samplePlants()[0], fault: simFault{id: faults.PressureGauge, size: -20}, days: 14, onset: 14, efficiency: 1, losses: 1, noise: true, seed: 6}
	h := sim.history(t)
	f := report(t, h)
	if len(f.Beside) != 0 {
		t.Errorf("one fault, and beside it %+v", f.Beside)
	}
	for i := 20; i < len(h.Rounds); i++ {
		h.Rounds[i].Values["A.bearing_c"] += 16
	}
	f = report(t, h)
	if f.Ranked[0].Fault != faults.PressureGauge && f.Ranked[0].Fault != faults.Bearing || len(f.Beside) != 1 {
		t.Fatalf("%s first, beside it %+v", f.Ranked[0].Fault, f.Beside)
	}
	both := []faults.Fault{f.Ranked[0].Fault, f.Beside[0].Fault}
	slices.Sort(both)
	if diff := cmp.Diff([]faults.Fault{faults.Bearing, faults.PressureGauge}, both); diff != "" {
		t.Error(diff)
	}
}

func TestAnElementThatWasFoundDeadIsNotFoundAgain(t *testing.T) {
	sim := simCase{p: samplePlants()[1], fault: simFault{id: faults.ElementOpen, unit: 1}, days: 10, onset: 8, efficiency: 1, losses: 1, noise: true, seed: 9}
	h := sim.history(t)
	if top := report(t, h).Ranked[0]; top.Fault != faults.ElementOpen {
		t.Fatalf("%s comes first", top.Fault)
	}
	found := h.Rounds[13].Time.Add(time.Hour)
	h.Events = []record.Event{{Kind: record.ElementOut, Element: "E2", Time: found}}
	f := report(t, h)
	if top := f.Ranked[0]; top.Fault != faults.None {
		t.Errorf("with E2 known to be out %s comes first with %.2f, size %+v", top.Fault, top.Probability, top.Size)
	}
	if !strings.Contains(strings.Join(f.Cautions, ";"), "found dead") {
		t.Errorf("the cautions do not say what was left out: %q", f.Cautions)
	}
}

func TestASoundWeekIsSaidPlainly(t *testing.T) {
	for _, p := range samplePlants() {
		sim := simCase{p: p, days: 7, efficiency: 1.02, losses: 0.95, noise: true, words: true, seed: 21}
		h := sim.history(t)
		f := report(t, h)
		if f.Verdict != faults.Sound || f.Ranked[0].Fault != faults.None || f.Says != "Nothing is wrong that these readings can show." {
			t.Errorf("%s: %s %s %.2f", p.name, f.Verdict, f.Ranked[0].Fault, f.Ranked[0].Probability)
		}
		for _, e := range f.Ranked[0].Evidence {
			if !e.Explains {
				t.Errorf("%s: %s reads %.2f, expected %.2f", p.name, e.Quantity, e.Read, e.ExpectedHealthy)
			}
			for i := len(h.Rounds) - 1; i >= 0; i-- { // the log itself says what was read last
				if v, ok := h.Rounds[i].Value(quantity.Key(e.Quantity)); ok {
					if e.Last != v {
						t.Errorf("%s: %s was last read as %v, told as %v", p.name, e.Quantity, v, e.Last)
					}
					break
				}
			}
		}
		if s := cause(t, f, faults.ScreenBlocked).LeastSeen; s == nil || s.ScreenOpen == nil || *s.ScreenOpen > 0.4 {
			t.Errorf("%s: the least blockage that would show is %+v", p.name, s)
		}
	}
}

// By hand: four elements of 1.5 and 2.5 kW, 7 kW in all. With 5.5 kW left the ballast must have taken more than that for a dead
// one of 1.5 kW to be missed; a share of the ballast shows it at once.
func TestADeadElementThatWouldNotShowIsSaid(t *testing.T) {
	const says = "a dead element of 1.5 kW would not show"
	for _, c := range []struct {
		name      string
		load      float64
		share     float64
		ofBallast bool
		want      bool
	}{
		{"half full", 4.0, 40, false, true},
		{"nearly full", 0.6, 90, false, false},
		{"a share of the ballast", 4.0, 40, true, false},
	} {
		p := samplePlants()[0]
		p.ofBallast, p.name = c.ofBallast, c.name
		p.toml = p.text()
		running := []string{"A"}
		h := &record.History{Plant: parse(t, p)}
		for i := range 6 {
			h.Rounds = append(h.Rounds, record.Round{Time: simStart.Add(time.Duration(i) * 12 * time.Hour), Running: &running, Words: map[quantity.Key]string{},
				Values: map[quantity.Key]float64{"pond_level_m": -0.2, "load_kw": c.load, "dump_share_pct": c.share, "volts": 230, "hertz": 50}})
			h.At = h.Rounds[i].Time
		}
		if text := strings.Join(report(t, h).Cautions, "; "); strings.Contains(text, says) != c.want {
			t.Errorf("%s: %q", c.name, text)
		}
	}
	bare := samplePlants()[0]
	bare.name, bare.elements = "no ballast", nil
	bare.toml = bare.text()
	sim := simCase{p: bare, days: 7, efficiency: 1, losses: 1, noise: true, seed: 2}
	if text := strings.Join(report(t, sim.history(t)).Cautions, "; "); strings.Contains(text, "dead element") {
		t.Errorf("a plant without elements: %q", text)
	}
}

func TestTheBeginningIsFound(t *testing.T) {
	sim := simCase{p: samplePlants()[1], fault: simFault{id: faults.ValvePart, size: 25}, days: 21, onset: 30, efficiency: 0.96, losses: 1.08, noise: true, seed: 9}
	h := sim.history(t)
	top := report(t, h).Ranked[0]
	if top.Fault != faults.ValvePart || top.Since == nil || !top.Since.Equal(h.Rounds[30].Time) {
		t.Errorf("%s since %v, want %v", top.Fault, top.Since, h.Rounds[30].Time)
	}
}

func TestARepairBeginsAnew(t *testing.T) {
	sim := simCase{p: samplePlants()[1], fault: simFault{id: faults.RunnerWorn, size: 0.7}, days: 14, efficiency: 1, losses: 1, noise: true, seed: 9}
	h := sim.history(t)
	sim.fault = simFault{}
	sound := sim.history(t)
	copy(h.Rounds[14:], sound.Rounds[14:])
	h.Events = []record.Event{{Kind: record.Repair, Time: h.Rounds[14].Time.Add(-time.Hour)}}
	f := report(t, h)
	if f.Ranked[0].Fault != faults.None || f.Rounds != 14 || len(f.Cautions) == 0 || !strings.Contains(f.Cautions[0], "repair") {
		t.Errorf("%s, %d rounds, %v", f.Ranked[0].Fault, f.Rounds, f.Cautions)
	}
}

func TestOneSlipOfThePenIsNoFault(t *testing.T) {
	for _, at := range []int{6, 13} { // within the week, and on the last round
		sim := simCase{p: samplePlants()[0], days: 7, efficiency: 1, losses: 1, noise: true, seed: 5}
		h := sim.history(t)
		h.Rounds[at].Values["pressure_kpa"] += 27
		f := report(t, h)
		if p := cause(t, f, faults.None).Probability; p < 0.3 {
			t.Errorf("a slip on round %d leaves none at %.3f, %s first", at, p, f.Ranked[0].Fault)
		}
	}
}

func TestWhatIsMissingIsSaid(t *testing.T) {
	p := parse(t, samplePlants()[0])
	at := simStart
	for _, c := range []struct {
		name string
		h    *record.History
		want string
	}{
		{"no history", nil, "plant load"},
		{"no plant", &record.History{At: at}, "plant load"},
		{"no rounds", &record.History{At: at, Plant: p}, "no round"},
		{"only words", &record.History{At: at, Plant: p, Rounds: []record.Round{{Time: at, Words: map[quantity.Key]string{"screen": "clear"}}}}, "no round"},
		{"too old", &record.History{At: at.AddDate(1, 0, 0), Plant: p, Rounds: []record.Round{{Time: at, Values: map[quantity.Key]float64{"volts": 230}}}}, "45 days"},
	} {
		if _, err := faults.Report(context.Background(), c.h, faults.Options{}); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	one := &record.History{At: at.Add(time.Hour), Plant: p, Rounds: []record.Round{{Time: at, Values: map[quantity.Key]float64{"volts": 229}}}}
	f := report(t, one)
	if text := strings.Join(f.Cautions, "; "); !strings.Contains(text, "only 1 round") || !strings.Contains(text, "pond level") {
		t.Errorf("the cautions are %q", text)
	}
	if f.Ranked[0].Fault != faults.None {
		t.Errorf("one good voltage makes %s", f.Ranked[0].Fault)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := faults.Report(ctx, one, faults.Options{}); err == nil {
		t.Error("a cancelled report gives no error")
	}
}

// Whatever is written, the answer is finite and its probabilities are some of one.
func TestProbabilitiesSumToOneWhateverIsRead(t *testing.T) {
	plants := samplePlants()
	rapid.Check(t, func(r *rapid.T) {
		p := plants[rapid.IntRange(0, 2).Draw(r, "plant")]
		h := &record.History{Plant: parse(t, p)}
		keys := []quantity.Key{"pond_level_m", "pressure_kpa", "volts", "hertz", "load_kw", "dump_share_pct", "dump_kw", "A.kw", "flow_lps", "A.bearing_c", "bearing_c", "air_c", "water_c", "screen_loss_mm", "pressure_after_kpa"}
		for i := range rapid.IntRange(1, 6).Draw(r, "rounds") {
			rd := record.Round{Time: simStart.Add(time.Duration(i) * 12 * time.Hour), Values: map[quantity.Key]float64{}, Words: map[quantity.Key]string{}}
			running := rapid.SampledFrom([][]string{nil, {}, {"A"}, p.unitIDs()}).Draw(r, "running")
			if running != nil {
				rd.Running = &running
			}
			for _, k := range keys {
				if rapid.Bool().Draw(r, "read") {
					rd.Values[k] = rapid.OneOf(rapid.Float64Range(-5, 300), rapid.Float64Range(-1e6, 1e6)).Draw(r, string(k))
				}
			}
			rd.Words["valve"] = rapid.SampledFrom([]string{"", "open", "part", "shut"}).Draw(r, "valve")
			rd.Words["screen"] = rapid.SampledFrom([]string{"", "clear", "blocked", "iced"}).Draw(r, "screen")
			rd.Words["screen_cleared"] = rapid.SampledFrom([]string{"no", "yes"}).Draw(r, "cleared")
			h.Rounds = append(h.Rounds, rd)
			h.At = rd.Time
		}
		f, err := faults.Report(context.Background(), h, faults.Options{})
		if err != nil {
			return
		}
		total := 0.0
		for i, c := range f.Ranked {
			total += c.Probability
			if math.IsNaN(c.Misfit) || math.IsInf(c.Misfit, 0) || i > 0 && c.Probability > f.Ranked[i-1].Probability {
				r.Fatalf("%+v", c)
			}
		}
		if math.Abs(total-1) > 1e-9 {
			r.Fatalf("the probabilities sum to %g", total)
		}
		if _, err := json.Marshal(f); err != nil {
			r.Fatal(err)
		}
	})
}

func (p *simPlant) unitIDs() []string {
	var out []string
	for _, u := range p.units {
		out = append(out, u.id)
	}
	return out
}

// The demo's story is told by people who did not know this package; its truth is in its notes and events.
func TestTheDemosDeadElementIsFound(t *testing.T) {
	end := time.Date(2026, 8, 14, 18, 0, 0, 0, time.FixedZone("ADT", -3*3600))
	s, err := demo.History(1, end, end.Location())
	if err != nil {
		t.Fatal(err)
	}
	full := &record.History{At: end, Plant: s.Plant, Rounds: s.Rounds, Events: s.Events}
	i := slices.IndexFunc(s.Events, func(e record.Event) bool { return e.Kind == record.Alarm })
	if i < 0 {
		t.Fatal("the story has no alarm")
	}
	at := s.Events[i].Time
	then := *full
	then.At = at.Add(26 * time.Hour)
	then.Rounds = slices.DeleteFunc(slices.Clone(s.Rounds), func(r record.Round) bool { return r.Time.After(then.At) })
	then.Events = slices.DeleteFunc(slices.Clone(s.Events), func(e record.Event) bool { return e.Time.After(then.At) })
	if top := report(t, &then).Ranked[0]; top.Fault != faults.ElementOpen {
		t.Errorf("a day after the alarm %s comes first with %.2f", top.Fault, top.Probability)
	}
}

func BenchmarkWeek(b *testing.B) {
	sim := simCase{p: samplePlants()[1], fault: simFault{id: faults.ScreenBlocked, size: 0.06}, days: 7, efficiency: 1, losses: 1, noise: true, seed: 2}
	h := sim.history(b)
	for b.Loop() {
		report(b, h)
	}
}

func BenchmarkSixWeeks(b *testing.B) {
	sim := simCase{p: samplePlants()[1], fault: simFault{id: faults.ScreenBlocked, size: 0.06}, days: 44, onset: 74, efficiency: 1, losses: 1, noise: true, seed: 2}
	h := sim.history(b)
	for b.Loop() {
		report(b, h)
	}
}
