package logbook

import (
	"context"
	"encoding/binary"
	"errors"
	"time"
)

// TrustClock takes this computer's clock as right, on a person's word, where an entry was written at a later time: by a clock that
// was ahead. The caution about it ends; the entry stays as it was written. It returns the latest time of writing before, zero where
// that is no later than now and nothing was to be done.
func (b *Book) TrustClock(ctx context.Context) (was time.Time, err error) {
	now, err := stampOf(b.o.Clock())
	if err != nil {
		return was, err
	}
	err = b.update(ctx, "taking the clock as right", func(t *txn) error {
		latest := t.latestWriting()
		if latest.MS <= now.MS {
			return errNothing
		}
		was = latest.clockTime(t.loc)
		return t.putWriting(now)
	})
	if errors.Is(err, errNothing) {
		return time.Time{}, nil
	}
	return was, err
}

// putWriting keeps a time as the latest one of writing.
func (t *txn) putWriting(s stamp) error {
	v := binary.BigEndian.AppendUint64(make([]byte, 0, stampLen), uint64(s.MS))
	return t.book.Put([]byte(keyWritten), binary.BigEndian.AppendUint32(v, uint32(s.OffsetS)))
}
