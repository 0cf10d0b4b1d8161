package week

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"example.org/headpond/model/record"
)

// household is a load that this test invents: a daily run with two peaks and a quiet night, days that differ, and appliances
// that come and go, in kW by quarters of an hour.
func household(r *rand.Rand, days int, night float64) []float64 {
	out := make([]float64, 0, days*96)
	slow, fast := 0.0, 0.0
	for range days {
		day := 1 + 0.15*r.NormFloat64()
		for q := range 96 {
			h := float64(q) / 4
			shape := night + 1.2*math.Exp(-(h-7.5)*(h-7.5)/3) + 1.8*math.Exp(-(h-18)*(h-18)/6) + 0.5*math.Exp(-(h-12.5)*(h-12.5)/8)
			slow = 0.98*slow + 0.2*0.4*r.NormFloat64()
			fast = 0.5*fast + 0.87*0.25*r.NormFloat64()
			out = append(out, max(0.2, day*shape+slow+fast))
		}
	}
	return out
}

// The stated range of a week's used energy holds the truth about four times in five or more, for rounds walked once, twice,
// three times a day and every quarter of an hour. Two rounds a day fall on the load's two peaks, the worst that could be: the
// readings agree with each other and are all too high. The width is held as well: it shrinks as readings come closer.
func TestRangesHoldTheTruth(t *testing.T) {
	p := tern(t)
	for _, c := range []struct {
		name  string
		hours []float64
		least float64 // share of weeks that must hold the truth
		width float64 // of the range over the value, at most, in the mean
	}{
		{"one round a day", []float64{8}, 0.75, 1.25},
		{"two rounds a day", []float64{7.75, 17.75}, 0.75, 1.0},
		{"three rounds a day", []float64{7, 13, 22}, 0.8, 0.9},
		{"every quarter of an hour", nil, 0.95, 0.12},
	} {
		r := rand.New(rand.NewPCG(11, uint64(len(c.hours))))
		held, weeks, width := 0, 0, 0.0
		for range 12 {
			load := household(r, 30, 0.4+0.6*r.Float64())
			n := write(t, p, "2026-02-01 00:00")
			begin := n.when("2026-01-02 00:00")
			n.h.At = begin.AddDate(0, 0, 29)
			for q, kw := range load[:29*96] {
				if h := float64(q%96) / 4; c.hours == nil && q >= 14*96 || contains(c.hours, h) {
					n.h.Rounds = append(n.h.Rounds, roundOf(n, begin.Add(time.Duration(q)*15*time.Minute), kw))
				}
			}
			l := n.ledger()
			for w := range 2 {
				from := begin.AddDate(0, 0, 15+6*w)
				sums := merge(l.Days(CutDays(from, from.AddDate(0, 0, 6), p.Location))).Sums
				got := sums[Used].Range()
				truth := 0.0
				for _, kw := range load[(15+6*w)*96 : (21+6*w)*96] {
					truth += kw / 4
				}
				weeks++
				width += (got.High - got.Low) / got.Value
				if got.Low <= truth && truth <= got.High {
					held++
				}
			}
		}
		width /= float64(weeks)
		t.Logf("%s: %d of %d held, width %.2f of the value", c.name, held, weeks, width)
		if share := float64(held) / float64(weeks); share < c.least || width > c.width {
			t.Errorf("%s: %.0f %% held (want %.0f %%), width %.2f (want at most %.2f)", c.name, 100*share, 100*c.least, width, c.width)
		}
	}
}

func contains(list []float64, v float64) bool {
	for _, x := range list {
		if x == v {
			return true
		}
	}
	return false
}

// roundOf is a round of a load, read to 0.1 kW, while 6 kW are generated.
func roundOf(n *notes, when time.Time, kw float64) record.Round {
	load := math.Round(kw*10) / 10
	return n.one(when, fmt.Sprintf("running=A load_kw=%g dump_kw=%g", load, math.Max(0, math.Round((6-load)*10)/10)))
}
