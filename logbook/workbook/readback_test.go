package workbook_test

import (
	"archive/zip"
	"bytes"
	"errors"
	"flag"
	"fmt"
	"io"
	"maps"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/workbook"
	"example.org/headpond/model/demo/demotest"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// words are texts as people write them, those among them that a spreadsheet would calculate.
func words() *rapid.Generator[string] {
	return rapid.OneOf(rapid.Just(""), rapid.SampledFrom([]string{"=1+1", "+2", "-3", "@SUM(A1:A9)", "'quoted", "7", "0.10", "1e5", "TRUE", "2025-11-18", "<b>&amp;\"", " two  blanks "}),
		rapid.StringOfN(rapid.RuneFrom([]rune("abc =+-@'\"<>&;,é語0")), 0, 12, -1))
}

// genRound draws a round with any of some readings.
func genRound(t *rapid.T, at time.Time) record.Round {
	r := record.Round{Time: at, By: words().Draw(t, "by"), Note: words().Draw(t, "note"), Values: map[quantity.Key]float64{}, Words: map[quantity.Key]string{}}
	for _, k := range []quantity.Key{"volts", "hertz", "load_kw", "pressure_kpa", "pond_level_m", "A.kw", "B.bearing_c", "hours"} {
		if rapid.Bool().Draw(t, string(k)+" read") {
			r.Values[k] = rapid.OneOf(rapid.SampledFrom([]float64{0, 0.1, -0.6, 1e-9, 123456789.25}), rapid.Float64Range(-1e4, 1e6)).Draw(t, string(k))
		}
	}
	if rapid.Bool().Draw(t, "screen read") {
		r.Words["screen"] = rapid.SampledFrom([]string{"clear", "partly", "blocked", "iced"}).Draw(t, "screen")
	}
	switch rapid.IntRange(0, 2).Draw(t, "running read") {
	case 1:
		r.Running = &[]string{}
	case 2:
		r.Running = &[]string{"A", "B"}
	}
	return r
}

// What is in the book is in the workbook, and reads back: every number to the last of a spreadsheet's digits, every text as the text that was
// written and never as a number, a date or a formula, and what was not read as a blank.
func TestWhatIsWrittenReadsBack(t *testing.T) {
	if f := flag.Lookup("rapid.checks"); f.Value.String() == f.DefValue { // each check makes a book and a workbook
		if err := f.Value.Set("15"); err != nil {
			t.Fatal(err)
		}
		defer func() { _ = f.Value.Set(f.DefValue) }()
	}
	dir, n := t.TempDir(), 0
	plant := tern(t)
	rapid.Check(t, func(rt *rapid.T) {
		n++
		b, err := logbook.Create(rt.Context(), filepath.Join(dir, strconv.Itoa(n)), logbook.Options{Clock: func() time.Time { return end }, Rand: &counting{uint64(n) << 20}})
		if err != nil {
			rt.Fatal(err)
		}
		at := end.AddDate(0, 0, -30)
		var rounds []record.Round
		for range rapid.IntRange(0, 6).Draw(rt, "rounds") {
			at = at.Add(time.Duration(rapid.IntRange(1, 2000).Draw(rt, "wait")) * time.Minute)
			rounds = append(rounds, genRound(rt, at))
		}
		if _, _, err := b.AddRounds(rt.Context(), rounds); err != nil {
			rt.Fatal(err)
		}
		e := record.Event{Time: at, Kind: record.NoteEvent, By: words().Draw(rt, "event by"), Note: words().Draw(rt, "event note"), Cause: words().Draw(rt, "cause")}
		if _, err := b.AddEvent(rt.Context(), e, ""); err != nil {
			rt.Fatal(err)
		}
		var out bytes.Buffer
		if err := workbook.Write(rt.Context(), &out, b, workbook.Options{Plant: plant}); err != nil {
			rt.Fatal(err)
		}
		f, err := excelize.OpenReader(&out)
		if err != nil {
			rt.Fatal(err)
		}
		defer f.Close()
		rows, err := f.GetRows("Rounds", excelize.Options{RawCellValue: true})
		if err != nil || len(rows) != 1+len(rounds) {
			rt.Fatalf("%d rows for %d rounds, %v", len(rows), len(rounds), err)
		}
		column := map[string]int{}
		for i, title := range rows[0] {
			column[title] = i
		}
		cell := func(row int, title string) string {
			if i, ok := column[title]; ok && i < len(rows[row]) {
				return rows[row][i]
			}
			return ""
		}
		titles := map[quantity.Key]string{"volts": "Voltage (V)", "hertz": "Frequency (Hz)", "load_kw": "Consumer load (kW)", "pressure_kpa": "Intake pressure (kPa)", "pond_level_m": "Pond level (m)"}
		stored := storedRounds(rt, b)
		for i, r := range stored {
			for k, title := range titles {
				got := cell(i+1, title)
				v, read := r.Values[k]
				if !read {
					if got != "" {
						rt.Fatalf("%s of round %d was not read and is %q", k, i, got)
					}
					continue
				}
				if number, err := strconv.ParseFloat(got, 64); err != nil || math.Abs(number-v) > 1e-14*math.Abs(v) { // a spreadsheet has 15 digits
					rt.Fatalf("%s of round %d is %q, want %v", k, i, got, v)
				}
			}
			for title, want := range map[string]string{"By": r.By, "Note": r.Note, "Running": r.Text(record.ColRunning), "Entry": r.ID} {
				if got := cell(i+1, title); got != want {
					rt.Fatalf("%s of round %d is %q, want %q", title, i, got, want)
				}
			}
		}
		kept := must2(rt, b)
		for c, want := range map[string]string{"E2": kept.Cause, "F2": kept.By, "G2": kept.Note} {
			got, err := f.GetCellValue("Events", c, excelize.Options{RawCellValue: true})
			kind, kerr := f.GetCellType("Events", c)
			if err != nil || kerr != nil || got != want || want != "" && kind != excelize.CellTypeSharedString && kind != excelize.CellTypeInlineString {
				rt.Fatalf("%s is %q as %v, want the text %q: %v %v", c, got, kind, want, err, kerr)
			}
		}
	})
}

func storedRounds(t *rapid.T, b *logbook.Book) (list []record.Round) {
	if err := b.Rounds(t.Context(), time.Time{}, time.Time{}, func(r record.Round) error { list = append(list, r); return nil }); err != nil {
		t.Fatal(err)
	}
	return list
}

func must2(t *rapid.T, b *logbook.Book) (e record.Event) {
	if err := b.Events(t.Context(), time.Time{}, time.Time{}, func(x record.Event) error { e = x; return nil }); err != nil {
		t.Fatal(err)
	}
	return e
}

// full is a disk on which no more than so many bytes go.
type full struct{ left int }

var errFull = errors.New("no space is left")

func (f *full) Write(p []byte) (int, error) {
	if f.left -= len(p); f.left < 0 {
		return 0, errFull
	}
	return len(p), nil
}

// Wherever the disk is full, the error says so, and what was being done; a whole one has all.
func TestAFullDiskIsSaid(t *testing.T) {
	b := emptyBook(t)
	_, err := b.AddRound(t.Context(), record.Round{Time: end, Values: map[quantity.Key]float64{"volts": 240}}, "")
	must(t, err)
	size := len(write(t, b, workbook.Options{}))
	for _, left := range []int{0, 1, 100, size / 2, size - 1} {
		err := workbook.Write(t.Context(), &full{left}, b, workbook.Options{Plant: tern(t)})
		if !errors.Is(err, errFull) || !strings.HasPrefix(err.Error(), "writing the workbook: ") {
			t.Errorf("with room for %d of %d bytes: %v", left, size, err)
		}
	}
	if err := workbook.Write(t.Context(), &full{size}, b, workbook.Options{Plant: tern(t)}); err != nil {
		t.Errorf("with room for all: %v", err)
	}
}

// A damaged book gives no workbook that would seem whole.
func TestADamagedBookGivesNoWorkbook(t *testing.T) {
	b := demoBook(t)
	data, err := os.ReadFile(b.Path())
	must(t, err)
	spoilt := bytes.ReplaceAll(data, []byte("pond_level_m"), []byte("pond_lavel_m"))
	must(t, os.WriteFile(b.Path(), spoilt, 0o600))
	if err := workbook.Write(t.Context(), io.Discard, b, workbook.Options{Plant: tern(t)}); !errors.Is(err, logbook.ErrDamaged) {
		t.Errorf("got %v", err)
	}
}

// Hostile text in every free text of the demo's log reaches no cell as a formula or a control character.
func TestAHostileLogGivesAHarmlessWorkbook(t *testing.T) {
	b := emptyBook(t)
	for i := range 40 {
		at := end.Add(time.Duration(i) * time.Hour)
		evil := func(name string) string { return demotest.Evil("="+name, i) }
		s, err := b.AddRound(t.Context(), record.Round{Time: at, By: evil("by"), Note: evil("note"), Words: map[quantity.Key]string{"screen": evil("word")}}, "")
		must(t, err)
		_, err = b.AddEvent(t.Context(), record.Event{Time: at, Kind: record.EventKind(evil("kind")), Cause: evil("cause"), Element: evil("element"), Units: []string{evil("unit")}}, "")
		must(t, err)
		d := walk(at, record.TickOpen)
		d.Task, d.Walk.Ticks[0].Step, d.Walk.Ticks[1].Note = evil("task"), evil("step"), evil("why")
		_, err = b.AddDone(t.Context(), d, "")
		must(t, err)
		_, err = b.Amend(t.Context(), s.Entry.ID, map[string]string{"note": evil("new")}, evil("because"), evil("who"), "")
		must(t, err)
	}
	noFormulas(t, sheets(t, write(t, b, workbook.Options{})))
}

// A text longer than a cell can hold (32,767 characters, Office Open XML; from memory) is cut, and its end says so.
func TestATextLongerThanACellIsCutAndSaysSo(t *testing.T) {
	b := emptyBook(t)
	long := strings.Repeat("word and more ", 4000)
	_, err := b.AddRound(t.Context(), record.Round{Time: end, Note: long}, "")
	must(t, err)
	_, err = b.AddEvent(t.Context(), record.Event{Time: end, Kind: record.NoteEvent, Note: strings.Repeat("漢👩", 20000)}, "")
	must(t, err)
	f := sheets(t, write(t, b, workbook.Options{}))
	for cell, sheet := range map[string]string{"D2": "Rounds", "G2": "Events"} {
		got, err := f.GetCellValue(sheet, cell)
		must(t, err)
		if !strings.HasSuffix(got, "… (cut: the rest is in the log)") || len(got) < 30000 {
			t.Errorf("%s %s has %d bytes and ends in %q", sheet, cell, len(got), got[max(0, len(got)-60):])
		}
	}
}

// A round of a set that the plant no longer has keeps its column, behind the plant's own.
func TestAFormerSetKeepsItsColumn(t *testing.T) {
	b := emptyBook(t)
	_, err := b.AddRound(t.Context(), record.Round{Time: end, Values: map[quantity.Key]float64{"C.kw": 1.5, "B.kw": 2, "A.kw": 5}}, "")
	must(t, err)
	rows, err := sheets(t, write(t, b, workbook.Options{})).GetRows("Rounds")
	must(t, err)
	var kw []string
	for i, title := range rows[0] {
		if strings.HasSuffix(title, "(kW)") {
			kw = append(kw, title+" "+rows[1][i])
		}
	}
	if len(kw) != 3 || !strings.Contains(kw[2], " C (kW) 1.5") || !strings.Contains(kw[0], " A (kW) 5") {
		t.Errorf("the columns are %q", kw)
	}
}

// The workbook of a plant that shows US units holds the same numbers in the same units as any other: it is a file, and files are SI.
func TestAUSPlantsWorkbookIsSI(t *testing.T) {
	b := demoBook(t)
	us := *tern(t)
	us.Site.Units = "us"
	var out bytes.Buffer
	must(t, workbook.Write(t.Context(), &out, b, workbook.Options{Plant: &us}))
	if !bytes.Equal(out.Bytes(), write(t, b, workbook.Options{})) {
		t.Error("the workbook differs by the units of the screens")
	}
}

// Rounds of the hour that comes twice stand in the order in which they were walked, though their clocks read alike; without a zone
// the times are UTC, and say so.
func TestTheHourThatComesTwice(t *testing.T) {
	b := emptyBook(t)
	first := time.Date(2025, 11, 2, 4, 30, 0, 0, time.UTC) // 01:30 in Halifax, at UTC-3
	for i, by := range []string{"before", "after"} {
		_, err := b.AddRound(t.Context(), record.Round{Time: first.Add(time.Duration(i) * time.Hour), By: by}, "")
		must(t, err)
	}
	rows, err := sheets(t, write(t, b, workbook.Options{})).GetRows("Rounds")
	must(t, err)
	if rows[1][0] != "2025-11-02 01:30" || rows[2][0] != rows[1][0] || rows[1][1] != "before" || rows[2][1] != "after" {
		t.Errorf("%q", rows)
	}
	p := *tern(t)
	p.Location = nil
	var out bytes.Buffer
	must(t, workbook.Write(t.Context(), &out, b, workbook.Options{Plant: &p}))
	rows, err = sheets(t, out.Bytes()).GetRows("Rounds")
	must(t, err)
	if rows[0][0] != "Time (UTC)" || rows[1][0] != "2025-11-02 04:30" {
		t.Errorf("without a zone: %q", rows[:2])
	}
}

// Every chart draws the columns that its title says, over all rounds; there is one for each quantity that was read, and none else.
func TestEachChartDrawsItsColumns(t *testing.T) {
	data := write(t, demoBook(t), workbook.Options{})
	rows, err := sheets(t, data).GetRows("Rounds")
	must(t, err)
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	must(t, err)
	drawn := map[string][]string{}
	for _, f := range z.File {
		if !regexp.MustCompile(`^xl/charts/chart\d+\.xml$`).MatchString(f.Name) {
			continue
		}
		r, err := f.Open()
		must(t, err)
		content, err := io.ReadAll(r)
		must(t, err)
		title := regexp.MustCompile(`<a:t>([^<]*)</a:t>`).FindSubmatch(content)
		if title == nil {
			t.Fatalf("%s has no title", f.Name)
		}
		for _, m := range regexp.MustCompile(`<f>Rounds!\$([A-Z]+)\$1</f>`).FindAllSubmatch(content, -1) {
			col, err := excelize.ColumnNameToNumber(string(m[1]))
			must(t, err)
			drawn[string(title[1])] = append(drawn[string(title[1])], rows[0][col-1])
			if whole := fmt.Sprintf("Rounds!$%s$2:$%s$%d", m[1], m[1], len(rows)); !bytes.Contains(content, []byte(whole)) {
				t.Errorf("%s does not draw %s", title[1], whole)
			}
		}
		if times := fmt.Sprintf("Rounds!$A$2:$A$%d", len(rows)); !bytes.Contains(content, []byte(times)) {
			t.Errorf("%s is not drawn over %s", title[1], times)
		}
	}
	for title, want := range map[string]string{"Voltage": "Voltage (V)", "Frequency": "Frequency (Hz)", "Intake pressure": "Intake pressure (kPa)", "Pond level": "Pond level (m)", "Power": "Consumer load (kW)"} {
		if !slices.Contains(drawn[title], want) {
			t.Errorf("the chart of %s draws %q, not %q", title, drawn[title], want)
		}
	}
	if len(drawn) != 5 {
		t.Errorf("charts: %q", slices.Sorted(maps.Keys(drawn)))
	}
}
