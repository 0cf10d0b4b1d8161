// Package workbook writes a log as a workbook for spreadsheets (Office Open XML): a sheet a table with its header frozen and
// units in it, corrections applied, and charts of voltage, frequency, power, pressure and level. It is for reading alone: what
// is to come back into a book travels in the tables of an export package.
package workbook

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/csvfile"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// Options say which part of a log is written, and how its times read.
type Options struct {
	Plant    *plant.Plant // in force; its units' columns come first
	From, To time.Time    // from ≤ time < to; zero leaves that end open
}

// The sheets, in order.
const (
	sheetRounds      = "Rounds"
	sheetEvents      = "Events"
	sheetCorrections = "Corrections"
	sheetUpkeep      = "Upkeep"
	sheetSteps       = "Checklists" // only where one was walked
	sheetCharts      = "Charts"
)

// maxSheetRows is what a sheet can hold (Office Open XML: 1,048,576, header included).
const maxSheetRows = 1<<20 - 1

// Write writes the workbook. The same book and options give the same bytes. Text can never become a formula, since it is
// written as text.
func Write(ctx context.Context, w io.Writer, b *logbook.Book, o Options) (err error) {
	f := excelize.NewFile()
	defer func() {
		if cerr := f.Close(); err == nil {
			err = cerr
		}
	}()
	x := &writer{ctx: ctx, f: f, b: b, o: o, loc: o.Plant.Location}
	if x.loc == nil {
		x.loc = time.UTC
	}
	for _, step := range []func() error{x.begin, x.rounds, x.events, x.upkeep, x.writeCorrections, x.charts} {
		if err := step(); err != nil {
			return fmt.Errorf("writing the workbook: %w", err)
		}
	}
	f.SetActiveSheet(0)
	var out bytes.Buffer
	err = f.Write(&out)
	if err == nil {
		err = steady(w, out.Bytes())
	}
	if err != nil {
		return fmt.Errorf("writing the workbook: %w", err)
	}
	return nil
}

// writer is one workbook being written.
type writer struct {
	ctx context.Context
	f   *excelize.File
	b   *logbook.Book
	o   Options
	loc *time.Location

	head, date int // styles
	cols       []quantity.Key
	rows       int // rounds
	changes    [][]any
	walked     bool // a checklist was walked
}

// begin makes the sheets and styles.
func (x *writer) begin() error {
	if err := x.f.SetSheetName("Sheet1", sheetRounds); err != nil {
		return err
	}
	err := x.b.Done(x.ctx, x.o.From, x.o.To, func(d record.Done) error {
		x.walked = x.walked || d.Walk != nil
		return nil
	})
	if err != nil {
		return err
	}
	names := []string{sheetEvents, sheetCorrections, sheetUpkeep, sheetSteps, sheetCharts}
	if !x.walked {
		names = slices.DeleteFunc(names, func(s string) bool { return s == sheetSteps })
	}
	for _, name := range names {
		if _, err := x.f.NewSheet(name); err != nil {
			return err
		}
	}
	if x.head, err = x.f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}, Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"},
		Border: []excelize.Border{{Type: "bottom", Color: "000000", Style: 1}}}); err != nil {
		return err
	}
	form := "yyyy-mm-dd hh:mm"
	x.date, err = x.f.NewStyle(&excelize.Style{CustomNumFmt: &form})
	return err
}

// frozen keeps the header in sight.
func frozen() *excelize.Panes {
	return &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}
}

// when is a time as a spreadsheet counts it: days since 1899-12-30 on the plant's clock.
func (x *writer) when(t time.Time) any {
	if t.IsZero() {
		return nil
	}
	t = t.In(x.loc)
	wall := time.Date(t.Year(), t.Month(), t.Day(), t.Hour(), t.Minute(), t.Second(), 0, time.UTC)
	days := wall.Sub(time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)).Hours() / 24
	return excelize.Cell{StyleID: x.date, Value: days}
}

func (x *writer) timeTitle(what string) string { return fmt.Sprintf("%s (%s)", what, x.loc) }

// text is a cell's text, nil for none: without control characters and those that turn the order of what is read, and no longer than a
// cell can be.
func text(s string) any {
	if s == "" {
		return nil
	}
	s = strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Bidi_Control, r) {
			return unicode.ReplacementChar
		}
		return r
	}, csvfile.Harmless(s))
	return cut(s)
}

