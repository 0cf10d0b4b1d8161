package clearing

import (
	"encoding/json"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/record"
)

// A screen that shuts by an exponential, its level difference read without error, gives its growth and the time at which a loss
// is reached back. The truth is the synthetic course itself.
func TestAnExponentialIsRecovered(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		rate := rapid.Float64Range(0.25, 1.6).Draw(rt, "rate")
		s := newSite(t, 1)
		s.exact = true
		s.clearing(noon)
		days := math.Floor(2*(4.6-s.y)/rate) / 2 // to about 0.15 m
		at := s.grow(noon, days, rate, func(int) bool { return true })
		f := s.report(at, 0.5)
		if got := math.Log1p(f.Growth.PerDay.P50); math.Abs(got-rate) > 0.12*rate+0.02 {
			rt.Errorf("a growth of %.3f a day comes back as %.3f", rate, got)
		}
		if got := f.Now.LossM.P50; math.Abs(got/s.truth().ScreenLossM-1) > 0.08 {
			rt.Errorf("a loss of %.3f m comes back as %.3f", s.truth().ScreenLossM, got)
		}
		w := workOf(t, s, at)
		due := 24 * (w.yOf(0.5, w.solve(0.5).FlowM3s) - s.y) / rate
		if p10, p50, p90 := hoursTo(at, f.Next.P10), hoursTo(at, f.Next.P50), hoursTo(at, f.Next.P90); math.Abs(p50-due) > 0.15*due+3 || p10 > due || p90 < due {
			rt.Errorf("0.5 m is reached in %.1f h, told are %.1f (%.1f to %.1f)", due, p50, p10, p90)
		}
	})
}

// workOf is a report's work with its present state solved.
func workOf(t testing.TB, s *site, at time.Time) *work {
	t.Helper()
	in := s.input(at, 0)
	w := &work{in: &in, h: in.History, ratios: map[string]float64{}}
	if err := w.setUp(); err != nil {
		t.Fatal(err)
	}
	w.offsets = w.references()
	return w
}

func TestAFallingLossGivesNoTime(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s := newSite(t, rapid.Uint64().Draw(rt, "seed"))
		s.clearing(noon)
		s.y = rapid.Float64Range(4.8, 5.4).Draw(rt, "y") // 0.2 to 0.4 m and then ever less
		rate := -rapid.Float64Range(0.2, 0.8).Draw(rt, "rate")
		at := s.grow(noon.Add(12*time.Hour), 8, rate, func(i int) bool { return i%2 == 0 })
		f := s.report(at, 0.5)
		if f.Next.P50 != nil || f.Next.P90 != nil || f.Next.Due {
			rt.Errorf("a time is told: %s", asJSON(f))
		}
		if f.CannotTell == "" {
			rt.Error("no reason is given")
		}
	})
}

func asJSON(f *Facts) string {
	b, err := json.MarshalIndent(f, "", " ")
	if err != nil {
		return err.Error()
	}
	return string(b)
}

// Whatever is read, however foolish, the facts hold finite numbers in order, and JSON can be made of them.
func TestNeverNoNumber(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s := newSite(t, 1)
		wild := func(lo, hi float64) *rapid.Generator[float64] {
			return rapid.OneOf(rapid.Float64Range(lo, hi), rapid.Float64Range(1000*lo, 1000*hi))
		}
		at := noon
		for range rapid.IntRange(1, 20).Draw(rt, "rounds") {
			at = at.Add(time.Duration(rapid.IntRange(1, 20*24*60).Draw(rt, "minutes")) * time.Minute)
			s.running = rapid.SampledFrom([][]string{{"A"}, {"B"}, {"A", "B"}, {}}).Draw(rt, "running")
			r := s.round(at, false)
			for _, k := range []string{"pressure_kpa", "pressure_before_kpa", "pressure_after_kpa", "screen_loss_mm"} {
				if rapid.Bool().Draw(rt, "read") {
					_ = r.Set(k, "131", s.plant.UnitIDs(), "metric")
					for key := range r.Values {
						if string(key) == k {
							r.Values[key] = wild(-50, 150).Draw(rt, k)
						}
					}
				}
			}
			if rapid.IntRange(0, 3).Draw(rt, "clear") == 0 {
				r.Words["screen_cleared"] = "yes"
			}
			if rapid.Bool().Draw(rt, "level") {
				r.Values["pond_level_m"] = wild(-1.5, 0.5).Draw(rt, "level")
			}
		}
		f := s.report(at.Add(time.Duration(rapid.IntRange(0, 300).Draw(rt, "hours later"))*time.Hour), 0)
		if bad := badNumber(reflect.ValueOf(f)); bad != "" {
			rt.Fatalf("%s in %+v", bad, f)
		}
		if _, err := json.Marshal(f); err != nil {
			rt.Fatal(err)
		}
		if f.Now == nil && f.CannotTell == "" {
			rt.Fatal("nothing is told and no reason given")
		}
	})
}

