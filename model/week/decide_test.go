package week

import (
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/electrical"
)

// good is a week and the one before with nothing the matter, three rounds a day at different hours.
func good(t *testing.T) *notes {
	n := write(t, tern(t), "2026-02-16 00:00")
	at := n.when("2026-02-01 00:00")
	for !at.After(n.h.At) {
		n.h.Rounds = append(n.h.Rounds, n.one(at, "running=A volts=240 hertz=60 load_kw=3 dump_kw=2 pond_level_m=-0.2 bypass_lps=7"))
		at = at.Add(7 * time.Hour)
	}
	return n
}

// spoil alters the readings of the last days.
func (n *notes) spoil(days int, readings string) *notes {
	for i, r := range n.h.Rounds {
		if r.Time.After(n.h.At.AddDate(0, 0, -days)) {
			n.h.Rounds[i] = n.one(r.Time, readings)
		}
	}
	return n
}

func TestNothingToDecideIsSaid(t *testing.T) {
	r := good(t).report(Week)
	if len(r.Decisions) != 1 || r.Decisions[0].Urgency != None || !r.Well || !strings.Contains(r.Decide[0], "Nothing to decide: voltage in band for 100 %") {
		t.Errorf("%+v", r.Decisions)
	}
	if !strings.HasPrefix(r.Verdict, "The plant is well. It gave 8") {
		t.Errorf("%q", r.Verdict)
	}
}

func TestWhatIsToBeDecided(t *testing.T) {
	for _, c := range []struct {
		name    string
		n       *notes
		urgency assess.Urgency
		want    string
	}{
		{"a permit", good(t).spoil(1, "running=A volts=240 hertz=60 load_kw=3 dump_kw=2 pond_level_m=-0.95"), assess.UrgentOut,
			"The permit was not kept: lowest level allowed, -0.90 m, was broken by 3 of 24 readings, the worst -0.95 m"},
		{"the plant stands", good(t).event("2026-02-15 23:00", "trip cause=frost"), assess.UrgentOut, "The plant has stood for 1 h, since 15 February 23:00 (frost)"},
		{"a trip without a cause", good(t).event("2026-02-14 01:00", "trip").event("2026-02-14 02:30", "start unit=A"), assess.UrgentNear,
			"1 trip, 1 h 30 min of standing in all, the last on 14 February 01:00: for 1 no cause is written down; find it"},
		{"one trip with its cause", good(t).event("2026-02-14 01:00", "trip cause=frost").event("2026-02-14 02:30", "start unit=A"), assess.UrgentNote,
			"One trip on 14 February 01:00 (frost), 1 h 30 min of standing"},
		{"out of band", good(t).spoil(3, "running=A volts=260 hertz=60 load_kw=3 dump_kw=2 pond_level_m=-0.2"), assess.UrgentNear,
			"% of the time that is known, and in band for"},
		{"worse than before", good(t).spoil(3, "running=A volts=253 hertz=60 load_kw=3 dump_kw=2 pond_level_m=-0.2"), assess.UrgentNote,
			"% of the time that is known; in the week before it was in band for 100 %"},
		{"EN 50160's week", good(t).spoil(3, "running=A volts=240 hertz=62 load_kw=3 dump_kw=2 pond_level_m=-0.2"), assess.UrgentNear,
			"The frequency was within 58.8 to 61.2 Hz for"},
		{"EN 50160's always", good(t).spoil(1, "running=A volts=240 hertz=70 load_kw=3 dump_kw=2 pond_level_m=-0.2"), assess.UrgentNear, "which EN 50160 never allows"},
		{"less than before", good(t).spoil(7, "running=A volts=240 hertz=60 load_kw=2 dump_kw=1 pond_level_m=-0.2"), assess.UrgentNote,
			"less than the 5.0 kW of the week before"},
		{"much is dumped", good(t).spoil(7, "running=A volts=240 hertz=60 load_kw=1 dump_kw=4 pond_level_m=-0.2"), assess.UrgentNote,
			"%) went into the ballast: there is room to use more"},
		{"nothing was written", write(t, tern(t), "2026-02-16 00:00").round("2026-02-02 08:00", "running=A load_kw=2"), assess.UrgentDue, "No round was written in this week: nothing is known of it"},
		{"too few", write(t, tern(t), "2026-02-16 00:00").round("2026-02-10 08:00", "running=A load_kw=2 dump_kw=1").round("2026-02-11 08:00", "load_kw=2 dump_kw=1").round("2026-02-14 08:00", "load_kw=2 dump_kw=1"),
			assess.UrgentNote, "Power is known for 24 of 168 h (14 %)"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := c.n.report(Week)
			for _, d := range r.Decisions {
				if strings.Contains(d.Text, c.want) {
					if d.Urgency != c.urgency {
						t.Errorf("%q is %s, want %s", d.Text, d.Urgency, c.urgency)
					}
					bad := c.urgency == assess.UrgentOut || c.urgency == assess.UrgentNear || c.name == "too few" // 24 of 168 h are not known to be well
					if r.Well == (bad || r.Rounds == 0) {
						t.Errorf("well is %v: %+v", r.Well, r.Decisions)
					}
					return
				}
			}
			t.Errorf("none says %q:\n%s", c.want, strings.Join(r.Decide, "\n"))
		})
	}
}

