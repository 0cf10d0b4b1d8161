package hydraulics

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func close9(t *rapid.T, what string, got, want float64) {
	if math.Abs(got-want) > 1e-9*math.Abs(want)+1e-300 {
		t.Fatalf("%s: %g, expected %g", what, got, want)
	}
}

// Laws that hold whatever the formula's coefficients: Darcy and Weisbach's loss goes with the length, minor losses with the square of
// the flow, a screen's with the square of the flow and the inverse square of its area, pressure with the density.
func TestHowLossesScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := func(lo, hi float64, what string) float64 { return rapid.Float64Range(lo, hi).Draw(t, what) }
		q, l, d, k, a := in(0.001, 2, "flow"), in(1, 3000, "length"), in(0.05, 2, "bore"), in(0.2, 5, "times"), in(0.1, 10, "area")
		rough, nu, share := in(0, 1e-3, "rough"), in(5e-7, 2e-6, "viscosity"), in(0.02, 0.99, "open")
		close9(t, "friction with length", FrictionLoss(q, k*l, d, rough, nu), k*FrictionLoss(q, l, d, rough, nu))
		close9(t, "minor loss with flow", MinorLoss(k*q, d, 2), k*k*MinorLoss(q, d, 2))
		close9(t, "minor loss with K", MinorLoss(q, d, 2*k), k*MinorLoss(q, d, 2))
		close9(t, "screen with flow", ScreenLoss(k*q, a, share), k*k*ScreenLoss(q, a, share))
		close9(t, "screen with area", ScreenLoss(q, k*a, share), ScreenLoss(q, a, share)/(k*k))
		close9(t, "pressure with density", PressureOfHead(l, 1000*k), k*PressureOfHead(l, 1000))
		close9(t, "Reynolds with bore", Reynolds(1, k*d, nu), k*Reynolds(1, d, nu))
		close9(t, "weir with its length", Spill(d, k*4, 1.7), k*Spill(d, 4, 1.7))
		close9(t, "weir with the head", Spill(k*d, 4, 1.7), math.Pow(k, 1.5)*Spill(d, 4, 1.7))
		close9(t, "submergence with velocity", Submergence(k, d, GordonLateral), k*Submergence(1, d, GordonLateral))
	})
}

// Dimensional similarity (Reynolds): two pipes of the same shape, roughness over bore and Reynolds number have one friction factor, so
// that their losses over velocity heads are one.
func TestSimilarPipesLoseAlike(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.Float64Range(0.05, 1).Draw(t, "bore")
		v := rapid.Float64Range(0.1, 5).Draw(t, "velocity")
		rough := rapid.Float64Range(0, 0.02).Draw(t, "rough") * d
		scale := rapid.Float64Range(0.2, 5).Draw(t, "scale")
		const nu = 1.3e-6
		a := FrictionLoss(v*PipeArea(d), 100*d, d, rough, nu) / VelocityHead(v)
		b := FrictionLoss(v/scale*PipeArea(scale*d), 100*scale*d, scale*d, scale*rough, nu) / VelocityHead(v/scale)
		close9(t, "velocity heads lost", a, b)
	})
}

// The thicker the water, the rougher or the narrower the pipe, the more is lost.
func TestWhatMakesALossGreater(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := rapid.Float64Range(0.001, 1).Draw(t, "flow")
		d := rapid.Float64Range(0.05, 1).Draw(t, "bore")
		rough := rapid.Float64Range(0, 0.01).Draw(t, "rough") * d
		more := rapid.Float64Range(1.0001, 3).Draw(t, "more")
		base := FrictionLoss(q, 100, d, rough, 1.3e-6)
		for what, got := range map[string]float64{
			"rougher": FrictionLoss(q, 100, d, (rough+1e-5*d)*more, 1.3e-6), "narrower": FrictionLoss(q, 100, d/more, rough/more, 1.3e-6),
		} {
			if got < base*(1-1e-12) {
				t.Fatalf("%s: %g m instead of %g", what, got, base)
			}
		}
		if re := Reynolds(q/PipeArea(d), d, 1.3e-6*more); re > TurbulentRe { // in the transition it may lose less
			if got := FrictionLoss(q, 100, d, rough, 1.3e-6*more); got < base*(1-1e-12) {
				t.Fatalf("thicker: %g m instead of %g", got, base)
			}
		}
	})
}

// The surge: at the time in which the wave returns Michaud's meets Joukowsky's, a pipe that hardly yields carries waves as fast as one
// that does not, a soft one slower, and slower closings never give more.
func TestTheSurgeHangsTogether(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := rapid.Float64Range(10, 3000).Draw(t, "length")
		v := rapid.Float64Range(0.1, 5).Draw(t, "velocity")
		a := rapid.Float64Range(200, 1480).Draw(t, "wave")
		close9(t, "at the return time", ClosingSurge(l, a, v, ReturnTime(l, a)), JoukowskyHead(a, v))
		close9(t, "faster than that", ClosingSurge(l, a, v, 0), JoukowskyHead(a, v))
		fast := rapid.Float64Range(0, 100).Draw(t, "closing")
		slow := fast + rapid.Float64Range(0, 100).Draw(t, "slower")
		if ClosingSurge(l, a, v, slow) > ClosingSurge(l, a, v, fast)*(1+1e-12) {
			t.Fatalf("closing in %g s gives more than in %g", slow, fast)
		}
		rise := rapid.Float64Range(0.1, 200).Draw(t, "rise")
		if s := ClosingTime(l, a, v, rise); ClosingSurge(l, a, v, s) > rise*(1+1e-9) {
			t.Fatalf("%g s keep %g m and not %g", s, ClosingSurge(l, a, v, s), rise)
		}
		stiff := WaveSpeed(WaterModulusPa, 999.7, 1e30, 1, 0.01, 1)
		soft := WaveSpeed(WaterModulusPa, 999.7, HDPEModulusPa, 1, 0.05, 1)
		close9(t, "a stiff pipe", stiff, UnyieldingWaveSpeed(999.7))
		if soft >= stiff {
			t.Fatal("a soft pipe carries waves faster")
		}
	})
}

// A screen of several meshes in a row of equal panels is one screen: half the panels blocked is half the area at twice the velocity,
// four times the loss at the same open share.
func TestHalfThePanels(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q, a, share := rapid.Float64Range(0.001, 1).Draw(t, "flow"), rapid.Float64Range(0.1, 10).Draw(t, "area"), rapid.Float64Range(0.05, 0.95).Draw(t, "open")
		close9(t, "half the panels", ScreenLoss(q, a/2, share), 4*ScreenLoss(q, a, share))
		loss := ScreenLoss(q, a, share)
		back, ok := ScreenShareFromLoss(loss, q, a)
		if !ok || math.Abs(back-share) > 1e-9 {
			t.Fatalf("%g m tell an open share of %g, expected %g", loss, back, share)
		}
	})
}
