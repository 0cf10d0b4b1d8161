package assess

import (
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/clearing"
	"example.org/headpond/model/quantity"
)

func TestTheScreensLossInWords(t *testing.T) {
	seen := &clearing.Seen{Sight: clearing.Sight{Time: noon.Add(-3 * time.Hour), From: clearing.FromPressure}}
	share := clearing.Range{P10: 0.049, P50: 0.051, P90: 0.054}
	for _, c := range []struct {
		name   string
		f      *clearing.Facts
		system quantity.System
		want   string
	}{
		{"no more digits than the range deserves", &clearing.Facts{Now: &clearing.Now{LossM: clearing.Range{P10: 0.865, P50: 0.983, P90: 1.053}, Clear: share}, Seen: seen}, quantity.Metric,
			"loses 980 mm of head (870 to 1050), 5.1 % clear (4.9 to 5.4); last told by the intake pressure, 3 h ago"},
		// 980 mm are 38.6 in (NIST SP 811: 25.4 mm).
		{"inches", &clearing.Facts{Now: &clearing.Now{LossM: clearing.Range{P10: 0.865, P50: 0.983, P90: 1.053}, Clear: share}}, quantity.US,
			"loses 38.6 in of head (34.3 to 41.3), 5.1 % clear (4.9 to 5.4)"},
		{"a small loss", &clearing.Facts{Now: &clearing.Now{LossM: clearing.Range{P10: 0.0010, P50: 0.0012, P90: 0.0014}, Clear: clearing.Range{P10: 0.95, P50: 1, P90: 1}}}, quantity.Metric,
			"loses 1 mm of head, clean"},
		{"no estimate", &clearing.Facts{CannotTell: "x"}, quantity.Metric, ""},
		{"no screen", nil, quantity.Metric, ""},
	} {
		if got := ScreenLoss(c.f, noon, c.system); got != c.want {
			t.Errorf("%s: %q, expected %q", c.name, got, c.want)
		}
	}
}

func TestTheScreensTrendInWords(t *testing.T) {
	loc := time.FixedZone("plant", -3*3600)
	grow := func(n int, p10, p50, p90 float64) *clearing.Facts {
		return &clearing.Facts{Growth: &clearing.Growth{Since: noon, Readings: n, PerDay: clearing.Range{P10: p10, P50: p50, P90: p90}}}
	}
	for _, c := range []struct {
		f    *clearing.Facts
		want string
	}{
		{grow(9, 0.3, 0.45, 0.62), "since Mon 1 Jun 09:00 it grows by 45 % a day (30 to 62), by 9 readings"},
		{grow(4, -0.05, 0.1, 0.2), "since Mon 1 Jun 09:00 it may grow or not: between -5 and 20 % a day, by 4 readings"},
		{grow(4, -0.3, -0.1, 0), "since Mon 1 Jun 09:00 it does not grow, by 4 readings"},
		{grow(4, -0.001, 0.1, 0.2), "since Mon 1 Jun 09:00 it may grow or not: between 0 and 20 % a day, by 4 readings"},
		{grow(1, 0.1, 0.5, 3), "since Mon 1 Jun 09:00 too few readings to tell how it grows"},
		{&clearing.Facts{}, ""}, {nil, ""},
	} {
		if got := ScreenTrend(c.f, loc); got != c.want {
			t.Errorf("%q, expected %q", got, c.want)
		}
	}
}

// 0.139 m/s are 0.456 ft/s, 0.108 are 0.354 (NIST SP 811); the limits are those of the guideline of 1995 (from memory).
func TestTheApproachInWords(t *testing.T) {
	f := &clearing.Facts{Approach: []clearing.Approach{
		{Rule: "strong swimmers", VelocityMS: 0.139, AtMostMS: 0.108, OpenArea: true, Source: "guideline", Status: "from memory"},
		{Rule: "weak swimmers such as eels", VelocityMS: 0.139, AtMostMS: 0.15, OpenArea: true, Within: true, Source: "guideline", Status: "from memory"},
		{Rule: "pump intakes", VelocityMS: 0.055, AtMostMS: 0.061, Within: true, Source: "other", Status: "verified"},
	}}
	want := "clean, the water comes to its open area at 0.139 m/s, above the 0.108 m/s for strong swimmers and within the 0.150 m/s for weak swimmers (fish-screen guideline, for information; source on the Plant screen)"
	if got := ScreenApproach(f, quantity.Metric); got != want {
		t.Errorf("%q", got)
	}
	if got := ScreenApproach(f, quantity.US); !strings.Contains(got, "at 0.46 ft/s, above the 0.35 ft/s") {
		t.Errorf("%q", got)
	}
	for _, none := range []*clearing.Facts{nil, {}, {Approach: f.Approach[2:]}} {
		if got := ScreenApproach(none, quantity.Metric); got != "" {
			t.Errorf("%q", got)
		}
	}
}

// On the demo's story all three are told, and the figures are those of the facts.
func TestTheStorysScreenIsTold(t *testing.T) {
	n := Of(story(t, 1)).Now()
	f := n.Screen.Loss
	for name, words := range map[string]string{"loss": ScreenLoss(f, n.At, quantity.Metric), "trend": ScreenTrend(f, nil), "approach": ScreenApproach(f, quantity.Metric)} {
		if words == "" || strings.Contains(words, "NaN") {
			t.Errorf("%s: %q", name, words)
		}
	}
}
