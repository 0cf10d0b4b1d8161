package upkeep

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// plainly counts running hours in one go over a whole log, without ever stopping: what counting in parts must come to.
func plainly(h *record.History, unit string, from, to time.Time) Ran {
	all := h.Plant.UnitIDs()
	line := record.NewTimeline(all, h.Rounds, h.Events)
	list := func(unit string) []reading {
		var out []reading
		for _, r := range h.Rounds {
			if v, ok := r.Value(quantity.NewKey(unit, quantity.Hours)); ok && !r.Time.After(h.At) {
				out = append(out, reading{at: r.Time, id: r.ID, v: v})
			}
		}
		sort.SliceStable(out, func(i, j int) bool {
			return out[i].at.Before(out[j].at) || out[i].at.Equal(out[j].at) && out[i].id < out[j].id
		})
		i := sort.Search(len(out), func(i int) bool { return !out[i].at.Before(from) })
		if i > 0 && !out[i-1].at.Before(from.AddDate(0, 0, -7)) {
			i--
		}
		return out[i:]
	}
	switch {
	case unit == "" && len(list("")) >= 2:
		return plainMetered(line, list(""), all, from, to)
	case unit == "":
		most := Ran{Known: true}
		for _, u := range all {
			r := plainly(h, u, from, to)
			most = Ran{max(most.Hours, r.Hours), most.Known && r.Known, most.Jumped || r.Jumped}
		}
		return most
	case len(all) == 1 && len(list(unit)) == 0:
		return plainMetered(line, list(""), []string{unit}, from, to)
	}
	return plainMetered(line, list(unit), []string{unit}, from, to)
}

func plainMetered(line *record.Timeline, list []reading, units []string, from, to time.Time) Ran {
	sum := Ran{Known: true}
	if !to.After(from) {
		return sum
	}
	on := func(from, to time.Time) (hours float64, known bool) {
		return (&counter{timeline: line}).on(units, from, to)
	}
	add := func(hours float64, known bool) { sum.Hours, sum.Known = sum.Hours+hours, sum.Known && known }
	at := from
	for i := 1; i < len(list); i++ {
		a, b := list[i-1], list[i]
		if !b.at.After(from) || !a.at.Before(to) {
			continue
		}
		if a.at.After(at) {
			add(on(at, a.at))
		}
		lo, hi := later(a.at, from), earlier(b.at, to)
		gained, ok := gain(a, b)
		switch {
		case !ok:
			sum.Jumped = true
			add(on(lo, hi))
		case lo.Equal(a.at) && hi.Equal(b.at):
			add(gained, true)
		default:
			before, knownBefore := on(a.at, lo)
			after, knownAfter := on(hi, b.at)
			if knownBefore && knownAfter {
				add(min(hi.Sub(lo).Hours(), max(0, gained-before-after)), true)
			} else {
				add(gained*hi.Sub(lo).Hours()/b.at.Sub(a.at).Hours(), true)
			}
		}
		at = hi
	}
	if to.After(at) {
		add(on(at, to))
	}
	return sum
}

// drawMixed draws a log of one to three units over a hundred days: rounds that say what ran or do not, several at one instant,
// starts, stops and trips, and meters of each unit and of the plant that stand still, fall, jump and are read now and then.
func drawMixed(t *rapid.T) *record.History {
	ids := []string{"A", "B", "C"}[:rapid.IntRange(1, 3).Draw(t, "units")]
	h := &record.History{At: day(100), Plant: units(ids...), Complete: true}
	at := func() time.Time {
		if rapid.Bool().Draw(t, "on the day") {
			return day(float64(rapid.IntRange(0, 100).Draw(t, "day")))
		}
		return start.Add(time.Duration(rapid.IntRange(0, 100*24).Draw(t, "hour")) * time.Hour)
	}
	for i := range rapid.IntRange(1, 40).Draw(t, "rounds") {
		r := record.Round{ID: fmt.Sprintf("r%03d", i), Time: at(), Values: map[quantity.Key]float64{}}
		if rapid.Bool().Draw(t, "running read") {
			on := rapid.SliceOfDistinct(rapid.SampledFrom(ids), rapid.ID).Draw(t, "running")
			r.Running = &on
		}
		for _, u := range append([]string{""}, ids...) {
			switch rapid.IntRange(0, 5).Draw(t, "meter "+u) {
			case 0, 1:
				r.Values[quantity.NewKey(u, quantity.Hours)] = 1000 + r.Time.Sub(start).Hours()*0.6
			case 2:
				r.Values[quantity.NewKey(u, quantity.Hours)] = rapid.Float64Range(0, 5000).Draw(t, "slip")
			}
		}
		h.Rounds = append(h.Rounds, r)
	}
	for i := range rapid.IntRange(0, 12).Draw(t, "events") {
		e := record.Event{ID: fmt.Sprintf("e%03d", i), Time: at(), Kind: rapid.SampledFrom([]record.EventKind{record.Start, record.Stop, record.Trip}).Draw(t, "kind")}
		e.Units = rapid.SliceOfNDistinct(rapid.SampledFrom(ids), 0, len(ids), rapid.ID).Draw(t, "of")
		h.Events = append(h.Events, e)
	}
	slices.SortStableFunc(h.Rounds, func(a, b record.Round) int { return a.Time.Compare(b.Time) })
	slices.SortStableFunc(h.Events, func(a, b record.Event) int { return a.Time.Compare(b.Time) })
	h.Begun = h.Rounds[0].Time
	return h
}

