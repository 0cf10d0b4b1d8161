package logbook

import (
	"bytes"
	"context"
	"time"

	"example.org/headpond/model/week"
)

// keepable chooses the new rows that no entry dated up to the last one can change without the frontier moving, so that days
// whose next reading has not come yet are not written again and again.
func (q *weekQuery) keepable(rows []week.Row) {
	if len(q.r.bad) > 0 || len(q.r.t.g.faults) > 0 {
		return
	}
	for _, r := range rows {
		if r.Needs > q.last || r.Needs >= q.end {
			break
		}
		if q.usable && r.Day.To <= q.mark.frontier {
			continue
		}
		q.fresh = append(q.fresh, r)
	}
}

// keepRows writes new rows, where no entry came meanwhile and nobody else holds the book. What cannot be kept is worked out
// again the next time.
func (b *Book) keepRows(ctx context.Context, basis [dailyBasisLen]byte, mark dailyMark, sequence uint64, rows []week.Row) {
	ctx, cancel := context.WithTimeout(ctx, rollUpWait)
	defer cancel()
	_ = b.update(ctx, "keeping roll-ups", func(t *txn) error {
		if t.entries.Sequence() != sequence {
			return errNothing
		}
		if t.daily.missing() {
			if _, err := t.tx.CreateBucketIfNotExists([]byte(bucketDaily)); err != nil {
				return err
			}
			t.locate()
		}
		if err := t.dropBefore(rows[0]); err != nil {
			return err
		}
		var z packer
		for _, r := range rows {
			key := dailyKey(r.Day.From)
			v, err := z.seal(key, r)
			if err != nil {
				return err
			}
			if err := t.daily.Put(key, v); err != nil {
				return err
			}
		}
		last := rows[len(rows)-1]
		m := dailyMark{entries: sequence, frontier: last.Day.To, needs: last.Needs, basis: basis}
		return t.book.Put([]byte(keyDaily), m.bytes())
	})
}

// dropBefore takes away rows from before the log's beginning, which may since have moved: rows stand without a gap from there.
func (t *txn) dropBefore(first week.Row) error {
	if first.Day.From != first.Carry.Begin {
		return nil
	}
	var old [][]byte
	c := t.daily.Cursor()
	for k, _ := c.First(); k != nil && bytes.Compare(k, dailyKey(first.Day.From)) < 0; k, _ = c.Next() {
		old = append(old, bytes.Clone(k))
	}
	for _, k := range old {
		if err := t.daily.Delete(k); err != nil {
			return err
		}
	}
	return nil
}

// rollUpWait is how long the keeping of roll-ups waits for another process.
const rollUpWait = 50 * time.Millisecond
