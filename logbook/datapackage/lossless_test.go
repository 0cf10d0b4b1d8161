package datapackage_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/fxamacker/cbor/v2"
	"github.com/oklog/ulid/v2"
	"pgregory.net/rapid"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/datapackage"
	"example.org/headpond/model/record"
)

// rapidBook makes a book within a property; its folder goes with the test.
func rapidBook(t *rapid.T, dir string, n *int) *logbook.Book {
	*n++
	b, err := logbook.Create(t.Context(), filepath.Join(dir, fmt.Sprint(*n)), options(byte(100+*n%100)))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func rapidContents(t *rapid.T, b *logbook.Book) []string {
	var list []string
	if err := b.Entries(t.Context(), func(e logbook.Entry) error {
		list = append(list, fmt.Sprintf("%s %v %x", e.ID, e.Twin, e.Hash))
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	slices.Sort(list)
	return list
}

func rapidExport(t *rapid.T, b *logbook.Book) []byte {
	var out bytes.Buffer
	if _, err := datapackage.Write(t.Context(), &out, b, datapackage.WriteOptions{Created: end}); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func rapidInto(t *rapid.T, b *logbook.Book, data []byte) (added int) {
	p, err := datapackage.Read(t.Context(), bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	added, _, err = p.Into(t.Context(), b)
	if err != nil {
		t.Fatal(err)
	}
	return added
}

// Whatever is in a book, its package makes a book of the same entries and hashes, and that book's package is the same to the
// byte.
func TestAnyLogComesBack(t *testing.T) {
	dir, plant, n := t.TempDir(), plantText(t), 0
	rapid.Check(t, func(t *rapid.T) {
		b := rapidBook(t, dir, &n)
		for _, log := range genLog(t, plant) {
			if _, _, err := b.PutEntries(t.Context(), log); err != nil {
				t.Fatal(err)
			}
		}
		data := rapidExport(t, b)
		fresh := rapidBook(t, dir, &n)
		rapidInto(t, fresh, data)
		if a, z := rapidContents(t, b), rapidContents(t, fresh); !slices.Equal(a, z) {
			t.Fatalf("went out:\n%s\ncame back:\n%s", strings.Join(a, "\n"), strings.Join(z, "\n"))
		}
		if r, err := fresh.Check(t.Context(), nil); err != nil || !r.Sound() {
			t.Fatalf("the new book: %+v, %v", r, err)
		}
		if !bytes.Equal(data, rapidExport(t, fresh)) {
			t.Fatal("the package of the new book differs")
		}
	})
}

// Packages of books that grew apart, merged in any order and any number of times, give one book.
func TestPackagesMergeInAnyOrder(t *testing.T) {
	dir, plant, n := t.TempDir(), plantText(t), 0
	rapid.Check(t, func(t *rapid.T) {
		logs := genLog(t, plant)
		var packages [][]byte
		for _, log := range logs {
			b := rapidBook(t, dir, &n)
			if _, _, err := b.PutEntries(t.Context(), append(slices.Clone(logs[0][:1]), log...)); err != nil {
				t.Fatal(err)
			}
			packages = append(packages, rapidExport(t, b))
		}
		one, two := rapidBook(t, dir, &n), rapidBook(t, dir, &n)
		for _, p := range packages {
			rapidInto(t, one, p)
		}
		want := rapidContents(t, one)
		for _, i := range rapid.SliceOfN(rapid.IntRange(0, len(packages)-1), 0, 4).Draw(t, "some, again and again") {
			rapidInto(t, two, packages[i])
			rapidInto(t, one, packages[i])
		}
		third := rapidBook(t, dir, &n) // what the last two hold goes in as a package of its own
		for _, i := range rapid.Permutation([]int{0, 1, 2}[:len(packages)]).Draw(t, "order") {
			rapidInto(t, third, packages[i])
		}
		rapidInto(t, two, rapidExport(t, third))
		if got := rapidContents(t, one); !slices.Equal(got, want) {
			t.Fatal("taking packages in again changed the book")
		}
		if got := rapidContents(t, two); !slices.Equal(got, want) {
			t.Fatalf("in another order:\n%s\nwant:\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
		}
		if added := rapidInto(t, two, packages[0]); added != 0 {
			t.Fatalf("again: %d added", added)
		}
	})
}

// Conflicting corrections of two copies are both kept, and both copies read the same.
func TestConflictingCorrectionsAreBothKept(t *testing.T) {
	a := demoBook(t)
	h, err := a.History(t.Context(), logbook.HistoryOptions{At: end})
	if err != nil {
		t.Fatal(err)
	}
	round := h.Rounds[len(h.Rounds)-1].ID
	b := emptyBook(t, 2)
	into(t, b, export(t, a, datapackage.WriteOptions{}))
	for i, book := range []*logbook.Book{a, b} {
		if _, err := book.Amend(t.Context(), round, map[string]string{"note": fmt.Sprintf("version %d", i)}, "read again", "Ro", ""); err != nil {
			t.Fatal(err)
		}
	}
	fromA, fromB := export(t, a, datapackage.WriteOptions{}), export(t, b, datapackage.WriteOptions{})
	into(t, a, fromB)
	into(t, b, fromA)
	for _, book := range []*logbook.Book{a, b} {
		e, err := book.Entry(t.Context(), round)
		if err != nil || len(e.Corrections) < 2 {
			t.Fatalf("%d corrections, %v", len(e.Corrections), err)
		}
		sound(t, book)
	}
	if fmt.Sprint(contents(t, a)) != fmt.Sprint(contents(t, b)) {
		t.Error("the two books differ")
	}
}

// An entry with a part that only a newer version knows goes through as its bytes.
func TestWhatANewerVersionWroteComesBack(t *testing.T) {
	b := emptyBook(t, 1)
	if _, err := b.AddPlant(t.Context(), plantText(t), end, "Ro"); err != nil {
		t.Fatal(err)
	}
	s, err := b.AddRound(t.Context(), record.Round{Time: end, Note: "calm"}, "")
	if err != nil {
		t.Fatal(err)
	}
	e, err := b.Entry(t.Context(), s.Entry.ID)
	if err != nil {
		t.Fatal(err)
	}
	var content map[int]any
	if err := cbor.Unmarshal(e.Raw[1:len(e.Raw)-4], &content); err != nil {
		t.Fatal(err)
	}
	content[60], content[5], content[6] = "later", e.Seq+1, e.Hash[:]
	mode, err := cbor.CoreDetEncOptions().EncMode()
	if err != nil {
		t.Fatal(err)
	}
	payload, err := mode.Marshal(content)
	if err != nil {
		t.Fatal(err)
	}
	id := ulid.MustParse(e.ID)
	id[15]++
	raw := append([]byte{1}, payload...)
	table := crc32.MakeTable(crc32.Castagnoli)
	raw = binary.BigEndian.AppendUint32(raw, crc32.Update(crc32.Checksum(id[:], table), table, raw))
	if _, _, err := b.PutEntries(t.Context(), []logbook.Entry{{ID: id.String(), Raw: raw}}); err != nil {
		t.Fatal(err)
	}
	data := export(t, b, datapackage.WriteOptions{})
	fresh := emptyBook(t, 2)
	into(t, fresh, data)
	if fmt.Sprint(contents(t, fresh)) != fmt.Sprint(contents(t, b)) {
		t.Error("the entries differ")
	}
	var out bytes.Buffer
	sum, err := datapackage.Write(t.Context(), &out, b, datapackage.WriteOptions{Created: end, From: end.Add(-time.Hour)})
	if err != nil || sum.LeftOut != 1 || sum.Rounds != 1 {
		t.Errorf("a part: %+v, %v", sum, err)
	}
}

// A part of a log can be looked at and taken in; what is in it reads as in the whole log.
func TestAPartOfALog(t *testing.T) {
	whole := demoBook(t)
	from, to := end.AddDate(0, 0, -20), end.AddDate(0, 0, -5)
	part := export(t, whole, datapackage.WriteOptions{From: from, To: to})
	if p := open(t, part); p.About.Chain != datapackage.Partial || p.About.From == "" || p.About.To == "" {
		t.Errorf("it says %+v", p.About)
	}
	read := func(b *logbook.Book) []record.Round {
		var list []record.Round
		if err := b.Rounds(t.Context(), from, to, func(r record.Round) error {
			list = append(list, r)
			return nil
		}); err != nil {
			t.Fatal(err)
		}
		return list
	}
	fresh := emptyBook(t, 2)
	into(t, fresh, part)
	sound(t, fresh)
	got, want := read(fresh), read(whole)
	if len(want) < 20 || len(got) != len(want) {
		t.Fatalf("%d rounds, want %d", len(got), len(want))
	}
	for i := range want {
		if got[i].ID != want[i].ID || got[i].Note != want[i].Note || !got[i].WrittenAt.Equal(want[i].WrittenAt) || len(got[i].Changes) != len(want[i].Changes) {
			t.Errorf("round %d is %+v, want %+v", i, got[i], want[i])
		}
	}
	if added, _ := into(t, fresh, part); added != 0 {
		t.Errorf("again: %d added", added)
	}
	if added, _ := into(t, fresh, export(t, whole, datapackage.WriteOptions{From: from.AddDate(0, 0, -3), To: to})); added == 0 {
		t.Error("a longer part adds nothing")
	}
	sound(t, fresh)
	into(t, fresh, export(t, whole, datapackage.WriteOptions{}))
	sound(t, fresh)
	if added, already := into(t, whole, part); added != 0 || already == 0 {
		t.Errorf("into the log that it is of: %d added, %d already", added, already)
	}
	sound(t, whole)
}

// The part of an hour in which a correction moved a round is where the round is now, not where it was.
func TestAPartGoesByCorrectedTimes(t *testing.T) {
	b := emptyBook(t, 1)
	if _, err := b.AddPlant(t.Context(), plantText(t), end.AddDate(0, 0, -9), "Ro"); err != nil {
		t.Fatal(err)
	}
	s, err := b.AddRound(t.Context(), record.Round{Time: end.Add(-time.Hour), Note: "calm"}, "")
	if err != nil {
		t.Fatal(err)
	}
	moved := record.TimeText(end.Add(-48 * time.Hour))
	if _, err := b.Amend(t.Context(), s.Entry.ID, map[string]string{"time": moved}, "wrong day", "Ro", ""); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ from, to, rounds int }{{-3, -1, 1}, {-1, 1, 0}} {
		var out bytes.Buffer
		sum, err := datapackage.Write(t.Context(), &out, b, datapackage.WriteOptions{Created: end, From: end.AddDate(0, 0, c.from), To: end.AddDate(0, 0, c.to)})
		if err != nil || sum.Rounds != c.rounds || sum.Amendments != c.rounds {
			t.Errorf("from %d to %d days: %+v, %v", c.from, c.to, sum, err)
		}
	}
}

func TestADamagedBookIsNotExported(t *testing.T) {
	b := demoBook(t)
	data, err := os.ReadFile(b.Path())
	if err != nil {
		t.Fatal(err)
	}
	for i := bytes.Index(data, []byte("pond_level_m")); i >= 0; {
		data[i+2] ^= 1
		next := bytes.Index(data[i+8:], []byte("pond_level_m"))
		if next < 0 {
			break
		}
		i += 8 + next
	}
	if err := os.WriteFile(b.Path(), data, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := datapackage.Write(t.Context(), io.Discard, b, datapackage.WriteOptions{Created: end}); !errors.Is(err, logbook.ErrDamaged) {
		t.Errorf("got %v", err)
	}
	empty := emptyBook(t, 4)
	var own *datapackage.Error
	if _, err := datapackage.Write(t.Context(), io.Discard, empty, datapackage.WriteOptions{Created: end}); !errors.As(err, &own) {
		t.Errorf("a book without a plant: %v", err)
	}
}