// drawHourTasks gives a plant tasks by hours, of each unit and of none, and says when some of them were done.
func drawHourTasks(t *rapid.T, h *record.History) {
	for i, u := range append([]string{""}, h.Plant.UnitIDs()...) {
		name := fmt.Sprint("task ", i)
		h.Plant.Upkeep = append(h.Plant.Upkeep, plant.Task{Task: name, EveryHours: ptr(2000.0), Unit: u})
		if rapid.Bool().Draw(t, name+" done") {
			h.Done = append(h.Done, record.Done{Time: start.Add(time.Duration(rapid.IntRange(-100, 100*24).Draw(t, "done at")) * time.Hour), Task: name})
		}
	}
}

func sameRan(a, b Ran) bool {
	return math.Abs(a.Hours-b.Hours) < 1e-6 && a.Known == b.Known && a.Jumped == b.Jumped
}

func TestCountingIsThePlainOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := drawMixed(t)
		unit := rapid.SampledFrom(append([]string{""}, h.Plant.UnitIDs()...)).Draw(t, "unit")
		from := start.Add(time.Duration(rapid.IntRange(-200, 101*24).Draw(t, "from")) * time.Hour)
		to := start.Add(time.Duration(rapid.IntRange(-200, 101*24).Draw(t, "to")) * time.Hour)
		if got, want := newCounter(h).ran(unit, from, to), plainly(h, unit, from, to); !sameRan(got, want) {
			t.Fatalf("%q from %s to %s: %+v, plainly %+v", unit, from, to, got, want)
		}
	})
}

// cutOff is a history without all that is older than what was kept, but for the last round that says what ran, which every
// history has.
func cutOff(h *record.History, n record.Counted, own time.Time) *record.History {
	part := *h
	part.Complete, part.Rounds, part.Events, part.Earlier = false, nil, nil, &record.Earlier{Counted: &n}
	for _, r := range h.Rounds {
		switch {
		case !r.Time.Before(own):
			part.Rounds = append(part.Rounds, r)
		case !r.Time.Before(n.Until):
			part.Earlier.Rounds = append(part.Earlier.Rounds, r)
		case r.Running != nil:
			part.Rounds = []record.Round{r}
		}
	}
	for _, e := range h.Events {
		switch {
		case !e.Time.Before(own):
			part.Events = append(part.Events, e)
		case !e.Time.Before(n.Until):
			part.Earlier.Events = append(part.Earlier.Events, e)
		}
	}
	return &part
}

// Wherever a counting stops, is kept, and goes on, once or several times, it comes to what it comes to in one go.
func TestKeptCountsGoOnAsIfNeverStopped(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := drawMixed(t)
		drawHourTasks(t, h)
		want := Report(h)
		for _, task := range want.Tasks {
			if plain := plainly(h, task.Unit, task.Since, h.At); math.Abs(*task.RanHours-plain.Hours) > 1e-6 {
				t.Fatalf("%s: %g h, plainly %g", task.Task, *task.RanHours, plain.Hours)
			}
		}
		var at []time.Time
		for range rapid.IntRange(1, 6).Draw(t, "cuts") {
			if rapid.Bool().Draw(t, "at a round") {
				at = append(at, rapid.SampledFrom(h.Rounds).Draw(t, "cut at").Time)
			} else {
				at = append(at, start.Add(time.Duration(rapid.IntRange(0, 100*24).Draw(t, "cut"))*time.Hour))
			}
		}
		slices.SortFunc(at, time.Time.Compare)
		from := h
		for _, n := range CountUp(h, at) {
			if !Brings(&n, Countings(h)) {
				continue // some task needs what is older, and it is not kept
			}
			for _, own := range []time.Time{n.Until, n.Until.Add(300 * time.Hour)} {
				sameReport(t, fmt.Sprint("kept up to ", n.Until), want, Report(cutOff(h, n, own)))
			}
			again := CountUp(from, []time.Time{n.Until})
			if e := from.Earlier; e != nil && !n.Until.After(e.Counted.Until) {
				if len(again) != 0 {
					t.Fatalf("counted up to %s, which is kept already", n.Until)
				}
				continue
			}
			if len(again) != 1 {
				t.Fatalf("counted up to %s anew: %d instants", n.Until, len(again))
			}
			from = cutOff(h, again[0], again[0].Until)
			sameReport(t, fmt.Sprint("on from one to the next, to ", n.Until), want, Report(from))
		}
	})
}

