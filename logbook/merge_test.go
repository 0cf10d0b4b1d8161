package logbook_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"testing"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/model/record"
)

// contents lists every version of every entry by its hash: what two merged books must have alike.
func contents(t testing.TB, b *logbook.Book) []string {
	t.Helper()
	var list []string
	err := b.Entries(t.Context(), func(e logbook.Entry) error {
		kind := "entry "
		if e.Twin {
			kind = "twin  "
		}
		list = append(list, fmt.Sprintf("%s%s %x", kind, e.ID, e.Hash))
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	sort.Strings(list)
	return list
}

// copyBook copies a book's file, as a person does, to go on with on another machine or the same one.
func copyBook(t testing.TB, b *testBook, writer string) *testBook {
	t.Helper()
	path := filepath.Join(t.TempDir(), writer+"-copy.book")
	if err := os.WriteFile(path, bytesOf(t, b.Path()), 0o600); err != nil {
		t.Fatal(err)
	}
	clock := &testClock{b.clock.now}
	o := options(t, clock, writer)
	o.Rand = seeded(t.Name() + "copy for " + writer)
	c, err := logbook.Open(path, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { checkSound(t, c) })
	return &testBook{c, clock}
}

func merge(t testing.TB, into, from *testBook) (added, already int) {
	t.Helper()
	added, already, err := into.Merge(t.Context(), from.Path())
	if err != nil {
		t.Fatal(err)
	}
	return added, already
}

// threeBooks are copies of one book that each went on: two on the same machine (a fork), one on another; all imported the same
// round, and all corrected the same reading.
func threeBooks(t *testing.T) []*testBook {
	t.Helper()
	a := newBook(t)
	shared := must(a.AddRound(t.Context(), sample(noon.Add(-time.Hour)), ""))(t).Entry.ID
	books := []*testBook{a, copyBook(t, a, "alder"), copyBook(t, a, "birch")}
	imported := level(noon.Add(-30*time.Minute), 0.25)
	imported.ID = logbook.DeriveID(imported)
	for i, b := range books {
		b.clock.advance(time.Duration(3-i) * time.Minute)
		addRounds(t, b, imported, level(noon.Add(time.Duration(i)*time.Second), float64(i)))
		if _, err := b.Amend(t.Context(), shared, map[string]string{"volts": []string{"230", "231", "232"}[i]}, "misread", "Ro", ""); err != nil {
			t.Fatal(err)
		}
	}
	return books
}

func TestMergeInAnyOrderGivesTheSameBook(t *testing.T) {
	orders := [][]int{{0, 1, 2}, {0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}, {2, 1, 0}, {0, 1, 2, 1, 0, 2, 2}}
	var want []string
	var wantRounds []record.Round
	for _, order := range orders {
		books := threeBooks(t)
		// associative: the first takes in the second after that has taken in the third
		into := books[order[0]]
		for _, i := range order[1:] {
			merge(t, into, books[i])
		}
		got := contents(t, into.Book)
		rounds := history(t, into, logbook.HistoryOptions{At: noon.Add(time.Hour)}).Rounds
		if want == nil {
			want, wantRounds = got, rounds
		}
		equal(t, "contents", got, want)
		equal(t, "rounds", rounds, wantRounds)
	}
	for _, r := range wantRounds {
		if r.Values["pond_level_m"] == 0.25 && !r.WrittenAt.Equal(noon.Add(time.Minute)) {
			t.Errorf("of the imported round the version of %v is read, want the one that was written first", r.WrittenAt)
		}
	}
	if n := len(wantRounds); n != 5 {
		t.Errorf("%d rounds, want the shared one, the imported one once, and one of each book", n)
	}
	if n := strings.Count(strings.Join(want, "\n"), "twin  "); n != 2 {
		t.Errorf("%d other versions of the imported round, want 2", n)
	}
}

func TestMergeIsAssociative(t *testing.T) {
	left, right := threeBooks(t), threeBooks(t)
	merge(t, left[0], left[1])
	merge(t, left[0], left[2]) // (a b) c
	merge(t, right[1], right[2])
	merge(t, right[0], right[1]) // a (b c)
	equal(t, "contents", contents(t, left[0].Book), contents(t, right[0].Book))
}

func TestMergedBookGoesOn(t *testing.T) {
	books := threeBooks(t)
	merge(t, books[0], books[1])
	merge(t, books[0], books[2])
	if added, already := merge(t, books[0], books[0]); added != 0 || already != len(contents(t, books[0].Book)) {
		t.Errorf("a book merged into itself: added %d, already %d", added, already)
	}
	books[0].clock.advance(time.Hour)
	addRounds(t, books[0], level(noon.Add(time.Minute), 9))
	merge(t, books[1], books[0])
	merge(t, books[2], books[1])
	equal(t, "contents", contents(t, books[2].Book), contents(t, books[0].Book))
}

func TestMergeChangesNothingElsewhere(t *testing.T) {
	books := threeBooks(t)
	if err := books[0].SaveDraft(t.Context(), "round", []byte("volts=24")); err != nil {
		t.Fatal(err)
	}
	before := bytesOf(t, books[1].Path())
	merge(t, books[0], books[1])
	unchanged(t, "being merged from", before, books[1].Path())
	if d, ok, err := books[0].Draft(t.Context(), "round"); !ok || err != nil || string(d.Data) != "volts=24" {
		t.Errorf("the draft is %q, %v, %v", d.Data, ok, err)
	}
	before = bytesOf(t, books[0].Path())
	if added, _ := merge(t, books[0], books[1]); added != 0 {
		t.Errorf("again: %d added", added)
	}
	unchanged(t, "merging again", before, books[0].Path())
}

func TestMergeRefusesWhatIsNoSoundBook(t *testing.T) {
	b := newBook(t)
	addRounds(t, b, level(noon, 1))
	other := copyBook(t, b, "birch")
	addRounds(t, other, level(noon.Add(time.Minute), 2))
	dir := t.TempDir()
	write := func(name string, data []byte) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	whole := bytesOf(t, other.Path())
	flipped := append([]byte(nil), whole...)
	// Old pages hold copies of the value, so all of them are altered.
	for at, text := 0, "pond_level_m"; ; at++ {
		i := strings.Index(string(flipped[at:]), text)
		if i < 0 {
			break
		}
		flipped[at+i] ^= 1
		at += i
	}
	before := contents(t, b.Book)
	for name, c := range map[string]struct {
		path string
		kind error
	}{
		"missing":    {filepath.Join(dir, "none.book"), logbook.ErrNoBook},
		"text":       {write("text", []byte("rounds of this week")), logbook.ErrNotABook},
		"empty":      {write("empty", nil), logbook.ErrNotABook},
		"cut":        {write("cut", whole[:len(whole)/2]), logbook.ErrDamaged},
		"other bolt": {otherStore(t), logbook.ErrNotABook},
		"flipped":    {write("flipped", flipped), logbook.ErrDamaged},
	} {
		if _, _, err := b.Merge(t.Context(), c.path); !errors.Is(err, c.kind) || !strings.Contains(err.Error(), c.path) {
			t.Errorf("%s: %v", name, err)
		}
	}
	equal(t, "contents", contents(t, b.Book), before)
}

func TestExportedEntriesMakeTheSameBookElsewhere(t *testing.T) {
	books := threeBooks(t)
	merge(t, books[0], books[1])
	merge(t, books[0], books[2])
	var entries []logbook.Entry
	err := books[0].Entries(t.Context(), func(e logbook.Entry) error {
		e.Raw = nil // only what columns can carry
		entries = append(entries, e)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	fresh := newBookOf(t, "cedar", &testClock{noon})
	// in any order, and twice
	for _, part := range [][]logbook.Entry{entries[3:], entries[:5], entries} {
		if _, _, err := fresh.PutEntries(t.Context(), part); err != nil {
			t.Fatal(err)
		}
	}
	equal(t, "contents", contents(t, fresh.Book), contents(t, books[0].Book))
	o := logbook.HistoryOptions{At: noon.Add(time.Hour)}
	equal(t, "rounds", history(t, fresh, o).Rounds, history(t, books[0], o).Rounds)

	entries[0].Round.Values["volts"] = 999
	if _, _, err := fresh.PutEntries(t.Context(), entries[:1]); !errors.Is(err, logbook.ErrDamaged) {
		t.Errorf("an altered row: %v", err)
	}
}

func TestTwoEntriesOfOneIDAreSaid(t *testing.T) {
	id := logbook.DeriveID(level(noon, 1))
	var entries []logbook.Entry
	for i, writer := range []string{"alder", "birch"} {
		r := level(noon, float64(i))
		one := []logbook.Entry{{ID: id, Time: noon, WrittenAt: noon, Round: &r}}
		if err := logbook.Chain(writerID(writer), one); err != nil {
			t.Fatal(err)
		}
		entries = append(entries, one...)
	}
	path := filepath.Join(t.TempDir(), "two.book")
	two := must(logbook.Create(t.Context(), path, options(t, &testClock{noon}, "alder")))(t)
	if _, _, err := two.PutEntries(t.Context(), entries); err != nil {
		t.Fatal(err)
	}
	report := must(two.Check(t.Context(), nil))(t)
	if report.Sound() || !report.ChainOK || report.Damaged[0].ID != id || !strings.Contains(report.Damaged[0].What, "same id") {
		t.Errorf("report = %+v", report)
	}
}
