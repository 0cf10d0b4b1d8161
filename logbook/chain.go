package logbook

import (
	"bytes"
	"encoding/binary"
)

// tip is the last entry of a chain: no entry in the book names it as the one before. A writer has one tip as a rule, and more
// after two copies of a book that both went on were merged. Tips are kept, not derived: they are what shows that the last
// entry of a chain was taken away.
type tip struct {
	id      id
	seq     uint64
	hash    [hashLen]byte
	written stamp
}

const tipLen = 8 + hashLen + 8 + 4

func tipKey(writer [16]byte, key id) []byte { return append(writer[:], key[:]...) }

func (t *txn) putTip(writer [16]byte, h tip) error {
	v := make([]byte, 0, tipLen)
	v = binary.BigEndian.AppendUint64(v, h.seq)
	v = append(v, h.hash[:]...)
	v = binary.BigEndian.AppendUint64(v, uint64(h.written.MS))
	v = binary.BigEndian.AppendUint32(v, uint32(h.written.OffsetS))
	return t.heads.Put(tipKey(writer, h.id), v)
}

func (t *txn) dropTip(writer [16]byte, key id) error { return t.heads.Delete(tipKey(writer, key)) }

func readTip(k, v []byte) (writer [16]byte, h tip, ok bool) {
	if len(k) != writerLen+idLen || len(v) != tipLen {
		return writer, h, false
	}
	h.id = id(k[writerLen:])
	h.seq = binary.BigEndian.Uint64(v)
	h.hash = [hashLen]byte(v[8:])
	h.written.MS = int64(binary.BigEndian.Uint64(v[8+hashLen:]))
	h.written.OffsetS = int32(binary.BigEndian.Uint32(v[16+hashLen:]))
	return [16]byte(k), h, true
}

// tipOf returns the tip that the writer's next entry follows: the one with the highest number, then the latest id.
func (t *txn) tipOf(writer [16]byte) (best tip, found bool) {
	c := t.heads.Cursor()
	for k, v := c.Seek(writer[:]); bytes.HasPrefix(k, writer[:]); k, v = c.Next() {
		if _, h, ok := readTip(k, v); ok && (!found || h.seq >= best.seq) {
			best, found = h, true
		}
	}
	return best, found
}

// latestWriting returns when the last entry was written, by any writer's clock.
func (t *txn) latestWriting() stamp {
	var latest stamp
	c := t.heads.Cursor()
	for k, v := c.First(); k != nil; k, v = c.Next() {
		if _, h, ok := readTip(k, v); ok && h.written.MS > latest.MS {
			latest = h.written
		}
	}
	return latest
}
