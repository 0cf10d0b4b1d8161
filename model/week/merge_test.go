package week

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/headpond/model/assess"
)

// Worked by hand: reading errors add, for a gauge that is off stays off; what lies between two days' readings adds as well, for
// rounds are walked at the same hours; only the first day's head and the last day's tail stay open.
func TestSumsOfDaysByHand(t *testing.T) {
	a := Sum{KWh: 100, Hours: 24, Gauge: 2, Var: 9, Head: 4, Tail: 5, PeakKW: 6, Shared: 1}
	b := Sum{KWh: 50, Hours: 20, Gauge: 3, Var: 16, Head: 7, Tail: 8, Metered: 4, PeakKW: 3, Shared: 2}
	got := a.begin().plus(b)
	want := Sum{KWh: 150, Hours: 44, Gauge: 5, Between: 3 + 4, Head: 4, Tail: 8, Metered: 4, PeakKW: 6, Shared: 3}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
	// √(5² + 3² + 7² + 4² + 8²) = √163.
	near(t, "standard deviation", got.sd(), math.Sqrt(163))
	r := got.Range()
	near(t, "80 % of a normal distribution lie within 1.2816 deviations", r.High-r.Value, 1.2816*math.Sqrt(163))
	near(t, "to both sides", r.Value-r.Low, r.High-r.Value)
	few := Sum{KWh: 1, Gauge: 5}.Range()
	if few.Low != 0 || few.High < 1 {
		t.Errorf("nothing is generated below 0: %+v", few)
	}
}

// A day on which a track was not read is added as nothing; the tail of the day before is then closed.
func TestASumGoesOnOverADayWithoutIt(t *testing.T) {
	sums := map[string]Sum{}
	addSums(sums, map[string]Sum{Used: {KWh: 10, Hours: 5, Tail: 2, Var: 4}})
	addSums(sums, map[string]Sum{})
	addSums(sums, map[string]Sum{Used: {KWh: 1, Hours: 1}, Dumped: {KWh: 3, Hours: 1, Var: 1}})
	if d := cmp.Diff(map[string]Sum{Used: {KWh: 11, Hours: 6, Between: 2}, Dumped: {KWh: 3, Hours: 1, Between: 1}}, sums); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}

func TestDaysMergedByHand(t *testing.T) {
	days := []Day{
		{Open: []StopRow{{At: 1, Kind: "stop", Units: []string{"B"}}}, Lows: map[string]Seen{"volts": {V: 230, At: 10, ID: "R1"}, "hertz": {V: 59, At: 10}},
			Highs: map[string]Seen{"volts": {V: 244, At: 11, ID: "R2"}}, Firsts: map[string]Seen{"pond_level_m": {V: -0.1, At: 10}}, Lasts: map[string]Seen{"pond_level_m": {V: -0.1, At: 10}},
			Counts: map[string]int{"volts": 2}, Units: map[string]UnitTime{"A": {On: 20, Unknown: 4, Starts: 1}}, Rounds: 2, Last: &Seen{At: 11, ID: "R2"}, Stood: 1, Tripped: 0.5, Known: 20, RatedKWh: 200, RainMM: 3,
			Stops: []StopRow{{At: 5, Kind: "trip", Units: []string{"A"}}}, Ons: []OnRow{{At: 6, Units: []string{"A"}}}, Hours: [24]uint8{8: 2}},
		{Open: []StopRow{{At: 1, Kind: "stop", Units: []string{"B"}}}}, // nobody came
		{Lows: map[string]Seen{"volts": {V: 230, At: 30, ID: "R3"}}, Highs: map[string]Seen{"volts": {V: 250, At: 30, ID: "R3"}}, Firsts: map[string]Seen{"pond_level_m": {V: -0.3, At: 30}},
			Lasts: map[string]Seen{"pond_level_m": {V: -0.4, At: 31}}, Counts: map[string]int{"volts": 1}, Units: map[string]UnitTime{"A": {On: 24}, "B": {Starts: 2}}, Rounds: 1, Last: &Seen{At: 30, ID: "R3"},
			Stood: 2, Known: 24, RatedKWh: 216, RainMM: 0.5, Hours: [24]uint8{8: 1, 20: 255}},
	}
	m := merge(days)
	if m.Lows["volts"].ID != "R1" || m.Highs["volts"].ID != "R3" || m.Lows["hertz"].V != 59 {
		t.Errorf("lowest %+v and highest %+v; of equal ones the first stands", m.Lows, m.Highs)
	}
	if m.Firsts["pond_level_m"].V != -0.1 || m.Lasts["pond_level_m"].V != -0.4 {
		t.Errorf("first %+v, last %+v", m.Firsts, m.Lasts)
	}
	if m.Counts["volts"] != 3 || m.Rounds != 3 || m.Last.ID != "R3" || m.Stood != 3 || m.Tripped != 0.5 || m.Known != 44 || m.RatedKWh != 416 || m.RainMM != 3.5 {
		t.Errorf("%+v", m.Day)
	}
	if a, b := m.Units["A"], m.Units["B"]; a != (UnitTime{On: 44, Unknown: 4, Starts: 1}) || b != (UnitTime{Starts: 2}) {
		t.Errorf("units %+v and %+v", a, b)
	}
	if len(m.stops) != 2 || m.stops[0].Kind != "stop" || m.stops[1].Kind != "trip" || len(m.ons) != 1 {
		t.Errorf("stops %+v: what had begun before the first day comes first, and once", m.stops)
	}
	if m.hours[8] != 3 || m.hours[20] != 255 {
		t.Errorf("rounds by the hour %v", m.hours)
	}
}

