package water

import (
	"context"
	"errors"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// still is a stream that always brings the same.
type still struct{ m3s float64 }

func (s still) begin(_ *chances, _ vec, days, flow []float64) current {
	for i := range days {
		flow[i] = s.m3s
	}
	return written{}
}

// Worked by hand: 20 mm on 3.2 km² with 0.05 km² of pond in it are 1000 m³ on the pond and 63 000 m³ on the land. Of that
// a tenth to six tenths run off, 35 % in the mean: 22 050 m³; with the pond's own, 23 050 m³.
func TestRainBringsTheVolumeThatFallsAndRunsOff(t *testing.T) {
	const members = 2000
	m := &Model{b: &basin{plant: &plant.Plant{Pond: plant.Pond{CatchmentKM2: new(3.2)}}}}
	grids := map[string][]float64{"days": steps(0, 1, 120), "hours first": append(steps(0, 1.0/24, 24), steps(2, 1, 100)...), "uneven": {0, 0.25, 0.5, 1, 2, 4, 8, 16, 32}}
	for name, days := range grids {
		s, err := m.withRain(still{0.05}, WhatIf{RainMM: 20}, members, 5e4)
		if err != nil {
			t.Fatal(err)
		}
		sum, least, most := 0.0, math.Inf(1), 0.0
		for range members {
			flow := make([]float64, len(days))
			whole(s, nil, vec{}, days, flow)
			v := 0.0
			for i := 1; i < len(days); i++ {
				v += (days[i] - days[i-1]) * secondsPerDay * ((flow[i-1]+flow[i])/2 - 0.05)
			}
			sum, least, most = sum+v/members, math.Min(least, v), math.Max(most, v)
		}
		for what, pair := range map[string][2]float64{"mean": {sum, 23050}, "least": {least, 7300}, "most": {most, 38800}} {
			if math.Abs(pair[0]-pair[1]) > 0.002*pair[1] {
				t.Errorf("grid of %s: %s %.0f m³, want %.0f", name, what, pair[0], pair[1])
			}
		}
	}
}

// steps is n+1 days from one on.
func steps(from, by float64, n int) []float64 {
	var list []float64
	for i := range n + 1 {
		list = append(list, from+by*float64(i))
	}
	return list
}

// A wanted date tomorrow must not get four days' runoff.
func TestAGridThatEndsEarlyGetsOnlyItsPartOfTheRain(t *testing.T) {
	flow := make([]float64, 2)
	addVolume([]float64{0, 1}, flow, 1000, runoffShape)
	got := secondsPerDay * (flow[0] + flow[1]) / 2
	if want := 1000 * 0.5 / (0.5 + quickDays); math.Abs(got-want) > 0.05*want { // half a day's worth of the peak, of that and the recession
		t.Errorf("%.0f m³ in the first day, want about %.0f", got, want)
	}
}

func TestRainNeedsTheCatchmentsArea(t *testing.T) {
	m := &Model{b: &basin{plant: &plant.Plant{}}}
	if _, err := m.withRain(still{}, WhatIf{RainMM: 5}, 10, 1e4); !errors.Is(err, ErrNoCatchment) {
		t.Errorf("rain without a catchment gives %v", err)
	}
	if s, err := m.withRain(still{}, WhatIf{}, 10, 1e4); err != nil || s != (still{}) {
		t.Errorf("no rain changes the stream: %v, %v", s, err)
	}
	for _, mm := range []float64{-1, math.NaN(), math.Inf(1)} {
		if _, err := m.withRain(still{}, WhatIf{RainMM: mm}, 10, 1e4); err == nil {
			t.Errorf("%g mm of rain is taken", mm)
		}
	}
}

// falling is a pond of 5 ha that falls a centimetre a day for a month.
func falling(catchment *float64) *record.History {
	at := time.Date(2026, 8, 14, 8, 0, 0, 0, time.UTC)
	p := &plant.Plant{Location: time.UTC, Units: []plant.Unit{{ID: "A"}},
		Pond: plant.Pond{Stage: []plant.StageRow{{LevelM: -1.5, AreaM2: 4e4}, {LevelM: 0.5, AreaM2: 6e4}}, StopLevelM: new(-0.85), CatchmentKM2: catchment}}
	h := &record.History{At: at, Plant: p}
	for d := 30; d >= 0; d-- {
		h.Rounds = append(h.Rounds, record.Round{Time: at.Add(-time.Duration(d) * 24 * time.Hour), Running: &[]string{"A"},
			Values: map[quantity.Key]float64{quantity.Key(quantity.PondLevelM): -0.5 + 0.01*float64(d)}})
	}
	return h
}

func draws(float64, []string) (float64, float64) { return 0.03, 3 }

// More rain never ends a drawdown sooner, and the answer without rain is the answer that was there before.
func TestMoreRainNeverEndsTheWaterSooner(t *testing.T) {
	m, err := Prepare(context.Background(), falling(new(2.0)), Always(draws))
	if err != nil {
		t.Fatal(err)
	}
	middle := func(mm float64) float64 {
		f, err := m.Forecast(context.Background(), Options{Members: 300, Ways: []Choice{{Run: []string{"A"}}}, WhatIf: WhatIf{RainMM: mm}, Horizon: 120 * 24 * time.Hour})
		if err != nil {
			t.Fatal(err)
		}
		if mm > 0 != (len(f.Cautions) > 0 && f.Cautions[len(f.Cautions)-1] == sayRain(WhatIf{RainMM: mm})[0]) {
			t.Errorf("with %g mm the cautions are %q", mm, f.Cautions)
		}
		return f.Ways[0].EnergyKWh.P50
	}
	last := middle(0)
	for _, mm := range []float64{5, 20, 60} {
		next := middle(mm)
		if next < last {
			t.Errorf("%g mm of rain give %.0f kWh, less rain %.0f", mm, next, last)
		}
		last = next
	}
	if dry := middle(0); last < 1.05*dry {
		t.Errorf("60 mm on 2 km² change %.0f kWh to %.0f only", dry, last)
	}
	dry, err := Prepare(context.Background(), falling(nil), Always(draws))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := dry.Forecast(context.Background(), Options{Members: 10, WhatIf: WhatIf{RainMM: 5}}); !errors.Is(err, ErrNoCatchment) {
		t.Errorf("without the area: %v", err)
	}
}

// The fan of a way crosses the stop level when its hours say: at the far end of the forecast no point of a fan that has
// run out lies above it.
func TestTheFanStaysAtTheStopLevel(t *testing.T) {
	m, err := Prepare(context.Background(), falling(nil), Always(draws))
	if err != nil {
		t.Fatal(err)
	}
	f, err := m.Forecast(context.Background(), Options{Members: 400, Fan: true, Ways: []Choice{{Run: []string{"A"}}}, Horizon: 200 * 24 * time.Hour})
	if err != nil {
		t.Fatal(err)
	}
	w := f.Ways[0]
	if w.Outcome != RunsOut || w.HoursAnyOutcome.P50 == nil || len(w.Fan) < 60 {
		t.Fatalf("the case does not run out as it should: %+v", w)
	}
	for _, x := range w.Fan {
		late := x.Time.Sub(f.At).Hours() - *w.HoursAnyOutcome.P50
		if late > 24 && x.LevelM.P50 > f.StopLevelM+0.005 {
			t.Errorf("%.0f h after the middle hour the middle level is %.3f m, above the stop level", late, x.LevelM.P50)
		}
		if late < -24 && x.LevelM.P50 <= f.StopLevelM {
			t.Errorf("%.0f h before the middle hour the middle level is %.3f m already", -late, x.LevelM.P50)
		}
	}
}

func TestFanDaysAreDenseAtFirstAndNeverTooMany(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 5000).Draw(t, "days")
		list := fanDays(n)
		if len(list) == 0 || list[0] != 0 || len(list) > 160 {
			t.Fatalf("%d days give %d points", n, len(list))
		}
		for i := 1; i < len(list); i++ {
			if list[i] <= list[i-1] || list[i] >= n || list[i] < 60 && list[i] != i {
				t.Fatalf("point %d is day %d of %d", i, list[i], n)
			}
		}
	})
}
