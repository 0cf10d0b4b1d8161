package record

import (
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
)

// at is an hour of an invented day.
func at(hour float64) time.Time {
	return time.Date(2026, 1, 5, 0, 0, 0, 0, time.UTC).Add(time.Duration(hour * float64(time.Hour)))
}

func walked(hour float64, running ...string) Round { return Round{Time: at(hour), Running: &running} }

func happened(hour float64, k EventKind, ids ...string) Event {
	return Event{Time: at(hour), Kind: k, Units: ids}
}

func state(a, b Running) map[string]Running { return map[string]Running{"A": a, "B": b} }

// Each case is a sentence of the contract, "What the readings mean together", Running.
func TestRunning(t *testing.T) {
	for _, c := range []struct {
		sentence string
		rounds   []Round
		events   []Event
		want     map[string]Running // at 10:00
	}{
		{"running is unknown at first", nil, nil, state(Unknown, Unknown)},
		{"a round's running sets every unit", []Round{walked(8, "A")}, nil, state(On, Off)},
		{"a round's running sets every unit, none too", []Round{walked(8)}, nil, state(Off, Off)},
		{"blank sets none", []Round{walked(8, "A"), {Time: at(9)}}, nil, state(On, Off)},
		{"blank sets none, nor does it at first", []Round{{Time: at(9)}}, nil, state(Unknown, Unknown)},
		{"start sets its unit alone", nil, []Event{happened(8, Start, "A")}, state(On, Unknown)},
		{"start with unit=A+B sets both", nil, []Event{happened(8, Start, "A", "B")}, state(On, On)},
		{"start needs unit=", nil, []Event{happened(8, Start)}, state(Unknown, Unknown)},
		{"stop with a unit sets that alone", []Round{walked(8, "A", "B")}, []Event{happened(9, Stop, "B")}, state(On, Off)},
		{"trip with a unit sets that alone", nil, []Event{happened(9, Trip, "B")}, state(Unknown, Off)},
		{"stop without sets all off", nil, []Event{happened(9, Stop)}, state(Off, Off)},
		{"trip without sets all off", []Round{walked(8, "A", "B")}, []Event{happened(9, Trip)}, state(Off, Off)},
		{"an alarm sets none", []Round{walked(8, "A")}, []Event{happened(9, Alarm, "A")}, state(On, Off)},
		{"a repair sets none", []Round{walked(8, "A")}, []Event{happened(9, Repair, "A")}, state(On, Off)},
		{"element events and notes set none", []Round{walked(8, "A")}, []Event{happened(9, ElementOut), happened(9, ElementIn), happened(9, NoteEvent)}, state(On, Off)},
		{"a kind that a newer version writes sets none", []Round{walked(8, "A")}, []Event{happened(9, "inspection")}, state(On, Off)},
		{"at equal times events come before the round", []Round{walked(9, "A")}, []Event{happened(9, Trip)}, state(On, Off)},
		{"at equal times events come before the round, whatever was written first",
			[]Round{{Time: at(9), Running: &[]string{"A"}, WrittenAt: at(9.1)}}, []Event{{Time: at(9), Kind: Stop, WrittenAt: at(9.5)}}, state(On, Off)},
		{"the round wins only for its own instant", []Round{walked(9, "A")}, []Event{happened(9.001, Trip)}, state(Off, Off)},
		{"what comes later is not yet in force", []Round{walked(8, "A"), walked(10.01, "B")}, nil, state(On, Off)},
		{"what comes at the very instant is in force", []Round{walked(8, "A"), walked(10, "B")}, nil, state(Off, On)},
		{"the order in which they are given does not matter", []Round{walked(9, "B"), walked(8, "A")}, nil, state(Off, On)},
		{"among events of one instant the one written down last is the last word", nil, []Event{
			{Time: at(9), Kind: Start, Units: []string{"A"}, WrittenAt: at(9.2)}, {Time: at(9), Kind: Stop, WrittenAt: at(9.1)}}, state(On, Off)},
		{"written down at once, the id decides, so that copies agree", nil, []Event{
			{Time: at(9), Kind: Start, Units: []string{"A", "B"}, ID: "02"}, {Time: at(9), Kind: Stop, ID: "01"}}, state(On, On)},
		{"a unit that the plant no longer has is left out", []Round{walked(9, "A", "C")}, []Event{happened(9.5, Start, "C")}, state(On, Off)},
	} {
		if diff := cmp.Diff(c.want, NewTimeline(units, c.rounds, c.events).At(at(10))); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.sentence, diff)
		}
	}
}

