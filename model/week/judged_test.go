package week

import (
	"encoding/json"
	"strings"
	"testing"
)

// Half-way rule by hand: 60.0 (in) at 00:00, 62.0 (near, 61.2 to 63) at 08:00, 64 (out) at 12:00; each stands for the time to
// half-way to its neighbours.
func TestTimeInBandByHand(t *testing.T) {
	n := write(t, tern(t), "2026-02-06 00:00").
		round("2026-02-03 00:00", "running=A hertz=60").
		round("2026-02-03 08:00", "hertz=62").
		round("2026-02-03 12:00", "hertz=64")
	s := n.ledger().Day(n.when("2026-02-03 00:00"), n.when("2026-02-04 00:00")).States["hertz"]
	near(t, "in", s.In, 4)
	near(t, "near", s.Near, 4+2)
	near(t, "out", s.Out, 2)
	if s.N != 3 {
		t.Errorf("%d readings", s.N)
	}
}

func TestTimeInBandEndsAtStopsAndSkipsStanding(t *testing.T) {
	n := write(t, tern(t), "2026-02-06 00:00").
		round("2026-02-03 00:00", "running=A hertz=60 pond_level_m=-0.2").
		event("2026-02-03 06:00", "stop").
		round("2026-02-03 08:00", "hertz=0 volts=0 pond_level_m=-0.2").
		event("2026-02-03 10:00", "start unit=A").
		round("2026-02-03 12:00", "hertz=64 pond_level_m=-0.2")
	d := n.ledger().Day(n.when("2026-02-03 00:00"), n.when("2026-02-04 00:00"))
	near(t, "in", d.States["hertz"].In, 6)
	near(t, "out", d.States["hertz"].Out, 2)
	near(t, "a standing bus is not out of band", d.States["volts"].Out, 0)
	near(t, "the pond does not stand", d.States["pond_level_m"].In, 12)
	if low := d.Lows["hertz"]; low.V != 60 {
		t.Errorf("the lowest frequency is %g, read while the plant stood", low.V)
	}
}

// EN 50160 (references.md 1.2): without a synchronous link ±2 % of nominal during 95 % of a week and ±15 % always; at 60 Hz
// 58.8 to 61.2 and 51 to 69 Hz.
func TestEN50160Limits(t *testing.T) {
	for _, c := range []struct {
		hertz, nominal float64
		want           string
	}{
		{58.8, 60, "in"}, {61.2, 60, "in"}, {58.79, 60, "near"}, {61.21, 60, "near"}, {51, 60, "near"}, {69, 60, "near"}, {50.99, 60, "out"}, {69.01, 60, "out"},
		{49, 50, "in"}, {51, 50, "in"}, {48.9, 50, "near"}, {51.1, 50, "near"}, {42.5, 50, "near"}, {57.5, 50, "near"}, {42.4, 50, "out"}, {57.6, 50, "out"},
	} {
		if got := en50160State(c.hertz, c.nominal); got != c.want {
			t.Errorf("%g Hz at nominal %g is %s, want %s", c.hertz, c.nominal, got, c.want)
		}
	}
}

func TestEN50160Week(t *testing.T) {
	for _, c := range []struct {
		name           string
		bad            string
		badHours       int // of the 140 h from the first reading to the last, the bad one's half-way share is as long as its gap
		within, always bool
	}{
		{"all good", "60", 0, true, true},
		{"one bad of 15, 7 %", "62", 1, false, true},
		{"one beyond 15 %", "70", 1, false, false},
	} {
		n := write(t, tern(t), "2026-02-10 00:00")
		for i, when := range []string{"03 00:00", "03 10:00", "03 20:00", "04 06:00", "04 16:00", "05 02:00", "05 12:00", "05 22:00", "06 08:00", "06 18:00", "07 04:00", "07 14:00", "08 00:00", "08 10:00", "08 20:00"} {
			hz := "60"
			if i == 5 && c.badHours > 0 {
				hz = c.bad
			}
			n.round("2026-02-"+when, "running=A hertz="+hz)
		}
		f := n.report(Week).Frequency
		near(t, c.name+": covered", f.Hours, 140)
		near(t, c.name+": share", f.Share, 1-float64(10*c.badHours)/140)
		if f.Within95 != c.within || f.WithinAll != c.always {
			t.Errorf("%s: %+v", c.name, f)
		}
		near(t, "low", f.Low, 58.8)
		near(t, "high", f.High, 61.2)
		if !strings.Contains(f.Note, "95 % of a week") || !strings.Contains(f.Note, "no synchronous link") {
			t.Errorf("the note says %q", f.Note)
		}
	}
}

// The state of each reading is the one of the plant revision in force at its time, and shares are of the known time.
func TestStatesInJSON(t *testing.T) {
	n := write(t, tern(t), "2026-02-10 00:00").
		round("2026-02-05 00:00", "running=A hertz=60 volts=240").
		round("2026-02-05 12:00", "hertz=62 volts=240")
	r := n.report(Week)
	q, ok := r.States.Of("hertz")
	if !ok {
		t.Fatal("no hertz")
	}
	near(t, "share", q.InShare+q.NearShare+q.OutShare, 1)
	near(t, "in", q.InShare, 0.5)
	data, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		From, To  string
		EnergyKWh map[string]map[string]float64 `json:"energy_kwh"`
		Covered   *float64                      `json:"hours_covered"`
		States    map[string]map[string]any
		Stops     []any
		Clearings *int
		Decide    []string
	}
	if err := json.Unmarshal(data, &got); err != nil {
		t.Fatal(err)
	}
	if got.States["hertz"]["in"] != 6.0 || got.States["hertz"]["near"] != 6.0 || got.States["hertz"]["out"] != 0.0 {
		t.Errorf("states %v", got.States)
	}
	if got.From == "" || got.To == "" || got.Covered == nil || got.Stops == nil || got.Clearings == nil || len(got.Decide) == 0 {
		t.Errorf("keys of the contract are missing: %s", data)
	}
	if strings.Contains(string(data), "null") {
		t.Errorf("null in %s", data)
	}
}
