package logbook_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	bolt "go.etcd.io/bbolt"

	"example.org/headpond/logbook"
	"example.org/headpond/model/record"
)

// The long run is go test -run FlippedBits ./logbook -damage.cases 10000.
var (
	damageCases = flag.Int("damage.cases", 150, "how many files TestFlippedBitsAndCutsAreFoundOrHarmless spoils")
	damageSeed  = flag.Uint64("damage.seed", 7, "seed of the damage")
)

// otherStore is a file of the same store that is no logbook.
func otherStore(t testing.TB) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "other.db")
	db, err := bolt.Open(path, 0o600, nil)
	if err != nil {
		t.Fatal(err)
	}
	err = db.Update(func(tx *bolt.Tx) error {
		b, err := tx.CreateBucket([]byte("entries"))
		if err == nil {
			err = b.Put([]byte("k"), []byte("v"))
		}
		return err
	})
	if cerr := db.Close(); err == nil {
		err = cerr
	}
	if err != nil {
		t.Fatal(err)
	}
	return path
}

// usedBook is the file of a book that was lived with: rounds, events, corrections, a plant, a draft, a merge.
func usedBook(t testing.TB) []byte {
	t.Helper()
	b := newBook(t)
	ctx := t.Context()
	if _, err := b.AddPlant(ctx, testPlant(t, "1.4"), noon.AddDate(-1, 0, 0), "Imke"); err != nil {
		t.Fatal(err)
	}
	for i := range 60 {
		r := sample(noon.Add(time.Duration(i-200) * time.Hour))
		r.Values["pond_level_m"] = float64(i)
		saved := must(b.AddRound(ctx, r, ""))(t)
		if i%20 == 0 {
			if _, err := b.Amend(ctx, saved.Entry.ID, map[string]string{"volts": "239"}, "misread", "Ro", ""); err != nil {
				t.Fatal(err)
			}
			if _, err := b.AddEvent(ctx, record.Event{Time: r.Time, Kind: record.Trip, Cause: "frequency"}, ""); err != nil {
				t.Fatal(err)
			}
		}
	}
	if _, err := b.AddDone(ctx, record.Done{Time: noon.AddDate(0, 0, -2), Task: "grease drive-end bearing, unit A", By: "Imke"}, ""); err != nil {
		t.Fatal(err)
	}
	other := copyBook(t, b, "birch")
	addRounds(t, other, level(noon.Add(-time.Minute), 1))
	merge(t, b, other)
	if err := b.SaveDraft(ctx, "round", []byte("volts=24")); err != nil {
		t.Fatal(err)
	}
	return bytesOf(t, b.Path())
}

// tried is what every reading and writing call says of a file.
type tried struct {
	report               *logbook.CheckReport
	openErr, checkErr    error
	readErr, writeErr    error
	rounds               []record.Round
	cautions             []string
	streamed             int
	backupErr, streamErr error
}

// try opens a file and does everything with it. None of it may panic, fault, hang or create a file.
func try(t testing.TB, data []byte) tried {
	t.Helper()
	path := filepath.Join(t.TempDir(), "spoilt.book")
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	clock := &testClock{noon}
	o := options(t, clock, "alder")
	o.LockWait = time.Second
	b, err := logbook.Open(path, o)
	r := tried{openErr: err}
	if err != nil {
		return r
	}
	ctx := t.Context()
	r.report, r.checkErr = b.Check(ctx, nil)
	h, err := b.History(ctx, logbook.HistoryOptions{All: true})
	if r.readErr = err; err == nil {
		r.rounds, r.cautions = h.Rounds, h.Cautions
	}
	r.streamErr = b.Rounds(ctx, time.Time{}, time.Time{}, func(record.Round) error { r.streamed++; return nil })
	_, r.backupErr = b.Backup(ctx, path+".copy", false)
	_, r.writeErr = b.AddRound(ctx, level(noon, 5), "")
	return r
}

func TestDamagedFiles(t *testing.T) {
	whole := usedBook(t)
	want := try(t, whole)
	if !want.report.Sound() || want.writeErr != nil || len(want.rounds) != 61 {
		t.Fatalf("the whole file: %+v", want)
	}
	page := func(n int) []byte { return whole[n*4096 : (n+1)*4096] }
	zeroed := func(n int) []byte {
		d := append([]byte(nil), whole...)
		clear(d[n*4096 : (n+1)*4096])
		return d
	}
	for _, c := range []struct {
		name string
		data []byte
		kind error // of opening; nil: it opens
	}{
		{"empty", nil, logbook.ErrNotABook},
		{"one byte", []byte{0}, logbook.ErrNotABook},
		{"text", []byte(strings.Repeat("time,volts\n", 1000)), logbook.ErrNotABook},
		{"only the heads", whole[:8192], logbook.ErrDamaged},
		{"cut in the middle", whole[:len(whole)/2], logbook.ErrDamaged},
		{"both heads zeroed", append(make([]byte, 8192), whole[8192:]...), logbook.ErrDamaged},
		{"first head zeroed", append(make([]byte, 4096), whole[4096:]...), nil},
		{"second head zeroed", append(append([]byte(nil), page(0)...), append(make([]byte, 4096), whole[8192:]...)...), nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := try(t, c.data)
			if c.kind != nil {
				if !errors.Is(got.openErr, c.kind) {
					t.Errorf("opening: %v, want %v", got.openErr, c.kind)
				}
				return
			}
			// One good head remains: the book as of that head is whole, and every acknowledged entry but perhaps the last
			// writing (here a draft) is in it.
			if got.openErr != nil || got.readErr != nil || len(got.rounds) != 61 {
				t.Errorf("%+v", got)
			}
		})
	}
	for n := 2; n < len(whole)/4096; n++ {
		judge(t, "page zeroed", want, try(t, zeroed(n)))
	}
}

