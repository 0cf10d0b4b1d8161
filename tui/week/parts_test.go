package weekview

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/upkeep"
	"example.org/headpond/model/water"
	"example.org/headpond/model/week"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

// flat joins a part's lines to one line of text, so that wrapping does not matter.
func flat(lines []string) string {
	return strings.Join(strings.Fields(strings.ReplaceAll(strings.Join(lines, " "), "\u00a0", " ")), " ")
}

// drawn draws a part as the screen does.
func drawn(part func(page) Block) func(page, int) []string {
	return func(p page, w int) []string { return p.block(part(p), w) }
}

// drawnItem draws a sentence that may not be there.
func drawnItem(part func(page) Item) func(page, int) []string {
	return func(p page, w int) []string {
		i := part(p)
		if i.Text == "" {
			return nil
		}
		return p.sentence(i.Text, i.State, w)
	}
}

func TestTheWordsOfEveryPart(t *testing.T) {
	ended := at(20, 9, 0)
	stops := func(s ...week.Stop) func(*week.Review) { return func(r *week.Review) { r.Stops = s } }
	cases := []struct {
		name  string
		spoil func(*week.Review)
		part  func(page, int) []string
		want  []string
		not   []string
	}{
		{"a stop without more", stops(week.Stop{At: entry(20, 7, 0), Kind: "stop", Hours: 2, To: &ended}), drawn(page.stops),
			[]string{"Fri 20 Nov 07:00: stopped for 2 h"}, []string{"still", "!", "by"}},
		{"a set that a round found standing", stops(week.Stop{At: entry(20, 7, 0), Kind: "seen", Units: []string{"A", "B"}, Hours: 0.5}), drawn(page.stops),
			[]string{"found standing A+B for 30 min, still standing"}, []string{"!"}},
		{"a trip has a sign", stops(week.Stop{At: entry(20, 7, 0), Kind: "trip", Hours: 50, To: &ended}), drawn(page.stops), []string{"! Fri 20 Nov 07:00: trip for 2 days"}, nil},
		{"a kind of a later version", stops(week.Stop{At: entry(20, 7, 0), Kind: "frozen\x1b[2J", Hours: 1, To: &ended}), drawn(page.stops), []string{`frozen\x1b[2J for 1 h`}, nil},
		{"a cause from outside does no harm", stops(week.Stop{At: entry(20, 7, 0), Kind: "trip", Cause: "\x1b]0;x\x07", By: "\u202eoR"}), drawn(page.stops), nil, []string{"\x1b]", "\u202e", "\x07"}},
		{"no stop", stops(), drawn(page.stops), []string{"None."}, nil},

		{"a stop over the end of a week that is looked back at", func(r *week.Review) {
			r.Stops, r.KnownTo = []week.Stop{{At: entry(24, 22, 0), Kind: "stop", Units: []string{"B"}, Hours: 10}}, &clock
		}, drawn(page.stops), []string{"stopped B for 10 h, still standing when the week ended"}, nil},
		{"a clearing that the gauge does not see", func(r *week.Review) { r.ClearingList[0].GainKPa, r.ClearingList[0].GainKW = num(0.2), num(0.01) }, drawn(page.clearings),
			[]string{"no gain seen"}, []string{"gained", "kW"}},
		{"a clearing without pressures", func(r *week.Review) { r.ClearingList = []week.Clearing{{At: entry(22, 7, 0)}} }, drawn(page.clearings),
			[]string{"Sun 22 Nov 07:00"}, []string{"kPa", "by"}},
		{"the first week", func(r *week.Review) { r.Before = nil }, drawn(page.clearings), []string{"1 clearing "}, []string{"before ─", "the week before"}},

		{"a pond that fills", func(r *week.Review) { r.Water.ChangeM3, r.Water.UsableM3, r.Water.RainMM = num(5000), nil, nil }, drawn(page.water),
			[]string{"gained 5000 m³."}, []string{"lost", "rain", "above the stop"}},
		{"a forecast with nothing running", func(r *week.Review) {
			r.Forecast.Then, r.Forecast.Now = nil, &week.Forecast{Time: clock, LevelM: -0.4, Outcome: water.Spills}
		}, drawn(page.water),
			[]string{"Forecast now, Wed 25 Nov at -0.40 m with nothing running: fills and spills."}, []string{"then"}},
		{"a forecast that the log is too thin for", func(r *week.Review) { r.Forecast.Now.Outcome = "" }, drawn(page.water), []string{"running A: not known yet."}, nil},

		{"a permit kept", func(r *week.Review) { r.Permits = r.Permits[:1] }, drawn(page.permits), []string{"kept, by 13 readings; nearest -0.58 m"}, []string{"!"}},
		{"a permit broken", func(r *week.Review) { r.Permits = r.Permits[1:2] }, drawn(page.permits), []string{"!! Bypass 6.0 L/s: broken by 1 of 3 readings; worst 4.5 L/s"}, []string{"kept"}},
		{"a permit that nobody read for", func(r *week.Review) { r.Permits = r.Permits[2:] }, drawn(page.permits), []string{"! Highest level 0.30 m: not read, so not known"}, []string{"kept", "broken"}},

		{"savings without a fuel or a week before", func(r *week.Review) { r.Money.Fuels, r.Before, r.Payback = nil, nil, nil }, drawn(page.money), []string{"60 CAD (56 to 64)."}, []string{"propane", "before", "cost"}},
		{"a fuel without a price", func(r *week.Review) { r.Money.Fuels[0].Worth = nil }, drawn(page.money), []string{"As much as 65 L (61 to 69) of propane."}, []string{"worth"}},
		{"a plant that is paid back", func(r *week.Review) { r.Payback.Share, r.Payback.YearsToGo = 1.2, nil }, drawn(page.money), []string{"120 % of what the plant cost (86000 CAD)."}, []string{"years"}},
		{"a payback that is near", func(r *week.Review) { r.Payback.YearsToGo = num(0.83) }, drawn(page.money), []string{"about 0.8 years to go"}, nil},

		{"work due in running hours", func(r *week.Review) { r.UpkeepDue = []upkeep.Task{{Task: "grease", DueHours: num(30), State: "due"}} }, drawn(page.upkeep),
			[]string{"Due: grease, in 30 h of running"}, []string{"!"}},
		{"a checklist that was walked", func(r *week.Review) {
			r.UpkeepDone = []week.Done{{At: entry(20, 9, 0), Task: "Starting", By: "Ro", Steps: "8 of 9 steps done, 1 skipped"}}
		}, drawn(page.upkeep), []string{"Done Fri 20 Nov: Starting, by Ro, 8 of 9 steps done, 1 skipped"}, []string{"early"}},
		{"a checklist that was ended early", func(r *week.Review) {
			r.UpkeepDone, r.UpkeepDue = nil, nil
			r.EndedEarly = []week.Done{{At: entry(20, 9, 0), Task: "Starting\x1b[2J", By: "Ro", Steps: "7 of 9 steps done, 2 not come to", Note: "\x07"}}
		}, drawn(page.upkeep),
			[]string{"Ended early Fri 20 Nov, which is not done: Starting\\x1b[2J, by Ro, 7 of 9 steps done, 2 not come to, \\x07"}, []string{"Done ", "Nothing was done", "\x1b"}},
		{"work that never had a date", func(r *week.Review) {
			r.UpkeepDue = []upkeep.Task{{Task: "grease", State: "overdue"}}
			r.UpkeepDone = nil
		}, drawn(page.upkeep),
			[]string{"! Overdue: grease"}, []string{"Done", "in "}},

		{"a set of which all is known", func(r *week.Review) { r.Units, r.OwnBus = []week.UnitRun{{Unit: "A", Hours: 167.2}}, nil }, drawn(page.units),
			[]string{"Unit A: ran 167 h, no start"}, []string{"not known", "gave"}},
		{"no sets", func(r *week.Review) { r.Units, r.OwnBus = nil, nil }, drawn(page.units), nil, []string{"Sets"}},
		{"a factor of a first week", func(r *week.Review) { r.Before = nil }, drawn(page.units), []string{"Load factor (mean of highest load): 72 %"}, []string{"before"}},

		{"one reading is no range", func(r *week.Review) {
			r.Extremes = []week.Extreme{{Quantity: "bypass_lps", Low: value(6, 20, 7, 0), High: value(6, 20, 7, 0)}}
		}, drawn(page.extremes),
			[]string{"Bypass flow 6.0 L/s on Fri 20 Nov 07:00"}, []string{","}},
		{"rain is told with the water", func(r *week.Review) { r.Extremes = []week.Extreme{{Quantity: "rain_mm"}} }, drawn(page.extremes), nil, []string{"Rain"}},

		{"a month's days are listed, a year's are not", func(r *week.Review) { r.Days = make([]week.DayFacts, 33) }, page.days, nil, []string{"generated"}},
		{"a frequency beyond the standard", func(r *week.Review) {
			r.Frequency.Share, r.Frequency.Within95, r.Frequency.WithinAll = 0.9, false, false
		}, drawnItem(page.frequency),
			[]string{"! EN 50160, 95 % of a week within 58.8 to 61.2 Hz: not kept, 90 % of the time read; a reading was beyond ±15 %"}, nil},
		{"no frequency", func(r *week.Review) { r.Frequency = nil }, drawnItem(page.frequency), nil, []string{"EN"}},
		{"an energy that cannot be told", func(r *week.Review) { r.EnergyKWh.Dumped, r.Before.EnergyKWh.Dumped = nil, nil }, page.energy, []string{"dumped not known not known"}, nil},
		{"a first week has none before it", func(r *week.Review) { r.Before = nil }, page.energy, []string{"no week before in the log", "available > 99 %, 1 trip, 1 stop"}, []string{"740"}},
		{"an availability that is not known", func(r *week.Review) { r.Availability, r.Stops = nil, nil }, page.energy, []string{"available no trip, no stop"}, nil},
		{"cautions come as sentences", func(r *week.Review) { r.Cautions = []string{"two clocks differ."} }, drawn(page.cautions), []string{"- Two clocks differ. -"}, []string{".."}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := sample()
			c.spoil(r)
			got := flat(c.part(pageOf(t, r), 80))
			for _, w := range c.want {
				if !strings.Contains(got, w) {
					t.Errorf("lacks %q: %s", w, got)
				}
			}
			for _, n := range c.not {
				if strings.Contains(got, n) {
					t.Errorf("has %q: %s", n, got)
				}
			}
		})
	}
}

