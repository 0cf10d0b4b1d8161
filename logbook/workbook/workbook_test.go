package workbook_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"io"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/demobook"
	"example.org/headpond/logbook/workbook"
	"example.org/headpond/model/demo"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

var end = time.Date(2025, 11, 18, 20, 15, 0, 0, time.FixedZone("", -4*3600))

// counting gives other bytes each time, the same in each run.
type counting struct{ n uint64 }

func (c *counting) Read(p []byte) (int, error) {
	c.n++
	return copy(p, bytes.Repeat(binary.BigEndian.AppendUint64(nil, c.n), 1+len(p)/8)), nil
}

func tern(t testing.TB) *plant.Plant {
	t.Helper()
	p, err := demo.Plant()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func emptyBook(t testing.TB) *logbook.Book {
	t.Helper()
	b, err := logbook.Create(t.Context(), filepath.Join(t.TempDir(), "a.book"), logbook.Options{Clock: func() time.Time { return end }, Rand: &counting{}})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func demoBook(t testing.TB) *logbook.Book {
	t.Helper()
	story, err := demo.History(demo.Seed, end, tern(t).Location)
	if err != nil {
		t.Fatal(err)
	}
	b, err := demobook.Write(t.Context(), filepath.Join(t.TempDir(), "demo.book"), story, logbook.Options{Clock: func() time.Time { return end }})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func write(t testing.TB, b *logbook.Book, o workbook.Options) []byte {
	t.Helper()
	o.Plant = tern(t)
	var out bytes.Buffer
	if err := workbook.Write(t.Context(), &out, b, o); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func sheets(t testing.TB, data []byte) *excelize.File {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = f.Close() })
	return f
}

func TestASheetATable(t *testing.T) {
	b := demoBook(t)
	f := sheets(t, write(t, b, workbook.Options{}))
	if got := strings.Join(f.GetSheetList(), " "); got != "Rounds Events Corrections Upkeep Charts" {
		t.Errorf("the sheets are %s", got)
	}
	counts := map[string]int{"Rounds": 1, "Events": 1, "Upkeep": 1}
	var last record.Round
	must(t, b.Rounds(t.Context(), time.Time{}, time.Time{}, func(r record.Round) error { counts["Rounds"]++; last = r; return nil }))
	must(t, b.Events(t.Context(), time.Time{}, time.Time{}, func(record.Event) error { counts["Events"]++; return nil }))
	must(t, b.Done(t.Context(), time.Time{}, time.Time{}, func(record.Done) error { counts["Upkeep"]++; return nil }))
	for sheet, want := range counts {
		rows, err := f.GetRows(sheet)
		must(t, err)
		if len(rows) != want {
			t.Errorf("%s has %d rows, want %d", sheet, len(rows), want)
		}
	}
	for _, sheet := range []string{"Rounds", "Events", "Corrections", "Upkeep"} {
		panes, err := f.GetPanes(sheet)
		must(t, err)
		if !panes.Freeze || panes.YSplit != 1 {
			t.Errorf("%s: its header is not frozen: %+v", sheet, panes)
		}
	}
	rows, err := f.GetRows("Rounds")
	must(t, err)
	header := strings.Join(rows[0], "|")
	for _, want := range []string{"Time (America/Halifax)", "Voltage (V)", "Frequency (Hz)", "Intake pressure (kPa)", "Pond level (m)", "Consumer load (kW)"} {
		if !strings.Contains("|"+header+"|", "|"+want+"|") {
			t.Errorf("there is no column %q in %s", want, header)
		}
	}
	got := rows[len(rows)-1]
	if want := last.Time.In(tern(t).Location).Format("2006-01-02 15:04"); got[0] != want || got[len(got)-1] != last.ID {
		t.Errorf("the last row is %q, want it of %s, entry %s", got, want, last.ID)
	}
}

// A day of the sheets is a day since 1899-12-30, the epoch of the 1900 date system (ECMA-376 part 1, 18.17.4.1; from memory):
// 2025-07-01 is number 45839, and noon is half a day.
func TestTimesAreOnThePlantsClock(t *testing.T) {
	b := emptyBook(t)
	noon := time.Date(2025, 7, 1, 15, 0, 0, 0, time.UTC) // 12:00 in Halifax, which is at UTC-3 then
	_, err := b.AddEvent(t.Context(), record.Event{Time: noon, Kind: record.Stop}, "")
	must(t, err)
	got, err := sheets(t, write(t, b, workbook.Options{})).GetCellValue("Events", "A2", excelize.Options{RawCellValue: true})
	if err != nil || got != "45839.5" {
		t.Errorf("it is %s, %v", got, err)
	}
}

// Corrected values are in the rounds, and what they were is on a sheet of its own.
func TestCorrectionsAreAppliedAndShown(t *testing.T) {
	b := emptyBook(t)
	r, err := b.AddRound(t.Context(), record.Round{Time: end, By: "Imke", Values: map[quantity.Key]float64{"volts": 421}}, "")
	must(t, err)
	_, err = b.Amend(t.Context(), r.Entry.ID, map[string]string{"volts": "241"}, "digits turned", "Ro", "")
	must(t, err)
	f := sheets(t, write(t, b, workbook.Options{}))
	rows, err := f.GetRows("Rounds")
	must(t, err)
	if len(rows) != 2 || rows[1][3] != "241" || !strings.Contains(strings.Join(rows[1], "|"), "|yes|") {
		t.Errorf("rounds: %q", rows)
	}
	rows, err = f.GetRows("Corrections")
	must(t, err)
	if len(rows) != 2 || strings.Join(rows[1][3:8], "|") != "volts|421|241|Ro|digits turned" {
		t.Errorf("corrections: %q", rows)
	}
}

// No text becomes a formula, and none carries control characters.
func TestTextStaysText(t *testing.T) {
	b := emptyBook(t)
	for i, s := range []string{"=1+1", "@SUM(A1)", "+1", "-1", "=HYPERLINK(\"http://x\")", "a\x1b[31m\x00b", "<b>&", strings.Repeat("long ", 800)} {
		_, err := b.AddRound(t.Context(), record.Round{Time: end.Add(time.Duration(i) * time.Hour), By: s, Note: s, Words: map[quantity.Key]string{"screen": s}}, "")
		must(t, err)
		_, err = b.AddEvent(t.Context(), record.Event{Time: end, Kind: record.NoteEvent, Note: s, Cause: s}, "")
		must(t, err)
	}
	f := sheets(t, write(t, b, workbook.Options{}))
	noFormulas(t, f)
	if got, err := f.GetCellValue("Events", "G2"); err != nil || got != "=1+1" {
		t.Errorf("the note is %q, %v", got, err)
	}
}

// What was not read is a blank cell, never 0.
func TestBlankIsNotZero(t *testing.T) {
	b := emptyBook(t)
	for i, values := range []map[quantity.Key]float64{{"volts": 0}, {"hertz": 60}} {
		_, err := b.AddRound(t.Context(), record.Round{Time: end.Add(time.Duration(i) * time.Hour), Values: values}, "")
		must(t, err)
	}
	f := sheets(t, write(t, b, workbook.Options{}))
	for cell, want := range map[string]string{"D2": "0", "E2": "", "D3": "", "E3": "60"} {
		if got, err := f.GetCellValue("Rounds", cell); err != nil || got != want {
			t.Errorf("%s is %q, want %q, %v", cell, got, want, err)
		}
	}
}

func TestAPartAndNothing(t *testing.T) {
	b := demoBook(t)
	from, to := end.AddDate(0, 0, -10), end.AddDate(0, 0, -5)
	want := 1
	must(t, b.Rounds(t.Context(), from, to, func(record.Round) error { want++; return nil }))
	rows, err := sheets(t, write(t, b, workbook.Options{From: from, To: to})).GetRows("Rounds")
	must(t, err)
	if len(rows) != want || want < 5 {
		t.Errorf("%d rows, want %d", len(rows), want)
	}
	none, err := sheets(t, write(t, emptyBook(t), workbook.Options{})).GetCellValue("Charts", "A1")
	if err != nil || none != "There are no readings to draw." {
		t.Errorf("an empty log: %q, %v", none, err)
	}
}

func TestTheSameLogGivesTheSameBytes(t *testing.T) {
	b := demoBook(t)
	first := write(t, b, workbook.Options{})
	for range 3 {
		if !bytes.Equal(first, write(t, b, workbook.Options{})) {
			t.Fatal("the workbook differs from run to run")
		}
	}
}

func TestWritingCanBeStopped(t *testing.T) {
	ctx, stop := context.WithCancel(t.Context())
	stop()
	if err := workbook.Write(ctx, io.Discard, demoBook(t), workbook.Options{Plant: tern(t)}); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