func sameReport(t *rapid.T, what string, want, got Facts) {
	t.Helper()
	w := byName(want)
	for name, g := range byName(got) {
		x := w[name]
		if math.Abs(*g.RanHours-*x.RanHours) > 1e-6 || g.Caution != x.Caution || g.State != x.State || (g.HoursADay == nil) != (x.HoursADay == nil) {
			t.Fatalf("%s: %s ran %g h (%s), the whole log says %g h (%s)", what, name, *g.RanHours, g.Caution, *x.RanHours, x.Caution)
		}
	}
}

// What was not counted before and is not brought either is said to be unknown, whatever the rest tells.
func TestWhatWasNotKeptIsNotKnown(t *testing.T) {
	h := &record.History{At: day(20), Plant: units("A"), Rounds: []record.Round{runs(12, "A")}}
	if r := RunningHours(h, "A", day(12)); !r.Known {
		t.Fatalf("%+v", r)
	}
	h.Earlier = &record.Earlier{Counted: &record.Counted{Until: day(11), Running: map[string]record.Running{"A": record.On}}}
	for since, known := range map[float64]bool{5: false, 11: false, 18.5: true} {
		if r := RunningHours(h, "A", day(since)); r.Known != known {
			t.Errorf("since day %g: %+v", since, r)
		}
	}
}

// The state just before what is kept holds until something is said of it, and events of that very instant come after it.
func TestKeptStateHolds(t *testing.T) {
	kept := &record.Counted{Until: day(10), Running: map[string]record.Running{"A": record.On, "B": record.Off, "C": record.Unknown}}
	for _, g := range []string{"A", "B", "C"} {
		kept.Counts = append(kept.Counts, record.Count{Counting: countingOf(g, []string{g}, day(0)), Known: true, Open: 24, OpenKnown: true, BeforeKnown: true})
	}
	h := &record.History{At: day(20), Plant: units("A", "B", "C"), Earlier: &record.Earlier{Counted: kept}}
	for unit, want := range map[string]Ran{"A": {24 + 240, true, false}, "B": {24, true, false}, "C": {24, false, false}} {
		if got := RunningHours(h, unit, day(0)); got != want {
			t.Errorf("%s: %+v, want %+v", unit, got, want)
		}
	}
	h.Events = []record.Event{{ID: "e", Time: day(10), WrittenAt: day(10), Kind: record.Trip}}
	if got := RunningHours(h, "A", day(0)); got.Hours != 24 {
		t.Errorf("a trip at that instant: %+v", got)
	}
}

func TestBringsAllOrNothing(t *testing.T) {
	a, b := countingOf("A", []string{"A"}, day(0)), countingOf("B", []string{"B"}, day(30))
	kept := &record.Counted{Until: day(20), Running: map[string]record.Running{"A": record.On, "B": record.Off}, Counts: []record.Count{{Counting: a}}}
	other := a
	other.Look = other.Look.Add(time.Hour)
	for name, c := range map[string]struct {
		needs []record.Counting
		want  bool
	}{
		"what it has":                           {[]record.Counting{a}, true},
		"what begins a week later and more":     {[]record.Counting{a, b}, true},
		"what it has not":                       {[]record.Counting{countingOf("B", []string{"B"}, day(0))}, false},
		"what may need a reading before":        {[]record.Counting{countingOf("B", []string{"B"}, day(24))}, false},
		"another time zone's days":              {[]record.Counting{other}, false},
		"more units by the same meter":          {[]record.Counting{countingOf("A", []string{"A", "B"}, day(0))}, false},
		"a unit that it did not know, later":    {[]record.Counting{countingOf("Z", []string{"Z"}, day(40))}, false},
		"another beginning":                     {[]record.Counting{countingOf("A", []string{"A"}, day(1))}, false},
		"the same instant in another time zone": {[]record.Counting{{Meter: a.Meter, Units: a.Units, From: a.From.In(time.FixedZone("", 3600)), Look: a.Look.UTC()}}, true},
	} {
		if got := Brings(kept, c.needs); got != c.want {
			t.Errorf("%s: %v", name, got)
		}
	}
}