// judge holds what damage may do: whatever says that the book is sound has all of it, and whatever is read is right.
func judge(t testing.TB, what string, want, got tried) (noticed bool) {
	t.Helper()
	for _, err := range []error{got.openErr, got.checkErr, got.readErr, got.writeErr, got.streamErr, got.backupErr} {
		if err != nil && (!errors.Is(err, logbook.ErrDamaged) && !errors.Is(err, logbook.ErrNotABook) && !errors.Is(err, logbook.ErrNewer) ||
			strings.Contains(err.Error(), "goroutine")) {
			t.Errorf("%s: an error of another kind: %v", what, err)
		}
	}
	if got.openErr != nil {
		return true
	}
	sound := got.checkErr == nil && got.report.Sound()
	same := got.readErr == nil && cmp.Equal(got.rounds, want.rounds)
	if sound && !same {
		t.Errorf("%s: check says sound, but reading gives %v and %d rounds", what, got.readErr, len(got.rounds))
	}
	if sound != (got.backupErr == nil) {
		t.Errorf("%s: sound is %v, but the backup says %v", what, sound, got.backupErr)
	}
	if got.readErr == nil && len(got.rounds) < len(want.rounds) && len(got.cautions) == 0 {
		t.Errorf("%s: %d rounds are left out without a word", what, len(want.rounds)-len(got.rounds))
	}
	if got.streamErr == nil && got.streamed < len(want.rounds) {
		t.Errorf("%s: %d rounds are not handed out, without a word", what, len(want.rounds)-got.streamed)
	}
	known := map[string]record.Round{}
	for _, r := range want.rounds {
		known[r.ID] = r
	}
	for _, r := range got.rounds {
		w := known[r.ID]
		if len(r.Changes) != len(w.Changes) { // a spoilt correction: then the value is as first written, and it is said
			if sound {
				t.Errorf("%s: a correction vanished", what)
			}
			continue
		}
		if d := cmp.Diff(w, r); d != "" {
			t.Errorf("%s: a round reads otherwise than it was written:\n%s", what, d)
		}
	}
	return !sound
}

// A small bucket lies in the page of its parent. The store follows the places in it by pointer, and one that leads out of the
// page leads into the program's own memory, which ends the process beyond recovery, at once or at the next collection of
// garbage. The store must therefore not so much as open such a bucket.
func TestSpoiltSmallBucketIsNeverGivenToTheStore(t *testing.T) {
	whole := usedBook(t)
	for _, name := range []string{"heads", "drafts", "headpond"} {
		for what, at := range map[string]int{"the place of a key": 4, "the length of a key": 8, "the length of a value": 12} {
			data := bytes.Clone(whole)
			mark := append([]byte(name), make([]byte, 8)...) // the bucket's name, and no page of its own
			found := 0
			for from := bytes.Index(data, mark); from >= 0; from = nextIndex(data, mark, from+1) {
				const bucketHead, pageHead = 16, 16
				data[from+len(name)+bucketHead+pageHead+at+2] = 0x40 // four million bytes further on
				found++
			}
			if found == 0 {
				t.Fatalf("bucket %s is not found within a page", name)
			}
			for range 3 { // the store's memory lies elsewhere each time
				got := try(t, data)
				if !errors.Is(got.writeErr, logbook.ErrDamaged) || !strings.Contains(got.writeErr.Error(), fmt.Sprintf("bucket %q: element 0", name)) {
					t.Errorf("%s of bucket %s: writing says %v", what, name, got.writeErr)
				}
				if got.checkErr != nil || got.report.Sound() {
					t.Errorf("%s of bucket %s: check says %v", what, name, got.checkErr)
				}
			}
		}
	}
}

