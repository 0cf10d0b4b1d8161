package copies

import (
	"crypto/sha256"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"pgregory.net/rapid"
)

var alder = [16]byte{'a', 'l', 'd', 'e', 'r'}

func TestNameTellsAllOfACopy(t *testing.T) {
	s := SeriesOf("/home/ro/headpond.book", alder)
	c := Copy{Number: 12, Time: time.Date(2026, 2, 3, 16, 0, 0, 0, time.UTC), Mark: 857, Sum: "9c0d12ab"}
	name := s.name(c)
	if want := "headpond-" + s.tag + "-00012-20260203T160000Z-857-9c0d12ab.book"; name != want {
		t.Errorf("named %s, want %s", name, want)
	}
	rapid.Check(t, func(t *rapid.T) {
		c := Copy{Number: rapid.Uint64Range(1, 1<<62).Draw(t, "number"), Mark: rapid.Uint64Range(0, 1<<62).Draw(t, "mark"),
			Time: time.Unix(rapid.Int64Range(0, 1<<37).Draw(t, "time"), 0).UTC(), Sum: rapid.StringMatching(`[0-9a-f]{8}`).Draw(t, "sum")}
		if got, ok := s.parse(s.name(c)); !ok || got != c {
			t.Errorf("%s reads as %+v, %v", s.name(c), got, ok)
		}
	})
}

func TestSeriesAreToldApart(t *testing.T) {
	a := SeriesOf("/home/ro/headpond.book", alder)
	c := Copy{Number: 1, Time: time.Unix(1e9, 0).UTC(), Sum: "00000000"}
	for name, other := range map[string]Series{
		"another machine": SeriesOf("/home/ro/headpond.book", [16]byte{'b'}), "another folder": SeriesOf("/home/imke/headpond.book", alder),
		"another name": SeriesOf("/home/ro/old.book", alder), "a longer name": SeriesOf("/home/ro/headpond-2.book", alder),
	} {
		if _, ok := a.parse(other.name(c)); ok {
			t.Errorf("%s: its copy is taken for ours", name)
		}
	}
}

// FuzzName: whatever a file is called, only a name that we would write is one of ours.
func FuzzName(f *testing.F) {
	s := SeriesOf("/home/ro/headpond.book", alder)
	for _, name := range []string{"", "headpond.book", s.name(Copy{Number: 1, Time: time.Unix(0, 0), Sum: "00000000"}),
		"headpond-" + s.tag + "-1-20260203T160000Z-857-9c0d12ab.book", "headpond-" + s.tag + "-00012-20260230T160000Z-857-9c0d12ab.book",
		"headpond-" + s.tag + "-00012-20260203T160000Z-0857-9c0d12ab.book", "headpond-" + s.tag + "-00012-20260203T160000Z-857-9c0d12ab.book.1.part"} {
		f.Add(name)
	}
	f.Fuzz(func(t *testing.T, name string) {
		if c, ok := s.parse(name); ok && s.name(c) != name {
			t.Errorf("%q is read as %+v, which is written %q", name, c, s.name(c))
		}
	})
}

func TestListPassesOverEverythingElse(t *testing.T) {
	dir := t.TempDir()
	s := SeriesOf("/home/ro/headpond.book", alder)
	first := s.name(Copy{Number: 1, Time: time.Unix(1e9, 0), Sum: "00000000"})
	second := s.name(Copy{Number: 2, Time: time.Unix(1e9, 0), Sum: "00000000"})
	folder := s.name(Copy{Number: 3, Time: time.Unix(1e9, 0), Sum: "00000000"})
	for _, name := range []string{first, second, second + ".1234.part", "headpond.book", "notes.txt", "x" + first} {
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Mkdir(filepath.Join(dir, folder), 0o700); err != nil {
		t.Fatal(err)
	}
	list, err := s.List(dir)
	if err != nil || len(list) != 2 || list[0].name() != second || list[1].name() != first {
		t.Errorf("%v, %v", list, err)
	}
	if _, err := s.List(filepath.Join(dir, "none")); !os.IsNotExist(err) {
		t.Errorf("a folder that is not there: %v", err)
	}
}

// The newest copy is found without the book: by its number in its series, by what it holds among several, and only where it is whole.
func TestNewestOfAFolder(t *testing.T) {
	dir := t.TempDir()
	if c, ok := Newest(dir, "plant.book"); ok {
		t.Errorf("of an empty folder: %+v", c)
	}
	put := func(book string, writer byte, number, mark uint64, day int, spoilt bool) string {
		t.Helper()
		data := fmt.Appendf(nil, "%s %d %d %d", book, writer, number, mark)
		c := Copy{Number: number, Time: noon.AddDate(0, 0, day), Mark: mark, Sum: sumText(sha256.Sum256(data))}
		if spoilt {
			data = data[1:]
		}
		name := SeriesOf("/home/ro/"+book, [16]byte{writer}).name(c)
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o600); err != nil {
			t.Fatal(err)
		}
		return name
	}
	is := func(what, want string) {
		t.Helper()
		if c, ok := Newest(dir, filepath.Join("somewhere", "plant.book")); !ok || c.name() != want || c.Path != filepath.Join(dir, want) {
			t.Errorf("%s: %s, want %s", what, c.name(), want)
		}
	}
	is("another book's, as long as there is none of ours", put("other.book", 1, 9, 900, 9, false))
	is("ours", put("plant.book", 1, 1, 10, 0, false))
	second := put("plant.book", 1, 2, 11, -300, false)
	is("a clock that fell back", second)
	put("plant.book", 1, 3, 12, 1, true)
	is("one that is spoilt", second)
	put("plant.book", 2, 7, 5, 2, false)
	is("another machine's that holds less", second)
	is("another machine's that holds more", put("plant.book", 2, 8, 40, 2, false))
	if c, ok := Newest(dir, "other.book"); !ok || c.Mark != 900 {
		t.Errorf("the other book's: %+v", c)
	}
	if _, ok := Newest(filepath.Join(dir, "none"), "plant.book"); ok {
		t.Error("in no folder one is found")
	}
}
