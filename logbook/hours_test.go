package logbook_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	bolt "go.etcd.io/bbolt"

	"example.org/headpond/logbook"
	"example.org/headpond/model/record"
	"example.org/headpond/model/upkeep"
)

// hoursPlant is the plant with tasks by hours, of one set or two.
func hoursPlant(t testing.TB, sets int) string {
	text := taskPlant(t)
	if sets < 2 {
		return text
	}
	a, b := strings.Index(text, "[[unit]]"), strings.Index(text, "[ballast]")
	second := strings.Replace(text[a:b], `id = "A"`, `id = "B"`, 1)
	return text[:b] + second + text[b:] + "[[upkeep]]\ntask = \"grease B\"\nevery_hours = 700\nunit = \"B\"\n"
}

// asTheWholeBook fails where the tasks do not stand as all entries of the book say.
func asTheWholeBook(t interface {
	Helper()
	Fatalf(string, ...any)
}, ctx context.Context, what string, b *logbook.Book, o logbook.HistoryOptions,
) {
	t.Helper()
	whole, err := b.History(ctx, logbook.HistoryOptions{At: o.At, All: true})
	if err != nil {
		t.Fatalf("%s: %v", what, err)
	}
	o.Upkeep = true
	part, err := b.History(ctx, o)
	if err != nil {
		t.Fatalf("%s: %v", what, err)
	}
	if diff := cmp.Diff(upkeep.Report(whole), upkeep.Report(part), cmpopts.EquateApprox(0, 1e-6), cmpopts.EquateApproxTime(time.Second)); diff != "" {
		t.Fatalf("%s, the whole book (-), with counted hours (+):\n%s", what, diff)
	}
}

// countedHours reads the instants of the rows and the mark with the store alone.
func countedHours(t testing.TB, path string) (rows []time.Time, mark []byte) {
	t.Helper()
	inBolt(t, path, true, func(tx *bolt.Tx) error {
		mark = append(mark, tx.Bucket([]byte("headpond")).Get([]byte("hours"))...)
		b := tx.Bucket([]byte("hours"))
		if b == nil {
			return nil
		}
		return b.ForEach(func(k, _ []byte) error {
			rows = append(rows, time.UnixMilli(int64(binary.BigEndian.Uint64(k)^1<<63)))
			return nil
		})
	})
	return rows, mark
}

// hoursFrontier reads the mark as FORMAT.md draws it.
func hoursFrontier(t testing.TB, path string) time.Time {
	t.Helper()
	_, m := countedHours(t, path)
	if len(m) != 22 || m[0] != 2 {
		t.Fatalf("the mark is %x", m)
	}
	return time.UnixMilli(int64(binary.BigEndian.Uint64(m[10:18])))
}

// longBook is a book of three rounds a day for some days up to its clock, that say what ran, one a week with the hour meter.
func longBook(t testing.TB, days int) *testBook {
	t.Helper()
	b := newBook(t)
	must(b.AddPlant(t.Context(), hoursPlant(t, 2), noon.AddDate(0, 0, -days), ""))(t)
	var rounds []record.Round
	for i, at := 0, noon.AddDate(0, 0, -days); !at.After(noon); i, at = i+1, at.Add(8*time.Hour) {
		r := ran(at, 1, []string{"A", "B"}[i/50%2])
		if i%21 == 0 {
			r.Values["A.hours"] = 9000 + float64(i)*4
		}
		rounds = append(rounds, r)
	}
	addRounds(t, b, rounds...)
	return b
}

func read(t testing.TB, b *logbook.Book, o logbook.HistoryOptions) int {
	t.Helper()
	return must(logbook.HoursRead(t.Context(), b, o))(t)
}