// "While any unit is unknown, running is absent ([] means none run)."
func TestRunningIsAbsentWhileAnyUnitIsUnknown(t *testing.T) {
	line := NewTimeline(units, []Round{walked(12, "B", "A"), walked(13)}, []Event{happened(8, Start, "A"), happened(9, Stop, "B")})
	for _, c := range []struct {
		hour  float64
		want  []string
		known bool
	}{
		{7, nil, false}, {8, nil, false}, {9, []string{"A"}, true}, {12, []string{"A", "B"}, true}, {13, []string{}, true},
	} {
		got, known := line.RunningAt(at(c.hour))
		if known != c.known || !cmp.Equal(got, c.want) {
			t.Errorf("at %g: %#v, %v; want %#v, %v", c.hour, got, known, c.want, c.known)
		}
	}
}

func TestSegments(t *testing.T) {
	line := NewTimeline(units,
		[]Round{walked(8, "A"), walked(9, "A"), walked(12, "A")}, // the second says nothing new
		[]Event{happened(10, Stop), happened(10, Start, "B"), happened(12, Trip)})
	seg := func(from, to float64, a, b Running) Segment {
		return Segment{From: at(from), To: at(to), State: state(a, b)}
	}
	for _, c := range []struct {
		from, to float64
		want     []Segment
	}{
		{7, 13, []Segment{seg(7, 8, Unknown, Unknown), seg(8, 10, On, Off), seg(10, 12, Off, On), seg(12, 13, On, Off)}},
		{8, 10, []Segment{seg(8, 10, On, Off)}}, // From is inclusive, To is not
		{8.5, 9.5, []Segment{seg(8.5, 9.5, On, Off)}},
		{10, 10.5, []Segment{seg(10, 10.5, Off, On)}},
		{20, 21, []Segment{seg(20, 21, On, Off)}},
		{10, 10, nil},
		{11, 10, nil},
	} {
		if diff := cmp.Diff(c.want, line.Segments(at(c.from), at(c.to))); diff != "" {
			t.Errorf("from %g to %g (-want +got):\n%s", c.from, c.to, diff)
		}
	}
}

func TestSince(t *testing.T) {
	line := NewTimeline(units, []Round{walked(8, "A"), walked(9, "A"), walked(11, "A")}, []Event{happened(10, Trip), happened(10.5, Start, "A"), happened(11, Stop)})
	for _, c := range []struct {
		unit     string
		hour     float64
		since    float64
		known    bool
		sentence string
	}{
		{"A", 7, 0, false, "unknown before the first round"},
		{"A", 9.5, 8, true, "the same again is not a new beginning"},
		{"A", 10, 10, true, "off since the trip"},
		{"A", 10.7, 10.5, true, "on since the start"},
		{"A", 12, 10.5, true, "a stop and a round at one instant: it never stood"},
		{"B", 12, 8, true, "off all the time"},
		{"C", 12, 0, false, "no such unit"},
	} {
		got, known := line.Since(c.unit, at(c.hour))
		if known != c.known || known && !got.Equal(at(c.since)) {
			t.Errorf("%s: since %s, %v", c.sentence, got, known)
		}
	}
}

