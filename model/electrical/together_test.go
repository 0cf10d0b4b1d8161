package electrical

import (
	"math"
	"strings"
	"testing"

	"example.org/headpond/model/plant"
)

// By hand: room 3 kW, 2 kW used, one set of 8 kVA, which bears 1.5 x 8 = 12 kVA while starting (rule of thumb, from memory). The saw
// takes 9 kVA: beside 2 kW it starts, beside 3.1 kW it does not, and nothing that runs before it is of help.
func TestSeveralLoadsTogether(t *testing.T) {
	p := &plant.Plant{Units: []plant.Unit{{ID: "A", RatedKVA: 8}}, Loads: []plant.Load{
		{Name: "lamps", KW: 0.5}, {Name: "saw", KW: 1.5, StartKVA: new(9.0)}, {Name: "kettle", KW: 1.0}, {Name: "range", KW: 2.2}}}
	facts := func(load float64) *Facts {
		return &Facts{LoadRoomKW: new(3.0), LoadKW: new(load), Running: []string{"A"}}
	}
	for _, c := range []struct {
		name  string
		load  float64
		picks []int
		want  Sum
		order string
	}{
		{"exactly the room", 2, []int{0, 1, 2}, Sum{KW: 3, Why: WhyOK, Fits: true}, "saw, lamps, kettle"},
		{"one too many", 2, []int{1, 3}, Sum{KW: 3.7, LeftKW: -0.7, Why: WhyRoom}, "saw, range"},
		{"a saw that does not start", 3.1, []int{0, 1}, Sum{KW: 2, LeftKW: 1, Why: WhyStarting, Refuses: "saw"}, "saw, lamps"},
		{"one alone", 2, []int{2}, Sum{KW: 1, LeftKW: 2, Why: WhyOK, Fits: true}, "kettle"},
		{"a place that is not there", 2, []int{2, 9, -1}, Sum{KW: 1, LeftKW: 2, Why: WhyOK, Fits: true}, "kettle"},
	} {
		got, ok := facts(c.load).Together(p, c.picks)
		if !ok || math.Abs(got.KW-c.want.KW) > 1e-9 || math.Abs(got.LeftKW-c.want.LeftKW) > 1e-9 || got.Why != c.want.Why || got.Fits != c.want.Fits ||
			got.Refuses != c.want.Refuses || strings.Join(got.Order, ", ") != c.order {
			t.Errorf("%s: %+v, want %+v in the order %s", c.name, got, c.want, c.order)
		}
	}
	for name, f := range map[string]*Facts{"no room known": {LoadKW: new(2.0)}, "no load known": {LoadRoomKW: new(2.0)}} {
		if _, ok := f.Together(p, []int{0}); ok {
			t.Errorf("%s: a sum is told", name)
		}
	}
	if _, ok := facts(2).Together(p, nil); ok {
		t.Error("nothing has a sum")
	}
}

// One load is judged as the list judges it.
func TestOneLoadTogetherIsTheList(t *testing.T) {
	in := both(t, ternHollow(), 6.3)
	f := facts(t, in)
	for i, want := range f.LoadsThatFit {
		if got, ok := f.Together(in.Plant, []int{i}); !ok || got.Fits != want.Fits || got.Why != want.Why {
			t.Errorf("%s: %+v, the list says %+v", want.Name, got, want)
		}
	}
}
