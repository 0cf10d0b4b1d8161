package week

import (
	"math"
	"testing"

	"example.org/headpond/model/pond"
)

func TestWaterOfAWeek(t *testing.T) {
	n := write(t, tern(t), "2026-02-10 00:00").
		round("2026-02-01 08:00", "pond_level_m=0.05"). // before the week
		round("2026-02-04 08:00", "pond_level_m=-0.20 rain_mm=4").
		round("2026-02-05 08:00", "pond_level_m=-0.35").
		round("2026-02-06 08:00", "pond_level_m=-0.10 rain_mm=2.5").
		round("2026-02-09 08:00", "pond_level_m=-0.30")
	w := n.report(Week).Water
	for _, c := range []struct {
		name string
		got  ValueAt
		v    float64
		id   string
	}{
		{"first", w.First, -0.20, "R0204T1200"}, {"last", w.Last, -0.30, "R0209T1200"}, {"lowest", w.Lowest, -0.35, "R0205T1200"}, {"highest", w.Highest, -0.10, "R0206T1200"},
	} {
		if c.got.Value != c.v || c.got.ID != c.id {
			t.Errorf("%s: %+v, want %g of %s", c.name, c.got, c.v, c.id)
		}
	}
	near(t, "rain", *w.RainMM, 6.5)
	// By hand: between -0.80 m (46,000 m²) and 0 m (74,000 m²) the surface at level h is 74,000 + 35,000 h; from -0.2 to -0.3 m it is
	// 65,250 m² in the mean.
	near(t, "change", *w.ChangeM3, -0.1*65250)
	stage, err := pond.NewStage(n.h.Plant.Pond.Stage)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "usable", *w.UsableM3, stage.VolumeM3(-0.3)-stage.VolumeM3(*w.StopM))
	if w.Readings != 4 {
		t.Errorf("%d readings", w.Readings)
	}
	if none := write(t, tern(t), "2026-02-10 00:00").round("2026-02-05 08:00", "volts=240").report(Week).Water; none != nil {
		t.Errorf("water without a level: %+v", none)
	}
}

// The demo's permit: levels from -0.90 to 0.30 m, 6 L/s beside the plant. A reading at the limit keeps it.
func TestPermits(t *testing.T) {
	for _, c := range []struct {
		name, readings string
		what           string
		kept           bool
		broken         int
	}{
		{"at the lower limit", "pond_level_m=-0.90", "low_level", true, 0},
		{"below it", "pond_level_m=-0.905", "low_level", false, 1},
		{"at the upper limit", "pond_level_m=0.30", "high_level", true, 0},
		{"above it", "pond_level_m=0.31", "high_level", false, 1},
		{"enough bypass", "bypass_lps=6", "bypass", true, 0},
		{"too little", "bypass_lps=5.5", "bypass", false, 1},
	} {
		n := write(t, tern(t), "2026-02-10 00:00").round("2026-02-05 08:00", c.readings).round("2026-02-06 08:00", "pond_level_m=-0.2 bypass_lps=7")
		found := false
		for _, p := range n.report(Week).Permits {
			if p.What != c.what {
				continue
			}
			found = true
			if p.Kept != c.kept || p.Broken != c.broken || p.Worst.ID != "R0205T1200" {
				t.Errorf("%s: %+v", c.name, p)
			}
		}
		if !found {
			t.Errorf("%s: no %s among the permits", c.name, c.what)
		}
	}
}

// 2 kW for 24 h are 48 kWh: at 0.13 CAD 6.24 CAD, 48 / 7.1 L of propane at 0.95, 48 / 2.9 L of diesel at 1.72 (the demo's file).
func TestMoneyByHand(t *testing.T) {
	n := write(t, tern(t), "2026-02-10 00:00").round("2026-02-05 00:00", "running=A load_kw=2 dump_kw=3").round("2026-02-06 00:00", "load_kw=2 dump_kw=3")
	m := n.report(Week).Money
	near(t, "saved", m.Saved.Value, 6.24)
	near(t, "propane", m.Fuels[0].Amount.Value, 48/7.1)
	near(t, "its worth", m.Fuels[0].Worth.Value, 48/7.1*0.95)
	near(t, "diesel", m.Fuels[1].Amount.Value, 48/2.9)
	if m.Currency != "CAD" || !(m.Saved.Low < 6.24 && 6.24 < m.Saved.High) {
		t.Errorf("%+v", m)
	}
}

