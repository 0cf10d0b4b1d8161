package week

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/electrical"
)

// decided are the decisions of one kind on a review made by hand.
func decided(t *testing.T, r Review, in Input, kind func(*decider)) []Decision {
	t.Helper()
	n := write(t, tern(t), "2026-02-16 00:00")
	if in.History == nil {
		in.History = n.h
	}
	if r.Span == "" {
		r.Span = Week
	}
	r.From, r.To = n.when("2026-02-09 00:00"), n.when("2026-02-16 00:00")
	if r.Hours == 0 {
		r.Hours = 168
	}
	d := decider{in: &in, r: &r}
	kind(&d)
	return d.list
}

type decideCase struct {
	name string
	r    Review
	in   Input
	want []Decision
}

func runDecide(t *testing.T, kind func(*decider), cases []decideCase) {
	t.Helper()
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if d := cmp.Diff(c.want, decided(t, c.r, c.in, kind)); d != "" {
				t.Errorf("decisions (-want +got):\n%s", d)
			}
		})
	}
}

func day(t *testing.T, text string) time.Time {
	return write(t, tern(t), "2026-02-16 00:00").when(text)
}

func generated(kwh, hours float64) Period {
	return Period{EnergyKWh: Energy{Generated: &Range{kwh, kwh * 0.97, kwh * 1.03}}, HoursCovered: hours, Hours: 168, Rounds: 14}
}

func TestWordsOfStandingAndTrips(t *testing.T) {
	over := day(t, "2026-02-14 02:30")
	trip := func(cause string, h float64) Stop {
		return Stop{At: At{ID: "E1", Time: day(t, "2026-02-14 01:00")}, Kind: "trip", Units: []string{"A"}, All: true, To: &over, Hours: h, Cause: cause}
	}
	runDecide(t, (*decider).trips, []decideCase{
		{name: "none"},
		{name: "a stop by hand is no trip", r: Review{Period: Period{Stops: []Stop{{At: At{Time: day(t, "2026-02-14 01:00")}, Kind: "stop", All: true, Hours: 5}}}}},
		{name: "one with its cause", r: Review{Period: Period{Stops: []Stop{trip("frost", 1.5)}}},
			want: []Decision{{assess.UrgentNote, "One trip on 14 February 01:00 (frost), 1 h 30 min of standing", "log"}}},
		{name: "one without", r: Review{Period: Period{Stops: []Stop{trip("", 1.5)}}},
			want: []Decision{{assess.UrgentNear, "1 trip, 1 h 30 min of standing in all, the last on 14 February 01:00: for 1 no cause is written down; find it", "log"}}},
		{name: "three, one without", r: Review{Period: Period{Stops: []Stop{trip("frost", 1), trip("", 1.5), trip("relay", 0.25)}}},
			want: []Decision{{assess.UrgentNear, "3 trips, 2 h 45 min of standing in all, the last on 14 February 01:00: for 1 no cause is written down; find it", "log"}}},
		{name: "two with causes", r: Review{Period: Period{Stops: []Stop{trip("frost", 1), trip("relay", 0.5)}}},
			want: []Decision{{assess.UrgentNear, "2 trips, 1 h 30 min of standing in all, the last on 14 February 01:00 (relay)", "log"}}},
		{name: "one of the week before that lasts", r: Review{Period: Period{Stops: []Stop{{At: At{Time: day(t, "2026-02-08 23:59")}, Kind: "trip", All: true, Hours: 168}}}}},
	})
	lasts := Stop{At: At{ID: "E1", Time: day(t, "2026-02-14 01:00")}, Kind: "trip", Units: []string{"A"}, All: true, Hours: 47, Cause: "frost"}
	part := lasts
	part.All = false
	runDecide(t, (*decider).stands, []decideCase{
		{name: "it lasts", r: Review{Period: Period{Stops: []Stop{lasts}}},
			want: []Decision{{assess.UrgentOut, "The plant has stood for " + assess.Span(47*time.Hour) + ", since 14 February 01:00 (frost): find out why before it is started", "log"}}},
		{name: "it is over", r: Review{Period: Period{Stops: []Stop{trip("frost", 1.5)}}}},
		{name: "another set runs", r: Review{Period: Period{Stops: []Stop{part}}}},
		{name: "the present tells of it itself", r: Review{Period: Period{Stops: []Stop{lasts}}}, in: Input{Now: &assess.Now{}}},
	})
}

