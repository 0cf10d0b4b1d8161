package assess

import (
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// doubtPlant is plausiblePlant with a crest and the sets' best flows: 20 × (20 + 10 + 30) L/s = 1.2 m3/s is the most that flows in
// or out; the surface is 81 000 m2 at 0.40 m and 62 750 m2 at -0.10 m, linear between (8 000 + 73 000 × 1.5 / 2).
func doubtPlant() *plant.Plant {
	p := plausiblePlant()
	crest := 0.1
	p.Pond.CrestM, p.Pond.CrestLengthM, p.Pond.CrestCoefficient = &crest, 4.5, 1.7
	p.Units[0].BestFlowLps, p.Units[1].BestFlowLps, p.Units[2].BestFlowLps = 20, 10, 30
	return p
}

func levels(at time.Time, v ...float64) []record.Round {
	var out []record.Round
	for i, x := range v {
		out = append(out, record.Round{Time: at.Add(time.Duration(i-len(v)) * 12 * time.Hour), Values: vals{"pond_level_m": x}})
	}
	return out
}

// Worked by hand: at -0.10 m and 1.2 m3/s the pond rises in 12 h by less than 1.2 × 43 200 / 62 750 = 0.83 m, in half an hour by
// 1.2 × 1 800 / 62 750 = 0.03 m; 0.05 m more is waves.
func TestALevelThatThePondCannotHaveReached(t *testing.T) {
	for _, c := range []struct {
		name      string
		before    []float64
		level     float64
		after     time.Duration // the last level before
		confirmed bool
		want      string
	}{
		{"feet typed for a third of them", []float64{-0.33, -0.32}, 0.914, time.Hour, false, "far above the highest of the pond's stage rows, 0.40 m"},
		{"confirmed, and still above all that there is", []float64{-0.32}, 0.914, time.Hour, true, "far above"},
		{"a flood over the rows", []float64{0.30}, 0.60, 12 * time.Hour, false, ""},
		{"dry", []float64{-1.5}, -1.9, 240 * time.Hour, false, "far below the lowest of the pond's stage rows, -1.60 m"},
		{"the first level of all", nil, -0.3, time.Hour, false, ""},
		{"a forgotten minus, half an hour later", []float64{-0.10}, 0.10, 30 * time.Minute, false, "0.20 m above the -0.10 m of 30 min before, more than the pond can rise in that time"},
		{"the same, confirmed", []float64{-0.10}, 0.10, 30 * time.Minute, true, ""},
		{"the same in a night", []float64{-0.10}, 0.10, 12 * time.Hour, false, ""},
		{"waves", []float64{-0.10}, -0.04, time.Minute, false, ""},
		{"two digits turned round", []float64{-0.13}, -0.31, 30 * time.Minute, false, "0.18 m below the -0.13 m of 30 min before, more than the pond can fall in that time"},
		{"after a slip all is well", []float64{-0.10, -0.10, 0.39}, -0.10, 30 * time.Minute, false, ""},
		{"weeks ago tells nothing", []float64{-1.5}, 0.39, 15 * 24 * time.Hour, false, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			at := noon.Add(-c.after)
			h := &record.History{At: noon, Plant: doubtPlant(), Rounds: levels(at.Add(12*time.Hour), c.before...)}
			r := record.Round{Time: noon, Confirmed: c.confirmed, Values: vals{"pond_level_m": c.level}}
			got := Of(h).levelDoubt(r)
			if (c.want == "") != (got == "") || !strings.HasPrefix(got, c.want) {
				t.Errorf("%q, want %q", got, c.want)
			}
			asked := false
			for _, q := range Of(h).Questions(r) {
				asked = asked || q.Key == "pond_level_m" && q.Slip
			}
			if asked != (c.want != "") {
				t.Errorf("asked %v: %v", asked, Of(h).Questions(r))
			}
			h.Rounds = append(h.Rounds, r)
			got2, _ := Of(h).level(record.Round{Time: noon})
			if want := c.level; c.want == "" && got2 != want {
				t.Errorf("level %g is taken, want %g", got2, want)
			} else if c.want != "" && got2 != c.before[len(c.before)-1] {
				t.Errorf("level %g is taken, want the one before, %g", got2, c.before[len(c.before)-1])
			}
		})
	}
}

