package datapackage_test

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"io"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/exp/golden"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/csvfile"
	"example.org/headpond/logbook/datapackage"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// filesOf reads a zip with the standard library alone.
func filesOf(t testing.TB, data []byte) map[string]string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	files := map[string]string{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		content, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		files[f.Name] = string(content)
	}
	return files
}

// smallBook holds one entry of each kind, and a round with every sort of column.
func smallBook(t testing.TB) *logbook.Book {
	t.Helper()
	b := emptyBook(t, 1)
	at := end.Add(-2 * time.Hour)
	if _, err := b.AddPlant(t.Context(), plantText(t), end.AddDate(0, 0, -9), "Ro"); err != nil {
		t.Fatal(err)
	}
	r := record.Round{Time: at, By: "Imke", Running: &[]string{"A"}, Note: "leaves, mostly alder", Confirmed: true, Extra: map[string]string{"weather": "fog"}}
	for column, text := range map[string]string{"volts": "241", "A.kw": "5.2", "dump_share_pct": "40", "pressure_kpa": "19 psi", "screen": "partly", "hours": "8211"} {
		if err := r.Set(column, text, []string{"A", "B"}, quantity.Metric); err != nil {
			t.Fatal(err)
		}
	}
	s, err := b.AddRound(t.Context(), r, "")
	if err == nil {
		_, err = b.AddEvent(t.Context(), record.Event{Time: at, Kind: record.Trip, Units: []string{"A"}, Cause: "overspeed", By: "Ro"}, "")
	}
	if err == nil {
		_, err = b.AddDone(t.Context(), record.Done{Time: at, Task: "grease drive-end bearing, unit A", By: "Ro"}, "")
	}
	if err == nil {
		_, err = b.Amend(t.Context(), s.Entry.ID, map[string]string{"volts": "240", "note": "leaves; mostly alder"}, "read again", "Ro", "")
	}
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestDescriptorGolden(t *testing.T) {
	files := filesOf(t, export(t, smallBook(t), datapackage.WriteOptions{}))
	golden.RequireEqual(t, []byte(files["datapackage.json"]))
}

func TestReadmeGolden(t *testing.T) {
	files := filesOf(t, export(t, smallBook(t), datapackage.WriteOptions{From: end.AddDate(0, 0, -7)}))
	if n := strings.Count(files["README.txt"], "\n"); n != strings.Count(files["README.txt"], "\r\n") {
		t.Error("the README's lines do not all end with CRLF")
	}
	golden.RequireEqual(t, []byte(strings.ReplaceAll(files["README.txt"], "\r\n", "\n")))
}

// What the Data Package and Table Schema specifications demand (specs.frictionlessdata.io: data-package, data-resource,
// tabular-data-resource and table-schema, version 1; from memory, and held against the published profile by
// .ci/validate-package).
func TestDescriptorKeepsToTheSpecifications(t *testing.T) {
	files := filesOf(t, export(t, demoBook(t), datapackage.WriteOptions{}))
	var d struct {
		Name, Profile, Created string
		Resources              []struct {
			Name, Path, Profile, Hash, Encoding string
			Bytes                               int
			Schema                              *struct {
				Fields        []struct{ Name, Type, Description string }
				MissingValues []string
				PrimaryKey    []string
			}
		}
	}
	if err := json.Unmarshal([]byte(files["datapackage.json"]), &d); err != nil {
		t.Fatal(err)
	}
	name := regexp.MustCompile(`^[-a-z0-9._/]+$`)
	types := map[string]bool{"string": true, "number": true, "integer": true, "boolean": true, "datetime": true}
	if !name.MatchString(d.Name) || d.Profile != "data-package" {
		t.Errorf("name %q, profile %q", d.Name, d.Profile)
	}
	seen := map[string]bool{}
	for _, r := range d.Resources {
		if !name.MatchString(r.Name) || seen[r.Name] || files[r.Path] == "" || r.Bytes != len(files[r.Path]) {
			t.Errorf("resource %+v", r)
		}
		seen[r.Name] = true
		if r.Schema == nil {
			continue
		}
		rows, err := csv.NewReader(strings.NewReader(files[r.Path])).ReadAll()
		if err != nil {
			t.Fatalf("%s: %v", r.Path, err)
		}
		if r.Encoding != "utf-8" || len(r.Schema.PrimaryKey) == 0 || len(r.Schema.MissingValues) != 1 || len(rows[0]) != len(r.Schema.Fields) {
			t.Errorf("%s: %+v", r.Path, r)
		}
		for i, f := range r.Schema.Fields {
			if f.Name != rows[0][i] || !types[f.Type] {
				t.Errorf("%s: field %+v, header %q", r.Path, f, rows[0][i])
			}
			if strings.HasSuffix(f.Name, "_kpa") && !strings.HasSuffix(f.Description, "in kPa") {
				t.Errorf("%s: %s is described as %q, without its unit", r.Path, f.Name, f.Description)
			}
		}
	}
	for _, want := range []string{"rounds", "events", "amendments", "upkeep", "plant"} {
		if !seen[want] {
			t.Errorf("there is no resource %s", want)
		}
	}
	if len(seen)+1 != len(files) {
		t.Errorf("%d resources for %d files", len(seen), len(files))
	}
}

// The contract's columns of events.csv, in its order.
func TestEventsHaveTheContractsColumns(t *testing.T) {
	header, _, _ := strings.Cut(filesOf(t, export(t, demoBook(t), datapackage.WriteOptions{}))["events.csv"], "\r\n")
	if want := "id,time,kind,unit,element,cause,by,note,written_at,"; !strings.HasPrefix(header, want) {
		t.Errorf("the columns are %s, want first %s", header, want)
	}
}

// rounds.csv begins with id and written_at, and can be imported by itself: nothing of it is new to its own book.
func TestRoundsCanBeImportedByThemselves(t *testing.T) {
	b := demoBook(t)
	rounds := filesOf(t, export(t, b, datapackage.WriteOptions{}))["rounds.csv"]
	if !strings.HasPrefix(rounds, "id,written_at,time,") {
		t.Errorf("it begins with %.60s", rounds)
	}
	h, err := b.History(t.Context(), logbook.HistoryOptions{At: end, All: true})
	if err != nil {
		t.Fatal(err)
	}
	res, err := csvfile.Read(t.Context(), strings.NewReader(rounds), h.Plant, csvfile.Options{Yes: true, Aside: datapackage.ChainColumns()}.Against(h.Rounds))
	if err != nil {
		t.Fatal(err)
	}
	if !res.Good() || len(res.Rounds) != 0 || res.Already != len(h.Rounds) || len(res.Unknown) != 0 {
		t.Errorf("%d new, %d there of %d, bad %v, unknown %v", len(res.Rounds), res.Already, len(h.Rounds), res.Problems(), res.Unknown)
	}
}

// Neither a formula nor an escape sequence reaches whoever opens a table, and both come back.
func TestCellsAreHarmless(t *testing.T) {
	b := emptyBook(t, 1)
	if _, err := b.AddPlant(t.Context(), plantText(t), end, "Ro"); err != nil {
		t.Fatal(err)
	}
	evil := []string{"=HYPERLINK(\"x\")", "+1+1", "-2-2", "@SUM(A1)", "\t=1", "＝1", "red \x1b[31mtext\x1b[0m", "\x9b2J", "bell\a"}
	for i, s := range evil {
		at := end.Add(-time.Duration(i) * time.Hour)
		if _, err := b.AddRound(t.Context(), record.Round{Time: at, Note: s, By: s, Extra: map[string]string{"=odd": s}}, ""); err != nil {
			t.Fatal(err)
		}
		if _, err := b.AddEvent(t.Context(), record.Event{Time: at, Kind: record.NoteEvent, Note: s, Cause: s}, ""); err != nil {
			t.Fatal(err)
		}
		if _, err := b.AddDone(t.Context(), record.Done{Time: at, Task: "t" + s, Note: s}, ""); err != nil {
			t.Fatal(err)
		}
	}
	data := export(t, b, datapackage.WriteOptions{})
	for name, content := range filesOf(t, data) {
		if strings.ContainsAny(content, "\x1b\x07") || strings.Contains(content, "\u009b") {
			t.Errorf("%s holds control characters", name)
		}
		if !strings.HasSuffix(name, ".csv") {
			continue
		}
		rows, err := csv.NewReader(strings.NewReader(content)).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range rows {
			for _, cell := range row {
				if cell != "" && strings.ContainsRune("=+-@\t＝", []rune(cell)[0]) {
					t.Errorf("%s: a spreadsheet would calculate %q", name, cell)
				}
			}
		}
	}
	fresh := emptyBook(t, 2)
	into(t, fresh, data)
	if got, want := contents(t, fresh), contents(t, b); strings.Join(got, "") != strings.Join(want, "") {
		t.Error("the entries differ")
	}
}

// Each revision has a file of its own, to the byte, and the one in force at the export is plant.toml.
func TestPlantFiles(t *testing.T) {
	b := emptyBook(t, 1)
	text := plantText(t)
	for i, extra := range []string{"# first\n", "# second, \u00e9\n", "# to come\n"} {
		if _, err := b.AddPlant(t.Context(), text+extra, end.AddDate(0, 0, i-1), "Imke"); err != nil {
			t.Fatal(err)
		}
	}
	data := export(t, b, datapackage.WriteOptions{})
	files := filesOf(t, data)
	others := 0
	for name, content := range files {
		if strings.HasPrefix(name, "plants/") {
			others++
			if _, err := plant.Parse(name, []byte(content)); err != nil {
				t.Error(err)
			}
		}
	}
	if files["plant.toml"] != text+"# second, \u00e9\n" || others != 2 {
		t.Errorf("in force: …%q, and %d others", files["plant.toml"][len(text):], others)
	}
	if p := open(t, data); p.Plant.Site.Name != "Tern Hollow" || !p.Created.Equal(end) {
		t.Errorf("opened: %s of %s", p.Plant.Site.Name, p.Created)
	}
	fresh := emptyBook(t, 2)
	into(t, fresh, data)
	if !bytes.Equal(data, export(t, fresh, datapackage.WriteOptions{})) {
		t.Error("the package of the new book differs")
	}
}
