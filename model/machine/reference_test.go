package machine

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"example.org/headpond/model/hydraulics"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/plant/planttest"
)

// The published polynomials (Derakhshan and Nourbakhsh 2008, from memory) written out as they stand, without Horner's scheme.
func plainHead(q float64) float64 { return 1.0283*math.Pow(q, 2) - 0.5468*q + 0.5314 }

func plainPower(q float64) float64 {
	return -0.3092*math.Pow(q, 3) + 2.1472*math.Pow(q, 2) - 0.8865*q + 0.0452
}

func TestTheCurvesAreThePublishedOnes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := rapid.Float64Range(LowQ, HighQ).Draw(t, "q")
		if got, want := HeadRatio(q), plainHead(q)/plainHead(1); math.Abs(got-want) > 1e-14 {
			t.Fatalf("h(%g): %.17g, expected %.17g", q, got, want)
		}
		if got, want := PowerRatio(q), plainPower(q)/plainPower(1); math.Abs(got-want) > 1e-14 {
			t.Fatalf("p(%g): %.17g, expected %.17g", q, got, want)
		}
	})
}

// A slow reference for the working point: at each speed, the flow at which the curve's head is the net head, by halving the
// published polynomial, and the power there by the affinity laws (model.md 4 and 7).
func TestTheWorkingPointByHalving(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := plant.Unit{ID: "A", BestFlowLps: rapid.Float64Range(1, 500).Draw(t, "Qb"), BestHeadM: rapid.Float64Range(1, 200).Draw(t, "Hb"),
			BestEfficiency: rapid.Float64Range(0.2, 0.9).Draw(t, "eta"), GeneratorEfficiency: rapid.Float64Range(0.3, 1).Draw(t, "generator"), RunawayRatio: 1.5}
		m, err := New(u)
		if err != nil {
			t.Fatal(err)
		}
		n := rapid.Float64Range(0.5, 1.4).Draw(t, "n")
		x := rapid.Float64Range(LowQ, HighQ).Draw(t, "q/n")
		head := u.BestHeadM * n * n * plainHead(x) / plainHead(1)
		lo, hi := 0.3, 3.0 // the rising branch
		for range 100 {
			mid := (lo + hi) / 2
			if u.BestHeadM*n*n*plainHead(mid)/plainHead(1) > head {
				hi = mid
			} else {
				lo = mid
			}
		}
		const rho = 999.7
		flow := lo * n * u.BestFlowLps / 1000
		shaft := rho * 9.80665 * u.BestFlowLps / 1000 * u.BestHeadM * u.BestEfficiency * n * n * n * plainPower(lo) / plainPower(1)
		at := m.At(head, n, rho)
		if math.Abs(at.FlowM3s-flow) > 1e-9*flow || math.Abs(at.ShaftW-shaft) > 1e-7*shaft || math.Abs(at.ElectricW-shaft*u.GeneratorEfficiency) > 1e-7*shaft {
			t.Fatalf("under %g m at %g: %g m³/s and %g W; by halving %g and %g", head, n, at.FlowM3s, at.ShaftW, flow, shaft)
		}
		if got := m.FlowAt(head, n); math.Abs(got-flow) > 1e-9*flow {
			t.Fatalf("FlowAt: %g, expected %g", got, flow)
		}
	})
}

// The affinity laws are a group: two changes of speed are one, and the way back is the way there.
func TestAffinityIsAGroup(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := func(what string) float64 { return rapid.Float64Range(0.1, 10).Draw(t, what) }
		q, h, p, a, b := in("q"), in("h"), in("p"), in("a"), in("b")
		q1, h1, p1 := Affinity(q, h, p, a)
		q2, h2, p2 := Affinity(q1, h1, p1, b)
		q3, h3, p3 := Affinity(q, h, p, a*b)
		q4, h4, p4 := Affinity(q1, h1, p1, 1/a)
		for _, c := range [][2]float64{{q2, q3}, {h2, h3}, {p2, p3}, {q4, q}, {h4, h}, {p4, p}} {
			if math.Abs(c[0]/c[1]-1) > 1e-12 {
				t.Fatalf("%g, expected %g", c[0], c[1])
			}
		}
		// What the machine takes out of the water, P/(ρ g Q H), does not change with its speed.
		if math.Abs(p1/(q1*h1)-p/(q*h)) > 1e-12*p/(q*h) {
			t.Fatal("the efficiency changes")
		}
	})
}

// No jump and no bump where one formula gives way to another: at the foot, where trust begins, and where torque goes with head.
func TestTheCurveIsContinuous(t *testing.T) {
	const d = 1e-9
	for _, q := range []float64{FootQ, LowQ, HighQ, stallQ} {
		if jump := math.Abs(PowerRatio(q+d) - PowerRatio(q-d)); jump > 1e-7 {
			t.Errorf("at q %g power jumps by %g", q, jump)
		}
	}
	last := -1.0
	for q := FootQ; q < 10; q += 0.001 {
		p := PowerRatio(q)
		if p < last {
			t.Fatalf("power falls at q %g", q)
		}
		last = p
	}
}

// Any machine of any plant, under any head and speed: finite, no power out of nothing, no flow without a head, and the flow that is
// asked for alone is the working point's.
func TestAnyMachineUnderAnyHead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SampledFrom([]func(*rapid.T) *plant.Plant{planttest.Random, planttest.Extreme}).Draw(t, "kind")(t)
		for _, u := range p.Units {
			m, err := New(u)
			if err != nil {
				t.Fatal(err)
			}
			head := m.BestHeadM() * math.Exp(rapid.Float64Range(-8, 3).Draw(t, "ln head"))
			n := rapid.Float64Range(0.01, 4).Draw(t, "speed")
			at := m.At(head, n, 999.7)
			// A measured table may say 0.1 % more than the water holds: its numbers are rounded.
			water := 999.7 * hydraulics.Gravity * at.FlowM3s * head
			switch {
			case math.IsNaN(at.FlowM3s+at.ShaftW+at.ElectricW+at.Relative) || math.IsInf(at.FlowM3s+at.ShaftW, 0):
				t.Fatalf("%+v", at)
			case at.FlowM3s < 0 || at.ElectricW < 0 || at.ElectricW > at.ShaftW*(1+1e-12) || at.ShaftW > water*(1+2e-3):
				t.Fatalf("%g W of water, %+v", water, at)
			case math.Abs(m.FlowAt(head, n)-at.FlowM3s) > 1e-12*at.FlowM3s:
				t.Fatalf("FlowAt gives %g, At %g", m.FlowAt(head, n), at.FlowM3s)
			case at.Flags&TooSlow != 0 && at.ElectricW != 0:
				t.Fatalf("too slow and yet it gives power: %+v", at)
			}
			if none := m.At(0, n, 999.7); none.FlowM3s != 0 || none.ElectricW != 0 || m.FlowAt(-1, n) != 0 {
				t.Fatalf("without a head: %+v", none)
			}
			if r := m.Runaway(head); m.At(head, r*(1+1e-6), 999.7).ElectricW > 1e-6*math.Max(1, at.ElectricW) {
				t.Fatalf("beyond its runaway speed of %g it gives %g W", r, m.At(head, r*(1+1e-6), 999.7).ElectricW)
			}
		}
	})
}
