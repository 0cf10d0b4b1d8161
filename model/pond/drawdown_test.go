package pond

import (
	"context"
	"errors"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func constant(q float64) func(s, levelM float64) (float64, float64) {
	return func(_, _ float64) (float64, float64) { return q, 100 * q }
}

// Worked by hand: 1000 m² with upright banks, 0.01 m³/s out: 36 m³ an hour, so a metre in 27.778 h. The machine gives 1 kW:
// 27.778 kWh.
func TestABoxEmptiesInTheTimeWorkedByHand(t *testing.T) {
	b := &Balance{Stage: stageOf(t, [2]float64{0, 1000}, [2]float64{2, 1000}), Draw: constant(0.01)}
	got, err := Drawdown(context.Background(), b, 1.5, Limits{StopM: 0.5, Horizon: 100 * time.Hour, Watch: []float64{1, 3}, Every: 10 * time.Hour})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "hours", got.Hours, 1000/36.0, 1e-9)
	near(t, "energy", got.Totals.EnergyKWh, 1000/36.0, 1e-9)
	if len(got.Crossings) != 1 || got.Crossings[0].Rising {
		t.Fatalf("crossings %+v, want one of 1 m, falling", got.Crossings)
	}
	near(t, "crossing of 1 m", got.Crossings[0].Hours, 500/36.0, 1e-9)
	if len(got.Curve) != 3 {
		t.Fatalf("curve %+v, want points at 0, 10 and 20 h", got.Curve)
	}
	near(t, "level after 20 h", got.Curve[2].LevelM, 1.5-0.72, 1e-9)
}

func TestAStartAtTheStopIsReachedAtOnce(t *testing.T) {
	b := &Balance{Stage: stageOf(t, [2]float64{0, 1000}, [2]float64{2, 1000}), Draw: constant(0.01)}
	got, err := Drawdown(context.Background(), b, 0.5, Limits{StopM: 0.5, Horizon: time.Hour})
	if err != nil || !got.Reached || got.Hours != 0 {
		t.Fatalf("%+v, %v", got, err)
	}
}

func TestADryPondEndsTheRun(t *testing.T) {
	b := &Balance{Stage: stageOf(t, [2]float64{0, 0}, [2]float64{2, 4000}), Draw: constant(0.1)}
	got, err := Drawdown(context.Background(), b, 1, Limits{StopM: -5, Horizon: 1000 * time.Hour})
	if err != nil || !got.Dry || got.Reached {
		t.Fatalf("%+v, %v", got, err)
	}
	near(t, "hours until 1000 m³ are gone", got.Hours, 1000/360.0, 1e-6)
}

func TestEvaporationFollowsTheMonthAndStopsUnderIce(t *testing.T) {
	b := &Balance{Stage: stageOf(t, [2]float64{0, 1000}, [2]float64{2, 1000}), Start: time.Date(2026, 6, 30, 0, 0, 0, 0, time.UTC),
		EvaporationMMDay: &[12]float64{5: 4, 6: 6}}
	got, err := Drawdown(context.Background(), b, 1, Limits{StopM: 0, Horizon: 72 * time.Hour})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "level after a day of June and two of July", got.EndM, 1-0.016, 1e-9)
	b.IceCover = func(s float64) bool { return s >= 86400 }
	b.Breaks = []float64{86400}
	if got, err = Drawdown(context.Background(), b, 1, Limits{StopM: 0, Horizon: 72 * time.Hour}); err != nil {
		t.Fatal(err)
	}
	near(t, "level with ice from the second day", got.EndM, 1-0.004, 1e-9)
}

func TestPartDayRunningFollowsTheWallClock(t *testing.T) {
	halifax, err := time.LoadLocation("America/Halifax")
	if err != nil {
		t.Skip("no time zone data on this machine")
	}
	// 7 to 9 March 2026: the clocks go forward on the 8th at 02:00, so a stretch over that night is an hour short.
	start := time.Date(2026, 3, 7, 0, 0, 0, 0, halifax)
	p, err := ParsePartDay("22:00", "06:00")
	if err != nil {
		t.Fatal(err)
	}
	horizon := 71 * time.Hour // to the midnight after the 9th
	b := &Balance{Stage: stageOf(t, [2]float64{0, 1e5}, [2]float64{2, 1e5}), Start: start}
	b.Draw, b.Breaks = PartDayDraw(start, horizon, p, func(float64) (float64, float64) { return 0.1, 1 })
	got, err := Drawdown(context.Background(), b, 2, Limits{StopM: 0, Horizon: horizon})
	if err != nil {
		t.Fatal(err)
	}
	// 00–06, 22–06 (7 h), 22–06, 22–24.
	near(t, "hours run", got.Totals.EnergyKWh, 6+7+8+2, 1e-9)
}

