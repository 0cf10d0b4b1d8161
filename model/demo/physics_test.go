package demo

import (
	"context"
	"math"
	"slices"
	"testing"
	"time"

	"example.org/headpond/model/pond"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/steady"
)

// What is read is the truth within the gauge: the contract takes half a division as one standard deviation.
func TestReadingsAreTheTruthWithinTheGauge(t *testing.T) {
	s := told(t, Seed, "2025-11-18 20:15")
	amended := map[int]bool{}
	for _, a := range s.Amendments {
		amended[a.Round] = true
	}
	truths := map[quantity.Key]func(m *moment) float64{
		keyVolts: func(m *moment) float64 { return m.volts }, keyHertz: func(m *moment) float64 { return m.hertz },
		keyLoad: func(m *moment) float64 { return m.loadKW }, keyPressure: func(m *moment) float64 { return m.pressureKPa },
		keyLevel: func(m *moment) float64 { return m.levelM },
		keyShare: func(m *moment) float64 { return 100 * m.dumpedKW / m.generatedKW },
	}
	for k, truth := range truths {
		sum, n, sd := 0.0, 0.0, s.Plant.ReadingError(k)
		for i, r := range s.Rounds {
			v, read := r.Value(k)
			if !read || amended[i] || r.Typed[k] != "" {
				continue
			}
			e := (v - truth(&s.truth[i])) / sd
			if math.Abs(e) > 3.2 {
				t.Errorf("round %d: %s reads %v for %v", i, k, v, truth(&s.truth[i]))
			}
			sum, n = sum+e*e, n+1
		}
		if rms := math.Sqrt(sum / n); rms < 0.75 || rms > 1.05 {
			t.Errorf("%s: the readings' error is %.2f of the contract's", k, rms)
		}
	}
}

// Right after a clearing the pressure is what a fresh model of the plant expects of a clean screen at the level that was
// read.
func TestPressureIsAsExpectedWhereTheScreenIsClear(t *testing.T) {
	everywhere(t, func(t *testing.T, s *Story) {
		m, err := steady.New(s.Plant)
		if err != nil {
			t.Fatal(err)
		}
		tried := 0
		for i, r := range history(t, s).Rounds {
			level, ok := r.Value(keyLevel)
			p, read := r.Value(keyPressure)
			if !ok || !read || r.Running == nil || r.Words[keyCleared] != "yes" || r.Typed[keyPressure] != "" {
				continue
			}
			e, err := m.Expect(steady.Case{PondLevelM: level, Running: *r.Running, WaterC: &s.truth[i].waterC})
			if err != nil {
				t.Fatal(err)
			}
			if fast := r.Values[keyHertz] > 60.5; !fast && math.Abs(p-*e.PressureKPa) > 1.8 {
				t.Errorf("round %d: read %v kPa, expected %.1f", i, p, *e.PressureKPa)
			}
			tried++
		}
		if tried < 4 {
			t.Errorf("only %d rounds could be tried", tried)
		}
	})
}

// Load and dump share give the generation of the model, within the errors of the two meters:
//
//	generation = load / (1 − share),  σ² = (σ_load / (1 − share))² + (load σ_share / (1 − share)²)²
func TestEnergyBalances(t *testing.T) {
	everywhere(t, func(t *testing.T, s *Story) {
		sdLoad, sdShare := s.Plant.ReadingError(keyLoad), s.Plant.ReadingError(keyShare)/100
		for i, r := range s.Rounds {
			load, ok := r.Value(keyLoad)
			pct, read := r.Value(keyShare)
			if !ok || !read {
				continue
			}
			m := &s.truth[i]
			rest := 1 - pct/100
			sd := math.Hypot(sdLoad/rest, load*sdShare/(rest*rest))
			if off := load/rest - m.generatedKW; math.Abs(off) > 4*sd {
				t.Errorf("round %d: %.2f kW of load and %v %% dumped give %.2f kW, the model %.2f", i, load, pct, load/rest, m.generatedKW)
			}
			if m.loadKW < 0 || m.dumpedKW < 0 || m.dumpedKW > m.capacityKW+0.01 {
				t.Errorf("round %d: load %.2f, dumped %.2f of %.2f kW", i, m.loadKW, m.dumpedKW, m.capacityKW)
			}
		}
	})
}