func TestRoundsAtTheSameHoursLeaveTheNightUnseen(t *testing.T) {
	n := write(t, tern(t), "2026-02-16 00:00")
	for d := n.when("2026-02-09 08:00"); d.Before(n.h.At); d = d.AddDate(0, 0, 1) {
		n.h.Rounds = append(n.h.Rounds, n.one(d, "running=A load_kw=3 dump_kw=2"), n.one(d.Add(9*time.Hour+30*time.Minute), "load_kw=3 dump_kw=2"))
	}
	want := "No round was walked between 18:00 and 08:00 in this week"
	if r := n.report(Week); !strings.Contains(strings.Join(r.Decide, "\n"), want) {
		t.Errorf("none says %q: %q", want, r.Decide)
	}
	for i := range n.h.Rounds {
		n.h.Rounds[i].Values["load_energy_kwh"] = float64(1000 + 40*i)
	}
	if r := n.report(Week); strings.Contains(strings.Join(r.Decide, "\n"), "No round was walked") {
		t.Errorf("said though a meter tells: %q", r.Decide)
	}
}

// What wants attention at the end is taken over word for word, the most urgent first, and the ballast's small margin is added.
func TestDecisionsTakeOverThePresent(t *testing.T) {
	n := good(t)
	in, err := From(n.h, Week, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	generation := 5.0
	in.Now = &assess.Now{At: n.h.At, Attention: []assess.Attention{
		{Urgency: assess.UrgentDue, Text: "Clear the screen: it costs 0.7 kW", Screen: "now"},
		{Urgency: assess.UrgentOut, Text: "Frequency 66 Hz is out of band", Screen: "log"},
	}, Ballast: &electrical.Facts{GenerationKW: &generation, CapacityKW: 5.5, Rejection: &electrical.Rejection{MarginKW: 0.5}}}
	r, err := Report(t.Context(), in)
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"Frequency 66 Hz is out of band",
		"The ballast takes 5.5 kW, only 0.5 kW more than the 5.0 kW generated: 10 % of margin where a rule of thumb asks for 15 %",
		"Clear the screen: it costs 0.7 kW"}
	if strings.Join(r.Decide, "|") != strings.Join(want, "|") {
		t.Errorf("%q, want %q", r.Decide, want)
	}
	if want := "Not well: 1 thing out of order, 1 more to look at, 1 to do. It gave "; !strings.HasPrefix(r.Verdict, want) {
		t.Errorf("%q", r.Verdict)
	}
}

func TestReportRefusesWhatItCannotDo(t *testing.T) {
	if _, err := Report(t.Context(), Input{}); err != ErrNoPlant {
		t.Errorf("%v", err)
	}
	if _, err := From(nil, Week, time.Time{}); err != ErrNoPlant {
		t.Errorf("%v", err)
	}
	if _, err := From(good(t).h, "decade", time.Time{}); err == nil {
		t.Error("a decade is a span")
	}
}

// A decision of another year than that up to which the log is known says which year.
func TestDecisionsOfAnotherYearHaveIt(t *testing.T) {
	last := func(in Input) string {
		list := decided(t, Review{Period: Period{Stops: []Stop{{At: At{Time: day(t, "2026-02-14 02:30")}, Kind: "trip", Hours: 2, Cause: "frost"}}}}, in, (*decider).trips)
		if len(list) != 1 {
			t.Fatalf("%+v", list)
		}
		return list[0].Text
	}
	if got := last(Input{}); got != "One trip on 14 February 02:30 (frost), 2 h of standing" {
		t.Errorf("this year: %q", got)
	}
	if got := last(Input{Of: Of{At: day(t, "2028-02-16 00:00")}}); got != "One trip on 14 February 2026 02:30 (frost), 2 h of standing" {
		t.Errorf("two years later: %q", got)
	}
}
