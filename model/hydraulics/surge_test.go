package hydraulics

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Wave speeds computed in references.md item 2.5 for K 2.19 GPa and c1 = 1, with steel at E 200 GPa and the SDR as D/e.
func TestWaveSpeedsOfReferences(t *testing.T) {
	rho := Density(20)
	near(t, "steel, D/e 50", WaveSpeed(WaterModulusPa, rho, 2e11, 50, 1, 1), 1191, 1)
	near(t, "PVC SDR 26", WaveSpeed(WaterModulusPa, rho, PVCModulusPa, 26, 1, 1), 321, 1)
	near(t, "HDPE SDR 17", WaveSpeed(WaterModulusPa, rho, HDPEModulusPa, 17, 1, 1), 215, 1)
	near(t, "rigid", UnyieldingWaveSpeed(rho), 1481, 1)
	if !(WaveSpeed(WaterModulusPa, rho, SteelModulusPa, 50, 1, 0.85) > WaveSpeed(WaterModulusPa, rho, SteelModulusPa, 50, 1, 1)) {
		t.Error("better anchorage should make the wave quicker")
	}
}

// By hand: 100 m of pipe at 1000 m/s returns in 0.2 s; 1 m/s stopped gives 1000/9.80665 = 101.97 m at once and, over 2 s,
// 2·100·1/(9.80665·2) = 10.197 m.
func TestSurgeByHand(t *testing.T) {
	near(t, "return time", ReturnTime(100, 1000), 0.2, 1e-12)
	near(t, "sudden", JoukowskyHead(1000, 1), 101.97, 0.005)
	near(t, "slow", ClosingSurge(100, 1000, 1, 2), 10.197, 0.0005)
	near(t, "quicker than the wave", ClosingSurge(100, 1000, 1, 0), 101.97, 0.005)
	near(t, "closing time", ClosingTime(100, 1000, 1, 10.197162), 2, 1e-6)
}

func TestClosingTimeKeepsTheSurgeWithinItsLimit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := rapid.Float64Range(5, 2000).Draw(t, "length")
		a := rapid.Float64Range(150, 1481).Draw(t, "wave speed")
		v := rapid.Float64Range(0.1, 6).Draw(t, "velocity")
		rise := rapid.Float64Range(0.1, 200).Draw(t, "allowed rise")
		time := ClosingTime(l, a, v, rise)
		if got := ClosingSurge(l, a, v, time); got > rise*(1+1e-9) {
			t.Fatalf("closing in %g s gives %g m; %g m allowed", time, got, rise)
		}
		if ClosingSurge(l, a, v, time/2) > JoukowskyHead(a, v)*(1+1e-9) {
			t.Fatal("a closing gives more than a sudden stop")
		}
	})
}

func TestClosingTimeAtItsLimits(t *testing.T) {
	near(t, "no velocity", ClosingTime(100, 1000, 0, 1), 0, 0)
	near(t, "a rise that a sudden stop does not reach", ClosingTime(100, 1000, 1, 102), 0, 0)
	if got := ClosingTime(100, 1000, 1, 0); !math.IsInf(got, 1) {
		t.Errorf("no rise allowed gives %g s; expected +Inf", got)
	}
}

// By hand: 1.7·4.5·0.16^1.5 = 1.7·4.5·0.064 = 0.4896 m³/s.
func TestSpillByHand(t *testing.T) {
	near(t, "spill", Spill(0.16, 4.5, 1.7), 0.4896, 1e-12)
	near(t, "below the crest", Spill(-0.2, 4.5, 1.7), 0, 0)
	near(t, "no number", Spill(math.NaN(), 4.5, 1.7), 0, 0)
}
