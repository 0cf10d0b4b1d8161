package logbook_test

import (
	"encoding/binary"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"

	"example.org/headpond/logbook"
	"example.org/headpond/model/record"
)

// The bare commits that saving a round is measured against: the same number of bytes under an ever higher key, on the same
// disk, first on a store that stays open and then opened and closed each time.

func bareOptions() *bolt.Options {
	return &bolt.Options{Timeout: time.Second, FreelistType: bolt.FreelistMapType}
}

func bareStore(b *testing.B) (path string) {
	b.Helper()
	path = filepath.Join(b.TempDir(), "bare.db")
	db, err := bolt.Open(path, 0o600, bareOptions())
	if err != nil {
		b.Fatal(err)
	}
	defer db.Close()
	err = db.Update(func(tx *bolt.Tx) error {
		_, err := tx.CreateBucket([]byte("entries"))
		return err
	})
	if err != nil {
		b.Fatal(err)
	}
	return path
}

func barePut(b *testing.B, db *bolt.DB, i int) {
	key, value := binary.BigEndian.AppendUint64(nil, uint64(i)), make([]byte, 350)
	err := db.Update(func(tx *bolt.Tx) error { return tx.Bucket([]byte("entries")).Put(key, value) })
	if err != nil {
		b.Fatal(err)
	}
}

// BenchmarkSaveRatio saves in turn to the book, to a bare store that stays open, and to one that is opened and closed each
// time, so that whatever else the machine does touches all three alike. It reports medians and their ratios; the design's
// limit is 1.5 × the bare commit.
//
// "merged" is the worst case: a merge has just rewritten nearly every page of a ten-year book, so that half the file is free
// and the list of free pages, which each saving reads and writes, is long.
func BenchmarkSaveRatio(b *testing.B) {
	for name, book := range map[string]func() *testBook{
		"new":        func() *testBook { return newBook(b) },
		"10y":        func() *testBook { return roundsBook(b, 10) },
		"10y-merged": func() *testBook { return yearsBook(b, 10) },
		"100y":       func() *testBook { return roundsBook(b, 100) },
	} {
		b.Run(name, func(b *testing.B) { saveRatio(b, book()) })
	}
}

func saveRatio(b *testing.B, book *testBook) {
	kept, err := bolt.Open(bareStore(b), 0o600, bareOptions())
	if err != nil {
		b.Fatal(err)
	}
	defer kept.Close()
	path := bareStore(b)
	at := dusk
	var bare, opened, saved []time.Duration
	timed := func(list *[]time.Duration, do func()) {
		start := time.Now()
		do()
		*list = append(*list, time.Since(start))
	}
	for i := 0; b.Loop(); i++ {
		timed(&bare, func() { barePut(b, kept, i) })
		timed(&saved, func() {
			if _, err := book.AddRound(b.Context(), sample(at.Add(time.Duration(i)*time.Hour)), "round"); err != nil {
				b.Fatal(err)
			}
		})
		timed(&opened, func() {
			db, err := bolt.Open(path, 0o600, bareOptions())
			if err != nil {
				b.Fatal(err)
			}
			barePut(b, db, i)
			if err := db.Close(); err != nil {
				b.Fatal(err)
			}
		})
	}
	median := func(list []time.Duration) float64 {
		slices.Sort(list)
		return float64(list[len(list)/2].Microseconds())
	}
	b.ReportMetric(median(bare), "µs/bare")
	b.ReportMetric(median(opened), "µs/opened")
	b.ReportMetric(median(saved), "µs/saved")
	b.ReportMetric(median(saved)/median(bare), "×bare")
	b.ReportMetric(median(saved)/median(opened), "×opened")
}

// dusk is when the long books end; a hundred years before, an id can still hold the time.
var dusk = time.Date(2075, 2, 3, 12, 0, 0, 0, halifax)

// roundsBook is a book with so many years of three rounds a day up to dusk.
func roundsBook(b *testing.B, years int) *testBook {
	b.Helper()
	book := newBook(b)
	start := dusk.AddDate(-years, 0, 0)
	book.clock.now = dusk
	var rounds []record.Round
	for at := start; at.Before(dusk); at = at.Add(8 * time.Hour) {
		r := sample(at)
		r.Values["pond_level_m"] = -0.3 - float64(len(rounds)%50)/100
		rounds = append(rounds, r)
	}
	for part := range slices.Chunk(rounds, 1000) {
		if _, _, err := book.AddRounds(b.Context(), part); err != nil {
			b.Fatal(err)
		}
	}
	return book
}