// What is used or dumped over the same hours is never more than what may have been generated; over other hours it may be.
func TestTheRangeOfAPartEndsWithThatOfTheWhole(t *testing.T) {
	e := energyOf(map[string]Sum{Generated: {KWh: 100, Hours: 24, Gauge: 1}, Used: {KWh: 95, Hours: 24, Gauge: 20}, Dumped: {KWh: 90, Hours: 20, Gauge: 20}})
	near(t, "generated", e.Generated.High, 100+1.2816)
	near(t, "used", e.Used.High, 100+1.2816)
	near(t, "dumped, of other hours", e.Dumped.High, 90+20*1.2816)
	over := energyOf(map[string]Sum{Generated: {KWh: 100, Hours: 24, Gauge: 1}, Used: {KWh: 110, Hours: 24, Gauge: 20}})
	if over.Used.High < over.Used.Value {
		t.Errorf("a range without its value: %+v", over.Used)
	}
	if none := energyOf(map[string]Sum{Used: {KWh: 5}}); none.Used != nil || none.Generated != nil {
		t.Errorf("an energy of no time: %+v", none)
	}
}

func TestStopsEndWhenAnyOfTheirUnitsRuns(t *testing.T) {
	n := write(t, tern(t), "2026-02-10 00:00")
	ms := func(text string) int64 { return n.when(text).UnixMilli() }
	m := merged{
		stops: []StopRow{{At: ms("2026-02-04 00:00"), Kind: "trip", Units: []string{"A", "B"}, All: true, Cause: "frost", By: "Ro", Note: "ice"}, {At: ms("2026-02-05 00:00"), Kind: "stop", Units: []string{"B"}},
			{At: ms("2026-02-08 00:00"), Kind: "seen", Units: []string{"A"}}},
		ons: []OnRow{{At: ms("2026-02-04 12:00"), Units: []string{"B"}}, {At: ms("2026-02-05 00:00"), Units: []string{"A"}}, {At: ms("2026-02-07 06:00"), Units: []string{"B"}}},
	}
	list := stopsOf(m, n.h.At, n.h.Plant.Location)
	near(t, "the trip ends with B", list[0].Hours, 12)
	near(t, "B's stop, not ended by A", list[1].Hours, 54)
	near(t, "A's lasts to the end", list[2].Hours, 48)
	if list[2].To != nil || !list[1].To.Equal(n.when("2026-02-07 06:00")) || list[0].Cause != "frost" || list[0].Note != "ice" || list[0].By != "Ro" || !list[0].All {
		t.Errorf("%+v", list)
	}
}

// A unit that a former plant description had is listed while it ran, after those of the present one.
func TestFormerUnitsAreListedWhereTheyRan(t *testing.T) {
	p := tern(t)
	out := Period{}
	m := merge([]Day{{Units: map[string]UnitTime{"Z": {On: 3}, "Y": {Unknown: 24}, "A": {On: 10}}, Sums: map[string]Sum{"Z": {KWh: 6, Hours: 3}},
		Lows: map[string]Seen{"Z.kw": {V: 1}, "volts": {V: 240}}, States: map[string]StateTime{"Z.bearing_c": {In: 1}, en50160: {In: 1}}}})
	out.units(m, p)
	var ids []string
	for _, u := range out.Units {
		ids = append(ids, u.Unit)
	}
	if !slices.Equal(ids, []string{"A", "B", "Z"}) || out.Units[2].EnergyKWh == nil || out.Units[0].EnergyKWh != nil || out.Units[0].Name == "" || out.Units[2].Name != "" {
		t.Errorf("%+v", out.Units)
	}
	keys := keysOf(m, p)
	if !slices.Equal(keys[len(keys)-2:], []string{"Z.kw", "Z.bearing_c"}) || slices.Contains(keys, en50160) || !slices.Contains(keys, "volts") {
		t.Errorf("quantities %v", keys)
	}
}