// Without surveyed stages nothing is known of what the pond can do.
func TestNoLevelIsDoubtedWithoutStages(t *testing.T) {
	p := doubtPlant()
	p.Pond.Stage = nil
	h := &record.History{At: noon, Plant: p, Rounds: levels(noon, -0.3)}
	if got := Of(h).levelDoubt(record.Round{Time: noon, Values: vals{"pond_level_m": 40}}); got != "" {
		t.Errorf("doubted: %s", got)
	}
}

// A pound-force per square inch is 6.894757 kPa (NIST SP 811, appendix B.8). The number of psi written as kPa is asked about; near
// ones, one that is no psi either, and a gauge that reads nothing are not.
func TestAPressureInAnotherUnitIsAskedAbout(t *testing.T) {
	p := bench(t)
	h := &record.History{At: noon, Plant: p, Rounds: levels(noon, -0.3)}
	one := []string{"A"}
	base := record.Round{Time: noon, Running: &one, Values: vals{"pond_level_m": -0.3}}
	e, ok := Of(h).Expected(base)[quantity.Key(quantity.PressureKPa)]
	if !ok {
		t.Fatal("no pressure is expected")
	}
	for _, c := range []struct {
		kPa float64
		ask bool
	}{{e / 6.894757, true}, {1.1 * e / 6.894757, true}, {e, false}, {0.6 * e, false}, {0, false}, {e / 60, false}} {
		r := base
		r.Values = vals{"pond_level_m": -0.3, "pressure_kpa": c.kPa}
		asked := false
		for _, q := range Of(h).Questions(r) {
			asked = asked || strings.Contains(q.Text, "psi would be")
		}
		if asked != c.ask {
			t.Errorf("%g kPa with %g expected: asked %v", c.kPa, e, asked)
		}
	}
}

// 2410 V are 907 kW in elements of 9 kW at 240 V: no sum may rest on that. The rated voltage stands in its place (contract, ballast),
// and Now says what to do. A confirmed slip is a slip all the same.
func TestAnImplausibleReadingIsLeftOutOfThePower(t *testing.T) {
	p := bench(t)
	running := []string{"A"}
	h := history(p, &running, vals{"volts": 2410, "A.kw": 5, "load_kw": 2, "pond_level_m": -0.3})
	h.Rounds[0].Confirmed = true
	pw := Of(h).Power()
	if pw.Volts != nil || pw.Generation == nil || pw.Generation.KW != 5 {
		t.Fatalf("%+v", pw)
	}
	f, err := Of(h).Ballast()
	if err != nil || f.ElementsKW != 8 {
		t.Errorf("elements take %v kW (%v), want four of 2 kW at the rated voltage", f.ElementsKW, err)
	}
	told := 0
	for _, a := range Of(h).Now().Attention {
		if strings.Contains(a.Text, "Voltage 2410 V") {
			told++
			if !strings.Contains(a.Text, "looks like a typing error") || !strings.Contains(a.Text, "corrects it") {
				t.Error(a.Text)
			}
		}
	}
	if told != 1 {
		t.Errorf("told %d times: %+v", told, Of(h).Now().Attention)
	}
}

// The contract takes all powers from one round; where a trip came after it, that is said beside them and no warning rests on them.
func TestAPowerReadBeforeATripIsNoMore(t *testing.T) {
	p := bench(t)
	running := []string{"A", "B"}
	h := history(p, &running, vals{"volts": 240, "A.kw": 5, "B.kw": 2, "load_kw": 2, "pond_level_m": -0.3})
	h.At = noon.Add(2 * time.Hour)
	if f, err := Of(h).Ballast(); err != nil || f.Since != nil {
		t.Fatalf("nothing changed: %+v, %v", f.Since, err)
	}
	for _, c := range []struct {
		units []string
		want  string
	}{{nil, "Nothing runs since 13:00 (trip)"}, {[]string{"A", "B"}, "Nothing runs since 13:00 (trip of A+B)"}, {[]string{"A"}, "Only B runs since 13:00 (trip of A)"}} {
		h.Events = []record.Event{{Kind: record.Trip, Time: noon.Add(time.Hour), Units: c.units}}
		f, err := Of(h).Ballast()
		if err != nil || f.Since == nil || f.Since.Words(h.At) != c.want {
			t.Errorf("%v: %+v, %v, want %q", c.units, f.Since, err, c.want)
		}
		if f.LoadRoomKW == nil || *f.LoadRoomKW != 5 { // 5 + 2 - 2 kW, the contract's
			t.Errorf("load room %v", f.LoadRoomKW)
		}
	}
}
