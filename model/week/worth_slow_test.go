package week

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/steady"
)

// frustum is the volume between two levels in a pond of which the surface is a straight line between two levels of its table:
// height times the mean of the surfaces at both ends.
func frustum(low, high, lowM2, highM2, from, to float64) float64 {
	area := func(h float64) float64 { return lowM2 + (highM2-lowM2)*(h-low)/(high-low) }
	return (to - from) * (area(from) + area(to)) / 2
}

// Between -0.80 m (46,000 m²) and 0 m (74,000 m²) of the demo's stage table the change of volume is that of the frustum.
func TestVolumeOfAWeekIsTheFrustums(t *testing.T) {
	p := tern(t)
	rapid.Check(t, func(rt *rapid.T) {
		first := float64(rapid.IntRange(-800, 0).Draw(rt, "first")) / 1000
		last := float64(rapid.IntRange(-800, 0).Draw(rt, "last")) / 1000
		w := waterOf(merge([]Day{{Firsts: map[string]Seen{"pond_level_m": {V: first}}, Lasts: map[string]Seen{"pond_level_m": {V: last}}, Lows: map[string]Seen{"pond_level_m": {V: min(first, last)}},
			Highs: map[string]Seen{"pond_level_m": {V: max(first, last)}}, Counts: map[string]int{"pond_level_m": 2}}}), p)
		if want := frustum(-0.8, 0, 46000, 74000, first, last); math.Abs(*w.ChangeM3-want) > 1e-6*(1+math.Abs(want)) {
			rt.Fatalf("from %g to %g m it gained %g m³, by the frustum %g", first, last, *w.ChangeM3, want)
		}
		want := 0.0
		if *w.StopM >= -0.8 && last > *w.StopM {
			want = frustum(-0.8, 0, 46000, 74000, *w.StopM, last)
		} else if *w.StopM < -0.8 {
			want = frustum(-1.6, -0.8, 8000, 46000, *w.StopM, -0.8) + frustum(-0.8, 0, 46000, 74000, -0.8, last)
		}
		if math.Abs(*w.UsableM3-want) > 1e-6*(1+want) {
			rt.Fatalf("at %g m %g m³ are of use, by the frustum %g", last, *w.UsableM3, want)
		}
		if w.RainMM != nil {
			rt.Fatalf("rain %g mm was never read", *w.RainMM)
		}
	})
}

// Money, fuels and their worth are the energy used times the plant file's numbers, both ends of the range alike.
func TestMoneyIsTheEnergyTimesItsValue(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		v := rapid.Float64Range(0, 1e5).Draw(rt, "used")
		used := Range{v, v * rapid.Float64Range(0, 1).Draw(rt, "low"), v * (1 + rapid.Float64Range(0, 1).Draw(rt, "high"))}
		price := func(name string) *float64 {
			if !rapid.Bool().Draw(rt, name+" is known") {
				return nil
			}
			x := rapid.Float64Range(0, 10).Draw(rt, name)
			return &x
		}
		p := &plant.Plant{Money: &plant.Money{Currency: "CAD", PerKWh: price("per kWh")}}
		for range rapid.IntRange(0, 3).Draw(rt, "fuels") {
			p.Money.Fuels = append(p.Money.Fuels, plant.Fuel{Name: "fuel", Unit: "L", KWhPerUnit: rapid.Float64Range(0.1, 20).Draw(rt, "kWh"), Price: price("price")})
		}
		m := moneyOf(&used, p)
		alike := func(what string, got *Range, factor float64) {
			for _, w := range [][2]float64{{got.Value, used.Value * factor}, {got.Low, used.Low * factor}, {got.High, used.High * factor}} {
				if math.Abs(w[0]-w[1]) > 1e-9*(1+w[1]) {
					rt.Fatalf("%s is %+v of %+v", what, *got, used)
				}
			}
		}
		if (m.Saved == nil) != (p.Money.PerKWh == nil) || len(m.Fuels) != len(p.Money.Fuels) {
			rt.Fatalf("%+v of %+v", m, p.Money)
		}
		if m.Saved != nil {
			alike("saved", m.Saved, *p.Money.PerKWh)
		}
		for i, f := range m.Fuels {
			from := p.Money.Fuels[i]
			alike("a fuel", &f.Amount, 1/from.KWhPerUnit)
			if (f.Worth == nil) != (from.Price == nil) {
				rt.Fatalf("worth %v at the price %v", f.Worth, from.Price)
			}
			if f.Worth != nil {
				alike("its worth", f.Worth, *from.Price/from.KWhPerUnit)
			}
		}
	})
	if m := moneyOf(nil, tern(t)); m != nil {
		t.Errorf("money for an energy that is not known: %+v", m)
	}
	if m := moneyOf(&Range{1, 1, 1}, &plant.Plant{}); m != nil {
		t.Errorf("money without a value: %+v", m)
	}
}