func TestWordsOfPermits(t *testing.T) {
	worst := func(v float64) ValueAt { return ValueAt{At: At{ID: "R1", Time: day(t, "2026-02-12 08:05")}, Value: v} }
	low := Permit{What: "low_level", Label: "Lowest level allowed", Limit: -0.9, Unit: "m", Worst: worst(-0.955), Readings: 14, Broken: 3}
	high := Permit{What: "high_level", Label: "Highest level allowed", Limit: 0.3, Unit: "m", Kept: true, Worst: worst(0.1), Readings: 14}
	bypass := Permit{What: "bypass", Label: "Flow that must pass", Limit: 6, Unit: "L/s", Worst: worst(5.5), Readings: 9, Broken: 1}
	us := write(t, tern(t, "units = \"metric\"", "units = \"us\""), "2026-02-16 00:00")
	runDecide(t, (*decider).permits, []decideCase{
		{name: "kept", r: Review{Period: Period{Permits: []Permit{high}}}},
		{name: "one broken", r: Review{Period: Period{Permits: []Permit{low, high}}}, want: []Decision{{assess.UrgentOut,
			"The permit was not kept: lowest level allowed, -0.90 m, was broken by 3 of 14 readings, the worst -0.955 m on 12 February 08:05", "water"}}},
		{name: "two broken", r: Review{Period: Period{Permits: []Permit{low, bypass}}}, want: []Decision{
			{assess.UrgentOut, "The permit was not kept: lowest level allowed, -0.90 m, was broken by 3 of 14 readings, the worst -0.955 m on 12 February 08:05", "water"},
			{assess.UrgentOut, "The permit was not kept: flow that must pass, 6.0 L/s, was broken by 1 of 9 readings, the worst 5.5 L/s on 12 February 08:05", "water"}}},
		// 0.90 m are 2.95 ft and 0.955 m 3.13 ft; 6 L/s are 95.1 gal/min of the US gallon of 3.785411784 L.
		{name: "in feet", r: Review{Period: Period{Permits: []Permit{low}}}, in: Input{History: us.h}, want: []Decision{{assess.UrgentOut,
			"The permit was not kept: lowest level allowed, -2.95 ft, was broken by 3 of 14 readings, the worst -3.13 ft on 12 February 08:05", "water"}}},
	})
}

func TestWordsOfBands(t *testing.T) {
	q := func(in, near, out float64) QuantityState {
		h := in + near + out
		return QuantityState{Quantity: "volts", Label: "Voltage", In: in, Near: near, Out: out, Hours: h, InShare: in / h, NearShare: near / h, OutShare: out / h}
	}
	pond := q(100, 0, 68)
	pond.Quantity, pond.Label = "pond_level_m", "Pond level"
	states := func(list ...QuantityState) Period { return Period{States: list} }
	before := func(p Period) *Period { return &p }
	runDecide(t, (*decider).bands, []decideCase{
		{name: "in band", r: Review{Period: states(q(168, 0, 0))}},
		{name: "out for just below 5 %", r: Review{Period: states(q(95.1, 0, 4.9))}},
		{name: "out for 5 %", r: Review{Period: states(q(95, 0, 5))}, want: []Decision{{assess.UrgentNear,
			"Voltage was out of band for 5 h, 5 % of the time that is known, and in band for 95 %", "log"}}},
		{name: "out, and was better", r: Review{Period: states(q(80, 10, 10)), Before: before(states(q(99, 1, 0)))}, want: []Decision{{assess.UrgentNear,
			"Voltage was out of band for 10 h, 10 % of the time that is known, and in band for 80 %; in the week before it was in band for 99 %", "log"}}},
		{name: "near, and was better", r: Review{Period: states(q(80, 20, 0)), Before: before(states(q(85, 15, 0)))}, want: []Decision{{assess.UrgentNote,
			"Voltage was in band for 80 % of the time that is known; in the week before it was in band for 85 %", "log"}}},
		{name: "a little less in band than before", r: Review{Period: states(q(81, 19, 0)), Before: before(states(q(85, 15, 0)))}},
		{name: "was worse", r: Review{Period: states(q(85, 15, 0)), Before: before(states(q(60, 40, 0)))}},
		{name: "not read before", r: Review{Period: states(q(80, 20, 0)), Before: before(states())}},
		{name: "of a month", r: Review{Span: Month, Period: states(q(80, 20, 0)), Before: before(states(q(100, 0, 0)))}, want: []Decision{{assess.UrgentNote,
			"Voltage was in band for 80 % of the time that is known; in the month before it was in band for 100 %", "log"}}},
		{name: "the level's limits are the permit's", r: Review{Period: Period{States: States{pond}, Permits: []Permit{{Kept: true}}}}},
		{name: "the level without a permit", r: Review{Period: states(pond)}, want: []Decision{{assess.UrgentNear,
			"Pond level was out of band for 68 h, 40 % of the time that is known, and in band for 60 %", "log"}}},
	})
}

