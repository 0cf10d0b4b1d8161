package logbook

import (
	"bytes"
	"context"
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

// Gap is an entry that is known to be lost, as the entry that follows it names it.
type Gap struct {
	Writer [writerLen]byte
	Hash   [hashLen]byte
	Seq    uint64 // its number among its writer's entries
}

// Gaps lists the entries that the book notes as lost and that have not come back, in order of writer and hash, and tells how many
// entries are missing there in all. A book that was never rescued has none, and is not read for it; of another every entry is read.
func (b *Book) Gaps(ctx context.Context) (list []Gap, lost int, err error) {
	const doing = "reading which entries are lost"
	none := false
	err = b.view(ctx, doing, func(t *txn) error {
		none = t.g.bucket(bucketGaps).none
		return nil
	})
	if err != nil || none {
		return nil, 0, err
	}
	all, gaps, err := b.foreign(ctx, b.path)
	if err != nil {
		return nil, 0, explain(doing, b.path, err)
	}
	there := make(map[link]uint64, len(all))
	for _, s := range all {
		there[s.own()] = s.b.Seq
	}
	for l, seq := range gaps {
		if _, back := there[l]; !back {
			list = append(list, Gap{Writer: l.writer, Hash: l.hash, Seq: seq})
		}
	}
	slices.SortFunc(list, func(a, b Gap) int { return bytes.Compare(tipKey(a.Writer, a.Hash), tipKey(b.Writer, b.Hash)) })
	return list, countLost(gaps, there), nil
}

// linksOf are gaps as they are kept.
func linksOf(list []Gap) map[link]uint64 {
	m := make(map[link]uint64, len(list))
	for _, g := range list {
		m[link{g.Writer, g.Hash}] = g.Seq
	}
	return m
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
func countLost(gaps map[link]uint64, there map[link]uint64) int {
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
