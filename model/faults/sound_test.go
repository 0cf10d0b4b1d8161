package faults

import (
	"math/rand/v2"
	"strings"
	"testing"
)

// The share of sound reports with a row that stands out is that of the normal distribution's table: P(|z| > 3) = 0.0027 (NIST/SEMATECH
// Engineering Statistics Handbook 1.3.6.7.1, from memory), so 1 − (1 − 0.0027)⁶ = 0.016 of six rows.
func TestASoundPlantSeldomStandsOut(t *testing.T) {
	const reports, rows = 20_000, 6
	r := rand.New(rand.NewPCG(7, 11))
	out := 0
	for range reports {
		list := make([]Evidence, rows)
		for i := range list {
			list[i] = Evidence{Read: 130 + 0.3*r.NormFloat64(), ExpectedFault: 130, ErrRead: 0.3}
		}
		asSound(list)
		for _, e := range list {
			if !e.Explains {
				out++
				break
			}
		}
	}
	if share := float64(out) / reports; share < 0.013 || share > 0.019 {
		t.Errorf("%.4f of the reports of a sound plant have a row that stands out, expected 0.016", share)
	}
}

// The verdict never says less than the evidence below it.
func TestTheSoundVerdictNamesWhatItDoesNotExplain(t *testing.T) {
	row := func(key string, read, healthy float64) Evidence {
		return Evidence{Quantity: key, Read: read, ExpectedHealthy: healthy, ExpectedFault: healthy, ErrRead: 0.3}
	}
	for _, c := range []struct {
		rows []Evidence
		want string
	}{
		{[]Evidence{row("pressure_kpa", 129.3, 130.1)}, "can show."}, // 0.8 kPa, 2.7 times the error
		{[]Evidence{row("pressure_kpa", 129, 130.1), row("volts", 240, 240.1)}, "can show, though intake pressure reads lower than on a sound plant: "},
		{[]Evidence{row("pressure_kpa", 129, 130.1), row("screen_loss_mm", 141, 1)}, "though intake pressure reads lower and screen loss reads higher than on"},
		{nil, "can show."},
	} {
		asSound(c.rows)
		if got := saySound(Cause{Fault: None, Evidence: c.rows}); !strings.Contains(got, c.want) {
			t.Errorf("%q, expected %q", got, c.want)
		}
	}
}
