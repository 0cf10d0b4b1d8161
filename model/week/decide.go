package week

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// When something is to be decided. Our own choices, from what an owner can act upon.
const (
	worseShare   = 0.05 // of the covered time: so much less of it in band than in the period before
	outShare     = 0.05 // so much of it out of band
	sparseShare  = 0.6  // of the time covered: below it the energies say little
	lessShare    = 0.2  // so much less mean power than in the period before
	marginShare  = 0.15 // of the generation: the rule of thumb for a ballast's margin (contract)
	dumpedShare  = 0.5  // of the generation: so much is there for more use
	unseenHours  = 10   // of the clock, in a row, in which no round was walked in the whole period
	unseenRounds = 6    // needed to say so
)

// reached reports whether a share has come to a limit; the last digits of the arithmetic do not keep it below.
func reached(share, limit float64) bool { return share >= limit-1e-9 }

type decider struct {
	in   *Input
	r    *Review
	list []Decision
}

// decide fills in what is to be decided, most urgent first.
func (in *Input) decide(r *Review) {
	d := decider{in: in, r: r}
	d.stands()
	d.permits()
	d.present()
	d.ballast()
	d.trips()
	d.bands()
	d.frequency()
	d.comparison()
	d.sparse()
	d.use()
	order := []assess.Urgency{assess.UrgentOut, assess.UrgentNear, assess.UrgentDue, assess.UrgentNote}
	slices.SortStableFunc(d.list, func(a, b Decision) int { return slices.Index(order, a.Urgency) - slices.Index(order, b.Urgency) })
	r.Well = r.Rounds > 0 && r.known() && !slices.ContainsFunc(d.list, func(x Decision) bool { return x.Urgency == assess.UrgentOut || x.Urgency == assess.UrgentNear })
	if len(d.list) == 0 {
		text := fmt.Sprintf("Nothing to decide: %s", r.calm())
		d.list = []Decision{{Urgency: None, Text: text}}
	}
	r.Decisions = d.list
	r.Decide = []string{}
	for _, x := range d.list {
		r.Decide = append(r.Decide, x.Text)
	}
}

func (d *decider) say(u assess.Urgency, screen, format string, args ...any) {
	text := fmt.Sprintf(format, args...)
	if !slices.ContainsFunc(d.list, func(x Decision) bool { return x.Text == text }) {
		d.list = append(d.list, Decision{Urgency: u, Text: text, Screen: screen})
	}
}

// stands tells of a stop of the whole plant that lasts. Where the plant's present state is known it tells so itself.
func (d *decider) stands() {
	if d.in.Now != nil {
		return
	}
	for _, s := range d.r.Stops {
		if s.All && s.To == nil {
			d.say(assess.UrgentOut, "log", "The plant has stood for %s, since %s%s: find out why before it is started", assess.Span(hours(s.Hours)), d.clock(s.Time), because(s.Cause))
		}
	}
}

func hours(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }

// clock is a time, with the year where it is not that of the time up to which the log is known.
func (d *decider) clock(t time.Time) string {
	now := d.in.At
	if now.IsZero() {
		now = d.r.To
	}
	if t.Year() != now.In(t.Location()).Year() {
		return t.Format("2 January 2006 15:04")
	}
	return t.Format("2 January 15:04")
}

func because(cause string) string {
	if cause == "" {
		return ""
	}
	return " (" + cause + ")"
}

func (d *decider) permits() {
	for _, p := range d.r.Permits {
		if p.Kept {
			continue
		}
		name := quantity.PondLevelM
		if p.What == "bypass" {
			name = quantity.BypassLps
		}
		d.say(assess.UrgentOut, "water", "The permit was not kept: %s, %s %s, was broken by %d of %d readings, the worst %s on %s", lower(p.Label),
			d.value(name, p.Limit), d.unit(name), p.Broken, p.Readings, d.value(name, p.Worst.Value)+" "+d.unit(name), d.clock(p.Worst.Time))
	}
}

func (d *decider) value(n quantity.Name, v float64) string {
	info, _ := quantity.Lookup(n)
	return info.Show(v, quantity.System(d.in.History.Plant.Site.Units))
}

