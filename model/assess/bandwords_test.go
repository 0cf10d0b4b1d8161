package assess

import (
	"testing"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/tolerance"
)

func TestBandsAreWrittenInEitherSystem(t *testing.T) {
	limit := func(v float64) *float64 { return &v }
	for _, c := range []struct {
		band       tolerance.Band
		name       quantity.Name
		metric, us string
	}{
		{tolerance.Band{InMin: limit(228), InMax: limit(252)}, quantity.Volts, "228 to 252", "228 to 252"},
		{tolerance.Band{InMin: limit(-0.6)}, quantity.PondLevelM, "from -0.60", "from -1.97"}, // NIST SP 811: 1 ft = 0.3048 m
		{tolerance.Band{InMax: limit(60)}, quantity.BearingC, "up to 60", "up to 140"},
		{tolerance.Band{InMin: limit(127.7683), InMax: limit(135.6717)}, quantity.PressureKPa, "128 to 136", "18.5 to 19.7"}, // 6.894757 kPa a psi
		{tolerance.Band{NearMax: limit(70)}, quantity.BearingC, "", ""},
	} {
		info, _ := quantity.Lookup(c.name)
		if got := BandWords(c.band, info, quantity.Metric); got != c.metric {
			t.Errorf("%s: %q, want %q", c.name, got, c.metric)
		}
		if got := BandWords(c.band, info, quantity.US); got != c.us {
			t.Errorf("%s: %q, want %q", c.name, got, c.us)
		}
	}
}