// One spoilt bit in a page's number can put an older page, which is as it was written, in the place of the entries' first one. No
// reading may take that for the book, and no writing may go on from it, which would give up all entries written since.
func TestOlderPageInThePlaceOfTheEntriesIsNoticed(t *testing.T) {
	whole := usedBook(t)
	want := try(t, whole)
	name := []byte("entries")
	tried, noticed := 0, 0
	for n := 2; n < len(whole)/4096; n++ {
		data := bytes.Clone(whole)
		for at := bytes.Index(data, name); at >= 0; at = nextIndex(data, name, at+1) {
			if root := binary.NativeEndian.Uint64(data[at+len(name):]); root > 1 && root < uint64(len(whole)/4096) {
				binary.NativeEndian.PutUint64(data[at+len(name):], uint64(n))
				tried++
			}
		}
		got := try(t, data)
		if judge(t, fmt.Sprintf("the entries' first page is said to be page %d", n), want, got) {
			noticed++
			if !errors.Is(got.writeErr, logbook.ErrDamaged) {
				t.Errorf("page %d: writing goes on: %v", n, got.writeErr)
			}
		}
	}
	if tried == 0 || noticed < 10 {
		t.Errorf("%d places, %d noticed: the damage seems not to be done", tried, noticed)
	}
}

// The store believes the number of free pages that the list of them states, and makes room for as many.
func TestListOfFreePagesThatAsksForAllMemoryIsRefused(t *testing.T) {
	whole := usedBook(t)
	const page, kind, count = 4096, 8, 10
	spoilt := 0
	for _, pages := range []uint64{1 << 20, 1 << 33, 1 << 40, 1 << 62} {
		data := bytes.Clone(whole)
		for at := 2 * page; at < len(data); at += page {
			if binary.NativeEndian.Uint16(data[at+kind:]) == 0x10 {
				binary.NativeEndian.PutUint16(data[at+count:], 0xFFFF)
				binary.NativeEndian.PutUint64(data[at+16:], pages)
				spoilt++
			}
		}
		got := try(t, data)
		if !errors.Is(got.writeErr, logbook.ErrDamaged) || !strings.Contains(got.writeErr.Error(), "the list of free pages") {
			t.Errorf("%d pages: writing says %v", pages, got.writeErr)
		}
		if got.readErr != nil || len(got.rounds) != 61 {
			t.Errorf("%d pages: reading gives %d rounds, %v", pages, len(got.rounds), got.readErr)
		}
	}
	if spoilt == 0 {
		t.Fatal("there is no list of free pages")
	}
}

func nextIndex(data, what []byte, from int) int {
	if i := bytes.Index(data[from:], what); i >= 0 {
		return from + i
	}
	return -1
}

func TestFlippedBitsAndCutsAreFoundOrHarmless(t *testing.T) {
	whole := usedBook(t)
	want := try(t, whole)
	random := rand.New(rand.NewPCG(*damageSeed, 2026))
	cases, noticed := *damageCases, 0
	for i := range cases {
		data := append([]byte(nil), whole...)
		switch i % 4 {
		case 0: // a cut tail
			data = data[:random.IntN(len(data))]
		case 1: // a run of bytes from elsewhere in the file
			n := 1 + random.IntN(512)
			copy(data[random.IntN(len(data)-n):], data[random.IntN(len(data)-n):][:n])
		default:
			data[random.IntN(len(data))] ^= 1 << random.IntN(8)
		}
		if judge(t, fmt.Sprintf("case %d", i), want, try(t, data)) {
			noticed++
		}
	}
	t.Logf("%d of %d were noticed, the others hit space that is not in use", noticed, cases)
	if noticed < cases/4 {
		t.Errorf("only %d of %d were noticed: the damage seems not to be done", noticed, cases)
	}
}

// The store keeps two heads and needs one (the file format of the store, "meta pages"). With one spoilt the book is sound, but
// that is said, until the next writing has put another in its place.
func TestCheckTellsOfOneSpoiltHead(t *testing.T) {
	b := newBook(t)
	addRounds(t, b, level(noon, 1), level(noon.Add(time.Second), 2))
	if r := must(b.Check(t.Context(), nil))(t); len(r.Cautions) != 0 {
		t.Errorf("a sound book: %v", r.Cautions)
	}
	whole := bytesOf(t, b.Path())
	for _, at := range []int{0, os.Getpagesize()} {
		data := bytes.Clone(whole)
		for i := range os.Getpagesize() {
			data[at+i] = 0xff
		}
		path := filepath.Join(t.TempDir(), "spoilt.book")
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		spoilt := must(logbook.Open(path, options(t, b.clock, "alder")))(t)
		r := must(spoilt.Check(t.Context(), nil))(t)
		if !r.Sound() || len(r.Cautions) != 1 || !strings.Contains(r.Cautions[0], "one of the two heads") {
			t.Errorf("head at %d: sound %v, %v", at, r.Sound(), r.Cautions)
		}
		for i := range 2 {
			if err := spoilt.SaveDraft(t.Context(), "round", []byte{byte(i)}); err != nil {
				t.Fatal(err)
			}
		}
		if r := must(spoilt.Check(t.Context(), nil))(t); len(r.Cautions) != 0 {
			t.Errorf("head at %d, after writing: %v", at, r.Cautions)
		}
	}
}
