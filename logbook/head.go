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
}

// checkHead refuses a file that is no book, or that is shorter than its head says.
func checkHead(f *os.File) error {
	h, err := readHead(f)
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
		return head{}, &Error{Kind: ErrNotABook, Where: fmt.Sprintf("it begins with %x, expected %x", magic, metaMagic), Hint: hintUnchanged}
	}
	if v := order.Uint32(m[4:]); v != metaVersion {
		return head{}, &Error{Kind: ErrNewer, Where: fmt.Sprintf("store version %d, expected %d", v, metaVersion), Hint: hintNewer}
	}
	sum := fnv.New64a()
	sum.Write(m[:56])
	h := head{pageSize: int64(order.Uint32(m[8:])), highWater: order.Uint64(m[40:]), tx: order.Uint64(m[48:])}
	if sum.Sum64() != order.Uint64(m[56:]) || h.pageSize < minPage || h.pageSize > maxPage || h.highWater > 1<<40 {
		return head{}, damaged("the head of the file", errSpoilt)
	}
	return h, nil
}
