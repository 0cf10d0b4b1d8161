package water

import (
	"math"
	"time"
)

// memory is what the book's own past says of the stream: the inflow of every day since the first level, smoothed with
// all that came after, and at each level what was believed at the time.
type memory struct {
	start time.Time
	flow  []float64 // smoothed inflow by day from start, m3/s
	marks []mark
}

// mark is a past moment from which the stream's later course is known.
type mark struct {
	day    float64    // since start
	season float64    // part of the year gone, 0 to 1
	log    float64    // log inflow as believed then
	trend  [2]float64 // how far the log inflow lies from its mean of the last trendDays
}

// remember smooths a filter's track backwards and lays it on a grid of days.
func remember(f *filter) *memory {
	n := len(f.track)
	m := &memory{start: f.track[0].at}
	logs, days := make([]float64, n), make([]float64, n)
	later := f.track[n-1].filtered.mean
	for i := n - 1; i >= 0; i-- {
		t := &f.track[i]
		if i < n-1 {
			next := &f.track[i+1]
			later = t.filtered.smoothedMean(&next.f, &next.predicted, &later)
			// Over wild levels the straightened balance can carry the smoother beyond any stream, where the filter itself stops.
			later[iInflow] = min(max(later[iInflow], f.floor), mostLogInflow)
		}
		logs[i] = later[iInflow]
		days[i] = t.at.Sub(m.start).Seconds() / secondsPerDay
	}
	m.marks = make([]mark, n)
	for i := range m.marks {
		b := &f.track[i].filtered
		m.marks[i] = mark{day: days[i], season: season(f.track[i].at), log: b.mean[iInflow]}
	}
	for w, span := range trendDays() {
		m.fillTrend(w, span)
	}
	m.flow = make([]float64, int(days[n-1])+1)
	for d, i := 0, 0; d < len(m.flow); d++ {
		for i < n-2 && days[i+1] < float64(d) {
			i++
		}
		x := logs[i]
		if i+1 < n && days[i+1] > days[i] {
			x += (logs[i+1] - logs[i]) * math.Min(1, math.Max(0, (float64(d)-days[i])/(days[i+1]-days[i])))
		}
		m.flow[d] = math.Exp(x)
	}
	return m
}

// trendDays are the spans over which a moment's inflow is compared with its own past: a week and a half, and forty days.
func trendDays() [2]float64 { return [2]float64{10, 40} }

func (m *memory) fillTrend(which int, span float64) {
	sum, from := 0.0, 0
	for i := range m.marks {
		sum += m.marks[i].log
		for m.marks[i].day-m.marks[from].day > span {
			sum -= m.marks[from].log
			from++
		}
		m.marks[i].trend[which] = m.marks[i].log - sum/float64(i-from+1)
	}
}

// at is the smoothed inflow at a day since the start, m3/s. Beyond the end the last value stands.
func (m *memory) at(day float64) float64 {
	i := int(day)
	if i+1 >= len(m.flow) {
		return m.flow[len(m.flow)-1]
	}
	return m.flow[i] + (day-float64(i))*(m.flow[i+1]-m.flow[i])
}

const daysPerYear = 365.2425

// season is the part of the year that is gone, 0 to 1.
func season(t time.Time) float64 {
	return (float64(t.YearDay()-1) + float64(t.Hour())/24) / daysPerYear
}

// apart is the least distance between two seasons, days.
func apart(a, b float64) float64 {
	d := math.Abs(a - b)
	return math.Min(d, 1-d) * daysPerYear
}
