package pond

import (
	"context"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// drawPond makes a pond with all its flows; more of any outflow, or less inflow, can only end it sooner.
func drawPond(t *rapid.T) (s *Stage, flows map[string]float64) {
	s = drawBowl(t)
	flows = map[string]float64{}
	for name, most := range map[string]float64{"inflow": 0.05, "draw": 0.1, "bypass": 0.02, "seepage": 0.01, "evaporation": 8, "rain": 4} {
		flows[name] = rapid.Float64Range(0, most).Draw(t, name)
	}
	return s, flows
}

func balanceOf(s *Stage, q map[string]float64) *Balance {
	var e [12]float64
	for i := range e {
		e[i] = q["evaporation"]
	}
	return &Balance{Stage: s, Start: time.Date(2026, 2, 20, 7, 0, 0, 0, time.UTC), InflowM3s: func(float64) float64 { return q["inflow"] },
		Draw: func(float64, float64) (float64, float64) { return q["draw"], 50 * q["draw"] }, BypassM3s: func(_, _ float64) float64 { return q["bypass"] },
		SeepageM3s: func(float64) float64 { return q["seepage"] }, EvaporationMMDay: &e, RainMMDay: func(float64) float64 { return q["rain"] },
		Weir: &Weir{CrestM: s.HighM(), LengthM: 2, Coefficient: 1.7}}
}

func TestMoreOutflowNeverEndsLaterAndMoreInflowNeverSooner(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, q := drawPond(t)
		span := s.HighM() - s.LowM()
		start, stop := s.LowM()+0.9*span, s.LowM()+0.2*span
		hours := func(q map[string]float64) float64 {
			got, err := Drawdown(context.Background(), balanceOf(s, q), start, Limits{StopM: stop, Horizon: 2000 * time.Hour})
			if err != nil {
				t.Fatal(err)
			}
			if !got.Reached {
				return math.Inf(1)
			}
			return got.Hours
		}
		base := hours(q)
		for name := range q {
			more := map[string]float64{}
			for k, v := range q {
				more[k] = v
			}
			more[name] = 1.3*q[name] + 1e-3
			h := hours(more)
			if name == "inflow" || name == "rain" {
				h, base := base, h
				if h > base*(1+1e-6)+1e-6 {
					t.Fatalf("more %s ends it sooner: %g h instead of %g h", name, base, h)
				}
			} else if h > base*(1+1e-6)+1e-6 {
				t.Fatalf("more %s ends it later: %g h instead of %g h", name, h, base)
			}
		}
	})
}

// Stopping half-way and going on from the level there comes to the same end.
func TestADrawdownCanBeTakenUpAgain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, q := drawPond(t)
		q["evaporation"], q["draw"] = 3, q["draw"]+0.03
		span := s.HighM() - s.LowM()
		start, half, stop := s.LowM()+0.9*span, s.LowM()+0.5*span, s.LowM()+0.2*span
		run := func(from, to float64) Result {
			got, err := Drawdown(context.Background(), balanceOf(s, q), from, Limits{StopM: to, Horizon: 20000 * time.Hour})
			if err != nil {
				t.Fatal(err)
			}
			return got
		}
		whole, first := run(start, stop), run(start, half)
		if !whole.Reached {
			return
		}
		rest := run(half, stop)
		if sum := first.Hours + rest.Hours; math.Abs(sum-whole.Hours) > 1e-5*whole.Hours+1e-5 {
			t.Fatalf("%g h and %g h are not %g h", first.Hours, rest.Hours, whole.Hours)
		}
		if kwh := first.Totals.EnergyKWh + rest.Totals.EnergyKWh; math.Abs(kwh-whole.Totals.EnergyKWh) > 1e-4*whole.Totals.EnergyKWh+1e-4 {
			t.Fatalf("%g kWh in parts, %g in one", kwh, whole.Totals.EnergyKWh)
		}
	})
}

// Breaks and month ends only cut the run into pieces: one that breaks nothing changes nothing.
func TestABreakWhereNothingBreaksChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, q := drawPond(t)
		b := balanceOf(s, q)
		lim := Limits{StopM: s.LowM(), Horizon: 500 * time.Hour}
		start := s.LowM() + 0.8*(s.HighM()-s.LowM())
		plain, err := Drawdown(context.Background(), b, start, lim)
		if err != nil {
			t.Fatal(err)
		}
		for range rapid.IntRange(1, 5).Draw(t, "breaks") {
			b.Breaks = append(b.Breaks, rapid.Float64Range(-1e5, 3e6).Draw(t, "at"))
		}
		cut, err := Drawdown(context.Background(), b, start, lim)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(cut.EndM-plain.EndM) > 1e-6 || math.Abs(cut.Hours-plain.Hours) > 1e-5*plain.Hours+1e-6 {
			t.Fatalf("%g m after %g h, without breaks %g m after %g h", cut.EndM, cut.Hours, plain.EndM, plain.Hours)
		}
	})
}
