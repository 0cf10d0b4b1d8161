package logbook

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"io"

	bolt "go.etcd.io/bbolt"
)

// A snapshot is the whole file as it was within one read transaction, in memory (a book of a hundred years has about 60 MB).
// It is read here page by page, every length checked before it is believed, so that no damage can do worse than be reported;
// the store's own reader trusts the pages and would fault.
type snapshot struct {
	data   []byte
	head   head
	seen   []bool // by page number: a page that is reached twice is an error, and keeps the walk from going in circles
	faults []string
	read   map[string]rawBucket // once the walk is made
}

// Layout of the store's pages (FORMAT.md, "The file"): a head of 16 bytes (number, kind, count, further pages), then elements
// of 16 bytes each.
const (
	elementLen   = 16
	bucketLen    = 16
	pageBranch   = 0x01
	pageLeaf     = 0x02
	pageFree     = 0x10
	leafIsBucket = 0x01
	maxDepth     = 32
	maxFaults    = 100
)

// pair is a key and its value, as parts of the snapshot.
type pair struct{ key, value []byte }

// rawBucket is a bucket's content and the number that the store counts in it.
type rawBucket struct {
	pairs    []pair
	sequence uint64
}

// takeSnapshot copies a book's file within a read transaction and then lets go of it. With deep, the store's own check of
// its pages and free list is made as well, once our walk has found the pages fit to be read.
func (b *Book) takeSnapshot(ctx context.Context, path string, deep bool) (*snapshot, error) {
	var s *snapshot
	err := b.with(ctx, path, modeRead, func(tx *bolt.Tx) error {
		buf := bytes.NewBuffer(make([]byte, 0, tx.Size()))
		if _, err := tx.WriteTo(contextWriter{ctx, buf}); err != nil {
			return err
		}
		var err error
		if s, err = readSnapshot(buf.Bytes()); err != nil {
			return err
		}
		if !deep {
			return nil
		}
		s.buckets()
		if len(s.faults) > 0 {
			return nil
		}
		for fault := range tx.Check() { // must be read to its end
			s.fault("%v", fault)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return s, nil
}

// contextWriter lets a copy be given up.
type contextWriter struct {
	ctx context.Context
	w   io.Writer
}

func (c contextWriter) Write(p []byte) (int, error) {
	if err := c.ctx.Err(); err != nil {
		return 0, err
	}
	return c.w.Write(p)
}

// readSnapshot reads the head of a file in memory.
func readSnapshot(data []byte) (*snapshot, error) {
	r := bytes.NewReader(data)
	h, err := readHead(r)
	if err != nil {
		return nil, err
	}
	s := &snapshot{data: data, head: h, seen: make([]bool, min(h.highWater, uint64(len(data))/uint64(h.pageSize)))}
	if err := checkFree(r, h); err != nil {
		s.fault("%s", damageText(err))
	}
	return s, nil
}

func (s *snapshot) fault(format string, args ...any) {
	if len(s.faults) < maxFaults {
		s.faults = append(s.faults, fmt.Sprintf(format, args...))
	}
}

// buckets walks the whole file, once, and returns the content of every top bucket that can be reached. What cannot be read
// is in faults.
func (s *snapshot) buckets() map[string]rawBucket {
	if s.read != nil {
		return s.read
	}
	s.read = map[string]rawBucket{}
	var tops []pair
	s.walk(s.head.root, 0, func(k, v []byte, isBucket bool) {
		if isBucket {
			tops = append(tops, pair{k, v})
		}
	})
	for _, top := range tops {
		s.read[string(top.key)] = s.bucket(string(top.key), top.value)
	}
	return s.read
}

// bucket reads one bucket from its head, which names its first page or, for a small bucket, is followed by it.
func (s *snapshot) bucket(name string, v []byte) rawBucket {
	if len(v) < bucketLen {
		s.fault("bucket %q: its head has %d bytes, expected %d", name, len(v), bucketLen)
		return rawBucket{}
	}
	root := binary.NativeEndian.Uint64(v)
	b := rawBucket{sequence: binary.NativeEndian.Uint64(v[8:])}
	add := func(k, v []byte, _ bool) {
		if n := len(b.pairs); n > 0 && bytes.Compare(b.pairs[n-1].key, k) >= 0 {
			s.fault("bucket %q: key %x is out of order", name, k)
		}
		b.pairs = append(b.pairs, pair{k, v})
	}
	if root != 0 {
		s.walk(root, 0, add)
	} else {
		s.leaf(v[bucketLen:], "bucket "+name, add)
	}
	return b
}

// walk visits a page and all below it, leaves from left to right.
func (s *snapshot) walk(page uint64, depth int, fn func(k, v []byte, isBucket bool)) {
	p, ok := s.page(page)
	if !ok {
		return
	}
	where := fmt.Sprintf("page %d", page)
	switch kind := binary.NativeEndian.Uint16(p[8:]); {
	case kind == pageLeaf:
		s.leaf(p, where, fn)
	case kind != pageBranch:
		s.fault("%s: kind %#x, expected a leaf or a branch", where, kind)
	case depth >= maxDepth:
		s.fault("%s: more than %d levels", where, maxDepth)
	default:
		for i := range s.count(p, where) {
			s.walk(binary.NativeEndian.Uint64(p[pageHeadLen+i*elementLen+8:]), depth+1, fn)
		}
	}
}

// page returns a page with its further pages, or false where its head cannot be right.
func (s *snapshot) page(n uint64) ([]byte, bool) {
	if n < 2 || n >= uint64(len(s.seen)) {
		s.fault("page %d: there is no such page, expected 2 to %d", n, len(s.seen)-1)
		return nil, false
	}
	at := n * uint64(s.head.pageSize)
	p := s.data[at:]
	if own := binary.NativeEndian.Uint64(p); own != n {
		s.fault("page %d: it calls itself page %d", n, own)
		return nil, false
	}
	more := uint64(binary.NativeEndian.Uint32(p[12:]))
	if n+more >= uint64(len(s.seen)) {
		s.fault("page %d: it says that it goes on for %d pages, beyond the end", n, more)
		return nil, false
	}
	for i := n; i <= n+more; i++ {
		if s.seen[i] {
			s.fault("page %d: it is used twice", i)
			return nil, false
		}
		s.seen[i] = true
	}
	return p[:(more+1)*uint64(s.head.pageSize)], true
}

// count returns how many elements a page holds, as far as they fit.
func (s *snapshot) count(p []byte, where string) int {
	n := int(binary.NativeEndian.Uint16(p[10:]))
	if fit := (len(p) - pageHeadLen) / elementLen; n > fit {
		s.fault("%s: it says that it holds %d elements, at most %d fit", where, n, fit)
		return fit
	}
	return n
}

// leaf hands out the pairs of a leaf page whose places lie within the page.
func (s *snapshot) leaf(p []byte, where string, fn func(k, v []byte, isBucket bool)) {
	if len(p) < pageHeadLen {
		s.fault("%s: it has %d bytes, expected at least %d", where, len(p), pageHeadLen)
		return
	}
	for i := range s.count(p, where) {
		e := p[pageHeadLen+i*elementLen:]
		order := binary.NativeEndian
		pos, klen, vlen := uint64(order.Uint32(e[4:])), uint64(order.Uint32(e[8:])), uint64(order.Uint32(e[12:]))
		if pos+klen+vlen > uint64(len(e)) {
			s.fault("%s: element %d lies beyond the page's end", where, i)
			continue
		}
		fn(e[pos:pos+klen:pos+klen], e[pos+klen:pos+klen+vlen:pos+klen+vlen], order.Uint32(e)&leafIsBucket != 0)
	}
}
