package quantity

import "testing"

// 0.4 ft/s and 0.33 ft/s are the approach velocities of the NMFS and the CDFG (references.md); 0.122 and 0.101 m/s are their own
// figures in metric. 3 m/s is 9.84 ft/s by the exact foot of NIST SP 811.
func TestVelocitiesAreShownInThePlantsUnits(t *testing.T) {
	for _, c := range []struct {
		ms     float64
		digits int
		system System
		want   string
	}{
		{0.4 * 0.3048, 3, Metric, "0.122 m/s"}, {0.4 * 0.3048, 3, US, "0.40 ft/s"},
		{0.33 * 0.3048, 3, Metric, "0.101 m/s"}, {0.33 * 0.3048, 3, US, "0.33 ft/s"},
		{3, 1, Metric, "3.0 m/s"}, {3, 1, US, "10 ft/s"}, {3, 2, US, "9.8 ft/s"}, {-1e-9, 2, Metric, "0.00 m/s"}, {3, 0, US, "10 ft/s"},
	} {
		if got := c.system.ShowVelocity(c.ms, c.digits, " "); got != c.want {
			t.Errorf("%g m/s with %d digits in %s: %q, expected %q", c.ms, c.digits, c.system, got, c.want)
		}
	}
}
