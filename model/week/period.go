package week

import (
	"math"
	"slices"
	"strings"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// period turns days into what is told of them.
func (in *Input) period(from, to time.Time, days []Day) Period {
	m, p := merge(days), in.History.Plant
	loc := p.Location
	out := Period{From: from, To: to, Hours: to.Sub(from).Hours(), EnergyKWh: energyOf(m.Sums), HoursCovered: m.Sums[Generated].Hours,
		HoursStood: m.Stood, Rounds: m.Rounds, Metered: m.Sums[Generated].Metered+m.Sums[Used].Metered > 0}
	if m.Last != nil {
		out.LastRound = &At{ID: m.Last.ID, Time: at(m.Last.At).In(loc)}
	}
	out.factors(m)
	out.units(m, p)
	keys := keysOf(m, p)
	out.States = statesOf(m.States, keys)
	out.Frequency = frequencyOf(m.States, p)
	out.Extremes = extremesOf(&m.Day, keys, loc)
	out.ClearingList = clearingsOf(m.Clears, loc)
	out.Clearings = len(out.ClearingList)
	out.Stops = stopsOf(m, to, loc)
	out.Water = waterOf(m, p)
	out.Permits = permitsOf(m, p)
	out.SetAside = setAsideOf(m.Counts, keys)
	out.Money = moneyOf(out.EnergyKWh.Used, p)
	out.upkeep(in.History.Done, loc)
	for _, e := range in.History.Events {
		if !e.Time.Before(from) && e.Time.Before(to) {
			out.Marks = append(out.Marks, Mark{At: At{e.ID, e.Time.In(loc)}, Kind: e.Kind, Units: e.Units, Text: wordsOf(e)})
		}
	}
	out.Days = make([]DayFacts, len(days))
	for i := range days {
		out.Days[i] = dayFacts(&days[i], keys, loc)
	}
	return out
}

// upkeep lists what was done, and the checklists that were ended early, which count as nothing done. What was taken back has no task.
func (p *Period) upkeep(done []record.Done, loc *time.Location) {
	for _, d := range done {
		if d.Time.Before(p.From) || !d.Time.Before(p.To) || d.Task == "" {
			continue
		}
		f := Done{At: At{d.ID, d.Time.In(loc)}, Task: d.Task, By: d.By, Note: d.Note}
		if d.Walk != nil {
			f.Steps = d.Walk.Summary()
		}
		if d.EndedEarly() {
			p.EndedEarly = append(p.EndedEarly, f)
		} else {
			p.UpkeepDone = append(p.UpkeepDone, f)
		}
	}
}

// energyOf gives each energy its range. What is used or dumped is never more than what may have been generated.
func energyOf(sums map[string]Sum) Energy {
	var e Energy
	for _, w := range []struct {
		name string
		to   **Range
	}{{Generated, &e.Generated}, {Used, &e.Used}, {Dumped, &e.Dumped}} {
		s := sums[w.name]
		if s.Hours == 0 {
			continue
		}
		r := s.Range()
		if e.Generated != nil && s.Hours == sums[Generated].Hours {
			r.High = max(r.Value, min(r.High, e.Generated.High))
		}
		*w.to = &r
	}
	return e
}

func (p *Period) factors(m merged) {
	if u := m.Sums[Used]; u.Hours > 0 && u.PeakKW > 0 {
		f := min(1, u.KWh/u.Hours/u.PeakKW) // a meter may tell of more than was ever read; the highest power is then the mean at least
		p.LoadFactor = &f
	}
	if m.RatedKWh > 0 {
		f := m.Sums[Generated].KWh / m.RatedKWh
		p.PlantFactor = &f
	}
	if m.Known > 0 {
		f := 1 - m.Tripped/m.Known
		p.Availability = &f
	}
}

// units lists the plant's units, and any that a former plant description had and that ran.
func (p *Period) units(m merged, pl *plant.Plant) {
	ids := pl.UnitIDs()
	for _, id := range sortedKeys(m.Units) {
		if !slices.Contains(ids, id) && m.Units[id].On > 0 {
			ids = append(ids, id)
		}
	}
	p.Units = []UnitRun{}
	for _, id := range ids {
		u, now := pl.UnitByID(id)
		t := m.Units[id]
		run := UnitRun{Unit: id, Name: u.Name, Hours: t.On, Unknown: t.Unknown, Starts: t.Starts}
		if s := m.Sums[id]; s.Hours > 0 {
			r := s.Range()
			run.EnergyKWh = &r
		}
		if now && !u.Common() {
			p.OwnBus = append(p.OwnBus, run)
		} else {
			p.Units = append(p.Units, run)
		}
	}
}

// keysOf lists the quantities that were read or judged, in walking order, those of former units last.
func keysOf(m merged, p *plant.Plant) []string {
	var keys []string
	for _, k := range quantity.Keys(p.UnitIDs()) {
		keys = append(keys, string(k))
	}
	for _, more := range [][]string{sortedKeys(m.Lows), sortedKeys(m.States)} {
		for _, k := range more {
			if k != en50160 && !slices.Contains(keys, k) {
				keys = append(keys, k)
			}
		}
	}
	return keys
}

func statesOf(m map[string]StateTime, keys []string) States {
	out := States{}
	for _, k := range keys {
		t, ok := m[k]
		if h := t.In + t.Near + t.Out; ok && h > 0 {
			out = append(out, QuantityState{Quantity: k, Label: assess.LabelOf(quantity.Key(k)), In: t.In, Near: t.Near, Out: t.Out, Hours: h,
				Readings: t.N, InShare: t.In / h, NearShare: t.Near / h, OutShare: t.Out / h})
		}
	}
	return out
}

// setAsideOf lists what was set aside, in the order of the keys, others last.
func setAsideOf(counts map[string]int, keys []string) []SetAside {
	var out []SetAside
	for _, c := range sortedKeys(counts) {
		if k, ok := strings.CutSuffix(c, slipCount); ok {
			out = append(out, SetAside{Quantity: k, Label: assess.LabelOf(quantity.Key(k)), Readings: counts[c]})
		}
	}
	place := func(s SetAside) int {
		if i := slices.Index(keys, s.Quantity); i >= 0 {
			return i
		}
		return len(keys)
	}
	slices.SortStableFunc(out, func(a, b SetAside) int { return place(a) - place(b) })
	return out
}

// setAside cautions of what was left out, "" where nothing was.
func (p *Period) setAside() string {
	var parts []string
	for _, s := range p.SetAside {
		parts = append(parts, lower(s.Label)+" "+count(s.Readings, "time", "times"))
	}
	if len(parts) == 0 {
		return ""
	}
	return "Left out here as slips of the pen: " + strings.Join(parts, ", ") + "; the Log shows and corrects them"
}

const en50160Note = "EN 50160, no synchronous link: ±2 % during 95 % of a week, ±15 % always, of 10 s means; here each round's reading stands for the time around it"

func frequencyOf(m map[string]StateTime, p *plant.Plant) *EN50160 {
	t := m[en50160]
	h := t.In + t.Near + t.Out
	if h == 0 {
		return nil
	}
	f := p.Supply.Hertz
	return &EN50160{Share: t.In / h, Hours: h, Within95: reached(t.In/h, en50160Week), WithinAll: t.Out == 0, Readings: t.N,
		Low: f * (1 - en50160Share), High: f * (1 + en50160Share), Note: en50160Note}
}

func extremesOf(d *Day, keys []string, loc *time.Location) []Extreme {
	out := []Extreme{}
	for _, k := range keys {
		low, ok := d.Lows[k]
		if !ok {
			continue
		}
		high := d.Highs[k]
		out = append(out, Extreme{Quantity: k, Label: assess.LabelOf(quantity.Key(k)), Low: valueAt(low, loc), High: valueAt(high, loc),
			LowState: low.State, HighState: high.State})
	}
	return out
}

func valueAt(s Seen, loc *time.Location) ValueAt {
	return ValueAt{At: At{ID: s.ID, Time: at(s.At).In(loc)}, Value: s.V}
}

func clearingsOf(rows []ClearRow, loc *time.Location) []Clearing {
	out := []Clearing{}
	for _, c := range rows {
		f := Clearing{At: At{c.ID, at(c.At).In(loc)}, By: c.By, BeforeKPa: c.Before, AfterKPa: c.After, GainKW: c.KW}
		if c.Before != nil && c.After != nil {
			gain := *c.After - *c.Before
			f.GainKPa = &gain
		}
		out = append(out, f)
	}
	return out
}

// stopsOf gives each stop its end: when any of its units runs again.
func stopsOf(m merged, to time.Time, loc *time.Location) []Stop {
	out := []Stop{}
	for _, s := range m.stops {
		f := Stop{At: At{s.ID, at(s.At).In(loc)}, Kind: s.Kind, Units: s.Units, All: s.All, Cause: s.Cause, By: s.By, Note: s.Note}
		end := to
		for _, on := range m.ons {
			if on.At > s.At && ends(s, on.Units) {
				end = at(on.At).In(loc)
				f.To = &end
				break
			}
		}
		f.Hours = end.Sub(f.Time).Hours()
		out = append(out, f)
	}
	return out
}

func dayFacts(d *Day, keys []string, loc *time.Location) DayFacts {
	m := merge([]Day{*d})
	f := DayFacts{From: at(d.From).In(loc), To: at(d.To).In(loc), EnergyKWh: energyOf(m.Sums), HoursCovered: d.Sums[Generated].Hours,
		HoursStood: d.Stood, Rounds: d.Rounds, Clearings: len(d.Clears), Extremes: extremesOf(d, keys, loc)}
	for _, s := range d.Stops {
		f.Stops++
		if s.Kind == string(record.Trip) {
			f.Trips++
		}
	}
	for k, t := range d.States {
		if k != en50160 {
			f.HoursOut = math.Max(f.HoursOut, t.Out)
		}
	}
	return f
}
