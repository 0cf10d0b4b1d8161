package datapackage_test

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/datapackage"
	"example.org/headpond/model/record"
)

// whatItHolds opens a package as anybody does, and lists its entries.
func whatItHolds(ctx context.Context, data []byte) (list []string, err error) {
	p, err := datapackage.Read(ctx, bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, err
	}
	err = p.Entries(ctx, func(e logbook.Entry) error {
		list = append(list, e.ID+string(e.Raw))
		return nil
	})
	slices.Sort(list)
	return list, err
}

// Whatever a memory stick does to some bytes of a package, it is refused as a whole in words that can be shown, or says the very same.
func TestAnyBitThatFlipsIsNoticed(t *testing.T) {
	good := export(t, smallBook(t), datapackage.WriteOptions{})
	want, err := whatItHolds(t.Context(), good)
	if err != nil || len(want) < 5 {
		t.Fatalf("%d entries, %v", len(want), err)
	}
	refused, tried := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		tried++
		data := bytes.Clone(good)
		for range rapid.IntRange(1, 3).Draw(t, "flips") {
			data[rapid.IntRange(0, len(data)-1).Draw(t, "at")] ^= 1 << rapid.IntRange(0, 7).Draw(t, "bit")
		}
		got, err := whatItHolds(t.Context(), data)
		var own *datapackage.Error
		switch {
		case err == nil && !slices.Equal(got, want):
			t.Fatal("it reads as something else")
		case err != nil && !errors.As(err, &own):
			t.Fatalf("it is refused by %T: %v", err, err)
		case err != nil && (strings.ContainsAny(err.Error(), "\x1b\x00") || !strings.HasSuffix(err.Error(), "nothing was changed")):
			t.Fatalf("not fit to be shown: %q", err)
		case err != nil:
			refused++
		}
	})
	if 2*refused < tried {
		t.Errorf("only %d of %d were refused: most of a package's bytes are vouched for", refused, tried)
	}
}

// A package that was not copied to its end, or that has something behind it, is refused at any length.
func TestACutPackageIsRefused(t *testing.T) {
	good := export(t, smallBook(t), datapackage.WriteOptions{})
	rapid.Check(t, func(t *rapid.T) {
		data := good[:rapid.IntRange(0, len(good)-1).Draw(t, "length")]
		if rapid.Bool().Draw(t, "longer") {
			data = append(bytes.Clone(good), rapid.SliceOfN(rapid.Byte(), 1, 40).Draw(t, "behind")...)
		}
		var own *datapackage.Error
		if _, err := whatItHolds(t.Context(), data); !errors.As(err, &own) {
			t.Fatalf("of %d bytes %d are taken: %v", len(good), len(data), err)
		}
	})
}

// narrowDisk takes so many bytes.
type narrowDisk struct{ left int }

var errNoSpace = errors.New("no space is left")

func (d *narrowDisk) Write(p []byte) (int, error) {
	if d.left -= len(p); d.left < 0 {
		return 0, errNoSpace
	}
	return len(p), nil
}

// Wherever the disk is full the export says so; nothing of the book is changed by it.
func TestAnExportToAFullDiskSaysSo(t *testing.T) {
	b := smallBook(t)
	size := len(export(t, b, datapackage.WriteOptions{}))
	before, err := os.ReadFile(b.Path())
	if err != nil {
		t.Fatal(err)
	}
	for _, left := range []int{0, 10, size / 3, size - 1, size} {
		_, err := datapackage.Write(t.Context(), &narrowDisk{left}, b, datapackage.WriteOptions{Created: end})
		if (left < size) != errors.Is(err, errNoSpace) {
			t.Errorf("with room for %d of %d bytes: %v", left, size, err)
		}
	}
	if after, err := os.ReadFile(b.Path()); err != nil || !bytes.Equal(before, after) {
		t.Errorf("the book was changed, %v", err)
	}
}

