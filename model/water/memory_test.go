package water

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// A moment's trend is its log inflow less the mean of the marks of the last ten and forty days, itself included: worked out
// the slow way.
func TestTrendsAgreeWithTheSlowWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := &memory{}
		day := 0.0
		for range rapid.IntRange(1, 60).Draw(t, "marks") {
			day += rapid.Float64Range(0.2, 9).Draw(t, "step")
			m.marks = append(m.marks, mark{day: day, log: rapid.Float64Range(-6, 1).Draw(t, "log")})
		}
		for w, span := range trendDays() {
			m.fillTrend(w, span)
			for i, k := range m.marks {
				sum, n := 0.0, 0.0
				for _, other := range m.marks[:i+1] {
					if k.day-other.day <= span {
						sum, n = sum+other.log, n+1
					}
				}
				if want := k.log - sum/n; math.Abs(k.trend[w]-want) > 1e-9 {
					t.Fatalf("mark %d, %g days: trend %g, want %g", i, span, k.trend[w], want)
				}
			}
		}
	})
}

// The first of January is 0, the second of July (day 183) about a half; the distance between two seasons goes the short way
// round.
func TestSeasonsGoRound(t *testing.T) {
	near(t, "new year", season(time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)), 0, 1e-12)
	near(t, "2 July at noon", season(time.Date(2026, 7, 2, 12, 0, 0, 0, time.UTC)), 182.5/365.2425, 1e-12)
	near(t, "over the new year", apart(0.99, 0.02), 0.03*365.2425, 1e-9)
	near(t, "the other way", apart(0.02, 0.99), 0.03*365.2425, 1e-9)
	near(t, "half a year", apart(0.2, 0.7), 0.5*365.2425, 1e-9)
	near(t, "none", apart(0.4, 0.4), 0, 0)
}

func TestTheRememberedFlowIsStraightBetweenDays(t *testing.T) {
	m := &memory{flow: []float64{0.1, 0.3, 0.2}}
	for day, want := range map[float64]float64{0: 0.1, 0.5: 0.2, 1: 0.3, 1.25: 0.275, 2: 0.2, 2.5: 0.2, 99: 0.2} {
		near(t, "flow", m.at(day), want, 1e-12)
	}
}

// A log whose inflow recedes from 100 to 50 L/s is remembered so: the smoothed flow lies nearer to it than what was believed
// at the time.
func TestTheSmoothedFlowIsNearerThanWhatWasBelieved(t *testing.T) {
	offSmooth, offThen, n := 0.0, 0.0, 0.0
	for seed := range uint64(8) {
		life := site{size: 1, gaugeM: 0.005, errorM: 0.004, everyDays: 1}.live(recedingFlow(60, 0.12, 40), make([]float64, 60), seed)
		h := logOf(life.rounds[len(life.rounds)-1].Time, backtestPlant(), nil)
		h.Rounds = life.rounds
		m, err := Prepare(t.Context(), h, Always(backtestDraw))
		if err != nil {
			t.Fatal(err)
		}
		for i := 8; i < len(m.past.marks)-8; i++ {
			k := m.past.marks[i]
			truth := math.Log(0.12 * math.Exp(-(k.day+dayOf(h.Rounds[0].Time))/40))
			offSmooth += math.Abs(math.Log(m.past.at(k.day)) - truth)
			offThen += math.Abs(k.log - truth)
			n++
		}
	}
	if offSmooth >= offThen || offSmooth/n > 0.15 {
		t.Errorf("log inflow off by %.3f when smoothed, %.3f when believed", offSmooth/n, offThen/n)
	}
}

// recedingFlow is a flow that falls by e in so many days.
func recedingFlow(days int, first, tau float64) []float64 {
	flow := make([]float64, days)
	for i := range flow {
		flow[i] = first * math.Exp(-float64(i)/tau)
	}
	return flow
}

// dayOf is the day since the made-up streams' first midnight.
func dayOf(t time.Time) float64 {
	return t.Sub(time.Date(1953, 10, 1, 0, 0, 0, 0, time.UTC)).Hours() / 24
}

// pastOf is a memory of so many years of a flow that rises in spring and recedes, with a mark a day.
func pastOf(years int) *memory {
	m := &memory{start: time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)}
	for d := 0; d < int(float64(years)*daysPerYear); d++ {
		at := m.start.AddDate(0, 0, d)
		f := 0.05 + 0.04*math.Sin(2*math.Pi*season(at))
		m.flow = append(m.flow, f)
		m.marks = append(m.marks, mark{day: float64(d), season: season(at), log: math.Log(f)})
	}
	for w, span := range trendDays() {
		m.fillTrend(w, span)
	}
	return m
}

// By hand: thirty days and a third of log inflow apart, each one standard deviation, make 1 + 1.
func TestLikenessIsSquaresOfStandardDeviations(t *testing.T) {
	l := usualLikeness()
	a := mark{season: 0.5, log: -3}
	b := mark{season: 0.5 + 30/daysPerYear, log: -2.7}
	near(t, "season and flow", l.distance(&a, &b), 2, 1e-9)
	b.trend = [2]float64{0.1, -0.4}
	near(t, "trends", l.distance(&a, &b), 2+1+4, 1e-9)
	near(t, "itself", l.distance(&a, &a), 0, 0)
	near(t, "the other way", l.distance(&b, &a), l.distance(&a, &b), 1e-12)
}

