package logbook

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"

	bolt "go.etcd.io/bbolt"
)

// snapshot is the whole file as it was at one moment, in memory (a book of a hundred years has about 60 MB), so that a long
// look at it holds no lock.
type snapshot struct {
	data []byte
	g    *pager
	used []bool               // by page number: the walk came to it
	read map[string]rawBucket // once the walk is made
}

// pair is a key and its value, as parts of the snapshot.
type pair struct{ key, value []byte }

// rawBucket is a bucket's content and the number that the store counts in it.
type rawBucket struct {
	pairs    []pair
	sequence uint64
}

// takeSnapshot copies a book's file while no one can write, and then lets go of it.
func (b *Book) takeSnapshot(ctx context.Context, path string) (*snapshot, error) {
	var data []byte
	err := b.with(ctx, path, modeRead, func(f *os.File, _ *bolt.DB) error {
		h, err := readHead(f)
		if err != nil {
			return err
		}
		data, err = readFile(ctx, f, int64(h.highWater)*h.pageSize)
		return err
	})
	if err != nil {
		return nil, err
	}
	return readSnapshot(data)
}

// readFile reads the first bytes of a file in pieces, so that it can be given up.
func readFile(ctx context.Context, f io.ReaderAt, n int64) ([]byte, error) {
	const piece = 4 << 20
	data := make([]byte, n)
	for at := int64(0); at < n; at += piece {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if _, err := f.ReadAt(data[at:min(n, at+piece)], at); err != nil {
			return nil, err
		}
	}
	return data, nil
}

// readSnapshot reads the head of a file in memory.
func readSnapshot(data []byte) (*snapshot, error) {
	g, err := newPager(bytes.NewReader(data), nil)
	if err != nil {
		return nil, err
	}
	if need := g.head.highWater * uint64(g.head.pageSize); uint64(len(data)) < need {
		return nil, damaged(fmt.Sprintf("the file has %d bytes, expected at least %d", len(data), need), nil)
	}
	return &snapshot{data: data, g: g, used: make([]bool, g.head.highWater)}, nil
}

// buckets walks the whole file, once, and returns the content of every bucket that can be reached. What is spoilt is in
// g.faults.
func (s *snapshot) buckets() map[string]rawBucket {
	if s.read != nil {
		return s.read
	}
	s.read = map[string]rawBucket{}
	s.mark(0, 2, "the heads")
	var names []pair
	s.walk("the bucket of buckets", s.g.rootTree(), func(p page, i int) {
		if !p.isBucket(i) {
			s.g.fault("%q stands among the buckets, but is none", p.key(i))
			return
		}
		names = append(names, pair{p.key(i), p.value(i)})
	})
	for _, n := range names {
		name := string(n.key)
		t := s.g.open(name, n.value)
		b := rawBucket{sequence: t.seq}
		s.walk("bucket "+name, t, func(p page, i int) {
			if p.isBucket(i) {
				s.g.fault("bucket %s: the pair %x is marked as a bucket", name, p.key(i))
			}
			b.pairs = append(b.pairs, pair{p.key(i), p.value(i)})
		})
		s.read[name] = b
	}
	s.free()
	return s.read
}

// walk visits every pair of a tree and marks its pages as used.
func (s *snapshot) walk(what string, t tree, fn func(p page, i int)) {
	c := t.cursor()
	c.visit = func(n uint64, p page) { s.mark(n, p.span, what) }
	for k, _ := c.First(); k != nil; k, _ = c.Next() {
		fn(c.top().page, c.top().at)
	}
}

// mark notes that pages are in use; one that is used twice is a fault.
func (s *snapshot) mark(n, span uint64, what string) {
	for i := n; i < n+span && i < uint64(len(s.used)); i++ {
		if s.used[i] {
			s.g.fault("page %d: %s uses it, and something else does", i, what)
		}
		s.used[i] = true
	}
}

// free compares the list of free pages with what the walk came to: every page is one or the other.
func (s *snapshot) free() {
	whole := len(s.g.faults) == 0
	list, span, err := readFree(s.g.src, s.g.head)
	if err != nil {
		s.g.fault("%s", damageText(err))
		return
	}
	if s.g.head.free != noFreeList {
		s.mark(s.g.head.free, span, "the list of free pages")
	}
	free := make([]bool, len(s.used))
	for _, n := range list {
		free[n] = true
		if s.used[n] {
			s.g.fault("page %d: it is in use, but stands in the list of free pages", n)
		}
	}
	for n := range s.used {
		if whole && !s.used[n] && !free[n] && s.g.head.free != noFreeList {
			s.g.fault("page %d: it is neither in use nor in the list of free pages", n)
		}
	}
}