// The payback is told where a cost, a value and a use are known: share is saved over cost; at the rate so far the rest takes
// rest / rate years; none is left where the cost is back, none can be told where nothing is saved.
func TestPaybackByHand(t *testing.T) {
	f := func(v float64) *float64 { return &v }
	end := time.Date(2026, 2, 10, 0, 0, 0, 0, time.UTC)
	begin := end.Add(-2 * 36525 * 24 * time.Hour / 100) // two years of 365.25 days
	in := func(cost, perKWh *float64, used Sum) *Input {
		return &Input{Of: Of{End: end}, Begin: begin, UsedSoFar: used, History: &record.History{Plant: &plant.Plant{Money: &plant.Money{Currency: "CAD", Cost: cost, PerKWh: perKWh}}}}
	}
	for _, c := range []struct {
		name  string
		in    *Input
		saved float64
		share float64
		togo  float64 // -1: none
		told  bool
	}{
		{"a quarter in two years leaves six", in(f(4000), f(0.1), Sum{KWh: 10000, Hours: 17000}), 1000, 0.25, 6, true},
		{"just back", in(f(1000), f(0.1), Sum{KWh: 10000, Hours: 17000}), 1000, 1, -1, true},
		{"more than back", in(f(500), f(0.1), Sum{KWh: 10000, Hours: 17000}), 1000, 2, -1, true},
		{"nothing was used", in(f(500), f(0.1), Sum{Hours: 17000}), 0, 0, -1, true},
		{"nothing is known of the use", in(f(500), f(0.1), Sum{}), 0, 0, -1, false},
		{"no cost", in(nil, f(0.1), Sum{KWh: 10000, Hours: 17000}), 0, 0, -1, false},
		{"a cost of nothing", in(f(0), f(0.1), Sum{KWh: 10000, Hours: 17000}), 0, 0, -1, false},
		{"no value", in(f(500), nil, Sum{KWh: 10000, Hours: 17000}), 0, 0, -1, false},
	} {
		b := c.in.payback()
		if (b != nil) != c.told {
			t.Errorf("%s: %+v", c.name, b)
			continue
		}
		if b == nil {
			continue
		}
		near(t, c.name+": saved", b.Saved.Value, c.saved)
		near(t, c.name+": share", b.Share, c.share)
		switch {
		case (b.YearsToGo != nil) != (c.togo >= 0):
			t.Errorf("%s: years to go %v", c.name, b.YearsToGo)
		case b.YearsToGo != nil:
			near(t, c.name+": years to go", *b.YearsToGo, c.togo)
		}
	}
	if b := (&Input{History: &record.History{Plant: &plant.Plant{}}}).payback(); b != nil {
		t.Errorf("payback without money: %+v", b)
	}
}

