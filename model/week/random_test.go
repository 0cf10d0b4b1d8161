package week

import (
	"math"
	"reflect"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// Days worked out one after the other from carries are those worked out at once, for logs with long gaps, trips and meters that
// no story has.
func TestCarryHoldsForAnyLog(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := eventful(t, rt)
		if rapid.Bool().Draw(rt, "meters") {
			n = randomLog(t, rt, 1)
		}
		revised(t, rt, n)
		one := chunked(t, n.h, 1000)
		if d := cmp.Diff(one, chunked(t, n.h, rapid.IntRange(1, 4).Draw(rt, "days at once"))); d != "" {
			rt.Fatalf("(-at once +in pieces):\n%s\n%s", d, logOf(n.h))
		}
	})
}

// revised changes the plant now and then: its second set goes to a bus of its own and comes back.
func revised(t *testing.T, rt *rapid.T, n *notes) {
	own := false
	for range rapid.IntRange(0, 2).Draw(rt, "revisions") {
		own = !own
		p := n.h.Plant
		if own {
			p = tern(t, "id = \"B\"", "id = \"B\"\nbus = \"own\"")
		}
		last := n.h.Revisions[len(n.h.Revisions)-1].From
		if first := n.h.At.AddDate(0, 0, -10); last.Before(first) {
			last = first
		}
		from := last.Add(time.Duration(rapid.IntRange(1, 24*5*10).Draw(rt, "revised after")) * 6 * time.Minute)
		n.h.Revisions = append(n.h.Revisions, record.Revision{ID: "P", From: from, Plant: p})
	}
}

// Rows are the days with the carry at each one's end: going on from any of them gives the same rows behind it.
func TestRowsGoOnFromAnyOfThem(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := eventful(t, rt)
		revised(t, rt, n)
		all, err := Rows(t.Context(), n.h, nil, n.h.At)
		if err != nil {
			rt.Fatal(err)
		}
		for i := range all {
			if i > 0 && (all[i].Day.From != all[i-1].Day.To || all[i].Needs < all[i-1].Needs) {
				rt.Fatalf("row %d does not follow: %+v after %+v", i, all[i].Day, all[i-1].Day)
			}
			if all[i].Carry.At != all[i].Day.To || all[i].Needs < all[i].Day.Needs {
				rt.Fatalf("row %d: %+v", i, all[i])
			}
		}
		if len(all) < 2 {
			return
		}
		i := rapid.IntRange(0, len(all)-2).Draw(rt, "row")
		rest := *n.h
		rest.Rounds = slices.DeleteFunc(slices.Clone(n.h.Rounds), func(r record.Round) bool { return r.Time.UnixMilli() < all[i].Carry.At })
		rest.Events = slices.DeleteFunc(slices.Clone(n.h.Events), func(e record.Event) bool { return e.Time.UnixMilli() < all[i].Carry.At })
		more, err := Rows(t.Context(), &rest, &all[i].Carry, n.h.At)
		if err != nil {
			rt.Fatal(err)
		}
		for k := range more { // what rows before need is not known to those that go on
			more[k].Needs = all[i+1+k].Needs
		}
		if d := cmp.Diff(all[i+1:], more, cmpopts.IgnoreUnexported(PowerAt{}), cmpopts.EquateEmpty()); d != "" {
			rt.Fatalf("(-all +going on from row %d):\n%s\n%s", i, d, logOf(n.h))
		}
	})
	if _, err := Rows(t.Context(), nil, nil, time.Time{}); err != ErrNoPlant {
		t.Errorf("%v", err)
	}
}

// A day depends on nothing later than it says it needs, in logs that no story has.
func TestAnyDayNeedsNoMoreThanItSays(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := eventful(t, rt)
		revised(t, rt, n)
		l := n.ledger()
		day := n.when("2026-02-06 00:00").AddDate(0, 0, rapid.IntRange(0, 8).Draw(rt, "day"))
		full := l.Day(day, day.AddDate(0, 0, 1))
		if full.Needs >= n.h.At.UnixMilli() {
			return
		}
		cut := *n.h
		cut.At = at(full.Needs)
		cut.Rounds = slices.DeleteFunc(slices.Clone(n.h.Rounds), func(r record.Round) bool { return r.Time.UnixMilli() > full.Needs })
		cut.Events = slices.DeleteFunc(slices.Clone(n.h.Events), func(e record.Event) bool { return e.Time.UnixMilli() > full.Needs })
		short, err := NewLedger(&cut, nil)
		if err != nil {
			rt.Fatal(err)
		}
		part := short.Day(day, day.AddDate(0, 0, 1))
		if part.Needs = full.Needs; !reflect.DeepEqual(full, part) {
			rt.Fatalf("with all that came after\n%+v\nand without\n%+v\n%s", full, part, logOf(n.h))
		}
	})
}

