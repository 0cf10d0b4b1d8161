package logbook_test

import (
	"slices"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"
)

// BenchmarkSaveRatio saves in turn to the book, to a bare store that stays open, and to one that is opened and closed each
// time, so that whatever else the machine does touches all three alike. It reports medians and their ratios; the design's
// limit is 1.5 × the bare commit.
func BenchmarkSaveRatio(b *testing.B) {
	book := newBook(b)
	kept, err := bolt.Open(bareStore(b), 0o600, bareOptions())
	if err != nil {
		b.Fatal(err)
	}
	defer kept.Close()
	path := bareStore(b)
	at := noon.AddDate(-3, 0, 0)
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
