package water

import (
	"context"
	"testing"
	"time"

	"example.org/headpond/model/record"
)

func TestReportGivesTheFactsOfEveryDefaultWay(t *testing.T) {
	rounds, _ := readBacktest(t)
	h := &record.History{At: rounds[400].Time, Plant: backtestPlant(), Rounds: rounds[:401]}
	f, err := Report(context.Background(), h, Always(backtestDraw), Options{Fan: true, Until: h.At.Add(20 * 24 * time.Hour)})
	if err != nil {
		t.Fatal(err)
	}
	if len(f.Ways) != 2 || len(f.Ways[0].Run) != 0 || f.Ways[1].Run[0] != "A" {
		t.Fatalf("ways %+v, want none and A", f.Ways)
	}
	if f.Until == nil || f.InflowLps == nil || len(f.Ways[1].Fan) == 0 {
		t.Fatalf("until, inflow or fan is missing: %+v", f)
	}
}