// A workbook is carried as it is, and vouched for; one that cannot be made makes no package.
func TestTheWorkbookIsCarriedOrTheExportFails(t *testing.T) {
	b := smallBook(t)
	made := []byte("PK anything at all \x00\x01")
	data := export(t, b, datapackage.WriteOptions{Workbook: func(_ context.Context, w io.Writer) error {
		_, err := w.Write(made)
		return err
	}})
	files := filesOf(t, data)
	if files[datapackage.FileWorkbook] != string(made) || !strings.Contains(files["README.txt"], "rounds.xlsx") {
		t.Errorf("the workbook is %q", files[datapackage.FileWorkbook])
	}
	if err := open(t, data).Verify(t.Context(), nil); err != nil {
		t.Error(err)
	}
	spoilt := &remade{files: files, keep: true}
	spoilt.files[datapackage.FileWorkbook] += "!"
	refused(t, emptyBook(t, 2), spoilt.zip(t), "rounds.xlsx in the package: it is not as it was exported")
	errSheet := errors.New("no sheet holds so much")
	if _, err := datapackage.Write(t.Context(), io.Discard, b, datapackage.WriteOptions{Created: end, Workbook: func(context.Context, io.Writer) error { return errSheet }}); !errors.Is(err, errSheet) {
		t.Errorf("got %v", err)
	}
}

// A package on disk opens, becomes a book beside it, and is let go of; where something is in the way, or the package is bad, no book
// is left.
func TestABookOfAPackage(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "log.zip")
	data := export(t, smallBook(t), datapackage.WriteOptions{})
	write := func(data []byte) {
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write(data)
	if !datapackage.IsPackage(path) {
		t.Error("it is not taken for a package")
	}
	p, err := datapackage.Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	var seen int
	if err := p.Verify(t.Context(), func(done int) { seen = done }); err != nil || seen != 0 { // told every 256
		t.Errorf("verifying told of %d, %v", seen, err)
	}
	made := filepath.Join(dir, "made.book")
	b, err := p.NewBook(t.Context(), made, options(2))
	if err != nil {
		t.Fatal(err)
	}
	sound(t, b)
	if _, err := p.NewBook(t.Context(), made, options(2)); !errors.Is(err, logbook.ErrExists) {
		t.Errorf("over another book: %v", err)
	}
	sound(t, b)
	if err := p.Close(); err != nil {
		t.Error(err)
	}
	if err := os.Remove(path); err != nil { // where files in use cannot be removed this fails unless it was let go of
		t.Error(err)
	}
	r := &remade{files: filesOf(t, data)}
	r.in(t, "events.csv", "overspeed", "overload") // with sizes and sums made right: only the row's hash tells
	write(r.zip(t))
	if p, err = datapackage.Open(t.Context(), path); err != nil {
		t.Fatal(err)
	}
	defer p.Close()
	bad := filepath.Join(dir, "bad.book")
	if _, err := p.NewBook(t.Context(), bad, options(2)); err == nil || !strings.Contains(err.Error(), "events.csv in the package") {
		t.Errorf("a changed row: %v", err)
	}
	if _, err := os.Stat(bad); !errors.Is(err, os.ErrNotExist) {
		t.Error("a bad package leaves a book")
	}
	ctx, stop := context.WithCancel(t.Context())
	stop()
	if _, err := datapackage.Open(ctx, path); !errors.Is(err, context.Canceled) {
		t.Errorf("given up: %v", err)
	}
}

