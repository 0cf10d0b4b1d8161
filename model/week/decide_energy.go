package week

import (
	"fmt"
	"slices"
	"strings"

	"example.org/headpond/model/assess"
)

// comparison tells of much less power than in the period before.
func (d *decider) comparison() {
	b := d.r.Before
	if b == nil || d.covered(&d.r.Period) < sparseShare || d.covered(b) < sparseShare || b.EnergyKWh.Generated.Value <= 0 {
		return
	}
	was, is := b.EnergyKWh.Generated.Value/b.HoursCovered, d.r.EnergyKWh.Generated.Value/d.r.HoursCovered
	if less := 1 - is/was; reached(less, lessShare) {
		d.say(assess.UrgentNote, "now", "The plant gave %.1f kW in the mean, %.0f %% less than the %.1f kW of the %s before%s", is, 100*less, was, d.r.Span, d.stoodMore())
	}
}

// stoodMore says which sets ran so much less than in the period before that it shows in the power, and since when they stood: the
// log's own reason, before any other is looked for. It is "" where none did.
func (d *decider) stoodMore() string {
	var out []string
	for _, u := range d.r.Units {
		i := slices.IndexFunc(d.r.Before.Units, func(b UnitRun) bool { return b.Unit == u.Unit })
		if i < 0 || d.r.Hours <= 0 || d.r.Before.Hours <= 0 {
			continue
		}
		b := d.r.Before.Units[i]
		unseen := u.Unknown / d.r.Hours // may have run
		if !reached(b.Hours/d.r.Before.Hours-u.Hours/d.r.Hours-unseen, lessShare/2) {
			continue
		}
		text := fmt.Sprintf("%s ran %.0f h, %.0f h the %s before", u.Unit, u.Hours, b.Hours, d.r.Span)
		if s := d.longest(u.Unit); s != nil {
			over := s.To != nil || d.r.KnownTo != nil // of a period that is looked back at nobody says that it lasts
			text += ": " + map[bool]string{true: "it stood from ", false: "it has stood since "}[over] + d.clock(s.Time) + because(s.Cause)
		}
		out = append(out, text)
	}
	if len(out) == 0 {
		return ""
	}
	return "; " + strings.Join(out, "; ")
}

// longest is a set's longest stop in the period, nil where there was none.
func (d *decider) longest(unit string) *Stop {
	var best *Stop
	for i := range d.r.Stops {
		if s := &d.r.Stops[i]; slices.Contains(s.Units, unit) && (best == nil || s.Hours > best.Hours) {
			best = s
		}
	}
	return best
}

func (d *decider) covered(p *Period) float64 {
	if p.EnergyKWh.Generated == nil || p.Hours == 0 {
		return 0
	}
	return p.HoursCovered / p.Hours
}

// sparse tells where the readings say little, and how to learn more.
func (d *decider) sparse() {
	p := &d.r.Period
	switch share := d.covered(p); {
	case p.Rounds == 0:
		d.say(assess.UrgentDue, "round", "No round was written in this %s: nothing is known of it", d.r.Span)
		return
	case share < sparseShare:
		d.say(assess.UrgentNote, "round", "Power is known for %.0f of %.0f h (%.0f %%): rounds less than %.0f h apart, or the total of an energy meter, would tell the rest", p.HoursCovered, p.Hours, 100*share, GapLimit.Hours())
	}
	if from, to, ok := d.unseen(); ok && !p.Metered && p.Rounds >= unseenRounds {
		d.say(assess.UrgentNote, "round", "No round was walked between %02d:00 and %02d:00 in this %s: what was used then is a guess; the total of an energy meter would tell", from, to, d.r.Span)
	}
}

// unseen is the longest part of the clock in which no round was walked.
func (d *decider) unseen() (from, to int, ok bool) {
	seen := merge(d.in.Days).hours
	best := 0
	for start := range 24 {
		n := 0
		for n < 24 && seen[(start+n)%24] == 0 {
			n++
		}
		if n > best {
			best, from, to = n, start, (start+n)%24
		}
	}
	return from, to, best >= unseenHours && best < 24
}

// use tells of energy that went into the ballast.
func (d *decider) use() {
	e := d.r.EnergyKWh
	if e.Generated == nil || e.Dumped == nil || e.Generated.Value <= 0 || d.covered(&d.r.Period) < sparseShare {
		return
	}
	if share := e.Dumped.Value / e.Generated.Value; reached(share, dumpedShare) {
		d.say(assess.UrgentNote, "ballast", "%s of %s (%.0f %%) went into the ballast: there is room to use more", e.rounded(*e.Dumped, "kWh"), e.rounded(*e.Generated, "kWh"), 100*share)
	}
}