// badNumber finds what is no finite number, and ranges and times out of order.
func badNumber(v reflect.Value) string {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			return badNumber(v.Elem())
		}
	case reflect.Float64:
		if x := v.Float(); math.IsNaN(x) || math.IsInf(x, 0) {
			return "no number"
		}
	case reflect.Slice:
		for i := range v.Len() {
			if bad := badNumber(v.Index(i)); bad != "" {
				return bad
			}
		}
	case reflect.Struct:
		switch x := v.Interface().(type) {
		case time.Time:
			return ""
		case Range:
			if !(x.P10 <= x.P50 && x.P50 <= x.P90) {
				return "a range out of order"
			}
		case Next:
			if x.P50 != nil && (x.P10 == nil || x.P90 == nil && !x.Due || x.P50.Before(*x.P10) || x.P90 != nil && x.P90.Before(*x.P50)) {
				return "times out of order"
			}
		}
		for i := range v.NumField() {
			if bad := badNumber(v.Field(i)); bad != "" {
				return v.Type().Field(i).Name + ": " + bad
			}
		}
	}
	return ""
}

// A gauge that shows 4 kPa too much hides 0.4 m of loss: 4 kPa / (9.80665·0.9997 kPa/m) = 0.408 m. Clearings give it away.
func TestClearingsTellTheGaugesOffset(t *testing.T) {
	s := newSite(t, 5)
	s.offset = 4
	at := noon
	s.y = 5.5
	for range 6 {
		at = at.Add(24 * time.Hour)
		s.clearing(at)
		at = s.grow(at, 4, 1.3, nil)
	}
	f := s.report(at, 0)
	truth := s.truth().ScreenLossM
	if f.Gauge == nil || f.Gauge.Clearings != 6 {
		t.Fatalf("gauge %+v", f.Gauge)
	}
	near(t, "offset", f.Gauge.KPa, 4, 3*f.Gauge.ErrKPa)
	if f.Gauge.ErrKPa > 0.4 {
		t.Errorf("after six clearings read to half a kPa the offset's error is %.2f kPa", f.Gauge.ErrKPa)
	}
	if f.Seen.LowM > truth || f.Seen.HighM < truth {
		t.Errorf("%.3f m lies outside of %.3f to %.3f m", truth, f.Seen.LowM, f.Seen.HighM)
	}
	if f.Now.LossM.P10 > truth*1.03 || f.Now.LossM.P90 < truth*0.97 {
		t.Errorf("%.3f m, told are %+v", truth, f.Now.LossM)
	}
}

// Without any clearing the description and the gauge are trusted to 1.5 % only: 2 kPa of some 130, 0.2 m of loss, and the
// range says so.
func TestWithoutClearingsTheRangeIsWide(t *testing.T) {
	s := newSite(t, 6)
	at := s.grow(noon, 5, 0.01, nil)
	f := s.report(at, 0)
	if f.Gauge != nil {
		t.Errorf("an offset without clearings: %+v", f.Gauge)
	}
	if wide := f.Seen.HighM - f.Seen.LowM; wide < 0.7 || wide > 1.1 {
		t.Errorf("the range is %.2f m wide, want about 4·0.21", wide)
	}
}

