package logbook

import (
	"context"
	"encoding/binary"
	"hash/fnv"
)

// sealHead gives a head of the file a right checksum.
func sealHead(page []byte) {
	sum := fnv.New64a()
	sum.Write(page[pageHeadLen : pageHeadLen+56])
	binary.NativeEndian.PutUint64(page[pageHeadLen+56:], sum.Sum64())
}

// IDText writes an id as people see it.
func IDText(key [16]byte) string { return id(key).String() }

// ExplainCopy is what is said where a copy could not be written.
func ExplainCopy(doing, path string, err error) error { return explainCopy(doing, path, err) }

// BatchLen is how many entries PutStream hands over at a time.
const BatchLen = batchLen

// Unsynced is for tests that write much and ask nothing about crashes: their books do not wait for the disk.
func Unsynced(o Options) Options {
	o.noSync = true
	return o
}

// FineHours keeps a row of counted hours for so few rounds or events that small books have some.
func FineHours(o Options, every int) Options {
	o.hoursEvery = every
	return o
}

// HoursRead is how many rounds and events are walked over for the running hours, before a history's own, where Counted alone is
// not asked for.
func HoursRead(ctx context.Context, b *Book, o HistoryOptions) (int, error) {
	h, err := b.History(ctx, HistoryOptions{At: o.At, Days: o.Days})
	if err != nil {
		return 0, err
	}
	o.Upkeep = !o.Counted
	q, err := b.askHours(ctx, h, o)
	return q.walked(), err
}

// HoursStep and HoursWorth are how many rounds lie between two rows of counted hours, and how many must have been read.
const HoursStep, HoursWorth = hoursStep, 2 * hoursStep