func TestPowersAndLevelsInTheUnitsOfThePlant(t *testing.T) {
	p := pageOf(t, sample())
	p.common.Units = quantity.US
	got := flat(p.lines(80))
	// NIST SP 811: 1 psi = 6.894757 kPa, 1 ft = 0.3048 m; -0.58 m are -1.90 ft, 124 kPa are 18.0 psi, 4 mm are 0.16 in, shown to a tenth.
	for _, want := range []string{"124 kPa", "-0.58 m"} {
		if strings.Contains(got, want) {
			t.Errorf("%q stands on a page for feet and pounds", want)
		}
	}
	for _, want := range []string{"18.0 psi before, 19.0 psi after", "Pond -0.98 ft", "-1.90 ft", "rain 0.2 in", "acre-ft"} {
		if !strings.Contains(got, want) {
			t.Errorf("lacks %q: %s", want, got)
		}
	}
}

func TestAnotherYearIsNamed(t *testing.T) {
	p := pageOf(t, sample())
	if got := p.clock(time.Date(2025, 12, 31, 23, 5, 0, 0, halifax)); got != "Wed 31 Dec 2025 23:05" {
		t.Errorf("%q", got)
	}
	if got := p.day(at(1, 0, 0)); got != "Sun 1 Nov" {
		t.Errorf("%q", got)
	}
}