// A shut-down's days count for nothing: the litter comes with the water. The small set draws about half the water of the
// large one, and litter comes half as fast.
func TestLitterComesWithTheWater(t *testing.T) {
	s := newSite(t, 7)
	s.clearing(noon)
	s.events = []record.Event{
		{Time: noon.Add(24 * time.Hour), Kind: record.Stop, Units: []string{"A"}},
		{Time: noon.Add(5 * 24 * time.Hour), Kind: record.Start, Units: []string{"A"}},
	}
	at := noon.Add(6 * 24 * time.Hour)
	s.round(at, true)
	near(t, "days of water over a stop of four", s.report(at, 0).Growth.WaterDay, 2, 1e-9)
	s.events = []record.Event{{Time: noon, Kind: record.Stop, Units: []string{"B"}}, {Time: noon.Add(24 * time.Hour), Kind: record.Start, Units: []string{"B"}},
		{Time: noon.Add(24 * time.Hour), Kind: record.Stop, Units: []string{"A"}}, {Time: at.Add(-time.Minute), Kind: record.Stop, Units: []string{"B"}}}
	w := workOf(t, s, at)
	a, _ := s.model.Draw(-0.2, []string{"A"})
	b, _ := s.model.Draw(-0.2, []string{"B"})
	near(t, "days of water with the small set", w.water(noon, at), 1+(5-1./1440)*b/a, 1e-6)
}

// The loss goes with the square of the flow, and what blocks the screen does not: readings with either set tell the same of it.
func TestAnotherSetTellsOfTheSameScreen(t *testing.T) {
	s := newSite(t, 8)
	s.clearing(noon)
	s.y = 5.2
	for i := range 6 {
		s.running = [][]string{{"A"}, {"A", "B"}}[i%2]
		s.round(noon.Add(time.Duration(1+i)*12*time.Hour), true)
	}
	at := noon.Add(3 * 24 * time.Hour)
	f := s.report(at, 0)
	both := s.truth().ScreenLossM
	near(t, "loss with both sets", f.Now.LossM.P50, both, 0.08*both)
	s.running = []string{"A"}
	s.round(at.Add(time.Minute), false)
	alone := s.truth().ScreenLossM
	f = s.report(at.Add(time.Minute), 0)
	near(t, "loss with one", f.Now.LossM.P50, alone, 0.08*alone)
	if both < 1.8*alone {
		t.Errorf("losses %.3f and %.3f m are no test", both, alone)
	}
}

func TestASlipOfThePenHardlyMoves(t *testing.T) {
	s := newSite(t, 9)
	s.clearing(noon)
	at := s.grow(noon, 7, 0.7, func(i int) bool { return i == 9 })
	sound := s.report(at, 0)
	s.rounds[len(s.rounds)-3].Values["pressure_kpa"] = 31 // for 131
	slip := s.report(at, 0)
	near(t, "loss", slip.Now.LossM.P50, sound.Now.LossM.P50, 0.15*sound.Now.LossM.P50)
	near(t, "hours to the clearing", hoursTo(at, slip.Next.P50), hoursTo(at, sound.Next.P50), 0.3*hoursTo(at, sound.Next.P50)+2)
}

// A gale that shuts the screen in a night, and a raking that nobody wrote down, are followed within a day.
func TestSuddenChangesAreFollowed(t *testing.T) {
	s := newSite(t, 10)
	s.clearing(noon)
	at := s.grow(noon, 4, 0.3, nil)
	s.y = 6.6
	at = s.grow(at, 1, 0, nil)
	f := s.report(at, 0)
	if truth := s.truth().ScreenLossM; f.Now.LossM.P90 < truth || f.Now.LossM.P10 > truth {
		t.Errorf("after a gale: %.3f m, told are %+v", truth, f.Now.LossM)
	}
	if !f.Next.Due {
		t.Errorf("after a gale nothing is due: %s", asJSON(f))
	}
	s.y = 0.2
	at = s.grow(at, 1.5, 0.3, func(int) bool { return true })
	if f = s.report(at, 0); f.Now.LossM.P90 > 0.03 || f.Next.Due {
		t.Errorf("after a raking that nobody wrote down: %+v, %+v", f.Now, f.Next)
	}
}