// In JSON the states are an object in walking order: the pond, the set, the panel.
func TestStatesAreAnObjectInWalkingOrder(t *testing.T) {
	n := write(t, tern(t), "2026-02-10 00:00").
		round("2026-02-05 00:00", "running=A A.bearing_c=40 hertz=60 volts=240 pond_level_m=-0.2").
		round("2026-02-05 12:00", "A.bearing_c=40 hertz=60 volts=240 pond_level_m=-0.2")
	data, err := json.Marshal(n.report(Week).States)
	if err != nil {
		t.Fatal(err)
	}
	last := -1
	for _, k := range []string{`"pond_level_m":{`, `"A.bearing_c":{`, `"volts":{`, `"hertz":{`} {
		i := strings.Index(string(data), k)
		if i <= last {
			t.Errorf("%s at %d, after %d in %s", k, i, last, data)
		}
		last = i
	}
	if data, err := json.Marshal(States{}); err != nil || string(data) != "{}" {
		t.Errorf("no states are %s, %v", data, err)
	}
}

// However a period is cut, the parts add to the whole: hours, energies, states, standing, counts, rain, starts.
func TestAPeriodCutAnywhereAddsUp(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := eventful(t, rt)
		l := n.ledger()
		from, to := n.when("2026-02-07 05:00"), n.h.At
		whole := merge(l.Days(CutDays(from, to, n.h.Plant.Location)))
		cut := from.Add(time.Duration(rapid.IntRange(1, int(to.Sub(from).Minutes())-1).Draw(rt, "cut")) * time.Minute)
		a, b := merge(l.Days(CutDays(from, cut, n.h.Plant.Location))), merge(l.Days(CutDays(cut, to, n.h.Plant.Location)))
		same := func(what string, x, y float64) {
			if math.Abs(x-y) > 1e-6 {
				rt.Fatalf("%s: %g of the whole, %g of the parts cut at %s\n%s", what, x, y, cut.Format("02 15:04"), logOf(n.h))
			}
		}
		for name, s := range whole.Sums {
			same(name, s.KWh, a.Sums[name].KWh+b.Sums[name].KWh)
			same(name+" hours", s.Hours, a.Sums[name].Hours+b.Sums[name].Hours)
			same(name+" peak", s.PeakKW, max(a.Sums[name].PeakKW, b.Sums[name].PeakKW))
			same(name+" gauge", s.Gauge, a.Sums[name].Gauge+b.Sums[name].Gauge)
		}
		for k, s := range whole.States {
			x, y := a.States[k], b.States[k]
			same(k+" in", s.In, x.In+y.In)
			same(k+" near", s.Near, x.Near+y.Near)
			same(k+" out", s.Out, x.Out+y.Out)
			same(k+" readings", float64(s.N), float64(x.N+y.N))
		}
		for id, u := range whole.Units {
			same(id, u.On, a.Units[id].On+b.Units[id].On)
			same(id+" unknown", u.Unknown, a.Units[id].Unknown+b.Units[id].Unknown)
			same(id+" starts", float64(u.Starts), float64(a.Units[id].Starts+b.Units[id].Starts))
		}
		same("stood", whole.Stood, a.Stood+b.Stood)
		same("tripped", whole.Tripped, a.Tripped+b.Tripped)
		same("known", whole.Known, a.Known+b.Known)
		same("rated", whole.RatedKWh, a.RatedKWh+b.RatedKWh)
		same("rounds", float64(whole.Rounds), float64(a.Rounds+b.Rounds))
		same("stops", float64(len(whole.Stops)), float64(len(a.Stops)+len(b.Stops)))
		for k, c := range whole.Counts {
			same("count of "+k, float64(c), float64(a.Counts[k]+b.Counts[k]))
		}
		for k, s := range whole.Lows {
			x, had := a.Lows[k]
			if y, also := b.Lows[k]; !had || also && y.V < x.V {
				x = y
			}
			if x.ID != s.ID {
				rt.Fatalf("the lowest %s is %+v, of the parts %+v", k, s, x)
			}
		}
	})
}

// A meter counted 30 kWh used where the panel was read at 1 kW for 24 h: what is left to be dumped is nothing, and no less.
func TestNothingIsDumpedBelowNothing(t *testing.T) {
	r := write(t, tern(t), "2026-02-10 00:00").
		round("2026-02-05 00:00", "running=A load_kw=1 dump_kw=0 load_energy_kwh=100").
		round("2026-02-06 00:00", "load_kw=1 dump_kw=0 load_energy_kwh=130").report(Week)
	near(t, "generated", r.EnergyKWh.Generated.Value, 24)
	near(t, "used", r.EnergyKWh.Used.Value, 30)
	if d := r.EnergyKWh.Dumped; d.Value != 0 || d.Low != 0 || d.High < 0 {
		t.Errorf("dumped %+v", d)
	}
}

