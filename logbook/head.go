package logbook

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"os"
)

// The store keeps two meta pages at the start of the file and writes them in turn; the valid one with the higher
// transaction number counts (FORMAT.md, "The file"). They are read here without the store, so that a file which is cut short
// is refused before it is mapped into memory, where a missing page would be a fault.
const (
	pageHeadLen = 16
	metaLen     = 64
	metaMagic   = 0xED0CDAED
	metaVersion = 2
	minPage     = 1 << 10
	maxPage     = 1 << 16
)

// head is what the file says of itself.
type head struct {
	pageSize  int64
	highWater uint64 // pages below this number are in use or free; the file holds at least so many
	tx        uint64
	root      uint64 // page of the bucket of buckets
	free      uint64 // page of the list of free pages
}

// checkHead refuses a file that is no book, or that is shorter than its head says. It needs no lock.
func checkHead(f *os.File) error {
	h, err := readHead(f)
	if errors.Is(err, ErrNotABook) {
		return instead(f)
	}
	if err != nil {
		return err
	}
	// The size is asked after the head was read: a writer lets the file grow before it writes the head.
	info, err := f.Stat()
	if err != nil {
		return err
	}
	if need := int64(h.highWater) * h.pageSize; info.Size() < need {
		return &Error{Kind: ErrDamaged, Where: fmt.Sprintf("the file has %d bytes, expected at least %d: it was cut short, or not copied to the end",
			info.Size(), need), Hint: hintCheck}
	}
	return nil
}

// noFreeList stands in the head of a file whose list of free pages is not kept; ours always is.
const noFreeList = ^uint64(0)

// checkFree refuses a list of free pages that cannot be right. It is looked at, under the lock, before anything is written: a
// page that is called free by mistake would be written over.
func checkFree(f io.ReaderAt, h head) error {
	_, _, err := readFree(f, h)
	return err
}

// checkFreeUnlocked is checkFree before the lock is taken. The store reads the list of free pages while it opens a file for
// writing, and a spoilt count would make it ask for all memory, which ends the program beyond recovery. Where the head is the same
// after the look as before it, no other process has written over what was looked at.
func checkFreeUnlocked(f io.ReaderAt) error {
	const tries = 3
	for range tries {
		before, err := readHead(f)
		if err != nil {
			return err
		}
		spoilt := checkFree(f, before)
		after, err := readHead(f)
		if err != nil {
			return err
		}
		if after.tx == before.tx {
			return spoilt
		}
	}
	return nil // a busy file; it is looked at again under the lock
}

// readFree returns the numbers of the free pages, which must rise, and how many pages the list takes itself.
func readFree(f io.ReaderAt, h head) (list []uint64, span uint64, err error) {
	if h.free == noFreeList {
		return nil, 0, nil
	}
	spoilt := func(format string, args ...any) ([]uint64, uint64, error) {
		return nil, 0, damaged("the list of free pages: "+fmt.Sprintf(format, args...), nil)
	}
	var p [pageHeadLen + 8]byte
	at := int64(h.free) * h.pageSize
	if h.free < 2 || h.free >= h.highWater {
		return spoilt("it is said to be page %d of %d", h.free, h.highWater)
	}
	if _, err := f.ReadAt(p[:], at); err != nil {
		return spoilt("it cannot be read: %v", err)
	}
	order := binary.NativeEndian
	if own, kind := order.Uint64(p[0:]), order.Uint16(p[8:]); own != h.free || kind != pageFree {
		return spoilt("page %d calls itself page %d of kind %#x", h.free, own, kind)
	}
	count, skip := uint64(order.Uint16(p[10:])), uint64(0)
	if count == 0xFFFF { // too many for the field: the first element is the count
		count, skip = order.Uint64(p[pageHeadLen:]), 8
	}
	span = uint64(order.Uint32(p[12:])) + 1
	if count > h.highWater || span > h.highWater-h.free || pageHeadLen+skip+8*count > span*uint64(h.pageSize) {
		return spoilt("%d pages do not fit", count)
	}
	raw := make([]byte, 8*count)
	if _, err := f.ReadAt(raw, at+pageHeadLen+int64(skip)); err != nil {
		return spoilt("it cannot be read: %v", err)
	}
	list = make([]uint64, count)
	last := uint64(1)
	for i := range list {
		n := order.Uint64(raw[8*i:])
		if n <= last || n >= h.highWater {
			return spoilt("page %d after page %d of %d", n, last, h.highWater)
		}
		list[i], last = n, n
	}
	return list, span, nil
}

// readHead finds the valid meta page. Two that are both spoilt are ErrDamaged where the file is one of ours by its mark,
// else ErrNotABook.
func readHead(f io.ReaderAt) (head, error) {
	first, errFirst := readMeta(f, 0)
	// The second page lies at the page size, which only the first page tells. Where that is spoilt, usual sizes are tried.
	sizes := []int64{first.pageSize}
	if errFirst != nil {
		sizes = sizes[:0]
		for s := int64(minPage); s <= maxPage; s *= 2 {
			sizes = append(sizes, s)
		}
	}
	best, found := first, errFirst == nil
	for _, s := range sizes {
		second, err := readMeta(f, s)
		if err == nil && second.pageSize == s && (!found || second.tx > best.tx) {
			best, found = second, true
		}
	}
	if found {
		return best, nil
	}
	return head{}, errFirst
}

var errSpoilt = errors.New("both heads of the file are spoilt")

// readMeta reads the meta page at an offset. The layout is that of bbolt's file format, version 2.
func readMeta(f io.ReaderAt, at int64) (head, error) {
	var p [pageHeadLen + metaLen]byte
	if _, err := f.ReadAt(p[:], at); err != nil && !errors.Is(err, io.EOF) {
		return head{}, err
	}
	m := p[pageHeadLen:]
	order := binary.NativeEndian // the store writes numbers as the machine has them
	if magic := order.Uint32(m[0:]); magic != metaMagic {
		return head{}, &Error{Kind: ErrNotABook, Where: "the file does not begin as a logbook does", Hint: hintUnchanged}
	}
	if v := order.Uint32(m[4:]); v != metaVersion {
		return head{}, &Error{Kind: ErrNewer, Where: fmt.Sprintf("store version %d, expected %d", v, metaVersion), Hint: hintNewer}
	}
	sum := fnv.New64a()
	sum.Write(m[:56])
	h := head{pageSize: int64(order.Uint32(m[8:])), root: order.Uint64(m[16:]), free: order.Uint64(m[32:]),
		highWater: order.Uint64(m[40:]), tx: order.Uint64(m[48:])}
	if sum.Sum64() != order.Uint64(m[56:]) || h.pageSize < minPage || h.pageSize > maxPage || h.highWater > 1<<40 {
		return head{}, damaged("the head of the file", errSpoilt)
	}
	return h, nil
}