// Whatever there is to decide, each of it stands on the page once, in its order, whether it has room at the top or not.
func TestEveryDecisionStandsOnThePageOnce(t *testing.T) {
	urgencies := []assess.Urgency{assess.UrgentOut, assess.UrgentNear, assess.UrgentDue, assess.UrgentNote, week.None}
	p := pageOf(t, sample())
	rapid.Check(t, func(t *rapid.T) {
		r := sample()
		r.Decisions = nil
		n := rapid.IntRange(0, 14).Draw(t, "n")
		for i := range n {
			words := rapid.IntRange(0, 30).Draw(t, "words")
			r.Decisions = append(r.Decisions, week.Decision{Urgency: rapid.SampledFrom(urgencies).Draw(t, "urgency"),
				Text: fmt.Sprintf("decision%02d", i) + strings.Repeat(" word", words), Screen: rapid.SampledFrom([]string{"", "water", "log"}).Draw(t, "screen")})
		}
		p.report.Review = r
		p.text = rapid.Bool().Draw(t, "text")
		w := rapid.IntRange(40, 140).Draw(t, "w")
		got, last := flat(p.lines(w)), -1
		for i := range n {
			name := fmt.Sprintf("Decision%02d", i)
			if strings.Count(got, name) != 1 {
				t.Fatalf("%s stands %d times: %s", name, strings.Count(got, name), got)
			}
			if at := strings.Index(got, name); at < last {
				t.Fatalf("%s stands before the one above it", name)
			} else {
				last = at
			}
		}
		first, more := p.decisions(w)
		if !p.text && len(more) > 0 && !strings.Contains(flat(first), "more, further down") {
			t.Fatalf("what is left out is not said: %s", flat(first))
		}
		if len(more) > 0 && (p.text || n < 2) {
			t.Fatalf("%d decisions are split", n)
		}
	})
}