func TestWordsOfFrequency(t *testing.T) {
	f := func(share float64, all bool) Period {
		return Period{Frequency: &EN50160{Share: share, Hours: 160, Within95: share >= 0.95, WithinAll: all, Low: 58.8, High: 61.2}}
	}
	runDecide(t, (*decider).frequency, []decideCase{
		{name: "not read"},
		{name: "kept", r: Review{Period: f(0.95, true)}},
		{name: "not kept", r: Review{Period: f(0.93, true)}, want: []Decision{{assess.UrgentNear,
			"The frequency was within 58.8 to 61.2 Hz for 93 % of the week that is known; EN 50160 asks for 95 % (±2 %, supplies without a link)", "log"}}},
		{name: "beyond 15 % comes first", r: Review{Period: f(0.5, false)}, want: []Decision{{assess.UrgentNear,
			"The frequency was read beyond ±15 % of nominal, which EN 50160 never allows: see that the sensitive loads are protected", "log"}}},
		{name: "the rule is a week's", r: Review{Span: Month, Period: f(0.5, false)}},
	})
}

func TestWordsOfTheComparison(t *testing.T) {
	before := func(p Period) *Period { return &p }
	runDecide(t, (*decider).comparison, []decideCase{
		{name: "no week before", r: Review{Period: generated(500, 168)}},
		// 756 kWh in 168 h are 4.5 kW; 504 in 140 h 3.6 kW, a fifth less.
		{name: "a fifth less", r: Review{Period: generated(504, 140), Before: before(generated(756, 168))}, want: []Decision{{assess.UrgentNote,
			"The plant gave 3.6 kW in the mean, 20 % less than the 4.5 kW of the week before", "now"}}},
		{name: "less energy of less known time is no less power", r: Review{Period: generated(540, 120), Before: before(generated(756, 168))}},
		{name: "a little less", r: Review{Period: generated(605, 168), Before: before(generated(756, 168))}},
		{name: "more", r: Review{Period: generated(900, 168), Before: before(generated(756, 168))}},
		{name: "too little known now", r: Review{Period: generated(100, 100), Before: before(generated(756, 168))}},
		{name: "too little known before", r: Review{Period: generated(100, 168), Before: before(generated(756, 100))}},
		{name: "nothing was given before", r: Review{Period: generated(100, 168), Before: before(generated(0, 168))}},
	})
}

func TestWordsOfWhatIsDumped(t *testing.T) {
	with := func(dumped, covered float64) Period {
		p := generated(998, covered)
		p.EnergyKWh.Dumped = &Range{dumped, dumped - 30, dumped + 30}
		return p
	}
	runDecide(t, (*decider).use, []decideCase{
		{name: "two thirds", r: Review{Period: with(657, 168)}, want: []Decision{{assess.UrgentNote, "660 kWh of 1000 kWh (66 %) went into the ballast: there is room to use more", "ballast"}}},
		{name: "a half", r: Review{Period: with(499, 168)}, want: []Decision{{assess.UrgentNote, "500 kWh of 1000 kWh (50 %) went into the ballast: there is room to use more", "ballast"}}},
		{name: "less than half", r: Review{Period: with(498, 168)}},
		{name: "too little known", r: Review{Period: with(657, 100)}},
		{name: "not known how much", r: Review{Period: generated(998, 168)}},
		{name: "nothing was given", r: Review{Period: Period{EnergyKWh: Energy{Generated: &Range{}, Dumped: &Range{}}, HoursCovered: 168}}},
	})
}

