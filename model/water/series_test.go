package water

import (
	"math"
	"slices"
	"testing"
	"time"

	"example.org/headpond/model/record"
)

// drawn lists a leg's pieces as "hours from to share" for comparing: the draw between a and b in L/s.
type drawn struct {
	hours    float64
	a, b     float64 // L/s
	share    float64
	bypass   float64 // L/s
	iced     bool
	mostDraw float64
}

func pieces(l *leg) []drawn {
	var list []drawn
	for _, p := range l.pieces {
		list = append(list, drawn{p.to.Sub(p.from).Hours(), math.Round(1000 * p.a.meanAt(0.5)), math.Round(1000 * p.b.meanAt(0.5)), p.share,
			math.Round(1e4*p.bypass) / 10, p.iced, math.Round(1000 * p.most.meanAt(0.5))})
	}
	return list
}

func wantPieces(t *testing.T, what string, l *leg, want ...drawn) {
	t.Helper()
	for i := range want {
		if want[i].bypass == 0 {
			want[i].bypass = 10 // the made-up plant's own
		}
		if want[i].mostDraw == 0 {
			want[i].mostDraw = 135
		}
	}
	if got := pieces(l); !slices.Equal(got, want) {
		t.Errorf("%s:\n got %+v\nwant %+v", what, got, want)
	}
}

var blank = math.NaN()

// A draws 95 L/s and B 40 L/s. What runs is known from events to the minute.
func TestStartsAndStopsCutALeg(t *testing.T) {
	h := logOf(july(3, 7), twoUnits(), []entry{{at: july(1, 7), level: 0.6, running: "A"}, {at: july(2, 7), level: 0.55}},
		record.Event{Time: july(1, 13), Kind: record.Stop, Units: []string{"A"}}, record.Event{Time: july(1, 19), Kind: record.Start, Units: []string{"B"}},
		record.Event{Time: july(2, 10), Kind: record.Trip})
	s, _ := seriesOf(t, h, Always(twoDraws))
	if len(s.legs) != 3 || len(s.legs[0].pieces) != 0 {
		t.Fatalf("%d legs, the first with %d pieces", len(s.legs), len(s.legs[0].pieces))
	}
	wantPieces(t, "first day", &s.legs[1], drawn{hours: 6, a: 95, b: 95}, drawn{hours: 6}, drawn{hours: 12, a: 40, b: 40})
	wantPieces(t, "since the last level", &s.legs[2], drawn{hours: 3, a: 40, b: 40}, drawn{hours: 21})
}

// Where only a round tells that something else runs, the change came some time since the round before: any time is as likely,
// so that in the mean half of the stretch is either's.
func TestAChangeThatNobodyNotedIsSpreadOverItsTime(t *testing.T) {
	h := logOf(july(3, 7), twoUnits(), []entry{{at: july(1, 7), level: 0.6, running: "A"}, {at: july(1, 19), level: blank, running: "A"}, {at: july(2, 7), level: 0.5, running: "none"}})
	s, _ := seriesOf(t, h, Always(twoDraws))
	wantPieces(t, "the day of the change", &s.legs[1], drawn{hours: 12, a: 95, b: 95}, drawn{hours: 12, a: 95, b: 0, share: 0.5})
	if sd := s.legs[1].pieces[1].spread; math.Abs(sd-1/math.Sqrt(12)) > 1e-4 {
		t.Errorf("a share that is evenly likely has a standard deviation of 1/√12, not %g", sd)
	}
}

func TestAnEventIsExactWhereARoundIsNot(t *testing.T) {
	h := logOf(july(2, 7), twoUnits(), []entry{{at: july(1, 7), level: 0.6, running: "A"}, {at: july(2, 7), level: 0.5, running: "none"}},
		record.Event{Time: july(1, 9), Kind: record.Stop, Units: []string{"A"}})
	s, _ := seriesOf(t, h, Always(twoDraws))
	wantPieces(t, "stopped at nine", &s.legs[1], drawn{hours: 2, a: 95, b: 95}, drawn{hours: 22})
}

