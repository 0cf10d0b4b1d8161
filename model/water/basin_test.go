package water

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/pond"
)

// What the filter takes as lost is what the pond's own balance says, which is checked by itself against reference solvers.
func TestLossesAreThoseOfThePondsBalance(t *testing.T) {
	p := twoUnits()
	p.Pond.SeepageLps = 1.5
	b, err := newBasin(p, twoDraws)
	if err != nil {
		t.Fatal(err)
	}
	balance := &pond.Balance{Stage: b.stage, EvaporationMMDay: p.Pond.EvaporationMMDay, SeepageM3s: func(float64) float64 { return 0.0015 },
		BypassM3s: func(_, _ float64) float64 { return 0.010 }, Weir: &pond.Weir{CrestM: 0.8, LengthM: 3, Coefficient: 1.705}}
	for month := time.January; month <= time.December; month++ {
		balance.Start = time.Date(2026, month, 10, 0, 0, 0, 0, time.UTC)
		for _, level := range []float64{-0.3, 0, 0.5, 0.8, 0.81, 1.2} {
			got, _ := b.losses(level, b.stage.AreaM2(level), 0.010, month, false)
			f := balance.FlowsAt(0, level)
			near(t, "losses", got, -f.NetM3s(), 1e-12)
			iced, _ := b.losses(level, b.stage.AreaM2(level), 0.010, month, true)
			near(t, "under ice", iced, got-f.EvaporationM3s, 1e-12)
		}
	}
}

// Over the crest the rise of the losses with the volume is the spill's derivative, here by differences.
func TestTheSpillsRiseIsItsDerivative(t *testing.T) {
	b, err := newBasin(twoUnits(), twoDraws)
	if err != nil {
		t.Fatal(err)
	}
	for _, level := range []float64{0.85, 0.9, 1.1, 1.3} {
		v := b.stage.VolumeM3(level)
		spill := func(v float64) float64 { return b.weir.SpillM3s(b.stage.LevelM(v)) }
		want := (spill(v+1) - spill(v-1)) / 2
		_, got := b.losses(level, b.stage.AreaM2(level), 0, time.June, false)
		near(t, "1/s", got, want, 1e-4*want)
	}
	if _, rise := b.losses(0.8, b.stage.AreaM2(0.8), 0, time.June, false); rise != 0 {
		t.Errorf("at the crest the losses rise by %g", rise)
	}
}

// Worked by hand from Gordon's rule (from memory): S = 0.7245 V √D, V from every unit's best flow through the mouth.
func TestTheStopLevelByRuleCountsEveryUnit(t *testing.T) {
	centre, d := -1.55, 0.35
	p := &plant.Plant{Intake: plant.Intake{CentrelineM: &centre, DiameterM: &d}, Units: []plant.Unit{{ID: "A", BestFlowLps: 76}, {ID: "B", BestFlowLps: 41}}}
	v := 0.117 / (math.Pi * 0.35 * 0.35 / 4) // 1.216 m/s
	level, from, err := StopLevel(p)
	if err != nil || from != "submergence" {
		t.Fatal(from, err)
	}
	near(t, "stop level", level, -1.55+0.175+0.7245*v*math.Sqrt(0.35), 1e-9)
	given := -0.85
	p.Pond.StopLevelM = &given
	if level, from, _ = StopLevel(p); level != -0.85 || from != "plant" {
		t.Errorf("the plant's own: %g from %q", level, from)
	}
	zero := 0.0
	for what, p := range map[string]*plant.Plant{"no intake": {}, "no diameter": {Intake: plant.Intake{CentrelineM: &centre}}, "a diameter of nothing": {Intake: plant.Intake{CentrelineM: &centre, DiameterM: &zero}}} {
		if _, _, err := StopLevel(p); !errors.Is(err, ErrNoStopLevel) {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// A pond without a crest never spills and is never filled; one whose coefficient is not given has the contract's 1.7.
func TestCrestsAreTakenAsThePlantGivesThem(t *testing.T) {
	p := twoUnits()
	p.Pond.CrestCoefficient = 0
	b, err := newBasin(p, twoDraws)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "coefficient", b.weir.Coefficient, 1.7, 0)
	p.Pond.CrestM = nil
	if b, err = newBasin(p, twoDraws); err != nil {
		t.Fatal(err)
	}
	if b.weir != nil || !math.IsInf(b.crestV, 1) {
		t.Errorf("a pond without a crest has %+v", b.weir)
	}
	f := report(t, dryLog(t, p, 0.2, 0.7, 4, "A"), Options{Members: 60, Horizon: 30 * 24 * time.Hour})
	for _, w := range f.Ways {
		if *w.FilledFirst != 0 || w.Outcome == Spills {
			t.Errorf("%v: filled first %g, %s", w.Run, *w.FilledFirst, w.Outcome)
		}
	}
	if f.CrestM != nil {
		t.Errorf("a crest at %g m", *f.CrestM)
	}
}

// What the solver cannot work out draws nothing; a table asks the solver once for each level and set.
func TestTheDrawIsTabledOnce(t *testing.T) {
	asked := map[string]int{}
	d := newDrawBook(func(level float64, running []string) (float64, float64) {
		asked[strings.Join(running, "+")]++
		if level < -0.2 {
			return math.NaN(), math.NaN()
		}
		return 0.1, math.Inf(1)
	}, -1, 1)
	for range 3 {
		q, kw := d.table([]string{"A"}).at(0.5)
		near(t, "flow", q, 0.1, 1e-12)
		near(t, "a power that is none", kw, 0, 0)
	}
	near(t, "a flow that is none", d.table([]string{"A"}).meanAt(-0.5), 0, 0)
	if d.table(nil).meanAt(0.5) != 0 || asked[""] != 0 {
		t.Error("the solver was asked what nothing draws")
	}
	if asked["A"] != drawKnots {
		t.Errorf("the solver was asked %d times, want %d", asked["A"], drawKnots)
	}
}

// Between its knots the table is straight, beyond them its end stands.
func TestTheDrawTableIsStraightBetweenKnots(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Float64Range(0.01, 0.2).Draw(t, "a"), rapid.Float64Range(-0.005, 0.05).Draw(t, "b")
		table := newDrawBook(func(l float64, _ []string) (float64, float64) { return a + b*(l+1), 10 * a }, -1, 2).table([]string{"A"})
		level := rapid.Float64Range(-3, 4).Draw(t, "level")
		q, kw := table.at(level)
		want := a + b*(math.Max(-1, math.Min(2, level))+1)
		if math.Abs(q-math.Max(0, want)) > 1e-9 || math.Abs(kw-10*a) > 1e-9 {
			t.Fatalf("at %g m: %g m³/s, %g kW; want %g, %g", level, q, kw, want, 10*a)
		}
	})
}

func TestUnitsComeInThePlantsOrder(t *testing.T) {
	p := twoUnits()
	for _, c := range []struct{ in, want []string }{{[]string{"B", "A"}, []string{"A", "B"}}, {[]string{"B", "B"}, []string{"B"}}, {nil, []string{}}, {[]string{"X"}, []string{}}} {
		if d := cmp.Diff(c.want, inOrder(p, c.in)); d != "" {
			t.Errorf("%v: %s", c.in, d)
		}
	}
	if err := checkUnits(p, []string{"A", "X"}); err == nil || !strings.Contains(err.Error(), `"X"`) || !strings.Contains(err.Error(), "A, B") {
		t.Errorf("an unknown unit: %v", err)
	}
	if err := checkUnits(p, []string{"B"}); err != nil {
		t.Error(err)
	}
}
