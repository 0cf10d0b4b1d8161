package logbook

import (
	"context"
	"encoding/binary"
	"time"
)

// Elsewhere is the folder in which copies of the book are kept beside those that lie with it, such as one on a memory stick,
// and what was last put there. The book remembers it, since the stick is away most of the time.
type Elsewhere struct {
	Dir  string    // "" for none
	Last time.Time // zero where no copy was made there yet
	Mark uint64    // how many entries the last copy holds, as Book.Mark counts
}

// The value is a version byte, milliseconds, a count and the folder's name (FORMAT.md).
const (
	elsewhereVersion = 1
	elsewhereMinLen  = 1 + 8 + 8
	elsewhereMaxLen  = 1 << 12
)

// Elsewhere returns where else copies are kept. A value that a newer version wrote counts as none.
func (b *Book) Elsewhere(ctx context.Context) (Elsewhere, error) {
	var e Elsewhere
	err := b.view(ctx, "reading where copies are kept", func(t *txn) error {
		v := t.book.Get([]byte(keyCopies))
		if len(v) < elsewhereMinLen || v[0] != elsewhereVersion {
			e = Elsewhere{}
			return nil
		}
		e = Elsewhere{Dir: string(v[elsewhereMinLen:]), Mark: binary.BigEndian.Uint64(v[9:])}
		if ms := int64(binary.BigEndian.Uint64(v[1:])); ms != 0 {
			e.Last = time.UnixMilli(ms).In(b.o.Location)
		}
		return nil
	})
	return e, err
}

// SetElsewhere remembers where else copies are kept. It adds no entry.
func (b *Book) SetElsewhere(ctx context.Context, e Elsewhere) error {
	const doing = "noting where copies are kept"
	if len(e.Dir) > elsewhereMaxLen {
		return explain(doing, b.path, invalid("a folder's name of more than 4096 bytes", "a shorter one"))
	}
	v := []byte{elsewhereVersion}
	ms := int64(0)
	if !e.Last.IsZero() {
		ms = e.Last.UnixMilli()
	}
	v = binary.BigEndian.AppendUint64(v, uint64(ms))
	v = append(binary.BigEndian.AppendUint64(v, e.Mark), e.Dir...)
	return b.update(ctx, doing, func(t *txn) error {
		if e.Dir == "" {
			return t.book.Delete([]byte(keyCopies))
		}
		return t.book.Put([]byte(keyCopies), v)
	})
}