// The past weighs by the years that speak: with n that speak equally it has n/(n+2) of the members.
func TestThePastWeighsByItsYears(t *testing.T) {
	model := receding{priors()}
	for years, least := range map[int]float64{1: 0.2, 3: 0.4, 12: 0.8} {
		m := pastOf(years)
		now := m.marks[200]
		r := recall(m, now, model, usualLikeness())
		n := float64(years)
		if r.share < least || r.share > n/(n+priorYears)+0.02 {
			t.Errorf("%d years: the past has %.2f of the members, want at most %.2f and at least %.2f", years, r.share, n/(n+2), least)
		}
		for i := range r.marks {
			if d := apart(r.marks[i].season, now.season); d > 3*2.5*30 {
				t.Errorf("a moment %.0f days off in season speaks", d)
			}
			if r.marks[i].day > float64(len(m.flow))-1-aheadDays {
				t.Error("a moment speaks whose course is not known yet")
			}
		}
	}
	if r := recall(&memory{flow: []float64{0.1}, marks: []mark{{}}}, mark{}, model, usualLikeness()); r.share != 0 {
		t.Errorf("without a past it has %.2f of the members", r.share)
	}
}

// A future told by the past is a past course scaled to today's belief: on the made-up stream, which is the same every year, the
// scaled course itself.
func TestARecalledPathIsAPastCourseScaled(t *testing.T) {
	m := pastOf(6)
	now := m.marks[180]
	now.log += math.Log(1.2) // a fifth more than in any year
	r := recall(m, now, receding{priors()}, usualLikeness())
	r.share = 1
	days := steps(0, 1, 60)
	flow := make([]float64, len(days))
	for m := range 40 {
		whole(r, luck(2, m), vec{iInflow: now.log}, days, flow)
		for i, q := range flow {
			if !(q > 0.005 && q < 0.2) {
				t.Fatalf("day %d: %g m³/s from a stream between 0.01 and 0.09", i, q)
			}
		}
		if flow[59] > flow[0] {
			t.Fatalf("in July this stream recedes every year: %g to %g m³/s", flow[0], flow[59])
		}
	}
}

// A horizon of three years goes on beyond the past's end, with other years at the same season.
func TestAPathGoesOnBeyondThePastsEnd(t *testing.T) {
	for years, wants := range map[int]bool{1: false, 5: true} {
		m := pastOf(years)
		r := &recalled{m: m, marks: m.marks[300:320], sum: make([]float64, 20), share: 1, model: receding{priors()}, mean: m.marks[310].log}
		for i := range r.sum {
			r.sum[i] = float64(i + 1)
		}
		days := steps(0, 1, 3*365)
		flow := make([]float64, len(days))
		whole(r, luck(7, 0), vec{iInflow: r.mean}, days, flow)
		worst := 0.0
		for i, q := range flow {
			if !(q > 0) || math.IsInf(q, 0) {
				t.Fatalf("%d years: day %d has %g m³/s", years, i, q)
			}
			if i > 0 {
				worst = math.Max(worst, math.Abs(math.Log(q/flow[i-1])))
			}
		}
		if wants && worst > 0.2 {
			t.Errorf("the inflow leaps by a factor of %.2f where one year is joined to another", math.Exp(worst))
		}
		if _, ok := m.alike(chance(1), float64(len(m.flow)), 0.05); ok != wants {
			t.Errorf("%d years: another year is found: %v", years, ok)
		}
	}
}

// The filter's own model recedes at its usual rate: with no rises and no noise, by e in 1/rate days.
func TestTheRecedingModelRecedes(t *testing.T) {
	n := priors()
	n.wander, n.rateSD, n.riseEvery = 0, 0, 1e12
	days := steps(0, 1, 40)
	flow := make([]float64, len(days))
	whole(receding{n}, luck(1, 0), vec{iInflow: math.Log(0.08), iRate: n.rate}, days, flow)
	for i, q := range flow {
		near(t, "flow", q, 0.08*math.Exp(-n.rate*float64(i)), 1e-9)
	}
	whole(receding{n}, luck(1, 0), vec{iInflow: math.Log(0.08), iRate: n.rate + 0.1}, days, flow)
	// A quicker rate is forgotten in rateDays: in the end it has cost 0.1 · rateDays of log inflow.
	near(t, "after a quick start", math.Log(flow[40]), math.Log(0.08)-n.rate*40-0.1*n.rateDays*(1-math.Exp(-40/n.rateDays)), 1e-9)
	n.leastInflowM3s = 0.05
	whole(receding{n}, luck(1, 0), vec{iInflow: math.Log(0.08), iRate: n.rate}, days, flow)
	near(t, "it does not fall below the least", flow[40], 0.05, 1e-12)
}