// Five years of a task that was never done are read once; after that only what came since the last row.
func TestCountedHoursSpareTheReading(t *testing.T) {
	b := longBook(t, 5*365)
	all := read(t, b.Book, logbook.HistoryOptions{})
	if all < 5000 {
		t.Fatalf("%d rounds and events are read of a book without counted hours", all)
	}
	asTheWholeBook(t, t.Context(), "at first", b.Book, logbook.HistoryOptions{})
	if rows, _ := countedHours(t, b.Path()); len(rows) != all/logbook.HoursStep {
		t.Errorf("%d rows of %d rounds", len(rows), all)
	}
	before := bytesOf(t, b.Path())
	if n := read(t, b.Book, logbook.HistoryOptions{}); n > logbook.HoursStep {
		t.Errorf("%d rounds and events are read again", n)
	}
	asTheWholeBook(t, t.Context(), "the second time", b.Book, logbook.HistoryOptions{})
	unchanged(t, "a reading from rows that stand", before, b.Path())
	for _, days := range []int{30, 400, 1500} { // as it was then
		at := logbook.HistoryOptions{At: noon.AddDate(0, 0, -days)}
		if n := read(t, b.Book, at); n > logbook.HoursStep {
			t.Errorf("%d days ago: %d rounds and events are read", days, n)
		}
		asTheWholeBook(t, t.Context(), "as it was then", b.Book, at)
	}
	unchanged(t, "a question about an earlier time", before, b.Path())
}

// A first frame takes counted hours that stand, and does not wait for any to be counted.
func TestAFirstFrameTakesOnlyHoursThatStand(t *testing.T) {
	b := longBook(t, 900)
	quick := logbook.HistoryOptions{Counted: true}
	history := func() *record.History { return must(b.History(t.Context(), quick))(t) }
	if n := read(t, b.Book, quick); n != 0 || history().Earlier != nil {
		t.Errorf("%d rounds and events are read, though none were counted", n)
	}
	if h := history(); !upkeep.Short(h) {
		t.Error("what was not counted is not told")
	}
	asTheWholeBook(t, t.Context(), "behind the first frame", b.Book, logbook.HistoryOptions{})
	n, h := read(t, b.Book, quick), history()
	if n == 0 || n > logbook.HoursStep || upkeep.Short(h) {
		t.Errorf("%d rounds and events are read, short %v", n, upkeep.Short(h))
	}
	whole := must(b.History(t.Context(), logbook.HistoryOptions{All: true}))(t)
	if diff := cmp.Diff(upkeep.Report(whole), upkeep.Report(h), cmpopts.EquateApprox(0, 1e-6), cmpopts.EquateApproxTime(time.Second)); diff != "" {
		t.Errorf("the whole book (-), the first frame (+):\n%s", diff)
	}
}

// A question about an earlier time may ask for other hours than the one about now, and does not write over what that keeps.
func TestAQuestionAboutAnEarlierTimeKeepsNothing(t *testing.T) {
	b := longBook(t, 900)
	before := bytesOf(t, b.Path())
	asTheWholeBook(t, t.Context(), "as it was then", b.Book, logbook.HistoryOptions{At: noon.Add(-time.Second)})
	unchanged(t, "a question about an earlier time", before, b.Path())
	asTheWholeBook(t, t.Context(), "at the last round", b.Book, logbook.HistoryOptions{At: noon})
	if rows, _ := countedHours(t, b.Path()); len(rows) == 0 {
		t.Error("a time after all entries is no earlier one")
	}
}

// As the log grows, rows are added now and then, and what is read of it stays little.
func TestCountedHoursGrowWithTheLog(t *testing.T) {
	b := longBook(t, 2*365)
	asTheWholeBook(t, t.Context(), "at first", b.Book, logbook.HistoryOptions{})
	writings := 0
	first, _ := countedHours(t, b.Path())
	for range 40 {
		var rounds []record.Round
		for range 60 {
			b.clock.advance(8 * time.Hour)
			rounds = append(rounds, ran(b.clock.now, 1, "A"))
		}
		addRounds(t, b, rounds...)
		if n := read(t, b.Book, logbook.HistoryOptions{}); n > logbook.HoursWorth+60 {
			t.Fatalf("%d rounds and events are read", n)
		}
		was := hoursFrontier(t, b.Path())
		history(t, b, logbook.HistoryOptions{Upkeep: true})
		if !hoursFrontier(t, b.Path()).Equal(was) {
			writings++
		}
	}
	asTheWholeBook(t, t.Context(), "after 2400 rounds", b.Book, logbook.HistoryOptions{})
	if writings < 2 || writings > 10 {
		t.Errorf("rows were written %d times", writings)
	}
	if rows, _ := countedHours(t, b.Path()); len(rows) < len(first)+7 || !slices.EqualFunc(first, rows[:len(first)], time.Time.Equal) {
		t.Errorf("rows at %v, at first %v", rows, first)
	}
}

