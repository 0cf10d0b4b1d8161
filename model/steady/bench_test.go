package steady

import (
	"testing"

	"example.org/headpond/model/plant"
)

func BenchmarkSolve(b *testing.B) {
	m := modelOf(b, ternHollow())
	var r Result
	c := Case{PondLevelM: -0.2, Running: []string{"A", "B"}, ScreenClear: new(0.3)}
	b.ReportAllocs()
	for b.Loop() {
		if err := m.SolveInto(&c, &r); err != nil {
			b.Fatal(err)
		}
	}
}

// The same water at 7 °C, whose properties are worked out in each solve.
func BenchmarkSolveAtAWaterTemperature(b *testing.B) {
	m := modelOf(b, ternHollow())
	var r Result
	c := Case{PondLevelM: -0.2, Running: []string{"A", "B"}, WaterC: new(7.0)}
	b.ReportAllocs()
	for b.Loop() {
		if err := m.SolveInto(&c, &r); err != nil {
			b.Fatal(err)
		}
	}
}

// Three penstocks that share the screen are the hardest case: a search within a search.
func BenchmarkSolveThreePenstocks(b *testing.B) {
	p := ternHollow()
	for _, name := range []string{"second", "third"} {
		s := p.Penstocks[0]
		s.Name = name
		p.Penstocks = append(p.Penstocks, s)
		u := p.Units[0]
		u.ID, u.Penstock = name, name
		p.Units = append(p.Units, u)
	}
	m := modelOf(b, p)
	var r Result
	c := Case{Running: p.UnitIDs(), ScreenClear: new(0.2)}
	b.ReportAllocs()
	for b.Loop() {
		if err := m.SolveInto(&c, &r); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSolveMeasuredCurve(b *testing.B) {
	p := ternHollow()
	p.Units[0].Curve = []plant.CurveRow{{NetHeadM: 9, FlowLps: 60, KWElectric: 2.4}, {NetHeadM: 11, FlowLps: 67, KWElectric: 3.9}, {NetHeadM: 14, FlowLps: 78, KWElectric: 6}}
	m := modelOf(b, p)
	var r Result
	c := Case{Running: []string{"A", "B"}}
	b.ReportAllocs()
	for b.Loop() {
		if err := m.SolveInto(&c, &r); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDraw(b *testing.B) {
	m := modelOf(b, ternHollow())
	run := []string{"A", "B"}
	b.ReportAllocs()
	for b.Loop() {
		m.Draw(-0.2, run)
	}
}

func BenchmarkScreenFromPressure(b *testing.B) {
	m := modelOf(b, ternHollow())
	c := Case{Running: []string{"A"}}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := m.ScreenFromPressure(c, "", 128, 0.5, 0.0025); err != nil {
			b.Fatal(err)
		}
	}
}
