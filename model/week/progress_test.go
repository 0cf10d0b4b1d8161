package week

import (
	"context"
	"errors"
	"slices"
	"testing"
)

// A year of days tells how far it is, in order and up to all of them; a few days tell nothing; and a context that ends stops it.
func TestManyDaysTellHowFarTheyAre(t *testing.T) {
	n := write(t, tern(t), "2026-02-16 00:00")
	n.round("2025-02-16 08:00", "running=A volts=240 load_kw=2 dump_kw=2.5")
	var done []int
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	far := WithProgress(ctx, func(d, of int) {
		if of != 365 {
			t.Errorf("%d of %d", d, of)
		}
		done = append(done, d)
	})
	rows, err := Rows(far, n.h, nil, n.h.At)
	if err != nil || len(rows) != 365 || !slices.Equal(done, []int{0, 64, 128, 192, 256, 320, 365}) {
		t.Errorf("%d days, told at %v: %v", len(rows), done, err)
	}
	done = nil
	if _, err := Rows(far, n.h, &rows[len(rows)-10].Carry, n.h.At); err != nil || done != nil {
		t.Errorf("nine days tell %v: %v", done, err)
	}
	halfway := WithProgress(ctx, func(d, _ int) {
		if d > 100 {
			stop()
		}
	})
	if _, err := Rows(halfway, n.h, nil, n.h.At); !errors.Is(err, context.Canceled) {
		t.Errorf("it goes on: %v", err)
	}
}
