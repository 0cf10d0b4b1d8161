package week

import (
	"math"
	"testing"
)

// A meter's difference counts in place of the trapezoids: 100 kWh used where the readings would give 96.
func TestAMetersDifferenceCounts(t *testing.T) {
	n := write(t, tern(t), "2026-02-06 00:00").
		round("2026-02-03 00:00", "running=A load_kw=2 dump_kw=3 load_energy_kwh=1000").
		round("2026-02-04 00:00", "load_kw=2 dump_kw=3").
		round("2026-02-05 00:00", "load_kw=2 dump_kw=3 load_energy_kwh=1100")
	days := n.ledger().Days(CutDays(n.when("2026-02-03 00:00"), n.when("2026-02-05 00:00"), n.h.Plant.Location))
	sums := merge(days).Sums
	near(t, "used", sums[Used].KWh, 100)
	near(t, "metered", sums[Used].Metered, 48)
	near(t, "generated, by trapezoids", sums[Generated].KWh, 240)
	near(t, "dumped, the difference", sums[Dumped].KWh, 140)
	near(t, "used on each day, the plant ran alike", days[0].Sums[Used].KWh, 50)
	near(t, "reading error of two readings to 1 kWh", sums[Used].Gauge, math.Hypot(0.5, 0.5))
	if sums[Used].Head != 0 || sums[Used].Tail != 0 || sums[Used].between() != 0 {
		t.Errorf("a meter read at both ends leaves nothing open: %+v", sums[Used])
	}
	// How it divides between the days is not known: one standard deviation of the power in half the time.
	spread := dailyShare * 2.0 // of a load of 2 kW
	near(t, "the first day's tail", days[0].Sums[Used].Tail, 24*0.5*spread)
	near(t, "the second day's head", days[1].Sums[Used].Head, 24*0.5*spread)
}

func TestAMeterDividesByRunning(t *testing.T) {
	n := write(t, tern(t), "2026-02-06 00:00").
		round("2026-02-03 00:00", "running=A load_energy_kwh=1000").
		event("2026-02-03 12:00", "stop").
		event("2026-02-04 18:00", "start unit=A").
		round("2026-02-05 00:00", "load_energy_kwh=1090")
	near(t, "12 of 18 h", n.sum(Used, "2026-02-03 00:00", "2026-02-04 00:00").KWh, 60)
	near(t, "6 of 18 h", n.sum(Used, "2026-02-04 00:00", "2026-02-05 00:00").KWh, 30)
	near(t, "none while it stood", n.sum(Used, "2026-02-04 00:00", "2026-02-04 18:00").KWh, 0)
}

func TestMetersThatAreNotCounted(t *testing.T) {
	for _, c := range []struct {
		name       string
		meter1, m2 string
		to         string
		used       float64
	}{
		{"a fall is a replaced meter", "load_energy_kwh=1000", "load_energy_kwh=3", "2026-02-04 00:00", 48},
		{"equal readings: nothing was used", "load_energy_kwh=1000", "load_energy_kwh=1000", "2026-02-04 00:00", 0},
		{"read once only", "load_energy_kwh=1000", "", "2026-02-04 00:00", 48},
		{"read on both sides", "load_energy_kwh=1000", "load_energy_kwh=1031", "2026-02-04 00:00", 31},
	} {
		n := write(t, tern(t), "2026-02-06 00:00").
			round("2026-02-03 00:00", "running=A load_kw=2 dump_kw=3 "+c.meter1).
			round(c.to, "load_kw=2 dump_kw=3 "+c.m2)
		near(t, c.name, n.sum(Used, "2026-02-03 00:00", "2026-02-04 00:00").KWh, c.used)
	}
	long := write(t, tern(t), "2026-04-06 00:00").
		round("2026-02-03 00:00", "running=A load_energy_kwh=1000").
		round("2026-03-11 00:00", "load_energy_kwh=2000") // 36 days
	if s := long.sum(Used, "2026-02-05 00:00", "2026-02-06 00:00"); s != (Sum{}) {
		t.Errorf("a meter that was not read for more than 35 days tells %+v of one of them", s)
	}
}

// The plant's own meter counts what is generated, else the meters of all common-bus sets together.
func TestMetersOfSets(t *testing.T) {
	both := write(t, tern(t), "2026-02-06 00:00").
		round("2026-02-03 00:00", "running=A+B A.energy_kwh=1000 B.energy_kwh=500").
		round("2026-02-04 00:00", "A.energy_kwh=1120 B.energy_kwh=560")
	near(t, "both sets' meters", both.sum(Generated, "2026-02-03 00:00", "2026-02-04 00:00").KWh, 180)
	near(t, "A by its own", both.sum("A", "2026-02-03 00:00", "2026-02-04 00:00").KWh, 120)
	one := write(t, tern(t), "2026-02-06 00:00").
		round("2026-02-03 00:00", "running=A+B A.energy_kwh=1000").
		round("2026-02-04 00:00", "A.energy_kwh=1120")
	if s := one.sum(Generated, "2026-02-03 00:00", "2026-02-04 00:00"); s.KWh != 0 || s.Metered != 0 {
		t.Errorf("one of two sets' meters tells the whole: %+v", s)
	}
	plant := write(t, tern(t), "2026-02-06 00:00").
		round("2026-02-03 00:00", "running=A energy_kwh=1000 A.energy_kwh=10 B.energy_kwh=10").
		round("2026-02-04 00:00", "energy_kwh=1111 A.energy_kwh=20 B.energy_kwh=10")
	near(t, "the plant's meter comes first", plant.sum(Generated, "2026-02-03 00:00", "2026-02-04 00:00").KWh, 111)
}

// A set on a bus of its own is listed apart.
func TestOwnBus(t *testing.T) {
	p := tern(t, `id = "B"`, "id = \"B\"\nbus = \"own\"")
	n := write(t, p, "2026-02-10 00:00").
		round("2026-02-05 00:00", "running=A+B load_kw=2 dump_kw=3 B.kw=1.5").
		round("2026-02-06 00:00", "load_kw=2 dump_kw=3 B.kw=2.5")
	r := n.report(Week)
	near(t, "generated on the common bus", r.EnergyKWh.Generated.Value, 120)
	if len(r.OwnBus) != 1 || r.OwnBus[0].Unit != "B" || len(r.Units) != 1 {
		t.Fatalf("own bus %+v, common %+v", r.OwnBus, r.Units)
	}
	near(t, "B apart", r.OwnBus[0].EnergyKWh.Value, 48)
	near(t, "B's hours", r.OwnBus[0].Hours, 5*24)
}