// What comes at an older time drops the rows behind it, and no others; what says nothing of rounds and events drops none.
func TestAnEntryDropsTheRowsBehindIt(t *testing.T) {
	long := noon.AddDate(0, 0, -680) // set B ran, whose hours no meter counts
	amend := func(changes map[string]string) func(*testing.T, *testBook) {
		return func(t *testing.T, b *testBook) {
			h := history(t, b, logbook.HistoryOptions{At: long, Days: 1})
			last, _ := h.Last()
			must(b.Amend(t.Context(), last.ID, changes, "misread", "Ro", ""))(t)
		}
	}
	for _, c := range []struct {
		name string
		do   func(t *testing.T, b *testBook)
		old  bool
	}{
		{"a new round", func(t *testing.T, b *testBook) {
			b.clock.advance(8 * time.Hour)
			addRounds(t, b, ran(b.clock.now, 1, "A"))
		}, false},
		{"upkeep of long ago", func(t *testing.T, b *testBook) {
			must(b.AddDone(t.Context(), record.Done{Time: long, Task: "grease A"}, ""))(t)
		}, false},
		{"a draft", func(t *testing.T, b *testBook) {
			if err := b.SaveDraft(t.Context(), "round", []byte("volts=24")); err != nil {
				t.Fatal(err)
			}
		}, false},
		{"a plant revision", func(t *testing.T, b *testBook) {
			must(b.AddPlant(t.Context(), strings.Replace(hoursPlant(t, 2), "every_hours = 700", "every_hours = 600", 1), long, ""))(t)
		}, false},
		{"a paper of long ago", func(t *testing.T, b *testBook) { addRounds(t, b, ran(long.Add(time.Minute), 1)) }, true},
		{"a trip of long ago", func(t *testing.T, b *testBook) {
			must(b.AddEvent(t.Context(), record.Event{Time: long.Add(time.Minute), Kind: record.Trip}, ""))(t)
		}, true},
		{"a correction of what ran", amend(map[string]string{"running": "none"}), true},
		{"a correction of a time, away from there", amend(map[string]string{"time": noon.Format(time.RFC3339)}), true},
		{"a new round moved there", func(t *testing.T, b *testBook) {
			h := history(t, b, logbook.HistoryOptions{Days: 1})
			last, _ := h.Last()
			must(b.Amend(t.Context(), last.ID, map[string]string{"time": long.Add(time.Minute).Format(time.RFC3339)}, "misread", "Ro", ""))(t)
		}, true},
		{"a merge", func(t *testing.T, b *testBook) {
			other := newBookOf(t, "birch", &testClock{noon})
			addRounds(t, other, ran(long.Add(time.Minute), 1))
			must(0, second(secondOf(b.Merge(t.Context(), other.Path()))))(t)
		}, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := longBook(t, 1000)
			history(t, b, logbook.HistoryOptions{Upkeep: true})
			rows, _ := countedHours(t, b.Path())
			before := hoursFrontier(t, b.Path())
			c.do(t, b)
			after := hoursFrontier(t, b.Path())
			want := before
			if c.old {
				i, _ := slices.BinarySearchFunc(rows, long.Add(time.Minute), time.Time.Compare)
				want = rows[i-1]
			}
			if !after.Equal(want) || c.old == after.Equal(before) {
				t.Errorf("the frontier is at %s, want %s; it was at %s", after, want, before)
			}
			asTheWholeBook(t, t.Context(), "after it", b.Book, logbook.HistoryOptions{})
			asTheWholeBook(t, t.Context(), "and again", b.Book, logbook.HistoryOptions{})
			for days := 20; days < 800; days += 60 { // no row of before is left among the new ones
				asTheWholeBook(t, t.Context(), "as it was then", b.Book, logbook.HistoryOptions{At: noon.AddDate(0, 0, -days), Days: 1})
			}
		})
	}
}