// Before anything was said of the machines they may all run or none.
func TestUnknownRunningLiesBetweenNothingAndAll(t *testing.T) {
	h := logOf(july(3, 7), twoUnits(), []entry{{at: july(1, 7), level: 0.6}, {at: july(2, 7), level: 0.55}},
		record.Event{Time: july(1, 19), Kind: record.Start, Units: []string{"B"}})
	s, _ := seriesOf(t, h, Always(twoDraws))
	wantPieces(t, "nothing known, then B", &s.legs[1], drawn{hours: 12, b: 135, share: 0.5}, drawn{hours: 12, a: 40, b: 135, share: 0.5})
}

// A reading of the bypass holds for thirty days, then the plant file's 10 L/s stand again at the next round.
func TestABypassReadingHoldsForThirtyDays(t *testing.T) {
	var list []entry
	for d := 0; d <= 40; d += 4 {
		e := entry{at: july(1, 7).AddDate(0, 0, d), level: 0.6, running: "A"}
		if d == 4 {
			e.more = map[string]float64{"bypass_lps": 25}
		}
		list = append(list, e)
	}
	h := logOf(list[len(list)-1].at, twoUnits(), list)
	s, _ := seriesOf(t, h, Always(twoDraws))
	for i := 1; i < len(list); i++ {
		want := 10.0
		if from := (i - 1) * 4; from >= 4 && from <= 34 {
			want = 25
		}
		if got := pieces(&s.legs[i])[0].bypass; got != want {
			t.Errorf("from day %d on the bypass is %g L/s, want %g", (i-1)*4, got, want)
		}
	}
}

// An ice cover stops the evaporation from the round that saw it, and gives levels a quarter of the weight.
func TestIceStopsEvaporationAndWeighsLess(t *testing.T) {
	h := logOf(july(4, 7), twoUnits(), []entry{{at: july(1, 7), level: 0.6, running: "A"}, {at: july(2, 7), level: 0.6, words: map[string]string{"ice": "cover"}},
		{at: july(3, 7), level: 0.6}, {at: july(4, 7), level: 0.6, words: map[string]string{"ice": "skim"}}})
	s, _ := seriesOf(t, h, Always(twoDraws))
	for i, want := range []float64{0.0025, 0.005, 0.005, 0.0025} {
		near(t, "reading error", s.sights[i].sd, want, 1e-12)
	}
	for i, want := range []bool{false, false, true, true} {
		if i > 0 && s.legs[i].pieces[0].iced != want {
			t.Errorf("leg %d: iced %v", i, !want)
		}
	}
}

func TestRainAndAClearedScreenLetTheInflowRise(t *testing.T) {
	h := logOf(july(6, 7), twoUnits(), []entry{{at: july(1, 7), level: 0.6, running: "A"}, {at: july(2, 7), level: 0.6, more: map[string]float64{"rain_mm": 2}},
		{at: july(3, 7), level: 0.6, more: map[string]float64{"rain_mm": 12}}, {at: july(4, 7), level: 0.6}, {at: july(5, 7), level: 0.6},
		{at: july(5, 12), level: blank, words: map[string]string{"screen_cleared": "yes"}}, {at: july(6, 7), level: 0.6}})
	s, _ := seriesOf(t, h, Always(twoDraws))
	for i, want := range []struct {
		mm   float64
		lift bool
	}{{}, {2, false}, {12, true}, {0, true}, {0, false}, {0, true}} {
		if s.legs[i].rainMM != want.mm || s.legs[i].lift != want.lift {
			t.Errorf("leg %d: %g mm, rises %v; want %+v", i, s.legs[i].rainMM, s.legs[i].lift, want)
		}
	}
}