// yearsBook is a book with so many years of three rounds a day up to dusk, a trip a month, an upkeep entry a week and a
// correction each hundredth round.
func yearsBook(b *testing.B, years int) *testBook {
	b.Helper()
	book := roundsBook(b, years)
	ctx := b.Context()
	var extra []logbook.Entry
	i := 0
	err := book.Entries(ctx, func(e logbook.Entry) error {
		if i++; i%100 == 0 {
			extra = append(extra, logbook.Entry{ID: fresh(e.ID, i), Time: dusk, WrittenAt: dusk, Amendment: &logbook.Amendment{Target: e.ID, Changes: map[string]string{"volts": "239"}, Why: "misread"}})
		}
		if i%90 == 0 {
			extra = append(extra, logbook.Entry{ID: fresh(e.ID, 200_000+i), Time: e.Time, WrittenAt: dusk, Event: &record.Event{Time: e.Time, Kind: record.Trip}})
		}
		if i%21 == 0 {
			extra = append(extra, logbook.Entry{ID: fresh(e.ID, -i), Time: e.Time, WrittenAt: dusk, Done: &record.Done{Time: e.Time, Task: "grease"}})
		}
		return nil
	})
	if err != nil {
		b.Fatal(err)
	}
	if err := logbook.Chain(writerID("cedar"), extra); err != nil {
		b.Fatal(err)
	}
	if _, _, err := book.PutEntries(ctx, extra); err != nil {
		b.Fatal(err)
	}
	return book
}

// fresh makes another id of the same time.
func fresh(id string, n int) string {
	tail := []byte(strconv.Itoa(1_000_000_000 + n))
	return id[:26-len(tail)] + string(tail)
}

func atYears(b *testing.B, run func(*testing.B, *testBook)) {
	for _, years := range []int{1, 10, 100} {
		b.Run(strconv.Itoa(years)+"y", func(b *testing.B) { run(b, yearsBook(b, years)) })
	}
}

func historyOf(o logbook.HistoryOptions, least int) func(*testing.B, *testBook) {
	return func(b *testing.B, book *testBook) {
		for b.Loop() {
			h, err := book.History(b.Context(), o)
			if err != nil || len(h.Rounds) < least {
				b.Fatalf("%d rounds, %v", len(h.Rounds), err)
			}
		}
	}
}

// The reads that screens and commands make.

func BenchmarkLastRound(b *testing.B) {
	atYears(b, historyOf(logbook.HistoryOptions{From: dusk.Add(-9 * time.Hour)}, 1))
}

func BenchmarkHistory120Days(b *testing.B) { atYears(b, historyOf(logbook.HistoryOptions{}, 300)) }

func BenchmarkHistoryAll(b *testing.B) {
	atYears(b, historyOf(logbook.HistoryOptions{All: true}, 1000))
}

func BenchmarkCheck(b *testing.B) {
	atYears(b, func(b *testing.B, book *testBook) {
		for b.Loop() {
			report, err := book.Check(b.Context(), nil)
			if err != nil || !report.Sound() {
				b.Fatal(err, report)
			}
			b.ReportMetric(float64(report.FileBytes)/1e6, "MB")
			b.ReportMetric(100*report.FreeShare, "%free")
		}
	})
}

func BenchmarkDraft(b *testing.B) {
	book := newBook(b)
	for b.Loop() {
		if err := book.SaveDraft(b.Context(), "round", []byte("volts=241 hertz=60 pressure_kpa=131 note=leaves on the screen")); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkStamp(b *testing.B) {
	book := newBook(b)
	for b.Loop() {
		if _, err := book.Stamp(); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkAddRounds tells how long a round of an import takes.
func BenchmarkAddRounds(b *testing.B) {
	book := newBook(b)
	rounds := make([]record.Round, 10000)
	n := 0
	for b.Loop() {
		for i := range rounds {
			rounds[i] = sample(noon.AddDate(-20, 0, 0).Add(time.Duration(n) * time.Hour))
			n++
		}
		if _, _, err := book.AddRounds(b.Context(), rounds); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(n), "ns/round")
}