// Before the first row nothing is left that counts.
func TestAnEntryBeforeAllRowsDropsAll(t *testing.T) {
	b := longBook(t, 600)
	history(t, b, logbook.HistoryOptions{Upkeep: true})
	_, before := countedHours(t, b.Path())
	addRounds(t, b, ran(noon.AddDate(0, 0, -700), 1, "B"))
	if n := read(t, b.Book, logbook.HistoryOptions{}); n < 1400 {
		t.Errorf("%d rounds are read", n)
	}
	if _, mark := countedHours(t, b.Path()); !bytes.Equal(mark, before) {
		t.Error("a mark that stands for nothing was written")
	}
	asTheWholeBook(t, t.Context(), "after it", b.Book, logbook.HistoryOptions{})
	if n := read(t, b.Book, logbook.HistoryOptions{}); n > logbook.HoursStep {
		t.Errorf("%d rounds are read again", n)
	}
}

// A program that knows no counted hours writes an entry of long ago: the mark's count is then behind, and no row counts.
func TestAnOlderProgramMakesCountedHoursStale(t *testing.T) {
	b := longBook(t, 600)
	history(t, b, logbook.HistoryOptions{Upkeep: true})
	_, mark := countedHours(t, b.Path())
	addRounds(t, b, ran(noon.AddDate(0, 0, -400), 1))
	putMark(t, b.Path(), mark)
	if n := read(t, b.Book, logbook.HistoryOptions{}); n < 1400 {
		t.Errorf("%d rounds are read", n)
	}
	asTheWholeBook(t, t.Context(), "after an older program wrote", b.Book, logbook.HistoryOptions{})
	asTheWholeBook(t, t.Context(), "and again", b.Book, logbook.HistoryOptions{})
}

func putMark(t *testing.T, path string, mark []byte) {
	t.Helper()
	inBolt(t, path, false, func(tx *bolt.Tx) error { return tx.Bucket([]byte("headpond")).Put([]byte("hours"), mark) })
}

// Whatever becomes of the rows and the mark, the answer is right, no entry is called damaged, and rows are made anew.
func TestSpoiltCountedHoursAreCountedAnew(t *testing.T) {
	flip := func(v []byte, at int) []byte {
		v = bytes.Clone(v)
		v[at] ^= 1
		return v
	}
	last := func(tx *bolt.Tx) (k, v []byte) { return tx.Bucket([]byte("hours")).Cursor().Last() }
	anew := map[string]bool{"all rows": true, "a bit of the mark": true, "the mark of another counting": true, "the mark gone": true, "the rows gone": true}
	for name, spoil := range map[string]func(tx *bolt.Tx) error{
		"a bit of a row": func(tx *bolt.Tx) error {
			k, v := last(tx)
			return tx.Bucket([]byte("hours")).Put(bytes.Clone(k), flip(v, len(v)/2))
		},
		"all rows": func(tx *bolt.Tx) error {
			rows := map[string][]byte{}
			b := tx.Bucket([]byte("hours"))
			err := b.ForEach(func(k, v []byte) error { rows[string(k)] = flip(v, 20); return nil })
			for k, v := range rows {
				err = errors.Join(err, b.Put([]byte(k), v))
			}
			return err
		},
		"a row under another key": func(tx *bolt.Tx) error {
			_, v := last(tx)
			k, _ := tx.Bucket([]byte("hours")).Cursor().First()
			return tx.Bucket([]byte("hours")).Put(bytes.Clone(k), bytes.Clone(v))
		},
		"a row cut short": func(tx *bolt.Tx) error {
			k, v := last(tx)
			return tx.Bucket([]byte("hours")).Put(bytes.Clone(k), bytes.Clone(v[:3]))
		},
		"a row of another layout": func(tx *bolt.Tx) error {
			k, v := last(tx)
			return tx.Bucket([]byte("hours")).Put(bytes.Clone(k), resealed(k, append([]byte{9}, v[1:]...)))
		},
		"a row with other content": func(tx *bolt.Tx) error {
			k, v := last(tx)
			return tx.Bucket([]byte("hours")).Put(bytes.Clone(k), resealed(k, []byte{v[0], 0x63, 'x', 'y', 'z', 0, 0, 0, 0}))
		},
		"a key of another length": func(tx *bolt.Tx) error {
			return tx.Bucket([]byte("hours")).Put([]byte{0x80, 0, 1, 0x9c, 0x20, 0, 0, 0, 7}, []byte("x"))
		},
		"a bit of the mark": func(tx *bolt.Tx) error {
			b := tx.Bucket([]byte("headpond"))
			return b.Put([]byte("hours"), flip(b.Get([]byte("hours")), 16))
		},
		"the mark of another counting": func(tx *bolt.Tx) error {
			b := tx.Bucket([]byte("headpond"))
			v := bytes.Clone(b.Get([]byte("hours")))
			v[1]++
			return b.Put([]byte("hours"), resealed([]byte("hours"), v))
		},
		"the mark gone": func(tx *bolt.Tx) error { return tx.Bucket([]byte("headpond")).Delete([]byte("hours")) },
		"the rows gone": func(tx *bolt.Tx) error { return tx.DeleteBucket([]byte("hours")) },
	} {
		t.Run(name, func(t *testing.T) {
			b := longBook(t, 900)
			history(t, b, logbook.HistoryOptions{Upkeep: true})
			inBolt(t, b.Path(), false, spoil)
			if n := read(t, b.Book, logbook.HistoryOptions{}); anew[name] != (n > 2000) {
				t.Errorf("%d rounds and events are read", n)
			}
			asTheWholeBook(t, t.Context(), "with it", b.Book, logbook.HistoryOptions{})
			checkSound(t, b.Book)
			asTheWholeBook(t, t.Context(), "afterwards", b.Book, logbook.HistoryOptions{})
			if n := read(t, b.Book, logbook.HistoryOptions{}); n > logbook.HoursWorth {
				t.Errorf("%d rounds and events are still read", n)
			}
			addRounds(t, b, ran(noon.AddDate(0, 0, -500), 1))
			asTheWholeBook(t, t.Context(), "after a paper of long ago", b.Book, logbook.HistoryOptions{})
		})
	}
}

