package logbook_test

import (
	"syscall"
	"testing"
	"time"

	"example.org/headpond/model/week"
)

// BenchmarkReview asks for a review of a book of so many years whose roll-ups stand, and works it out: what the screen waits
// for. The design's limits are 5 ms for a week and 50 ms for a year of a ten-year book, and no more than logarithmic growth.
func BenchmarkReview(b *testing.B) {
	for _, span := range []week.Span{week.Week, week.Month, week.Year} {
		b.Run(string(span), func(b *testing.B) {
			atYears(b, func(b *testing.B, book *testBook) {
				plantBook(b, book)
				withProcessor(b, func() { review(b, book, span, dusk) })
			})
		})
	}
}

// BenchmarkReviewAfterRound keeps a round before each review, as in use: the newest days are worked out anew.
func BenchmarkReviewAfterRound(b *testing.B) {
	atYears(b, func(b *testing.B, book *testBook) {
		plantBook(b, book)
		for i := 0; b.Loop(); i++ {
			b.StopTimer()
			at := dusk.Add(time.Duration(i+1) * 8 * time.Hour)
			if _, err := book.AddRound(b.Context(), sample(at), ""); err != nil {
				b.Fatal(err)
			}
			b.StartTimer()
			review(b, book, week.Week, at)
		}
	})
}

// BenchmarkRollUps makes all roll-ups of a book anew, as after a new plant revision.
func BenchmarkRollUps(b *testing.B) {
	atYears(b, func(b *testing.B, book *testBook) {
		for i := 0; b.Loop(); i++ {
			b.StopTimer()
			plantBook(b, book) // another revision makes all of them stale
			b.StartTimer()
			review(b, book, week.Week, dusk)
		}
	})
}

// withProcessor repeats a function and reports the processor time of one, of all threads: what the clock shows depends on who
// else uses the machine.
func withProcessor(b *testing.B, fn func()) {
	spent := func() float64 {
		var u syscall.Rusage
		if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
			b.Fatal(err)
		}
		return float64(u.Utime.Nano()+u.Stime.Nano()) / 1e6
	}
	before, n := spent(), 0
	for b.Loop() {
		fn()
		n++
	}
	b.ReportMetric((spent()-before)/float64(n), "cpu-ms/op")
}

func plantBook(b *testing.B, book *testBook) {
	b.Helper()
	if _, err := book.AddPlant(b.Context(), dailyPlant(b, "0.13", "60", false), dusk.AddDate(-200, 0, 0), "Ro"); err != nil {
		if _, err = book.AddPlant(b.Context(), dailyPlant(b, "0.13", "60", false), time.Unix(86400, 0), "Ro"); err != nil {
			b.Fatal(err)
		}
	}
	review(b, book, week.Week, dusk)
}

func review(b *testing.B, book *testBook, span week.Span, at time.Time) {
	b.Helper()
	in, err := book.Week(b.Context(), week.Of{Span: span, At: at})
	if err != nil {
		b.Fatal(err)
	}
	r, err := week.Report(b.Context(), in)
	if err != nil || r.EnergyKWh.Generated == nil {
		b.Fatal(err)
	}
}
