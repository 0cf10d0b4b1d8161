package logbook

import (
	bolt "go.etcd.io/bbolt"
)

// bucket is one of the book's buckets within a transaction. In a read transaction the file is read with care and the store
// has no part in it. In a write transaction the store reads and writes, and is let only onto pages that were verified before,
// as they lay in the file when the transaction began; nothing is written once a spoilt page was met.
type bucket struct {
	tree tree
	w    *bolt.Bucket // nil in a read transaction
}

// missing reports whether the file has no such bucket.
func (b *bucket) missing() bool { return b.tree.none && b.w == nil }

// Sequence returns the number that the store counts in the bucket.
func (b *bucket) Sequence() uint64 {
	if b.w != nil {
		return b.w.Sequence()
	}
	return b.tree.seq
}

// Get returns a key's value, valid within the transaction, or nil.
func (b *bucket) Get(k []byte) []byte {
	if b.w == nil {
		v, _ := b.tree.find(k)
		return v
	}
	if !b.tree.verify(k) {
		return nil
	}
	return b.w.Get(k)
}

// Put writes a pair.
func (b *bucket) Put(k, v []byte) error {
	if !b.tree.verify(k) {
		return b.tree.g.damage()
	}
	return b.w.Put(k, v)
}

// Delete takes a pair away; one that is not there is no error. The store may join the leaf with a neighbour.
func (b *bucket) Delete(k []byte) error {
	if !b.tree.verifyAround(k) {
		return b.tree.g.damage()
	}
	return b.w.Delete(k)
}

// NextSequence counts one more.
func (b *bucket) NextSequence() error {
	_, err := b.w.NextSequence()
	return err
}

// walker goes over the pairs of a bucket in order. A nil key is the end.
type walker interface {
	First() (k, v []byte)
	Last() (k, v []byte)
	Seek(k []byte) (key, v []byte)
	Next() (k, v []byte)
	Prev() (k, v []byte)
}

// Cursor returns a walker over the bucket.
func (b *bucket) Cursor() walker {
	if b.w == nil {
		return b.tree.cursor()
	}
	return &verifiedCursor{tree: b.tree, c: b.w.Cursor()}
}

// verifiedCursor is the store's cursor, kept on verified pages.
type verifiedCursor struct {
	tree tree
	c    *bolt.Cursor
	key  []byte
}

func (v *verifiedCursor) at(k, value []byte) ([]byte, []byte) {
	v.key = k
	return k, value
}

// First goes to the first pair.
func (v *verifiedCursor) First() (k, value []byte) {
	if !v.tree.verifyAround(nil) {
		return nil, nil
	}
	return v.at(v.c.First())
}

// Last goes to the last pair.
func (v *verifiedCursor) Last() (k, value []byte) {
	if last, _ := v.tree.cursor().Last(); !v.tree.verifyAround(last) {
		return nil, nil
	}
	return v.at(v.c.Last())
}

// Seek goes to the first pair whose key is not below k.
func (v *verifiedCursor) Seek(k []byte) (key, value []byte) {
	if !v.tree.verifyAround(k) {
		return nil, nil
	}
	return v.at(v.c.Seek(k))
}

// Next goes to the pair after.
func (v *verifiedCursor) Next() (k, value []byte) {
	if !v.tree.verifyAround(v.key) {
		return nil, nil
	}
	return v.at(v.c.Next())
}

// Prev goes to the pair before.
func (v *verifiedCursor) Prev() (k, value []byte) {
	if !v.tree.verifyAround(v.key) {
		return nil, nil
	}
	return v.at(v.c.Prev())
}

// verify reads the pages from the root to the leaf where a key is or would be. False means that one is spoilt.
func (t tree) verify(k []byte) bool {
	before := len(t.g.faults)
	c := t.cursor()
	if !c.enterRoot() {
		return !t.spoilt && (t.none || t.root == 0)
	}
	for !c.top().page.leaf {
		i, exact := c.top().page.find(k)
		if !exact && i > 0 {
			i--
		}
		if !c.enter(i) {
			return false
		}
	}
	return len(t.g.faults) == before
}

// verifyAround also reads the leaves beside, to which the store may go on, and the branches beside those on the way, with
// which it may join one that has become small.
func (t tree) verifyAround(k []byte) bool {
	before := len(t.g.faults)
	c := t.cursor()
	if !c.enterRoot() {
		return !t.spoilt && (t.none || t.root == 0)
	}
	for !c.top().page.leaf {
		s := c.top()
		i, exact := s.page.find(k)
		if !exact && i > 0 {
			i--
		}
		s.at = i
		depth := len(c.stack)
		for _, beside := range []int{i - 1, i + 1} {
			if beside < 0 || beside >= s.page.count {
				continue
			}
			if c.enter(beside) {
				c.descend(beside > i)
			}
			c.stack = c.stack[:depth]
			s = c.top()
		}
		s.at = i
		if !c.enter(i) {
			return false
		}
	}
	return len(t.g.faults) == before
}

// verifyAll reads every page.
func (t tree) verifyAll() bool {
	before := len(t.g.faults)
	c := t.cursor()
	for k, _ := c.First(); k != nil; k, _ = c.Next() {
	}
	return len(t.g.faults) == before
}
