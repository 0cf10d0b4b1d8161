package demo

import (
	"math"
	"math/rand/v2"
	"time"
)

// The people of Tern Hollow.
const (
	ro   = "Ro"   // the caretaker
	imke = "Imke" // runs the school, walks the rounds at weekends
	tam  = "Tam"  // helps out, and reads the pressure in psi
)

// visit is one walk through the plant.
type visit struct {
	at      float64 // s
	day     int
	morning bool
	last    bool // the story's last
	by      string
}

// Days of the story on which no round is missed: those on which things happen.
const (
	firstBusyDay = 18
	lastBusyDay  = 40
	lastWeek     = 112
)

// visits plans the rounds: two a day, at about half past seven to half past eight and five to half past six, a few missed,
// and the last a little more than two hours before the story's end, at whatever time of day that is.
func visits(r *rand.Rand, cal calendar) []visit {
	const apart = 3 * hour
	lastAt := minutes(cal.end - (2.2+0.6*r.Float64())*hour)
	var list []visit
	for n := range days + 1 {
		weekday := cal.time(cal.at(n, 12)).Weekday()
		for _, morning := range []bool{true, false} {
			clock := 17 + 1.5*r.Float64()
			if morning {
				clock = 7.5 + r.Float64()
			}
			v := visit{at: minutes(cal.at(n, clock)), day: n, morning: morning, by: walker(r, weekday)}
			missed := r.Float64() < 0.04
			busy := n == 0 || n >= firstBusyDay && n <= lastBusyDay || n >= lastWeek
			if v.at < lastAt-apart && (busy || !missed) {
				list = append(list, v)
			}
		}
	}
	clock, _ := cal.clock(lastAt)
	return append(list, visit{at: lastAt, day: days - int(math.Ceil((cal.at(days, 0)-lastAt)/day)), morning: clock < 12, last: true, by: ro})
}

// walker is who walks on a day of the week.
func walker(r *rand.Rand, d time.Weekday) string {
	x := r.Float64()
	switch {
	case d == time.Saturday, d == time.Sunday && x < 0.6:
		return imke
	case d == time.Sunday:
		return tam
	case x < 0.15:
		return imke
	}
	return ro
}

// minutes rounds down to the minute: nobody writes seconds.
func minutes(s float64) float64 { return math.Floor(s/60) * 60 }