// plainRunning is the contract read word for word, without any cleverness.
func plainRunning(rounds []Round, events []Event, when time.Time) map[string]Running {
	type thing struct {
		at    time.Time
		event *Event
		round *Round
	}
	var things []thing
	for i := range events {
		things = append(things, thing{at: events[i].Time, event: &events[i]})
	}
	for i := range rounds {
		things = append(things, thing{at: rounds[i].Time, round: &rounds[i]})
	}
	slices.SortStableFunc(things, func(a, b thing) int { return a.at.Compare(b.at) }) // events were put in front of rounds
	s := state(Unknown, Unknown)
	for _, th := range things {
		if th.at.After(when) {
			break
		}
		if r := th.round; r != nil {
			if r.Running != nil {
				s = state(Off, Off)
				for _, u := range *r.Running {
					s[u] = On
				}
			}
			continue
		}
		ids := th.event.Units
		if len(ids) == 0 && th.event.Kind != Start {
			ids = units
		}
		for _, u := range ids {
			switch th.event.Kind {
			case Start:
				s[u] = On
			case Stop, Trip:
				s[u] = Off
			case ElementOut, ElementIn, Alarm, Repair, NoteEvent:
			}
		}
	}
	return s
}

func TestTimelineAgreesWithThePlainReading(t *testing.T) {
	someUnits := rapid.SampledFrom([][]string{{}, {"A"}, {"B"}, {"A", "B"}})
	rapid.Check(t, func(t *rapid.T) {
		var rounds []Round
		var events []Event
		for i := range rapid.IntRange(0, 12).Draw(t, "things") {
			hour := float64(rapid.IntRange(0, 8).Draw(t, "hour"))
			ids := someUnits.Draw(t, "units")
			if rapid.Bool().Draw(t, "round") {
				r := Round{Time: at(hour), ID: strconv.Itoa(100 + i)}
				if rapid.Bool().Draw(t, "read") {
					r.Running = &ids
				}
				rounds = append(rounds, r)
			} else {
				events = append(events, Event{Time: at(hour), ID: strconv.Itoa(100 + i), Kind: rapid.SampledFrom(EventKinds()).Draw(t, "kind"), Units: ids})
			}
		}
		line := NewTimeline(units, rounds, events)
		from, to := at(float64(rapid.IntRange(-1, 9).Draw(t, "from"))), at(float64(rapid.IntRange(-1, 9).Draw(t, "to")))
		segs := line.Segments(from, to)
		if to.After(from) && (len(segs) == 0 || !segs[0].From.Equal(from) || !segs[len(segs)-1].To.Equal(to)) {
			t.Fatalf("segments do not cover %s to %s: %v", from, to, segs)
		}
		for i, s := range segs {
			if !s.To.After(s.From) || i > 0 && (!segs[i-1].To.Equal(s.From) || cmp.Equal(segs[i-1].State, s.State)) {
				t.Fatalf("segment %d of %v", i, segs)
			}
			for _, when := range []time.Time{s.From, s.To.Add(-time.Nanosecond)} {
				if diff := cmp.Diff(plainRunning(rounds, events, when), s.State); diff != "" {
					t.Fatalf("segment from %s at %s (-plain +got):\n%s", s.From, when, diff)
				}
			}
		}
		for hour := -1.0; hour < 10; hour += 0.5 {
			if diff := cmp.Diff(plainRunning(rounds, events, at(hour)), line.At(at(hour))); diff != "" {
				t.Fatalf("at %g (-plain +got):\n%s", hour, diff)
			}
		}
	})
}