// A meter counted 48 kWh in 24 h, twice what was read at either end: the highest power was 2 kW at least, and no mean is above the
// highest.
func TestNoLoadFactorIsAboveOne(t *testing.T) {
	r := write(t, tern(t), "2026-02-10 00:00").
		round("2026-02-05 00:00", "running=A load_kw=1 dump_kw=2 load_energy_kwh=100").
		round("2026-02-06 00:00", "load_kw=1 dump_kw=2 load_energy_kwh=148").report(Week)
	near(t, "load factor", *r.LoadFactor, 1)
}

// Whatever was written down, however large or small, the review holds numbers: ranges hold their values, shares lie in 0 to 1,
// hours fit into the period, something is decided, the most urgent first.
func TestNoLogMakesNonsense(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		scale := rapid.SampledFrom([]float64{0, 0.001, 1, 1, 1000, 10000}).Draw(rt, "scale")
		n := randomLog(t, rt, scale)
		r := n.report(rapid.SampledFrom([]Span{Week, Month, Year}).Draw(rt, "span"))
		jsonOf(t, r) // fails for what is no number
		sane(rt, &r.Period)
		if r.Before != nil {
			sane(rt, r.Before)
		}
		order := []assess.Urgency{assess.UrgentOut, assess.UrgentNear, assess.UrgentDue, assess.UrgentNote, None}
		if len(r.Decisions) == 0 || !slices.IsSortedFunc(r.Decisions, func(a, b Decision) int { return slices.Index(order, a.Urgency) - slices.Index(order, b.Urgency) }) {
			rt.Fatalf("decisions %+v", r.Decisions)
		}
		for i, d := range r.Decisions {
			if d.Text != r.Decide[i] || d.Text == "" || !slices.Contains(order, d.Urgency) || d.Urgency == None && len(r.Decisions) > 1 {
				rt.Fatalf("decision %d of %q is %+v", i, r.Decide, d)
			}
		}
	})
}

func sane(rt *rapid.T, p *Period) {
	share := func(what string, v *float64) {
		if v != nil && !(*v >= -1e-12 && *v <= 1+1e-12) {
			rt.Fatalf("%s is %g", what, *v)
		}
	}
	holds := func(what string, r *Range) {
		if r != nil && !(r.Low >= 0 && r.Low <= r.Value && r.Value <= r.High) {
			rt.Fatalf("%s is %+v", what, *r)
		}
	}
	for what, e := range map[string]Energy{"period": p.EnergyKWh} {
		holds(what+" generated", e.Generated)
		holds(what+" used", e.Used)
		holds(what+" dumped", e.Dumped)
	}
	for _, d := range p.Days {
		holds("a day's generated", d.EnergyKWh.Generated)
		holds("a day's used", d.EnergyKWh.Used)
		if h := d.To.Sub(d.From).Hours(); d.HoursCovered > h+1e-9 || d.HoursStood > h+1e-9 || d.HoursOut > h+1e-9 {
			rt.Fatalf("of %g h %+v", h, d)
		}
	}
	share("availability", p.Availability)
	share("load factor", p.LoadFactor)
	for _, q := range p.States {
		share(q.Quantity, &q.InShare)
		share(q.Quantity, &q.NearShare)
		share(q.Quantity, &q.OutShare)
		if math.Abs(q.InShare+q.NearShare+q.OutShare-1) > 1e-9 || q.Hours > p.Hours+1e-6 {
			rt.Fatalf("%+v of %g h", q, p.Hours)
		}
	}
	if p.Frequency != nil {
		share("frequency", &p.Frequency.Share)
	}
	for _, u := range p.Units {
		if u.Hours < 0 || u.Unknown < 0 || u.Hours+u.Unknown > p.Hours+1e-9 {
			rt.Fatalf("of %g h %+v", p.Hours, u)
		}
		holds(u.Unit, u.EnergyKWh)
	}
	for _, e := range p.Extremes {
		if e.Low.Value > e.High.Value || e.Low.Time.Before(p.From) || !e.High.Time.Before(p.To) {
			rt.Fatalf("from %v to %v %+v", p.From, p.To, e)
		}
	}
	if p.HoursCovered > p.Hours+1e-6 || p.HoursStood > p.Hours+1e-6 {
		rt.Fatalf("covered %g, stood %g of %g h", p.HoursCovered, p.HoursStood, p.Hours)
	}
}