func TestLevelsAreTakenOnceAndOnlyUpToNow(t *testing.T) {
	h := logOf(july(3, 7), twoUnits(), []entry{{at: july(1, 7), level: 0.6, running: "A"}, {at: july(1, 7), level: 0.9}, {at: july(2, 7), level: blank}, {at: july(2, 8), level: 0.5}, {at: july(4, 7), level: 0.1}})
	s, _ := seriesOf(t, h, Always(twoDraws))
	if len(s.sights) != 2 || s.sights[0].levelM != 0.6 || s.sights[1].levelM != 0.5 {
		t.Errorf("sights %+v, want 0.6 and 0.5 m", s.sights)
	}
	if n := len(s.legs); n != 3 || !s.legs[2].pieces[len(s.legs[2].pieces)-1].to.Equal(h.At) {
		t.Errorf("the last leg does not lead to now")
	}
}

// Whatever the log, the pieces of the legs follow each other without gap or overlap from the first level to now.
func TestPiecesLeaveNoTimeOut(t *testing.T) {
	rng := chance(9)
	for range 200 {
		at := july(1, 7)
		var list []entry
		var events []record.Event
		for range 2 + rng.IntN(12) {
			e := entry{at: at, level: blank, running: []string{"", "none", "A", "A+B", "B"}[rng.IntN(5)]}
			if rng.IntN(3) > 0 {
				e.level = rng.Float64()
			}
			if rng.IntN(5) == 0 {
				e.more = map[string]float64{"bypass_lps": 30 * rng.Float64()}
			}
			list = append(list, e)
			at = at.Add(time.Duration(1+rng.IntN(60)) * time.Hour)
			if rng.IntN(3) == 0 {
				events = append(events, record.Event{Time: at.Add(-30 * time.Minute), Kind: []record.EventKind{record.Start, record.Stop, record.Trip, record.Alarm}[rng.IntN(4)], Units: []string{"A"}})
			}
		}
		list[0].level = 0.5
		h := logOf(at, twoUnits(), list, events...)
		s, _ := seriesOf(t, h, Always(twoDraws))
		next := s.sights[0].at
		for i := 1; i < len(s.legs); i++ {
			for _, p := range s.legs[i].pieces {
				if !p.from.Equal(next) || !p.to.After(p.from) {
					t.Fatalf("leg %d: a piece from %v to %v, want from %v", i, p.from, p.to, next)
				}
				next = p.to
			}
			if i < len(s.sights) && !next.Equal(s.sights[i].at) {
				t.Fatalf("leg %d ends at %v, its level was read at %v", i, next, s.sights[i].at)
			}
		}
		if !next.Equal(h.At) {
			t.Fatalf("the pieces end at %v, now is %v", next, h.At)
		}
	}
}

// Of a log of twelve years, read three times a day, the last two years are kept whole and the others by the day.
func TestALongLogIsThinnedWhereItIsOld(t *testing.T) {
	now := july(1, 12)
	var sights []sight
	for at := now.AddDate(-12, 0, 0); at.Before(now); at = at.Add(8 * time.Hour) {
		sights = append(sights, sight{at: at, levelM: 0.5})
	}
	kept := bound(sights, now)
	perDay := map[int]int{}
	for i, x := range kept {
		perDay[int(now.Sub(x.at)/(24*time.Hour))]++
		if i > 0 && !x.at.After(kept[i-1].at) {
			t.Fatal("the order is lost")
		}
	}
	for day, n := range perDay {
		if want := 3; day > 0 && day < 729 && n != want || day > 731 && n != 1 {
			t.Errorf("%d days ago: %d levels are kept", day, n)
		}
	}
	if last := kept[len(kept)-1]; !last.at.Equal(sights[len(sights)-1].at) {
		t.Error("the last level is not kept")
	}
	var many []sight
	for at := now.AddDate(-80, 0, 0); at.Before(now); at = at.Add(24 * time.Hour) {
		many = append(many, sight{at: at})
	}
	if n := len(bound(many, now)); n != mostSights {
		t.Errorf("of eighty years %d levels are kept, want %d", n, mostSights)
	}
}