func TestWhyNothingIsTold(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(s *site)
		at     time.Duration
		want   string
	}{
		{"no screen is described", func(s *site) { s.plant.Intake.ScreenM2 = nil; s.model = modelOf(s.t, s.plant) }, 0, "describes no screen"},
		{"nothing runs", func(s *site) {
			s.events = []record.Event{{Time: noon, Kind: record.Stop}}
			s.rounds[len(s.rounds)-1].Running = &[]string{}
		}, 0, "no unit runs"},
		{"it is not known what runs", func(s *site) {
			for i := range s.rounds {
				s.rounds[i].Running = nil
			}
		}, 0, "running units"},
		{"nothing was read for long", func(*site) {}, 15 * 24 * time.Hour, "in the last 14 days"},
		{"nothing telling was read", func(s *site) {
			for i := range s.rounds {
				delete(s.rounds[i].Values, "pressure_kpa")
			}
		}, 0, "neither a pressure nor a level difference"},
		{"the level was read too long before", func(s *site) {
			for i := range s.rounds[1:] {
				delete(s.rounds[i+1].Values, "pond_level_m")
			}
			for i := range 3 {
				delete(s.rounds[i].Values, "pressure_kpa")
			}
		}, 0, "neither a pressure nor a level difference"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newSite(t, 11)
			at := s.grow(noon, 4, 0.1, nil)
			c.change(s)
			f := s.report(at.Add(c.at), 0)
			if f.Now != nil || f.Next != nil || !strings.Contains(f.CannotTell, c.want) {
				t.Errorf("%s", asJSON(f))
			}
		})
	}
}

// On the first days after a clearing the gauge sees nothing yet: a lower end at most is told, and why.
func TestTooEarlyToTell(t *testing.T) {
	s := newSite(t, 12)
	s.clearing(noon)
	at := s.grow(noon, 2, 0.2, nil)
	f := s.report(at, 0)
	if f.Next == nil || f.Next.P50 != nil || f.CannotTell != untold {
		t.Fatalf("%s", asJSON(f))
	}
	if f.Seen.ClearMax != nil || !strings.Contains(f.Seen.Says, "more than") && !strings.Contains(f.Seen.Says, "clean") {
		t.Errorf("what the gauge cannot see is guessed: %+v", f.Seen)
	}
}

// On a round on which it was cleared, what was read before belongs to the screen as it was found, and nothing is due.
func TestAClearingStartsAnew(t *testing.T) {
	s := newSite(t, 13)
	s.clearing(noon)
	at := s.grow(noon, 7, 0.85, nil)
	if f := s.report(at, 0); !f.Next.Due {
		t.Fatalf("not due before: %s", asJSON(f))
	}
	found := s.truth().ScreenLossM
	at = at.Add(time.Hour)
	s.clearing(at)
	f := s.report(at.Add(time.Minute), 0)
	if f.Next.Due || f.Now.LossM.P90 > 0.02 || !f.Growth.Since.Equal(at) || f.Growth.Readings != 0 {
		t.Errorf("%s", asJSON(f))
	}
	if f.Seen.From != FromClearing || math.Abs(f.Seen.LossM-found) > 0.2 || f.Seen.LostKW <= 0 {
		t.Errorf("found %.3f m, told %+v", found, f.Seen)
	}
	// The growth carries on: the likely time of the next clearing is that of this one.
	if n := f.Next; n.P50 == nil || n.P50.Sub(at).Hours() < 4*24 || n.P50.Sub(at).Hours() > 12*24 {
		t.Errorf("the screen filled in seven days; next %+v", n)
	}
}
