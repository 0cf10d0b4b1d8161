package quantity

import (
	"math"
	"testing"
)

// NIST SP 811 (2008), Appendix B.8: 1 square foot = 9.290 304 E-02 m² (exact), 1 acre = 4.046 873 E+03 m² (US survey foot).
func TestAnAcreAndASquareFootAreNISTs(t *testing.T) {
	if math.Abs(squareFootM2-0.09290304) > 1e-15 {
		t.Errorf("1 ft² = %.10f m²", squareFootM2)
	}
	if rel := math.Abs(acreM2-4046.873) / 4046.873; rel > 1e-5 {
		t.Errorf("1 acre = %.4f m², %g from 4046.873", acreM2, rel)
	}
}

func TestAreasAreShownAsTheyArePictured(t *testing.T) {
	for _, c := range []struct {
		m2         float64
		metric, us string
	}{
		{74000, "74000 m²", "18.3 acres"}, // 74000 / 4046.86 = 18.286
		{1.4, "1.4 m²", "15.1 ft²"},       // 1.4 / 0.0929 = 15.07
		{404, "404 m²", "4350 ft²"},       // 4348.6
		{405, "405 m²", "0.10 acres"},
		{8000.000000000004, "8000 m²", "1.98 acres"},
		{0, "0 m²", "0 ft²"},
	} {
		if got := Metric.ShowArea(c.m2, " "); got != c.metric {
			t.Errorf("%g m²: %q, want %q", c.m2, got, c.metric)
		}
		if got := US.ShowArea(c.m2, " "); got != c.us {
			t.Errorf("%g m²: %q, want %q", c.m2, got, c.us)
		}
	}
}
