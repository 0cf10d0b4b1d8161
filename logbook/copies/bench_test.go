package copies

import (
	"context"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// tenYears is a book of three rounds a day for ten years.
func tenYears(b *testing.B) Keeper {
	b.Helper()
	at := noon
	now := func() time.Time { return at }
	book, err := logbook.Create(b.Context(), filepath.Join(b.TempDir(), "plant.book"), logbook.Options{Clock: now, Writer: alder})
	if err != nil {
		b.Fatal(err)
	}
	list := make([]record.Round, 10950)
	for i := range list {
		list[i] = record.Round{Time: noon.Add(time.Duration(i-11000) * 8 * time.Hour), By: "Ro", Note: "screen raked, leaves on it, and the air was cold",
			Values: map[quantity.Key]float64{"volts": 240 + float64(i%7), "hertz": 60, "load_kw": 2.5, "dump_share_pct": 40, "pressure_kpa": 131, "pond_level_m": -0.3, "air_c": 4, "bearing_c": 41}}
		list[i].ID = logbook.DeriveID(list[i])
	}
	if _, _, err := book.AddRounds(b.Context(), list); err != nil {
		b.Fatal(err)
	}
	return Keeper{Book: book, Writer: alder, Now: now}
}

// BenchmarkMake is one verified copy of a ten-year book, and the looking whether one is due.
func BenchmarkMake(b *testing.B) {
	k := tenYears(b)
	b.Run("copy", func(b *testing.B) {
		for b.Loop() {
			if err := k.Make(b.Context()).Err(); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("nothing due", func(b *testing.B) {
		for b.Loop() {
			if _, err := k.MakeDue(b.Context()); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// BenchmarkSave is the median time of saving a round in a ten-year book, alone and while copies of it are made one after the
// other, which they never are in truth.
func BenchmarkSave(b *testing.B) {
	for name, copying := range map[string]bool{"alone": false, "while copies are made": true} {
		b.Run(name, func(b *testing.B) {
			k := tenYears(b)
			ctx, stop := context.WithCancel(b.Context())
			var done sync.WaitGroup
			if copying {
				done.Go(func() {
					for ctx.Err() == nil {
						_ = k.Make(ctx)
					}
				})
			}
			var took []time.Duration
			for b.Loop() {
				begin := time.Now()
				if _, err := k.Book.AddRound(context.Background(), record.Round{Time: noon}, ""); err != nil {
					b.Fatal(err)
				}
				took = append(took, time.Since(begin))
			}
			stop()
			done.Wait()
			slices.Sort(took)
			b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "ms-median")
			b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "ms-p99")
			b.ReportMetric(0, "ns/op")
		})
	}
}
