package workbook

import (
	"fmt"
	"maps"
	"slices"

	"github.com/xuri/excelize/v2"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// units are the plant's, then others that rounds tell of.
func (x *writer) units(held map[quantity.Key]bool) []string {
	ids := slices.Clone(x.o.Plant.UnitIDs())
	for _, k := range slices.Sorted(maps.Keys(held)) {
		if id := k.Unit(); id != "" && !slices.Contains(ids, id) {
			ids = append(ids, id)
		}
	}
	return ids
}

func (x *writer) events() error {
	rows := [][]any{}
	err := x.b.Events(x.ctx, x.o.From, x.o.To, func(e record.Event) error {
		x.correctionsOf("event", e.Time, e.ID, e.Changes)
		rows = append(rows, []any{x.when(e.Time), text(e.Kind.Words()), text(e.Text(record.ColUnit)), text(e.Element), text(e.Cause), text(e.By), text(e.Note), e.ID})
		return nil
	})
	if err != nil {
		return err
	}
	return x.sheet(sheetEvents, []string{x.timeTitle("Time"), "Kind", "Units", "Ballast element", "Cause", "By", "Note", "Entry"},
		[]float64{17, 13, 9, 15, 30, 9, 40, 29}, rows)
}

// upkeep writes what was done. Checklists that were walked have a column for what came of them, and a sheet with a row a step.
func (x *writer) upkeep() error {
	rows, steps := [][]any{}, [][]any{}
	walked := x.walked
	err := x.b.Done(x.ctx, x.o.From, x.o.To, func(d record.Done) error {
		x.correctionsOf("upkeep", d.Time, d.ID, d.Changes)
		row := []any{x.when(d.Time), text(d.Task), text(d.By), text(d.Note)}
		if walked {
			row = append(row, text(outcome(d)))
			steps = append(steps, x.steps(d)...)
		}
		rows = append(rows, append(row, d.ID))
		return nil
	})
	if err != nil {
		return err
	}
	header, widths := []string{x.timeTitle("Time"), "Task", "By", "Note"}, []float64{17, 40, 9, 40}
	if walked {
		header, widths = append(header, "Checklist"), append(widths, 40)
	}
	if err := x.sheet(sheetUpkeep, append(header, "Entry"), append(widths, 29), rows); err != nil || !walked {
		return err
	}
	return x.sheet(sheetSteps, []string{x.timeTitle("Walked"), "Checklist", "Step", "What was to do", "What came of it", "Note", x.timeTitle("Ticked"), "By", "Entry"},
		[]float64{17, 30, 6, 70, 14, 40, 17, 9, 29}, steps)
}

// outcome says what came of a checklist, "" for a task without one.
func outcome(d record.Done) string {
	switch {
	case d.Walk == nil:
		return ""
	case d.EndedEarly():
		return "ended early, not done: " + d.Walk.Summary()
	}
	return d.Walk.Summary()
}

// steps are the rows of a walked checklist, in its order.
func (x *writer) steps(d record.Done) [][]any {
	if d.Walk == nil {
		return nil
	}
	rows := make([][]any, len(d.Walk.Ticks))
	for i, t := range d.Walk.Ticks {
		rows[i] = []any{x.when(d.Time), text(d.Task), i + 1, text(t.Step), text(t.State.Word()), text(t.Note), x.when(t.At), text(d.By), d.ID}
	}
	return rows
}

func (x *writer) writeCorrections() error {
	return x.sheet(sheetCorrections, []string{x.timeTitle("Corrected"), "What", x.timeTitle("Its time"), "Column", "Old", "New", "By", "Why", "Entry"},
		[]float64{17, 9, 17, 16, 16, 16, 9, 40, 29}, x.changes)
}

// sheet writes a table that is short beside the rounds. Only one sheet may be streamed: the library writes several of those in
// an order that changes from run to run.
func (x *writer) sheet(name string, header []string, widths []float64, rows [][]any) error {
	if len(rows) > maxSheetRows {
		return fmt.Errorf("sheet %s: there are more than %d rows, which no sheet holds; choose a part with --from and --to", name, maxSheetRows)
	}
	if err := x.f.SetPanes(name, frozen()); err != nil {
		return err
	}
	for i, title := range header {
		col, err := excelize.ColumnNumberToName(i + 1)
		if err != nil {
			return err
		}
		if err := x.f.SetColWidth(name, col, col, widths[i]); err != nil {
			return err
		}
		if err := x.cell(name, i+1, 1, excelize.Cell{StyleID: x.head, Value: title}); err != nil {
			return err
		}
	}
	for n, row := range rows {
		if err := x.ctx.Err(); err != nil {
			return err
		}
		for i, v := range row {
			if err := x.cell(name, i+1, n+2, v); err != nil {
				return err
			}
		}
	}
	return nil
}

// cell sets one cell; nil leaves it blank.
func (x *writer) cell(sheet string, col, row int, v any) error {
	at, err := excelize.CoordinatesToCellName(col, row)
	if err != nil || v == nil {
		return err
	}
	if c, ok := v.(excelize.Cell); ok {
		if err := x.f.SetCellStyle(sheet, at, at, c.StyleID); err != nil {
			return err
		}
		v = c.Value
	}
	return x.f.SetCellValue(sheet, at, v)
}

// chart is what one picture shows: every column of these quantities.
type chart struct {
	title, axis string
	names       []quantity.Name
}

func charts() []chart {
	return []chart{
		{"Voltage", "V", []quantity.Name{quantity.Volts}},
		{"Frequency", "Hz", []quantity.Name{quantity.Hertz}},
		{"Power", "kW", []quantity.Name{quantity.KW, quantity.LoadKW, quantity.DumpKW}},
		{"Intake pressure", "kPa", []quantity.Name{quantity.PressureKPa}},
		{"Pond level", "m", []quantity.Name{quantity.PondLevelM}},
	}
}

// look tells one line from another by its sign as well as by its colour.
type look struct{ sign, colour string }

// looks are colours that people with any colour vision tell apart (Okabe and Ito, 2008; from memory).
func looks() []look {
	return []look{{"circle", "0072B2"}, {"diamond", "D55E00"}, {"triangle", "009E73"}, {"square", "CC79A7"}}
}

func (l look) fill() excelize.Fill {
	return excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{l.colour}}
}

