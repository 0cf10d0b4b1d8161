package weekview

import (
	"math"
	"slices"
	"strings"
	"time"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/tolerance"
	"example.org/headpond/model/water"
	"example.org/headpond/model/week"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/chart"
	"example.org/headpond/tui/ui/text"
)

// kind is one of the charts.
type kind int

const (
	powerChart kind = iota
	voltsChart
	hertzChart
	pressureChart
	levelChart
	kinds // how many there are
)

// title names the chart.
func (k kind) title() string {
	return [kinds]string{"Power used and dumped", "Voltage", "Frequency", "Intake pressure", "Pond level"}[k]
}

// quantity is what the chart shows; "" for the powers, which several readings make.
func (k kind) quantity() quantity.Name {
	return [kinds]quantity.Name{"", quantity.Volts, quantity.Hertz, quantity.PressureKPa, quantity.PondLevelM}[k]
}

// figure is a chart with what its cursor can stand on.
type figure struct {
	kind  kind
	chart chart.Chart
	stops []stop
}

// stop is a place of the cursor: a round, a day in a period that is shown by days, or a time in the forecast.
type stop struct {
	at time.Time
	id string          // the round; "" for a day
	to time.Time       // the day's end; zero for a round
	p  *week.Point     // the round
	d  *week.DayFacts  // the day
	k  quantity.Key    // what the figure shows of it
	e  []week.Mark     // what happened since the stop before
	c  bool            // the screen was cleared
	f  *water.FanPoint // the forecast
}

// times are the instants of the stops.
func (f figure) times() []time.Time {
	out := make([]time.Time, len(f.stops))
	for i, s := range f.stops {
		out[i] = s.at
	}
	return out
}

// last is the newest stop that is not a forecast.
func (f figure) last() time.Time {
	for i := len(f.stops) - 1; i >= 0; i-- {
		if f.stops[i].f == nil {
			return f.stops[i].at
		}
	}
	return time.Time{}
}

// at returns the stop at an instant.
func (f figure) at(t time.Time) (stop, bool) {
	i, ok := slices.BinarySearchFunc(f.stops, t, func(s stop, t time.Time) int { return s.at.Compare(t) })
	if !ok {
		return stop{}, false
	}
	return f.stops[i], true
}

// unread is the time without a reading from which a line is broken even where nothing else says so.
const unread = 36 * time.Hour

// figure makes a chart of the review.
func (p page) figure(k kind) figure {
	r := p.report.Review
	f := figure{kind: k, chart: chart.Chart{From: r.From, To: r.To, Location: p.common.Location, Events: p.events(k), Limits: p.limits(k)}}
	if k == powerChart {
		p.powers(&f)
	} else {
		f.chart.Unit, f.chart.Empty = p.unitOf(k.quantity()), "No "+lower(k.title())+" was read."
		p.readings(&f)
	}
	if k == levelChart {
		p.forecast(&f)
	}
	p.happened(f.stops)
	return f
}

// byDays reports whether the period is shown by days: its rounds would be more than a chart can tell apart.
func (p page) byDays() bool { return p.report.Review.Points == nil }

// powers stacks the dumped on the used power, or the energies of the days.
func (p page) powers(f *figure) {
	used := chart.Band{Name: "used", Fill: chart.Solid, Gap: unread}
	dumped := chart.Band{Name: "dumped", Fill: chart.Medium, Gap: unread}
	f.chart.Unit, f.chart.Empty = "kW", "No power was read."
	most := 0.0
	add := func(at time.Time, u, d float64) {
		used.Points = append(used.Points, chart.BandPoint{At: at, Low: 0, High: u})
		base := u
		if math.IsNaN(u) {
			base = 0
		}
		dumped.Points = append(dumped.Points, chart.BandPoint{At: at, Low: base, High: base + d})
		most = max(most, zero(base)+zero(d))
	}
	if p.byDays() {
		f.chart.Unit, f.chart.Empty = "kWh a day", "No day's energy is known."
		for i := range p.report.Review.Days {
			d := &p.report.Review.Days[i]
			if d.EnergyKWh.Used == nil && d.EnergyKWh.Dumped == nil {
				continue
			}
			add(middle(d), rangeValue(d.EnergyKWh.Used), rangeValue(d.EnergyKWh.Dumped))
			f.stops = append(f.stops, stop{at: middle(d), to: d.To, d: d})
		}
	} else {
		p.eachPoint(func(pt *week.Point) bool { return pt.UsedKW != nil || pt.DumpedKW != nil }, func(pt, prev *week.Point, hole *week.Hole) {
			if hole != nil {
				if hole.From.After(prev.Time) {
					add(hole.From, number(prev.UsedKW), number(prev.DumpedKW))
				}
				add(hole.From.Add(hole.To.Sub(hole.From)/2), math.NaN(), math.NaN())
				if hole.To.Before(pt.Time) {
					add(hole.To, number(pt.UsedKW), number(pt.DumpedKW))
				}
			}
			add(pt.Time, number(pt.UsedKW), number(pt.DumpedKW))
			f.stops = append(f.stops, stop{at: pt.Time, id: pt.ID, p: pt, c: pt.Cleared})
		})
	}
	f.chart.Bands = []chart.Band{dumped, used}
	if most > 0 {
		f.chart.Lo, f.chart.Hi = 0, most*1.1
	}
}

