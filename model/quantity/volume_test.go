package quantity

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// NIST SP 811 (2008), Appendix B.8: 1 acre foot = 1.233 489 E+03 m³ (US survey foot; ours is the international one).
func TestAnAcreFootIsNISTs(t *testing.T) {
	if rel := math.Abs(acreFootM3-1233.489) / 1233.489; rel > 1e-5 {
		t.Errorf("1 acre-ft = %.4f m³, %g from 1233.489", acreFootM3, rel)
	}
}

func TestVolumesAreShownWithThreeDigits(t *testing.T) {
	cases := []struct {
		m3     float64
		metric string
		us     string
	}{
		{28109.35, "28100 m³", "22.8 acre-ft"},
		{1234567, "1230000 m³", "1000 acre-ft"}, // 1000.88
		{999.6, "1000 m³", "0.81 acre-ft"},
		{52.44, "52.4 m³", "0.04 acre-ft"},
		{3.456, "3.46 m³", "0.00 acre-ft"},
		{0, "0 m³", "0 acre-ft"},
	}
	for _, c := range cases {
		if got := Metric.ShowVolume(c.m3, " "); got != c.metric {
			t.Errorf("%g m³: %q, want %q", c.m3, got, c.metric)
		}
		if got := US.ShowVolume(c.m3, " "); got != c.us {
			t.Errorf("%g m³: %q, want %q", c.m3, got, c.us)
		}
	}
}

func TestAShownVolumeIsWithinHalfOfItsLastDigit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(1, 1e9).Draw(t, "m3")
		shown, err := strconv.ParseFloat(strings.TrimSuffix(Metric.ShowVolume(v, ""), "m³"), 64)
		if err != nil || math.Abs(shown-v) > 0.00501*v {
			t.Fatalf("%g is shown as %g (%v)", v, shown, err)
		}
	})
}