// The review is that of the plant's clock: the same log at a plant whose clock is called otherwise, but runs alike, is reviewed alike.
func TestTheZonesNameDoesNotMatter(t *testing.T) {
	there := good(t)
	here := &notes{t: t, h: &record.History{}}
	*here.h = *there.h
	p := *there.h.Plant
	p.Location = time.FixedZone("by the pond", -4*3600) // Halifax's winter
	here.h.Plant, here.h.Revisions = &p, []record.Revision{{ID: "P1", From: there.h.Revisions[0].From, Plant: &p}}
	if a, b := jsonOf(t, there.report(Week)), jsonOf(t, here.report(Week)); a != b {
		t.Errorf("in Halifax\n%s\nand by the pond\n%s", a, b)
	}
}

// Of two rounds at one instant the later in the log counts for what is integrated and judged; both count as rounds, and an
// extreme names the one that read it.
func TestTwoRoundsAtOneInstant(t *testing.T) {
	n := write(t, tern(t), "2026-02-06 00:00").
		round("2026-02-03 00:00", "running=A load_kw=2 dump_kw=3 hertz=60 load_energy_kwh=1000").
		round("2026-02-03 12:00", "load_kw=9 dump_kw=9 hertz=70 load_energy_kwh=5000").
		round("2026-02-03 12:00", "load_kw=4 dump_kw=1 hertz=62 load_energy_kwh=1040").
		round("2026-02-04 00:00", "load_kw=2 dump_kw=3 hertz=60 load_energy_kwh=1080")
	d := n.ledger().Day(n.when("2026-02-03 00:00"), n.when("2026-02-04 00:00"))
	near(t, "used, by the later meter", d.Sums[Used].KWh, 80)
	near(t, "generated", d.Sums[Generated].KWh, 120)
	near(t, "near the band's edge for the half of each gap", d.States["hertz"].Near, 12)
	near(t, "never out", d.States["hertz"].Out, 0)
	if d.Rounds != 3 || d.Highs["hertz"].V != 70 || d.Counts["hertz"] != 3 {
		t.Errorf("%d rounds, highest %+v of %d", d.Rounds, d.Highs["hertz"], d.Counts["hertz"])
	}
}

// Twice the power at all rounds is twice the energy, with twice the range: nothing in the rule has a size of its own but the gauge's
// error, which is left out. Where only one of the load and the ballast was read the model tells the rest; such readings are left out.
func TestEnergyIsLinearInPower(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := eventful(t, rt)
		for _, r := range n.h.Rounds {
			_, load := r.Values["load_kw"]
			if _, dump := r.Values["dump_kw"]; load != dump {
				delete(r.Values, "load_kw")
				delete(r.Values, "dump_kw")
			}
		}
		twice := &notes{t: t, h: &record.History{}}
		*twice.h = *n.h
		twice.h.Rounds = slices.Clone(n.h.Rounds)
		for i, r := range twice.h.Rounds {
			v := map[quantity.Key]float64{}
			for k, x := range r.Values {
				if k == "load_kw" || k == "dump_kw" {
					x *= 2
				}
				v[k] = x
			}
			twice.h.Rounds[i].Values = v
		}
		from, to := n.when("2026-02-07 00:00"), n.h.At
		a, b := merge(n.ledger().Days(CutDays(from, to, n.h.Plant.Location))).Sums[Used], merge(twice.ledger().Days(CutDays(from, to, n.h.Plant.Location))).Sums[Used]
		for what, w := range map[string][2]float64{"energy": {a.KWh, b.KWh}, "between readings": {a.between(), b.between()}, "shared": {a.Shared, b.Shared}, "peak": {a.PeakKW, b.PeakKW}} {
			if math.Abs(2*w[0]-w[1]) > 1e-6*(1+math.Abs(w[1])) {
				rt.Fatalf("%s %g, of twice the power %g\n%s", what, w[0], w[1], logOf(n.h))
			}
		}
		if a.Hours != b.Hours {
			rt.Fatalf("%g h are known, of twice the power %g", a.Hours, b.Hours)
		}
	})
}

// One more reading on the straight line between two others changes no energy and leaves less open.
func TestAReadingOnTheLineChangesNoEnergy(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p, q := float64(rapid.IntRange(1, 50).Draw(rt, "first"))/10, float64(rapid.IntRange(1, 50).Draw(rt, "last"))/10
		hour := rapid.IntRange(1, 23).Draw(rt, "hour")
		write := func(more bool) Sum {
			n := write(t, tern(t), "2026-02-06 00:00")
			add := func(h int, kw float64) {
				r := n.one(n.when("2026-02-03 00:00").Add(time.Duration(h)*time.Hour), "running=A dump_kw=1")
				r.Values["load_kw"] = kw
				n.h.Rounds = append(n.h.Rounds, r)
			}
			add(0, p)
			if more {
				add(hour, p+(q-p)*float64(hour)/24)
			}
			add(24, q)
			return n.sum(Used, "2026-02-03 00:00", "2026-02-04 00:00")
		}
		two, three := write(false), write(true)
		if math.Abs(two.KWh-three.KWh) > 1e-9 || math.Abs(two.KWh-12*(p+q)) > 1e-9 {
			rt.Fatalf("%g kWh, with one reading more %g, by hand %g", two.KWh, three.KWh, 12*(p+q))
		}
		if math.Abs(two.Gauge-three.Gauge) > 1e-9 {
			rt.Fatalf("a gauge's error of %g kWh is %g with one reading more", two.Gauge, three.Gauge)
		}
	})
}