func TestTheBandsThatWereLeftStandFirst(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		share := rapid.SampledFrom([]float64{0, 0, 0.004, 0.2, 0.7})
		var states week.States
		for _, q := range []string{"pond_level_m", "pressure_kpa", "A.bearing_c", "volts", "hertz", "load_kw"} {
			states = append(states, week.QuantityState{Quantity: q, OutShare: share.Draw(t, q), NearShare: share.Draw(t, q)})
		}
		before := slices.Clone(states)
		got := worstFirst(states)
		if !slices.Equal(states, before) {
			t.Fatal("the review's own list was put in order")
		}
		for i := 1; i < len(got); i++ {
			a, b := got[i-1], got[i]
			if a.OutShare < b.OutShare || a.OutShare == b.OutShare && a.NearShare < b.NearShare {
				t.Fatalf("%s stands before %s", a.Quantity, b.Quantity)
			}
			if a.OutShare == b.OutShare && a.NearShare == b.NearShare && (b.Quantity == "volts" || b.Quantity == "hertz") && a.Quantity != "volts" {
				t.Fatalf("%s stands before %s", a.Quantity, b.Quantity)
			}
		}
	})
}

// The command prints what the screen shows: each line of the page stands in the text, in its order.
func TestTheScreenAndTheCommandAgree(t *testing.T) {
	r := sample()
	r.Decisions = r.Decisions[:2] // so that all have room at the top
	c := uitest.Common(uitest.Look{}, 80, 24, clock)
	printed := Text(Report{Review: r, Plant: ternHollow(t)}, c, 80)
	at := 0
	for _, l := range pageOf(t, r).lines(80) {
		i := strings.Index(printed[at:], l+"\n")
		if i < 0 {
			t.Fatalf("%q stands on the screen and is not printed", l)
		}
		at += i
	}
	if !strings.Contains(printed[at:], "Power used and dumped") || !strings.Contains(printed[at:], "Pond level") {
		t.Error("the charts are not printed")
	}
}

// uncoloured takes the colours out of a view.
func uncoloured(view string) string {
	var b strings.Builder
	for {
		head, rest, ok := strings.Cut(view, "\x1b[")
		b.WriteString(head)
		if !ok {
			return b.String()
		}
		_, view, _ = strings.Cut(rest, "m")
	}
}

func TestNothingIsSaidByColourAlone(t *testing.T) {
	for _, size := range [][2]int{{80, 20}, {120, 36}} {
		for _, keys := range [][]string{nil, {"c", "c", "home", "right"}} {
			plain := screen(t, uitest.Look{}, size[0], size[1], sample())
			colour := screen(t, uitest.Look{Color: true, Background: ui.LightBackground}, size[0], size[1], sample())
			a, b := uitest.Press(t, plain, keys...).View(), uncoloured(uitest.Press(t, colour, keys...).View())
			if a != b {
				t.Errorf("%v: without colour\n%s\nwith it, and the colour taken out\n%s", size, a, b)
			}
		}
	}
}

// Whatever the keys, the cursor stands on nothing or on something that can be told and opened, and the round that Enter asks
// for is one of the period.
func TestTheCursorAlwaysStandsOnSomething(t *testing.T) {
	ids := map[string]bool{}
	for _, p := range sample().Points {
		ids[p.ID] = true
	}
	base := screen(t, uitest.Look{}, 80, 20, sample())
	year := screen(t, uitest.Look{}, 80, 20, byDays())
	names := []string{"left", "right", "home", "end", "pgup", "pgdown", "c", "esc"}
	keys := map[string]func(Screen) Screen{}
	for _, n := range names {
		k := uitest.Key(t, n)
		keys[n] = func(s Screen) Screen { return give(s, k) }
	}
	enter := uitest.Key(t, "enter")
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom([]Screen{base, year}).Draw(t, "review")
		for _, n := range rapid.SliceOfN(rapid.SampledFrom(names), 1, 25).Draw(t, "keys") {
			s = keys[n](s)
			at, ok := s.stop()
			if !s.cursor.At.IsZero() && !ok {
				t.Fatalf("after %s it stands at %v, where nothing is", n, s.cursor.At)
			}
			if !ok || !s.walking {
				continue
			}
			if first, _, _ := s.page().readout(s.figure(), at); first == "" {
				t.Fatalf("nothing is told of %v", s.cursor.At)
			}
			next, cmd := s.Update(enter)
			if at.f != nil {
				continue // a forecast has nothing to open, and says so
			}
			if at.id == "" {
				if got := next.(Screen); got.span != week.Week || cmd == nil && got.end.IsZero() {
					t.Fatalf("Enter on a day shows a %s to %v", got.span, got.end)
				}
				continue
			}
			if !ids[at.id] || cmd == nil {
				t.Fatalf("Enter asks for %q", at.id)
			}
		}
	})
}

func BenchmarkWalk(b *testing.B) {
	var s ui.Screen = screen(b, uitest.Look{Color: true}, 120, 36, sample())
	left, right := uitest.Key(b, "left"), uitest.Key(b, "right")
	for b.Loop() {
		s, _ = s.Update(left)
		_ = s.View()
		s, _ = s.Update(right)
		_ = s.View()
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(2*b.N)/1000, "ms/key")
}