// Not one byte of a row or of the mark can be spoilt so that the answer is another.
func TestNoByteOfCountedHoursCanMislead(t *testing.T) {
	b := newBook(t)
	fine := func(readOnly bool) *logbook.Book {
		o := options(t, b.clock, "birch")
		o.ReadOnly = readOnly
		return must(logbook.Open(b.Path(), logbook.FineHours(o, 8)))(t)
	}
	must(b.AddPlant(t.Context(), taskPlant(t), noon.AddDate(-1, 0, 0), ""))(t)
	var rounds []record.Round
	for i := range 40 {
		r := ran(noon.AddDate(0, 0, -9*i), 1, "A")
		r.Values["A.hours"] = 9000 - 100*float64(i)
		rounds = append(rounds, r)
	}
	addRounds(t, b, rounds...)
	want := upkeep.Report(history(t, fine(false), logbook.HistoryOptions{Upkeep: true}))
	for _, c := range [][2]string{{"hours", ""}, {"headpond", "hours"}} {
		var key, value []byte
		inBolt(t, b.Path(), true, func(tx *bolt.Tx) error {
			if key, value = []byte(c[1]), tx.Bucket([]byte(c[0])).Get([]byte(c[1])); c[1] == "" {
				key, value = tx.Bucket([]byte(c[0])).Cursor().Last()
			}
			key, value = bytes.Clone(key), bytes.Clone(value)
			return nil
		})
		put := func(v []byte) {
			inBolt(t, b.Path(), false, func(tx *bolt.Tx) error {
				tx.DB().NoSync = true
				return tx.Bucket([]byte(c[0])).Put(key, v)
			})
		}
		for i := range value {
			spoilt := bytes.Clone(value)
			spoilt[i] ^= 1 << (i % 8)
			put(spoilt)
			got := upkeep.Report(history(t, fine(true), logbook.HistoryOptions{Upkeep: true}))
			if diff := cmp.Diff(want, got, cmpopts.EquateApprox(0, 1e-6)); diff != "" {
				t.Fatalf("byte %d of %d of %s (-sound +spoilt):\n%s", i, len(value), c, diff)
			}
		}
		put(value)
	}
}