// The dead element shows as physics has it: before the trip the frequency stands where the sets' power meets load and what
// three elements take, and what is read of load and share adds up to three elements at the read voltage.
func TestTheDeadElementLimitsTheBallast(t *testing.T) {
	s := told(t, Seed, "2025-11-18 20:15")
	m, err := steady.New(s.Plant)
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for i, r := range s.Rounds {
		if !(r.Values[keyHertz] > 61) {
			continue
		}
		seen++
		// P = V²/R by hand: an element of 2 kW at 240 V has 28.8 ohms.
		three := 3 * r.Values[keyVolts] * r.Values[keyVolts] / 28.8 / 1000
		dumped := r.Values[keyLoad] * r.Values[keyShare] / (100 - r.Values[keyShare])
		if math.Abs(dumped-three) > 0.45 {
			t.Errorf("round %d: dumped %.2f kW, three elements take %.2f", i, dumped, three)
		}
		truth := &s.truth[i]
		res, err := m.Solve(steady.Case{PondLevelM: truth.levelM, Running: truth.running, ScreenClear: &truth.clear, Speed: truth.hertz / 60, WaterC: &truth.waterC})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(res.CommonKW-truth.loadKW-truth.capacityKW) > 0.02 {
			t.Errorf("round %d: %.3f kW at %.2f Hz, taken %.3f", i, res.CommonKW, truth.hertz, truth.loadKW+truth.capacityKW)
		}
	}
	if seen < 1 {
		t.Error("no round reads a high frequency")
	}
}

// Between any two rounds the level follows from the flows. The check is made apart from the teller: the running state from
// the log alone, the flow solved anew every ten minutes, and the balance summed by Euler's rule.
func TestTheLevelFollowsFromTheFlows(t *testing.T) {
	for _, end := range []string{"2025-11-18 20:15", "2026-02-10 09:40", "2026-08-05 23:59"} {
		tell, s := toldBy(t, Seed, end)
		m, err := steady.New(s.Plant)
		if err != nil {
			t.Fatal(err)
		}
		stage, err := pond.NewStage(s.Plant.Pond.Stage)
		if err != nil {
			t.Fatal(err)
		}
		log := record.NewTimeline(s.Plant.UnitIDs(), s.Rounds, s.Events)
		for i := 1; i < len(s.truth); i++ {
			a, b := &s.truth[i-1], &s.found[i]
			volume, steps := stage.VolumeM3(a.levelM), math.Ceil((b.at-a.at)/600)
			dt := (b.at - a.at) / steps
			for k := range int(steps) {
				at := a.at + (float64(k)+0.5)*dt
				now := tell.cal.time(at)
				running, known := log.RunningAt(now)
				if !known {
					t.Fatalf("what runs at %v is not known", now)
				}
				clear := a.clear * math.Pow(b.clear/a.clear, (at-a.at)/(b.at-a.at))
				level := stage.LevelM(volume)
				res, err := m.Solve(steady.Case{PondLevelM: level, Running: running, ScreenClear: &clear})
				if err != nil {
					t.Fatal(err)
				}
				mm := tell.works.weather.brook.rainMMDay(at)
				if d := tell.works.weather.days[tell.cal.day(at)]; d.ice != "cover" {
					mm -= s.Plant.Pond.EvaporationMMDay[now.Month()-1]
				}
				over := math.Max(0, level-0.10)
				volume += dt * (tell.works.weather.brook.m3s(at) - res.FlowM3s - bypassLps/1000 - 0.0015 - 1.7*4.5*math.Pow(over, 1.5) + mm/1000/86400*stage.AreaM2(level))
			}
			if off := stage.LevelM(volume) - b.levelM; math.Abs(off) > 0.002 {
				t.Errorf("end %s, round %d of %v: the flows give %.4f m, the story %.4f m", end, i, s.Rounds[i].Time, stage.LevelM(volume), b.levelM)
			}
		}
	}
}

