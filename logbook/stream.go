package logbook

import (
	"cmp"
	"context"
	"math"
	"time"

	"example.org/headpond/model/record"
)

// batch is how many entries are read in one transaction while a whole book is handed out. Between two batches the book is
// free, since whoever takes the entries may be slow: a pager, a memory stick.
const batch = 2048

// Rounds hands out the rounds with from ≤ time < to, oldest first, with corrections applied. A zero time leaves that end
// open. Entries that cannot be read are passed over; when all others were handed out, the error is ErrDamaged. An error of fn
// ends the walk and is returned as it is.
//
// No lock is held while fn runs. A round that is added or whose time is corrected meanwhile may or may not be seen.
func (b *Book) Rounds(ctx context.Context, from, to time.Time, fn func(record.Round) error) error {
	return walk(ctx, b, KindRound, from, to, (*reader).round, fn)
}

// Events hands out the events with from ≤ time < to, like Rounds.
func (b *Book) Events(ctx context.Context, from, to time.Time, fn func(record.Event) error) error {
	return walk(ctx, b, KindEvent, from, to, (*reader).event, fn)
}

// Done hands out the upkeep done with from ≤ time < to, like Rounds.
func (b *Book) Done(ctx context.Context, from, to time.Time, fn func(record.Done) error) error {
	return walk(ctx, b, KindDone, from, to, (*reader).done, fn)
}

func walk[T any](ctx context.Context, b *Book, k Kind, from, to time.Time, read func(*reader, row) (T, bool), fn func(T) error) error {
	low, high := rowKey(k, open0(from, math.MinInt64), id{}), rowKey(k, open0(to, math.MaxInt64), id{})
	var spoilt error
	for more := true; more; {
		var list []T
		var next [rowLen]byte
		err := b.view(ctx, readingAll, func(t *txn) error {
			r := reader{t: t, ctx: ctx}
			list, more = nil, false
			t.rows().between(low, high, func(w row) bool {
				if len(list)+len(r.bad) >= batch {
					next, more = w.key, true
					return false
				}
				if v, ok := read(&r, w); ok {
					list = append(list, v)
				}
				return r.going()
			})
			spoilt = cmp.Or(spoilt, r.damage())
			return ctx.Err()
		})
		if err != nil {
			return err
		}
		if err := handOut(list, fn); err != nil {
			return err
		}
		low = next
	}
	return explain(readingAll, b.path, spoilt)
}

const readingAll = "reading the logbook"

func handOut[T any](list []T, fn func(T) error) error {
	for _, v := range list {
		if err := fn(v); err != nil {
			return err
		}
	}
	return nil
}

// open0 is a time's milliseconds, or the open end for a zero time.
func open0(t time.Time, end int64) int64 {
	if t.IsZero() {
		return end
	}
	return t.UnixMilli()
}

// Entries hands out every entry as it was written, in order of ids, then the other versions of entries that two books wrote
// under one id (Entry.Twin). It is what a lossless export needs. Entries that cannot be read and locks are treated as by
// Rounds.
func (b *Book) Entries(ctx context.Context, fn func(Entry) error) error {
	var spoilt error
	for _, name := range []string{bucketEntries, bucketTwins} {
		for from := []byte{}; from != nil; {
			var list []Entry
			var next []byte
			err := b.view(ctx, readingAll, func(t *txn) error {
				r := reader{t: t, ctx: ctx}
				list, next = r.entries(name, from)
				spoilt = cmp.Or(spoilt, r.damage())
				return ctx.Err()
			})
			if err != nil {
				return err
			}
			if err := handOut(list, fn); err != nil {
				return err
			}
			from = next
		}
	}
	return explain(readingAll, b.path, spoilt)
}

// entries reads one batch from a key on and returns the key at which the next one begins, nil at the end.
func (r *reader) entries(bucket string, from []byte) (list []Entry, next []byte) {
	source := r.t.entries
	if bucket == bucketTwins {
		source = r.t.twins
	}
	n := 0
	c := source.Cursor()
	for k, v := c.Seek(from); k != nil; k, v = c.Next() {
		if n == batch {
			return list, append([]byte(nil), k...)
		}
		n++
		if len(k) < idLen {
			r.t.g.sized(bucket, k, idLen)
			continue
		}
		key := id(k)
		b, err := open(key, v)
		if err != nil {
			r.bad = append(r.bad, key.String())
			continue
		}
		e := b.entry(key, v, r.t.loc)
		e.Twin = bucket == bucketTwins
		list = append(list, e)
	}
	return list, nil
}

// Entry returns one entry as it was written, and its corrections. The id may be a beginning of at least six characters that
// no other entry has.
func (b *Book) Entry(ctx context.Context, entry string) (Entry, error) {
	var e Entry
	err := b.view(ctx, "reading an entry", func(t *txn) error {
		key, found, err := t.find(entry, nil)
		if err != nil {
			return err
		}
		e = found.entry(key, t.get(key), t.loc)
		e.Corrections = t.amendments(key)
		return nil
	})
	return e, err
}
