package logbook

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"slices"
	"sync"
)

// The store trusts its pages: it follows lengths and places in them without a look, by pointers, and a spoilt one can make it
// read or free memory of the program itself, which no recovery undoes. So this package reads pages on its own, each length
// verified before it is believed; the store is only let onto pages that were verified first (see bucket).

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
	cachedPages  = 4096
	cachedSpan   = 16              // longer ones are read anew each time, so that the cache stays small
	maxPageBytes = 2 * maxValueLen // a page holds one value beyond its size at most
)

// page is a verified leaf or branch: all its elements lie within data, and its keys rise.
type page struct {
	leaf  bool
	count int
	data  []byte
	span  uint64 // how many pages of the file it takes
}

func (p page) element(i int) []byte { return p.data[pageHeadLen+i*elementLen:] }

// place returns where an element's key begins and how long key and value are.
func (p page) place(i int) (pos, key, value uint64) {
	e, order := p.element(i), binary.NativeEndian
	if p.leaf {
		return uint64(order.Uint32(e[4:])), uint64(order.Uint32(e[8:])), uint64(order.Uint32(e[12:]))
	}
	return uint64(order.Uint32(e[0:])), uint64(order.Uint32(e[4:])), 0
}

func (p page) key(i int) []byte {
	pos, n, _ := p.place(i)
	return p.element(i)[pos : pos+n : pos+n]
}

func (p page) value(i int) []byte {
	pos, n, v := p.place(i)
	return p.element(i)[pos+n : pos+n+v : pos+n+v]
}

func (p page) isBucket(i int) bool { return binary.NativeEndian.Uint32(p.element(i))&leafIsBucket != 0 }

func (p page) child(i int) uint64 { return binary.NativeEndian.Uint64(p.element(i)[8:]) }

// find returns the first element whose key is not below k, and whether it is k itself.
func (p page) find(k []byte) (int, bool) {
	low, high := 0, p.count
	for low < high {
		mid := (low + high) / 2
		if bytes.Compare(p.key(mid), k) < 0 {
			low = mid + 1
		} else {
			high = mid
		}
	}
	return low, low < p.count && bytes.Equal(p.key(low), k)
}

// verifyPage reads a page's head and looks at every element.
func verifyPage(data []byte) (page, error) {
	order := binary.NativeEndian
	if len(data) < pageHeadLen {
		return page{}, fmt.Errorf("it has %d bytes, expected at least %d", len(data), pageHeadLen)
	}
	kind := order.Uint16(data[8:])
	if kind != pageLeaf && kind != pageBranch {
		return page{}, fmt.Errorf("kind %#x, expected a leaf or a branch", kind)
	}
	p := page{leaf: kind == pageLeaf, count: int(order.Uint16(data[10:])), data: data}
	if fit := (len(data) - pageHeadLen) / elementLen; p.count > fit {
		return page{}, fmt.Errorf("it says that it holds %d elements, at most %d fit", p.count, fit)
	}
	if p.count == 0 && !p.leaf {
		return page{}, fmt.Errorf("a branch that holds nothing")
	}
	for i := range p.count {
		pos, key, value := p.place(i)
		if pos+key+value > uint64(len(p.element(i))) {
			return page{}, fmt.Errorf("element %d lies beyond the page's end", i)
		}
		if p.leaf && order.Uint32(p.element(i)) > leafIsBucket {
			return page{}, fmt.Errorf("element %d is marked %#x, expected 0 or 1", i, order.Uint32(p.element(i)))
		}
		if i > 0 && bytes.Compare(p.key(i-1), p.key(i)) >= 0 {
			return page{}, fmt.Errorf("element %d is out of order", i)
		}
	}
	return p, nil
}

// pager reads verified pages of one file, or of a file in memory, at one moment.
type pager struct {
	src    io.ReaderAt
	head   head
	cache  map[uint64]page
	bad    map[uint64]bool
	faults []string // what is spoilt; reading goes on around it

	spare *sync.Pool // of *[]byte of a page's size, for the next transaction; may be nil
	taken []*[]byte
}

func newPager(src io.ReaderAt, spare *sync.Pool) (*pager, error) {
	h, err := readHead(src)
	if err != nil {
		return nil, err
	}
	return &pager{src: src, head: h, cache: map[uint64]page{}, bad: map[uint64]bool{}, spare: spare}, nil
}

// release gives the pages' memory to the next transaction. Nothing that was read may be used after it.
func (g *pager) release() {
	for _, b := range g.taken {
		g.spare.Put(b)
	}
	g.taken, g.cache = nil, nil
}

// blank returns memory for one page.
func (g *pager) blank() []byte {
	if g.spare == nil {
		return make([]byte, g.head.pageSize)
	}
	b, ok := g.spare.Get().(*[]byte)
	if !ok || int64(len(*b)) != g.head.pageSize {
		fresh := make([]byte, g.head.pageSize)
		b = &fresh
	}
	g.taken = append(g.taken, b)
	return *b
}

// fault notes once that something is spoilt.
func (g *pager) fault(format string, args ...any) {
	text := fmt.Sprintf(format, args...)
	if len(g.faults) < maxFaults && !slices.Contains(g.faults, text) {
		g.faults = append(g.faults, text)
	}
}

// sized reports whether a key has the length that all keys of its bucket have; one that has not is a fault.
func (g *pager) sized(bucket string, k []byte, want int) bool {
	if len(k) == want {
		return true
	}
	g.fault("bucket %s: a key of %d bytes, expected %d", bucket, len(k), want)
	return false
}

// damage is the error for all that was found spoilt so far, nil when nothing was.
func (g *pager) damage() error {
	if len(g.faults) == 0 {
		return nil
	}
	return damaged(g.faults[0], nil)
}

// page returns a verified page, or false, with a fault noted once, where it cannot be right.
func (g *pager) page(n uint64) (page, bool) {
	if p, ok := g.cache[n]; ok {
		return p, true
	}
	if g.bad[n] {
		return page{}, false
	}
	p, err := g.load(n)
	if err != nil {
		g.bad[n] = true
		g.fault("page %d: %v", n, err)
		return page{}, false
	}
	if len(g.cache) >= cachedPages {
		clear(g.cache)
	}
	if p.span <= cachedSpan {
		g.cache[n] = p
	}
	return p, true
}

func (g *pager) load(n uint64) (page, error) {
	if n < 2 || n >= g.head.highWater {
		return page{}, fmt.Errorf("there is no such page, expected 2 to %d", g.head.highWater-1)
	}
	size := uint64(g.head.pageSize)
	data := g.blank()
	if _, err := g.src.ReadAt(data, int64(n*size)); err != nil {
		return page{}, fmt.Errorf("it cannot be read: %w", err)
	}
	order := binary.NativeEndian
	if own := order.Uint64(data); own != n {
		return page{}, fmt.Errorf("it calls itself page %d", own)
	}
	span := uint64(order.Uint32(data[12:])) + 1
	if n+span > g.head.highWater {
		return page{}, fmt.Errorf("it says that it goes on for %d pages, beyond the end", span-1)
	}
	if span*size > maxPageBytes { // a spoilt number must not ask for all memory
		return page{}, fmt.Errorf("it says that it has %d bytes, expected at most %d", span*size, maxPageBytes)
	}
	if span > 1 {
		data = append(append(make([]byte, 0, span*size), data...), make([]byte, (span-1)*size)...)
		if _, err := g.src.ReadAt(data[size:], int64((n+1)*size)); err != nil {
			return page{}, fmt.Errorf("it cannot be read: %w", err)
		}
	}
	p, err := verifyPage(data)
	p.span = span
	return p, err
}