// The README says which time a part holds, in words for each kind of part, on the plant's clock.
func TestTheReadmeSaysWhichPart(t *testing.T) {
	b := smallBook(t)
	from, to := time.Date(2025, 11, 10, 4, 0, 0, 0, time.UTC), time.Date(2025, 11, 20, 4, 0, 0, 0, time.UTC)
	for want, o := range map[string]datapackage.WriteOptions{
		"partial: from 2025-11-10 00:00 -0400 on.":                                  {From: from},
		"partial: before 2025-11-20 00:00 -0400.":                                   {To: to},
		"partial: from 2025-11-10 00:00 -0400 until before 2025-11-20 00:00 -0400.": {From: from, To: to},
	} {
		if text := filesOf(t, export(t, b, o))["README.txt"]; !strings.Contains(text, want) {
			t.Errorf("it lacks %q:\n%s", want, text)
		}
	}
	if text := filesOf(t, export(t, b, datapackage.WriteOptions{}))["README.txt"]; strings.Contains(text, "PART OF THE LOG") || strings.Contains(text, "lost") {
		t.Errorf("a whole log is called a part, or lost:\n%s", text)
	}
}

// The dates of a zip reach from 1980 to 2107 (APPNOTE 4.4.6; from memory); a computer whose clock is dead exports all the same, and
// the package knows better.
func TestAClockBeyondWhatAZipCanSay(t *testing.T) {
	for _, year := range []int{1970, 1980, 2026, 2107, 2150} {
		b := emptyBook(t, 1)
		if _, err := b.AddPlant(t.Context(), plantText(t), end, "Ro"); err != nil {
			t.Fatal(err)
		}
		created := time.Date(year, 6, 1, 12, 0, 0, 0, time.UTC)
		data := export(t, b, datapackage.WriteOptions{Created: created})
		if p := open(t, data); !p.Created.Equal(created) {
			t.Errorf("%d: it was made %s", year, p.Created)
		}
		z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
		if err != nil {
			t.Fatal(err)
		}
		want := year
		if year < 1980 || year > 2107 {
			want = 1980
		}
		if got := z.File[0].Modified.Year(); got != want {
			t.Errorf("%d: the zip's files are of %d, want %d", year, got, want)
		}
	}
}

// The package's name is one that every program takes, whatever the plant is called.
func TestTheNameOfAnyPlantIsAName(t *testing.T) {
	for name, want := range map[string]string{"Tern Hollow": "tern-hollow-log", "  Ü-Mühle  7 ": "m-hle-7-log", "水車": "plant-log", "a\u202eb": "a-b-log", "---": "plant-log"} {
		b := emptyBook(t, 1)
		if _, err := b.AddPlant(t.Context(), strings.Replace(plantText(t), `"Tern Hollow"`, `"`+name+`"`, 1), end, "Ro"); err != nil {
			t.Fatalf("%q: %v", name, err)
		}
		files := filesOf(t, export(t, b, datapackage.WriteOptions{}))
		if !strings.Contains(files["datapackage.json"], `"name": "`+want+`"`) {
			t.Errorf("%q: want the name %s in %.200s", name, want, files["datapackage.json"])
		}
		if strings.Contains(files["README.txt"], "\u202e") {
			t.Errorf("%q: the README turns the order of what is read", name)
		}
	}
}

// An export that somebody keeps writing into is given up in words, and never mixes what was before and after.
func TestAnExportWhileOthersWriteIsWhole(t *testing.T) {
	b := smallBook(t)
	other, err := logbook.Open(b.Path(), options(9))
	if err != nil {
		t.Fatal(err)
	}
	wrote := 0
	_, err = datapackage.Write(t.Context(), io.Discard, b, datapackage.WriteOptions{Created: end, Workbook: func(ctx context.Context, _ io.Writer) error {
		wrote++ // the tables are filled by now: what comes is left for the next export
		_, err := other.AddRound(ctx, record.Round{Time: end.Add(time.Duration(wrote) * time.Minute), Note: "meanwhile"}, "")
		return err
	}})
	if err != nil || wrote != 1 {
		t.Errorf("wrote %d times, %v", wrote, err)
	}
	data := export(t, b, datapackage.WriteOptions{})
	fresh := emptyBook(t, 2)
	into(t, fresh, data)
	if got, want := contents(t, fresh), contents(t, b); !slices.Equal(got, want) {
		t.Errorf("%d entries came back of %d", len(got), len(want))
	}
}
