package water

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/pond"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// oldAndNew are two revisions: until 10 July machine A drew 60 L/s and there was a C of 20 L/s; since then A draws 95 L/s, and
// there is a B of 40 L/s in the place of C.
func oldAndNew() (old, now *plant.Plant, draws Draws) {
	old, now = backtestPlant(), twoUnits()
	old.Units = []plant.Unit{{ID: "A"}, {ID: "C"}}
	draws = func(p *plant.Plant) (Draw, error) {
		if p == now {
			return twoDraws, nil
		}
		return func(_ float64, running []string) (q, kw float64) {
			for _, u := range running {
				q += map[string]float64{"A": 0.060, "C": 0.020}[u]
			}
			return q, 100 * q
		}, nil
	}
	return old, now, draws
}

func TestEachRevisionsMachinesDrawTheirOwnWater(t *testing.T) {
	old, now, draws := oldAndNew()
	h := logOf(july(12, 7), now, []entry{{at: july(8, 7), level: 0.6, running: "AC"}, {at: july(9, 7), level: 0.6, running: "A"}, {at: july(11, 7), level: 0.5, running: "A"}},
		record.Event{Time: july(9, 7), Kind: record.Stop, Units: []string{"C"}})
	h.Revisions = []record.Revision{{From: july(1, 0), Plant: old}, {From: july(10, 0), Plant: now}}
	s, b := seriesOf(t, h, draws)
	wantPieces(t, "A and C of old", &s.legs[1], drawn{hours: 24, a: 80, b: 80, mostDraw: 80})
	wantPieces(t, "over the change", &s.legs[2], drawn{hours: 17, a: 60, b: 60, mostDraw: 80}, drawn{hours: 31, a: 95, b: 95, mostDraw: 135})
	wantPieces(t, "since", &s.legs[3], drawn{hours: 24, a: 95, b: 95, mostDraw: 135})
	if d := cmp.Diff([]string{"A", "B", "C"}, b.units()); d != "" {
		t.Errorf("all machines that ever were: %s", d)
	}
}

// A pond that fell as 60 L/s make it fall tells of 45 L/s of inflow. Read as if 95 L/s had been drawn, it would tell of 80.
func TestTheInflowOfAnOldMachinesDaysIsItsOwn(t *testing.T) {
	old, now, draws := oldAndNew()
	stage, err := pond.NewStage(now.Pond.Stage)
	if err != nil {
		t.Fatal(err)
	}
	start := july(1, 7)
	b := &pond.Balance{Stage: stage, Start: start, EvaporationMMDay: now.Pond.EvaporationMMDay,
		InflowM3s: func(float64) float64 { return 0.045 }, BypassM3s: func(_, _ float64) float64 { return 0.010 },
		Draw: func(float64, float64) (float64, float64) { return 0.060, 6 }}
	got, err := pond.Drawdown(t.Context(), b, 0.7, pond.Limits{StopM: -1, Horizon: 14 * 24 * time.Hour, Every: 24 * time.Hour})
	if err != nil {
		t.Fatal(err)
	}
	h := &record.History{Plant: now, At: start.Add(14 * 24 * time.Hour)}
	run := []string{"A"}
	for _, c := range got.Curve {
		h.Rounds = append(h.Rounds, record.Round{Time: start.Add(time.Duration(c.Hours * float64(time.Hour))), Running: &run, Values: map[quantity.Key]float64{"pond_level_m": c.LevelM}})
	}
	h.Revisions = []record.Revision{{From: july(1, 0), Plant: old}, {From: h.At.Add(-time.Hour), Plant: now}}
	f, err := Report(t.Context(), h, draws, Options{Members: 100})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "inflow by the machines of then, L/s", f.InflowLps.P50, 45, 5)
	near(t, "draw of A now, L/s", f.Ways[1].DrawLps, 95, 1e-9)
	h.Revisions = nil
	if f, err = Report(t.Context(), h, draws, Options{Members: 100}); err != nil {
		t.Fatal(err)
	}
	near(t, "inflow if today's had run, L/s", f.InflowLps.P50, 80, 6)
}

func TestErasFollowTheRevisions(t *testing.T) {
	old, now, draws := oldAndNew()
	h := &record.History{Plant: now, At: july(20, 0)}
	h.Revisions = []record.Revision{{From: july(5, 0), Plant: old}, {From: july(10, 0), Plant: now}, {From: july(25, 0), Plant: old}}
	_, b := seriesOf(t, h, draws)
	if len(b.eras) != 2 {
		t.Fatalf("%d eras: a revision of the future is none yet", len(b.eras))
	}
	for _, c := range []struct {
		at   time.Time
		want int
	}{{july(1, 0), 0}, {july(5, 0), 0}, {july(9, 23), 0}, {july(10, 0), 1}, {july(19, 0), 1}, {july(30, 0), 1}} {
		if got := b.eraAt(c.at); got != c.want {
			t.Errorf("%v lies in era %d, want %d", c.at, got, c.want)
		}
	}
	var cuts []time.Time
	b.byEra(july(8, 0), july(12, 0), func(_ *era, from, to time.Time) { cuts = append(cuts, from, to) })
	if d := cmp.Diff([]time.Time{july(8, 0), july(10, 0), july(10, 0), july(12, 0)}, cuts); d != "" {
		t.Error(d)
	}
	b.byEra(july(12, 0), july(12, 0), func(*era, time.Time, time.Time) { t.Error("a stretch of no length was handed on") })
}

func TestAnOldPlantThatCannotBeWorkedOutIsSaid(t *testing.T) {
	old, now, draws := oldAndNew()
	broken := func(p *plant.Plant) (Draw, error) {
		if p == old {
			return nil, errors.New("no penstock")
		}
		return draws(p)
	}
	h := dryLog(t, now, 0.060, 0.7, 8, "A")
	h.Revisions = []record.Revision{{From: july(1, 0), Plant: old}, {From: july(4, 0), Plant: now}}
	f, err := Report(t.Context(), h, broken, Options{Members: 100})
	if err != nil {
		t.Fatal(err)
	}
	if !says(f, "older plant revisions cannot be worked out") {
		t.Errorf("cautions %q", f.Cautions)
	}
	near(t, "inflow, today's machines standing in", f.InflowLps.P50, 60, 7)
	if _, err := Report(t.Context(), h, func(*plant.Plant) (Draw, error) { return nil, errors.New("no penstock") }, Options{}); err == nil || !strings.Contains(err.Error(), "no penstock") {
		t.Errorf("today's plant cannot be worked out: %v", err)
	}
}
