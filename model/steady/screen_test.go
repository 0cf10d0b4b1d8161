package steady

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// On a sound plant an exact pressure gives the screen's loss back, and its clear share.
func TestScreenComesBackFromItsPressure(t *testing.T) {
	m := modelOf(t, ternHollow())
	rapid.Check(t, func(t *rapid.T) {
		clear := math.Exp(rapid.Float64Range(math.Log(0.004), math.Log(0.95)).Draw(t, "ln clear"))
		c := Case{
			PondLevelM: rapid.Float64Range(-0.9, 0.3).Draw(t, "level"), ScreenClear: &clear,
			Running: rapid.SampledFrom([][]string{{"A"}, {"B"}, {"A", "B"}}).Draw(t, "running"),
			WaterC:  new(rapid.Float64Range(0, 25).Draw(t, "water_c")),
		}
		truth := mustSolve(t, m, c)
		var read float64
		for _, u := range truth.Units {
			if u.Running {
				read = u.PressureKPa
			}
		}
		s, err := m.ScreenFromPressure(c, "", read, 0, 0)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(s.LossM-truth.ScreenLossM) > 1e-7 || math.Abs(s.Clear/clear-1) > 1e-3 {
			t.Fatalf("clear %g, loss %g m comes back as %g and %g m", clear, truth.ScreenLossM, s.Clear, s.LossM)
		}
		c.ScreenClear = nil
		lost := mustSolve(t, m, c).CommonKW - truth.CommonKW
		if math.Abs(s.LostKW-lost) > 1e-6 {
			t.Fatalf("%g kW lost comes back as %g", lost, s.LostKW)
		}
	})
}

// With errors the truth lies within the range when the reading is within two standard deviations, and the range is one-sided on
// the side that the gauge cannot see: what the gauge cannot see is said, not guessed.
func TestScreenRangeIsOneSidedWhereTheGaugeCannotSee(t *testing.T) {
	m := modelOf(t, ternHollow())
	c := Case{Running: []string{"A"}}
	clean := solved(t, m, c).Units[0].PressureKPa
	tell := func(kpa float64) ScreenState {
		s, err := m.ScreenFromPressure(c, "", kpa, 0.5, 0.0025)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	as := tell(clean)
	if as.ClearMin == nil || as.ClearMax != nil || !strings.HasPrefix(as.Range(), "more than 0.1") {
		t.Errorf("a clean screen's pressure: %s", as.Range())
	}
	near(t, "its loss", as.LossM, as.CleanLossM, 1e-9)
	near(t, "its lost power", as.LostKW, 0, 1e-9)
	blocked := tell(clean - 10)
	if blocked.ClearMin == nil || blocked.ClearMax == nil || !(*blocked.ClearMin < blocked.Clear && blocked.Clear < *blocked.ClearMax) {
		t.Errorf("10 kPa below: %s", blocked.Range())
	}
	// 10 kPa is 1.02 m of water; the flow falls a little, which gives some of it back as friction and velocity head.
	near(t, "loss of 10 kPa", blocked.LossM, 1.10, 0.02)
	if !(blocked.LostLowKW < blocked.LostKW && blocked.LostKW < blocked.LostHighKW) {
		t.Errorf("lost power %g, %g, %g", blocked.LostLowKW, blocked.LostKW, blocked.LostHighKW)
	}
	if above := tell(clean + 10); !above.Above || !strings.Contains(above.Range(), "higher") {
		t.Errorf("10 kPa above: %+v", above)
	}
	if below := tell(-20); !below.Below || !strings.Contains(below.Range(), "lower") {
		t.Errorf("−20 kPa: %+v", below)
	}
	if empty := tell(0.3); empty.ClearMin != nil || empty.ClearMax == nil || !strings.HasPrefix(empty.Range(), "less than") {
		t.Errorf("0.3 kPa: %+v", empty)
	}
}

// Around a clearing an offset of the gauge and an error of the level cancel.
func TestClearingTellsTheLossInSpiteOfTheGaugesOffset(t *testing.T) {
	m := modelOf(t, ternHollow())
	c := Case{PondLevelM: -0.3, Running: []string{"A", "B"}, ScreenClear: new(0.06)}
	before := solved(t, m, c)
	c.ScreenClear = nil
	after := solved(t, m, c)
	const offset = 4.0
	read := c
	read.PondLevelM -= 0.05 // the staff gauge was misread
	s, err := m.ScreenFromClearing(read, "A", before.Units[0].PressureKPa+offset, after.Units[0].PressureKPa+offset, 0.5)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "loss", s.LossM, before.ScreenLossM, 0.01)
	near(t, "clear", s.Clear, 0.06, 0.0005)
	plain, err := m.ScreenFromPressure(read, "A", before.Units[0].PressureKPa+offset, 0.5, 0.0025)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(plain.LossM-before.ScreenLossM) < 0.2 {
		t.Errorf("without the clearing the offset should mislead: %g m", plain.LossM)
	}
}