func TestPartDayWords(t *testing.T) {
	for _, c := range []struct {
		from, to string
		share    float64
		at       string
		holds    bool
	}{
		{"06:00", "22:00", 16.0 / 24, "06:00", true}, {"06:00", "22:00", 16.0 / 24, "22:00", false},
		{"22:00", "06:00", 8.0 / 24, "23:59", true}, {"22:00", "06:00", 8.0 / 24, "12:00", false},
		{"00:00", "24:00", 1, "12:00", true}, {"12:00", "12:00", 1, "03:00", true},
	} {
		p, err := ParsePartDay(c.from, c.to)
		if err != nil {
			t.Fatal(err)
		}
		at, err := time.Parse("15:04", c.at)
		if err != nil {
			t.Fatal(err)
		}
		if p.Holds(at) != c.holds {
			t.Errorf("%s at %s: holds %v, want %v", p, c.at, p.Holds(at), c.holds)
		}
		near(t, p.String(), p.Share(), c.share, 1e-12)
	}
	for _, bad := range []string{"6 Uhr", "25:00", "", "12:60"} {
		if _, err := ParsePartDay(bad, "22:00"); err == nil {
			t.Errorf("%q was taken for a time of day", bad)
		}
		if _, err := ParsePartDay("06:00", bad); err == nil {
			t.Errorf("%q was taken for a time of day", bad)
		}
	}
}

func TestWaterIsNeitherMadeNorLost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawBowl(t)
		flow := rapid.Float64Range(0, 0.2)
		in, out, by, seep := flow.Draw(t, "inflow"), flow.Draw(t, "draw"), flow.Draw(t, "bypass"), flow.Draw(t, "seepage")
		b := &Balance{Stage: s, Start: time.Date(2026, 1, 20, 7, 0, 0, 0, time.UTC),
			InflowM3s:        func(at float64) float64 { return in * (1 + math.Sin(at/50000)) },
			Draw:             func(_, h float64) (float64, float64) { return out * math.Sqrt(math.Max(0, h+30)/30), 1 },
			BypassM3s:        func(_, _ float64) float64 { return by },
			SeepageM3s:       func(float64) float64 { return seep },
			EvaporationMMDay: &[12]float64{1, 2, 3, 4, 5, 6, 6, 5, 4, 3, 2, 1},
			RainMMDay:        func(float64) float64 { return 3 },
			Weir:             &Weir{CrestM: s.HighM(), LengthM: 2, Coefficient: 1.7},
		}
		start := rapid.Float64Range(s.LowM(), s.HighM()+0.3).Draw(t, "start")
		got, err := Drawdown(context.Background(), b, start, Limits{StopM: s.LowM() - 0.5, Horizon: 400 * time.Hour})
		if err != nil {
			t.Fatal(err)
		}
		gained := s.VolumeM3(got.EndM) - s.VolumeM3(start)
		moved := got.Totals.InflowM3 + got.Totals.DrawM3 + got.Totals.SpillM3 + 1
		if math.Abs(gained-got.Totals.NetM3()) > 1e-5*moved {
			t.Fatalf("gained %.6f m³, flows make %.6f m³", gained, got.Totals.NetM3())
		}
	})
}

func TestDrawdownSaysWhatCannotBeRun(t *testing.T) {
	ok := stageOf(t, [2]float64{0, 1000}, [2]float64{2, 1000})
	if _, err := Drawdown(context.Background(), &Balance{}, 1, Limits{Horizon: time.Hour}); !errors.Is(err, ErrNoStage) {
		t.Errorf("without a stage table: %v", err)
	}
	if _, err := Drawdown(context.Background(), &Balance{Stage: ok}, math.NaN(), Limits{Horizon: time.Hour}); err == nil {
		t.Error("a level that is not a number was run")
	}
	if _, err := Drawdown(context.Background(), &Balance{Stage: ok, Weir: &Weir{CrestM: math.NaN()}}, 1, Limits{Horizon: time.Hour}); err == nil {
		t.Error("a crest that is not a number was run")
	}
	if _, err := Drawdown(context.Background(), &Balance{Stage: ok, EvaporationMMDay: &[12]float64{math.NaN()}}, 1, Limits{Horizon: time.Hour}); err == nil {
		t.Error("an evaporation that is not a number was run")
	}
	if _, err := Drawdown(context.Background(), &Balance{Stage: ok, Draw: constant(math.NaN())}, 1, Limits{Horizon: time.Hour}); err == nil {
		t.Error("a draw that is not a number was run")
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Drawdown(ctx, &Balance{Stage: ok, Draw: constant(0.01)}, 1, Limits{Horizon: time.Hour}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

// y' = −y has a closed form; halving the step must cut the error of a step's end by about 2⁶ and of its inside by about 2⁵.
func TestTheMethodHasTheOrdersOfItsBook(t *testing.T) {
	f := func(_ float64, y vector) vector { return vector{-y[0]} }
	miss := func(h float64) (end, inside float64) {
		y := vector{1}
		st, _ := try(f, 0, h, y, f(0, y))
		return math.Abs(st.end[0] - math.Exp(-h)), math.Abs(st.at(0.37)[0] - math.Exp(-0.37*h))
	}
	e1, i1 := miss(0.4)
	e2, i2 := miss(0.2)
	if r := math.Log2(e1 / e2); r < 5.5 || r > 6.8 {
		t.Errorf("order of a step's end %.2f, want about 6", r)
	}
	if r := math.Log2(i1 / i2); r < 4.4 || r > 6 {
		t.Errorf("order within a step %.2f, want about 5", r)
	}
}
