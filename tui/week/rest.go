package weekview

import (
	"fmt"
	"math"
	"strings"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/water"
	"example.org/headpond/model/week"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

// rest is what stands below the first page of a small window.
func (p page) rest(w int) []string {
	_, out := p.decisions(w)
	for _, b := range p.blocks() {
		out = join(out, p.block(b, w))
	}
	return join(out, p.days(w), p.block(p.cautions(), w))
}

// with adds parts that are not empty to a sentence.
func with(s string, parts ...string) string {
	for _, x := range parts {
		if x != "" {
			s += ", " + x
		}
	}
	return s
}

// stops lists the stops and trips with their lengths.
func (p page) stops() Block {
	r := p.report.Review
	out := Block{Title: "Stops and trips"}
	if len(r.Stops) == 0 {
		return out.says("None.")
	}
	for _, s := range r.Stops {
		state := ui.Unjudged
		what := map[string]string{"trip": "trip", "stop": "stopped", "seen": "found standing"}[s.Kind]
		if what == "" {
			what = text.Show(s.Kind)
		}
		if s.Kind == "trip" {
			state = ui.Near
		}
		if len(s.Units) > 0 {
			what += " " + text.Show(strings.Join(s.Units, "+"))
		}
		length := "for " + assess.SpanOf(s.Hours)
		switch {
		case s.To == nil && r.KnownTo != nil: // looked back at: it may long run again
			length += ", still standing when the " + p.word() + " ended"
		case s.To == nil:
			length += ", still standing"
		}
		if s.Time.Before(r.From) {
			length += ", since before this " + p.word()
		}
		line := with(p.clock(s.Time)+": "+what+" "+length, text.Show(s.Cause), by(s.By), text.Show(s.Note))
		out = out.lists(line, state)
	}
	return out
}

func by(who string) string {
	if who == "" {
		return ""
	}
	return "by " + text.Show(who)
}

// clearings lists what was gained each time that the screen was cleared.
func (p page) clearings() Block {
	r := p.report.Review
	title := "Screen clearings: " + strings.ReplaceAll(count(r.Clearings, "clearing", "clearings"), text.NBSP, " ")
	if r.Before != nil {
		title += fmt.Sprintf(", %d the %s before", r.Before.Clearings, p.word())
	}
	out := Block{Title: title}
	for _, c := range r.ClearingList {
		line := with(p.clock(c.Time), by(c.By))
		if c.BeforeKPa != nil && c.AfterKPa != nil {
			line += fmt.Sprintf(": %s before, %s after", p.reading(pressure, *c.BeforeKPa), p.reading(pressure, *c.AfterKPa))
		}
		out = out.lists(with(line, p.gain(c)), ui.Unjudged)
	}
	return out
}

// gain is what a clearing brought, as far as the gauge can tell.
func (p page) gain(c week.Clearing) string {
	info, _ := quantity.Lookup(quantity.PressureKPa)
	switch {
	case c.GainKPa == nil:
		return ""
	case strings.Trim(info.ShowEstimate(*c.GainKPa, p.common.Units), "0.") == "":
		return "no gain seen"
	}
	s := "gained " + p.reading(pressure, *c.GainKPa)
	if c.GainKW != nil {
		s += ", about " + power(*c.GainKW)
	}
	return s
}

const (
	pressure = quantity.Key(quantity.PressureKPa)
	level    = quantity.Key(quantity.PondLevelM)
)

// water is the pond over the period, and the forecast then and now.
func (p page) water() Block {
	r := p.report.Review
	out := Block{Title: "Water"}
	x := r.Water
	if x == nil {
		return out.says("No pond level was read.")
	}
	out = out.says(fmt.Sprintf("Pond %s on %s, %s on %s%s.", p.reading(level, x.First.Value), p.clock(x.First.Time),
		p.reading(level, x.Last.Value), p.clock(x.Last.Time), p.change(x)))
	out = out.says(fmt.Sprintf("Lowest %s on %s, highest %s on %s%s.", p.reading(level, x.Lowest.Value), p.clock(x.Lowest.Time),
		p.reading(level, x.Highest.Value), p.clock(x.Highest.Time), p.rain(x)))
	if f := r.Forecast; f != nil {
		out = out.says(p.foreseen("Forecast then", f.Then)).says(p.foreseen("Forecast "+map[bool]string{true: "now", false: "at the end"}[r.KnownTo == nil], f.Now))
	}
	return out
}

// change is what the pond gained or lost, and what is left.
func (p page) change(x *week.Water) string {
	s := ""
	if x.ChangeM3 != nil {
		word := "gained"
		if *x.ChangeM3 < 0 {
			word = "lost"
		}
		s = fmt.Sprintf(": %s %s", word, p.common.Units.ShowVolume(math.Abs(*x.ChangeM3), text.NBSP))
	}
	if x.UsableM3 != nil {
		s += fmt.Sprintf("; %s above the stop", p.common.Units.ShowVolume(*x.UsableM3, text.NBSP))
	}
	return s
}

func (p page) rain(x *week.Water) string {
	if x.RainMM == nil {
		return ""
	}
	return "; rain " + p.reading(quantity.Key(quantity.RainMM), *x.RainMM)
}

// foreseen is one forecast in a sentence.
func (p page) foreseen(lead string, f *week.Forecast) string {
	if f == nil {
		return ""
	}
	run := "with nothing running"
	if len(f.Run) > 0 {
		run = "running " + text.Show(strings.Join(f.Run, "+"))
	}
	lasts := assess.WaterSpan(f.Way())
	if lasts == "" {
		lasts = "not known yet"
	}
	if w := f.Way(); w.LeavesOut() && w.Outcome == water.RunsOut {
		lasts += fmt.Sprintf(", unless rain fills it first (%.0f of 100 outcomes)", 100**w.FilledFirst)
	}
	return fmt.Sprintf("%s, %s at %s %s: %s.", lead, p.day(f.Time), p.reading(level, rounded2(f.LevelM)), run, lasts)
}

// rounded2 takes a computed level to the digits that a gauge has.
func rounded2(v float64) float64 { return math.Round(v*100) / 100 }

// permits says which limits were kept.
func (p page) permits() Block {
	r := p.report.Review
	if len(r.Permits) == 0 {
		return Block{}
	}
	out := Block{Title: "Permit"}
	for _, x := range r.Permits {
		k := level
		if x.Unit != "m" {
			k = quantity.Key(quantity.BypassLps)
		}
		switch {
		case x.Readings == 0:
			out = out.lists(fmt.Sprintf("%s %s: not read, so not known", upper(text.Show(x.Label)), p.reading(k, x.Limit)), ui.Near)
		case x.Kept:
			out = out.lists(fmt.Sprintf("%s %s: kept, by %s; nearest %s on %s", upper(text.Show(x.Label)), p.reading(k, x.Limit), count(x.Readings, "reading", "readings"), p.reading(k, x.Worst.Value), p.clock(x.Worst.Time)), ui.Unjudged)
		default:
			out = out.lists(fmt.Sprintf("%s %s: broken by %d of %s; worst %s on %s", upper(text.Show(x.Label)), p.reading(k, x.Limit), x.Broken, count(x.Readings, "reading", "readings"), p.reading(k, x.Worst.Value), p.clock(x.Worst.Time)), ui.Out)
		}
	}
	return out
}

// money is what the used energy saved.
func (p page) money() Block {
	r := p.report.Review
	m := r.Money
	if m == nil && r.Payback == nil {
		return Block{}
	}
	out := Block{Title: "Saved"}
	if m != nil {
		cur := text.Show(m.Currency)
		if m.Saved != nil {
			line := estimate(*m.Saved, cur)
			if r.Before != nil && r.Before.Money != nil && r.Before.Money.Saved != nil {
				line += "; the " + p.word() + " before " + estimate(*r.Before.Money.Saved, cur)
			}
			out = out.says(line + ".")
		}
		for _, f := range m.Fuels {
			line := "As much as " + estimate(f.Amount, text.Show(f.Unit)) + " of " + text.Show(f.Name)
			if f.Worth != nil {
				line += ", worth " + estimate(*f.Worth, cur)
			}
			out = out.says(line + ".")
		}
	}
	if b := r.Payback; b != nil {
		cur := text.Show(b.Currency)
		line := fmt.Sprintf("Since %s: %s, %s of what the plant cost (%s %s)", p.common.Local(b.Since).Format("2 Jan 2006"), estimate(b.Saved, cur), percent(b.Share), rounded(b.Cost, 1), cur)
		if b.YearsToGo != nil {
			line += fmt.Sprintf("; at this rate about %s years to go", rounded(*b.YearsToGo, step(week.Range{Value: 50 * *b.YearsToGo})))
		}
		out = out.says(line + ".")
	}
	return out
}

// upkeep is what was done and what is due.
func (p page) upkeep() Block {
	r := p.report.Review
	out := Block{Title: "Upkeep"}
	for _, d := range r.UpkeepDone {
		out = out.lists(with("Done "+p.day(d.Time)+": "+text.Show(d.Task), by(d.By), d.Steps, text.Show(d.Note)), ui.Unjudged)
	}
	for _, d := range r.EndedEarly {
		out = out.lists(with("Ended early "+p.day(d.Time)+", which is not done: "+text.Show(d.Task), by(d.By), d.Steps, text.Show(d.Note)), ui.Unjudged)
	}
	for _, t := range r.UpkeepDue {
		state := ui.Unjudged
		if string(t.State) == "overdue" {
			state = ui.Near
		}
		when := ""
		switch {
		case t.DueTime != nil:
			when = "by " + p.day(*t.DueTime)
		case t.DueHours != nil && *t.DueHours < 0:
			when = strings.ReplaceAll(hours(-*t.DueHours), text.NBSP, " ") + " of running too late"
		case t.DueHours != nil:
			when = "in " + hours(*t.DueHours) + " of running"
		}
		out = out.lists(with(upper(string(t.State))+": "+text.Show(t.Task), when), state)
	}
	if len(r.UpkeepDone)+len(r.EndedEarly)+len(r.UpkeepDue) == 0 {
		out = out.says("Nothing was done and nothing is due.")
	}
	return out
}

// units is how long each set ran.
func (p page) units() Block {
	r := p.report.Review
	if len(r.Units)+len(r.OwnBus) == 0 {
		return Block{}
	}
	out := Block{Title: "Sets"}
	add := func(u week.UnitRun, own string) {
		line := "Unit " + text.Show(u.Unit)
		if u.Name != "" {
			line += ", " + text.Show(u.Name)
		}
		line += own + ": ran " + hours(u.Hours) + ", " + count(u.Starts, "start", "starts")
		if u.Unknown >= 0.5 {
			line += ", not known for " + hours(u.Unknown)
		}
		if u.EnergyKWh != nil {
			line += ", gave " + estimate(*u.EnergyKWh, "kWh")
		}
		out = out.lists(line, ui.Unjudged)
	}
	for _, u := range r.Units {
		add(u, "")
	}
	for _, u := range r.OwnBus {
		add(u, " (a bus of its own)")
	}
	was := week.Period{}
	if r.Before != nil {
		was = *r.Before
	}
	out = out.lists(p.factor("Load factor (mean of highest load)", r.LoadFactor, was.LoadFactor), ui.Unjudged)
	return out.lists(p.factor("Generated, of what the sets are rated for", r.PlantFactor, was.PlantFactor), ui.Unjudged)
}

// factor is a share of this period and of the one before.
func (p page) factor(name string, now, then *float64) string {
	if now == nil {
		return ""
	}
	s := name + ": " + percent(*now)
	if then != nil {
		s += ", the " + p.word() + " before " + percent(*then)
	}
	return s
}

// extremes lists the lowest and highest readings with their times.
func (p page) extremes() Block {
	list := p.report.Review.Extremes
	if len(list) == 0 {
		return Block{}
	}
	out := Block{Title: "Lowest and highest"}
	for _, e := range list {
		k := quantity.Key(e.Quantity)
		switch k.Name() {
		case quantity.RainMM, quantity.PressureBefore, quantity.PressureAfter:
			continue // the parts on the water and on the clearings have them
		}
		s := fmt.Sprintf("%s %s on %s", assess.LabelOf(k), p.reading(k, e.Low.Value), p.clock(e.Low.Time))
		if e.High.Value > e.Low.Value {
			s += fmt.Sprintf(", %s on %s", p.reading(k, e.High.Value), p.clock(e.High.Time))
		}
		out = out.lists(s, max(ui.StateOf(e.LowState), ui.StateOf(e.HighState)))
	}
	return out
}

// days is a row a day: what it gave, and what happened.
func (p page) days(w int) []string {
	r := p.report.Review
	if len(r.Days) == 0 || len(r.Days) > tabledDays {
		return nil
	}
	cells := p.dayCells()
	head := text.PadRight("Day", cells+1) + text.PadLeft("generated", 10) + text.PadLeft("used", 10) + text.PadLeft("dumped", 10) + text.PadLeft("known", 8) + text.PadLeft("rounds", 8) + "  what happened"
	out := []string{p.section(p.common.Theme.Cut(head, w-2), w)}
	digits := dayStep(r.Days)
	for _, d := range r.Days {
		out = append(out, p.common.Theme.Cut(strings.TrimRight(p.dayRow(d, cells, digits), " "), w))
	}
	return out
}

// tabledDays is the most days that are listed; a year's stand in the charts alone.
const tabledDays = 31 + 1

// dayStep is the last digit of all days' energies: that of the least sure one, but one that tells a day of a tenth of the
// best from the others.
func dayStep(days []week.DayFacts) float64 {
	coarse, most := 0.1, 0.0
	for _, d := range days {
		for _, r := range []*week.Range{d.EnergyKWh.Generated, d.EnergyKWh.Used, d.EnergyKWh.Dumped} {
			if r != nil {
				coarse, most = max(coarse, step(*r)), max(most, zero(r.Value))
			}
		}
	}
	for coarse > 0.1 && most < 100*coarse {
		coarse /= 10
	}
	return max(0.1, coarse)
}

// dayCells is the width of the days' names.
func (p page) dayCells() int {
	cells := 10
	for _, d := range p.report.Review.Days {
		cells = max(cells, text.Width(p.dayName(d)))
	}
	return cells
}

// dayName names a day in the table, where a year takes the weekday's room.
func (p page) dayName(d week.DayFacts) string {
	if p.otherYear(d.From) {
		return p.common.Local(d.From).Format("2 Jan 2006")
	}
	return p.day(d.From)
}

func (p page) dayRow(d week.DayFacts, cells int, digits float64) string {
	cell := func(r *week.Range) string {
		s := dayKWh(r, digits)
		if r != nil {
			s += " kWh"
		}
		return text.PadLeft(s, 10)
	}
	row := " " + text.PadRight(p.dayName(d), cells)
	row += cell(d.EnergyKWh.Generated) + cell(d.EnergyKWh.Used) + cell(d.EnergyKWh.Dumped)
	row += text.PadLeft(hours(d.HoursCovered), 8) + text.PadLeft(fmt.Sprint(d.Rounds), 8)
	return row + "  " + happenings(d)
}

// dayKWh is a day's energy as a number; a dash where it is not known.
func dayKWh(r *week.Range, digits float64) string {
	if r == nil {
		return "-"
	}
	return rounded(r.Value, digits)
}

// happenings are what a day saw besides rounds.
func happenings(d week.DayFacts) string {
	var happened []string
	note := func(n int, one, many string) {
		if n > 0 {
			happened = append(happened, count(n, one, many))
		}
	}
	note(d.Trips, "trip", "trips")
	note(d.Stops-d.Trips, "stop", "stops")
	note(d.Clearings, "clearing", "clearings")
	if d.HoursOut > 0 {
		happened = append(happened, hours(d.HoursOut)+" out")
	}
	return strings.Join(happened, ", ")
}

// cautions says what was left out, and what all estimates are.
func (p page) cautions() Block {
	r := p.report.Review
	out := Block{Title: "Cautions", kind: dashed}
	list := append([]string{}, r.Cautions...)
	if r.Metered {
		list = append(list, "Where the energy meters were read, their totals stand in place of what lies between the rounds")
	}
	if r.Frequency != nil && r.Frequency.Note != "" {
		list = append(list, r.Frequency.Note)
	}
	list = append(list, "These are estimates from hand readings, with the range in which the truth probably lies. They support, and never replace, the protection relays, the local electrical code, the water permit, and licensed electricians and engineers.")
	for _, c := range list {
		out = out.lists(ended(upper(text.Show(c))), ui.Unjudged)
	}
	return out
}