func TestLevelDifferenceTellsTheClearShare(t *testing.T) {
	m := modelOf(t, ternHollow())
	c := Case{Running: []string{"A"}, ScreenClear: new(0.2)}
	truth := solved(t, m, c)
	s, err := m.ScreenFromLoss(c, truth.ScreenLossM, 0.005)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "clear", s.Clear, 0.2, 1e-6)
	near(t, "high", s.LossHighM, truth.ScreenLossM+0.01, 1e-12)
	if s.ClearMin == nil || !(*s.ClearMin < 0.2) || s.ClearMax == nil || !(*s.ClearMax > 0.2) {
		t.Errorf("range %s", s.Range())
	}
	if s.FlowM3s != truth.FlowM3s {
		near(t, "flow", s.FlowM3s, truth.FlowM3s, 1e-9)
	}
	for _, bad := range []float64{math.NaN(), math.Inf(1)} {
		if _, err := m.ScreenFromLoss(c, bad, 0.005); err == nil {
			t.Errorf("a loss of %g was accepted", bad)
		}
	}
}

func TestScreenSaysWhyItCannotTell(t *testing.T) {
	bare := ternHollow()
	bare.Intake.ScreenM2 = nil
	if _, err := modelOf(t, bare).ScreenFromPressure(Case{Running: []string{"A"}}, "", 130, 1, 0); !errors.Is(err, ErrNoScreen) {
		t.Errorf("no screen: %v", err)
	}
	m := modelOf(t, ternHollow())
	if _, err := m.ScreenFromPressure(Case{}, "", 130, 1, 0); !errors.Is(err, ErrNoFlow) {
		t.Errorf("nothing runs: %v", err)
	}
	if _, err := m.ScreenFromPressure(Case{Running: []string{"A"}}, "B", 130, 1, 0); !errors.Is(err, ErrNoGauge) {
		t.Errorf("the gauge of a unit that stands: %v", err)
	}
	if _, err := m.ScreenFromClearing(Case{Running: []string{"Z"}}, "", 130, 131, 1); err == nil {
		t.Error("an unknown unit was accepted")
	}
	var ce *CaseError
	if _, err := m.ScreenFromPressure(Case{Running: []string{"A"}}, "", math.NaN(), 1, 0); !errors.As(err, &ce) {
		t.Errorf("no number for a pressure: %v", err)
	}
	if _, ok := modelOf(t, bare).ApproachMS(0.1); ok {
		t.Error("an approach velocity without a screen")
	}
	if v, ok := m.ApproachMS(0.14); !ok || math.Abs(v-0.1) > 1e-12 {
		t.Errorf("0.14 m³/s on 1.4 m² is %g m/s", v)
	}
	if blind := (ScreenState{}); blind.Range() != "the gauge cannot tell" {
		t.Error(blind.Range())
	}
	if got := (ScreenState{ClearMin: new(0.5), ClearMax: new(0.75), Clear: 0.6}).Range(); got != "0.60 (0.50 to 0.75)" {
		t.Error(got)
	}
}
