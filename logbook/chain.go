package logbook

import (
	"bytes"
	"encoding/binary"
)

// tip is the last entry of a chain: no entry in the book names it as the one before. A writer has one tip as a rule, and more
// after two copies of a book that both went on were merged. Tips are kept, not derived: they are what shows that the last
// entry of a chain was taken away.
type tip struct {
	id   id
	seq  uint64
	hash [hashLen]byte
}

// A tip is kept under its writer and hash, which is how a successor names it.
const tipLen = 8 + idLen

func tipKey(writer [writerLen]byte, hash [hashLen]byte) []byte { return append(writer[:], hash[:]...) }

func (t *txn) putTip(writer [writerLen]byte, h tip) error {
	v := make([]byte, 0, tipLen)
	v = binary.BigEndian.AppendUint64(v, h.seq)
	v = append(v, h.id[:]...)
	return t.heads.Put(tipKey(writer, h.hash), v)
}

func (t *txn) dropTip(writer [writerLen]byte, hash [hashLen]byte) error {
	return t.heads.Delete(tipKey(writer, hash))
}

func readTip(k, v []byte) (writer [writerLen]byte, h tip, ok bool) {
	if len(k) != writerLen+hashLen || len(v) != tipLen {
		return writer, h, false
	}
	h.hash = [hashLen]byte(k[writerLen:])
	h.seq = binary.BigEndian.Uint64(v)
	h.id = id(v[8:])
	return [writerLen]byte(k), h, true
}

// tips returns the last entries of a writer's chains.
func (t *txn) tips(writer [writerLen]byte) []tip {
	var list []tip
	c := t.heads.Cursor()
	for k, v := c.Seek(writer[:]); bytes.HasPrefix(k, writer[:]); k, v = c.Next() {
		if _, h, ok := readTip(k, v); ok {
			list = append(list, h)
		}
	}
	return list
}

// tipOf returns the tip that the writer's next entry follows: the one with the highest number, then the latest id.
func (t *txn) tipOf(writer [writerLen]byte) (best tip, found bool) {
	for _, h := range t.tips(writer) {
		if !found || h.seq > best.seq || h.seq == best.seq && h.id.Compare(best.id) > 0 {
			best, found = h, true
		}
	}
	return best, found
}

// stampLen is a stamp in fixed form: milliseconds and offset.
const stampLen = 8 + 4

// latestWriting returns the latest time at which an entry of the book was written, by any writer's clock.
func (t *txn) latestWriting() stamp {
	v := t.book.Get([]byte(keyWritten))
	if len(v) != stampLen {
		return stamp{}
	}
	return stamp{MS: int64(binary.BigEndian.Uint64(v)), OffsetS: int32(binary.BigEndian.Uint32(v[8:]))}
}

// noteWriting keeps the latest time of writing, by which a clock that has fallen back is noticed.
func (t *txn) noteWriting(s stamp) error {
	if s.MS <= t.latestWriting().MS {
		return nil
	}
	return t.putWriting(s)
}