// resealed gives a value of a changed content a right checksum.
func resealed(k, v []byte) []byte {
	v = bytes.Clone(v)
	table := crc32.MakeTable(crc32.Castagnoli)
	sum := crc32.Update(crc32.Checksum(k, table), table, v[:len(v)-4])
	binary.BigEndian.PutUint32(v[len(v)-4:], sum)
	return v
}

// What is damaged among the entries themselves is left out of the answer, and nothing is kept of such a reading.
func TestNothingIsKeptOfADamagedReading(t *testing.T) {
	b := longBook(t, 900)
	h := history(t, b, logbook.HistoryOptions{At: noon.AddDate(0, 0, -600), Days: 1})
	spoilt, _ := h.Last()
	path := filepath.Join(t.TempDir(), "spoilt.book")
	data := bytesOf(t, b.Path())
	for _, p := range placesOf(t, b.Path()) {
		if p.id == spoilt.ID {
			data[p.end-1] ^= 1
		}
	}
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	bad := must(logbook.Open(path, options(t, b.clock, "alder")))(t)
	asTheWholeBook(t, t.Context(), "with a spoilt entry", bad, logbook.HistoryOptions{})
	if rows, mark := countedHours(t, path); len(rows)+len(mark) != 0 {
		t.Errorf("%d rows and a mark of %d bytes were kept", len(rows), len(mark))
	}
}

// Where nothing may be written nothing is, and the answer is the same.
func TestCountedHoursWhereNothingMayBeWritten(t *testing.T) {
	b := longBook(t, 900)
	o := options(t, b.clock, "birch")
	o.ReadOnly = true
	seen := must(logbook.Open(b.Path(), o))(t)
	before := bytesOf(t, b.Path())
	asTheWholeBook(t, t.Context(), "looked at", seen, logbook.HistoryOptions{})
	unchanged(t, "looking at it", before, b.Path())
	db := must(bolt.Open(b.Path(), 0o600, &bolt.Options{ReadOnly: true}))(t) // somebody reads, so nobody may write
	asTheWholeBook(t, t.Context(), "while another process holds it", b.Book, logbook.HistoryOptions{})
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	unchanged(t, "a reading while another process holds it", before, b.Path())
	asTheWholeBook(t, t.Context(), "free again", b.Book, logbook.HistoryOptions{})
	if bytes.Equal(before, bytesOf(t, b.Path())) {
		t.Error("nothing is kept where it may be: the test above would find nothing")
	}
	asTheWholeBook(t, t.Context(), "looked at, with rows", seen, logbook.HistoryOptions{})
}

// Rows go with the file where it is copied whole; what is made anew from entries has none until somebody asks.
func TestCountedHoursInCopiesAndRescuedBooks(t *testing.T) {
	b := longBook(t, 900)
	history(t, b, logbook.HistoryOptions{Upkeep: true})
	path := filepath.Join(t.TempDir(), "backup.book")
	must(b.Backup(t.Context(), path, false))(t)
	copied := must(logbook.Open(path, options(t, b.clock, "birch")))(t)
	if n := read(t, copied, logbook.HistoryOptions{}); n > logbook.HoursStep {
		t.Errorf("%d rounds and events are read of a backup", n)
	}
	asTheWholeBook(t, t.Context(), "a backup", copied, logbook.HistoryOptions{})
	must(copied.AddRound(t.Context(), ran(noon.AddDate(0, 0, -500), 1), ""))(t)
	must(logbook.Replace(t.Context(), path, b.Path(), options(t, b.clock, "alder")))(t)
	asTheWholeBook(t, t.Context(), "restored", b.Book, logbook.HistoryOptions{})

	noHeads := bytesOf(t, b.Path())
	clear(noHeads[:8192])
	saved, report := rescuedFrom(t, noHeads)
	if report.Drafts != 0 || report.LostEntries != 0 || report.Uncertain != 0 || report.Saved != 2703 {
		t.Errorf("the rows are taken for something else: %+v", report)
	}
	if rows, _ := countedHours(t, saved.Path()); len(rows) != 0 {
		t.Errorf("%d rows in a rescued book", len(rows))
	}
	asTheWholeBook(t, t.Context(), "rescued", saved, logbook.HistoryOptions{})
}
