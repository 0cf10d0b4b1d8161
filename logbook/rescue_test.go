package logbook_test

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unsafe"

	bolt "go.etcd.io/bbolt"

	"example.org/headpond/logbook"
	"example.org/headpond/model/record"
)

// The long run is go test -run EveryUntouchedEntry ./logbook -rescue.cases 10000.
var (
	rescueCases = flag.Int("rescue.cases", 100, "how many files TestEveryUntouchedEntryIsSaved spoils")
	rescueSeed  = flag.Uint64("rescue.seed", 11, "seed of the damage")
)

// place is where the bytes of an entry lie in a file, key first and value behind it.
type place struct {
	id         string // as people see it
	start, end int
	raw        []byte
}

// placesOf asks the store itself, not our own reader of pages, where in the file each entry lies.
func placesOf(t testing.TB, path string) []place {
	t.Helper()
	db := must(bolt.Open(path, 0o600, &bolt.Options{ReadOnly: true}))(t)
	defer db.Close()
	var list []place
	err := db.View(func(tx *bolt.Tx) error {
		for _, name := range []string{"entries", "twins"} {
			b := tx.Bucket([]byte(name))
			if b == nil {
				continue
			}
			err := b.ForEach(func(k, v []byte) error {
				at := int(uintptr(unsafe.Pointer(&k[0])) - db.Info().Data)
				if &v[0] != (*byte)(unsafe.Add(unsafe.Pointer(&k[0]), len(k))) {
					return errors.New("a value does not stand behind its key: the oracle of this test does not hold")
				}
				list = append(list, place{id: logbook.IDText([16]byte(k)), start: at, end: at + len(k) + len(v), raw: bytes.Clone(v)})
				return nil
			})
			if err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// key tells entries apart as rescued does.
func (p place) key() string { return p.id + string(p.raw) }

// spoil damages a file in one of several ways, at random.
func spoil(random *rand.Rand, whole []byte) []byte {
	data := bytes.Clone(whole)
	flip := func(n int) {
		for range n {
			data[random.IntN(len(data))] ^= 1 << random.IntN(8)
		}
	}
	switch random.IntN(8) {
	case 0:
		data = data[:random.IntN(len(data))]
	case 1: // bytes from elsewhere in the file, as a write that went astray
		n := 1 + random.IntN(4096)
		copy(data[random.IntN(len(data)-n):], data[random.IntN(len(data)-n):][:n])
	case 2:
		flip(1)
	case 3:
		flip(1 + random.IntN(200))
	case 4: // sectors that read as zeroes
		for range 1 + random.IntN(20) {
			at := random.IntN(len(data)/512) * 512
			clear(data[at : at+512])
		}
	case 5: // both heads, and something else
		for i := range min(8192, len(data)) {
			data[i] = byte(random.Uint32())
		}
		flip(random.IntN(20))
	case 6: // something was put in or taken out: everything behind it stands elsewhere
		at, n := random.IntN(len(data)), 1+random.IntN(600)
		if random.IntN(2) == 0 {
			data = append(append(bytes.Clone(data[:at]), make([]byte, n)...), data[at:]...)
		} else {
			data = append(data[:at:at], data[min(len(data), at+n):]...)
		}
	case 7: // a run of noise
		at := random.IntN(len(data))
		for i := at; i < min(len(data), at+1+random.IntN(3*4096)); i++ {
			data[i] = byte(random.Uint32())
		}
	}
	return data
}

// rescued are the entries of a book by id and bytes.
func rescued(t testing.TB, b *logbook.Book) map[string]bool {
	t.Helper()
	there := map[string]bool{}
	err := b.Entries(t.Context(), func(e logbook.Entry) error {
		there[e.ID+string(e.Raw)] = true
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return there
}

func TestEveryUntouchedEntryIsSaved(t *testing.T) {
	whole := usedBook(t)
	dir := t.TempDir()
	path := filepath.Join(dir, "whole.book")
	if err := os.WriteFile(path, whole, 0o600); err != nil {
		t.Fatal(err)
	}
	places := placesOf(t, path)
	original := map[string]bool{}
	for _, p := range places {
		original[p.key()] = true
	}
	random := rand.New(rand.NewPCG(*rescueSeed, 2026))
	t.Logf("seed %d", *rescueSeed)
	touched, lost, saved := 0, 0, 0
	for i := range *rescueCases {
		data := spoil(random, whole)
		report, there := rescueBytes(t, dir, data)
		for key := range there {
			if !original[key] {
				t.Errorf("case %d: an entry was saved that was never written", i)
			}
		}
		missing := 0
		for _, p := range places {
			key := p.key()
			if !there[key] {
				missing++
			}
			// Untouched: its bytes stand somewhere in the file, in one piece. (At their own place, unless the rest moved.)
			if bytes.Contains(data, whole[p.start:p.end]) {
				if !there[key] {
					t.Errorf("case %d: entry %s is whole in the file and was not saved", i, p.id)
				}
			} else {
				touched++
			}
		}
		saved += len(there)
		lost += missing
		told(t, i, report, missing)
	}
	t.Logf("%d cases: %d entries touched, %d saved, %d lost", *rescueCases, touched, saved, lost)
	if touched < *rescueCases {
		t.Errorf("only %d entries were touched in %d cases: the damage seems not to be done", touched, *rescueCases)
	}
}

// told holds a report against what is missing in truth. It never tells of more than that, and never of nothing.
func told(t testing.TB, i int, report *logbook.RescueReport, missing int) {
	t.Helper()
	if report == nil {
		return // nothing at all was found, which is an error of its own
	}
	if report.LostEntries > missing {
		t.Errorf("case %d: %d entries are said to be lost, %d are: %v", i, report.LostEntries, missing, report.Lost)
	}
	if missing > 0 && report.LostEntries == 0 && len(report.Damaged) == 0 {
		t.Errorf("case %d: %d entries are lost without a word", i, missing)
	}
}

// rescueBytes saves what can be saved from a file and demands that the new book is sound and the old file as it was.
func rescueBytes(t testing.TB, dir string, data []byte) (*logbook.RescueReport, map[string]bool) {
	t.Helper()
	src, dst := filepath.Join(dir, "spoilt.book"), filepath.Join(dir, "saved.book")
	_ = os.Remove(dst)
	if err := os.WriteFile(src, data, 0o600); err != nil {
		t.Fatal(err)
	}
	o := options(t, &testClock{noon}, "alder")
	report, err := logbook.Rescue(t.Context(), src, dst, o)
	unchanged(t, "rescuing", data, src)
	if err != nil {
		if !errors.Is(err, logbook.ErrNotABook) {
			t.Fatalf("rescuing: %v", err)
		}
		if _, err := os.Lstat(dst); err == nil {
			t.Error("nothing was found, but a file was made")
		}
		return nil, nil
	}
	b := must(logbook.Open(dst, o))(t)
	checkSound(t, b)
	there := rescued(t, b)
	if len(there) != report.Saved {
		t.Errorf("%d said to be saved, %d there", report.Saved, len(there))
	}
	return report, there
}

func TestSoundBookIsSavedWholeWithItsDraft(t *testing.T) {
	whole := usedBook(t)
	dir := t.TempDir()
	report, there := rescueBytes(t, dir, whole)
	if report.LostEntries != 0 || len(report.Damaged) != 0 || report.Uncertain != 0 || report.Drafts != 1 || report.Saved < 60 || len(there) != report.Saved {
		t.Errorf("%+v", report)
	}
	saved := must(logbook.Open(filepath.Join(dir, "saved.book"), options(t, &testClock{noon}, "alder")))(t)
	if d, ok, err := saved.Draft(t.Context(), "round"); err != nil || !ok || string(d.Data) != "volts=24" {
		t.Errorf("the draft: %q %v %v", d.Data, ok, err)
	}
	was := must(logbook.Open(filepath.Join(dir, "spoilt.book"), options(t, &testClock{noon}, "alder")))(t)
	all := logbook.HistoryOptions{All: true}
	got, want := history(t, saved, all), history(t, was, all)
	equal(t, "rounds", got.Rounds, want.Rounds)
	equal(t, "events", got.Events, want.Events)
	equal(t, "upkeep", got.Done, want.Done)
}

// A book from which entries were lost is whole but for them: it can be written to, backed up, restored and merged, and says how
// many are known to be lost, until an older backup brings them back.
func TestRescuedBookIsABookLikeAnyOther(t *testing.T) {
	b := newBook(t)
	ctx := t.Context()
	for i := range 12 {
		addRounds(t, b, level(noon.Add(time.Duration(i-50)*time.Hour), float64(i)))
	}
	o := options(t, b.clock, "alder")
	early := filepath.Join(t.TempDir(), "early.book")
	must(b.Backup(ctx, early, false))(t)
	addRounds(t, b, level(noon, 12))
	data := bytesOf(t, b.Path())
	for _, p := range placesOf(t, b.Path())[3:5] { // two in the middle of the chain; all copies of them
		body := bytes.Clone(data[p.start+16 : p.end])
		for at := bytes.Index(data, body); at >= 0; at = bytes.Index(data, body) {
			data[at+40] ^= 4
		}
	}
	dir := t.TempDir()
	report, there := rescueBytes(t, dir, data)
	if report.LostEntries != 2 || len(report.Lost) != 1 || report.Lost[0].From != 4 || report.Lost[0].To != 5 || len(there) != 11 {
		t.Fatalf("%+v", report)
	}
	if s := report.Lost[0].String(); !strings.HasPrefix(s, "2 entries (numbers 4 to 5) of writer 616c6465, written between 2026-02-03") {
		t.Errorf("said as %q", s)
	}
	saved := must(logbook.Open(filepath.Join(dir, "saved.book"), o))(t)
	if r := must(saved.Check(ctx, nil))(t); !r.Sound() || r.Lost != 2 {
		t.Errorf("check: %+v", r)
	}
	if gaps, lost, err := saved.Gaps(ctx); err != nil || lost != 2 || len(gaps) != 1 || gaps[0].Seq != 5 || gaps[0].Writer != writerID("alder") {
		t.Errorf("its gaps: %+v, %d lost, %v", gaps, lost, err)
	}
	addRounds(t, &testBook{saved, b.clock}, level(noon.Add(time.Second), 13))
	must(saved.Backup(ctx, filepath.Join(dir, "copy.book"), false))(t)
	other := newBookOf(t, "birch", b.clock)
	if _, _, err := other.Merge(ctx, saved.Path()); err != nil {
		t.Fatal(err)
	}
	if r := must(other.Check(ctx, nil))(t); !r.Sound() || r.Lost != 2 || r.Entries != 12 {
		t.Errorf("merged into another: %+v", r)
	}
	if added, _, err := saved.Merge(ctx, early); err != nil || added != 2 {
		t.Errorf("the older backup brings back %d, %v", added, err)
	}
	if r := must(saved.Check(ctx, nil))(t); !r.Sound() || r.Lost != 0 || r.Entries != 14 {
		t.Errorf("after the backup: %+v", r)
	}
	if gaps, lost, err := saved.Gaps(ctx); err != nil || lost != 0 || len(gaps) != 0 {
		t.Errorf("after the backup its gaps are %+v, %d lost, %v", gaps, lost, err)
	}
	// A rescue of the rescued tells only of what it lost itself.
	again := must(logbook.Rescue(ctx, filepath.Join(dir, "copy.book"), filepath.Join(dir, "again.book"), o))(t)
	if again.LostEntries != 0 || again.Saved != 12 {
		t.Errorf("again: %+v", again)
	}
}

func TestEntryThatWasTakenOutIsStillFound(t *testing.T) {
	b := newBook(t)
	for i := range 5 {
		addRounds(t, b, level(noon.Add(time.Duration(i-50)*time.Hour), float64(i)))
	}
	db := must(bolt.Open(b.Path(), 0o600, nil))(t)
	err := db.Update(func(tx *bolt.Tx) error {
		k, _ := tx.Bucket([]byte("entries")).Cursor().Seek([]byte{0})
		return tx.Bucket([]byte("entries")).Delete(bytes.Clone(k))
	})
	if err = errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
	if r := must(b.Check(t.Context(), nil))(t); r.Sound() {
		t.Error("an entry that was taken out is not noticed")
	}
	if err := os.Remove(b.Path()); err != nil {
		t.Fatal(err)
	}
	if _, err := logbook.Create(t.Context(), b.Path(), options(t, b.clock, "alder")); err != nil {
		t.Fatal(err) // for the check at the test's end
	}
}

// What was written after the backup is saved from the damaged book that the backup replaces.
func TestRestoreTakesOverWhatIsWholeInADamagedBook(t *testing.T) {
	for name, damage := range map[string]func(data []byte, last place) []byte{
		"a spoilt page":   func(data []byte, _ place) []byte { return spoilAll(data, []byte("pond_level_m"), 3) },
		"no heads at all": func(data []byte, _ place) []byte { clear(data[:8192]); return data },
		"cut short":       func(data []byte, last place) []byte { return data[:last.end] },
	} {
		t.Run(name, func(t *testing.T) {
			b := newBook(t)
			var kept []string
			for i := range 8 {
				r := level(noon.Add(time.Duration(i-50)*time.Hour), float64(i))
				kept = append(kept, must(b.AddRound(t.Context(), r, ""))(t).Entry.ID)
			}
			backup := filepath.Join(t.TempDir(), "backup.book")
			must(b.Backup(t.Context(), backup, false))(t)
			for i := range 3 { // they hold no level, so that the first damage does not meet them
				r := record.Round{Time: noon.Add(time.Duration(i) * time.Minute), Note: "after the backup"}
				kept = append(kept, must(b.AddRound(t.Context(), r, ""))(t).Entry.ID)
			}
			places := placesOf(t, b.Path())
			data := damage(bytesOf(t, b.Path()), places[len(places)-1])
			if err := os.WriteFile(b.Path(), data, 0o600); err != nil {
				t.Fatal(err)
			}
			r := must(logbook.Restore(t.Context(), backup, b.Path(), options(t, b.clock, "alder")))(t)
			if r.Saved != 3 || r.Report.Entries != 11 || r.Report.Lost != 0 || !bytes.Equal(bytesOf(t, r.Kept), data) {
				t.Errorf("%+v of %+v", r, r.Report)
			}
			there := map[string]bool{}
			for _, id := range kept {
				there[id] = true
			}
			lost(t, b.Book, there)
			checkSound(t, b.Book)
		})
	}
}

// spoilAll flips a bit at some distance behind every place where a text stands.
func spoilAll(data, text []byte, behind int) []byte {
	for at, end := 0, 0; ; end = at + len(text) {
		i := bytes.Index(data[end:], text)
		if i < 0 {
			return data
		}
		at = end + i
		data[at+len(text)+behind] ^= 1
	}
}

func TestRescueRefusesWhatItMustNotTouch(t *testing.T) {
	b := newBook(t)
	addRounds(t, b, level(noon, 1))
	o := options(t, b.clock, "alder")
	dir := t.TempDir()
	text, there := filepath.Join(dir, "rounds.csv"), filepath.Join(dir, "there.book")
	for _, name := range []string{text, there} {
		if err := os.WriteFile(name, []byte("time,volts\n"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	given, stop := context.WithCancel(t.Context())
	stop()
	for name, c := range map[string]struct {
		ctx      context.Context
		src, dst string
		kind     error
		says     string
	}{
		"onto a file":     {t.Context(), b.Path(), there, logbook.ErrExists, "nothing was changed"},
		"onto itself":     {t.Context(), b.Path(), b.Path(), logbook.ErrExists, "nothing was changed"},
		"of no book":      {t.Context(), text, filepath.Join(dir, "new.book"), logbook.ErrNotABook, "not one whole entry"},
		"of nothing":      {t.Context(), filepath.Join(dir, "none"), filepath.Join(dir, "new.book"), logbook.ErrNoBook, "none"},
		"into no folder":  {t.Context(), b.Path(), filepath.Join(dir, "no", "f"), logbook.ErrNoFolder, "nothing was changed"},
		"of a folder":     {t.Context(), dir, filepath.Join(dir, "new.book"), nil, "nothing was changed"},
		"given up before": {given, b.Path(), filepath.Join(dir, "new.book"), context.Canceled, "nothing was changed"},
	} {
		_, err := logbook.Rescue(c.ctx, c.src, c.dst, o)
		if err == nil || c.kind != nil && !errors.Is(err, c.kind) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", name, err)
		}
	}
	noLeftovers(t, dir, 2)
}