func TestWordsOfTheBallastsMargin(t *testing.T) {
	now := func(generation, capacity, margin float64) Input {
		return Input{Now: &assess.Now{Ballast: &electrical.Facts{GenerationKW: &generation, CapacityKW: capacity, Rejection: &electrical.Rejection{MarginKW: margin}}}}
	}
	runDecide(t, (*decider).ballast, []decideCase{
		{name: "not known"},
		{name: "no ballast", in: Input{Now: &assess.Now{}}},
		{name: "a tenth", in: now(5, 5.5, 0.5), want: []Decision{{assess.UrgentNear,
			"The ballast takes 5.5 kW, only 0.5 kW more than the 5.0 kW generated: 10 % of margin where a rule of thumb asks for 15 %", "ballast"}}},
		{name: "none at all", in: now(6, 6, 0), want: []Decision{{assess.UrgentNear,
			"The ballast takes 6.0 kW, only 0.0 kW more than the 6.0 kW generated: 0 % of margin where a rule of thumb asks for 15 %", "ballast"}}},
		{name: "enough", in: now(4, 4.6, 0.6)},
		{name: "one that is missing the present tells of", in: now(5, 4, -1)},
		{name: "nothing is generated", in: now(0, 6, 0)},
	})
}

func TestWordsWhereLittleIsKnown(t *testing.T) {
	none := generated(0, 0)
	none.Rounds, none.EnergyKWh = 0, Energy{}
	unread := Period{Rounds: 3}
	hours := func(list ...int) Input {
		var d Day
		for _, h := range list {
			d.Hours[h]++
		}
		return Input{Days: []Day{d}}
	}
	metered := generated(500, 168)
	metered.Metered = true
	few := generated(500, 168)
	few.Rounds = 5
	round := func(u assess.Urgency, text string) []Decision { return []Decision{{u, text, "round"}} }
	night := "No round was walked between 20:00 and 08:00 in this week: what was used then is a guess; the total of an energy meter would tell"
	runDecide(t, (*decider).sparse, []decideCase{
		{name: "no round", r: Review{Period: none}, want: round(assess.UrgentDue, "No round was written in this week: nothing is known of it")},
		{name: "no round in a year", r: Review{Span: Year, Period: none}, want: round(assess.UrgentDue, "No round was written in this year: nothing is known of it")},
		{name: "no power read", r: Review{Period: unread}, in: hours(8), want: round(assess.UrgentNote,
			"Power is known for 0 of 168 h (0 %): rounds less than 36 h apart, or the total of an energy meter, would tell the rest")},
		{name: "a part", r: Review{Period: generated(500, 84)}, in: hours(1, 5, 9, 13, 17, 21), want: round(assess.UrgentNote,
			"Power is known for 84 of 168 h (50 %): rounds less than 36 h apart, or the total of an energy meter, would tell the rest")},
		{name: "all hours seen", r: Review{Period: generated(500, 168)}, in: hours(1, 5, 9, 13, 17, 21)},
		{name: "the night unseen", r: Review{Period: generated(500, 168)}, in: hours(8, 12, 19), want: round(assess.UrgentNote, night)},
		{name: "the clock's end is no end", r: Review{Period: generated(500, 168)}, in: hours(12, 3), want: round(assess.UrgentNote,
			"No round was walked between 13:00 and 03:00 in this week: what was used then is a guess; the total of an energy meter would tell")},
		{name: "nine hours are not ten", r: Review{Period: generated(500, 168)}, in: hours(6, 16, 20)},
		{name: "ten are", r: Review{Period: generated(500, 168)}, in: hours(6, 17, 20), want: round(assess.UrgentNote,
			"No round was walked between 07:00 and 17:00 in this week: what was used then is a guess; the total of an energy meter would tell")},
		{name: "a meter tells", r: Review{Period: metered}, in: hours(8, 12, 19)},
		{name: "too few rounds to say so", r: Review{Period: few}, in: hours(8, 12, 19)},
	})
}