func TestPayback(t *testing.T) {
	n := write(t, tern(t, "cost = 61500", "cost = 100"), "2026-02-10 00:00")
	begin := n.when("2026-01-01 00:00")
	for i := range 80 {
		n.h.Rounds = append(n.h.Rounds, n.one(begin.Add(hours(12*float64(i))), "running=A load_kw=2 dump_kw=3"))
	}
	b := n.report(Week).Payback
	used := 2 * 79 * 12.0 // from the first reading to the last
	near(t, "used so far", b.UsedKWh.Value, used)
	near(t, "saved", b.Saved.Value, used*0.13)
	near(t, "share", b.Share, used*0.13/100)
	if !b.Since.Equal(begin) || b.YearsToGo != nil {
		t.Errorf("since %v, years to go %v though the cost is back", b.Since, b.YearsToGo)
	}
	n.h.Plant = tern(t)
	n.h.Revisions[0].Plant = n.h.Plant
	b = n.report(Week).Payback
	years := 40.0 / 365.25
	closeTo(t, "years to go", *b.YearsToGo, (61500-used*0.13)/(used*0.13/years), 1e-6)
	n.h.Plant.Money.Cost = nil
	if b := n.report(Week).Payback; b != nil {
		t.Errorf("payback without a cost: %+v", b)
	}
}

func TestFactors(t *testing.T) {
	n := write(t, tern(t), "2026-02-10 00:00").
		round("2026-02-05 00:00", "running=A load_kw=1 dump_kw=3.5").
		round("2026-02-06 00:00", "load_kw=3 dump_kw=1.5")
	r := n.report(Week)
	near(t, "load factor: 2 kW in the mean of 3", *r.LoadFactor, 2.0/3)
	near(t, "of the 9 kW that both sets are rated for", *r.PlantFactor, 4.5/9)
}

func TestClearingsAndTheirGain(t *testing.T) {
	n := write(t, tern(t), "2026-02-10 00:00").
		round("2026-02-05 08:00", "running=A pond_level_m=-0.2 screen_cleared=yes pressure_before_kpa=120 pressure_after_kpa=134").
		round("2026-02-06 08:00", "running=A pond_level_m=-0.2 screen_cleared=yes").
		round("2026-02-07 08:00", "running=A pond_level_m=-0.2 screen_cleared=no").
		round("2026-02-08 08:00", "running=none pond_level_m=-0.2 pressure_after_kpa=134")
	r := n.report(Week)
	if r.Clearings != 3 || len(r.ClearingList) != 3 {
		t.Fatalf("%d clearings, %+v", r.Clearings, r.ClearingList)
	}
	c := r.ClearingList[0]
	near(t, "gain", *c.GainKPa, 14)
	// 14 kPa are 1.43 m of water of some 14 m: a tenth of the head, and with it a little more than a tenth of the power of some 6 kW.
	if c.GainKW == nil || *c.GainKW < 0.6 || *c.GainKW > 1.5 {
		t.Errorf("gain %v kW", c.GainKW)
	}
	if r.ClearingList[1].GainKPa != nil || r.ClearingList[1].GainKW != nil || r.ClearingList[2].GainKW != nil {
		t.Errorf("gains without pressures: %+v", r.ClearingList)
	}
}

func TestExtremesNameTheirRounds(t *testing.T) {
	n := write(t, tern(t), "2026-02-10 00:00").
		round("2026-02-04 08:00", "running=A volts=238 A.bearing_c=50").
		round("2026-02-05 08:00", "running=A volts=256 A.bearing_c=62").
		round("2026-02-06 08:00", "running=A volts=230")
	r := n.report(Week)
	e, ok := r.Extreme("volts")
	if !ok || e.Low.Value != 230 || e.Low.ID != "R0206T1200" || e.LowState != "in" || e.High.Value != 256 || e.High.ID != "R0205T1200" || e.HighState != "out" {
		t.Errorf("volts %+v", e)
	}
	day := r.Days[2] // 5 February
	if e, ok := day.Extreme("A.bearing_c"); !ok || e.Low != e.High || e.High.Value != 62 || e.HighState != "near" {
		t.Errorf("bearing on %v: %+v", day.From, e)
	}
	if _, ok := r.Extreme("A.kw"); ok {
		t.Error("an extreme of what was not read")
	}
	if math.IsNaN(e.Low.Value) {
		t.Error("not a number")
	}
}