// What a clearing gained is the difference of the pressures, and power in keeping with the share of the pressure that was lost.
func TestAClearingsGainIsInKeepingWithThePressure(t *testing.T) {
	p := tern(t)
	m, err := steady.New(p)
	if err != nil {
		t.Fatal(err)
	}
	n := write(t, p, "2026-02-10 00:00")
	for _, c := range []struct{ before, after string }{{"124", "134"}, {"129", "133.5"}, {"110", "132"}, {"133", "134"}} {
		n.h.Rounds = nil
		n.round("2026-02-05 08:00", "running=A pond_level_m=-0.2 water_c=4 screen_cleared=yes pressure_before_kpa="+c.before+" pressure_after_kpa="+c.after)
		got := n.report(Week).ClearingList[0]
		a, _ := n.h.Rounds[0].Value("pressure_after_kpa")
		b, _ := n.h.Rounds[0].Value("pressure_before_kpa")
		near(t, "kPa from "+c.before+" to "+c.after, *got.GainKPa, a-b)
		if got.GainKW == nil {
			t.Fatalf("from %s to %s kPa no gain is told", c.before, c.after)
		}
		// By hand: a drop of x in a head of H takes more than x/H of the power, for flow falls with it as well, but less than twice
		// x/H while the drop is small (power goes at most with about H^1.5 at a fixed opening).
		res, err := m.Solve(steady.Case{PondLevelM: -0.2, Running: []string{"A"}})
		if err != nil {
			t.Fatal(err)
		}
		power := 0.0
		for _, u := range res.Units {
			if u.Running {
				power += u.KW
			}
		}
		x := (a - b) / a
		if *got.GainKW < 0.8*x*power || *got.GainKW > 2*x*power+0.05 {
			t.Errorf("from %s to %s kPa, %.3f of the pressure, it gained %.3f kW of %.3f", c.before, c.after, x, *got.GainKW, power)
		}
	}
}

// A gain is told only from what was read: without a pressure before none, with the round's own gauge in place of one after.
func TestGainsOfHalfAClearing(t *testing.T) {
	for _, c := range []struct {
		name, readings string
		before, after  bool
	}{
		{"both", "pressure_before_kpa=124 pressure_after_kpa=134", true, true},
		{"the round's own gauge comes after", "pressure_before_kpa=124 pressure_kpa=133", true, true},
		{"before alone", "pressure_before_kpa=124", true, false},
		{"after alone", "pressure_after_kpa=134", false, true},
		{"the gauge alone tells of no clearing", "pressure_kpa=134", false, false},
		{"none", "", false, false},
	} {
		n := write(t, tern(t), "2026-02-10 00:00").round("2026-02-05 08:00", "running=A pond_level_m=-0.2 screen_cleared=yes "+c.readings)
		got := n.report(Week).ClearingList[0]
		if (got.BeforeKPa != nil) != c.before || (got.AfterKPa != nil) != c.after || (got.GainKPa != nil) != (c.before && c.after) || (got.GainKW != nil) != (c.before && c.after) {
			t.Errorf("%s: %+v", c.name, got)
		}
		if got.By != "Ro" || got.ID != "R0205T1200" {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
}

// Points are the rounds one for one, each with what was read, and no line joins two between which something changed or more than
// GapLimit passed.
func TestPointsEqualAPlainLook(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := eventful(t, rt)
		m := newMinutely(n.h)
		r := n.report(Week)
		n = n.believed()
		i := 0
		for _, x := range n.h.Rounds {
			if x.Time.Before(r.From) || !x.Time.Before(r.To) {
				continue
			}
			p := r.Points[i]
			if p.ID != x.ID || !p.Time.Equal(x.Time) || len(p.Values) != len(x.Values) {
				rt.Fatalf("point %d is %+v of %+v", i, p, x)
			}
			if i > 0 {
				prev := r.Points[i-1].Time
				from, _ := m.changes(x.Time.Add(-time.Millisecond)) // up to the round itself, whose own word may change things
				broken := x.Time.Sub(prev) > GapLimit && m.set(prev) != "" || from != nil && from.After(prev)
				if broken && !p.BrokenBefore {
					rt.Fatalf("a line joins %s to %s\n%s", prev.Format("02 15:04"), x.Time.Format("02 15:04"), logOf(n.h))
				}
			}
			if v, ok := x.Value(quantity.Key(quantity.LoadKW)); ok && m.set(x.Time) != "" && (p.UsedKW == nil || *p.UsedKW != v) {
				rt.Fatalf("%g kW were used, the point has %v\n%s", v, p.UsedKW, logOf(n.h))
			}
			if m.set(x.Time) == "" && (p.GeneratedKW == nil || *p.GeneratedKW != 0 || *p.UsedKW != 0 || *p.DumpedKW != 0) {
				rt.Fatalf("while it stands the point has %+v", p)
			}
			i++
		}
		if i != len(r.Points) || i > 0 && !r.Points[0].BrokenBefore {
			rt.Fatalf("%d points of %d rounds", len(r.Points), i)
		}
	})
}
