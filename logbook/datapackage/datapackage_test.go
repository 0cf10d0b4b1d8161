package datapackage_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sort"
	"testing"
	"time"

	"github.com/oklog/ulid/v2"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/datapackage"
	"example.org/headpond/logbook/demobook"
	"example.org/headpond/model/demo"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

var end = time.Date(2025, 11, 18, 20, 15, 0, 0, time.FixedZone("", -4*3600))

// options are those of a book whose clock stands and whose ids are made by counting.
func options(writer byte) logbook.Options {
	return logbook.Options{Clock: func() time.Time { return end }, Location: end.Location(), Writer: [16]byte{writer}, Rand: &counter{uint64(writer) << 32}}
}

// counter gives ever other bytes, the same in each run.
type counter struct{ n uint64 }

func (c *counter) Read(p []byte) (int, error) {
	for i := range p {
		if i%8 == 0 {
			c.n++
		}
		p[i] = binary.BigEndian.AppendUint64(nil, c.n*0x9e3779b97f4a7c15)[i%8]
	}
	return len(p), nil
}

func emptyBook(t testing.TB, writer byte) *logbook.Book {
	t.Helper()
	b, err := logbook.Create(t.Context(), filepath.Join(t.TempDir(), "a.book"), options(writer))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// demoBook is the demo's book: 120 days of Tern Hollow.
func demoBook(t testing.TB) *logbook.Book {
	t.Helper()
	p, err := demo.Plant()
	if err != nil {
		t.Fatal(err)
	}
	story, err := demo.History(demo.Seed, end, p.Location)
	if err != nil {
		t.Fatal(err)
	}
	b, err := demobook.Write(t.Context(), filepath.Join(t.TempDir(), "demo.book"), story, options(1))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func export(t testing.TB, b *logbook.Book, o datapackage.WriteOptions) []byte {
	t.Helper()
	if o.Created.IsZero() {
		o.Created = end
	}
	var out bytes.Buffer
	if _, err := datapackage.Write(t.Context(), &out, b, o); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func open(t testing.TB, data []byte) *datapackage.Package {
	t.Helper()
	p, err := datapackage.Read(t.Context(), bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func into(t testing.TB, b *logbook.Book, data []byte) (added, already int) {
	t.Helper()
	added, already, err := open(t, data).Into(t.Context(), b)
	if err != nil {
		t.Fatal(err)
	}
	return added, already
}

// contents lists every version of every entry by its hash: what two books must have alike.
func contents(t testing.TB, b *logbook.Book) []string {
	t.Helper()
	var list []string
	err := b.Entries(t.Context(), func(e logbook.Entry) error {
		list = append(list, fmt.Sprintf("%s %v %x", e.ID, e.Twin, e.Hash))
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	sort.Strings(list)
	return list
}

func sound(t testing.TB, b *logbook.Book) {
	t.Helper()
	r, err := b.Check(context.Background(), nil)
	if err != nil || !r.Sound() {
		t.Errorf("%s: %+v, %v", b.Path(), r, err)
	}
}

// tenYears is a book of three rounds a day for ten years, with an event a week and a correction a month.
func tenYears(t testing.TB) *logbook.Book {
	t.Helper()
	const days = 3652
	start := end.AddDate(0, 0, -days)
	text := plantText(t)
	list := []logbook.Entry{{Time: start, WrittenAt: start, Revision: &record.Revision{From: start, Text: text, By: "Ro"}}}
	for d := range days {
		for i, hour := range []int{7, 13, 19} {
			at := start.AddDate(0, 0, d).Add(time.Duration(hour) * time.Hour)
			x := float64((d*3+i)%97) / 10
			r := record.Round{By: "Imke", Running: &[]string{"A"}, Words: map[quantity.Key]string{"screen": "clear"},
				Values: map[quantity.Key]float64{"volts": 236 + x, "hertz": 59.8 + x/20, "load_kw": 2.1 + x/3, "dump_share_pct": 40 + x, "pressure_kpa": 131 + x/2,
					"pond_level_m": -0.2 - x/100, "bearing_c": 41 + x, "A.kw": 5.1, "air_c": 3, "hours": float64(d * 24)}}
			if i == 2 {
				r.Note = "leaves on the screen, cleared, the bearing a little warm"
			}
			list = append(list, logbook.Entry{Time: at, WrittenAt: at.Add(time.Minute), Round: &r})
		}
		at := start.AddDate(0, 0, d).Add(20 * time.Hour)
		if d%7 == 0 {
			list = append(list, logbook.Entry{Time: at, WrittenAt: at, Event: &record.Event{Time: at, Kind: record.NoteEvent, Note: "greased", By: "Ro"}})
		}
		if d%30 == 0 {
			list = append(list, logbook.Entry{Time: at, WrittenAt: at, Amendment: &logbook.Amendment{Target: "last round", Changes: map[string]string{"volts": "240"}, Why: "misread", By: "Ro"}})
		}
	}
	target := ""
	for i := range list {
		e := &list[i]
		id := ulid.ULID{}
		if err := id.SetTime(uint64(e.Time.UnixMilli())); err != nil {
			t.Fatal(err)
		}
		binary.BigEndian.PutUint64(id[8:], uint64(i))
		e.ID = id.String()
		if e.Round != nil {
			e.Round.Time = e.Time
			target = e.ID
		}
		if e.Amendment != nil {
			e.Amendment.Target = target
		}
	}
	if err := logbook.Chain([16]byte{9}, list); err != nil {
		t.Fatal(err)
	}
	b := emptyBook(t, 3)
	if _, _, err := b.PutEntries(t.Context(), list); err != nil {
		t.Fatal(err)
	}
	return b
}

func plantText(t testing.TB) string {
	t.Helper()
	text, err := os.ReadFile("../../cmd/headpond/testdata/plant.toml")
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func TestTheDemosBookComesBack(t *testing.T) {
	b := demoBook(t)
	data := export(t, b, datapackage.WriteOptions{})
	fresh := emptyBook(t, 2)
	added, already := into(t, fresh, data)
	want := contents(t, b)
	if added != len(want) || already != 0 {
		t.Errorf("%d added, %d already; want %d and 0", added, already, len(want))
	}
	if got := contents(t, fresh); fmt.Sprint(got) != fmt.Sprint(want) {
		t.Error("the entries differ")
	}
	if again := export(t, fresh, datapackage.WriteOptions{}); !bytes.Equal(again, data) {
		t.Error("exporting again gives other bytes")
	}
	if added, already := into(t, fresh, data); added != 0 || already != len(want) {
		t.Errorf("again: %d added, %d already", added, already)
	}
	sound(t, fresh)
}

// The goals of the design: export of ten years within 1 s, opening such a package within 500 ms.
func BenchmarkExportTenYears(b *testing.B) {
	book := tenYears(b)
	n := len(export(b, book, datapackage.WriteOptions{}))
	for b.Loop() {
		if _, err := datapackage.Write(b.Context(), io.Discard, book, datapackage.WriteOptions{Created: end}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(n), "package-bytes")
}

func tenYearsFile(b *testing.B) string {
	b.Helper()
	path := filepath.Join(b.TempDir(), "ten.zip")
	if err := os.WriteFile(path, export(b, tenYears(b), datapackage.WriteOptions{}), 0o600); err != nil {
		b.Fatal(err)
	}
	return path
}

// Opening verifies every file's SHA-256 and reads the plant.
func BenchmarkOpenTenYears(b *testing.B) {
	path := tenYearsFile(b)
	for b.Loop() {
		p, err := datapackage.Open(b.Context(), path)
		if err != nil {
			b.Fatal(err)
		}
		_ = p.Close()
	}
}

// With every row's hash verified and a book made of it, ready for the screens.
func BenchmarkOpenTenYearsAsABook(b *testing.B) {
	path := tenYearsFile(b)
	dir := b.TempDir()
	for i := 0; b.Loop(); i++ {
		p, err := datapackage.Open(b.Context(), path)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := p.NewBook(b.Context(), filepath.Join(dir, fmt.Sprint(i)), options(5)); err != nil {
			b.Fatal(err)
		}
		_ = p.Close()
	}
}