// ink is the colour of the axes' numbers.
const ink = "404040"

// charts draws those quantities that were read. A round without a reading leaves a gap.
func (x *writer) charts() error {
	const height, spacing = 300, 17 // pixels, and the rows that they cover
	row := 1
	for _, c := range charts() {
		series := x.series(c)
		if len(series) == 0 {
			continue
		}
		grid := excelize.ChartAxis{MajorGridLines: true, Font: excelize.Font{Color: ink}, Title: excelize.ChartTitle{Paragraph: []excelize.RichTextRun{{Text: c.axis}}}}
		times := excelize.ChartAxis{Font: excelize.Font{Color: ink}, TickLabelPosition: excelize.ChartTickLabelLow, NumFmt: excelize.ChartNumFmt{CustomNumFmt: "yyyy-mm-dd", SourceLinked: false}}
		err := x.f.AddChart(sheetCharts, fmt.Sprintf("A%d", row), &excelize.Chart{
			Type: excelize.Scatter, Series: series, Title: excelize.ChartTitle{Paragraph: []excelize.RichTextRun{{Text: c.title}}}, XAxis: times, YAxis: grid,
			Legend: excelize.ChartLegend{Position: "bottom"}, ShowBlanksAs: "gap", Dimension: excelize.ChartDimension{Width: 960, Height: height},
		})
		if err != nil {
			return err
		}
		row += spacing
	}
	if row == 1 {
		return x.cell(sheetCharts, 1, 1, "There are no readings to draw.")
	}
	return nil
}

func (x *writer) series(c chart) []excelize.ChartSeries {
	var list []excelize.ChartSeries
	if x.rows == 0 {
		return nil
	}
	for i, k := range x.cols {
		if !slices.Contains(c.names, k.Name()) {
			continue
		}
		col, err := excelize.ColumnNumberToName(4 + i)
		if err != nil {
			continue // a sheet has columns enough for every reading
		}
		look := looks()[len(list)%len(looks())]
		list = append(list, excelize.ChartSeries{
			Name:       fmt.Sprintf("%s!$%s$1", sheetRounds, col),
			Categories: fmt.Sprintf("%s!$A$2:$A$%d", sheetRounds, x.rows+1),
			Values:     fmt.Sprintf("%s!$%s$2:$%s$%d", sheetRounds, col, col, x.rows+1),
			Fill:       look.fill(),
			Marker:     excelize.ChartMarker{Symbol: look.sign, Size: 4, Fill: look.fill()},
			Line:       excelize.LineOptions{Type: excelize.LineSolid, Width: 1},
		})
	}
	return list
}