// What wants attention is taken over but for trips, of which the review tells with their length; one sentence is said once.
func TestThePresentIsTakenOverOnce(t *testing.T) {
	now := &assess.Now{Attention: []assess.Attention{
		{Urgency: assess.UrgentNote, Text: "A trip 2 days ago", Screen: "log"},
		{Urgency: assess.UrgentNear, Text: "Bearing A 63 °C", Screen: "log"},
		{Urgency: assess.UrgentNear, Text: "Bearing A 63 °C", Screen: "log"},
		{Urgency: assess.UrgentNote, Text: "100 % of the ballast works", Screen: "ballast"},
	}}
	want := []Decision{{assess.UrgentNear, "Bearing A 63 °C", "log"}, {assess.UrgentNote, "100 % of the ballast works", "ballast"}}
	if d := cmp.Diff(want, decided(t, Review{}, Input{Now: now}, (*decider).present)); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}

// Every decision is a sentence that begins with a capital or a number, ends without a full stop and names a screen that there is.
func TestDecisionsAreSentences(t *testing.T) {
	for seed := uint64(1); seed < 4; seed++ {
		h := story(t, seed)
		n := &notes{t: t, h: h}
		for _, span := range []Span{Week, Month, Year} {
			for _, d := range n.report(span).Decisions {
				first := d.Text[:1]
				if strings.HasSuffix(d.Text, ".") || first != strings.ToUpper(first) || strings.Contains(d.Text, "%!") || strings.Contains(d.Text, "NaN") || strings.Contains(d.Text, "  ") {
					t.Errorf("%q is no sentence", d.Text)
				}
				switch d.Screen {
				case "now", "ballast", "water", "log", "upkeep", "faults", "plant", "round":
				case "":
					if d.Urgency != None {
						t.Errorf("%q leads nowhere", d.Text)
					}
				default:
					t.Errorf("%q leads to %q", d.Text, d.Screen)
				}
			}
		}
	}
}

// Where the log knows why there was less power, the sentence says so: of the two sets that ran the week before, one stood.
func TestLessPowerNamesTheSetThatStood(t *testing.T) {
	less := func(stop, known string) string {
		n := write(t, tern(t), known)
		for day := range 14 {
			at := time.Date(2026, 2, 2+day, 8, 0, 0, 0, time.UTC)
			text := "running=A+B load_kw=3 dump_kw=4"
			if day >= 8 {
				text = "running=A load_kw=3 dump_kw=1"
				if stop == "" {
					text = "running=A+B load_kw=3 dump_kw=1"
				}
			}
			n.round(at.Format("2006-01-02 15:04"), text)
			if day == 7 && stop != "" {
				n.event("2026-02-09 17:24", stop)
			}
		}
		for _, d := range n.back("2026-02-16 00:00").Decisions {
			if strings.Contains(d.Text, "less than the") {
				return d.Text
			}
		}
		return ""
	}
	got := less("stop unit=B cause=drought", "2026-02-16 00:00") // from 00:00 to 17:24; the week before began 8 h before its first round
	if want := "of the week before; B ran 17 h, 160 h the week before: it has stood since 9 February 17:24 (drought)"; !strings.HasSuffix(got, want) {
		t.Errorf("%q, expected to end with %q", got, want)
	}
	// Looked back at two days later nobody says that it stands: it may long run again.
	if got, want := less("stop unit=B cause=drought", "2026-02-18 00:00"), ": it stood from 9 February 17:24 (drought)"; !strings.HasSuffix(got, want) {
		t.Errorf("looked back at: %q, expected to end with %q", got, want)
	}
	if got := less("", "2026-02-16 00:00"); !strings.HasSuffix(got, "of the week before") {
		t.Errorf("nothing stood: %q", got)
	}
}