func (d *decider) unit(n quantity.Name) string {
	info, _ := quantity.Lookup(n)
	return string(info.ShowUnit(quantity.System(d.in.History.Plant.Site.Units)))
}

func lower(s string) string { return strings.ToLower(s[:1]) + s[1:] }

// present takes over what wants attention at the period's end, so that the two screens never disagree.
func (d *decider) present() {
	if d.in.Now == nil {
		return
	}
	for _, a := range d.in.Now.Attention {
		if a.Urgency == assess.UrgentNote && a.Screen == "log" {
			continue // a trip is told of with its length
		}
		d.say(a.Urgency, a.Screen, "%s", a.Text)
	}
}

// ballast warns of a margin that is there but small; one that is missing is among what wants attention.
func (d *decider) ballast() {
	if d.in.Now == nil || d.in.Now.Ballast == nil {
		return
	}
	b := d.in.Now.Ballast
	if b.Rejection == nil || b.GenerationKW == nil || b.Rejection.MarginKW < 0 || *b.GenerationKW <= 0 {
		return
	}
	if m := b.Rejection.MarginKW; m < marginShare**b.GenerationKW {
		d.say(assess.UrgentNear, "ballast", "The ballast takes %.1f kW, only %.1f kW more than the %.1f kW generated: %.0f %% of margin where a rule of thumb asks for %.0f %%",
			b.CapacityKW, m, *b.GenerationKW, 100*m / *b.GenerationKW, 100*marginShare)
	}
}

func (d *decider) trips() {
	var n int
	var h float64
	var unknown int
	var last Stop
	for _, s := range d.r.Stops {
		if s.Kind != string(record.Trip) || s.Time.Before(d.r.From) {
			continue
		}
		n, h, last = n+1, h+s.Hours, s
		if s.Cause == "" {
			unknown++
		}
	}
	switch {
	case n == 0:
	case unknown > 0:
		d.say(assess.UrgentNear, "log", "%s, %s of standing in all, the last on %s: for %d no cause is written down; find it", count(n, "trip", "trips"), assess.Span(hours(h)), d.clock(last.Time), unknown)
	case n > 1:
		d.say(assess.UrgentNear, "log", "%s, %s of standing in all, the last on %s%s", count(n, "trip", "trips"), assess.Span(hours(h)), d.clock(last.Time), because(last.Cause))
	default:
		d.say(assess.UrgentNote, "log", "One trip on %s%s, %s of standing", d.clock(last.Time), because(last.Cause), assess.Span(hours(h)))
	}
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// bands tells of quantities that were out of band for long, or less in band than in the period before.
func (d *decider) bands() {
	for _, q := range d.r.States {
		if q.Quantity == string(quantity.PondLevelM) && len(d.r.Permits) > 0 {
			continue
		}
		worse := ""
		if b := d.r.Before; b != nil {
			if was, ok := b.States.Of(q.Quantity); ok && reached(was.InShare-q.InShare, worseShare) {
				worse = fmt.Sprintf("; in the %s before it was in band for %.0f %%", d.r.Span, 100*was.InShare)
			}
		}
		switch {
		case reached(q.OutShare, outShare):
			d.say(assess.UrgentNear, "log", "%s was out of band for %.0f h, %.0f %% of the time that is known, and in band for %.0f %%%s", q.Label, q.Out, 100*q.OutShare, 100*q.InShare, worse)
		case worse != "":
			d.say(assess.UrgentNote, "log", "%s was in band for %.0f %% of the time that is known%s", q.Label, 100*q.InShare, worse)
		}
	}
}

func (d *decider) frequency() {
	f := d.r.Frequency
	switch {
	case f == nil || d.r.Span != Week:
	case !f.WithinAll:
		d.say(assess.UrgentNear, "log", "The frequency was read beyond ±15 %% of nominal, which EN 50160 never allows: see that the sensitive loads are protected")
	case !f.Within95:
		d.say(assess.UrgentNear, "log", "The frequency was within %.1f to %.1f Hz for %.0f %% of the week that is known; EN 50160 asks for 95 %% (±2 %%, supplies without a link)", f.Low, f.High, 100*f.Share)
	}
}