// A log read three times a day and its thinned past lead to the same state now: the old levels are forgotten either way.
func TestThinningDoesNotChangeWhatIsBelievedNow(t *testing.T) {
	h := dryLog(t, twoUnits(), 0.060, 0.7, 12, "A")
	start := h.Rounds[0].Time
	var old []record.Round
	for d := 3 * 365 * 3; d > 0; d-- { // three years before, held at the same level by chance
		r := h.Rounds[0]
		r.Time = start.Add(-time.Duration(d) * 8 * time.Hour)
		old = append(old, r)
	}
	h.Rounds = append(old, h.Rounds...)
	thin, err := Prepare(t.Context(), h, Always(twoDraws))
	if err != nil {
		t.Fatal(err)
	}
	b := thin.b
	whole := series{sights: nil}
	for _, r := range h.Rounds {
		whole.sights = append(whole.sights, sight{at: r.Time, levelM: r.Values["pond_level_m"], sd: 0.0025})
	}
	whole.legs = make([]leg, len(whole.sights)+1)
	whole.fillPieces(h, b)
	f := runFilter(b, &whole, thin.nature)
	if len(whole.sights) <= len(thin.s.sights) {
		t.Fatalf("nothing was thinned: %d levels of %d", len(thin.s.sights), len(whole.sights))
	}
	for i, tol := range []float64{20, 0.01, 0.001, 0.001} {
		near(t, "state", thin.filter.last.mean[i], f.last.mean[i], tol)
	}
}

func TestTheTailOfASeriesBeginsWithAUsableSight(t *testing.T) {
	s := series{}
	for i := range 10 {
		s.sights = append(s.sights, sight{at: july(1+i, 7), setAside: i == 6 || i == 7})
		s.legs = append(s.legs, leg{rainMM: float64(i)})
	}
	s.legs = append(s.legs, leg{rainMM: 99})
	tail := s.tail(4)
	if len(tail.sights) != 2 || !tail.sights[0].at.Equal(july(9, 7)) {
		t.Fatalf("tail %+v", tail.sights)
	}
	if len(tail.legs) != 3 || tail.legs[1].rainMM != 9 || tail.legs[2].rainMM != 0 {
		t.Errorf("legs %+v: want that to the last sight, and an empty one to now", tail.legs)
	}
	if all := s.tail(99); len(all.sights) != 10 || len(all.legs) != 11 {
		t.Errorf("of ten sights %d, %d legs", len(all.sights), len(all.legs))
	}
}

// Levels two metres beyond the stage rows cannot be; the rows of the made-up plant are −0.4 to 1.4 m.
func TestImpossibleLevelsAreDroppedBeforeAnything(t *testing.T) {
	for level, aside := range map[float64]bool{0: false, -2.4: false, -2.41: true, 3.4: false, 3.41: true, 340: true} {
		h := logOf(july(3, 7), twoUnits(), []entry{{at: july(1, 7), level: 0.6, running: "A"}, {at: july(2, 7), level: level}})
		s, b := seriesOf(t, h, Always(twoDraws))
		s.dropImpossible(b)
		if s.sights[1].setAside != aside || s.sights[0].setAside {
			t.Errorf("%g m: set aside %v, want %v", level, s.sights[1].setAside, aside)
		}
	}
	h := logOf(july(3, 7), twoUnits(), []entry{{at: july(1, 7), level: 60}, {at: july(2, 7), level: 70}})
	if _, err := Prepare(t.Context(), h, Always(twoDraws)); err != ErrNoLevels {
		t.Errorf("nothing but impossible levels: %v", err)
	}
}

// The reading error is half the smallest division: the plant file's, or the contract's 0.01 m, of the revision in force then.
func TestTheGaugesDivisionIsThatOfItsTime(t *testing.T) {
	fine, coarse := twoUnits(), twoUnits()
	fine.Gauge = map[string]float64{"pond_level_m": 0.001}
	coarse.Gauge = nil
	h := logOf(july(4, 7), fine, []entry{{at: july(1, 7), level: 0.6, running: "A"}, {at: july(3, 7), level: 0.5}})
	h.Revisions = []record.Revision{{From: july(1, 0), Plant: coarse}, {From: july(2, 0), Plant: fine}}
	s, _ := seriesOf(t, h, Always(twoDraws))
	near(t, "before", s.sights[0].sd, 0.005, 1e-12)
	near(t, "since", s.sights[1].sd, 0.0005, 1e-12)
}