func TestElementsWorking(t *testing.T) {
	p := ternHollow()
	h := &History{Plant: p, Revisions: []Revision{{From: at(0), Plant: p}}, Events: []Event{
		{Time: at(8), Kind: ElementOut, Element: "E1"},
		{Time: at(9), Kind: ElementIn, Element: "E3"},
		{Time: at(9), Kind: Repair, Element: "E2"}, // says nothing about working
		{Time: at(10), Kind: ElementOut, Element: "E9"},
		{Time: at(12), Kind: ElementIn, Element: "E1"},
	}}
	for _, c := range []struct {
		hour       float64
		e1, e2, e3 bool
	}{{-5, true, true, false}, {7, true, true, false}, {8, false, true, false}, {11, false, true, true}, {12, true, true, true}} {
		want := map[string]bool{"E1": c.e1, "E2": c.e2, "E3": c.e3}
		if diff := cmp.Diff(want, h.ElementsWorking(at(c.hour))); diff != "" {
			t.Errorf("at %g (-want +got):\n%s", c.hour, diff)
		}
	}
	// A later revision brings its own elements; a dead one stays dead, because that is an event and no word of the file.
	two := ternHollow()
	two.Ballast.Elements = append(two.Ballast.Elements, plant.Element{Name: "E4", Working: true})
	h.Revisions = append(h.Revisions, Revision{From: at(11), Plant: two})
	want := map[string]bool{"E1": false, "E2": true, "E3": true, "E4": true}
	if diff := cmp.Diff(want, h.ElementsWorking(at(11.5))); diff != "" {
		t.Errorf("after a new revision (-want +got):\n%s", diff)
	}
	if got := (&History{}).ElementsWorking(at(1)); len(got) != 0 {
		t.Errorf("without a plant: %v", got)
	}
}

func TestPlantAt(t *testing.T) {
	first, second, third := ternHollow(), ternHollow(), ternHollow()
	h := &History{Plant: second, Revisions: []Revision{{From: at(5), Plant: first}, {From: at(8), Plant: second}, {From: at(20), Plant: third}}}
	for _, c := range []struct {
		hour float64
		want *plant.Plant
	}{{0, first}, {5, first}, {7.9, first}, {8, second}, {19, second}, {20, third}} { // "the first one also for all earlier times"
		if h.PlantAt(at(c.hour)) != c.want {
			t.Errorf("at %g another revision is in force", c.hour)
		}
	}
	if got := (&History{Plant: first}).PlantAt(at(1)); got != first {
		t.Error("a history without revisions has its plant")
	}
	if (&History{}).PlantAt(at(1)) != nil {
		t.Error("no plant is nil")
	}
}

func TestLast(t *testing.T) {
	var empty History
	if _, ok := empty.Last(); ok {
		t.Error("an empty history has no last round")
	}
	h := History{Rounds: []Round{
		{Time: at(1), Values: map[quantity.Key]float64{"volts": 0}, Words: map[quantity.Key]string{"screen": "clear"}},
		{Time: at(2), Values: map[quantity.Key]float64{"hertz": 60}},
		{Time: at(3)},
	}}
	if r, ok := h.Last(); !ok || !r.Time.Equal(at(3)) {
		t.Errorf("last is %v", r.Time)
	}
	for _, c := range []struct {
		keys []quantity.Key
		hour float64 // 0: none
	}{{[]quantity.Key{"volts"}, 1}, {[]quantity.Key{"screen"}, 1}, {[]quantity.Key{"volts", "hertz"}, 2}, {[]quantity.Key{"load_kw"}, 0}, {nil, 0}} {
		r, ok := h.LastWith(c.keys...)
		if ok != (c.hour > 0) || ok && !r.Time.Equal(at(c.hour)) {
			t.Errorf("last with %v: %v, %v", c.keys, r.Time, ok)
		}
	}
	if v, ok := h.Rounds[0].Value("volts"); v != 0 || !ok {
		t.Error("zero volts were read")
	}
	if _, ok := h.Rounds[1].Value("volts"); ok {
		t.Error("volts were not read in the second round")
	}
	if w, ok := h.Rounds[0].Word("screen"); w != "clear" || !ok {
		t.Error("the screen was clear")
	}
}

func BenchmarkTimelineOfTenYears(b *testing.B) {
	var rounds []Round
	for i := range 3 * 3650 {
		rounds = append(rounds, walked(float64(8*i), units[:1+i%2]...))
	}
	line := NewTimeline(units, rounds, nil)
	b.Run("build", func(b *testing.B) {
		for b.Loop() {
			NewTimeline(units, rounds, nil)
		}
	})
	b.Run("at", func(b *testing.B) {
		for b.Loop() {
			line.RunningAt(at(40000))
		}
	})
}
