package logbook

import (
	"context"
	"encoding/binary"
	"fmt"
	"io"
)

// The scan finds entries in a spoilt file without believing anything that the file says of itself: no head, no page, no
// length but the entry's own. An entry is its key and, right behind it, its value, which ends in a checksum over both. So
// every place where a value may begin is tried, and what passes its checksum is an entry as it was written, whatever became
// of the page around it. Pages that are not in use any more hold older copies of entries, which are as good, since no entry
// is ever changed.

// Bounds of a scan. A file that was made to look like a great many entries ends it early rather than taking for ever.
const (
	scanStep   = 4 << 20     // how far the window moves
	scanTail   = maxValueLen // how far a value may reach beyond it
	scanEffort = 64          // bytes and elements looked at, at most, for each byte of the file
	scanPiece  = 4096        // what is given up where the medium cannot be read
	scanDepth  = 64
)

// scanned is what a scan noticed beside the entries.
type scanned struct {
	unreadable int64 // bytes that the medium did not give
	tooMuch    bool  // the scan was ended early
}

// scanner looks for entries in a file of any content.
type scanner struct {
	src    io.ReaderAt
	size   int64
	left   int64 // effort that may still be spent
	notes  scanned
	found  func(key id, value []byte) error
	ctx    context.Context
	window []byte // the bytes of the file from offset base on
	base   int64
}

// scanEntries calls found for each whole entry in the first size bytes of src, in order of place; the same entry as often as
// the file holds copies of it. The value is only valid within the call.
func scanEntries(ctx context.Context, src io.ReaderAt, size int64, found func(key id, value []byte) error) (scanned, error) {
	s := &scanner{src: src, size: size, left: scanEffort*size + 1<<20, found: found, ctx: ctx}
	for at := int64(0); at < size && !s.notes.tooMuch; at += scanStep {
		if err := ctx.Err(); err != nil {
			return s.notes, err
		}
		s.read(at)
		if err := s.pass(at); err != nil {
			return s.notes, err
		}
	}
	return s.notes, nil
}

// read brings the window to the bytes around a step: those before it that a key may take, and those after it that a value may.
func (s *scanner) read(at int64) {
	from := max(0, at-idLen-hashLen)
	to := min(s.size, at+scanStep+scanTail)
	next := s.window
	if int64(cap(next)) < to-from {
		next = make([]byte, to-from)
	}
	next = next[:to-from]
	kept := int64(0) // what the window holds already
	if end := s.base + int64(len(s.window)); from < end && from >= s.base {
		kept = int64(copy(next, s.window[from-s.base:]))
	}
	s.window, s.base = next, from
	s.fill(s.window[kept:], from+kept)
}

// fill reads bytes; those that the medium does not give become zero and are counted.
func (s *scanner) fill(to []byte, at int64) {
	if n, err := s.src.ReadAt(to, at); err == nil || n == len(to) {
		return
	}
	for len(to) > 0 {
		piece := to[:min(scanPiece, len(to))]
		if n, err := s.src.ReadAt(piece, at); err != nil && n < len(piece) {
			clear(piece[n:])
			s.notes.unreadable += int64(len(piece) - n)
		}
		to, at = to[len(piece):], at+int64(len(piece))
	}
}

// pass tries every place of one step at which a value may begin.
func (s *scanner) pass(at int64) error {
	first := int(at - s.base)
	last := min(first+scanStep, len(s.window))
	for p := max(first, idLen); p < last; p++ {
		// The version, then a map whose first key is the kind.
		if s.window[p] != envelopeVersion || p+2 >= len(s.window) || s.window[p+1]>>5 != cborMap {
			continue
		}
		value, ok := s.value(p)
		if s.left < 0 {
			s.notes.tooMuch = true
			return nil
		}
		if !ok {
			continue
		}
		if key, ok := s.keyBefore(p, value); ok {
			if err := s.found(key, value); err != nil {
				return err
			}
		}
	}
	return nil
}

// value measures the map behind a version byte and returns version, map and checksum.
func (s *scanner) value(p int) ([]byte, bool) {
	end := min(len(s.window), p+maxValueLen)
	n, items := cborLen(s.window[p+1:end], s.left)
	s.left -= int64(items) + 1
	if n == 0 || p+1+n+crcLen > end {
		return nil, false
	}
	s.left -= int64(n)
	return s.window[p : p+1+n+crcLen : p+1+n+crcLen], true
}

// keyBefore returns the key that makes the value's checksum right: the 16 bytes before it or, for another version of an entry,
// those before the hash that stands between.
func (s *scanner) keyBefore(p int, value []byte) (id, bool) {
	key := id(s.window[p-idLen : p])
	if _, _, err := unwrap(key, value); err == nil {
		return key, true
	}
	if p < idLen+hashLen {
		return id{}, false
	}
	key = id(s.window[p-idLen-hashLen : p-hashLen])
	if _, _, err := unwrap(key, value); err == nil {
		return key, true
	}
	return id{}, false
}

// Major types of CBOR (RFC 8949, section 3.1).
const (
	cborBytes = 2
	cborText  = 3
	cborArray = 4
	cborMap   = 5
	cborTag   = 6
)

// cborLen returns how many bytes the first data item takes, 0 where there is no whole one, and how many items were looked
// at, at most limit. Lengths are only skipped, never believed beyond the data's end, and nothing is kept, so that any content
// is looked at in bounded memory. Indefinite lengths, which no entry has, are refused.
func cborLen(data []byte, limit int64) (n, items int) {
	var open [scanDepth]uint64 // items that are still to come, by depth
	depth := 0
	open[0] = 1
	for depth >= 0 {
		if open[depth] == 0 {
			depth--
			continue
		}
		open[depth]--
		major, arg, size := cborHead(data[n:])
		items++
		if size == 0 || int64(items) > limit {
			return 0, items
		}
		n += size
		more := uint64(0)
		switch major {
		case cborBytes, cborText:
			if arg > uint64(len(data)-n) {
				return 0, items
			}
			n += int(arg)
		case cborArray:
			more = arg
		case cborMap:
			more = 2 * arg
		case cborTag: // stands before an item
			open[depth]++
		}
		if more > uint64(len(data)-n) || arg > 1<<32 && major >= cborArray && major <= cborMap {
			return 0, items // each item takes a byte at least
		}
		if more > 0 {
			if depth++; depth == scanDepth {
				return 0, items
			}
			open[depth] = more
		}
	}
	return n, items
}

// cborHead reads the head of an item: its major type, its argument, and how many bytes both take; size 0 where there is none.
func cborHead(data []byte) (major byte, arg uint64, size int) {
	if len(data) == 0 {
		return 0, 0, 0
	}
	major = data[0] >> 5
	switch short := data[0] & 0x1f; {
	case short < 24:
		return major, uint64(short), 1
	case short <= 27:
		width := 1 << (short - 24)
		if len(data) < 1+width {
			return 0, 0, 0
		}
		var b [8]byte
		copy(b[8-width:], data[1:1+width])
		return major, binary.BigEndian.Uint64(b[:]), 1 + width
	}
	return 0, 0, 0
}

// String says what a scan noticed, "" where there was nothing.
func (n scanned) String() string {
	switch {
	case n.tooMuch:
		return "the file holds so much that only looks like entries that not all of it was looked at"
	case n.unreadable > 0:
		return fmt.Sprintf("%d bytes of the file cannot be read: the medium fails", n.unreadable)
	}
	return ""
}