// Meters count what happened: hours with the running state of the log, energy with the load.
func TestMetersCountWhatHappened(t *testing.T) {
	everywhere(t, func(t *testing.T, s *Story) {
		log := record.NewTimeline(s.Plant.UnitIDs(), s.Rounds, s.Events)
		for _, id := range s.Plant.UnitIDs() {
			first, from := -1.0, time.Time{}
			for i, r := range s.Rounds {
				v, read := r.Value(keyHours(id))
				if !read {
					continue
				}
				if first < 0 {
					first, from = v, r.Time
				}
				ran := 0.0
				for _, seg := range log.Segments(from, r.Time) {
					if seg.State[id] == record.On {
						ran += seg.To.Sub(seg.From).Hours()
					}
				}
				if math.Abs(v-first-ran) > 1.1 {
					t.Errorf("round %d: unit %s's meter has counted %.1f h, the log %.1f h", i, id, v-first, ran)
				}
			}
		}
		total := s.truth[len(s.truth)-1].loadKWh - s.truth[0].loadKWh
		mean := total / (s.truth[len(s.truth)-1].at - s.truth[0].at) * 3600
		if mean < 1.2 || mean > 2.6 {
			t.Errorf("the consumers took %.2f kW on the mean", mean)
		}
	})
}

// In seasons with frost the ice goes with the temperature, and in the others there is none.
func TestSeasons(t *testing.T) {
	winter := told(t, Seed, "2026-02-25 16:00")
	summer := told(t, Seed, "2026-09-05 16:00")
	iced := func(r *record.Round) bool { return r.Words[keyIce] == "cover" }
	if n := count(winter, iced); n < 10 {
		t.Errorf("%d rounds of a winter see ice", n)
	}
	if n := count(summer, func(r *record.Round) bool { return r.Words[keyIce] != "" }); n > 0 {
		t.Errorf("%d rounds of a summer tell of ice", n)
	}
	clearings := func(s *Story) int {
		return count(s, func(r *record.Round) bool { return r.Words[keyCleared] == "yes" })
	}
	autumn := told(t, Seed, "2025-11-25 16:00")
	if a, w := clearings(autumn), clearings(winter); a <= w {
		t.Errorf("%d clearings in the autumn, %d in the winter", a, w)
	}
}

// The stream gives back what it was given: over the whole story, what flowed in is runoff and springs and what the two
// reservoirs lost (storage of a linear reservoir: outflow times its constant).
func TestTheBrookLosesNothing(t *testing.T) {
	tell, _ := toldBy(t, Seed, "2025-11-18 20:15")
	b, falls := tell.works.weather.brook, tell.works.weather.falls
	const to = 119.5 * day
	sum, dt := 0.0, 300.0
	for s := dt / 2; s < to; s += dt {
		sum += b.m3s(s) * dt
	}
	want := springsM3s * to
	for _, f := range falls {
		share := math.Max(0, math.Min(1, (to-f.from)/(f.to-f.from)))
		want += f.runoffMM / 1000 * 3.2e6 * share
	}
	i := b.since(to)
	quick := relax(b.quick[i], quickShare*b.runoff[i], to-b.edges[i], quickDays)
	slow := relax(b.slow[i], (1-quickShare)*b.runoff[i], to-b.edges[i], slowDays)
	want += (startQuick-quick)*quickDays*day + (startSlow-slow)*slowDays*day
	if math.Abs(sum-want) > 1e-3*want {
		t.Errorf("%.0f m3 flowed, %.0f m3 were given", sum, want)
	}
	if mm := b.rainMM(0, to); mm < 100 || mm > 1200 {
		t.Errorf("%.0f mm of rain", mm)
	}
	if !slices.IsSorted(b.edges) {
		t.Error("the edges are not in order")
	}
}

func TestATelledStoryCanBeGivenUp(t *testing.T) {
	p, err := Plant()
	if err != nil {
		t.Fatal(err)
	}
	tell, err := newTeller(Seed, newCalendar(endOf(t, "2025-11-18 20:15"), halifax(t)), p)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if err := tell.tell(ctx); err == nil {
		t.Error("told to the end though given up")
	}
}

func BenchmarkHistory(b *testing.B) {
	loc := halifax(b)
	end := endOf(b, "2025-11-18 20:15")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := History(Seed, end, loc); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPlant(b *testing.B) {
	for b.Loop() {
		if _, err := Plant(); err != nil {
			b.Fatal(err)
		}
	}
}
