package pond

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
)

func stageOf(t *testing.T, rows ...[2]float64) *Stage {
	t.Helper()
	s, err := NewStage(tableOf(rows))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func tableOf(rows [][2]float64) []plant.StageRow {
	var list []plant.StageRow
	for _, r := range rows {
		list = append(list, plant.StageRow{LevelM: r[0], AreaM2: r[1]})
	}
	return list
}

// Worked by hand: a bowl of 1000 m² at 0 m and 3000 m² at 2 m holds 2 · 2000 = 4000 m³; at 1 m its surface is 2000 m² and it
// holds 1500 m³. Below 0 m the segment goes on with 1000 m² a metre: dry at −1 m, −500 m³. Above 2 m the same slope goes on.
func TestStageAgreesWithHandWork(t *testing.T) {
	s := stageOf(t, [2]float64{0, 1000}, [2]float64{2, 3000})
	for _, c := range []struct{ level, area, volume float64 }{
		{0, 1000, 0}, {1, 2000, 1500}, {2, 3000, 4000}, {3, 4000, 7500}, {-0.5, 500, -375}, {-1, 0, -500}, {-3, 0, -500},
	} {
		near(t, "area", s.AreaM2(c.level), c.area, 1e-9)
		near(t, "volume", s.VolumeM3(c.level), c.volume, 1e-9)
		if c.level >= -1 {
			near(t, "level", s.LevelM(c.volume), c.level, 1e-9)
		}
	}
	near(t, "dry level", s.DryM(), -1, 0)
	near(t, "level of less than nothing", s.LevelM(-9999), -1, 0)
	if s.Surveyed(-0.1) || !s.Surveyed(0) || !s.Surveyed(2) || s.Surveyed(2.1) {
		t.Error("the surveyed rows are 0 to 2 m, both included")
	}
}

// The contour table of references.md 7.2 (areas verified there; 5 401 820 m³ by end areas is its own computation).
func TestStageAgreesWithTheContourTable(t *testing.T) {
	var rows [][2]float64
	for i, a := range []float64{400, 31680, 50010, 98480, 241500, 506880, 693900, 708870, 738780} {
		rows = append(rows, [2]float64{284 + 2*float64(i), a})
	}
	near(t, "volume", stageOf(t, rows...).VolumeM3(300), 5401820, 1e-6)
}

func TestStageWithUprightOrNarrowingBanks(t *testing.T) {
	box := stageOf(t, [2]float64{0, 500}, [2]float64{1, 500})
	near(t, "volume below", box.VolumeM3(-2), -1000, 1e-9)
	near(t, "level below", box.LevelM(-1000), -2, 1e-9)
	if !math.IsInf(box.DryM(), -1) {
		t.Error("upright banks have no dry level")
	}
	roof := stageOf(t, [2]float64{0, 500}, [2]float64{1, 250})
	near(t, "area where the banks have met", roof.AreaM2(2.5), 0, 0)
	near(t, "volume there", roof.VolumeM3(3), 500, 1e-9)
}

func TestStageSaysWhatIsWrong(t *testing.T) {
	if _, err := NewStage(nil); !errors.Is(err, ErrNoStage) {
		t.Errorf("no rows: %v", err)
	}
	for _, c := range []struct {
		rows [][2]float64
		row  int
		says string
	}{
		{[][2]float64{{0, 10}}, 1, "at least two"},
		{[][2]float64{{0, 10}, {0, 20}}, 2, "levels must rise"},
		{[][2]float64{{0, 10}, {1, -5}}, 2, "less than nothing"},
		{[][2]float64{{0, 10}, {1, 0}}, 2, "no water surface"},
		{[][2]float64{{math.NaN(), 10}, {1, 20}}, 1, "not a number"},
		{[][2]float64{{0, 10}, {1, math.Inf(1)}}, 2, "not a number"},
	} {
		_, err := NewStage(tableOf(c.rows))
		var fault *StageError
		if !errors.As(err, &fault) || fault.Row != c.row || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%v: %v, want row %d and %q", c.rows, err, c.row, c.says)
		}
	}
}

func drawStage(t *rapid.T) *Stage {
	n := rapid.IntRange(2, 8).Draw(t, "rows")
	level := rapid.Float64Range(-20, 20).Draw(t, "lowest")
	var rows []plant.StageRow
	for i := 0; i < n; i++ {
		rows = append(rows, plant.StageRow{LevelM: level, AreaM2: rapid.Float64Range(10, 1e6).Draw(t, "area")})
		level += rapid.Float64Range(0.05, 3).Draw(t, "step")
	}
	s, err := NewStage(rows)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// drawBowl draws a pond that widens upward, large enough for its flows.
func drawBowl(t *rapid.T) *Stage {
	level, area := rapid.Float64Range(-20, 20).Draw(t, "lowest"), rapid.Float64Range(5e3, 5e4).Draw(t, "area")
	rows := []plant.StageRow{{LevelM: level, AreaM2: area}}
	for range rapid.IntRange(1, 6).Draw(t, "bands") {
		level += rapid.Float64Range(0.1, 2).Draw(t, "step")
		area += rapid.Float64Range(0, 3e4).Draw(t, "wider")
		rows = append(rows, plant.StageRow{LevelM: level, AreaM2: area})
	}
	s, err := NewStage(rows)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestLevelIsTheInverseOfVolume(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawStage(t)
		h := rapid.Float64Range(s.LowM()-1, s.HighM()+1).Draw(t, "level")
		if s.AreaM2(h) < 1 {
			return // dry or roofed over: many levels hold the same
		}
		if got := s.LevelM(s.VolumeM3(h)); math.Abs(got-h) > 1e-6 {
			t.Fatalf("level %.9f came back as %.9f", h, got)
		}
	})
}

func TestVolumeRisesWithTheLevelAndIsTheIntegralOfTheArea(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawStage(t)
		a := rapid.Float64Range(s.LowM()-2, s.HighM()+2).Draw(t, "a")
		b := a + rapid.Float64Range(0.001, 2).Draw(t, "rise")
		va, vb := s.VolumeM3(a), s.VolumeM3(b)
		if vb < va {
			t.Fatalf("volume falls from %g at %g m to %g at %g m", va, a, vb, b)
		}
		edges := []float64{a} // the area is straight between the knots, so that the trapezium rule is exact there
		for _, k := range s.level {
			if k > a && k < b {
				edges = append(edges, k)
			}
		}
		edges = append(edges, b)
		sum := 0.0
		for i := 1; i < len(edges); i++ {
			sum += (s.AreaM2(edges[i-1]) + s.AreaM2(edges[i])) / 2 * (edges[i] - edges[i-1])
		}
		if math.Abs(sum-(vb-va)) > 1e-6*(math.Abs(vb)+math.Abs(va)+1) {
			t.Fatalf("areas sum to %g, volumes differ by %g", sum, vb-va)
		}
	})
}
