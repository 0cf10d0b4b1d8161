package logbook

import (
	"encoding/binary"
	"slices"
)

// bucketGaps lists entries that are known to be lost: a rescue did not find them, and some entry follows them. Without the
// list a rescued book could never again be told from one that something was taken out of. A book that was never rescued has no
// such bucket. An entry that comes back, from an older backup, makes its row idle.
const bucketGaps = "gaps"

// A gap is kept under the writer and hash that its successor names; its value is the lost entry's number.
const gapLen = 8

func readGap(k, v []byte) (l link, seq uint64, ok bool) {
	if len(k) != writerLen+hashLen || len(v) != gapLen {
		return l, 0, false
	}
	return link{[writerLen]byte(k), [hashLen]byte(k[writerLen:])}, binary.BigEndian.Uint64(v), true
}

// addGaps notes entries as lost. It reports whether the book did not say so yet.
func (t *txn) addGaps(gaps map[link]uint64) (noted bool, err error) {
	b := bucket{tree: t.g.bucket(bucketGaps), w: t.tx.Bucket([]byte(bucketGaps))}
	for l, seq := range gaps {
		key := tipKey(l.writer, l.hash)
		if b.w == nil {
			if b.w, err = t.tx.CreateBucket([]byte(bucketGaps)); err != nil {
				return noted, err
			}
		}
		if b.Get(key) != nil {
			continue
		}
		noted = true
		if err := b.Put(key, binary.BigEndian.AppendUint64(nil, seq)); err != nil {
			return noted, err
		}
	}
	return noted, nil
}

// gaps are the entries that the book notes as lost.
func (c *checker) gaps() map[link]uint64 {
	m := map[link]uint64{}
	for _, p := range c.buckets[bucketGaps].pairs {
		l, seq, ok := readGap(p.key, p.value)
		if !ok {
			c.damage(nil, "the list of lost entries: %d and %d bytes, expected %d and %d", len(p.key), len(p.value), writerLen+hashLen, gapLen)
			continue
		}
		m[l] = seq
	}
	return m
}

// countLost returns how many entries are missing before those that follow a gap.
func (c *checker) countLost(gaps map[link]uint64, there map[link]uint64) int {
	if len(gaps) == 0 {
		return 0
	}
	numbers := map[[writerLen]byte][]uint64{}
	for l, seq := range there {
		numbers[l.writer] = append(numbers[l.writer], seq)
	}
	for _, list := range numbers {
		slices.Sort(list)
	}
	lost := 0
	for l, seq := range gaps {
		if _, back := there[l]; back {
			continue
		}
		before := uint64(0) // the greatest number that is there, up to the lost one's
		if i, _ := slices.BinarySearch(numbers[l.writer], seq+1); i > 0 {
			before = numbers[l.writer][i-1]
		}
		lost += int(seq - before)
	}
	return lost
}
