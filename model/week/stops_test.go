package week

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

// stopLine is a stop without what other tests look at.
type stopLine struct {
	Kind, Units, Cause string
	All, Over          bool
	Hours              float64
}

func stopLines(list []Stop) []stopLine {
	var out []stopLine
	for _, s := range list {
		units := ""
		for _, u := range s.Units {
			units += u
		}
		out = append(out, stopLine{s.Kind, units, s.Cause, s.All, s.To != nil, s.Hours})
	}
	return out
}

func TestStopsAndTheirLengths(t *testing.T) {
	base := func() *notes {
		return write(t, tern(t), "2026-02-10 00:00").round("2026-02-01 08:00", "running=A+B load_kw=1")
	}
	for _, c := range []struct {
		name string
		n    *notes
		want []stopLine
	}{
		{"a trip and a start", base().event("2026-02-05 06:00", "trip cause=frost").event("2026-02-05 08:30", "start unit=A+B"),
			[]stopLine{{"trip", "AB", "frost", true, true, 2.5}}},
		{"one set stops, the other goes on", base().event("2026-02-05 06:00", "stop unit=B").event("2026-02-06 06:00", "start unit=B"),
			[]stopLine{{"stop", "B", "", false, true, 24}}},
		{"it lasts", base().event("2026-02-09 00:00", "stop cause=low"), []stopLine{{"stop", "AB", "low", true, false, 24}}},
		{"it began before the week", base().event("2026-02-02 00:00", "stop unit=B").event("2026-02-04 00:00", "start unit=B"),
			[]stopLine{{"stop", "B", "", false, true, 48}}},
		{"it ended before the week", base().event("2026-02-01 12:00", "stop unit=B").event("2026-02-02 00:00", "start unit=B"), nil},
		{"a round sees it standing", base().round("2026-02-05 08:00", "running=A").round("2026-02-05 20:00", "running=A+B"),
			[]stopLine{{"seen", "B", "", false, true, 12}}},
		{"A, then B: the second leaves none", base().event("2026-02-05 06:00", "stop unit=A").event("2026-02-05 07:00", "trip unit=B").event("2026-02-05 09:00", "start unit=A"),
			[]stopLine{{"stop", "A", "", false, true, 3}, {"trip", "B", "", true, false, 113}}},
		{"a stop of what stands already", base().event("2026-02-05 06:00", "stop unit=B").event("2026-02-05 08:00", "stop unit=B").event("2026-02-05 09:00", "start unit=B"),
			[]stopLine{{"stop", "B", "", false, true, 3}}},
		{"trip and stop at one instant: the trip tells", base().event("2026-02-05 06:00", "stop cause=hand").event("2026-02-05 06:00", "trip cause=relay").event("2026-02-05 07:00", "start unit=A+B"),
			[]stopLine{{"trip", "AB", "relay", true, true, 1}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if d := cmp.Diff(c.want, stopLines(c.n.report(Week).Stops)); d != "" {
				t.Errorf("stops (-want +got):\n%s", d)
			}
		})
	}
}

func TestAvailabilityCountsTripsOnly(t *testing.T) {
	n := write(t, tern(t), "2026-02-10 00:00").
		round("2026-02-01 08:00", "running=A load_kw=1").
		event("2026-02-04 00:00", "trip cause=frost").event("2026-02-04 12:00", "start unit=A").
		event("2026-02-05 00:00", "stop cause=low").event("2026-02-06 00:00", "start unit=A")
	r := n.report(Week)
	near(t, "available", *r.Availability, 1-12.0/168)
	near(t, "stood", r.HoursStood, 36)
	if u := r.Units[0]; u.Hours != 168-36 || u.Starts != 2 || u.Unknown != 0 {
		t.Errorf("A: %+v", u)
	}
	near(t, "B is off since the round said so", r.Units[1].Hours, 0)
}

func TestHoursOfUnitsOfWhichNothingIsKnown(t *testing.T) {
	n := write(t, tern(t), "2026-02-10 00:00").
		round("2026-02-02 08:00", "load_kw=1").
		event("2026-02-05 00:00", "start unit=A").
		event("2026-02-06 00:00", "stop unit=A")
	r := n.report(Week)
	near(t, "A ran", r.Units[0].Hours, 24)
	near(t, "A not known", r.Units[0].Unknown, 48)
	near(t, "B not known", r.Units[1].Unknown, 168)
	if r.Availability != nil {
		t.Errorf("available %g, though B is not known", *r.Availability)
	}
}