// maxCell is how many characters a cell holds (Office Open XML, 32,767, as UTF-16 counts them; from memory). The library would leave
// out the rest without a word.
const maxCell = 32767

// cutOff is said where a text is longer.
const cutOff = "… (cut: the rest is in the log)"

func cut(s string) string {
	n, keep := 0, 0
	for i, r := range s {
		if n += utf16.RuneLen(r); n <= maxCell-len(cutOff) {
			keep = i + utf8.RuneLen(r)
		}
	}
	if n <= maxCell {
		return s
	}
	return s[:keep] + cutOff
}

// title is a column's header: what was read, of which unit, in which unit of measure.
func title(k quantity.Key) string {
	info, ok := quantity.Lookup(k.Name())
	if !ok {
		return csvfile.Harmless(string(k))
	}
	s := info.Label
	if id := k.Unit(); id != "" {
		s += " " + id
	}
	if info.Unit != quantity.None {
		s += fmt.Sprintf(" (%s)", info.Unit)
	}
	return s
}

// rounds writes the first sheet, row by row.
func (x *writer) rounds() error {
	if err := x.columns(); err != nil {
		return err
	}
	sw, err := x.f.NewStreamWriter(sheetRounds)
	if err != nil {
		return err
	}
	if err := sw.SetPanes(frozen()); err != nil {
		return err
	}
	header := []any{x.timeTitle("Time"), "By", "Running"}
	for _, k := range x.cols {
		header = append(header, title(k))
	}
	header = append(header, "Note", "Corrected", "Entry")
	for _, width := range []struct {
		from, to int
		chars    float64
	}{{1, 1, 17}, {2, 3, 9}, {4, 3 + max(1, len(x.cols)), 11}, {4 + len(x.cols), 4 + len(x.cols), 40}, {6 + len(x.cols), 6 + len(x.cols), 29}} {
		if err := sw.SetColWidth(width.from, width.to, width.chars); err != nil {
			return err
		}
	}
	if err := sw.SetRow("A1", styled(header, x.head)); err != nil {
		return err
	}
	err = x.b.Rounds(x.ctx, x.o.From, x.o.To, func(r record.Round) error {
		if x.rows++; x.rows > maxSheetRows {
			return fmt.Errorf("there are more than %d rounds, which no sheet holds; choose a part with --from and --to", maxSheetRows)
		}
		x.correctionsOf("round", r.Time, r.ID, r.Changes)
		return sw.SetRow(fmt.Sprintf("A%d", x.rows+1), x.round(r))
	})
	if err != nil {
		return err
	}
	return sw.Flush()
}

// columns finds which readings the rounds hold.
func (x *writer) columns() error {
	held := map[quantity.Key]bool{}
	err := x.b.Rounds(x.ctx, x.o.From, x.o.To, func(r record.Round) error {
		for k := range r.Values {
			held[k] = true
		}
		for k := range r.Words {
			held[k] = true
		}
		return nil
	})
	for _, k := range quantity.Keys(x.units(held)) {
		if held[k] {
			x.cols = append(x.cols, k)
		}
	}
	return err
}

func styled(values []any, style int) []any {
	for i, v := range values {
		values[i] = excelize.Cell{StyleID: style, Value: v}
	}
	return values
}

func (x *writer) round(r record.Round) []any {
	row := []any{x.when(r.Time), text(r.By), text(r.Text(record.ColRunning))}
	for _, k := range x.cols {
		if v, ok := r.Values[k]; ok {
			row = append(row, v)
		} else {
			row = append(row, text(r.Words[k]))
		}
	}
	corrected := ""
	if len(r.Changes) > 0 {
		corrected = "yes"
	}
	return append(row, text(r.Note), text(corrected), r.ID)
}

// correctionsOf keeps what was corrected for a sheet of its own.
func (x *writer) correctionsOf(what string, at time.Time, id string, list []record.Change) {
	for _, c := range list {
		x.changes = append(x.changes, []any{x.when(c.At), what, x.when(at), text(c.Key), text(c.Old), text(c.New), text(c.By), text(c.Why), id})
	}
}
