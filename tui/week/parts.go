package weekview

import (
	"fmt"
	"strings"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/week"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/chart"
	"example.org/headpond/tui/ui/text"
)

// Parts is a review in words, tables and charts, for who lays it out otherwise than a terminal does.
type Parts struct {
	Plant     string
	Period    string // which time, and how much of it is known
	Verdict   Item
	Decisions []Decided
	Energy    Table
	Bands     Table
	Frequency Item // EN 50160's reading; without text where no frequency was read
	Blocks    []Block
	Days      Table // without rows for a year
	Figures   []Figure
	Cautions  []Item
}

// Decided is one thing to decide.
type Decided struct {
	Item
	Mark string // its urgency as a word and a sign: "OUT !!"
}

// Table is a table in words. The first cell of each row names it.
type Table struct {
	Title string
	Head  []string
	Rows  [][]Item
}

// Figure is a chart with what can be seen in it, in a sentence and as a table.
type Figure struct {
	Chart chart.Chart
	Title string
	Desc  string
	Table Table
}

// PartsOf takes a review apart. The Theme of c is not used. It is empty where the report has no review.
func PartsOf(r Report, c ui.Common) Parts {
	if r.Review == nil {
		return Parts{}
	}
	p := page{report: r, common: c, text: true}
	out := Parts{
		Plant: text.Show(r.Review.Plant), Period: p.period(true), Verdict: p.verdict(), Frequency: p.frequency(),
		Energy: p.energyTable(), Bands: p.bandTable(), Days: p.dayTable(), Cautions: p.cautions().Items,
	}
	for _, d := range r.Review.Decisions {
		out.Decisions = append(out.Decisions, Decided{Item: Item{Text: ended(upper(text.Show(d.Text))), State: ui.StateOfUrgency(d.Urgency)}, Mark: ui.UrgencyMark(d.Urgency)})
	}
	for _, b := range p.blocks() {
		if b.Title != "" {
			out.Blocks = append(out.Blocks, b)
		}
	}
	for k := range kinds {
		out.Figures = append(out.Figures, p.told(k))
	}
	return out
}

// energyTable is what the plant gave, beside the period before.
func (p page) energyTable() Table {
	r := p.report.Review
	t := Table{Title: "What it gave", Head: []string{"", "this " + p.word(), p.before()}}
	for _, x := range p.energies() {
		t.Rows = append(t.Rows, items(upper(x.name), p.energyOf(&r.Period, x.now, true), p.energyOf(r.Before, x.then, r.Before != nil)))
	}
	t.Rows = append(t.Rows, items("Available", p.available(&r.Period), p.availableOf(r.Before)))
	return t
}

func items(cells ...string) []Item {
	out := make([]Item, len(cells))
	for i, c := range cells {
		out[i].Text = c
	}
	return out
}

// bandTable is how long each quantity was in its band.
func (p page) bandTable() Table {
	r := p.report.Review
	t := Table{Title: "Time in band", Head: []string{"", "in", "near !", "out !!", "in, " + p.word() + " before", "lowest", "highest"}}
	for _, q := range worstFirst(r.States) {
		row := items(assess.LabelOf(quantity.Key(q.Quantity)), percent(q.InShare), percent(q.NearShare), percent(q.OutShare), p.inBefore(q.Quantity), "", "")
		if q.NearShare > 0 {
			row[2].State = ui.Near
		}
		if q.OutShare > 0 {
			row[3].State = ui.Out
		}
		if e, ok := r.Extreme(q.Quantity); ok {
			row[5] = p.extremeItem(e, e.Low, e.LowState)
			row[6] = p.extremeItem(e, e.High, e.HighState)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// extremeItem is a value with its state's sign and its time.
func (p page) extremeItem(e week.Extreme, v week.ValueAt, state string) Item {
	s := ui.StateOf(state)
	return Item{Text: strings.TrimSpace(p.reading(quantity.Key(e.Quantity), v.Value)+" "+s.Sign()) + ", " + p.clock(v.Time), State: s}
}

// dayTable is a row a day.
func (p page) dayTable() Table {
	r := p.report.Review
	t := Table{Title: "Day by day", Head: []string{"Day", "generated, kWh", "used, kWh", "dumped, kWh", "known", "rounds", "what happened"}}
	if len(r.Days) > tabledDays {
		return t
	}
	digits := dayStep(r.Days)
	for _, d := range r.Days {
		t.Rows = append(t.Rows, items(p.day(d.From), dayKWh(d.EnergyKWh.Generated, digits), dayKWh(d.EnergyKWh.Used, digits), dayKWh(d.EnergyKWh.Dumped, digits),
			hours(d.HoursCovered), fmt.Sprint(d.Rounds), happenings(d)))
	}
	return t
}

// told is a chart with the same in words.
func (p page) told(k kind) Figure {
	f := p.figure(k)
	out := Figure{Chart: f.chart, Title: k.title(), Table: Table{Title: k.title() + " as read", Head: []string{"When", "What"}}}
	if p.byDays() {
		out.Table.Title = k.title() + " by days"
	}
	for _, s := range f.stops {
		first, state, more := p.readout(f, s)
		when, what, _ := strings.Cut(first, ": ")
		if k == powerChart && s.d == nil && more != "" {
			what = powers(s.p)
		}
		out.Table.Rows = append(out.Table.Rows, []Item{{Text: upper(when)}, {Text: upper(what), State: state}})
	}
	if k == powerChart && p.byDays() {
		out.Title = "Energy used and dumped, a day"
	}
	out.Desc = p.describe(f, k)
	return out
}

// describe says in a sentence what can be seen in a chart.
func (p page) describe(f figure, k kind) string {
	r := p.report.Review
	if len(f.stops) == 0 {
		return f.chart.Empty
	}
	if k == powerChart {
		s := "Used and dumped power, one on the other"
		for _, x := range p.energies() {
			if x.now != nil {
				s += "; " + x.name + " " + energy(r.EnergyKWh, *x.now)
			}
		}
		return s + "."
	}
	read := 0
	for _, x := range f.stops {
		if x.f == nil {
			read++
		}
	}
	what := [2]string{"reading", "readings"}
	if p.byDays() {
		what = [2]string{"day with readings", "days with readings"}
	}
	s := count(read, what[0], what[1])
	if e, ok := r.Extreme(string(k.quantity())); ok {
		s += fmt.Sprintf(", from %s on %s to %s on %s", p.reading(quantity.Key(e.Quantity), e.Low.Value), p.clock(e.Low.Time), p.reading(quantity.Key(e.Quantity), e.High.Value), p.clock(e.High.Time))
	}
	if q, ok := r.States.Of(string(k.quantity())); ok {
		s += fmt.Sprintf("; in band %s of the time, near %s, out %s", percent(q.InShare), percent(q.NearShare), percent(q.OutShare))
	}
	if k == levelChart && len(p.fan()) > 0 {
		s += "; after " + map[bool]string{true: "now", false: "the " + p.word() + "'s end"}[r.KnownTo == nil] + " the forecast's middle with its likely range"
	}
	return upper(s) + "."
}
