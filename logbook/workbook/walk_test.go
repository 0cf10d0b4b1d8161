package workbook_test

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"example.org/headpond/logbook/workbook"
	"example.org/headpond/model/record"
)

// walk is a checklist of which not every step was come to.
func walk(at time.Time, last record.TickState) record.Done {
	return record.Done{Time: at, Task: "Starting", By: "Ro", Note: "cold", Walk: &record.Walk{For: "start", Units: []string{"A"}, Begun: at.Add(-20 * time.Minute), Ticks: []record.Tick{
		{Step: "Look at the belt", State: record.TickDone, At: at.Add(-15 * time.Minute)},
		{Step: "Open the valve slowly", State: record.TickSkipped, Note: "=open already", At: at.Add(-10 * time.Minute)},
		{Step: "Listen to the bearings", State: record.TickNotOK, Note: "drive end\x1b[31m grinds", At: at.Add(-5 * time.Minute)},
		{Step: "+Read the gauge", State: last},
	}}}
}

// A walked checklist says on the sheet of upkeep what came of it, and each of its steps has a row of its own, in order.
func TestAChecklistHasItsSteps(t *testing.T) {
	b := emptyBook(t)
	for i, d := range []record.Done{walk(end, record.TickOpen), {Time: end.Add(time.Hour), Task: "grease", By: "Imke"}, walk(end.Add(2*time.Hour), record.TickDone)} {
		d.Note += strings.Repeat("!", i)
		_, err := b.AddDone(t.Context(), d, "")
		must(t, err)
	}
	f := sheets(t, write(t, b, workbook.Options{}))
	if got := strings.Join(f.GetSheetList(), " "); got != "Rounds Events Corrections Upkeep Checklists Charts" {
		t.Errorf("the sheets are %s", got)
	}
	rows, err := f.GetRows("Upkeep")
	must(t, err)
	want := []string{"Checklist", "ended early, not done: 1 of 4 steps done, 1 skipped, 1 not ok, 1 not come to", "", "2 of 4 steps done, 1 skipped, 1 not ok"}
	if len(rows) != len(want) {
		t.Fatalf("%d rows: %q", len(rows), rows)
	}
	for i, w := range want {
		if rows[i][4] != w || len(rows[i]) != 6 || rows[i][5] == "" {
			t.Errorf("row %d of upkeep is %q, want %q and then its entry", i+1, rows[i], w)
		}
	}
	rows, err = f.GetRows("Checklists")
	must(t, err)
	if len(rows) != 1+2*4 {
		t.Fatalf("%d rows: %q", len(rows), rows)
	}
	if got := strings.Join(rows[0][1:6], "|"); got != "Checklist|Step|What was to do|What came of it|Note" {
		t.Errorf("the columns are %s", got)
	}
	for i, w := range []string{"1|Look at the belt|done|", "2|Open the valve slowly|skipped|=open already", "3|Listen to the bearings|not ok|drive end\uFFFD[31m grinds", "4|+Read the gauge|not come to|"} {
		if got := strings.Join(rows[i+1][2:6], "|"); got != w {
			t.Errorf("step %d is %q, want %q", i+1, got, w)
		}
	}
	if ticked, err := f.GetCellValue("Checklists", "G2"); err != nil || ticked != "2025-11-18 20:00" {
		t.Errorf("it was ticked %q, %v", ticked, err)
	}
	if open, err := f.GetCellValue("Checklists", "G5"); err != nil || open != "" {
		t.Errorf("a step that was not come to was ticked %q, %v", open, err)
	}
	noFormulas(t, f)
}

// Where no checklist was walked in the part that is written, there is no sheet and no column for any.
func TestNoChecklistNoSheet(t *testing.T) {
	b := emptyBook(t)
	_, err := b.AddDone(t.Context(), walk(end, record.TickDone), "")
	must(t, err)
	_, err = b.AddDone(t.Context(), record.Done{Time: end.Add(-48 * time.Hour), Task: "grease"}, "")
	must(t, err)
	f := sheets(t, write(t, b, workbook.Options{To: end.Add(-24 * time.Hour)}))
	if got := strings.Join(f.GetSheetList(), " "); got != "Rounds Events Corrections Upkeep Charts" {
		t.Errorf("the sheets are %s", got)
	}
	rows, err := f.GetRows("Upkeep")
	must(t, err)
	if len(rows) != 2 || len(rows[0]) != 5 || rows[1][1] != "grease" {
		t.Errorf("upkeep: %q", rows)
	}
}

// What came of a step is shown as corrected, with the correction on its sheet.
func TestACorrectedStepIsShownCorrected(t *testing.T) {
	b := emptyBook(t)
	s, err := b.AddDone(t.Context(), walk(end, record.TickOpen), "")
	must(t, err)
	_, err = b.Amend(t.Context(), s.Entry.ID, map[string]string{"step.4": "done"}, "forgot to tick", "Ro", "")
	must(t, err)
	data := write(t, b, workbook.Options{})
	f := sheets(t, data)
	if got, err := f.GetCellValue("Checklists", "E5"); err != nil || got != "done" {
		t.Errorf("the step is %q, %v", got, err)
	}
	if got, err := f.GetCellValue("Corrections", "D2"); err != nil || got != "step.4" {
		t.Errorf("the correction is of %q, %v", got, err)
	}
	if !bytes.Equal(data, write(t, b, workbook.Options{})) {
		t.Error("the workbook differs from run to run")
	}
}

// noFormulas demands of every cell of every sheet that it is no formula and holds no control character.
func noFormulas(t *testing.T, f *excelize.File) {
	t.Helper()
	for _, sheet := range f.GetSheetList() {
		rows, err := f.GetRows(sheet)
		must(t, err)
		for r, row := range rows {
			for c, text := range row {
				cell, err := excelize.CoordinatesToCellName(c+1, r+1)
				must(t, err)
				if formula, err := f.GetCellFormula(sheet, cell); err != nil || formula != "" {
					t.Errorf("%s %s is the formula %q, %v", sheet, cell, formula, err)
				}
				if strings.ContainsAny(text, "\x1b\x00\x07\u009b\u202e") {
					t.Errorf("%s %s holds control characters: %q", sheet, cell, text)
				}
			}
		}
	}
}
