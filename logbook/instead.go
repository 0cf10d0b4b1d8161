package logbook

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"unicode/utf8"
)

// How far a file is looked into to tell what it is, and how far for entries of a book whose heads are spoilt.
const (
	insteadLen  = 4 << 10
	insteadScan = 1 << 20
)

// instead says what a file is that does not begin as a logbook: a book whose heads are spoilt (ErrDamaged), or something else
// (ErrNotABook), with what a person can do with it.
func instead(f *os.File) error {
	info, err := f.Stat()
	if err != nil {
		return err
	}
	head := make([]byte, insteadLen)
	n, err := f.ReadAt(head, 0)
	if err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	e := &Error{Kind: ErrNotABook, Hint: hintUnchanged}
	switch head = head[:n]; {
	case n == 0:
		e.Where = "the file is empty"
	case bytes.HasPrefix(head, []byte("PK\x03\x04")), bytes.HasPrefix(head, []byte("PK\x05\x06")):
		e.Where = "it is a zip file, as an export package is"
		e.Hint = "headpond open looks at a package, headpond import takes it into your book; " + hintUnchanged
	case holdsEntry(f, info.Size()):
		return damaged("both heads of the file are spoilt, but entries of a logbook are in it", errSpoilt)
	case isText(head):
		e.Where, e.Hint = textInstead(head)
	default:
		e.Where = "it does not begin as one, and no entry of one is in its first part"
		e.Hint = "if it was one, headpond check --rescue FILE looks for entries in all of it; " + hintUnchanged
	}
	return e
}

// textInstead tells a plant's description and a table of rounds from other text.
func textInstead(head []byte) (where, hint string) {
	first, _, _ := bytes.Cut(head, []byte("\n"))
	switch {
	case bytes.Contains(head, []byte("[site]")), bytes.Contains(head, []byte("[[unit]]")), bytes.Contains(head, []byte("[supply]")):
		return "it is a text file, and seems to describe a plant", "headpond plant load FILE puts a description into a book; " + hintUnchanged
	case bytes.ContainsAny(first, ",;\t"):
		return "it is a text file, and seems to be a table", "headpond import FILE takes rounds from a CSV file; " + hintUnchanged
	}
	return "it is a text file", hintUnchanged
}

// isText reports whether bytes, which may be cut off within a letter, are text.
func isText(b []byte) bool {
	if len(b) > utf8.UTFMax {
		for cut := range utf8.UTFMax {
			if utf8.Valid(b[:len(b)-cut]) {
				b = b[:len(b)-cut]
				break
			}
		}
	}
	return utf8.Valid(b) && !bytes.ContainsFunc(b, func(r rune) bool { return r < ' ' && r != '\n' && r != '\r' && r != '\t' })
}

// holdsEntry reports whether a whole entry, by its checksum, is in the first part of a file.
func holdsEntry(f io.ReaderAt, size int64) bool {
	enough := errors.New("found")
	_, err := scanEntries(context.Background(), f, min(size, insteadScan), func(id, []byte) error { return enough })
	return errors.Is(err, enough)
}