// eachPoint calls f for the rounds that have something, with the one before and the hole that lies between the two; nil where
// none does.
func (p page) eachPoint(has func(*week.Point) bool, f func(pt, prev *week.Point, hole *week.Hole)) {
	var prev *week.Point
	var hole *week.Hole
	points := p.report.Review.Points
	for i := range points {
		pt := &points[i]
		switch {
		case prev == nil || pt.Hole == nil:
		case hole == nil:
			hole = &week.Hole{From: pt.Hole.From, To: pt.Hole.To}
		default:
			hole.To = pt.Hole.To
		}
		if !has(pt) {
			continue
		}
		f(pt, prev, hole)
		prev, hole = pt, nil
	}
}

// readings draws a quantity of the common bus, and of the units that have meters of their own, or the days' ranges.
func (p page) readings(f *figure) {
	n := f.kind.quantity()
	if p.byDays() {
		p.ranges(f, quantity.Key(n))
		return
	}
	on := map[string]bool{}
	for _, k := range p.keys(n) {
		s := chart.Series{Name: label(k), Gap: unread}
		p.eachPoint(func(pt *week.Point) bool { _, ok := pt.Values[k]; return ok }, func(pt, prev *week.Point, hole *week.Hole) {
			v := p.shown(n, pt.Values[k])
			add := func(at time.Time, v float64) { s.Points = append(s.Points, chart.Point{At: at, Value: v}) }
			if hole != nil && n != quantity.PondLevelM { // a pond does not stop with the sets
				if hole.From.After(prev.Time) {
					add(hole.From, p.shown(n, prev.Values[k]))
				}
				add(hole.From.Add(hole.To.Sub(hole.From)/2), math.NaN())
				if hole.To.Before(pt.Time) {
					add(hole.To, v)
				}
			}
			add(pt.Time, v)
			f.flag(pt.Time, v, pt.States[k])
			if !on[pt.ID] {
				on[pt.ID] = true
				f.stops = append(f.stops, stop{at: pt.Time, id: pt.ID, p: pt, k: k, c: pt.Cleared})
			}
		})
		f.chart.Series = append(f.chart.Series, s)
	}
	slices.SortStableFunc(f.stops, func(a, b stop) int { return a.at.Compare(b.at) })
	f.stops = slices.CompactFunc(f.stops, func(a, b stop) bool { return a.at.Equal(b.at) })
}

// flag marks a reading that was not in its band.
func (f *figure) flag(at time.Time, v float64, state string) {
	if s := ui.StateOf(state); s == ui.Near || s == ui.Out {
		f.chart.Flags = append(f.chart.Flags, chart.Flag{At: at, Value: v, State: s})
	}
}

// keys are the readings of a quantity that stand in the period's rounds: the common bus first, then the units in order.
func (p page) keys(n quantity.Name) []quantity.Key {
	seen := map[quantity.Key]bool{}
	var out []quantity.Key
	for _, pt := range p.report.Review.Points {
		for k := range pt.Values {
			if k.Name() == n && !seen[k] {
				seen[k] = true
				out = append(out, k)
			}
		}
	}
	slices.SortFunc(out, func(a, b quantity.Key) int { return strings.Compare(a.Unit(), b.Unit()) })
	return out[:min(len(out), ui.SeriesCount)]
}

// ranges draws each day's lowest to highest reading.
func (p page) ranges(f *figure, k quantity.Key) {
	band := chart.Band{Name: "lowest to highest of the day", Fill: chart.Medium, Gap: unread}
	for i := range p.report.Review.Days {
		d := &p.report.Review.Days[i]
		e, ok := d.Extreme(string(k))
		if !ok {
			continue
		}
		at, lo, hi := middle(d), p.shown(k.Name(), e.Low.Value), p.shown(k.Name(), e.High.Value)
		band.Points = append(band.Points, chart.BandPoint{At: at, Low: lo, High: hi})
		f.flag(at, lo, e.LowState)
		f.flag(at, hi, e.HighState)
		f.stops = append(f.stops, stop{at: at, to: d.To, d: d, k: k})
	}
	f.chart.Bands = []chart.Band{band}
}

// toldEvery is how far apart the cursor's places in a forecast are: it says nothing of a single hour.
const toldEvery = 12 * time.Hour

