package logbook

import (
	"bytes"
	"encoding/binary"
	"math"
)

// Rounds are by far the most entries, and nearly all stand in the order of their ids at the very time that holds for them. So
// they have no rows in the index, which would make each saving dearer; only those do whose time was corrected, or that came
// with an id of another time. A walk over rounds joins the two.

// inPlace reports whether a row need not be kept: the round is found by its id.
func (r row) inPlace() bool {
	return Kind(r.key[0]) == KindRound && r.ms() == int64(r.id().Time())
}

// saysWhatRan reports whether a computed row is that of a round which says which units ran.
func (r row) saysWhatRan() bool {
	return Kind(r.key[0]) == KindRound && len(r.value) == 1 && r.value[0]&rowHasRunning != 0
}

// stream gives rows one after the other, until false.
type stream func() (row, bool)

// roundScan walks over rounds: those in place among the entries, the others in the index.
type roundScan struct{ t *txn }

func (s roundScan) between(low, high [rowLen]byte, fn func(row) bool) {
	moved := s.t.index.Cursor()
	c := s.t.entries.Cursor()
	start := seekID(row{key: low})
	join(+1, steps(c.Next, start, c.Seek, s.asEntry), steps(moved.Next, low[:], moved.Seek, s.asMoved), func(r row) bool {
		return bytes.Compare(r.key[:], high[:]) < 0 && fn(r)
	})
}

func (s roundScan) descend(k Kind, to int64, fn func(row) bool) {
	high := rowKey(k, to, id{})
	before := func(c walker) func([]byte) ([]byte, []byte) {
		return func(at []byte) ([]byte, []byte) {
			if key, _ := c.Seek(at); key == nil {
				return c.Last()
			}
			return c.Prev()
		}
	}
	moved := s.t.index.Cursor()
	c := s.t.entries.Cursor()
	join(-1, steps(c.Prev, seekID(row{key: high}), before(c), s.asEntry), steps(moved.Prev, high[:], before(moved), s.asMoved), fn)
}

// seekID is the least id that a round in place at a row's time, or at the row itself, can have.
func seekID(r row) []byte {
	if r.inPlace() {
		key := r.id()
		return key[:]
	}
	var key id
	if ms := r.ms(); ms > 0 {
		if key.SetTime(uint64(ms)) != nil {
			key = id(bytes.Repeat([]byte{0xff}, idLen))
		}
	}
	return key[:]
}

// steps turns a walk over pairs into a stream of the rows that pick accepts; pick says false for the end of the walk.
func steps(next func() (k, v []byte), from []byte, seek func([]byte) (k, v []byte), pick func(k, v []byte) (r row, ok, end bool)) stream {
	begun := false
	return func() (row, bool) {
		for {
			var k, v []byte
			if begun {
				k, v = next()
			} else {
				k, v, begun = pairOf(seek(from))
			}
			if k == nil {
				return row{}, false
			}
			r, ok, end := pick(k, v)
			if ok || end {
				return r, ok
			}
		}
	}
}

func pairOf(k, v []byte) (key, value []byte, begun bool) { return k, v, true }

// asEntry accepts rounds in place. One that cannot be read is accepted too, so that the reader counts it.
func (s roundScan) asEntry(k, v []byte) (r row, ok, end bool) {
	if !s.t.g.sized(bucketEntries, k, idLen) {
		return row{}, false, false
	}
	key := id(k)
	r.key = rowKey(KindRound, int64(key.Time()), key)
	b, err := open(key, v)
	if err != nil {
		return r, true, false
	}
	if b.Kind != KindRound {
		return row{}, false, false
	}
	r.b, r.changes = b, s.t.amendments(key)
	return r, b.effectiveMS(r.changes) == int64(key.Time()), false
}

// asMoved accepts the index's rows of rounds, and ends where those of another kind begin.
func (s roundScan) asMoved(k, v []byte) (r row, ok, end bool) {
	if !s.t.g.sized(bucketIndex, k, rowLen) {
		return row{}, false, false
	}
	if Kind(k[0]) != KindRound {
		return row{}, false, true
	}
	return row{key: [rowLen]byte(k), value: v}, true, false
}

// join hands out the rows of two streams in order, the lowest first or, with sign -1, the highest.
func join(sign int, a, b stream, fn func(row) bool) {
	x, okX := a()
	y, okY := b()
	for okX || okY {
		if okX && (!okY || sign*bytes.Compare(x.key[:], y.key[:]) < 0) {
			if !fn(x) {
				return
			}
			x, okX = a()
		} else {
			if !fn(y) {
				return
			}
			y, okY = b()
		}
	}
}

// ranUntil is the latest time of a round that says which units ran, or at least as late; false where none ever did. It spares
// a long look back through a book whose rounds do not say.
func (t *txn) ranUntil() (ms int64, ever bool) {
	if t.linked != nil {
		return math.MaxInt64, true // not known
	}
	v := t.book.Get([]byte(keyRan))
	if len(v) != 8 {
		return 0, false
	}
	return int64(binary.BigEndian.Uint64(v)), true
}

// noteRan keeps the latest time of a round that says which units ran.
func (t *txn) noteRan(r row) error {
	if !r.saysWhatRan() {
		return nil
	}
	if until, ever := t.ranUntil(); ever && until >= r.ms() {
		return nil
	}
	return t.book.Put([]byte(keyRan), binary.BigEndian.AppendUint64(nil, uint64(r.ms())))
}