// forecast adds the fan for the way of running in force; the chart then goes on past the period.
func (p page) forecast(f *figure) {
	fan := p.fan()
	if len(fan) == 0 {
		return
	}
	r := p.report.Review
	until := r.To.Add(r.To.Sub(r.From) / 2)
	band, mid := chart.Band{Name: "likely range", Fill: chart.Light}, chart.Series{Name: "forecast, middle"}
	told := r.To
	for i, x := range fan {
		if x.Time.After(until) {
			break
		}
		if x.Time.Sub(told) >= toldEvery {
			told = x.Time
			f.stops = append(f.stops, stop{at: x.Time, f: &fan[i]})
		}
		band.Points = append(band.Points, chart.BandPoint{At: x.Time, Low: p.shown(quantity.PondLevelM, x.LevelM.P10), High: p.shown(quantity.PondLevelM, x.LevelM.P90)})
		mid.Points = append(mid.Points, chart.Point{At: x.Time, Value: p.shown(quantity.PondLevelM, x.LevelM.P50)})
	}
	f.chart.Now, f.chart.NowName, f.chart.To = r.To, p.endName(), until
	f.chart.Bands = append([]chart.Band{band}, f.chart.Bands...)
	f.chart.Series = append(f.chart.Series, mid)
}

// endName is what the period's end is called: only the present is "now".
func (p page) endName() string {
	if p.report.Review.KnownTo != nil {
		return "end"
	}
	return "now"
}

// fan is the forecast at the period's end for the way of running in force.
func (p page) fan() []water.FanPoint {
	w := p.report.Review.Forecast
	if w == nil || w.Facts == nil || w.Now == nil {
		return nil
	}
	for _, way := range w.Facts.Ways {
		if way.Plan == nil && slices.Equal(way.Run, w.Now.Run) {
			return way.Fan
		}
	}
	return nil
}

// events are the trips and stops, and where they matter the clearings.
func (p page) events(k kind) []chart.Event {
	var out []chart.Event
	if (k == pressureChart || k == powerChart) && !p.byDays() {
		for _, c := range p.report.Review.ClearingList {
			out = append(out, chart.Event{At: c.Time, Sign: 'c', Name: "screen cleared"})
		}
	}
	for _, m := range p.report.Review.Marks {
		switch {
		case m.Kind == record.Trip:
			out = append(out, chart.Event{At: m.Time, Sign: 'T', Name: "trip"})
		case m.Kind == record.Stop && !p.byDays(): // a year has too many
			out = append(out, chart.Event{At: m.Time, Sign: 'S', Name: "stop"})
		}
	}
	return out
}

// limits are the bands' limits, each named by the state beyond it, and the pond's levels that matter.
func (p page) limits(k kind) []chart.Limit {
	if k == levelChart {
		return p.levels()
	}
	if p.report.Plant == nil || k == powerChart {
		return nil
	}
	band, ok := tolerance.For(p.report.Plant).For(quantity.Key(k.quantity()))
	if !ok {
		return nil
	}
	var out []chart.Limit
	add := func(v *float64, name string, s ui.State) {
		if v != nil {
			out = append(out, chart.Limit{Name: s.Sign() + " " + name, Value: p.shown(k.quantity(), *v), State: s})
		}
	}
	near := func(in, near *float64) bool { return near != nil && (in == nil || *in != *near) }
	if near(band.InMin, band.NearMin) {
		add(band.InMin, "below", ui.Near)
		add(band.NearMin, "below", ui.Out)
	} else {
		add(band.InMin, "below", ui.Out)
	}
	if near(band.InMax, band.NearMax) {
		add(band.InMax, "above", ui.Near)
		add(band.NearMax, "above", ui.Out)
	} else {
		add(band.InMax, "above", ui.Out)
	}
	return out
}

// levels are the stop, the crest and the permit's limits.
func (p page) levels() []chart.Limit {
	var out []chart.Limit
	add := func(name string, v *float64, s ui.State) {
		if v != nil {
			out = append(out, chart.Limit{Name: name, Value: p.shown(quantity.PondLevelM, *v), State: s})
		}
	}
	if w := p.report.Review.Water; w != nil {
		add("stop", w.StopM, ui.Out)
		add("crest", w.CrestM, ui.Unjudged)
	}
	for _, x := range p.report.Review.Permits {
		if x.Unit == "m" {
			add("permit, "+text.Show(lower(x.Label)), &x.Limit, ui.Near)
		}
	}
	return out
}

// happened gives each stop the events since the one before.
func (p page) happened(stops []stop) {
	marks, from := p.report.Review.Marks, p.report.Review.From
	for i := range stops {
		for _, m := range marks {
			if m.Time.After(from) && !m.Time.After(stops[i].at) && stops[i].p != nil {
				stops[i].e = append(stops[i].e, m)
			}
		}
		from = stops[i].at
	}
}

// middle is the middle of a day, where its point stands.
func middle(d *week.DayFacts) time.Time { return d.From.Add(d.To.Sub(d.From) / 2) }

// number is a value, or NaN.
func number(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}

func rangeValue(r *week.Range) float64 {
	if r == nil {
		return math.NaN()
	}
	return r.Value
}

// zero is a value, or 0 where it is none.
func zero(v float64) float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	return v
}
